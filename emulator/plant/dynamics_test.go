package plant

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

var (
	mains   = Inputs{UnitPower: true, PlantPower: true}
	heating = Inputs{CH: true, UnitPower: true, PlantPower: true}
	water   = Inputs{HW: true, UnitPower: true, PlantPower: true}
	both    = Inputs{HW: true, CH: true, UnitPower: true, PlantPower: true}
)

// says lists changes as "second point level", only of the points given, or of all.
func says(changes []Change, points ...Point) string {
	var lines []string
	for _, c := range changes {
		if len(points) == 0 || slices.Contains(points, c.Point) {
			lines = append(lines, fmt.Sprintf("%d %v %s", c.At, c.Point, c.Point.Word(c.Level)))
		}
	}
	return strings.Join(lines, "\n")
}

func expect(t *testing.T, what, got, want string) {
	t.Helper()
	lines := strings.Split(strings.TrimSpace(want), "\n")
	for i := range lines {
		lines[i] = strings.TrimSpace(lines[i])
	}
	if want = strings.Join(lines, "\n"); got != want {
		t.Errorf("%s:\n%s\nwant:\n%s", what, got, want)
	}
}

// steady is a plant whose room and cylinder never satisfy their thermostats in a test's time, and that draws no water.
func steady(plan Plan) Installation {
	in := Usual(plan)
	in.Room.Setting, in.Room2.Setting, in.Cylinder.Setting = 50*Celsius, 50*Celsius, 95*Celsius
	in.Draws = [MaxDraws]Draw{}
	return in
}

// A valve of 20 s, an ignition of 15 s, radiators warm 402 s after the flame; then the spring's 8 s. The radiators get no warmer than
// they were at 1000 s and cool to 30 °C from there: 70 − 50 e^(−965/900) = 52.9 °C; 900 s × ln(32.9/10) = 1071.8 s. By hand.
func TestHeatReachesTheRadiatorsStepByStep(t *testing.T) {
	p := start(t, steady(TwoValves))
	buf := p.Set(mains, nil)[:0]
	buf = p.Set(heating, buf)
	buf = p.Advance(1000, buf)
	buf = p.Set(mains, buf)
	buf = p.Advance(2000, buf)
	expect(t, "heating for 1000 s", says(buf), `
		0 the heating valve between positions
		20 the heating valve open
		20 the boiler's call on
		20 the pump running
		35 the flame burning
		437 the radiators warm
		1000 the heating valve between positions
		1000 the boiler's call off
		1000 the flame out
		1000 the pump off
		1008 the heating valve shut
		2072 the radiators cold`)
}

// An overrun of 300 s keeps the pump running when the call ends, and is cut short by mains, not by a new call.
func TestThePumpRunsOn(t *testing.T) {
	in := steady(Combination)
	in.Overrun = 300
	p := start(t, in)
	p.Set(mains, nil)
	buf := p.Set(heating, nil)
	buf = p.Advance(100, buf)
	buf = p.Set(mains, buf)
	buf = p.Advance(200, buf)
	buf = p.Set(heating, buf)
	buf = p.Advance(100, buf)
	buf = p.Set(mains, buf)
	buf = p.Advance(400, buf)
	expect(t, "two calls with an overrun", says(buf, Call, Pump), `
		0 the boiler's call on
		0 the pump running
		100 the boiler's call off
		300 the boiler's call on
		400 the boiler's call off
		700 the pump off`)
	p.Set(heating, nil)
	buf = p.Set(Inputs{}, buf[:0])
	expect(t, "a cut", says(buf, Call, Pump), "800 the boiler's call off\n800 the pump off")
}

// A call of 20 s that ends on the way: the valve has come 10/20 of its way, and its spring takes half of 8 s back, but a valve that
// turns round takes at least a quarter of its travel.
func TestAValveTurnsRoundOnItsWay(t *testing.T) {
	p := start(t, steady(TwoValves))
	p.Set(mains, nil)
	buf := p.Set(water, nil)
	buf = p.Advance(10, buf)
	buf = p.Set(mains, buf)
	buf = p.Advance(60, buf)
	expect(t, "opened for 10 s", says(buf), "0 the hot-water valve between positions\n14 the hot-water valve shut")
	buf = p.Set(water, buf[:0])
	buf = p.Advance(19, buf)
	buf = p.Set(mains, buf)
	buf = p.Advance(1, buf)
	buf = p.Set(water, buf)
	buf = p.Advance(60, buf)
	// 19/20 open at 89; a second of spring; then what is missing, less than a quarter of 20 s, takes 5 s.
	expect(t, "shut for a second", says(buf, HWValve), "70 the hot-water valve between positions\n95 the hot-water valve open")
}

// The end switch of a mid-position valve at heating does call; in the middle it does not. When the cylinder is satisfied the call goes
// until the valve has come from the middle to heating: 10 of its 20 s.
func TestAMidPositionValveLosesItsCallOnTheWay(t *testing.T) {
	in := steady(MidPosition)
	p := start(t, in)
	p.Set(mains, nil)
	p.Set(both, nil)
	p.Advance(100, nil)
	in.Cylinder.Setting = 30 * Celsius
	buf, err := p.Refit(in, nil)
	if err != nil {
		t.Fatal(err)
	}
	buf = p.Advance(60, buf)
	expect(t, "the cylinder satisfied", says(buf, ThreePort, Call), `
		100 the three-port valve between positions
		100 the boiler's call off
		110 the three-port valve at heating
		110 the boiler's call on`)
	buf = p.Set(mains, buf[:0])
	buf = p.Advance(600, buf)
	expect(t, "everything off: the hold feed keeps it", says(buf, ThreePort, Call), "160 the boiler's call off")
}

// Held on its way: heating off after 4 of the 10 s to the middle leaves the valve there.
func TestAMidPositionValveIsHeldOnItsWay(t *testing.T) {
	p := start(t, steady(MidPosition))
	p.Set(mains, nil)
	p.Set(heating, nil)
	p.Advance(4, nil)
	p.Set(mains, nil)
	p.Advance(3600, nil)
	if got := p.Level(ThreePort); got != Moving {
		t.Errorf("stands %s", ThreePort.Word(got))
	}
	buf := p.Set(Inputs{}, nil)
	buf = p.Advance(60, buf)
	// 4 of 20 s: a fifth of 8 s back, rounded up.
	expect(t, "without mains", says(buf, ThreePort), "3606 the three-port valve at hot water")
}

func TestABoilerThatCannotLightLocksOutUntilItIsReset(t *testing.T) {
	in := steady(Combination).With(Fault{Kind: IgnitionFails})
	p := start(t, in)
	p.Set(mains, nil)
	buf := p.Set(heating, nil)
	buf = p.Advance(100, buf)
	expect(t, "a call", says(buf, Flame, Lockout, Tap), "60 the boiler's lockout on\n60 the hot tap cold")
	buf = p.Set(Inputs{}, buf[:0])
	buf = p.Set(heating, buf)
	buf = p.Advance(1000, buf)
	expect(t, "mains off and on", says(buf, Flame, Lockout), "")
	mended := steady(Combination)
	buf, err := p.Refit(mended, buf[:0])
	if err != nil {
		t.Fatal(err)
	}
	buf = p.ResetBoiler(buf)
	buf = p.Advance(100, buf)
	expect(t, "mended and reset", says(buf, Flame, Lockout), "1100 the boiler's lockout off\n1115 the flame burning")
}

// With a dead pump the boiler heats only itself: 180 s of flame, 600 s of rest, and so on.
func TestABoilerWithADeadPumpStopsItself(t *testing.T) {
	p := start(t, steady(TwoValves).With(Dies(PumpLoad)))
	p.Set(mains, nil)
	buf := p.Set(heating, nil)
	buf = p.Advance(1500, buf)
	expect(t, "heating", says(buf, Flame, Pump, Radiators), `
		35 the flame burning
		215 the flame out
		815 the flame burning
		995 the flame out`)
}

// Combination: while the tap runs the radiators wait, and the flame burns for the tap even without a heating call.
func TestTapFlowGoesBeforeHeating(t *testing.T) {
	in := steady(Combination)
	in.Draws[0] = Draw{At: 50, Seconds: 100}
	p := start(t, in)
	buf := p.Set(mains, nil)
	buf = p.Advance(300, buf)
	expect(t, "a draw without heating", says(buf), `
		0 mains at the unit on
		0 the hot tap hot
		65 the flame burning
		150 the flame out`)
	p.Set(heating, nil)
	p.Advance(3600, nil)
	warm := p.Temp(RadiatorMetal)
	p.Draw(Draw{Seconds: 600}, nil)
	p.Advance(600, nil)
	if cool := p.Temp(RadiatorMetal); cool >= warm || p.Level(Flame) != On {
		t.Errorf("radiators at %v before and %v after 10 minutes of the tap; flame %v", warm, cool, p.Level(Flame))
	}
}

// A cylinder at 45 °C of which a fifth is replaced by water of 12 °C is at 38.4, of which another fifth leaves it at 33.1: the tap,
// hot down to 38, is cold. By hand.
func TestADrawCoolsTheCylinder(t *testing.T) {
	in := steady(TwoValves)
	p := start(t, in)
	buf := p.Set(mains, nil)[:0]
	if p.Level(Tap) != On {
		t.Fatal("a cylinder at 45 °C runs cold")
	}
	buf = p.Draw(Draw{Percent: 20}, buf)
	if got := p.Temp(CylinderWater); got != 38400 {
		t.Errorf("after a fifth: %d m°C", got)
	}
	expect(t, "a fifth", says(buf), "")
	buf = p.Draw(Draw{Percent: 20}, buf)
	if got := p.Temp(CylinderWater); got != 33120 {
		t.Errorf("after another: %d m°C", got)
	}
	expect(t, "another", says(buf), "0 the hot tap cold")
}

// Hot water by gravity needs no pump, and runs none.
func TestGravityHeatsTheCylinderWithoutAPump(t *testing.T) {
	for _, plan := range []Plan{GravityUnvalved, GravityValved} {
		p := start(t, steady(plan).With(Dies(PumpLoad)))
		p.Set(mains, nil)
		before := p.Temp(CylinderWater)
		p.Set(water, nil)
		p.Advance(3600, nil)
		if after := p.Temp(CylinderWater); after < before+5*Celsius || p.Level(Radiators) != Off {
			t.Errorf("%v: cylinder from %v to %v in an hour, radiators %v", plan, before, after, p.Level(Radiators))
		}
	}
}

// An unvalved gravity cylinder is heated whenever the boiler is; a valved one is not by heating alone.
func TestHeatingAloneHeatsOnlyAnUnvalvedCylinder(t *testing.T) {
	for plan, gains := range map[Plan]bool{GravityUnvalved: true, GravityValved: false, TwoValves: false, MidPosition: false, Diverter: false} {
		in := steady(plan)
		p := start(t, in)
		p.Set(mains, nil)
		on := heating
		on.HW = plan == GravityUnvalved // the coupling
		before := p.Temp(CylinderWater)
		p.Set(on, nil)
		p.Advance(2*3600, nil)
		if after := p.Temp(CylinderWater); (after > before) != gains {
			t.Errorf("%v: cylinder from %v to %v", plan, before, after)
		}
		if p.Level(Radiators) != On {
			t.Errorf("%v: radiators cold", plan)
		}
	}
}

// The heating relay alone on an unvalved gravity plant pumps cold water: the pump runs, no flame.
func TestGravityHeatingWithoutHotWaterPumpsColdWater(t *testing.T) {
	p := start(t, steady(GravityUnvalved))
	p.Set(mains, nil)
	p.Set(heating, nil)
	p.Advance(2*3600, nil)
	if p.Level(Pump) != On || p.Level(Flame) != Off || p.Level(Radiators) != Off {
		t.Errorf("pump %v, flame %v, radiators %v", p.Level(Pump), p.Level(Flame), p.Level(Radiators))
	}
}

// Priority: with both on, the diverter sends everything to the cylinder until it is satisfied.
func TestADiverterServesTheCylinderFirst(t *testing.T) {
	in := Usual(Diverter)
	in.Room.Setting = 50 * Celsius
	in.Draws = [MaxDraws]Draw{}
	p := start(t, in)
	p.Set(mains, nil)
	buf := p.Set(both, nil)
	buf = p.Advance(3*3600, buf)
	var satisfied, warm int64
	for _, c := range buf {
		switch {
		case c.Point == CylinderStat && c.Level == Off:
			satisfied = c.At
		case c.Point == Radiators && c.Level == On && warm == 0:
			warm = c.At
		}
	}
	if satisfied == 0 || warm <= satisfied {
		t.Errorf("cylinder satisfied at %d, radiators warm at %d", satisfied, warm)
	}
}

// A programmable room thermostat: 50 °C from 06:00 to 08:00, else 5 °C.
func TestAProgrammableThermostatFollowsItsOwnDay(t *testing.T) {
	in := steady(Combination)
	in.Room.Setback, in.Room.From, in.Room.To = 5*Celsius, 6*3600, 8*3600
	p := start(t, in)
	p.Set(mains, nil)
	buf := p.Set(heating, nil)
	buf = p.Advance(86400+7*3600, buf)
	expect(t, "a day", says(buf, RoomStat), `
		21600 the room thermostat calling
		28800 the room thermostat satisfied
		108000 the room thermostat calling`)
	if w := buf[slices.IndexFunc(buf, func(c Change) bool { return c.Point == RoomStat })].Why; w.Event != EventTimer || w.By != RoomStat {
		t.Errorf("its reason: %+v", w)
	}
}

// A second time control from 23:00 to 01:00 in parallel with heating works without the unit's relay; with unvalved gravity it pumps
// cold water.
func TestASecondTimeControlWorksInParallel(t *testing.T) {
	for _, plan := range []Plan{TwoValves, GravityUnvalved} {
		in := steady(plan)
		in.SecondControl = SecondControl{Fitted: true, From: 23 * 3600, To: 3600}
		p := start(t, in)
		buf := p.Set(mains, nil)
		buf = p.Advance(86400, buf)
		got := says(buf, SecondTime)
		expect(t, plan.String(), got, "3600 the second time control off\n82800 the second time control on")
		if calls := says(buf, Call) != ""; calls != (plan == TwoValves) {
			t.Errorf("%v: the boiler is called: %v", plan, calls)
		}
	}
}

// Frost: 2 °C outdoors and a setting of 4 °C heat every plan's radiators with the unit off; 5 °C outdoors do not.
func TestAFrostThermostatHeatsWithoutTheUnit(t *testing.T) {
	for plan := range Plan(NumPlans) {
		in := steady(plan)
		in.Frost = Thermostat{Fitted: true, Setting: 4 * Celsius, Band: Celsius}
		for outdoor, want := range map[Temp]Level{2 * Celsius: On, 5 * Celsius: Off} {
			in.Outdoor = outdoor
			p := start(t, in)
			p.Set(mains, nil)
			p.Advance(3600, nil)
			if got := p.Level(Radiators); got != want {
				t.Errorf("%v at %v: radiators %s", plan, outdoor, Radiators.Word(got))
			}
		}
	}
}

// An immersion heater on its own circuit heats the cylinder with the unit off, and stops at its thermostat.
func TestAnImmersionHeaterOnItsOwnCircuit(t *testing.T) {
	in := steady(TwoValves)
	in.Immersion = Immersion{Wired: OwnCircuit, On: true, Setting: 60 * Celsius}
	p := start(t, in)
	p.Set(mains, nil)
	p.Advance(6*3600, nil)
	if got := p.Temp(CylinderWater); got < 55*Celsius || got > 63*Celsius {
		t.Errorf("after 6 h: %v", got)
	}
	buf := p.Set(Inputs{}, nil)
	buf = p.Advance(12*3600, buf)
	if says(buf, ImmersionHeat) != "" && p.Level(ImmersionHeat) == On {
		t.Error("it heats in a cut of the house's mains")
	}
}

// Coming from below, a thermostat calls up to half its band above its setting; from above, down to half below.
func TestAThermostatHasABand(t *testing.T) {
	in := Usual(Combination)
	p := start(t, in)
	p.Set(mains, nil)
	buf := p.Set(heating, nil)
	buf = p.Advance(12*3600, buf)
	var seen []Level
	for _, c := range buf {
		if c.Point == RoomStat {
			q := start(t, in)
			q.Set(mains, nil)
			q.Set(heating, nil)
			q.Advance(uint64(c.At), nil)
			want := 20250 * Temp(1)
			if c.Level == On {
				want = 19750
			}
			if got := q.Temp(RoomAir); got < want-2 || got > want+2 {
				t.Errorf("turned %s at %v", RoomStat.Word(c.Level), got)
			}
			seen = append(seen, c.Level)
		}
	}
	if len(seen) < 4 || seen[0] != Off || seen[1] != On {
		t.Errorf("it turned %v", seen)
	}
}

// The house's own practice in place of the default: a valve of 60 s, an ignition of 5, radiators of 600 s that are warm at 45 °C:
// 600 s × ln(50/25) = 415.9 s. By hand.
func TestAPracticeOfOnesOwn(t *testing.T) {
	in := steady(TwoValves)
	in.Practice = DefaultPractice()
	in.Practice.ValveOpens, in.Practice.Ignition, in.Practice.RadiatorsTau, in.Practice.Warm = 60, 5, 600, 45*Celsius
	p := start(t, in)
	p.Set(mains, nil)
	buf := p.Set(heating, nil)
	buf = p.Advance(1000, buf)
	expect(t, "heating", says(buf, CHValve, Flame, Radiators), `
		0 the heating valve between positions
		60 the heating valve open
		65 the flame burning
		481 the radiators warm`)
}

// Radiators lag by tens of minutes and a cylinder by an hour or more; what one hears or sees at once does not.
func TestLagsAreWiderWhereHeatIsSlower(t *testing.T) {
	for p := range Point(NumPoints) {
		for _, l := range []Level{Off, On} {
			lag := LagOf(p, l)
			width := lag.Early + lag.Late
			switch p {
			case Radiators, Radiators2:
				if width < 20*60 || width > 2*3600 {
					t.Errorf("%v: %+v", p, lag)
				}
			case Tap, CylinderStat, RoomStat, RoomStat2, ImmersionHeat:
				if width < 3600 {
					t.Errorf("%v: %+v", p, lag)
				}
			default:
				if width == 0 || width > 15*60 {
					t.Errorf("%v: %+v", p, lag)
				}
			}
		}
	}
}

// A frost thermostat in a warm corner reads too much, and does not call.
func TestAFrostThermostatInAWarmPlace(t *testing.T) {
	in := steady(Combination)
	in.Frost = Thermostat{Fitted: true, Setting: 4 * Celsius, Band: Celsius}
	in.Outdoor = Celsius
	p := start(t, in)
	q := start(t, in.With(Reads(FrostStatContact, 4*Celsius)))
	p.Set(mains, nil)
	q.Set(mains, nil)
	if p.Level(FrostStat) != On || p.Level(Call) != On || q.Level(FrostStat) != Off || q.Level(Call) != Off {
		t.Errorf("sound %v, warm %v", p.Level(FrostStat), q.Level(FrostStat))
	}
}

// Two things in one second: the radiators are warm at 437 s (see above), and a hot-water valve sent at 417 s arrives.
func TestTwoThingsInOneSecond(t *testing.T) {
	p := start(t, steady(TwoValves))
	p.Set(mains, nil)
	p.Set(heating, nil)
	p.Advance(417, nil)
	p.Set(both, nil)
	buf := p.Advance(100, nil)
	expect(t, "in the 437th second", says(buf), "437 the hot-water valve open\n437 the radiators warm")
}

// A boiler that heated water as it flowed is exchanged for one with a cylinder while the tap runs: the tap no longer fires it.
func TestAnotherPlanForgetsTheFlow(t *testing.T) {
	p := start(t, steady(Combination))
	p.Set(mains, nil)
	p.Draw(Draw{Seconds: 3600}, nil)
	p.Advance(60, nil)
	if p.Level(Flame) != On {
		t.Fatal("the tap does not fire a combination boiler")
	}
	if _, err := p.Refit(steady(TwoValves), nil); err != nil {
		t.Fatal(err)
	}
	p.Advance(60, nil)
	if p.Level(Flame) != Off {
		t.Error("the tap fires a boiler with a cylinder")
	}
}
