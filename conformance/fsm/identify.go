package fsm

import (
	"encoding/binary"
	"fmt"
	"slices"
)

// Preset looks for a preset distinguishing sequence: the shortest word, and among the shortest the first in the order of the
// inputs, that no two states answer alike. Not every minimal machine has one: found says whether this one does.
//
// Whether one exists is PSPACE-complete, and the shortest may be exponentially long (D. Lee and M. Yannakakis, 1996): Preset
// returns an error when it has looked at limit sets of states without an answer, or when limit is not positive.
func (m *Machine) Preset(limit int) (w Word, found bool, err error) {
	alike := sets{identity(len(m.states))}.uncertain()
	return m.search(alike, limit, func(at sets, input int) (sets, bool) {
		var to sets
		for _, block := range at {
			byOutput := make(sets, len(m.outputs))
			for _, s := range block {
				o, next := m.Step(s, input)
				byOutput[o] = append(byOutput[o], next)
			}
			for _, b := range byOutput {
				slices.Sort(b)
				if len(slices.Compact(slices.Clone(b))) < len(b) {
					return nil, false // two states have merged without a difference: no word can part them any more
				}
			}
			to = append(to, byOutput...)
		}
		return to.uncertain(), true
	})
}

// Unique looks for a unique input/output sequence (UIO) of a state: the shortest word, and among the shortest the first in the
// order of the inputs, that no other state answers as this one does. A state may have none: found says whether it has. The
// search has a limit as that of [Machine.Preset] has, for the same reason. (D. Lee and M. Yannakakis, 1996; the notion is, from
// memory, K. Sabnani and A. Dahbura's, 1988.)
func (m *Machine) Unique(state, limit int) (w Word, found bool, err error) {
	others := slices.DeleteFunc(identity(len(m.states)), func(s int) bool { return s == state })
	pair := func(s int, others []int) sets {
		if len(others) == 0 {
			return nil
		}
		return sets{{s}, others}
	}
	return m.search(pair(state, others), limit, func(at sets, input int) (sets, bool) {
		output, next := m.Step(at[0][0], input)
		var alike []int
		for _, s := range at[1] {
			if o, n := m.Step(s, input); o == output {
				alike = append(alike, n)
			}
		}
		slices.Sort(alike)
		alike = slices.Compact(alike)
		return pair(next, alike), !slices.Contains(alike, next)
	})
}

// sets is what is left to tell apart in a search: nothing, when it is empty.
type sets [][]int

// uncertain returns the sets that hold more than one state, in order and each once: what is known of other states is known.
func (s sets) uncertain() sets {
	s = slices.DeleteFunc(s, func(b []int) bool { return len(b) < 2 })
	slices.SortFunc(s, slices.Compare[[]int])
	return slices.CompactFunc(s, slices.Equal[[]int])
}

func (s sets) key() string {
	var key []byte
	for _, b := range s {
		key = binary.AppendUvarint(key, uint64(len(b)))
		for _, v := range b {
			key = binary.AppendUvarint(key, uint64(v))
		}
	}
	return string(key)
}

// search looks, breadth first, for the word that leaves nothing to tell apart. A step says what is left after one more input,
// and whether it still can be told apart.
func (m *Machine) search(start sets, limit int, step func(at sets, input int) (sets, bool)) (Word, bool, error) {
	if limit < 1 {
		return nil, false, fmt.Errorf("a limit of %d sets of states: give at least 1", limit)
	}
	if len(start) == 0 {
		return Word{}, true, nil
	}
	type node struct {
		at sets
		w  Word
	}
	seen := map[string]bool{start.key(): true}
	for queue := []node{{start, Word{}}}; len(queue) > 0; queue = queue[1:] {
		for i := range m.inputs {
			to, ok := step(queue[0].at, i)
			if !ok {
				continue
			}
			w := queue[0].w.then(i)
			if len(to) == 0 {
				return w, true, nil
			}
			if key := to.key(); !seen[key] {
				if len(seen) == limit {
					return nil, false, fmt.Errorf("no answer within %d sets of states, with words of up to %d inputs: raise the limit", limit, len(w))
				}
				seen[key] = true
				queue = append(queue, node{to, w})
			}
		}
	}
	return nil, false, nil
}
