package plant

// rates are the time constants of the practice as curves want them.
type rates struct{ radiators, room, cylinder, gravity, loss, immersion uint64 }

func (p *Practice) rates() rates {
	return rates{
		rateOf(p.RadiatorsTau), rateOf(p.RoomTau), rateOf(p.CylinderTau), rateOf(p.GravityTau), rateOf(p.CylinderLossTau), rateOf(p.ImmersionTau),
	}
}

// An immersion heater at its thermostat's setting is still well below what it could reach, and switches within this band.
const (
	immersionReach = 25 * Celsius
	immersionBand  = 5 * Celsius
)

// course is what warms the bodies. While it stays the same they stay on their curves.
type course struct {
	taken     bool // else nothing has been sent anywhere by the installation as it is
	fed       flows
	immersion bool
}

// heat sends every body where it is heading now.
func (p *Plant) heat() {
	var fed flows
	if p.boiler.state == boilerBurning {
		fed = p.flows
	}
	now := course{taken: true, fed: fed, immersion: p.immersionHeats()}
	if now == p.course {
		return
	}
	p.course = now
	p.warm(RoomAir, RadiatorMetal, fed.heating)
	if p.in.Plan == TwoZones {
		p.warm(Room2Air, Radiator2Metal, fed.heating2)
	}
	switch {
	case !p.in.Plan.HasCylinder():
	case fed.hotWater && p.in.Plan.gravity():
		p.head(CylinderWater, p.practice.Flow, p.rates.gravity)
	case fed.hotWater:
		p.head(CylinderWater, p.practice.Flow, p.rates.cylinder)
	case now.immersion:
		p.head(CylinderWater, p.in.Immersion.Setting+immersionReach, p.rates.immersion)
	default:
		p.head(CylinderWater, p.practice.Indoors, p.rates.loss)
	}
}

func (p *Plant) warm(room, radiator Body, fed bool) {
	if fed {
		p.head(room, p.in.Outdoor+p.practice.RoomLift, p.rates.room)
		p.head(radiator, p.practice.Flow, p.rates.radiators)
		return
	}
	p.head(room, p.in.Outdoor, p.rates.room)
	p.head(radiator, p.practice.Indoors, p.rates.radiators)
}

// head sends a body towards a temperature. A body that is already on its way there stays on its curve.
func (p *Plant) head(b Body, to Temp, rate uint64) {
	c := &p.curves[b]
	if c.to == to.micro() && c.rate == rate {
		return
	}
	c.from, c.at = c.value(p.now), p.now
	c.to, c.rate = to.micro(), rate
	p.expect(b)
}

// immersionHeats reports whether the immersion heater draws current.
func (p *Plant) immersionHeats() bool {
	return p.in.Immersion.Wired != NoImmersion && !p.deadImmersion && p.nets.has(p.live, ImmersionLive) && !p.watches[watchImmersion].high
}

// draw lets hot water flow.
func (p *Plant) draw(d Draw, s *step) {
	s.by(EventDraw, Tap)
	if !p.in.Plan.HasCylinder() {
		if d.Seconds > 0 {
			until := p.now + int64(d.Seconds)
			if p.tapRuns() {
				until = max(until, p.due[flowTimer])
			}
			p.due[flowTimer] = until
		}
		return
	}
	c := &p.curves[CylinderWater]
	warm := c.value(p.now)
	c.from = warm + (p.practice.Cold.micro()-warm)*micro(min(d.Percent, 100))/100
	c.at = p.now
	for _, w := range watchesOf[CylinderWater] {
		p.look(w, c.from)
	}
}
