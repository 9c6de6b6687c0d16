package fsm

import (
	"fmt"
	"slices"
)

// MaxSequences bounds the size of a suite: the sequences that a method forms, before those that begin others are taken out.
const MaxSequences = 2_000_000

// Suite is a set of test sequences, each of which is to be applied after a reset. No sequence of it begins another.
type Suite struct {
	machine *Machine
	words   []Word
}

// WMethod makes Chow's suite for implementations of up to extra states more than the specification has: every word of the
// transition cover, then every word of up to extra inputs, then every word of W. If reset works, and the implementation is
// deterministic and complete over the alphabet and has at most that many states, it passes if and only if it is equivalent to
// the specification; the package comment says this in full. (T. S. Chow, 1978.)
//
// It returns an error when extra is negative, or when more than [MaxSequences] would have to be formed: each extra state
// multiplies their number by that of the inputs.
func (a *Analysis) WMethod(extra int) (*Suite, error) {
	ids := make([][]Word, len(a.machine.states))
	for s := range ids {
		ids[s] = a.w
	}
	return a.suite(extra, ids)
}

// HSIMethod makes the suite of the harmonized state identifiers: every word of the state cover, then every word of up to
// extra+1 inputs, then the identifier of the state that the specification is in by then. What it guarantees is what
// [Analysis.WMethod] does, under the same assumptions, and the errors are the same. Each of its sequences begins one of that
// suite, so it never has more sequences than that, nor more inputs. (From memory: A. Petrenko, N. Yevtushenko and others,
// 1991 to 1993; G. Luo, A. Petrenko and G. v. Bochmann, 1994.)
func (a *Analysis) HSIMethod(extra int) (*Suite, error) {
	return a.suite(extra, a.hsi)
}

// suite forms the words of the state cover, each followed by every word of up to extra+1 inputs, each of these followed by
// what identifies, by ids, the state it leads to.
func (a *Analysis) suite(extra int, ids [][]Word) (*Suite, error) {
	if extra < 0 {
		return nil, fmt.Errorf("%d extra states: give 0 or more", extra)
	}
	m := a.machine
	each := 1 // the words formed where the walk below is
	for _, id := range ids {
		each = max(each, 1+len(id))
	}
	formed, level := len(m.states)*each, len(m.states)*each
	for range extra + 1 {
		level *= len(m.inputs)
		if formed += level; formed > MaxSequences {
			return nil, fmt.Errorf("with %d extra states, %d states and %d inputs, a suite could need more than %d sequences: allow fewer extra states, or leave inputs out",
				extra, len(m.states), len(m.inputs), MaxSequences)
		}
	}
	words := make([]Word, 0, formed)
	var walk func(w Word, state, left int)
	walk = func(w Word, state, left int) {
		words = append(words, w)
		for _, id := range ids[state] {
			words = append(words, w.then(id...))
		}
		if left == 0 {
			return
		}
		for i, next := range m.next[state] {
			walk(w.then(i), next, left-1)
		}
	}
	for s, w := range m.StateCover() {
		walk(w, s, extra+1)
	}
	return &Suite{machine: m, words: maximal(words)}, nil
}

// Machine returns the specification that the suite was made for.
func (s *Suite) Machine() *Machine { return s.machine }

// Len returns the number of sequences: a run of the suite needs as many resets.
func (s *Suite) Len() int { return len(s.words) }

// Length returns the number of inputs in all sequences together.
func (s *Suite) Length() int {
	length := 0
	for _, w := range s.words {
		length += len(w)
	}
	return length
}

// Words returns the sequences: shortest first, and those of one length in the order of the inputs.
func (s *Suite) Words() []Word { return cloneWords(s.words) }

// Test returns a sequence, by its place from 0 in [Suite.Words], and the outputs that the specification answers it with, by
// name.
func (s *Suite) Test(n int) (inputs, outputs []string) {
	w := s.words[n]
	answers, _ := s.machine.Run(s.machine.initial, w)
	outputs = make([]string, len(w))
	for k, o := range answers {
		outputs[k] = s.machine.outputs[o]
	}
	return s.machine.Names(w), outputs
}

// Check applies the suite. For each sequence, in order, it calls run, which must reset the implementation, apply the inputs
// one after another and return the outputs, one for each. Check stops at the first output that differs from the
// specification's and returns it, or returns nil when the implementation passes. An error of run, or outputs that are not one
// for each input, end it with an error that names the sequence: that is no verdict.
func (s *Suite) Check(run func(inputs []string) (outputs []string, err error)) (*Difference, error) {
	for n := range s.words {
		inputs, want := s.Test(n)
		got, err := run(slices.Clone(inputs))
		if err == nil && len(got) != len(inputs) {
			err = fmt.Errorf("%d outputs came back for %d inputs", len(got), len(inputs))
		}
		if err != nil {
			return nil, fmt.Errorf("sequence %d of %d, %q: %w", n+1, len(s.words), inputs, err)
		}
		for k := range want {
			if got[k] != want[k] {
				return &Difference{Inputs: inputs[:k+1], Want: want[k], Got: got[k]}, nil
			}
		}
	}
	return nil, nil
}
