package fsm

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// build makes a machine from lines such as "s1: a/0 s1, b/1 s2"; the first line's state is the initial one.
func build(t testing.TB, lines ...string) *Machine {
	t.Helper()
	var transitions []Transition
	for _, line := range lines {
		from, rest, ok := strings.Cut(line, ": ")
		require.True(t, ok, line)
		for _, part := range strings.Split(rest, ", ") {
			label, to, ok := strings.Cut(part, " ")
			require.True(t, ok, line)
			input, output, ok := strings.Cut(label, "/")
			require.True(t, ok, line)
			transitions = append(transitions, Transition{from, input, output, to})
		}
	}
	m, err := Build(transitions[0].From, transitions)
	require.NoError(t, err)
	return m
}

// state returns the number of a state.
func state(t testing.TB, m *Machine, name string) int {
	t.Helper()
	for s, n := range m.StateNames() {
		if n == name {
			return s
		}
	}
	t.Fatalf("no state %q", name)
	return -1
}

// words spells words as texts of one-letter inputs, the empty word as "-".
func words(m *Machine, list []Word) []string {
	out := make([]string, len(list))
	for k, w := range list {
		out[k] = spell(m, w)
	}
	return out
}

func spell(m *Machine, w Word) string {
	if len(w) == 0 {
		return "-"
	}
	return strings.Join(m.Names(w), "")
}

// read is the reverse of spell.
func read(t testing.TB, m *Machine, texts ...string) []Word {
	t.Helper()
	out := make([]Word, len(texts))
	for k, text := range texts {
		w, err := m.Word(strings.Split(strings.Trim(text, "-"), "")...)
		require.NoError(t, err)
		out[k] = w
	}
	return out
}

// answers returns the outputs to a word from a state, as a text.
func answers(t testing.TB, m *Machine, from, text string) string {
	t.Helper()
	outputs, _ := m.Run(state(t, m, from), read(t, m, text)[0])
	var b strings.Builder
	for _, o := range outputs {
		b.WriteString(m.OutputNames()[o])
	}
	return b.String()
}

func TestBuildNumbersInOrderOfAppearance(t *testing.T) {
	m := build(t, "off: press/lit on", "on: press/dark off")
	assert.Equal(t, []string{"off", "on"}, m.StateNames())
	assert.Equal(t, []string{"press"}, m.InputNames())
	assert.Equal(t, []string{"lit", "dark"}, m.OutputNames())
	assert.Equal(t, 0, m.Initial())
	output, next := m.Step(1, 0)
	assert.Equal(t, []int{1, 0}, []int{output, next})
	outputs, last := m.Run(0, Word{0, 0, 0})
	assert.Equal(t, []int{0, 1, 0}, outputs)
	assert.Equal(t, 1, last)
}

func TestBuildRefuses(t *testing.T) {
	tr := func(from, input, output, to string) Transition { return Transition{from, input, output, to} }
	for name, c := range map[string]struct {
		initial     string
		transitions []Transition
		want        string
	}{
		"nothing":           {"s", nil, "there are no transitions"},
		"unknown initial":   {"x", []Transition{tr("s", "a", "0", "s")}, `no transition leaves or enters the initial state "x"`},
		"not deterministic": {"s", []Transition{tr("s", "a", "0", "s"), tr("s", "a", "0", "s")}, `transitions 1 and 2 both leave state "s" on input "a"`},
		"not complete":      {"s", []Transition{tr("s", "a", "0", "t"), tr("t", "a", "0", "t"), tr("t", "b", "0", "t")}, `no transition leaves state "s" on input "b"`},
		"sink":              {"s", []Transition{tr("s", "a", "0", "t")}, `no transition leaves state "t" on input "a"`},
		"unreachable":       {"s", []Transition{tr("s", "a", "0", "s"), tr("t", "a", "0", "s")}, `no input sequence leads from the initial state "s" to "t"`},
		"nameless input":    {"s", []Transition{tr("s", "", "0", "s")}, "input 0 has no name"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Build(c.initial, c.transitions)
			assert.ErrorContains(t, err, c.want)
		})
	}
}

func TestNewRefuses(t *testing.T) {
	good := func() Table {
		return Table{States: []string{"s", "t"}, Inputs: []string{"a"}, Outputs: []string{"0"}, Next: [][]int{{1}, {0}}, Output: [][]int{{0}, {0}}}
	}
	_, err := New(good())
	require.NoError(t, err)
	for name, c := range map[string]struct {
		spoil func(*Table)
		want  string
	}{
		"no states":       {func(x *Table) { x.States = nil }, "there is no state"},
		"no inputs":       {func(x *Table) { x.Inputs = nil }, "there is no input"},
		"no outputs":      {func(x *Table) { x.Outputs = nil }, "there is no output"},
		"state twice":     {func(x *Table) { x.States[1] = "s" }, `states 0 and 1 are both named "s"`},
		"initial":         {func(x *Table) { x.Initial = 2 }, "the initial state is number 2, but the states are 0 to 1"},
		"row missing":     {func(x *Table) { x.Next = x.Next[:1] }, "Next has 1 rows, but there are 2 states"},
		"entry missing":   {func(x *Table) { x.Output[1] = nil }, `Output of state "t" has 0 entries, but there are 1 inputs`},
		"next too great":  {func(x *Table) { x.Next[0][0] = 2 }, `Next of state "s" on input "a" is 2, which is not in 0 to 1`},
		"output negative": {func(x *Table) { x.Output[0][0] = -1 }, `Output of state "s" on input "a" is -1, which is not in 0 to 0`},
		"unreachable":     {func(x *Table) { x.Next[0][0] = 0 }, `to "t": remove`},
	} {
		t.Run(name, func(t *testing.T) {
			table := good()
			c.spoil(&table)
			_, err := New(table)
			assert.ErrorContains(t, err, c.want)
		})
	}
}

func TestMachineKeepsItsOwnCopy(t *testing.T) {
	table := Table{States: []string{"s"}, Inputs: []string{"a"}, Outputs: []string{"0", "1"}, Next: [][]int{{0}}, Output: [][]int{{0}}}
	m, err := New(table)
	require.NoError(t, err)
	table.Output[0][0], table.States[0] = 1, "changed"
	m.InputNames()[0] = "changed"
	output, _ := m.Step(0, 0)
	assert.Equal(t, 0, output)
	assert.Equal(t, []string{"s"}, m.StateNames())
	assert.Equal(t, []string{"a"}, m.InputNames())
}

func TestWordRefusesAnUnknownInput(t *testing.T) {
	m := build(t, "s: a/0 s, b/0 s")
	_, err := m.Word("b", "c")
	assert.EqualError(t, err, `input 2 of the word is "c", which is not in the machine's alphabet: a, b`)
}

func TestMinimal(t *testing.T) {
	// A counter of three presses that was written with two copies of each state; q and t only differ in where they go.
	m := build(t,
		"p: x/0 q", "q: x/0 r", "r: x/1 s",
		"s: x/0 t", "t: x/0 u", "u: x/1 p")
	small := m.Minimal()
	assert.Equal(t, []string{"p", "q", "r"}, small.StateNames())
	different, err := m.Compare(small)
	require.NoError(t, err)
	assert.Nil(t, different)
	assert.Same(t, small, small.Minimal())
	_, err = Analyse(m)
	assert.EqualError(t, err, `states "p" and "s" are equivalent, as no input sequence tells them apart: take the minimal machine`)
}

func TestMinimalMovesTheInitialState(t *testing.T) {
	m, err := New(Table{
		States: []string{"p", "q", "r"}, Inputs: []string{"x"}, Outputs: []string{"0", "1"}, Initial: 2,
		Next: [][]int{{1}, {0}, {1}}, Output: [][]int{{0}, {1}, {0}},
	})
	require.NoError(t, err)
	small := m.Minimal()
	assert.Equal(t, []string{"p", "q"}, small.StateNames())
	assert.Equal(t, 0, small.Initial())
}

func TestMinimalOfAMachineThatAnswersEverythingAlike(t *testing.T) {
	m := build(t, "p: x/0 q, y/0 p", "q: x/0 p, y/0 q")
	assert.Equal(t, []string{"p"}, m.Minimal().StateNames())
}

func TestCompareFindsTheShortestDifference(t *testing.T) {
	m := build(t, "p: a/0 q, b/0 p", "q: a/0 p, b/1 q")
	other := build(t, "1: b/0 1, a/0 2", "2: b/1 2, a/0 2") // the other order of inputs, and q stays on a
	different, err := m.Compare(other)
	require.NoError(t, err)
	assert.Equal(t, &Difference{Inputs: []string{"a", "a", "b"}, Want: "0", Got: "1"}, different)
	assert.Equal(t, `after ["a" "a" "b"]: want "0", got "1"`, different.String())

	_, err = m.Compare(build(t, "p: a/0 p"))
	assert.ErrorContains(t, err, "the machines have not the same inputs")
	_, err = m.Compare(build(t, "p: a/0 p, b/0 p, c/0 p"))
	assert.ErrorContains(t, err, "the machines have not the same inputs")
}

func TestMaximal(t *testing.T) {
	got := maximal([]Word{{1}, {0, 1}, {}, {0}, {1}, {0, 1, 0}, {0, 0}})
	assert.Equal(t, []Word{{1}, {0, 0}, {0, 1, 0}}, got)
	assert.Equal(t, []Word{{}}, maximal([]Word{{}, {}}))
	assert.Empty(t, maximal(nil))
}
