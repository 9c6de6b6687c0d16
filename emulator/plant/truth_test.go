package plant

import (
	"fmt"
	"strings"
	"testing"
)

// The truth tables were written by hand, from how such plants work, before the wiring was asked. Each row: hw ch room cylinder (for
// two zones: hw ch room room2), then call pump, then where the valves stand. A dash: there is none, so it cannot matter.
var truth = map[Plan]string{
	// The hot-water relay is the boiler, the heating relay through the room thermostat is the pump.
	GravityUnvalved: `
		0 0 0 - | 0 0
		0 0 1 - | 0 0
		0 1 0 - | 0 0
		0 1 1 - | 0 1
		1 0 0 - | 1 0
		1 0 1 - | 1 0
		1 1 0 - | 1 0
		1 1 1 - | 1 1`,
	// Heating alone runs boiler and pump with the cylinder's valve shut; hot water alone opens it and runs no pump.
	GravityValved: `
		0 0 0 0 | 0 0 shut
		0 0 0 1 | 0 0 shut
		0 0 1 0 | 0 0 shut
		0 0 1 1 | 0 0 shut
		0 1 0 0 | 0 0 shut
		0 1 0 1 | 0 0 shut
		0 1 1 0 | 1 1 shut
		0 1 1 1 | 1 1 shut
		1 0 0 0 | 0 0 shut
		1 0 0 1 | 1 0 open
		1 0 1 0 | 0 0 shut
		1 0 1 1 | 1 0 open
		1 1 0 0 | 0 0 shut
		1 1 0 1 | 1 0 open
		1 1 1 0 | 1 1 shut
		1 1 1 1 | 1 1 open`,
	// Each circuit for itself; either runs boiler and pump.
	TwoValves: `
		0 0 0 0 | 0 0 shut,shut
		0 0 0 1 | 0 0 shut,shut
		0 0 1 0 | 0 0 shut,shut
		0 0 1 1 | 0 0 shut,shut
		0 1 0 0 | 0 0 shut,shut
		0 1 0 1 | 0 0 shut,shut
		0 1 1 0 | 1 1 shut,open
		0 1 1 1 | 1 1 shut,open
		1 0 0 0 | 0 0 shut,shut
		1 0 0 1 | 1 1 open,shut
		1 0 1 0 | 0 0 shut,shut
		1 0 1 1 | 1 1 open,shut
		1 1 0 0 | 0 0 shut,shut
		1 1 0 1 | 1 1 open,shut
		1 1 1 0 | 1 1 shut,open
		1 1 1 1 | 1 1 open,open`,
	// Held rows stand where the demand with both thermostats calling had brought the valve.
	MidPosition: `
		0 0 0 0 | 0 0 at hot water,held
		0 0 0 1 | 0 0 at hot water,held
		0 0 1 0 | 0 0 at hot water,held
		0 0 1 1 | 0 0 at hot water,held
		0 1 0 0 | 0 0 at heating,held
		0 1 0 1 | 0 0 at heating,held
		0 1 1 0 | 1 1 at heating
		0 1 1 1 | 1 1 at heating
		1 0 0 0 | 0 0 at hot water,held
		1 0 0 1 | 1 1 at hot water
		1 0 1 0 | 0 0 at hot water,held
		1 0 1 1 | 1 1 at hot water
		1 1 0 0 | 0 0 in the middle,held
		1 1 0 1 | 1 1 at hot water
		1 1 1 0 | 1 1 at heating
		1 1 1 1 | 1 1 in the middle`,
	// Hot water first: while the cylinder calls, the radiators wait.
	Diverter: `
		0 0 0 0 | 0 0 at heating
		0 0 0 1 | 0 0 at heating
		0 0 1 0 | 0 0 at heating
		0 0 1 1 | 0 0 at heating
		0 1 0 0 | 0 0 at heating
		0 1 0 1 | 0 0 at heating
		0 1 1 0 | 1 1 at heating
		0 1 1 1 | 1 1 at heating
		1 0 0 0 | 0 0 at heating
		1 0 0 1 | 1 1 at hot water
		1 0 1 0 | 0 0 at heating
		1 0 1 1 | 1 1 at hot water
		1 1 0 0 | 0 0 at heating
		1 1 0 1 | 1 1 at hot water
		1 1 1 0 | 1 1 at heating
		1 1 1 1 | 1 1 at hot water`,
	// The hot-water relay works nothing.
	Combination: `
		0 0 0 - | 0 0
		0 0 1 - | 0 0
		0 1 0 - | 0 0
		0 1 1 - | 1 1
		1 0 0 - | 0 0
		1 0 1 - | 0 0
		1 1 0 - | 0 0
		1 1 1 - | 1 1`,
	TwoZones: `
		0 0 0 0 | 0 0 shut,shut
		0 0 0 1 | 0 0 shut,shut
		0 0 1 0 | 0 0 shut,shut
		0 0 1 1 | 0 0 shut,shut
		0 1 0 0 | 0 0 shut,shut
		0 1 0 1 | 0 0 shut,shut
		0 1 1 0 | 1 1 open,shut
		0 1 1 1 | 1 1 open,shut
		1 0 0 0 | 0 0 shut,shut
		1 0 0 1 | 1 1 shut,open
		1 0 1 0 | 0 0 shut,shut
		1 0 1 1 | 1 1 shut,open
		1 1 0 0 | 0 0 shut,shut
		1 1 0 1 | 1 1 shut,open
		1 1 1 0 | 1 1 open,shut
		1 1 1 1 | 1 1 open,open`,
}

func TestEveryPlanDoesWhatItsTruthTableSays(t *testing.T) {
	for plan := range Plan(NumPlans) {
		for _, supply := range []Supply{SwitchesMains, VoltFree, VoltFreeApart} {
			in := Usual(plan)
			in.Supply = supply
			rows, err := LiveTable(&in)
			if err != nil {
				t.Fatal(err)
			}
			got := map[string]string{}
			for _, r := range rows {
				if r.Inputs.UnitPower && r.Inputs.PlantPower {
					got[demand(&in, r)] = outcome(&in, r)
				}
			}
			lines := strings.Split(strings.TrimSpace(truth[plan]), "\n")
			if len(got) != len(lines) {
				t.Errorf("%v, %v: %d rows with mains, want %d", plan, supply, len(got), len(lines))
			}
			for _, line := range lines {
				when, want, _ := strings.Cut(strings.TrimSpace(line), " | ")
				if got[when] != want {
					t.Errorf("%v, %v: at %s: %q, want %q", plan, supply, when, got[when], want)
				}
			}
		}
	}
}

func demand(in *Installation, r Row) string {
	second := "-"
	switch {
	case in.Has(CylinderStat):
		second = digit(r.Cylinder)
	case in.Has(RoomStat2):
		second = digit(r.Room2)
	}
	return fmt.Sprintf("%s %s %s %s", digit(r.Inputs.HW), digit(r.Inputs.CH), digit(r.Room), second)
}

func outcome(in *Installation, r Row) string {
	var valves []string
	for i, p := range valvePoints {
		if in.Has(p) {
			valves = append(valves, p.Word(r.Valves[i]))
		}
	}
	if r.Held {
		valves = append(valves, "held")
	}
	return strings.TrimSpace(digit(r.Call) + " " + digit(r.Pump) + " " + strings.Join(valves, ","))
}

// A changeover: on and off are never live together, and exactly one is while its common is, unless a plan feeds one back.
func TestTheOffTerminalFollowsTheRelay(t *testing.T) {
	for _, plan := range []Plan{GravityUnvalved, GravityValved, TwoValves, Diverter, Combination, TwoZones} {
		in := Usual(plan)
		rows, err := LiveTable(&in)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rows {
			if r.Live.Has(HWOn) != (r.Inputs.HW && r.Inputs.UnitPower) || r.Live.Has(HWOff) != (!r.Inputs.HW && r.Inputs.UnitPower) ||
				r.Live.Has(CHOn) != (r.Inputs.CH && r.Inputs.UnitPower) || r.Live.Has(CHOff) != (!r.Inputs.CH && r.Inputs.UnitPower) {
				t.Errorf("%v: demand %+v: live: %v", plan, r.Inputs, r.Live)
			}
		}
	}
}

// Without mains at the unit alone: a unit that switches mains is dead throughout; on the plant's supply the relays are at rest and
// the off contacts made, so the off terminals are live.
func TestWithoutMainsAtTheUnitTheSupplyDecides(t *testing.T) {
	for _, c := range []struct {
		supply         Supply
		unit, plant    bool
		on, off, mains bool
	}{
		{SwitchesMains, false, true, false, false, false},
		{SwitchesMains, true, false, true, false, true},
		{VoltFree, false, true, false, true, false},
		{VoltFree, true, true, true, false, true},
		{VoltFree, true, false, false, false, true}, // relays work, and there is nothing to switch
		{VoltFree, false, false, false, false, false},
		{VoltFreeApart, false, true, false, true, false},
	} {
		in := Usual(TwoValves)
		in.Supply = c.supply
		p := start(t, in)
		p.Set(Inputs{HW: true, CH: true, UnitPower: c.unit, PlantPower: c.plant}, nil)
		live := p.Live()
		if live.Has(HWOn) != c.on || live.Has(HWOff) != c.off || live.Has(CHOff) != c.off || (p.Level(UnitMains) == On) != c.mains {
			t.Errorf("%v, unit %v, plant %v: live: %v; mains at the unit %v", c.supply, c.unit, c.plant, live, p.Level(UnitMains))
		}
	}
}

func start(t testing.TB, in Installation) Plant {
	t.Helper()
	p, err := New(in, UsualStart(0))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The hold feed of a mid-position valve with a volt-free unit: unplugged, the unit's hot-water-off terminal stays live and holds the
// valve, where a unit that switches mains lets it spring back to hot water.
func TestAMidPositionValveIsHeldByAUnitWithoutMains(t *testing.T) {
	for supply, want := range map[Supply]Level{SwitchesMains: AtHotWater, VoltFree: AtHeating} {
		in := Usual(MidPosition)
		in.Supply = supply
		p := start(t, in)
		p.Set(Inputs{CH: true, UnitPower: true, PlantPower: true}, nil)
		p.Advance(60, nil)
		if got := p.Level(ThreePort); got != AtHeating {
			t.Fatalf("%v: heating alone: %s", supply, ThreePort.Word(got))
		}
		p.Set(Inputs{PlantPower: true}, nil)
		p.Advance(60, nil)
		if got := p.Level(ThreePort); got != want {
			t.Errorf("%v: without mains at the unit: %s, want %s", supply, ThreePort.Word(got), ThreePort.Word(want))
		}
	}
}

// A relay terminal that the plant feeds back: with hot water off and heating on, a mid-position plant has the unit's hot-water-on
// terminal live, through the cylinder thermostat. Known to everyone who has measured there.
func TestAMidPositionPlantFeedsTheHotWaterOnTerminalBack(t *testing.T) {
	p := start(t, Usual(MidPosition))
	p.Set(Inputs{CH: true, UnitPower: true}, nil)
	p.Advance(60, nil)
	if !p.Live().Has(HWOn) {
		t.Errorf("live: %v", p.Live())
	}
}
