package plant

import (
	"testing"

	"pgregory.net/rapid"
)

// Whatever circuits came before, and however their places fell together, what is live is what the wires make live.
func TestACircuitLookedUpIsTheCircuitReckoned(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, err := New(full(Plan(rapid.IntRange(0, NumPlans-1).Draw(t, "plan"))), UsualStart(0))
		if err != nil {
			t.Fatal(err)
		}
		few := rapid.SliceOfN(rapid.Uint32(), 1, 40).Draw(t, "contacts")
		for range rapid.IntRange(1, 100).Draw(t, "times") {
			p.give(Inputs{UnitPower: rapid.Bool().Draw(t, "unit"), PlantPower: rapid.Bool().Draw(t, "plant")})
			closed := p.nets.conducting(Contacts(rapid.SampledFrom(few).Draw(t, "closed")))
			p.close(closed)
			if want := p.nets.reach(p.source, closed); p.live != want || p.closed != closed || p.fed != p.source {
				t.Fatalf("contacts %b on %b: %b are live, want %b", closed, p.source, p.live, want)
			}
			if p.called() != p.nets.has(p.live, BoilerCall) {
				t.Fatalf("the boiler is called: %v", p.called())
			}
		}
	})
}

// A plant that is refitted goes by its new wires and its new faults at once, however often it has been through the same contacts before: it
// stands as one that was never fitted otherwise.
func TestARefittedPlantForgetsItsCircuits(t *testing.T) {
	for plan := range Plan(NumPlans) {
		in := Usual(plan)
		for _, f := range in.PossibleFaults() {
			p, err := New(in, UsualStart(0))
			if err != nil {
				t.Fatal(err)
			}
			p.Advance(3600, p.Set(both, nil))
			faulty := in.With(f)
			if _, err := p.Refit(faulty, nil); err != nil {
				t.Fatal(err)
			}
			p.Advance(3600, nil)
			if want := p.nets.reach(p.source, p.closed); p.live != want || p.called() != p.nets.has(want, BoilerCall) {
				t.Errorf("%v, %v: %v are live, not %v", plan, f, p.nets.terminals(p.live), p.nets.terminals(want))
			}
			if turns := !faulty.has(Dead, PumpLoad) && p.nets.has(p.live, PumpLive); p.pumpTurns() != turns {
				t.Errorf("%v, %v: the pump turns: %v", plan, f, p.pumpTurns())
			}
		}
	}
}

// Bodies take another course as soon as the installation is another, though nothing is switched.
func TestARefittedPlantCoolsTowardsItsNewOutdoors(t *testing.T) {
	in := Usual(TwoValves)
	p, err := New(in, UsualStart(0))
	if err != nil {
		t.Fatal(err)
	}
	in.Outdoor = -5 * Celsius
	if _, err := p.Refit(in, nil); err != nil {
		t.Fatal(err)
	}
	if to := p.curves[RoomAir].to; to != in.Outdoor.micro() {
		t.Errorf("the room cools towards %v", Temp(to/1000))
	}
}
