package fuzz

import (
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/emulator/spec"
)

// coverage counts what the oracle has been brought to. Counters stand still at 255.
type coverage struct {
	places  []uint8 // steps, by class and what matters of the state: see place
	turns   []uint8 // steps, by class and the class of the step before
	pairs   []bool  // clause pairs: a clause has settled a signal after another one
	shunned []uint8 // by class: what leads to causes that are known already costs

	reached int // places
	clauses int // clause pairs
}

const (
	reasons   = spec.NumClauses * spec.NumCauses
	placeBits = 11
)

func newCoverage() *coverage {
	return &coverage{
		places:  make([]uint8, numClasses<<placeBits),
		turns:   make([]uint8, numClasses*numClasses),
		pairs:   make([]bool, spec.NumSignals*spec.NumClauses*reasons),
		shunned: make([]uint8, numClasses),
	}
}

// tried says how often a step like this has been done in a state like this, and after a step like the one before.
func (c *coverage) tried(place uint32, previous class) int {
	k := place >> placeBits
	return 2*int(c.places[place]) + int(c.turns[uint32(previous)*numClasses+k]) + int(c.shunned[k])
}

// step counts a step, and reports whether its place is new.
func (c *coverage) step(place uint32, previous class) bool {
	p, t := &c.places[place], &c.turns[uint32(previous)*numClasses+place>>placeBits]
	fresh := *p == 0
	if fresh {
		c.reached++
	}
	if *p < 255 {
		*p++
	}
	if *t < 255 {
		*t++
	}
	return fresh
}

// pair notes that a clause has settled a signal after another one, and reports whether that is new.
func (c *coverage) pair(last spec.Clause, change *spec.Change) bool {
	p := &c.pairs[(int(change.Signal)*spec.NumClauses+int(last))*reasons+int(change.By)*spec.NumCauses+int(change.Cause)]
	if *p {
		return false
	}
	*p = true
	c.clauses++
	return true
}

// entry is a kept script.
type entry struct {
	script  iut.Script
	classes []class
}
