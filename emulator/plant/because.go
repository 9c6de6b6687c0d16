package plant

import "strings"

// Because says in plain words why the change came about: what happened, and the chain of what is live through what, as in "the
// heating valve arrived: the boiler is called: live from the permanent live through the end switch of the heating valve; the heating
// valve's motor is live from the unit's heating-on terminal through the room thermostat".
// Where something is dead it says where the path is open. The installation is the one that was in force at the change. It allocates.
func (in *Installation) Because(c Change) string {
	if c.Point >= NumPoints {
		return ""
	}
	e := explainer{in: in, g: in.graph(c.Why), w: c.Why}
	e.live = e.g.live()
	return strings.Join(append(e.event(c), e.state(c)...), ": ")
}

// explainer words the state of one instant.
type explainer struct {
	in   *Installation
	g    *graph
	w    Why
	live Terminals
	told Terminals // what has been explained on the way here, so that a chain cannot bite its tail
}

// event says what happened, or nothing where the state says as much.
func (e *explainer) event(c Change) []string {
	by := c.Why.By
	own := by == c.Point
	switch c.Why.Event {
	case EventRelay:
		return []string{"the unit switched"}
	case EventSupply:
		return []string{"mains came or went"}
	case EventStat:
		return []string{by.String() + " is " + by.Word(e.stat(by))}
	case EventTimer:
		if by == SecondTime {
			return []string{"the second time control turned " + by.Word(e.stat(by))}
		}
		return []string{"the setting of " + by.String() + " changed with the time of day"}
	case EventValve:
		return []string{by.String() + " arrived"}
	case EventOverrun:
		return []string{"the pump overrun is over"}
	case EventIgnition:
		switch {
		case c.Point == Lockout || c.Point == Tap:
			return []string{"no flame came in the time that the boiler tries, and it locked out"}
		case own:
			return []string{"the boiler has lit"}
		}
		return []string{"the boiler lit or locked out"}
	case EventOwnStat:
		return []string{"nothing carried the boiler's heat away, and its own thermostat stopped it"}
	case EventHeat:
		return []string{heatWords(c)}
	case EventDraw:
		return []string{"hot water was drawn"}
	case EventRefit:
		return []string{"the installation was changed"}
	case EventReset:
		return []string{"the boiler was reset"}
	default:
		return nil
	}
}

// stat returns what the point of a contact that moves by itself shows.
func (e *explainer) stat(p Point) Level {
	contact := map[Point]Contact{
		RoomStat: RoomStatContact, RoomStat2: RoomStat2Contact, CylinderStat: CylinderStatCallsContact,
		FrostStat: FrostStatContact, SecondTime: SecondControlContact,
	}[p]
	if e.w.Closed.Has(contact) {
		return On
	}
	return Off
}

func heatWords(c Change) string {
	warmer := map[Point]string{
		RoomStat: "the room", RoomStat2: "zone 2's room", CylinderStat: "the cylinder", ImmersionHeat: "the cylinder",
		Radiators: "the radiators", Radiators2: "zone 2's radiators", Tap: "the cylinder",
	}[c.Point]
	switch c.Point {
	case Radiators, Radiators2:
		if c.Level == On {
			return warmer + " have had heat long enough to feel warm"
		}
		return warmer + " have had no heat for long enough to feel cold"
	case Tap:
		if c.Level == On {
			return warmer + " is warm enough"
		}
		return warmer + " is no longer warm enough"
	}
	if c.Level == On {
		return warmer + " has cooled to where its thermostat calls"
	}
	return warmer + " has warmed to where its thermostat is satisfied"
}

// state says how the point comes to be as it is.
func (e *explainer) state(c Change) []string {
	switch c.Point {
	case UnitMains:
		return []string{e.feed("the unit has mains: live", "the unit has no mains", UnitLive)}
	case Call:
		return []string{e.feed("the boiler is called: live", "the boiler is not called", BoilerCall)}
	case Pump:
		if c.Level == Off && e.live.Has(PumpLive) {
			return []string{"the pump is live and does not turn"}
		}
		return []string{e.feed("the pump runs: live", "the pump is dead", PumpLive)}
	case Flame:
		return e.flame(c.Level)
	case Radiators, Radiators2:
		if c.Level == Off {
			return e.coldRadiators(c.Point)
		}
	case ImmersionHeat:
		if c.Why.Event != EventHeat {
			return []string{e.feed("the immersion heater is live", "the immersion heater is dead", ImmersionLive)}
		}
	case HWValve, CHValve, Zone2Valve, ThreePort:
		return []string{e.valve(c.Point, "its")}
	}
	return nil
}

func (e *explainer) flame(l Level) []string {
	switch {
	case !e.live.Has(BoilerLive):
		return []string{e.feed("", "the boiler has no permanent live", BoilerLive)}
	case l == Off && e.live.Has(BoilerCall) && e.w.Event != EventOwnStat:
		return []string{"the boiler is called and does not burn"}
	case l == Off && e.w.Event == EventOwnStat:
		return nil
	case l == On && !e.live.Has(BoilerCall):
		return []string{"hot water flows"}
	default:
		return []string{e.feed("the boiler is called: live", "the boiler is not called", BoilerCall)}
	}
}

// coldRadiators says what is missing for the radiators to have heat.
func (e *explainer) coldRadiators(p Point) []string {
	valve := map[Point]Point{Radiators: CHValve, Radiators2: Zone2Valve}[p]
	switch {
	case !e.live.Has(BoilerCall):
		return e.flame(Off)
	case !e.live.Has(PumpLive):
		return []string{e.feed("", "the pump is dead", PumpLive)}
	case e.in.Has(valve):
		return []string{e.valve(valve, possessive(valve))}
	case e.in.Has(ThreePort):
		return []string{e.valve(ThreePort, possessive(ThreePort))}
	default:
		return nil
	}
}

// valve says how a valve is fed.
func (e *explainer) valve(p Point, whose string) string {
	say := func(what string, t Terminal) string { return e.feed(whose+what+" is live", whose+what+" is dead", t) }
	switch {
	case p == HWValve:
		return say(" motor", HWValveMotor)
	case p == CHValve:
		return say(" motor", CHValveMotor)
	case p == Zone2Valve:
		return say(" motor", Zone2ValveMotor)
	case e.in.Plan == Diverter:
		return say(" motor", DiverterMotor)
	default:
		return say(" heating feed", MidHeatingFeed) + "; " + say(" hold feed", MidHoldFeed)
	}
}

// feed says how a terminal is live, or where the path to it is open.
func (e *explainer) feed(live, dead string, t Terminal) string {
	if e.told.Has(t) {
		return e.choose(live, dead, t)
	}
	e.told |= 1 << t
	if e.live.Has(t) {
		return live + e.through(t)
	}
	return dead + e.openAt(t)
}

func possessive(p Point) string { return p.String() + "'s" }

func (e *explainer) choose(live, dead string, t Terminal) string {
	if e.live.Has(t) {
		return live
	}
	return dead
}

// through words the path by which a terminal is live.
func (e *explainer) through(t Terminal) string {
	hops, _ := e.g.path(t)
	from := "the permanent live"
	var way, faults []string
	var ends []Contact
	for _, h := range hops {
		switch {
		case h.fault.Kind != NoFault:
			faults = append(faults, h.fault.String())
		case h.contact <= CHRelayOff && !h.back:
			from, way = h.b.String(), nil
		case h.contact <= CHRelayOff:
			way = append(way, "backwards through "+h.contact.String())
		case h.contact < NumContacts && h.back && !h.contact.endSwitch():
			way = append(way, "backwards through "+h.contact.String())
		case h.contact < NumContacts:
			way = append(way, h.contact.String())
			if h.contact.endSwitch() {
				ends = append(ends, h.contact)
			}
		}
		if stuck := Stuck(h.contact, true); h.contact < NumContacts && e.has(stuck) {
			faults = append(faults, stuck.String())
		}
	}
	words := " from " + from
	if len(way) > 0 {
		words += " through " + and(way)
	}
	if len(faults) > 0 {
		words += ", because " + and(faults)
	}
	for _, c := range ends {
		words += e.end(c)
	}
	return words
}

// openAt words where the path to a dead terminal is open.
func (e *explainer) openAt(t Terminal) string {
	hops, lacks := e.g.path(t)
	if lacks >= unfed {
		if len(hops) == 0 && !e.g.all.Has(t) {
			return ": nothing feeds it"
		}
		return ": the supply is off"
	}
	var where []string
	var ends []Contact
	for _, g := range e.g.gaps(t) {
		switch {
		case g.contact == NumContacts:
			where = append(where, "a broken conductor, for "+g.fault.String())
		case e.has(Stuck(g.contact, false)):
			where = append(where, g.contact.String()+", which never makes")
		default:
			where = append(where, g.contact.String())
			if g.contact.endSwitch() {
				ends = append(ends, g.contact)
			}
		}
	}
	words := ": the path is open at " + and(where)
	for _, c := range ends {
		words += e.end(c)
	}
	return words
}

// end says why an end switch stands as it does, by its valve's feed.
func (e *explainer) end(c Contact) string {
	p := map[Contact]Point{
		HWValveEndOpenContact: HWValve, HWValveEndShutContact: HWValve, CHValveEndContact: CHValve, Zone2ValveEndContact: Zone2Valve,
		MidEndContact: ThreePort, DiverterEndHWContact: ThreePort, DiverterEndHeatingContact: ThreePort,
	}[c]
	load := e.in.valveLoad(p)
	for _, f := range e.in.Faults {
		if (f.Kind == ValveStuck || f.Kind == Dead) && f.Load == load {
			return "; " + f.String()
		}
	}
	motor := map[Point]Terminal{HWValve: HWValveMotor, CHValve: CHValveMotor, Zone2Valve: Zone2ValveMotor, ThreePort: DiverterMotor}[p]
	if load == MidValveLoad {
		motor = MidHeatingFeed
	}
	if e.told.Has(motor) {
		return ""
	}
	return "; " + e.valve(p, possessive(p))
}

// valveLoad returns which load a valve's point is.
func (in *Installation) valveLoad(p Point) Load {
	switch p {
	case HWValve:
		return HWValveLoad
	case CHValve:
		return CHValveLoad
	case Zone2Valve:
		return Zone2ValveLoad
	}
	if in.Plan == MidPosition {
		return MidValveLoad
	}
	return DiverterLoad
}

func (e *explainer) has(f Fault) bool {
	for _, x := range e.in.Faults {
		if x == f {
			return true
		}
	}
	return false
}

// endSwitch reports whether a valve moves the contact.
func (c Contact) endSwitch() bool {
	return HWValveEndOpenContact <= c && c <= DiverterEndHeatingContact
}

// and lists words: "a", "a and b", "a, b and c".
func and(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}
