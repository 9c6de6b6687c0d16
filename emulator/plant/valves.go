package plant

import "math/bits"

var (
	valvePoints = [numValves]Point{hwValve: HWValve, chValve: CHValve, zone2Valve: Zone2Valve, threePort: ThreePort}
	twoPorts    = [3]struct {
		load  Load
		motor Terminal
	}{hwValve: {HWValveLoad, HWValveMotor}, chValve: {CHValveLoad, CHValveMotor}, zone2Valve: {Zone2ValveLoad, Zone2ValveMotor}}
)

// settled reports whether the valve stands still at a position.
func (p *Plant) settled(i int, at int16) bool {
	return p.due[valveTimer+i] == never && p.valves[i].position == at
}

// endSwitches returns the end-switch contacts that are made. Those of valves that the plan does not have are not among its contacts.
func (p *Plant) endSwitches() Contacts {
	if p.fitted>>threePort&1 != 0 {
		if p.in.Plan == MidPosition {
			return contactIf(MidEndContact, p.settled(threePort, fullTravel))
		}
		return contactIf(DiverterEndHWContact, p.settled(threePort, fullTravel)) |
			contactIf(DiverterEndHeatingContact, p.settled(threePort, 0))
	}
	open := p.settled(hwValve, fullTravel)
	return contactIf(HWValveEndOpenContact, open) | contactIf(HWValveEndShutContact, !open) |
		contactIf(CHValveEndContact, p.settled(chValve, fullTravel)) | contactIf(Zone2ValveEndContact, p.settled(zone2Valve, fullTravel))
}

// driveValves sends every valve where its feeds have it.
func (p *Plant) driveValves() {
	for left := p.fitted &^ p.stuck; left != 0; left &= left - 1 {
		i := bits.TrailingZeros8(left)
		v, due := &p.valves[i], &p.due[valveTimer+i]
		moved := false
		switch {
		case i != threePort:
			moved = v.drive(p.fullIf(p.nets.has(p.live, twoPorts[i].motor), i), p.now, due, &p.practice)
		case p.in.Plan == Diverter:
			moved = v.drive(p.fullIf(p.nets.has(p.live, DiverterMotor), i), p.now, due, &p.practice)
		default:
			moved = p.driveMid(v, due)
		}
		if moved {
			p.lookAt(i)
		}
	}
}

// lookAt notes what a valve shows, and how the end switches stand, once it has come or gone.
func (p *Plant) lookAt(i int) {
	at := 3 * valvePoints[i]
	p.valvesShow = p.valvesShow&^(7<<at) | levels(p.valveLevel(i))<<at
	p.ends = p.endSwitches()
}

// fullIf returns where a valve with one motor feed goes.
func (p *Plant) fullIf(fed bool, i int) int16 {
	if fed && p.deadValves>>i&1 == 0 {
		return fullTravel
	}
	return 0
}

// driveMid follows the two feeds of a mid-position valve, and reports whether that changes its course.
func (p *Plant) driveMid(v *valve, due *int64) bool {
	heating, hold := p.nets.has(p.live, MidHeatingFeed), p.nets.has(p.live, MidHoldFeed)
	switch {
	case p.deadValves>>threePort&1 != 0 || !heating && !hold:
		return v.drive(0, p.now, due, &p.practice)
	case heating && hold:
		return v.drive(fullTravel, p.now, due, &p.practice)
	case heating:
		return v.drive(midTravel, p.now, due, &p.practice)
	default:
		return v.hold(p.now, due, &p.practice)
	}
}

// stickValves notes which valves there are and which do not move, and puts those that are stuck where they are stuck.
func (p *Plant) stickValves() {
	p.fitted, p.stuck, p.deadValves, p.valvesShow = 0, 0, 0, 0
	for i := range p.valves {
		if !p.in.Has(valvePoints[i]) {
			continue
		}
		p.fitted |= 1 << i
		load := p.loadOf(i)
		if _, dead := p.in.fault(Dead, load); dead {
			p.deadValves |= 1 << i
		}
		if f, stuck := p.in.fault(ValveStuck, load); stuck {
			p.stuck |= 1 << i
			at, _ := positionOf(load, f.Position)
			p.valves[i] = valve{position: at, want: at, at: p.now}
			p.due[valveTimer+i] = never
		}
		p.lookAt(i)
	}
}

// valveLevel returns what the valve's point shows.
func (p *Plant) valveLevel(i int) Level {
	if p.due[valveTimer+i] != never {
		return Moving
	}
	return levelAt(p.loadOf(i), p.valves[i].position)
}

// loadOf returns which load the valve is.
func (p *Plant) loadOf(i int) Load {
	switch {
	case i != threePort:
		return twoPorts[i].load
	case p.in.Plan == MidPosition:
		return MidValveLoad
	default:
		return DiverterLoad
	}
}
