package plant

// forced are the contacts that neither the unit nor a valve moves, held as a table wants them.
type forced struct{ room, room2, cylinder, frost, second bool }

func (f forced) contacts() Contacts {
	return contactIf(RoomStatContact, f.room) | contactIf(RoomStat2Contact, f.room2) |
		contactIf(CylinderStatCallsContact, f.cylinder) | contactIf(CylinderStatSatisfiedContact, !f.cylinder) |
		contactIf(FrostStatContact, f.frost) | contactIf(FrostStatContact2, f.frost) | contactIf(SecondControlContact, f.second)
}

// stand returns the plant as it stands with the inputs and contacts once valves and overrun have come to rest, having stood with the
// inputs and contacts before; rests is false where the wiring undoes itself and never does.
func (in *Installation) stand(before Inputs, was forced, now Inputs, is forced) (p Plant, rests bool, err error) {
	p, err = New(*in, UsualStart(0))
	if err != nil {
		return Plant{}, false, err
	}
	for w := range p.watches {
		p.watches[w].fitted = false
		p.due[w] = never
	}
	p.due[dailyTimer] = never
	if !p.hold(before, was) {
		return p, false, nil
	}
	return p, p.hold(now, is), nil
}

// hold lets valves and overrun come to rest.
func (p *Plant) hold(in Inputs, f forced) bool {
	p.give(in)
	p.base = p.base&contactIf(ImmersionSwitch, true) | f.contacts()
	p.settle()
	for range 32 {
		due := p.due[overrunTimer]
		for i := range p.valves {
			due = min(due, p.due[valveTimer+i])
		}
		if due == never {
			return true
		}
		p.due[boilerTimer] = never
		p.now = due
		p.pass(nil)
	}
	return false
}

// each calls f with every state of the thermostats that are fitted, calling first, and of the frost thermostat and second time control
// if others is set.
func (in *Installation) each(others bool, f func(forced)) {
	two := func(has bool) []bool {
		if has {
			return []bool{true, false}
		}
		return []bool{false}
	}
	for _, room := range two(in.Has(RoomStat)) {
		for _, room2 := range two(in.Has(RoomStat2)) {
			for _, cylinder := range two(in.Has(CylinderStat)) {
				for _, frost := range two(others && in.Has(FrostStat)) {
					for _, second := range two(others && in.Has(SecondTime)) {
						f(forced{room, room2, cylinder, frost, second})
					}
				}
			}
		}
	}
}

// calling is every thermostat calling.
var calling = forced{room: true, room2: true, cylinder: true}
