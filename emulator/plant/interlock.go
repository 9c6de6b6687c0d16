package plant

import "slices"

// Leak is a way in which the boiler is called, or the pump runs, with both relays at rest.
type Leak struct {
	Row  Row
	Load Load      // BoilerLoad or PumpLoad
	Path []Contact // from the supply on; none where conductors alone do it
	// Meant is set where it is what the thing is for: a frost thermostat, a second time control, an overrun.
	Meant bool
}

// Interlock says whether the boiler can fire with no demand. Boiler interlock means that it cannot, but by what is meant to.
type Interlock struct {
	Leaks []Leak
	// Unsatisfied is set where hot water alone is asked for and the boiler is called with the cylinder thermostat satisfied, or without one.
	Unsatisfied bool
	// Unroomed is set where heating is asked for and the boiler is called, for heating, with every thermostat satisfied, or without one.
	Unroomed bool
}

// Holds reports whether there is boiler interlock.
func (i Interlock) Holds() bool {
	return !i.Unsatisfied && !i.Unroomed && !slices.ContainsFunc(i.Leaks, func(l Leak) bool { return !l.Meant })
}

// CheckInterlock looks for boiler interlock over every state of the contacts that the unit does not move, after every demand. With two
// heating zones zone 2 counts as heating. It allocates.
func CheckInterlock(in *Installation) (Interlock, error) {
	if err := in.Validate(); err != nil {
		return Interlock{}, err
	}
	var lock Interlock
	demands := in.demands()
	rest, hw, ch, both := demands[0], demands[2], demands[1], demands[3]
	in.each(true, func(f forced) {
		for _, before := range []Inputs{both, ch, hw, rest} {
			p, rests, _ := in.stand(before, calling, rest, f)
			row := p.row(f, rests)
			if row.Call {
				lock.leak(in, &p, row, BoilerLoad, before, f)
			}
			if row.Pump {
				lock.leak(in, &p, row, PumpLoad, before, f)
			}
		}
	})
	if in.Overrun > 0 {
		lock.Leaks = append(lock.Leaks, Leak{Load: PumpLoad, Path: []Contact{OverrunContact}, Meant: true})
	}
	called := func(inputs Inputs) bool {
		p, _, _ := in.stand(inputs, calling, inputs, forced{})
		return p.called()
	}
	if in.Plan.HasCylinder() {
		lock.Unsatisfied = called(hw)
		lock.Unroomed = called(ch) || !lock.Unsatisfied && called(both)
	} else {
		lock.Unroomed = called(ch) || in.Plan == TwoZones && called(hw)
	}
	return lock, nil
}

// leak adds one way, unless it is there. It is meant if a frost thermostat or a second time control is needed for it, and a sound plant
// does the same.
func (i *Interlock) leak(in *Installation, p *Plant, row Row, load Load, before Inputs, f forced) {
	at := map[Load]Terminal{BoilerLoad: BoilerCall, PumpLoad: PumpLive}[load]
	runs := func(in *Installation, f forced) bool {
		q, _, _ := in.stand(before, calling, p.inputs, f)
		return q.nets.has(q.live, at)
	}
	sound, without := *in, f
	sound.Faults = [MaxFaults]Fault{}
	without.frost, without.second = false, false
	l := Leak{Row: row, Load: load, Meant: runs(&sound, f) && !runs(in, without)}
	l.Path, _ = in.Path(p.Why(Call).Why, at)
	for _, is := range i.Leaks {
		if is.Load == l.Load && is.Meant == l.Meant && slices.Equal(is.Path, l.Path) {
			return
		}
	}
	i.Leaks = append(i.Leaks, l)
}
