package fsm

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// This file proves the generators on small machines: of ALL implementations within the bound, a suite passes exactly those
// that are equivalent to the specification. The implementations, how a suite runs on them and what equivalence is are written
// here anew, and share nothing with the package.

// raw is any implementation: a table by state, then input, with state 0 the initial one. A next state of -1 is not yet chosen.
type raw struct {
	inputs       int
	next, output []int
}

// every yields all tables of a number of states, inputs and outputs. It uses one table over and over.
func every(states, inputs, outputs int, yield func(raw)) {
	cells := states * inputs
	r := raw{inputs, make([]int, cells), make([]int, cells)}
	var fill func(cell int)
	fill = func(cell int) {
		if cell == cells {
			yield(r)
			return
		}
		for r.next[cell] = 0; r.next[cell] < states; r.next[cell]++ {
			for r.output[cell] = 0; r.output[cell] < outputs; r.output[cell]++ {
				fill(cell + 1)
			}
		}
	}
	fill(0)
}

// machine makes a Machine of a table, or returns nil when it has unreachable or equivalent states.
func (r raw) machine(outputs int) *Machine {
	names := func(prefix string, n int) []string {
		list := make([]string, n)
		for i := range list {
			list[i] = fmt.Sprint(prefix, i)
		}
		return list
	}
	states := len(r.next) / r.inputs
	t := Table{States: names("s", states), Inputs: names("", r.inputs), Outputs: names("", outputs)}
	for s := range states {
		t.Next = append(t.Next, r.next[s*r.inputs:(s+1)*r.inputs])
		t.Output = append(t.Output, r.output[s*r.inputs:(s+1)*r.inputs])
	}
	m, err := New(t)
	if err != nil {
		return nil
	}
	if _, err := Analyse(m); err != nil {
		return nil
	}
	return m
}

// rawOf makes the table of a machine with its initial state as state 0.
func rawOf(m *Machine) raw {
	r := raw{inputs: len(m.inputs)}
	for s := range m.states {
		r.next, r.output = append(r.next, m.next[s]...), append(r.output, m.output[s]...)
	}
	return r.swapped(m.initial)
}

// swapped returns the table with state 0 and another in each other's place.
func (r raw) swapped(with int) raw {
	order := identity(len(r.next) / r.inputs)
	order[0], order[with] = with, 0 // its own reverse
	out := raw{inputs: r.inputs}
	for _, s := range order {
		for i := range r.inputs {
			out.next, out.output = append(out.next, order[r.next[s*r.inputs+i]]), append(out.output, r.output[s*r.inputs+i])
		}
	}
	return out
}

// passes runs a suite's words on both.
func (r raw) passes(spec raw, words []Word) bool {
	for _, w := range words {
		s, x := 0, 0
		for _, i := range w {
			if spec.output[s*r.inputs+i] != r.output[x*r.inputs+i] {
				return false
			}
			s, x = spec.next[s*r.inputs+i], r.next[x*r.inputs+i]
		}
	}
	return true
}

// equivalent walks both at once over every pair of states that can come about. Both have fewer than 8 states.
func (r raw) equivalent(spec raw) bool {
	var seen uint64
	var walk func(s, x int) bool
	walk = func(s, x int) bool {
		if bit := uint64(1) << (8*s + x); seen&bit == 0 {
			seen |= bit
			for i := range r.inputs {
				if r.output[x*r.inputs+i] != spec.output[s*r.inputs+i] || !walk(spec.next[s*r.inputs+i], r.next[x*r.inputs+i]) {
					return false
				}
			}
		}
		return true
	}
	return walk(0, 0)
}

// canonical numbers the reachable states in the order of a walk along the words of a suite, and writes the table down.
func (r raw) canonical(words []Word) string {
	number := map[int]int{0: 0}
	order := []int{0}
	for _, w := range words {
		x := 0
		for _, i := range w {
			x = r.next[x*r.inputs+i]
			if _, known := number[x]; !known {
				number[x] = len(order)
				order = append(order, x)
			}
		}
	}
	var b []int
	for _, x := range order {
		for i := range r.inputs {
			b = append(b, number[r.next[x*r.inputs+i]], r.output[x*r.inputs+i])
		}
	}
	return fmt.Sprint(b)
}

// survivors yields the implementations of up to a number of states that pass, each once but for the names of states, with the
// transitions that the suite never takes left open. It is every implementation: it chooses where a transition goes when the
// suite first takes it, to a state met before or to one new state (new states are all alike), and drops the table as soon
// as an output would have to differ from the specification's.
func survivors(spec raw, words []Word, states int, yield func(raw)) {
	r := raw{spec.inputs, slices.Repeat([]int{-1}, states*spec.inputs), make([]int, states*spec.inputs)}
	used := 1
	var run func(word, place, s, x int)
	run = func(word, place, s, x int) {
		for word < len(words) && place == len(words[word]) {
			word, place, s, x = word+1, 0, 0, 0
		}
		if word == len(words) {
			yield(r)
			return
		}
		want, cell := s*r.inputs+words[word][place], x*r.inputs+words[word][place]
		if r.next[cell] >= 0 {
			if r.output[cell] == spec.output[want] {
				run(word, place+1, spec.next[want], r.next[cell])
			}
			return
		}
		r.output[cell] = spec.output[want]
		before := used
		for to := range min(before+1, states) {
			r.next[cell], used = to, max(before, to+1)
			run(word, place+1, spec.next[want], to)
		}
		r.next[cell], used = -1, before
	}
	run(0, 0, 0, 0)
}

// open reports whether a transition that can be reached was never taken: such an implementation could still do anything there.
func (r raw) open() bool {
	reached := map[int]bool{0: true}
	for queue := []int{0}; len(queue) > 0; queue = queue[1:] {
		for i := range r.inputs {
			to := r.next[queue[0]*r.inputs+i]
			if to < 0 {
				return true
			}
			if !reached[to] {
				reached[to] = true
				queue = append(queue, to)
			}
		}
	}
	return false
}

// wrongSurvivors counts the implementations of up to a number of states that pass and are not equivalent, and those that are.
func wrongSurvivors(spec raw, words []Word, states int) (wrong, right int) {
	survivors(spec, words, states, func(r raw) {
		if r.open() || !r.equivalent(spec) {
			wrong++
		} else {
			right++
		}
	})
	return wrong, right
}

// suites makes the suites of both methods.
func suites(t require.TestingT, m *Machine, extra int) map[string]*Suite {
	a, err := Analyse(m)
	require.NoError(t, err)
	w, err := a.WMethod(extra)
	require.NoError(t, err)
	hsi, err := a.HSIMethod(extra)
	require.NoError(t, err)
	return map[string]*Suite{"W": w, "HSI": hsi}
}

// specifications returns all minimal machines of a size, over two inputs and two outputs, that differ by more than the names of
// their states.
func specifications(states int) []*Machine {
	var list []*Machine
	every(states, 2, 2, func(r raw) {
		m := r.machine(2)
		if m == nil {
			return
		}
		if slices.IsSortedFunc(m.StateCover(), shortlex) { // one numbering of the states stands for all
			list = append(list, m)
		}
	})
	return list
}

// Every specification of one or two states, against every implementation of up to three: with as many states, with one and with
// two more.
func TestEveryImplementationOfEverySmallSpecification(t *testing.T) {
	for states := 1; states <= 2; states++ {
		specs := specifications(states)
		require.NotEmpty(t, specs)
		for extra := 0; states+extra <= 3; extra++ {
			type trial struct {
				spec  raw
				words []Word
				name  string
			}
			var trials []trial
			for _, m := range specs {
				for name, suite := range suites(t, m, extra) {
					trials = append(trials, trial{rawOf(m), suite.words, name})
				}
			}
			tried, passed := 0, 0
			every(states+extra, 2, 2, func(r raw) {
				for _, x := range trials {
					tried++
					pass := r.passes(x.spec, x.words)
					if pass != r.equivalent(x.spec) {
						t.Fatalf("%s with %d extra states: implementation %v of specification %v passes: %t", x.name, extra, r, x.spec, pass)
					}
					if pass {
						passed++
					}
				}
			})
			assert.Positive(t, passed)
			t.Logf("%d states, %d extra: %d specifications, %d runs, %d pass", states, extra, len(specs), tried, passed)
		}
	}
}

// Some specifications of three states, against every one of 46,656 implementations of up to three states and, unless the test is
// to be short, of 16,777,216 of up to four.
func TestEveryImplementationOfThreeStates(t *testing.T) {
	specs := specifications(3)
	for extra := 0; extra <= 1; extra++ {
		if extra == 1 && testing.Short() {
			continue
		}
		some := []*Machine{cycle3(t)}
		if extra == 0 {
			step := 60
			if testing.Short() {
				step = 600
			}
			for k := 0; k < len(specs); k += step {
				some = append(some, specs[k])
			}
		}
		for _, m := range some {
			spec, both := rawOf(m), suites(t, m, extra)
			passed := map[string]map[string]bool{"W": {}, "HSI": {}}
			every(3+extra, 2, 2, func(r raw) {
				same := r.equivalent(spec)
				for name, suite := range both {
					pass := r.passes(spec, suite.words)
					if pass != same {
						t.Fatalf("%s with %d extra states: implementation %v of specification %v passes: %t", name, extra, r, spec, pass)
					}
					if pass {
						passed[name][r.canonical(suite.words)] = true
					}
				}
			})
			for name, suite := range both { // the other enumeration finds the same ones
				count := 0
				survivors(spec, suite.words, 3+extra, func(r raw) {
					count++
					assert.True(t, passed[name][r.canonical(suite.words)])
				})
				assert.Len(t, passed[name], count)
			}
		}
	}
}

// Every specification of three states, against every implementation of as many and of one state more; and some of them against
// every implementation of two states more.
func TestNoWrongImplementationSurvives(t *testing.T) {
	specs := specifications(3)
	for extra := 0; extra <= 2; extra++ {
		step := []int{1, 1, 50}[extra]
		if testing.Short() {
			step *= 20
		}
		tried, alive := 0, 0
		for k := 0; k < len(specs); k += step {
			for name, suite := range suites(t, specs[k], extra) {
				wrong, right := wrongSurvivors(rawOf(specs[k]), suite.words, 3+extra)
				require.Zero(t, wrong, "%s with %d extra states, specification %v", name, extra, rawOf(specs[k]))
				require.Positive(t, right)
				alive += right
				tried++
			}
		}
		t.Logf("%d extra states: %d suites, %d equivalent implementations", extra, tried, alive)
	}
}

func TestNoWrongImplementationOfAKnownMachineSurvives(t *testing.T) {
	for name, m := range map[string]*Machine{"Gill": gill(t), "cycle": cycle3(t), "lock": lock(t, 4)} {
		for extra := 0; extra <= 1; extra++ {
			for method, suite := range suites(t, m, extra) {
				wrong, right := wrongSurvivors(rawOf(m), suite.words, len(m.states)+extra)
				assert.Zero(t, wrong, "%s, %s, %d", name, method, extra)
				assert.Positive(t, right)
			}
		}
	}
}

// lock is a combination lock (E. F. Moore, 1956, and D. Lee and M. Yannakakis, 1996): a opens it one more step, b locks it, and
// only the last step shows. It is what makes complete suites long.
func lock(t testing.TB, states int) *Machine {
	var lines []string
	for s := range states {
		output, next := 0, s+1
		if next == states {
			output, next = 1, 0
		}
		lines = append(lines, fmt.Sprintf("%d: a/%d %d, b/0 0", s, output, next))
	}
	return build(t, lines...)
}

// The proofs above must be able to fail. Without one of its sequences a suite may let wrong implementations through, and so
// may a suite that is given more states than it was made for.
func TestTheProofCanFail(t *testing.T) {
	m := cycle3(t)
	for name, suite := range suites(t, m, 0) {
		harmful := 0
		for k := range suite.words {
			fewer := slices.Delete(slices.Clone(suite.words), k, k+1)
			if wrong, _ := wrongSurvivors(rawOf(m), fewer, 3); wrong > 0 {
				harmful++
			}
		}
		t.Logf("%s: %d of %d sequences cannot be left out", name, harmful, len(suite.words))
		assert.Positive(t, harmful, name)
		wrong, _ := wrongSurvivors(rawOf(m), suite.words, 4)
		assert.Positive(t, wrong, "%s made for 3 states, with implementations of 4", name)
	}
	// No word that leads to a state is applied without what identifies it: transfer faults go unseen.
	wrong, _ := wrongSurvivors(rawOf(m), m.TransitionCover(), 3)
	assert.Positive(t, wrong, "the transition cover alone")
}
