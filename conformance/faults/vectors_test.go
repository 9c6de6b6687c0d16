package faults

import (
	"slices"
	"testing"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// catches reports whether a unit with the fault fails the vector; applies is false if its statement does not call for it.
func catches(t *testing.T, f *Fault, v *suite.Vector) (caught, applies bool) {
	ics := f.ICS()
	if ok, _ := v.Applies(&ics); !ok {
		return false, false
	}
	b, err := v.Bind(&ics)
	if err != nil {
		t.Fatal(err)
	}
	r := oracle.Play(b, v.Until, f.Unit(ics))
	if slices.ContainsFunc(r.Given, func(r spec.Reply) bool { return r.Outcome != spec.Accepted }) || r.Initial != b.Initial || len(r.Changes) != len(b.Trace) {
		return true, true
	}
	for i, step := range b.Steps {
		if r.Replies[i].Outcome != step.Want {
			return true, true
		}
	}
	for i, c := range r.Changes {
		if want := b.Trace[i]; c.At != want.At || c.Signal != want.Signal || c.Level != want.Level {
			return true, true
		}
	}
	return false, true
}

// Every fault is caught by a published vector.
func TestVectorsCatch(t *testing.T) {
	s, err := suite.Load(vectors.Files)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range Catalogue() {
		mine := func(v *suite.Vector) bool { return suite.FamilyOf(v.ID) == f.Family }
		caught := false
		for _, own := range [...]bool{true, false} {
			for _, v := range s.Vectors {
				if !caught && mine(v) == own {
					caught, _ = catches(t, &f, v)
				}
			}
		}
		if !caught {
			t.Errorf("%s: no published vector catches it: %s", f.ID, f.Words)
		}
	}
}
