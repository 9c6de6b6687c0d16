package plant

import (
	"slices"
	"strings"
	"testing"
)

// after returns the reason of the last change of a point in a story: demands, each for so many seconds.
func after(t *testing.T, in Installation, pt Point, story ...any) string {
	t.Helper()
	p := start(t, in)
	buf := p.Set(mains, nil)[:0]
	for _, s := range story {
		switch s := s.(type) {
		case Inputs:
			buf = p.Set(s, buf)
		case int:
			buf = p.Advance(uint64(s), buf)
		}
	}
	slices.Reverse(buf)
	i := slices.IndexFunc(buf, func(c Change) bool { return c.Point == pt })
	if i < 0 {
		t.Fatalf("%v never changed", pt)
	}
	return in.Because(buf[i])
}

func TestReasonsInWords(t *testing.T) {
	cold := steady(TwoValves)
	satisfied := Usual(TwoValves)
	satisfied.Draws = [MaxDraws]Draw{}
	for _, c := range []struct {
		got, want string
	}{
		{
			after(t, cold, Call, heating, 60),
			"the heating valve arrived: the boiler is called: live from the permanent live through the end switch of the heating valve; " +
				"the heating valve's motor is live from the unit's heating-on terminal through the room thermostat",
		},
		{
			after(t, cold, CHValve, heating, 10),
			"the unit switched: its motor is live from the unit's heating-on terminal through the room thermostat",
		},
		{
			after(t, satisfied, HWValve, water, 2*3600),
			"the hot-water valve arrived: its motor is dead: the path is open at the cylinder thermostat",
		},
		{
			after(t, steady(MidPosition), Call, heating, 60),
			"the three-port valve arrived: the boiler is called: live from the unit's heating-on terminal through the room thermostat and " +
				"the end switch of the mid-position valve; the three-port valve's heating feed is live from the unit's heating-on terminal through " +
				"the room thermostat; the three-port valve's hold feed is live from the unit's hot-water-off terminal",
		},
		{
			after(t, steady(GravityUnvalved), Pump, both, 60, mains),
			"the unit switched: the pump is dead: the path is open at the heating relay's on contact",
		},
		{
			after(t, cold.With(Bridge(HWOn, CHOn)), CHValve, water, 10),
			"the unit switched: its motor is live from the unit's hot-water-on terminal through the room thermostat, because " +
				"the unit's hot-water-on terminal and the unit's heating-on terminal are bridged",
		},
		{
			after(t, cold.With(Cross(HWOn, CHOn)), HWValve, heating, 10),
			"the unit switched: its motor is live from the unit's heating-on terminal through the cylinder thermostat, because " +
				"the conductors of the unit's hot-water-on terminal and the unit's heating-on terminal are crossed",
		},
		{
			after(t, steady(Combination), UnitMains, Inputs{}),
			"mains came or went: the unit has no mains: the supply is off",
		},
		{
			after(t, steady(Combination), Flame, heating, 60),
			"the boiler has lit: the boiler is called: live from the unit's heating-on terminal through the room thermostat",
		},
		{
			after(t, steady(Combination).With(Fault{Kind: IgnitionFails}), Lockout, heating, 60),
			"no flame came in the time that the boiler tries, and it locked out",
		},
		{
			after(t, cold.With(Dies(PumpLoad)), Flame, heating, 300),
			"nothing carried the boiler's heat away, and its own thermostat stopped it",
		},
		{
			after(t, cold, Radiators, heating, 2000, mains, 4000),
			"the radiators have had no heat for long enough to feel cold: the boiler is not called: the path is open at the end switch of the " +
				"hot-water valve and the end switch of the heating valve; the hot-water valve's motor is dead: the path is open at " +
				"the hot-water relay's on contact; the heating valve's motor is dead: the path is open at the heating relay's on contact",
		},
	} {
		if c.got != c.want {
			t.Errorf("got  %s\nwant %s", c.got, c.want)
		}
	}
}

// Why something does not run, when nothing has changed: asked of the plant.
func TestWhyNot(t *testing.T) {
	for _, c := range []struct {
		in   Installation
		set  Inputs
		pt   Point
		want string
	}{
		{
			steady(TwoValves).With(StuckValve(CHValveLoad, Shut)), heating, Call,
			"the boiler is not called: the path is open at the end switch of the hot-water valve and the end switch of the heating valve; " +
				"the hot-water valve's motor is dead: the path is open at the hot-water relay's on contact; the heating valve is stuck shut",
		},
		{
			steady(Combination).With(OpenAt(CHOn, RoomStatFeed)), heating, Call,
			"the boiler is not called: the path is open at a broken conductor, for the conductor between the unit's heating-on terminal and " +
				"the room thermostat's feed is open",
		},
		{
			steady(Combination).With(Stuck(RoomStatContact, false)), heating, Flame,
			"the boiler is not called: the path is open at the room thermostat, which never makes",
		},
		{
			steady(Combination).With(Dies(BoilerLoad)), heating, Flame,
			"the boiler is called and does not burn",
		},
		{
			steady(TwoValves).With(OpenAt(PlantLive, BoilerLive)), heating, Flame,
			"the boiler has no permanent live: the path is open at a broken conductor, for the conductor between the permanent live of the wiring centre and " +
				"the boiler's permanent live is open",
		},
		{
			steady(GravityValved), water, Pump, // not at the end switch, through which the boiler's call would only come backwards
			"the pump is dead: the path is open at the heating relay's on contact",
		},
		{
			steady(TwoValves).With(Stuck(CHRelayOn, true)), mains, CHValve,
			"its motor is live from the unit's heating-on terminal through the room thermostat, because the heating relay's on contact is stuck closed",
		},
	} {
		p := start(t, c.in)
		p.Set(c.set, nil)
		p.Advance(3000, nil)
		if got := c.in.Because(p.Why(c.pt)); got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
}

// Nothing that has a name lacks one, and no two have the same.
func TestEverythingHasItsName(t *testing.T) {
	names := func(n int, name func(int) string) {
		seen := map[string]bool{}
		for i := range n {
			if s := name(i); s == "" || seen[s] {
				t.Errorf("%d is called %q", i, s)
			} else {
				seen[s] = true
			}
		}
		if s := name(n); s != "" && !strings.HasPrefix(s, "no ") {
			t.Errorf("one too many is called %q", s)
		}
	}
	names(NumTerminals, func(i int) string { return Terminal(i).String() })
	names(NumContacts, func(i int) string { return Contact(i).String() })
	names(NumLoads, func(i int) string { return Load(i).String() })
	names(NumPoints, func(i int) string { return Point(i).String() })
	names(NumPlans, func(i int) string { return Plan(i).String() })
	names(NumSupplies, func(i int) string { return Supply(i).String() })
	names(NumBodies, func(i int) string { return Body(i).String() })
	for pt := range Point(NumPoints) {
		if pt != ThreePort && (pt.Word(Off) == "" || pt.Word(On) == "" || pt.Word(Off) == pt.Word(On)) {
			t.Errorf("%v: %q and %q", pt, pt.Word(Off), pt.Word(On))
		}
	}
	for temp, want := range map[Temp]string{20500: "20.5 °C", -450: "-0.5 °C", 0: "0.0 °C", 19949: "19.9 °C"} {
		if got := temp.String(); got != want {
			t.Errorf("%d m°C: %q, want %q", int32(temp), got, want)
		}
	}
}

// Every change of a fortnight with everything fitted is given words, and words of the kind of its event.
func TestEveryChangeHasWords(t *testing.T) {
	said := map[Event]string{
		EventRelay: "the unit switched", EventSupply: "mains came or went", EventStat: "the room thermostat is calling",
		EventTimer: "changed with the time of day", EventValve: "arrived", EventOverrun: "the pump overrun is over",
		EventIgnition: "has lit", EventOwnStat: "its own thermostat stopped it", EventHeat: "the room has cooled to where its thermostat calls",
		EventDraw: "hot water was drawn", EventRefit: "the installation was changed", EventReset: "the boiler was reset",
	}
	seen := map[Event]string{}
	for plan := range Plan(NumPlans) {
		in := full(plan)
		in.Room.Setback, in.Room.From, in.Room.To = 12*Celsius, 5*3600, 21*3600
		in.Outdoor = 6 * Celsius
		p := start(t, in)
		buf := twoWeeks(&p, nil)
		hear := func(in Installation) {
			for _, c := range buf {
				words := in.Because(c)
				if words == "" {
					t.Fatalf("%v: no words for %+v", plan, c)
				}
				seen[c.Why.Event] += words + "\n"
			}
		}
		hear(in)
		cold := in
		cold.Outdoor = -Celsius
		buf, err := p.Refit(cold, buf[:0])
		if err != nil {
			t.Fatal(err)
		}
		hear(cold)
		failing := cold.With(Fault{Kind: IgnitionFails})
		if buf, err = p.Refit(failing, buf[:0]); err != nil {
			t.Fatal(err)
		}
		buf = p.Set(Inputs{}, buf)
		buf = p.Set(both, buf)
		buf = p.Advance(300, buf)
		buf = p.ResetBoiler(buf)
		hear(failing)
		alone := steady(plan).With(Dies(PumpLoad))
		if plan == GravityUnvalved {
			continue // its boiler heats the cylinder without a pump
		}
		q := start(t, alone)
		q.Set(mains, nil)
		buf = q.Set(heating, buf[:0])
		buf = q.Advance(600, buf)
		hear(alone)
	}
	for e, words := range said {
		if !strings.Contains(seen[e], words) {
			t.Errorf("event %d never says %q", e, words)
		}
	}
}
