package fsm

import (
	"fmt"
	"iter"
	"slices"
)

// Analysis is what is needed of a minimal machine to make test suites: what tells its states apart.
type Analysis struct {
	machine *Machine
	rounds  []classes // by k, the classes of the states that no word of length k tells apart
	w       []Word
	hsi     [][]Word // by state
}

// Analyse analyses a machine. It returns an error that names two equivalent states when the machine is not minimal: see
// [Machine.Minimal]. The memory it takes grows with the number of states times the length of the longest word that is needed
// to tell two of them apart.
func Analyse(m *Machine) (*Analysis, error) {
	a := &Analysis{machine: m}
	found := 0
	m.refine(func(c classes, count int) {
		a.rounds = append(a.rounds, c)
		found = count
	})
	if found < len(m.states) {
		last := a.rounds[len(a.rounds)-1]
		for s, c := range last {
			if first := slices.Index(last, c); first < s {
				return nil, fmt.Errorf("states %q and %q are equivalent, as no input sequence tells them apart: take the minimal machine",
					m.states[first], m.states[s])
			}
		}
	}
	a.w = a.characterize()
	a.hsi = a.harmonize()
	return a, nil
}

// Machine returns the machine that was analysed.
func (a *Analysis) Machine() *Machine { return a.machine }

// Distinguish returns the shortest word on which two states' outputs differ, and among the shortest the first in the order of the
// inputs. They differ on its last input. It has fewer inputs than the machine has states. For a state and itself it returns nil.
func (a *Analysis) Distinguish(s, t int) Word {
	if s == t {
		return nil
	}
	m, k := a.machine, 1
	for a.rounds[k][s] == a.rounds[k][t] {
		k++
	}
	w := make(Word, 0, k)
	for ; k > 1; k-- {
		for i := range m.inputs {
			if x, y := m.next[s][i], m.next[t][i]; a.rounds[k-1][x] != a.rounds[k-1][y] {
				w, s, t = append(w, i), x, y
				break
			}
		}
	}
	for i := range m.inputs {
		if m.output[s][i] != m.output[t][i] {
			return append(w, i)
		}
	}
	panic("fsm: two states in different classes of round 1 answer every input alike")
}

// W returns a characterization set: words such that any two states answer at least one of them differently. No word of it
// begins another, and none could be left out. A machine of one state needs none. It has fewer words than the machine has
// states.
func (a *Analysis) W() []Word { return cloneWords(a.w) }

// Identifiers returns harmonized state identifiers: for each state, by number, words of which none begins another, such that for
// any two states some word begins both a word of the one and a word of the other, and tells them apart. Each begins a word of
// W, so a state's identifier never costs more than W. A machine of one state needs none.
func (a *Analysis) Identifiers() [][]Word {
	out := make([][]Word, len(a.hsi))
	for s, words := range a.hsi {
		out[s] = cloneWords(words)
	}
	return out
}

func cloneWords(words []Word) []Word {
	out := make([]Word, len(words))
	for k, w := range words {
		out[k] = slices.Clone(w)
	}
	return out
}

// Characterizes reports whether any two states of the machine answer at least one of the words differently.
func (m *Machine) Characterizes(words []Word) bool {
	all := identity(len(m.states))
	c := make(classes, len(all))
	for _, w := range words {
		for _, c = range m.split(c, all, w) {
		}
	}
	return slices.Max(c) == len(all)-1
}

func identity(n int) []int {
	all := make([]int, n)
	for s := range all {
		all[s] = s
	}
	return all
}

// split applies a word in each of some states, and yields, for each k up to its length, how its first k inputs split the states'
// classes, which start as given. Classes are by place in the list of states.
func (m *Machine) split(c classes, states []int, w Word) iter.Seq2[int, classes] {
	return func(yield func(int, classes) bool) {
		at := slices.Clone(states)
		for k, i := range w {
			c, _ = c.split(func(x int) int { return m.output[at[x]][i] })
			if !yield(k+1, c) {
				return
			}
			for x, s := range at {
				at[x] = m.next[s][i]
			}
		}
	}
}

// characterize finds W greedily: the word next that leaves the most classes, of the shortest words that tell a class's first state
// from another in it.
func (a *Analysis) characterize() []Word {
	m := a.machine
	all := identity(len(m.states))
	c := make(classes, len(all))
	var w []Word
	for slices.Max(c) < len(all)-1 {
		var candidates []Word
		for s := range c {
			if first := slices.Index(c, c[s]); first < s {
				candidates = append(candidates, a.Distinguish(first, s))
			}
		}
		slices.SortFunc(candidates, shortlex)
		var best classes
		var word Word
		for _, candidate := range slices.CompactFunc(candidates, slices.Equal[Word]) {
			var finer classes
			for _, finer = range m.split(c, all, candidate) {
			}
			if best == nil || slices.Max(finer) > slices.Max(best) {
				best, word = finer, candidate
			}
		}
		c, w = best, append(w, word)
	}
	w = maximal(w)
	// A word taken early may have become needless; the longest is the first to go.
	for k := len(w) - 1; k >= 0; k-- {
		if fewer := slices.Delete(slices.Clone(w), k, k+1); m.Characterizes(fewer) {
			w = fewer
		}
	}
	return w
}

// harmonize finds the identifiers by a tree: all states, split by a word of W, and so on down to single states. Two states
// part at one node of it, by a word that is in the identifiers of both.
func (a *Analysis) harmonize() [][]Word {
	ids := make([][]Word, len(a.machine.states))
	a.part(identity(len(ids)), ids)
	for s, words := range ids {
		ids[s] = maximal(words)
	}
	return ids
}

func (a *Analysis) part(block []int, ids [][]Word) {
	if len(block) == 1 {
		return
	}
	var best classes
	var word Word
	for _, w := range a.w {
		for k, c := range a.machine.split(make(classes, len(block)), block, w) {
			if slices.Max(c) > 0 && (best == nil || slices.Max(c) > slices.Max(best)) {
				best, word = c, w[:k]
			}
		}
	}
	// A state needs no more of the word than parts it from all that the whole word parts it from.
	size := sizes(best)
	done := make([]bool, len(block))
	for k, c := range a.machine.split(make(classes, len(block)), block, word) {
		now := sizes(c)
		for x, s := range block {
			if !done[x] && now[c[x]] == size[best[x]] {
				done[x] = true
				ids[s] = append(ids[s], word[:k])
			}
		}
	}
	parts := make([][]int, len(size))
	for x, s := range block {
		parts[best[x]] = append(parts[best[x]], s)
	}
	for _, p := range parts {
		a.part(p, ids)
	}
}

// sizes returns how many states are in each class.
func sizes(c classes) []int {
	n := make([]int, slices.Max(c)+1)
	for _, id := range c {
		n[id]++
	}
	return n
}
