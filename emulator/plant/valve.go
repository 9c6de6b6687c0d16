package plant

// A valve's position runs from 0, where its spring brings it, to fullTravel. A mid-position valve: hot water, middle, heating. A
// diverter: heating, hot water.
const (
	fullTravel = 1000
	midTravel  = 500
)

// The valves of a plant.
const (
	hwValve = iota
	chValve
	zone2Valve
	threePort
	numValves
)

// valve is one motor valve. It is settled when no arrival is due.
type valve struct {
	position, want int16
	at             int64 // since when it has been on its way, or settled
}

// drive sends the valve to a position, and reports whether that changes its course. A valve that turns round on its way takes a quarter of its
// travel at least, which keeps wiring in which an end switch undoes its own motor from switching without end in one second.
func (v *valve) drive(want int16, now int64, due *int64, p *Practice) bool {
	if want == v.want {
		return false
	}
	under := *due != never
	v.position = v.where(now, *due, p)
	v.want, v.at = want, now
	*due = never
	if v.position == want && !under {
		return true
	}
	full := v.travel(p)
	away := int64(max(v.position-want, want-v.position))
	takes := max((away*full+fullTravel-1)/fullTravel, 1)
	if under {
		takes = max(takes, (full+3)/4)
	}
	*due = now + takes
	return true
}

// hold stops the valve where it is, and reports whether that changes its course.
func (v *valve) hold(now int64, due *int64, p *Practice) bool {
	if *due == never {
		return false
	}
	v.position = v.where(now, *due, p)
	v.want, v.at, *due = v.position, now, never
	return true
}

func (v *valve) travel(p *Practice) int64 {
	if v.want > v.position {
		return int64(p.ValveOpens)
	}
	return int64(p.ValveShuts)
}

// where returns the position at a second.
func (v *valve) where(now, due int64, p *Practice) int16 {
	if due == never {
		return v.position
	}
	moved := (now - v.at) * fullTravel / v.travel(p)
	if v.want > v.position {
		return int16(min(int64(v.position)+moved, int64(v.want)))
	}
	return int16(max(int64(v.position)-moved, int64(v.want)))
}

// rests are the positions at which a valve comes to rest, and what its point then shows.
var rests = [NumLoads][]struct {
	at    int16
	level Level
}{
	HWValveLoad:    {{0, Shut}, {fullTravel, Open}},
	CHValveLoad:    {{0, Shut}, {fullTravel, Open}},
	Zone2ValveLoad: {{0, Shut}, {fullTravel, Open}},
	MidValveLoad:   {{0, AtHotWater}, {midTravel, AtMiddle}, {fullTravel, AtHeating}},
	DiverterLoad:   {{0, AtHeating}, {fullTravel, AtHotWater}},
}

// levelAt returns what a valve's point shows that stands still at a position.
func levelAt(valve Load, at int16) Level {
	for _, r := range rests[valve] {
		if r.at == at {
			return r.level
		}
	}
	return Moving
}

// positionOf returns the position at which a valve's point shows the level, or false if there is none.
func positionOf(valve Load, level Level) (int16, bool) {
	for _, r := range rests[valve] {
		if r.level == level {
			return r.at, true
		}
	}
	return 0, false
}
