package diagnosis

import (
	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// probe is a world lived through beyond its end: a day left to itself, and then what a caller can be asked to try. What an answer would
// be is read off its history.
type probe struct {
	c      *complaint.Complaint
	asked  replay.World // as it was
	world  replay.World // with what is tried
	now    int64        // the end of the complaint's history
	h      *replay.History
	rows   []plant.Row // of the live-terminal table, made on demand
	course *courseOf   // made on demand
}

// When what is tried begins, in seconds after the end of the history, and how long it is left.
const (
	untouched   = calendar.Day
	tryHeating  = untouched
	tryHotWater = tryHeating + 2*calendar.Hour
	tryNothing  = tryHotWater + 2*calendar.Hour
	tried       = tryNothing + 3*calendar.Hour
)

// extend prepares a probe; its history is still to be made.
func extend(c *complaint.Complaint, w replay.World) *probe {
	p := &probe{c: c, asked: w, now: c.Until}
	w = w.Clone()
	w.To = p.now + tried
	for i := range w.Acts {
		if w.Acts[i].At > p.now {
			w.Acts = w.Acts[:i]
			break
		}
	}
	in := &w.Phases[len(w.Phases)-1].Plant
	mode := func(after int64, c spec.Channel, m spec.Mode) {
		w = input(w, p.now+after, spec.Input{Kind: spec.SetMode, Channel: c, Mode: m})
	}
	turn := func(after int64, contact plant.Contact, fitted bool, setting plant.Temp) {
		if fitted {
			w = w.Add(replay.Act{At: p.now + after, Deed: replay.AtThermostat, Contact: contact, Setting: setting, Claim: -1})
		}
	}
	mode(tryHeating, spec.HW, spec.Off)
	turn(tryHeating, plant.RoomStatContact, in.Room.Fitted, 35*plant.Celsius)
	turn(tryHeating, plant.RoomStat2Contact, in.Room2.Fitted, 35*plant.Celsius)
	mode(tryHeating+calendar.Minute, spec.CH, spec.Off)
	mode(tryHeating+2*calendar.Minute, spec.CH, spec.Always)
	mode(tryHotWater, spec.CH, spec.Off)
	turn(tryHotWater, plant.CylinderStatCallsContact, in.Cylinder.Fitted, 75*plant.Celsius)
	mode(tryHotWater+2*calendar.Minute, spec.HW, spec.Always)
	mode(tryNothing, spec.HW, spec.Off)
	p.world = w
	return p
}

// live makes the probe's history.
func (p *probe) live(b *replay.Buffers) error {
	h, err := replay.Run(&p.world, b)
	p.h = h
	return err
}

// level returns what a lane shows at an instant.
func (p *probe) level(l replay.Lane, at int64) spec.Level { return p.h.Level(l, at) }

// ever reports whether a lane shows a level at any time from one instant to another.
func (p *probe) ever(l replay.Lane, level spec.Level, from, to int64) bool {
	if p.level(l, from) == level {
		return true
	}
	for _, c := range p.h.Changes(l) {
		if c.At >= from && c.At <= to && c.Level == level {
			return true
		}
	}
	return false
}

// moves reports whether either relay moves from one instant to another.
func (p *probe) moves(from, to int64) bool {
	for _, l := range [...]replay.Lane{replay.LaneHW, replay.LaneCH} {
		for _, c := range p.h.Changes(l) {
			if c.At >= from && c.At <= to {
				return true
			}
		}
	}
	return false
}

// state returns what the unit remembers at the end of the complaint's history.
func (p *probe) state() *replay.State { return p.h.State(p.now) }

// installation returns the installation at the end.
func (p *probe) installation() *plant.Installation {
	return &p.world.Phases[len(p.world.Phases)-1].Plant
}

// ics returns the unit's statement at the end.
func (p *probe) ics() *spec.ICS { return &p.world.Phases[len(p.world.Phases)-1].ICS }

// terminal reports whether a terminal is live while the unit's relays are so and all thermostats call, once valves have come to rest; known
// is false where the installation has no such state.
func (p *probe) terminal(t plant.Terminal, hw, ch bool) (live, known bool) {
	if p.rows == nil {
		rows, err := plant.LiveTable(p.installation())
		if err != nil {
			return false, false
		}
		p.rows = rows
	}
	in := p.installation()
	for i := range p.rows {
		r := &p.rows[i]
		if r.Inputs.HW == hw && r.Inputs.CH == ch && r.Inputs.UnitPower && (r.Inputs.PlantPower || in.Supply == plant.SwitchesMains) &&
			(r.Room || !in.Room.Fitted) && (r.Room2 || !in.Room2.Fitted) && (r.Cylinder || !in.Cylinder.Fitted) {
			return r.Live.Has(t), true
		}
	}
	return false, false
}
