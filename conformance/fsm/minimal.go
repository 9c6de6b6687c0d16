package fsm

import (
	"fmt"
	"slices"
)

// classes splits the states into classes that are numbered from 0 in the order of their first states. It is a slice by state.
type classes []int

// split splits classes further by what look gives for a state, and returns the new classes and how many there are.
func (c classes) split(look func(state int) int) (finer classes, count int) {
	finer = make(classes, len(c))
	ids := make(map[[2]int]int)
	for s := range c {
		key := [2]int{c[s], look(s)}
		id, ok := ids[key]
		if !ok {
			id = len(ids)
			ids[key] = id
		}
		finer[s] = id
	}
	return finer, len(ids)
}

// refine calls each with the classes of the states that no word of length k tells apart, and their number, for k = 0 (all
// states are one class), then 1, and so on, as long as their number grows. The last classes are those of equivalent states.
// (From memory: E. F. Moore, "Gedanken-Experiments on Sequential Machines", 1956.)
func (m *Machine) refine(each func(c classes, count int)) {
	c, count := make(classes, len(m.states)), 1
	show := func(s, i int) int { return m.output[s][i] }
	for {
		each(c, count)
		finer, grown := c, count
		for i := range m.inputs {
			finer, grown = finer.split(func(s int) int { return show(s, i) })
		}
		if grown == count {
			return
		}
		c, count = finer, grown
		show = func(s, i int) int { return c[m.next[s][i]] }
	}
}

// Minimal returns the machine with equivalent states merged: the smallest machine that answers every input sequence alike. A
// merged state has the name of the first state in it; the order of states is kept, and the alphabets are. A machine that is
// minimal already is returned itself.
func (m *Machine) Minimal() *Machine {
	var class classes
	var count int
	m.refine(func(c classes, n int) { class, count = c, n })
	if count == len(m.states) {
		return m
	}
	small := &Machine{inputs: m.inputs, outputs: m.outputs, initial: class[m.initial]}
	for s, c := range class {
		if c < len(small.states) { // not the first state of its class
			continue
		}
		next := make([]int, len(m.inputs))
		for i, to := range m.next[s] {
			next[i] = class[to]
		}
		small.states = append(small.states, m.states[s])
		small.next = append(small.next, next)
		small.output = append(small.output, m.output[s])
	}
	return small
}

// Difference is an input sequence on which two machines, or a machine and an implementation, first differ with its last input.
type Difference struct {
	Inputs    []string // from reset, at least one
	Want, Got string   // the specification's output to the last input, and the other's
}

func (d *Difference) String() string {
	return fmt.Sprintf("after %q: want %q, got %q", d.Inputs, d.Want, d.Got)
}

// Compare looks for the shortest input sequence, in the order of m's inputs, that m and other answer differently. It returns nil
// when there is none: the machines are equivalent. Inputs and outputs are compared by name. It returns an error when the two
// have not the same inputs.
func (m *Machine) Compare(other *Machine) (*Difference, error) {
	translate, err := other.Word(m.inputs...)
	if err != nil || len(other.inputs) != len(m.inputs) {
		return nil, fmt.Errorf("the machines have not the same inputs: %q and %q", m.inputs, other.inputs)
	}
	type pair struct{ a, b int }
	type arrival struct {
		from  pair
		input int
	}
	start := pair{m.initial, other.initial}
	came := map[pair]arrival{start: {}}
	for queue := []pair{start}; len(queue) > 0; queue = queue[1:] {
		at := queue[0]
		for i := range m.inputs {
			want, a := m.Step(at.a, i)
			got, b := other.Step(at.b, translate[i])
			if m.outputs[want] != other.outputs[got] {
				inputs := []string{m.inputs[i]}
				for p := at; p != start; p = came[p].from {
					inputs = append(inputs, m.inputs[came[p].input])
				}
				slices.Reverse(inputs)
				return &Difference{Inputs: inputs, Want: m.outputs[want], Got: other.outputs[got]}, nil
			}
			to := pair{a, b}
			if _, seen := came[to]; !seen {
				came[to] = arrival{from: at, input: i}
				queue = append(queue, to)
			}
		}
	}
	return nil, nil
}
