package plant

// watchID is something that turns at a temperature: a thermostat, or a hand.
type watchID uint8

// The watches. Their numbers are also those of their timers.
const (
	watchRoom watchID = iota
	watchRoom2
	watchCylinder
	watchTap
	watchImmersion
	watchRadiators
	watchRadiators2
	numWatches = iota
)

var (
	watchBodies = [numWatches]Body{RoomAir, Room2Air, CylinderWater, CylinderWater, CylinderWater, RadiatorMetal, Radiator2Metal}
	watchPoints = [numWatches]Point{RoomStat, RoomStat2, CylinderStat, Tap, ImmersionHeat, Radiators, Radiators2}
	watchesOf   = [NumBodies][]watchID{
		RoomAir: {watchRoom}, Room2Air: {watchRoom2}, CylinderWater: {watchCylinder, watchTap, watchImmersion},
		RadiatorMetal: {watchRadiators}, Radiator2Metal: {watchRadiators2},
	}
)

func (w watchID) point() Point { return watchPoints[w] }

// watch turns high at or above upper, and low at or below lower.
type watch struct {
	upper, lower micro
	fitted, high bool
}

// turn turns a watch over, and the contact that it works.
func (p *Plant) turn(w watchID) {
	p.watches[w].high = !p.watches[w].high
	p.connect(w)
	p.due[w] = p.crossing(w)
}

// connect works the contact of a thermostat.
func (p *Plant) connect(w watchID) {
	high := p.watches[w].high
	set := func(c Contact, closed bool) { p.base = p.base&^(1<<c) | contactIf(c, closed) }
	switch w {
	case watchRoom:
		set(RoomStatContact, !high)
	case watchRoom2:
		set(RoomStat2Contact, !high)
	case watchCylinder:
		set(CylinderStatCallsContact, !high)
		set(CylinderStatSatisfiedContact, high)
	}
}

// crossing returns when the watch turns next if its body stays on its curve.
func (p *Plant) crossing(w watchID) int64 {
	x, c := &p.watches[w], &p.curves[watchBodies[w]]
	switch {
	case !x.fitted:
		return never
	case x.high && c.from > c.to:
		return c.reaches(x.lower, p.now)
	case !x.high && c.from < c.to:
		return c.reaches(x.upper, p.now)
	default:
		return never
	}
}

// expect sets the timers of a body's watches anew.
func (p *Plant) expect(b Body) {
	for _, w := range watchesOf[b] {
		p.due[w] = p.crossing(w)
	}
}

// fitWatches sets every watch as the installation has it. One that was there before and is within its band stays as it was.
func (p *Plant) fitWatches() {
	in, pr := &p.in, &p.practice
	p.fitStats()
	p.fitWatch(watchTap, in.Plan.HasCylinder(), pr.TapHot.micro(), pr.TapCold.micro())
	setting := in.Immersion.Setting
	p.fitWatch(watchImmersion, in.Has(ImmersionHeat), (setting + immersionBand/2).micro(), (setting - immersionBand/2).micro())
	p.fitWatch(watchRadiators, true, pr.Warm.micro(), pr.Cool.micro())
	p.fitWatch(watchRadiators2, in.Has(Radiators2), pr.Warm.micro(), pr.Cool.micro())
}

// fitStats sets the thermostats as they are set in this second, and returns a bit for the point of each that turned.
func (p *Plant) fitStats() (turned uint32) {
	stat := func(w watchID, t *Thermostat, c Contact) {
		by := micro(0)
		for _, f := range p.in.Faults {
			if f.Kind == StatReads && f.Contact == c {
				by += f.By.micro()
			}
		}
		middle, half := t.at(p.now).micro()-by, t.Band.micro()/2
		if p.fitWatch(w, p.in.Has(w.point()), middle+half, middle-half) {
			turned |= 1 << w.point()
		}
	}
	stat(watchRoom, &p.in.Room, RoomStatContact)
	stat(watchRoom2, &p.in.Room2, RoomStat2Contact)
	stat(watchCylinder, &p.in.Cylinder, CylinderStatCallsContact)
	return turned
}

// fitWatch sets one watch, and reports whether it turned.
func (p *Plant) fitWatch(w watchID, fitted bool, upper, lower micro) bool {
	x := &p.watches[w]
	before := *x
	*x = watch{upper: upper, lower: lower, fitted: fitted, high: fitted && before.high}
	if !fitted {
		p.due[w] = never
		p.connect(w)
		return false
	}
	now := p.curves[watchBodies[w]].value(p.now)
	if !before.fitted {
		x.high = now >= (upper+lower)/2
	}
	turned := p.look(w, now)
	p.connect(w)
	return turned
}

// look turns a watch whose body, now at a temperature, is past its threshold already, and reports whether it did.
func (p *Plant) look(w watchID, now micro) bool {
	x := &p.watches[w]
	if x.fitted && (x.high && now <= x.lower || !x.high && now >= x.upper) {
		p.turn(w)
		return true
	}
	p.due[w] = p.crossing(w)
	return false
}
