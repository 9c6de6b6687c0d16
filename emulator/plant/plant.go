package plant

import (
	"errors"
	"math/bits"
)

// Inputs is what the unit and the supplies do. A relay stays at rest while the unit's own terminals have no mains, whatever is asked
// of it.
type Inputs struct {
	HW, CH    bool // the relay is closed
	UnitPower bool // mains at the unit's isolator
	// PlantPower is mains at the plant's own isolator. With Supply SwitchesMains there is none, and it does not count, but that an immersion
	// heater's own circuit is taken to have mains whenever either is set: a cut of the house clears both.
	PlantPower bool
}

// Start is when a plant begins, and how warm everything is then. UsualStart returns one.
type Start struct {
	At                                           int64 // second since 2000-01-01T00:00 UTC, not negative
	Room, Room2, Cylinder, Radiators, Radiators2 Temp  // -50 to 100 °C
}

// Body is something that has a temperature.
type Body uint8

// The bodies.
const (
	RoomAir Body = iota
	Room2Air
	CylinderWater
	RadiatorMetal
	Radiator2Metal

	NumBodies = iota
)

// The timers of a plant: the second in which each is due. The first are the watches'.
const (
	valveTimer   = numWatches
	overrunTimer = valveTimer + numValves
	boilerTimer  = overrunTimer + 1
	dailyTimer   = boilerTimer + 1
	flowTimer    = dailyTimer + 1
	numTimers    = flowTimer + 1
)

// timers are the seconds in which they are due.
type timers [numTimers]int64

const third = numTimers / 3

var _ [0]struct{} = [numTimers % 3]struct{}{} // the thirds are all of the timers

// earliest returns the second in which the first is due. It goes through three thirds side by side, since each minimum waits for the one
// before it.
func (t *timers) earliest() int64 {
	a, b, c := t[0], t[third], t[2*third]
	for i := 1; i < third; i++ {
		a, b, c = min(a, t[i]), min(b, t[third+i]), min(c, t[2*third+i])
	}
	return min(a, b, c)
}

// at returns a bit for each that is due in this second; none may be overdue. It does without branches, since no processor foretells which
// timer comes next.
func (t *timers) at(now int64) uint {
	is := func(i int) uint { return uint((uint64(t[i]-now) - 1) >> 63) }
	var a, b, c uint
	for i := third - 1; i >= 0; i-- {
		a, b, c = a<<1|is(i), b<<1|is(third+i), c<<1|is(2*third+i)
	}
	return a | b<<third | c<<(2*third)
}

// Plant is one installation in time. Its zero value is of no use; see New. It may be copied, and compared with ==: equal plants
// behave alike for ever.
//
// Simplified: rooms, cylinder and radiators are first-order and do not heat each other; a room warms when its radiators are fed, not
// when they are warm; a circuit is fed while burner and pump run and its valve stands fully open; heat left in the boiler is lost;
// the boiler's own thermostat is modelled only where no circuit is fed; outdoors keeps one temperature until Refit; there are no
// thermostatic radiator valves.
type Plant struct {
	in       Installation
	practice Practice
	rates    rates
	nets     nets
	daily    daily

	now    int64
	inputs Inputs
	source uint64   // the nets of the supplies that have mains by the inputs
	relays Contacts // that are made by the inputs, but for what is stuck
	ends   Contacts // the end switches that are made
	base   Contacts // contacts that close for a reason other than valves, overrun and relays
	circuit
	circuits   circuits
	flows      flows
	course     course
	valvesShow levels
	shown      levels

	curves  [NumBodies]curve
	watches [numWatches]watch
	valves  [numValves]valve
	boiler  boiler
	overrun bool // the boiler runs the pump
	due     timers
	passes  int

	// What the faults that change no conductor and no contact come to; a bit for each valve.
	fitted, stuck, deadValves                         uint8
	deadPump, deadBoiler, deadImmersion, failsToLight bool
}

// New returns a plant with all supplies off, relays at rest, and valves where their springs bring them. It fails if the installation
// or the start is not valid.
func New(in Installation, s Start) (Plant, error) {
	if err := errors.Join(in.Validate(), s.validate()); err != nil {
		return Plant{}, err
	}
	p := Plant{now: s.At}
	for i := range p.due {
		p.due[i] = never
	}
	for b, t := range [NumBodies]Temp{s.Room, s.Room2, s.Cylinder, s.Radiators, s.Radiators2} {
		p.curves[b] = curve{from: t.micro(), to: t.micro(), at: s.At}
	}
	p.fit(in)
	p.shown = p.levels()
	return p, nil
}

// fit puts the installation into effect, and settles.
func (p *Plant) fit(in Installation) {
	moved := in.Plan != p.in.Plan
	p.in = in
	p.practice = in.practice()
	p.rates = p.practice.rates()
	p.nets = in.compile()
	p.daily = in.everyDay()
	p.due[dailyTimer] = p.daily.next(p.now)
	for i := range p.valves {
		if moved {
			p.valves[i], p.due[valveTimer+i] = valve{}, never
		}
	}
	p.stickValves()
	p.deadPump = in.has(Dead, PumpLoad)
	p.deadBoiler = in.has(Dead, BoilerLoad)
	p.failsToLight = in.has(IgnitionFails, 0)
	p.deadImmersion = in.has(ImmersionFails, 0)
	if in.Plan.HasCylinder() {
		p.due[flowTimer] = never
	}
	p.base = in.standing(p.now)
	p.fitWatches()
	p.circuits, p.course = circuits{}, course{}
	p.fed = ^uint64(0) // as no supply has it, so that everything settles anew
	p.give(p.inputs)
	p.settle()
}

// Set gives the plant relays and supplies in this second, after everything that time brings in it, and appends what changes to buf.
func (p *Plant) Set(in Inputs, buf []Change) []Change {
	if in == p.inputs {
		return buf
	}
	s := step{event: EventRelay}
	if in.UnitPower != p.inputs.UnitPower || in.PlantPower != p.inputs.PlantPower {
		s.event = EventSupply
	}
	p.give(in)
	p.settle()
	return p.show(&s, buf)
}

// give puts inputs to the supplies and the relays.
func (p *Plant) give(in Inputs) {
	p.inputs = in
	p.source = p.sources()
	p.relays = p.atRelays()
}

// Advance lets seconds pass, covering (now, now+seconds], and appends what changes to buf. It allocates only where buf must grow.
func (p *Plant) Advance(seconds uint64, buf []Change) []Change {
	end := p.now + int64(seconds)
	for {
		due := p.due.earliest()
		if due > end {
			p.now = end
			return buf
		}
		p.now = due
		p.passes++
		buf = p.pass(buf)
	}
}

// Passes returns in how many seconds something has been due, seen or not: what Advance has cost. Contacts that chatter have thousands a day.
func (p *Plant) Passes() int { return p.passes }

// pass lets everything happen that is due in this second.
func (p *Plant) pass(buf []Change) []Change {
	var s step
	set := p.due.at(p.now)
	if p.due[dailyTimer] == p.now {
		p.passDaily(&s)
	}
	const watches, others = 1<<numWatches - 1, ^uint(1<<valveTimer-1) &^ (1 << dailyTimer)
	for left := set & watches; left != 0; left &= left - 1 {
		if w := watchID(bits.TrailingZeros(left)); p.due[w] == p.now { // a draw may have turned it
			p.turn(w)
			s.own |= 1 << w.point()
			s.by(EventStat, w.point())
		}
	}
	if s.event == EventStat && s.own&^sensed == 0 && set&others == 0 {
		return p.show(&s, buf)
	}
	for left := set >> valveTimer & (1<<numValves - 1); left != 0; left &= left - 1 {
		i := bits.TrailingZeros(left)
		p.due[valveTimer+i] = never
		p.valves[i].position = p.valves[i].want
		p.valves[i].at = p.now
		s.own |= 1 << valvePoints[i]
		s.by(EventValve, valvePoints[i])
		p.lookAt(i)
	}
	if p.due[flowTimer] == p.now {
		p.due[flowTimer] = never
		s.by(EventDraw, Tap)
	}
	if p.due[overrunTimer] == p.now {
		p.due[overrunTimer] = never
		p.overrun = false
		s.by(EventOverrun, Pump)
	}
	if p.due[boilerTimer] == p.now {
		p.due[boilerTimer] = never
		p.stepBoiler(&s)
	}
	p.settle()
	return p.show(&s, buf)
}

// sensed are the points that a hand feels and on which nothing depends.
const sensed = 1<<Radiators | 1<<Radiators2 | 1<<Tap

// Next returns the next second in which time alone can change anything, or false if there is none. Nothing visible need change in it.
func (p *Plant) Next() (second int64, ok bool) {
	first := p.due.earliest()
	if first == never {
		return 0, false
	}
	return first, true
}

// Now returns the second.
func (p *Plant) Now() int64 { return p.now }

// Level returns what the point shows; Off for a point that the installation does not have.
func (p *Plant) Level(pt Point) Level { return p.shown.of(pt) }

// Why returns the reason for which the point now shows what it does, as a Change to its present level: what brought it there is not
// remembered (NoEvent), how it is fed is.
func (p *Plant) Why(pt Point) Change {
	return Change{At: p.now, Point: pt, Level: p.Level(pt), Why: Why{Closed: p.closed, Fed: p.inputs}}
}

// Live returns the terminals that are live.
func (p *Plant) Live() Terminals { return p.nets.terminals(p.live) & p.in.Terminals() }

// Inputs returns what was last set.
func (p *Plant) Inputs() Inputs { return p.inputs }

// Temp returns the temperature of a body.
func (p *Plant) Temp(b Body) Temp { return Temp(p.curves[b].value(p.now) / 1000) }

// Installation returns the installation.
func (p *Plant) Installation() Installation { return p.in }

// Refit changes the installation in this second: a fault that comes or is mended, a thermostat turned, something fitted. Temperatures,
// relays and supplies stay; valves stay where they are, unless the plan is another. It appends what changes to buf, and fails without
// effect if the installation is not valid.
func (p *Plant) Refit(in Installation, buf []Change) ([]Change, error) {
	if err := in.Validate(); err != nil {
		return buf, err
	}
	p.fit(in)
	return p.show(&step{event: EventRefit}, buf), nil
}

// Draw lets hot water flow in this second, beyond the daily draws. Only Seconds and Percent count.
func (p *Plant) Draw(d Draw, buf []Change) []Change {
	var s step
	p.draw(d, &s)
	p.settle()
	return p.show(&s, buf)
}

// ResetBoiler resets a boiler that has locked out: with IgnitionFails it tries again, and locks out again.
func (p *Plant) ResetBoiler(buf []Change) []Change {
	if p.boiler.state != boilerLocked {
		return buf
	}
	p.boiler.state = boilerIdle
	p.settle()
	return p.show(&step{event: EventReset, cause: Lockout}, buf)
}
