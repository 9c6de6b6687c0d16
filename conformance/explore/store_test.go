package explore

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// States are kept apart by what they are: those of one hash too, and those that share all of it that the index looks at.
func TestStoreKeepsStatesApart(t *testing.T) {
	const n = 100_000
	var list []candidate
	for i := range uint64(n) {
		e := entry{state: state{i}, letter: uint16(i % 7)}
		list = append(list, candidate{e, e.state.hash()})
		if i%100 == 0 { // another state and another memory of the same hash
			other, memory := e, e
			other.state[3], memory.root = 1, 1
			list = append(list, candidate{other, e.state.hash()}, candidate{memory, e.state.hash()})
		}
	}
	hashes := map[entry]uint64{}
	for _, c := range list {
		hashes[c.entry] = c.hash
	}
	rehash := func(e *entry) uint64 { return hashes[*e] }
	count := func(s *store, list []candidate) (fresh int) {
		s.fresh(list, func(*candidate) { fresh++ })
		return fresh
	}

	var s store
	half := len(list) / 2
	require.Equal(t, len(list), count(&s, list))
	s.add(list[:half], rehash)
	require.Equal(t, half, s.size())
	require.Zero(t, count(&s, list[:half]))
	require.Equal(t, len(list)-half, count(&s, list))
	s.add(list, rehash)
	require.Equal(t, len(list), s.size())
	require.Zero(t, count(&s, list))

	kept := map[entry]bool{}
	for sh := range s.shards {
		for i := range s.shards[sh].n {
			kept[*s.at(place(i)<<shardBits | place(sh))] = true
		}
	}
	require.Len(t, kept, len(list))
}
