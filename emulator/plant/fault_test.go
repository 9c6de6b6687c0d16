package plant

import (
	"errors"
	"strings"
	"testing"
)

// found is what a household finds in two hours of a demand: whether the flame burnt most of the time, and at the end whether radiators
// are warm, the pump runs, and the cylinder is warmer than before.
type found struct{ flame, radiators, pump, warmer bool }

func find(t *testing.T, in Installation, demand Inputs) found {
	t.Helper()
	p := start(t, in)
	p.Set(mains, nil)
	p.Advance(60, nil)
	before := p.Temp(CylinderWater)
	p.Set(demand, nil)
	burnt, minutes := 0, 120
	for range minutes {
		p.Advance(60, nil)
		if p.Level(Flame) == On {
			burnt++
		}
	}
	return found{burnt > minutes/2, p.Level(Radiators) == On, p.Level(Pump) == On, p.Temp(CylinderWater) > before}
}

// What each kind of fault does to a household, worked out by hand from the wiring. Sound, with the thermostats calling: heating alone
// gives flame, warm radiators and pump; hot water alone flame, pump and a warmer cylinder.
func TestEveryKindOfFaultShows(t *testing.T) {
	heats, waters, nothing := found{flame: true, radiators: true, pump: true}, found{flame: true, pump: true, warmer: true}, found{}
	all := found{true, true, true, true}
	for _, c := range []struct {
		plan   Plan
		fault  Fault
		demand Inputs
		want   found
	}{
		{TwoValves, Fault{}, heating, heats},
		{TwoValves, Fault{}, water, waters},
		{TwoValves, Fault{}, both, all},
		{TwoValves, Fault{}, mains, nothing},

		{TwoValves, OpenAt(RoomStatOut, CHValveMotor), heating, nothing},
		{TwoValves, OpenAt(RoomStatOut, CHValveMotor), both, waters},
		{TwoValves, OpenAt(PlantLive, BoilerLive), heating, found{pump: true}},
		{TwoValves, OpenAt(BoilerCall, PumpLive), heating, nothing}, // the boiler heats only itself, and stops itself
		{TwoValves, OpenAt(UnitSupply, PlantLive), both, nothing},
		{MidPosition, OpenAt(HWOff, MidHoldFeed), heating, nothing}, // stays in the middle, whose end switch does not call
		{MidPosition, OpenAt(HWOff, MidHoldFeed), both, all},
		{GravityUnvalved, OpenAt(RoomStatOut, PumpLive), both, found{flame: true, warmer: true}},

		{TwoValves, Bridge(HWOn, CHOn), water, all}, // the classic: heating comes on with hot water
		{TwoValves, Bridge(PlantLive, BoilerCall), mains, found{pump: true}},
		{GravityValved, Bridge(RoomStatOut, BoilerCall), water, all}, // hot water runs the pump
		{TwoValves, Bridge(RoomStatFeed, RoomStatOut), heating, heats},

		{TwoValves, Cross(HWOn, CHOn), heating, waters}, // each button works the other circuit
		{TwoValves, Cross(HWOn, CHOn), water, heats},
		{TwoValves, Cross(HWOn, HWOff), mains, waters}, // on is off
		{TwoValves, Cross(HWOn, HWOff), water, nothing},

		{TwoValves, Stuck(CHRelayOn, true), mains, heats},
		{TwoValves, Stuck(CHRelayOn, false), heating, nothing},
		{MidPosition, Stuck(HWRelayOn, true), heating, all}, // and no hold feed: the middle
		{MidPosition, Stuck(HWRelayOff, true), water, nothing},
		{TwoValves, Stuck(RoomStatContact, false), heating, nothing},
		{TwoValves, Stuck(CHValveEndContact, true), mains, found{pump: true}}, // nothing takes the heat
		{TwoValves, Stuck(CHValveEndContact, false), both, all},               // heats while hot water calls
		{TwoValves, Stuck(CHValveEndContact, false), heating, nothing},
		{MidPosition, Stuck(MidEndContact, true), heating, heats},
		{MidPosition, Stuck(CylinderStatCallsContact, true), heating, heats},
		{Diverter, Stuck(DiverterEndHeatingContact, false), heating, nothing},

		{TwoValves, Dies(CHValveLoad), heating, nothing},
		{TwoValves, Dies(CHValveLoad), both, waters},
		{MidPosition, Dies(MidValveLoad), heating, nothing},
		{MidPosition, Dies(MidValveLoad), both, waters},
		{Diverter, Dies(DiverterLoad), water, nothing},
		{Diverter, Dies(DiverterLoad), both, heats},
		{TwoValves, Dies(BoilerLoad), both, found{pump: true}},
		{GravityUnvalved, Dies(PumpLoad), both, found{flame: true, warmer: true}},

		{TwoValves, StuckValve(CHValveLoad, Open), water, all}, // radiators warm in summer; its end switch calls
		{TwoValves, StuckValve(CHValveLoad, Open), mains, heats},
		{TwoValves, StuckValve(HWValveLoad, Shut), water, nothing},
		{MidPosition, StuckValve(MidValveLoad, AtMiddle), water, all},
		{MidPosition, StuckValve(MidValveLoad, AtHeating), water, found{flame: true, radiators: true, pump: true}},
		{MidPosition, StuckValve(MidValveLoad, AtHotWater), heating, nothing},
		{Diverter, StuckValve(DiverterLoad, AtHotWater), heating, nothing},
		{GravityValved, StuckValve(HWValveLoad, Open), mains, found{flame: true, warmer: true}}, // its end switch calls from permanent live

		{Combination, Reads(RoomStatContact, 30*Celsius), heating, nothing},
		{TwoValves, Reads(CylinderStatCallsContact, 30*Celsius), water, found{flame: true, warmer: true}}, // stops after 88 minutes, at 68 °C, which it reads as 98
		{Combination, Fault{Kind: IgnitionFails}, heating, found{pump: true}},
	} {
		in := steady(c.plan)
		if c.fault.Kind == StatReads && c.fault.Contact == RoomStatContact {
			in.Room.Setting = 30 * Celsius
		}
		if c.fault.Kind != NoFault {
			in = in.With(c.fault)
		}
		got := find(t, in, c.demand)
		if got != c.want {
			t.Errorf("%v, %v, demand %+v: found %+v, want %+v", c.plan, c.fault, c.demand, got, c.want)
		}
	}
}

func TestAnImmersionHeaterThatFailsHeatsNothing(t *testing.T) {
	in := steady(TwoValves)
	in.Immersion = Immersion{Wired: OwnCircuit, On: true, Setting: 60 * Celsius}
	if !find(t, in, mains).warmer {
		t.Error("a sound one does not heat")
	}
	if find(t, in.With(Fault{Kind: ImmersionFails}), mains).warmer {
		t.Error("a failed one heats")
	}
}

// A thermostat that stands in the sun reads 3 °C too much and is satisfied 3 °C too soon.
func TestAThermostatThatReadsTooMuchStopsTooSoon(t *testing.T) {
	in := Usual(Combination)
	in.Draws = [MaxDraws]Draw{}
	in.Room.Setting = 22 * Celsius
	at := func(in Installation) Temp {
		p := start(t, in)
		p.Set(mains, nil)
		p.Set(heating, nil)
		for p.Level(RoomStat) == On {
			next, ok := p.Next()
			if !ok {
				t.Fatal("nothing happens any more")
			}
			p.Advance(uint64(next-p.Now()), nil)
		}
		return p.Temp(RoomAir)
	}
	if sound, sun := at(in), at(in.With(Reads(RoomStatContact, 3*Celsius))); (sound - sun - 3*Celsius).abs() > 10 {
		t.Errorf("stopped at %v and %v", sound, sun)
	}
}

func (t Temp) abs() Temp { return max(t, -t) }

// Every possible fault is valid by itself, of every kind somewhere, none is listed twice, and each says what it is.
func TestPossibleFaults(t *testing.T) {
	kinds := map[FaultKind]bool{}
	for plan := range Plan(NumPlans) {
		in := full(plan)
		if err := in.Validate(); err != nil {
			t.Fatal(err)
		}
		seen := map[Fault]bool{}
		for _, f := range in.PossibleFaults() {
			with := in.With(f)
			if err := with.Validate(); err != nil {
				t.Errorf("%v: %v", plan, err)
			}
			if seen[f] {
				t.Errorf("%v: %v is listed twice", plan, f)
			}
			for _, bad := range []string{"no terminal", "no contact", "no load", "no fault", "nothing"} {
				if words := f.String(); strings.Contains(words, bad) {
					t.Errorf("%v: %s", plan, words)
				}
			}
			seen[f], kinds[f.Kind] = true, true
		}
	}
	if len(kinds) != NumFaultKinds-1 {
		t.Errorf("kinds: %v", kinds)
	}
}

// full is an installation with everything that the plan can have.
func full(plan Plan) Installation {
	in := Usual(plan)
	in.Supply = VoltFree
	in.Frost = Thermostat{Fitted: true, Setting: 4 * Celsius, Band: Celsius}
	in.SecondControl = SecondControl{Fitted: true, From: 3600, To: 7200}
	if !plan.gravity() {
		in.Overrun = 300
	}
	if plan.HasCylinder() {
		in.Cylinder = Thermostat{Fitted: true, Setting: 60 * Celsius, Band: 6 * Celsius}
		in.Immersion = Immersion{Wired: OwnCircuit, Setting: 60 * Celsius}
	}
	return in
}

func TestBadInstallationsAreRefused(t *testing.T) {
	for _, c := range []struct {
		spoil func(*Installation)
		want  string
	}{
		{func(in *Installation) { in.Plan = NumPlans }, "plan 7: there are plans 0 to 6"},
		{func(in *Installation) { in.Supply = NumSupplies }, "supply 3"},
		{func(in *Installation) { in.Room.Band = 0 }, "room thermostat with a band of 0.0 °C: give more than 0"},
		{func(in *Installation) { in.Cylinder.Setting = 96 * Celsius }, "cylinder thermostat set to 96.0 °C: give -20 to 95 °C"},
		{func(in *Installation) { in.Room.To = 86400 }, "seconds of the day, 0 to 86399"},
		{func(in *Installation) { in.Room2 = in.Room }, "zone 2's room thermostat: pumped, two two-port valves has none"},
		{func(in *Installation) { in.Frost = Thermostat{Fitted: true, Band: 1, From: 1} }, "frost thermostat set from 1 to 0: it has one setting"},
		{func(in *Installation) { in.Overrun = 3601 }, "overrun 3601 s: give 0 to 3600"},
		{func(in *Installation) { in.Plan, in.Overrun = GravityValved, 1 }, "leave overrun 0"},
		{func(in *Installation) { in.SecondControl = SecondControl{Fitted: true, To: 86400} }, "second time control"},
		{func(in *Installation) { in.Immersion = Immersion{Wired: OwnCircuit} }, "immersion heater set to 0.0 °C: give 30 to 80 °C"},
		{func(in *Installation) { in.Draws[1] = Draw{At: 86400, Percent: 101} }, "draw 2 of 101 percent"},
		{func(in *Installation) { in.Outdoor = 61 * Celsius }, "outdoors 61.0 °C"},
		{func(in *Installation) { in.Practice.Flow = 1 }, "practice: Trial is 0"},
		{func(in *Installation) { in.Faults[0].Contact = 1 }, "fault 1 (nothing is wrong): no kind is given"},
		{func(in *Installation) { in.Faults[2] = OpenAt(HWOn, BoilerCall) }, "fault 3 (the conductor between the unit's hot-water-on terminal and " +
			"the boiler's call terminal is open): no conductor joins them"},
		{func(in *Installation) { in.Faults[0] = Bridge(HWOn, MidEnd) }, "there is no terminal for the mid-position valve's end switch output"},
		{func(in *Installation) { in.Faults[0] = Fault{Kind: Crossed, A: CHOn, B: HWOn} }, "give two terminals in their order"},
		{func(in *Installation) { in.Faults[0] = Stuck(MidEndContact, true) }, "there is no such contact"},
		{func(in *Installation) { in.Faults[0] = Reads(HWRelayOn, 1) }, "there is no such thermostat"},
		{func(in *Installation) { in.Faults[0] = Reads(RoomStatContact, 31*Celsius) }, "give -30 to 30 °C"},
		{func(in *Installation) { in.Faults[0] = Dies(UnitElectronics) }, "a dead unit is the unit's own affair"},
		{func(in *Installation) { in.Faults[0] = StuckValve(MidValveLoad, AtHeating) }, "there is no such valve"},
		{func(in *Installation) { in.Faults[0] = StuckValve(CHValveLoad, AtHeating) }, "it has no such position"},
		{func(in *Installation) { in.Faults[0].Kind = ImmersionFails }, "there is no immersion heater"},
		{func(in *Installation) { in.Faults[0].Kind = NumFaultKinds }, "there are kinds 0 to 10"},
	} {
		in := Usual(TwoValves)
		c.spoil(&in)
		if err := in.Validate(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %q, want one with %q", errors.Join(err), c.want)
		}
		if _, err := New(in, UsualStart(0)); err == nil {
			t.Errorf("%q: New takes it", c.want)
		}
		p := start(t, Usual(TwoValves))
		before := p
		if _, err := p.Refit(in, nil); err == nil || p != before {
			t.Errorf("%q: Refit takes it, or changes something", c.want)
		}
	}
	in := Usual(TwoValves)
	if _, err := New(in, Start{At: -1, Room: 101 * Celsius}); err == nil || !strings.Contains(err.Error(), "second -1") || !strings.Contains(err.Error(), "the room at 101.0 °C") {
		t.Errorf("a bad start: %v", err)
	}
}
