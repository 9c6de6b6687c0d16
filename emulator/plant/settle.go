package plant

import "math/bits"

// step is what has happened in the second under way. Where several things did, the first in this order names the cause of what follows:
// an input, a daily event, a thermostat, a valve, a draw, the overrun, the burner.
type step struct {
	event Event
	cause Point
	own   uint32 // a bit for each point that turned by itself: its thermostat, its arrival, its lag
	timed uint32 // a bit for each thermostat that turned because its setting did
}

func (s *step) by(e Event, p Point) {
	if s.event == NoEvent {
		s.event, s.cause = e, p
	}
}

// sources returns the nets of the supplies that have mains.
func (p *Plant) sources() (s uint64) {
	if p.inputs.UnitPower {
		s = 1 << p.nets.of[UnitSupply]
	}
	if p.inputs.PlantPower && p.in.Supply != SwitchesMains {
		s |= 1 << p.nets.of[PlantSupply]
	}
	if p.in.Immersion.Wired == OwnCircuit && (p.inputs.UnitPower || p.inputs.PlantPower) {
		s |= 1 << p.nets.of[ImmersionFeed]
	}
	return s
}

// atRelays returns the relay contacts that are made, but for what is stuck. Conductors alone decide whether the unit has mains: what its own
// contacts feed back to it does not work its relays.
func (p *Plant) atRelays() Contacts {
	if !p.nets.has(p.source, UnitLive) {
		return 1<<HWRelayOff | 1<<CHRelayOff
	}
	return contactIf(HWRelayOn, p.inputs.HW) | contactIf(HWRelayOff, !p.inputs.HW) |
		contactIf(CHRelayOn, p.inputs.CH) | contactIf(CHRelayOff, !p.inputs.CH)
}

// settle brings contacts, valves, boiler and heat in line with each other. It ends: within one second a valve can leave its place but
// not arrive, and the overrun can close but not open.
func (p *Plant) settle() {
	for {
		closed := p.nets.conducting(p.base | p.relays | p.ends | contactIf(OverrunContact, p.overrun))
		if closed == p.closed && p.source == p.fed {
			if p.runOn() {
				continue
			}
			break
		}
		p.close(closed)
		p.driveValves()
	}
	p.flows = p.flowing()
	p.runBoiler()
	p.heat()
}

// runOn keeps the pump running while the boiler is called and for some time after, and reports whether it closes its contact now. It
// looks when the valves have been driven: a call that lasts no longer than that is none.
func (p *Plant) runOn() bool {
	was := p.overrun
	switch called := p.called(); {
	case p.in.Overrun == 0:
		p.overrun, p.due[overrunTimer] = false, never
	case called:
		p.overrun, p.due[overrunTimer] = true, never
	case p.overrun && p.due[overrunTimer] == never:
		p.due[overrunTimer] = p.now + int64(p.in.Overrun)
	}
	return p.overrun && !was
}

// levels returns what every point of the installation shows.
func (p *Plant) levels() levels {
	tap := p.watches[watchTap].high
	if !p.in.Plan.HasCylinder() {
		tap = p.boiler.able && p.boiler.state != boilerLocked
	}
	return p.shows | p.valvesShow |
		on(Flame, p.boiler.state == boilerBurning) | on(Lockout, p.boiler.state == boilerLocked) | on(ImmersionHeat, p.immersionHeats()) |
		on(Radiators, p.watches[watchRadiators].high) | on(Radiators2, p.watches[watchRadiators2].high) | on(Tap, tap)
}

// show appends a change for each point that shows something else than before, in the order of the points.
func (p *Plant) show(s *step, buf []Change) []Change {
	l := p.levels()
	why := Why{Closed: p.closed, Event: s.event, By: s.cause, Fed: p.inputs}
	for left := l ^ p.shown; left != 0; {
		pt := Point(bits.TrailingZeros64(uint64(left)) / 3)
		left &^= 7 << (3 * pt)
		buf = append(buf, Change{At: p.now, Point: pt, Level: l.of(pt), Why: why})
		if (s.own|s.timed)>>pt&1 != 0 {
			w := &buf[len(buf)-1].Why
			w.Event, w.By = p.ownEvent(s, pt), pt
		}
	}
	p.shown = l
	return buf
}

// ownEvent returns what a point turned by that turned by itself.
func (p *Plant) ownEvent(s *step, pt Point) Event {
	switch {
	case s.timed>>pt&1 != 0:
		return EventTimer
	case pt == Flame && p.boiler.state == boilerResting:
		return EventOwnStat
	case pt == Flame || pt == Lockout:
		return EventIgnition
	case HWValve <= pt && pt <= ThreePort:
		return EventValve
	default:
		return EventHeat
	}
}
