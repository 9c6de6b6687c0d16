package conformance_test

import (
	"testing"

	"example.org/hearthbench/conformance"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// unit is the device under test. Here it has the emulator inside; yours has your programmer.
type unit struct {
	programmer emulator.Unit
}

// newUnit makes a unit as it leaves the factory: without power, at elapsed second 0.
func newUnit(ics spec.ICS) wire.Device {
	programmer, err := emulator.New(ics)
	if err != nil {
		panic(err) // Test has found the statement valid
	}
	return &unit{programmer}
}

// Do gives the unit an input. What changes with it is appended, each output with its new level and the elapsed second.
func (u *unit) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	return u.programmer.Do(in, changes)
}

// Advance lets seconds pass. What changes in them is appended in the order in which it happens.
func (u *unit) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	return u.programmer.Advance(seconds, changes)
}

// statement says what the unit has, and which choices it has made where honest designs differ. What it leaves out has the default.
func statement() spec.ICS {
	ics := spec.FullICS()
	ics.Periods = 3
	ics.Lock, ics.Credential = false, ""
	ics.Wrap = true // a period whose off is before its on goes on into the next day
	return ics
}

// The whole test, in a file unit_test.go of your own, is func TestUnit(t *testing.T) with this one line. Then 'go test' puts every
// vector to the unit, and 'go test -run TestUnit/OVR-2/' those of one clause.
func ExampleTest() {
	var t *testing.T // from go test
	conformance.Test(t, statement(), newUnit)
}
