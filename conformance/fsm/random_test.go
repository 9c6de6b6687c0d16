package fsm

import (
	"errors"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawRaw draws any table.
func drawRaw(t *rapid.T, states, inputs, outputs int) raw {
	cells := states * inputs
	return raw{
		inputs: inputs,
		next:   rapid.SliceOfN(rapid.IntRange(0, states-1), cells, cells).Draw(t, "next"),
		output: rapid.SliceOfN(rapid.IntRange(0, outputs-1), cells, cells).Draw(t, "output"),
	}
}

// reachable returns the table without the states that cannot be reached.
func (r raw) reachable() raw {
	number := map[int]int{0: 0}
	order := []int{0}
	out := raw{inputs: r.inputs}
	for k := 0; k < len(order); k++ {
		for i := range r.inputs {
			to := r.next[order[k]*r.inputs+i]
			if _, known := number[to]; !known {
				number[to] = len(order)
				order = append(order, to)
			}
			out.next, out.output = append(out.next, number[to]), append(out.output, r.output[order[k]*r.inputs+i])
		}
	}
	return out
}

// table makes the Table of a raw one.
func (r raw) table(outputs int) Table {
	var t Table
	for s := range len(r.next) / r.inputs {
		t.States = append(t.States, string(rune('A'+s)))
		t.Next = append(t.Next, r.next[s*r.inputs:(s+1)*r.inputs])
		t.Output = append(t.Output, r.output[s*r.inputs:(s+1)*r.inputs])
	}
	for i := range r.inputs {
		t.Inputs = append(t.Inputs, string(rune('a'+i)))
	}
	for o := range outputs {
		t.Outputs = append(t.Outputs, string(rune('0'+o)))
	}
	return t
}

// drawAny draws a machine that need not be minimal, with any state as its initial one.
func drawAny(t *rapid.T) *Machine {
	outputs := rapid.IntRange(1, 3).Draw(t, "outputs")
	r := drawRaw(t, rapid.IntRange(1, 6).Draw(t, "states"), rapid.IntRange(1, 3).Draw(t, "inputs"), outputs).reachable()
	initial := rapid.IntRange(0, len(r.next)/r.inputs-1).Draw(t, "initial")
	table := r.swapped(initial).table(outputs)
	table.Initial = initial
	m, err := New(table)
	require.NoError(t, err)
	return m
}

// short yields every word of up to a length, in shortlex order, until it is to stop.
func short(inputs, length int, yield func(Word) bool) {
	level := []Word{{}}
	for range length + 1 {
		var longer []Word
		for _, w := range level {
			if !yield(w) {
				return
			}
			for i := range inputs {
				longer = append(longer, w.then(i))
			}
		}
		level = longer
	}
}

// firstShort returns the first short word that something holds of.
func firstShort(inputs, length int, holds func(Word) bool) (found Word, ok bool) {
	short(inputs, length, func(w Word) bool {
		if ok = holds(w); ok {
			found = w
		}
		return !ok
	})
	return found, ok
}

func differ(m *Machine, s, u int, w Word) bool {
	a, _ := m.Run(s, w)
	b, _ := m.Run(u, w)
	return !slices.Equal(a, b)
}

func TestRandomCoverIsFirstAndShortest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawAny(t)
		cover := m.StateCover()
		for s := range m.states {
			want, ok := firstShort(len(m.inputs), len(m.states)-1, func(w Word) bool {
				_, last := m.Run(m.initial, w)
				return last == s
			})
			require.True(t, ok)
			require.Equal(t, want, cover[s])
			if len(want) > 0 {
				require.True(t, slices.ContainsFunc(cover, func(w Word) bool { return slices.Equal(w, want[:len(want)-1]) }))
			}
		}
		transitions := m.TransitionCover()
		require.True(t, slices.IsSortedFunc(transitions, shortlex))
		require.Len(t, transitions, 1+len(m.states)*len(m.inputs), "the empty word, and one for each transition")
	})
}

// Merging is checked against the table of pairs, filled until nothing changes.
func TestRandomMinimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawAny(t)
		n := len(m.states)
		apart := map[[2]int]bool{}
		for changed := true; changed; {
			changed = false
			for s := range n {
				for u := range n {
					for i := range m.inputs {
						if !apart[[2]int{s, u}] && (m.output[s][i] != m.output[u][i] || apart[[2]int{m.next[s][i], m.next[u][i]}]) {
							apart[[2]int{s, u}], changed = true, true
						}
					}
				}
			}
		}
		var firsts []string
		for s := range n {
			if !slices.ContainsFunc(identity(s), func(u int) bool { return !apart[[2]int{s, u}] }) {
				firsts = append(firsts, m.states[s])
			}
		}
		small := m.Minimal()
		require.Equal(t, firsts, small.StateNames())
		different, err := m.Compare(small)
		require.NoError(t, err)
		require.Nil(t, different)
		require.True(t, rawOf(small).equivalent(rawOf(m)))
		_, err = Analyse(m)
		require.Equal(t, len(firsts) == n, err == nil)
	})
}

func TestRandomCompare(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawAny(t)
		outputs := len(m.outputs)
		other, err := New(drawRaw(t, rapid.IntRange(1, 4).Draw(t, "other states"), len(m.inputs), outputs).reachable().table(outputs))
		require.NoError(t, err)
		different, err := m.Compare(other)
		require.NoError(t, err)
		require.Equal(t, rawOf(m).equivalent(rawOf(other)), different == nil)
		if different == nil {
			return
		}
		w, err := m.Word(different.Inputs...)
		require.NoError(t, err)
		require.NotEmpty(t, w)
		for k := range w { // only the last input shows it
			a, _ := m.Run(m.initial, w[:k+1])
			b, _ := other.Run(other.initial, w[:k+1])
			require.Equal(t, k+1 < len(w), slices.Equal(a, b))
		}
		if len(w) <= 6 {
			first, _ := firstShort(len(m.inputs), len(w), func(w Word) bool {
				a, _ := m.Run(m.initial, w)
				b, _ := other.Run(other.initial, w)
				return !slices.Equal(a, b)
			})
			require.Equal(t, first, w)
		}
	})
}

func TestRandomAnalysis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawAny(t).Minimal()
		n := len(m.states)
		a, err := Analyse(m)
		require.NoError(t, err)
		for s := range n {
			for u := range s {
				want, ok := firstShort(len(m.inputs), n-1, func(w Word) bool { return differ(m, s, u, w) })
				require.True(t, ok, "two of n states differ on a word of at most n-1 inputs")
				require.Equal(t, want, a.Distinguish(s, u))
			}
		}

		w := a.W()
		require.Less(t, len(w), n)
		require.True(t, m.Characterizes(w))
		for k := range w {
			require.Less(t, len(w[k]), n)
			require.False(t, m.Characterizes(slices.Delete(slices.Clone(w), k, k+1)), "%v is not needed", w[k])
		}
		prefixFree(t, w)

		ids := a.Identifiers()
		for s := range n {
			prefixFree(t, ids[s])
			for _, x := range ids[s] {
				require.True(t, slices.ContainsFunc(w, x.isPrefix))
			}
			for u := range s {
				require.True(t, harmonized(m, s, u, ids[s], ids[u]), "%q and %q", m.states[s], m.states[u])
			}
		}
	})
}

// harmonized reports whether a common prefix of two states' identifiers tells the states apart.
func harmonized(m *Machine, s, u int, a, b []Word) bool {
	for _, x := range a {
		for _, y := range b {
			common := 0
			for common < min(len(x), len(y)) && x[common] == y[common] {
				common++
			}
			if differ(m, s, u, x[:common]) {
				return true
			}
		}
	}
	return false
}

func prefixFree(t require.TestingT, words []Word) {
	require.True(t, slices.IsSortedFunc(words, shortlex))
	for k, w := range words {
		for j, v := range words {
			require.True(t, j == k || !w.isPrefix(v), "%v begins %v", w, v)
		}
	}
}

func TestRandomSuites(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawAny(t).Minimal()
		extra := rapid.IntRange(0, 1).Draw(t, "extra")
		a, err := Analyse(m)
		require.NoError(t, err)
		w, err := a.WMethod(extra)
		require.NoError(t, err)
		hsi, err := a.HSIMethod(extra)
		require.NoError(t, err)
		require.LessOrEqual(t, hsi.Len(), w.Len())
		require.LessOrEqual(t, hsi.Length(), w.Length())
		for _, suite := range []*Suite{w, hsi} {
			prefixFree(t, suite.Words())
			length := 0
			for k, word := range suite.Words() {
				inputs, outputs := suite.Test(k)
				require.Equal(t, m.Names(word), inputs)
				require.Len(t, outputs, len(inputs))
				length += len(word)
			}
			require.Equal(t, length, suite.Length())
		}
		for _, word := range hsi.Words() {
			require.True(t, slices.ContainsFunc(w.Words(), word.isPrefix))
		}
		// Chow's definition, word for word: the transition cover, up to extra inputs, W.
		for _, p := range m.TransitionCover() {
			short(len(m.inputs), extra, func(middle Word) bool {
				for _, end := range append(a.W(), Word{}) {
					word := p.then(middle...).then(end...)
					require.True(t, slices.ContainsFunc(w.Words(), word.isPrefix), "%v", word)
				}
				return true
			})
		}

		again, err := Analyse(m)
		require.NoError(t, err)
		w2, err := again.WMethod(extra)
		require.NoError(t, err)
		hsi2, err := again.HSIMethod(extra)
		require.NoError(t, err)
		require.Equal(t, w.Words(), w2.Words())
		require.Equal(t, hsi.Words(), hsi2.Words())
	})
}

// drawMutant draws an implementation of extra states more than a specification has: its states and copies of some of them, with a
// few transitions changed.
func drawMutant(t *rapid.T, m *Machine, extra int) raw {
	spec := rawOf(m)
	k, n := spec.inputs, len(m.states)
	r := raw{inputs: k, next: slices.Clone(spec.next), output: slices.Clone(spec.output)}
	for range extra {
		s := rapid.IntRange(0, n-1).Draw(t, "copied")
		r.next, r.output = append(r.next, spec.next[s*k:(s+1)*k]...), append(r.output, spec.output[s*k:(s+1)*k]...)
	}
	for range rapid.IntRange(0, 3+extra).Draw(t, "changes") {
		cell := rapid.IntRange(0, len(r.next)-1).Draw(t, "cell")
		if rapid.IntRange(0, 4).Draw(t, "kind") == 0 {
			r.output[cell] = rapid.IntRange(0, len(m.outputs)-1).Draw(t, "output")
		} else {
			r.next[cell] = rapid.IntRange(0, n+extra-1).Draw(t, "to")
		}
	}
	return r
}

func TestRandomMutantsPassIfAndOnlyIfEquivalent(t *testing.T) {
	pass, fail := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		m := drawAny(t).Minimal()
		extra := rapid.IntRange(0, 1).Draw(t, "extra")
		both := suites(t, m, extra)
		for range 20 {
			mutant := drawMutant(t, m, extra)
			equivalent := mutant.equivalent(rawOf(m))
			for name, suite := range both {
				different, err := suite.Check(mutant.run(m))
				require.NoError(t, err)
				require.Equal(t, equivalent, different == nil, "%s with %d extra states: %v", name, extra, mutant)
				require.Equal(t, equivalent, mutant.passes(rawOf(m), suite.words))
			}
			if equivalent {
				pass++
			} else {
				fail++
			}
		}
	})
	assert.Positive(t, pass)
	assert.Positive(t, fail)
}

// run makes an implementation that Check can drive, with the names of a machine's inputs and outputs.
func (r raw) run(m *Machine) func(inputs []string) ([]string, error) {
	return func(inputs []string) ([]string, error) {
		var outputs []string
		x := 0
		for _, name := range inputs {
			cell := x*r.inputs + slices.Index(m.inputs, name)
			outputs, x = append(outputs, m.outputs[r.output[cell]]), r.next[cell]
		}
		return outputs, nil
	}
}

// hasAdaptive tries every experiment: whether states that began apart, have answered alike and are now where at says can be
// told apart. Sets on the way there are not to come again, as that would be going round in a circle.
func hasAdaptive(m *Machine, at []int, way map[string]bool) bool {
	if len(at) < 2 {
		return true
	}
	sorted := slices.Sorted(slices.Values(at))
	key := sets{sorted}.key()
	if len(slices.Compact(slices.Clone(sorted))) < len(sorted) || way[key] {
		return false
	}
	way[key] = true
	defer delete(way, key)
	for i := range m.inputs {
		parts := map[int][]int{}
		for _, s := range at {
			parts[m.output[s][i]] = append(parts[m.output[s][i]], m.next[s][i])
		}
		good := true
		for _, p := range parts {
			good = good && hasAdaptive(m, p, way)
		}
		if good {
			return true
		}
	}
	return false
}

func TestRandomIdentification(t *testing.T) {
	adaptives, presets, uniques, none := 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		m := drawAny(t)
		n := len(m.states)
		adaptive, found := m.Adaptive()
		require.Equal(t, hasAdaptive(m, identity(n), map[string]bool{}), found)
		if found {
			adaptives++
			identifiesAll(t, m, adaptive)
			require.LessOrEqual(t, adaptive.Depth(), n*(n-1)/2, "Lee and Yannakakis's bound")
		}

		const length = 5
		all := func(w Word) bool {
			seen := map[string]bool{}
			for s := range n {
				outputs, _ := m.Run(s, w)
				seen[sets{outputs}.key()] = true
			}
			return len(seen) == n
		}
		w, preset, err := m.Preset(plenty)
		require.NoError(t, err)
		want, ok := firstShort(len(m.inputs), length, all)
		require.Equal(t, ok, preset && len(w) <= length)
		if ok {
			require.Equal(t, want, w)
		}
		if preset {
			presets++
			require.True(t, all(w))
			require.True(t, found, "a preset sequence is an adaptive one")
		}

		for s := range n {
			alone := func(w Word) bool {
				return !slices.ContainsFunc(identity(n), func(u int) bool { return u != s && !differ(m, s, u, w) })
			}
			w, unique, err := m.Unique(s, plenty)
			require.NoError(t, err)
			want, ok := firstShort(len(m.inputs), length, alone)
			require.Equal(t, ok, unique && len(w) <= length)
			if ok {
				require.Equal(t, want, w)
			}
			if unique {
				uniques++
				require.True(t, alone(w))
			} else {
				none++
				require.False(t, found, "an adaptive sequence is a UIO sequence of every state")
			}
		}
	})
	for _, count := range []int{adaptives, presets, uniques, none} {
		assert.Positive(t, count)
	}
}

func TestSuiteRefuses(t *testing.T) {
	a, err := Analyse(cycle3(t))
	require.NoError(t, err)
	_, err = a.WMethod(-1)
	assert.EqualError(t, err, "-1 extra states: give 0 or more")
	_, err = a.HSIMethod(40)
	assert.EqualError(t, err, "with 40 extra states, 3 states and 2 inputs, a suite could need more than 2000000 sequences: allow fewer extra states, or leave inputs out")
}

func TestCheckReportsTheFirstDifference(t *testing.T) {
	m := cycle3(t)
	suite := suites(t, m, 0)["HSI"]
	faulty := rawOf(m)
	faulty.next[2*2+1] = state(t, m, "s1") // b leads from s3 to s1 instead of s2
	different, err := suite.Check(faulty.run(m))
	require.NoError(t, err)
	// s1 and s2 both stay on a, with one output: bbaa shows nothing, and bbab, the next sequence, does.
	assert.Equal(t, &Difference{Inputs: []string{"b", "b", "a", "b"}, Want: "0", Got: "1"}, different)
}

func TestCheckIsNoVerdictWhenTheRunFails(t *testing.T) {
	suite := suites(t, cycle3(t), 0)["HSI"]
	_, err := suite.Check(func([]string) ([]string, error) { return nil, errors.New("the line is dead") })
	assert.EqualError(t, err, `sequence 1 of 7, ["a" "a"]: the line is dead`)
	_, err = suite.Check(func([]string) ([]string, error) { return []string{"0"}, nil })
	assert.EqualError(t, err, `sequence 1 of 7, ["a" "a"]: 1 outputs came back for 2 inputs`)
}
