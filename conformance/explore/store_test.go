package explore

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// States are kept apart by what they are: those of one hash too, and those that share all of it that the index looks at; with a firmware also
// by the leaf that goes with them.
func TestStoreKeepsStatesApart(t *testing.T) {
	for _, firmware := range []bool{false, true} {
		const n = 100_000
		all := &candidates{}
		for i := range uint64(n) {
			e := entry{state: state{i}, letter: uint16(i % 7)}
			add := func(e entry, leaf node) {
				all.list = append(all.list, candidate{e, (&state{i}).hash()})
				if firmware {
					all.leaves = append(all.leaves, leaf)
				}
			}
			add(e, node{i})
			if i%100 == 0 { // another state, another memory and another leaf of the same hash
				other, memory := e, e
				other.state[3], memory.root = 1, 1
				add(other, node{i})
				add(memory, node{i})
				if firmware {
					add(e, node{i, 1})
				}
			}
		}
		type key struct {
			entry
			leaf node
		}
		keyOf := func(e *entry, leaf *node) key {
			if leaf == nil {
				return key{entry: *e}
			}
			return key{*e, *leaf}
		}
		hashes := map[key]uint64{}
		for i := range all.list {
			hashes[keyOf(&all.list[i].entry, all.leaf(i))] = all.list[i].hash
		}
		rehash := func(e *entry, leaf *node) uint64 { return hashes[keyOf(e, leaf)] }
		count := func(s *store, of *candidates) (fresh int) {
			s.fresh(of, func(int) bool { fresh++; return true })
			return fresh
		}

		var s store
		size := len(all.list)
		half := &candidates{}
		for i := range size / 2 {
			half.add(all, i)
		}
		require.Equal(t, size, count(&s, all))
		s.add(half, rehash)
		require.Equal(t, size/2, s.size())
		require.Zero(t, count(&s, half))
		require.Equal(t, size-size/2, count(&s, all))
		s.add(all, rehash)
		require.Equal(t, size, s.size())
		require.Zero(t, count(&s, all))

		kept := map[key]bool{}
		for sh := range s.shards {
			for i := range s.shards[sh].n {
				p := place(i)<<shardBits | place(sh)
				kept[keyOf(s.at(p), s.leaf(p))] = true
			}
		}
		require.Len(t, kept, size)
	}
}

// Two states are one if, and only if, all of their words are, whatever the others hold.
func TestStatesAreComparedWhole(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 1))
	for range 1000 {
		var s state
		for w := range s {
			s[w] = random.Uint64N(3)
		}
		u := s
		require.True(t, s.is(&u))
		for w := range s {
			u = s
			u[w] ^= 1 << random.IntN(2)
			require.Equal(t, s == u, s.is(&u))
			for v := range s {
				u[v] = random.Uint64N(3)
				require.Equal(t, s == u, s.is(&u))
			}
		}
	}
}
