package plant

// The states of a boiler.
const (
	boilerIdle    = iota
	boilerTrying  // purging and lighting
	boilerBurning //
	boilerResting // its own thermostat is satisfied
	boilerLocked
)

type boiler struct {
	state uint8
	able  bool // has its permanent live, and is not dead
}

// flows are the circuits that carry heat away while the boiler burns.
type flows struct{ heating, heating2, hotWater bool }

func (f flows) any() bool { return f.heating || f.heating2 || f.hotWater }

// flowing returns where water flows.
func (p *Plant) flowing() flows {
	pump, tap := p.pumpTurns(), p.tapRuns()
	switch p.in.Plan {
	case GravityUnvalved:
		return flows{heating: pump, hotWater: true}
	case GravityValved:
		return flows{heating: pump, hotWater: p.settled(hwValve, fullTravel)}
	case TwoValves:
		return flows{heating: pump && p.settled(chValve, fullTravel), hotWater: pump && p.settled(hwValve, fullTravel)}
	case MidPosition:
		pump = pump && p.due[valveTimer+threePort] == never
		at := p.valves[threePort].position
		return flows{heating: pump && at >= midTravel, hotWater: pump && at <= midTravel}
	case Diverter:
		return flows{heating: pump && p.settled(threePort, 0), hotWater: pump && p.settled(threePort, fullTravel)}
	case Combination:
		return flows{heating: pump && !tap, hotWater: tap}
	default:
		pump = pump && !tap
		return flows{heating: pump && p.settled(chValve, fullTravel), heating2: pump && p.settled(zone2Valve, fullTravel), hotWater: tap}
	}
}

// tapRuns reports whether hot water flows through a boiler that heats it.
func (p *Plant) tapRuns() bool { return p.due[flowTimer] != never }

// runBoiler follows call and flow.
func (p *Plant) runBoiler() {
	b, due := &p.boiler, &p.due[boilerTimer]
	b.able = !p.deadBoiler && p.nets.has(p.live, BoilerLive)
	if b.state == boilerLocked {
		return
	}
	if !b.able || !p.called() && !p.tapRuns() {
		b.state, *due = boilerIdle, never
		return
	}
	switch carried := p.flows.any(); {
	case b.state == boilerIdle, b.state == boilerResting && carried:
		b.state, *due = boilerTrying, p.now+int64(p.practice.Ignition)
		if p.failsToLight {
			*due = p.now + int64(p.practice.Trial)
		}
	case b.state == boilerBurning && carried:
		*due = never
	case b.state == boilerBurning && *due == never:
		*due = p.now + int64(p.practice.DeadHead)
	}
}

// stepBoiler does what the boiler's time brings.
func (p *Plant) stepBoiler(s *step) {
	b := &p.boiler
	s.own |= 1<<Flame | 1<<Lockout
	switch b.state {
	case boilerTrying, boilerResting:
		b.state = boilerBurning
		if p.failsToLight {
			b.state = boilerLocked
		}
		s.by(EventIgnition, Flame)
	case boilerBurning:
		b.state = boilerResting
		p.due[boilerTimer] = p.now + int64(p.practice.Relight)
		s.by(EventOwnStat, Flame)
	}
}
