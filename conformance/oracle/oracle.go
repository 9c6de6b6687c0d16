// Package oracle holds the two models of the unit side by side: the emulator, and the slow and obvious second model. Nothing is
// published as expected on which they do not agree.
package oracle

import (
	"fmt"

	"example.org/hearthbench/conformance/plain"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// Device is a unit that is driven in this process.
type Device interface {
	wire.Device
	Level(spec.Signal) spec.Level
}

// Emulator returns the emulator of a unit, as it left the factory. The ICS must be valid.
func Emulator(ics spec.ICS) Device {
	u, err := emulator.New(ics)
	if err != nil {
		panic(fmt.Sprintf("an ICS that was not validated: %v", err))
	}
	return &u
}

// SecondModel returns the second model of a unit, as it left the factory. The ICS must be valid.
func SecondModel(ics spec.ICS) Device { return &second{Unit: plain.New(ics)} }

// second gives the second model the emulator's way of reporting changes.
type second struct {
	*plain.Unit
	reported int
	levels   [spec.NumSignals]spec.Level
}

func (s *second) Level(sig spec.Signal) spec.Level { return s.levels[sig] }

func (s *second) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	r := s.Unit.Do(in)
	return r, s.report(changes)
}

func (s *second) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	s.Unit.AdvanceByMinutes(seconds)
	return s.report(changes)
}

func (s *second) report(changes []spec.Change) []spec.Change {
	fresh := s.Changes()[s.reported:]
	s.reported += len(fresh)
	for _, c := range fresh {
		s.levels[c.Signal] = c.Level
	}
	return append(changes, fresh...)
}

// Run is what a model did with a bound vector.
type Run struct {
	Given   []spec.Reply
	Initial [spec.NumSignals]spec.Level
	Replies []spec.Reply  // to the steps
	Changes []spec.Change // after the given inputs
}

// Play puts a bound vector to a model.
func Play(b *suite.Bound, until uint64, d Device) Run {
	var r Run
	for _, in := range b.Fits {
		reply, _ := d.Do(in, nil)
		r.Given = append(r.Given, reply)
	}
	for _, in := range b.Given {
		reply, _ := d.Do(in, nil)
		r.Given = append(r.Given, reply)
	}
	for s := range r.Initial {
		r.Initial[s] = d.Level(spec.Signal(s))
	}
	now := uint64(0)
	for _, step := range b.Steps {
		r.Changes = d.Advance(step.At-now, r.Changes)
		now = step.At
		var reply spec.Reply
		reply, r.Changes = d.Do(step.Input, r.Changes)
		r.Replies = append(r.Replies, reply)
	}
	r.Changes = d.Advance(until-now, r.Changes)
	return r
}
