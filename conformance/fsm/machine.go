package fsm

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Word is an input sequence: the numbers of inputs, from 0, in the order of [Machine.InputNames]. The empty word is a word.
type Word []int

// Machine is a complete, deterministic Mealy machine all of whose states can be reached from its initial state. States,
// inputs and outputs are numbered from 0. Methods that take such a number panic when it is out of range.
type Machine struct {
	states, inputs, outputs []string
	initial                 int
	next, output            [][]int // by state, then input
}

// Table is the plain data of a machine, for [New].
type Table struct {
	States, Inputs, Outputs []string // names: not empty, and no two of a list alike
	Initial                 int      // the initial state's number
	Next, Output            [][]int  // the next state and the output, by state, then input
}

// New makes a machine of a copy of the table. It returns an error that says what is wrong and where when a list of names is
// empty or has a name twice, when a row or an entry is missing (the machine would not be complete), when a number is out of
// range, or when a state cannot be reached from the initial state.
func New(t Table) (*Machine, error) {
	for _, list := range []struct {
		kind  string
		names []string
	}{{"state", t.States}, {"input", t.Inputs}, {"output", t.Outputs}} {
		if err := checkNames(list.kind, list.names); err != nil {
			return nil, err
		}
	}
	if t.Initial < 0 || t.Initial >= len(t.States) {
		return nil, fmt.Errorf("the initial state is number %d, but the states are 0 to %d", t.Initial, len(t.States)-1)
	}
	if err := t.checkRows("Next", t.Next, len(t.States)); err != nil {
		return nil, err
	}
	if err := t.checkRows("Output", t.Output, len(t.Outputs)); err != nil {
		return nil, err
	}
	m := &Machine{
		states: slices.Clone(t.States), inputs: slices.Clone(t.Inputs), outputs: slices.Clone(t.Outputs),
		initial: t.Initial, next: cloneRows(t.Next), output: cloneRows(t.Output),
	}
	var lost []string
	for s, w := range m.StateCover() {
		if w == nil {
			lost = append(lost, fmt.Sprintf("%q", m.states[s]))
		}
	}
	if lost != nil {
		return nil, fmt.Errorf("no input sequence leads from the initial state %q to %s: remove what cannot be reached",
			m.states[m.initial], strings.Join(lost, ", "))
	}
	return m, nil
}

func checkNames(kind string, names []string) error {
	if len(names) == 0 {
		return fmt.Errorf("there is no %s: a machine needs at least one", kind)
	}
	first := make(map[string]int, len(names))
	for i, name := range names {
		if name == "" {
			return fmt.Errorf("%s %d has no name", kind, i)
		}
		if j, twice := first[name]; twice {
			return fmt.Errorf("%ss %d and %d are both named %q", kind, j, i, name)
		}
		first[name] = i
	}
	return nil
}

func (t *Table) checkRows(which string, rows [][]int, below int) error {
	if len(rows) != len(t.States) {
		return fmt.Errorf("%s has %d rows, but there are %d states: one row for each", which, len(rows), len(t.States))
	}
	for s, row := range rows {
		if len(row) != len(t.Inputs) {
			return fmt.Errorf("%s of state %q has %d entries, but there are %d inputs: a machine answers each input in every state",
				which, t.States[s], len(row), len(t.Inputs))
		}
		for i, v := range row {
			if v < 0 || v >= below {
				return fmt.Errorf("%s of state %q on input %q is %d, which is not in 0 to %d", which, t.States[s], t.Inputs[i], v, below-1)
			}
		}
	}
	return nil
}

func cloneRows(rows [][]int) [][]int {
	out := make([][]int, len(rows))
	for i, row := range rows {
		out[i] = slices.Clone(row)
	}
	return out
}

// Transition is one entry of a machine written down by names, for [Build].
type Transition struct{ From, Input, Output, To string }

// Build makes a machine from its transitions in any order. States, inputs and outputs are numbered in the order in which they
// first appear in the list; a state that only appears as To follows those that appear as From. It returns an error when the
// initial state is unknown, when two transitions leave the same state on the same input (the machine would not be
// deterministic), when one is missing, and in the cases of [New].
func Build(initial string, transitions []Transition) (*Machine, error) {
	if len(transitions) == 0 {
		return nil, errors.New("there are no transitions")
	}
	var states, inputs, outputs numbering
	for _, tr := range transitions {
		states.number(tr.From)
		inputs.number(tr.Input)
		outputs.number(tr.Output)
	}
	for _, tr := range transitions {
		states.number(tr.To)
	}
	start, ok := states.known[initial]
	if !ok {
		return nil, fmt.Errorf("no transition leaves or enters the initial state %q", initial)
	}
	given := make([][]int, len(states.names)) // the position in transitions, from 1
	t := Table{States: states.names, Inputs: inputs.names, Outputs: outputs.names, Initial: start}
	for range states.names {
		t.Next = append(t.Next, make([]int, len(inputs.names)))
		t.Output = append(t.Output, make([]int, len(inputs.names)))
	}
	for s := range given {
		given[s] = make([]int, len(inputs.names))
	}
	for n, tr := range transitions {
		s, i := states.number(tr.From), inputs.number(tr.Input)
		if given[s][i] != 0 {
			return nil, fmt.Errorf("transitions %d and %d both leave state %q on input %q: a deterministic machine has one",
				given[s][i], n+1, tr.From, tr.Input)
		}
		given[s][i] = n + 1
		t.Next[s][i], t.Output[s][i] = states.number(tr.To), outputs.number(tr.Output)
	}
	for s, row := range given {
		if i := slices.Index(row, 0); i >= 0 {
			return nil, fmt.Errorf("no transition leaves state %q on input %q: a machine answers each input in every state",
				t.States[s], t.Inputs[i])
		}
	}
	return New(t)
}

// numbering numbers names in the order in which they are first asked for.
type numbering struct {
	names []string
	known map[string]int
}

func (n *numbering) number(name string) int {
	id, ok := n.known[name]
	if !ok {
		if n.known == nil {
			n.known = make(map[string]int)
		}
		id = len(n.names)
		n.known[name] = id
		n.names = append(n.names, name)
	}
	return id
}

// StateNames returns the names of the states, by number.
func (m *Machine) StateNames() []string { return slices.Clone(m.states) }

// InputNames returns the names of the inputs, by number.
func (m *Machine) InputNames() []string { return slices.Clone(m.inputs) }

// OutputNames returns the names of the outputs, by number.
func (m *Machine) OutputNames() []string { return slices.Clone(m.outputs) }

// Initial returns the number of the initial state.
func (m *Machine) Initial() int { return m.initial }

// Step returns what the machine does on one input in a state: its output and the state it goes to.
func (m *Machine) Step(state, input int) (output, next int) {
	return m.output[state][input], m.next[state][input]
}

// Run applies the inputs of w one after another from a state. It returns the outputs, one for each input, and the last state.
func (m *Machine) Run(state int, w Word) (outputs []int, last int) {
	outputs = make([]int, len(w))
	for k, i := range w {
		outputs[k], state = m.Step(state, i)
	}
	return outputs, state
}

// Names returns the names of a word's inputs.
func (m *Machine) Names(w Word) []string {
	names := make([]string, len(w))
	for k, i := range w {
		names[k] = m.inputs[i]
	}
	return names
}

// Word returns the word that the names of inputs spell. It returns an error for a name that is not in the machine's alphabet.
func (m *Machine) Word(names ...string) (Word, error) {
	w := make(Word, len(names))
	for k, name := range names {
		w[k] = slices.Index(m.inputs, name)
		if w[k] < 0 {
			return nil, fmt.Errorf("input %d of the word is %q, which is not in the machine's alphabet: %s", k+1, name, strings.Join(m.inputs, ", "))
		}
	}
	return w, nil
}
