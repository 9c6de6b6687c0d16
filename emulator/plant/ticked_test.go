package plant

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// ticked is a second model of a sound plant: second by second, by a formula for each plan written by hand from how such plants work.
// It knows no terminals, no timers and no crossings; with package plant it shares the arithmetic of curves, which decay_test.go holds
// against the exponential, and the words.
type ticked struct {
	in  Installation
	pr  Practice
	now int64
	set Inputs

	room, room2, cylinder bool // call
	tapHot, warm, warm2   bool
	bodies                [NumBodies]curve

	valves           [3]tickedValve // hot water or three-port, heating, zone 2
	overrun          int            // s left
	lastCall, pumps  bool
	state            string // idle, trying, burning, resting
	left             int    // s until the boiler's next step; 0: none
	tap              int    // s for which hot water still flows
	call             bool
	shown            [NumPoints]Level
	changes          []Change
	heat, heat2, hot bool // circuits in which water flows
}

// tickedValve is at so many thousandths of its way; it turns round in a quarter of its travel at least.
type tickedValve struct {
	at, want, from int
	going, takes   int // s under way, s that it takes; takes 0: it stands
}

func newTicked(in Installation, s Start) *ticked {
	m := &ticked{in: in, pr: DefaultPractice(), now: s.At, state: "idle"}
	for b, t := range [NumBodies]Temp{s.Room, s.Room2, s.Cylinder, s.Radiators, s.Radiators2} {
		m.bodies[b] = curve{from: t.micro(), to: t.micro(), at: s.At}
	}
	m.room = m.temp(RoomAir) < in.Room.Setting.micro()
	m.room2 = m.temp(Room2Air) < in.Room2.Setting.micro()
	m.cylinder = m.temp(CylinderWater) < in.Cylinder.Setting.micro()
	m.tapHot = m.temp(CylinderWater) >= (m.pr.TapHot.micro()+m.pr.TapCold.micro())/2
	m.settle()
	m.show(false)
	return m
}

func (m *ticked) temp(b Body) micro { return m.bodies[b].value(m.now) }

func (m *ticked) Set(in Inputs) {
	m.set = in
	m.settle()
	m.show(true)
}

func (m *ticked) tick() {
	m.now++
	for _, d := range m.in.Draws {
		if (d.Seconds > 0 || d.Percent > 0) && m.now%86400 == int64(d.At) {
			if m.in.Plan == Combination || m.in.Plan == TwoZones {
				m.tap = max(m.tap, int(d.Seconds)+1)
			} else {
				t := m.temp(CylinderWater)
				m.bodies[CylinderWater].from, m.bodies[CylinderWater].at = t+(m.pr.Cold.micro()-t)*micro(d.Percent)/100, m.now
			}
		}
	}
	stat := func(calls *bool, b Body, t Thermostat) {
		half := t.Band.micro() / 2
		if *calls && m.temp(b) >= t.Setting.micro()+half {
			*calls = false
		} else if !*calls && m.temp(b) <= t.Setting.micro()-half {
			*calls = true
		}
	}
	stat(&m.room, RoomAir, m.in.Room)
	stat(&m.room2, Room2Air, m.in.Room2)
	stat(&m.cylinder, CylinderWater, m.in.Cylinder)
	feel := func(on *bool, b Body, up, down Temp) {
		if !*on && m.temp(b) >= up.micro() {
			*on = true
		} else if *on && m.temp(b) <= down.micro() {
			*on = false
		}
	}
	feel(&m.tapHot, CylinderWater, m.pr.TapHot, m.pr.TapCold)
	feel(&m.warm, RadiatorMetal, m.pr.Warm, m.pr.Cool)
	feel(&m.warm2, Radiator2Metal, m.pr.Warm, m.pr.Cool)
	for i := range m.valves {
		if v := &m.valves[i]; v.takes > 0 {
			if v.going++; v.going == v.takes {
				*v = tickedValve{at: v.want, want: v.want}
			}
		}
	}
	if m.tap > 0 {
		m.tap--
	}
	if !m.lastCall && m.overrun > 0 {
		m.overrun--
	}
	if m.left > 0 {
		if m.left--; m.left == 0 {
			switch m.state {
			case "trying", "resting":
				m.state = "burning"
			case "burning":
				m.state, m.left = "resting", int(m.pr.Relight)
			}
		}
	}
	m.settle()
	m.show(true)
}

// send sets a valve on its way.
func (m *ticked) send(i, want int) {
	v := &m.valves[i]
	if v.want == want {
		return
	}
	opens, shuts := int(m.pr.ValveOpens), int(m.pr.ValveShuts)
	underway := v.takes > 0
	here := m.position(i)
	full := shuts
	if want > here {
		full = opens
	}
	away := max(here-want, want-here)
	takes := max(1, (away*full+999)/1000)
	if underway {
		takes = max(takes, (full+3)/4)
	}
	*v = tickedValve{at: here, from: here, want: want, takes: takes}
}

func (m *ticked) position(i int) int {
	v := m.valves[i]
	if v.takes == 0 {
		return v.at
	}
	if v.want > v.from {
		return min(v.from+v.going*1000/int(m.pr.ValveOpens), v.want)
	}
	return max(v.from-v.going*1000/int(m.pr.ValveShuts), v.want)
}

func (m *ticked) stands(i, at int) bool { return m.valves[i].takes == 0 && m.valves[i].at == at }

func (m *ticked) to(i int, fed bool) {
	if fed {
		m.send(i, 1000)
	} else {
		m.send(i, 0)
	}
}

func (m *ticked) settle() {
	power := m.set.UnitPower
	hw, ch := power && m.set.HW, power && m.set.CH
	room, water := ch && m.room, hw && m.cylinder
	pump := false
	switch m.in.Plan {
	case GravityUnvalved:
		m.call, pump = hw, room
		m.heat, m.hot = pump, true
	case GravityValved:
		m.to(0, water)
		open := m.stands(0, 1000)
		m.call, pump = power && open || room && !open, room
		m.heat, m.hot = pump, open
	case TwoValves:
		m.to(0, water)
		m.to(1, room)
		m.call = power && (m.stands(0, 1000) || m.stands(1, 1000))
	case MidPosition:
		white, grey := room, power && (!hw || !m.cylinder)
		switch {
		case white && grey:
			m.send(0, 1000)
		case white:
			m.send(0, 500)
		case grey:
			if v := &m.valves[0]; v.takes > 0 {
				here := m.position(0)
				*v = tickedValve{at: here, want: here}
			}
		default:
			m.send(0, 0)
		}
		m.call = water || white && m.stands(0, 1000)
	case Diverter:
		m.to(0, water)
		m.call = water && m.stands(0, 1000) || room && m.stands(0, 0)
	case Combination:
		m.call = room
	case TwoZones:
		m.to(1, room)
		m.to(2, hw && m.room2)
		m.call = power && (m.stands(1, 1000) || m.stands(2, 1000))
	}
	if m.call {
		m.overrun = int(m.in.Overrun)
	} else if !power && m.lastCall && m.in.Overrun > 0 {
		m.overrun = int(m.in.Overrun) // it runs on, but has no mains to run with
	}
	if m.in.Plan != GravityUnvalved && m.in.Plan != GravityValved {
		pump = m.call || power && m.overrun > 0
		still := m.valves[0].takes == 0
		at := m.valves[0].at
		switch m.in.Plan {
		case TwoValves:
			m.hot, m.heat = pump && m.stands(0, 1000), pump && m.stands(1, 1000)
		case MidPosition:
			m.hot, m.heat = pump && still && at <= 500, pump && still && at >= 500
		case Diverter:
			m.hot, m.heat = pump && m.stands(0, 1000), pump && m.stands(0, 0)
		case Combination:
			m.hot, m.heat = m.tap > 0, pump && m.tap == 0
		case TwoZones:
			m.hot = m.tap > 0
			m.heat, m.heat2 = pump && !m.hot && m.stands(1, 1000), pump && !m.hot && m.stands(2, 1000)
		}
	}
	m.lastCall, m.pumps = m.call, pump
	m.burn(power)
	m.warmUp()
}

func (m *ticked) burn(power bool) {
	sink := m.heat || m.heat2 || m.hot
	switch {
	case !power || !m.call && m.tap == 0:
		m.state, m.left = "idle", 0
	case m.state == "idle", m.state == "resting" && sink:
		m.state, m.left = "trying", int(m.pr.Ignition)
	case m.state == "burning" && sink:
		m.left = 0
	case m.state == "burning" && m.left == 0:
		m.left = int(m.pr.DeadHead)
	}
}

func (m *ticked) warmUp() {
	flame := m.state == "burning"
	head := func(b Body, to Temp, tau uint32) {
		if c := &m.bodies[b]; c.to != to.micro() || c.rate != rateOf(tau) {
			*c = curve{from: m.temp(b), to: to.micro(), at: m.now, rate: rateOf(tau)}
		}
	}
	zone := func(room, radiator Body, fed bool) {
		if fed {
			head(room, m.in.Outdoor+m.pr.RoomLift, m.pr.RoomTau)
			head(radiator, m.pr.Flow, m.pr.RadiatorsTau)
		} else {
			head(room, m.in.Outdoor, m.pr.RoomTau)
			head(radiator, m.pr.Indoors, m.pr.RadiatorsTau)
		}
	}
	zone(RoomAir, RadiatorMetal, flame && m.heat)
	switch m.in.Plan {
	case TwoZones:
		zone(Room2Air, Radiator2Metal, flame && m.heat2)
		return
	case Combination:
		return
	}
	switch gravity := m.in.Plan == GravityUnvalved || m.in.Plan == GravityValved; {
	case flame && m.hot && gravity:
		head(CylinderWater, m.pr.Flow, m.pr.GravityTau)
	case flame && m.hot:
		head(CylinderWater, m.pr.Flow, m.pr.CylinderTau)
	default:
		head(CylinderWater, m.pr.Indoors, m.pr.CylinderLossTau)
	}
}

func (m *ticked) show(report bool) {
	var l [NumPoints]Level
	put := func(p Point, on bool) {
		if on {
			l[p] = On
		}
	}
	two := func(p Point, i int) {
		switch {
		case m.stands(i, 0):
			l[p] = Shut
		case m.stands(i, 1000):
			l[p] = Open
		default:
			l[p] = Moving
		}
	}
	put(UnitMains, m.set.UnitPower)
	put(RoomStat, m.room)
	put(Call, m.call)
	put(Flame, m.state == "burning")
	put(Pump, m.pumps)
	put(Radiators, m.warm)
	switch m.in.Plan {
	case GravityValved:
		two(HWValve, 0)
	case TwoValves:
		two(HWValve, 0)
		two(CHValve, 1)
	case MidPosition, Diverter:
		rest, end := AtHotWater, AtHeating
		if m.in.Plan == Diverter {
			rest, end = end, rest
		}
		switch {
		case m.stands(0, 0):
			l[ThreePort] = rest
		case m.stands(0, 1000):
			l[ThreePort] = end
		case m.stands(0, 500):
			l[ThreePort] = AtMiddle
		default:
			l[ThreePort] = Moving
		}
	case TwoZones:
		two(CHValve, 1)
		two(Zone2Valve, 2)
		put(RoomStat2, m.room2)
		put(Radiators2, m.warm2)
	}
	if m.in.Plan == Combination || m.in.Plan == TwoZones {
		put(Tap, m.set.UnitPower)
	} else {
		put(Tap, m.tapHot)
		if m.in.Plan != GravityUnvalved {
			put(CylinderStat, m.cylinder)
		}
	}
	for p := range l {
		if report && l[p] != m.shown[p] {
			m.changes = append(m.changes, Change{At: m.now, Point: Point(p), Level: l[p]})
		}
	}
	m.shown = l
}

// The plant that jumps and the model that ticks report the same changes in the same seconds: a day of random demands, draws and cuts.
func TestJumpingIsTicking(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := Usual(Plan(rapid.IntRange(0, NumPlans-1).Draw(t, "plan")))
		in.Outdoor = Temp(rapid.Int32Range(-5, 18).Draw(t, "outdoors")) * Celsius
		in.Room.Setting = Temp(rapid.Int32Range(15_000, 23_000).Draw(t, "room"))
		if in.Plan == GravityUnvalved {
			in.Cylinder = Thermostat{}
		}
		if !in.Plan.gravity() {
			in.Overrun = rapid.SampledFrom([]uint16{0, 1, 90, 300}).Draw(t, "overrun")
		}
		for i := range in.Draws {
			in.Draws[i] = Draw{
				At: rapid.Uint32Range(0, 86399).Draw(t, "draw"), Seconds: rapid.Uint16Range(0, 900).Draw(t, "for"),
				Percent: rapid.Uint8Range(0, 60).Draw(t, "percent"),
			}
		}
		s := UsualStart(rapid.Int64Range(0, 86399).Draw(t, "start"))
		p, err := New(in, s)
		if err != nil {
			t.Fatal(err)
		}
		m := newTicked(in, s)
		if in.Plan == GravityUnvalved {
			m.cylinder = true // it has no thermostat to satisfy
		}
		var got []Change
		for total := 0; total < 30_000; {
			set := Inputs{HW: rapid.Bool().Draw(t, "hw"), CH: rapid.Bool().Draw(t, "ch"), UnitPower: rapid.IntRange(0, 9).Draw(t, "power") > 0}
			d := rapid.SampledFrom([]int{0, 1, 3, 7, 12, 19, 20, 21, 40, 200, 900, 3600, 9000}).Draw(t, "seconds")
			got = p.Set(set, got)
			got = p.Advance(uint64(d), got)
			m.Set(set)
			for range d {
				m.tick()
			}
			total += d + 100
		}
		for i := range got {
			got[i].Why = Why{}
		}
		if diff := cmp.Diff(m.changes, got); diff != "" {
			t.Fatalf("%v: ticked (-) and jumped (+) differ:\n%s", in.Plan, diff)
		}
		for b := range Body(NumBodies) {
			if want := m.temp(b) / 1000; micro(p.Temp(b)) != want {
				t.Fatalf("%v: %v m°C, ticked %v", b, p.Temp(b), want)
			}
		}
	})
}
