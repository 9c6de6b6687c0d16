package rapidtest_test

import (
	"testing"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/rapidtest"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// newProgrammer stands for the constructor of your own implementation, which has the methods of [wire.Device].
func newProgrammer(ics spec.ICS) wire.Device { return oracle.SecondModel(ics) }

// The property test of a programmer that is written in Go, here the second model. Put this into your own package, and run it longer with
//
//	go test -run TestProgrammer -rapid.checks=10000
func ExampleCheck() {
	_ = func(t *testing.T) {
		ics := spec.FullICS()
		ics.BoostExtends = true // what your design states
		rapidtest.Check(t, ics, newProgrammer)
	}
	// Output:
}
