package casebook

import (
	"slices"

	"example.org/hearthbench/conformance/diagnosis"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// Truth is one thing that is the matter.
type Truth struct {
	Name    string // in the casebook's own words
	Group   string // likewise, such as "tables"
	Outside bool   // no diagnosis of a programmer and the plant around it can name it

	families []diagnosis.Family
	same     sameness
}

// sameness reports whether a world that somebody takes to be the case has the same thing the matter as the true one. The account is what
// the complaint itself says.
type sameness func(taken, truth, account *lived) bool

// lived is a world with its history.
type lived struct {
	world   replay.World
	history *replay.History
}

func live(w replay.World) (*lived, error) {
	h, err := replay.Run(&w, nil)
	if err != nil {
		return nil, err
	}
	return &lived{world: w, history: h.Clone()}, nil
}

// end returns what the unit remembers at the end.
func (l *lived) end() *replay.State { return l.history.State(l.history.To) }

// Is reports whether a cause that a diagnosis names, in a world in which the diagnosis says that it may have come about, is this truth.
//
// It is if that world has the same effect that was drawn, looked at in that place of the world alone: the same mode or fitted option at
// the end, a table that mends more than half of what the account has wrong of it, a clock that at the end reads the same to a quarter of
// an hour (the week apart), an override or boost on the channel within the time of the true one, the same fault, a thermostat on the same
// side of what the account has, a second time control on the same output whose hours overlap, or, of conductors and contacts, one that
// leaves the same loads live in every demand. How a diagnosis words it does not matter.
//
// Where the account has the thing already (a photograph of the very settings), or where nothing of the world is otherwise (nothing is
// wrong), every cause would pass: then the cause has to be of the right family besides. What lies outside is answered by 'none of these'.
func (t *Truth) Is(c *diagnosis.Cause, taken, truth, account *lived) bool {
	if t.found(truth, account) && !slices.Contains(t.families, c.Family) && (c.Also == "" || !slices.Contains(t.families, c.Also)) {
		return false
	}
	return t.same == nil || t.same(taken, truth, account)
}

// found reports whether the account has it as it is, or nothing of the world is otherwise.
func (t *Truth) found(truth, account *lived) bool {
	return t.same == nil || t.same(account, truth, account)
}

func sameMode(c spec.Channel) sameness {
	return func(taken, truth, _ *lived) bool {
		return taken.end().Facts.Channels[c].Mode == truth.end().Facts.Channels[c].Mode
	}
}

// sameTables looks at the tables of the channels that are given.
func sameTables(channels ...spec.Channel) sameness {
	return func(taken, truth, account *lived) bool {
		left, wrong := 0, 0
		for _, c := range channels {
			is := week(truth.end().Facts.Channels[c].Table)
			was, has := week(account.end().Facts.Channels[c].Table), week(taken.end().Facts.Channels[c].Table)
			left += apart(&has, &is)
			wrong += apart(&was, &is)
		}
		return 2*left < wrong || left == 0
	}
}

func sameClock(taken, truth, _ *lived) bool {
	at := truth.history.To
	a, shownA := taken.history.Reading(at)
	b, shownB := truth.history.Reading(at)
	if shownA != shownB || shownA != replay.Readable {
		return shownA == shownB
	}
	const week = 7 * calendar.Day
	d := ((a-b)%week + week) % week
	return min(d, week-d) <= 15*calendar.Minute
}

func sameFitted(o spec.FitOption) sameness {
	return func(taken, truth, _ *lived) bool {
		a, b := taken.end().Facts.Fitted, truth.end().Facts.Fitted
		switch o {
		case spec.FitChannels:
			return a.Channels == b.Channels
		case spec.FitCycle:
			return a.Cycle == b.Cycle
		case spec.FitTiming:
			return a.Timing == b.Timing
		default:
			return a.Coupling == b.Coupling
		}
	}
}

// within reports whether the taken world has something within a time, looked at every five minutes, for at least a fifth of it.
func within(from, to int64, has func(*replay.State) bool) sameness {
	return func(taken, truth, _ *lived) bool {
		n, of := 0, 0
		for at := from; at <= min(to, truth.history.To); at += 5 * calendar.Minute {
			of++
			if has(taken.history.State(at)) {
				n++
			}
		}
		return 5*n >= of && n > 0
	}
}

func sameHoliday(from, to int64) sameness {
	return within(from, to, func(s *replay.State) bool { return s.Facts.Holiday.On })
}

func sameOverride(c spec.Channel, from, to int64) sameness {
	return within(from, to, func(s *replay.State) bool { return s.Facts.Channels[c].Override })
}

// noBoost: the boost that the account has does not run, or no longer, in a time.
func noBoost(c spec.Channel, from, to int64) sameness {
	return within(from, to, func(s *replay.State) bool { return s.Facts.Channels[c].BoostLeft == 0 })
}

func sameLock(taken, truth, _ *lived) bool {
	a, b := &taken.end().Facts.Lock, &truth.end().Facts.Lock
	return a.Stage == b.Stage
}

// sameStat: the thermostat stands at the end on the same side of what the account has, by a degree at least: how far it was turned the
// evidence seldom gives.
func sameStat(contact plant.Contact, usual func(*plant.Installation) plant.Temp) sameness {
	return func(taken, truth, account *lived) bool {
		is, was, has := truth.setting(contact, usual), account.setting(contact, usual), taken.setting(contact, usual)
		if is < was {
			return was-has >= plant.Celsius
		}
		return has-was >= plant.Celsius
	}
}

// setting returns to what a thermostat is set at the end.
func (l *lived) setting(contact plant.Contact, usual func(*plant.Installation) plant.Temp) plant.Temp {
	t := usual(&l.world.Phases[len(l.world.Phases)-1].Plant)
	for _, a := range l.world.Acts {
		if a.Deed == replay.AtThermostat && a.Contact == contact {
			t = a.Setting
		}
	}
	return t
}

// sameFault: a phase of the taken world has the fault, or one that no wire and no load can tell from it.
func sameFault(f plant.Fault) sameness {
	return func(taken, truth, _ *lived) bool {
		for i := range taken.world.Phases {
			in := &taken.world.Phases[i].Plant
			for _, g := range in.Faults {
				if g == f || alike(in, f, g) {
					return true
				}
			}
		}
		return false
	}
}

// alike reports whether two faults of conductors and contacts leave the same loads live, and the valves where they are, in every demand.
func alike(in *plant.Installation, f, g plant.Fault) bool {
	electrical := func(k plant.FaultKind) bool {
		switch k {
		case plant.ConductorOpen, plant.Bridged, plant.Crossed, plant.StuckOpen, plant.StuckClosed:
			return true
		default:
			return false
		}
	}
	if f.Kind == plant.StatReads && g.Kind == plant.StatReads {
		return f.Contact == g.Contact && (f.By > 0) == (g.By > 0)
	}
	if !electrical(f.Kind) || !electrical(g.Kind) {
		return false
	}
	sound := *in
	sound.Faults = [plant.MaxFaults]plant.Fault{}
	a, b := sound.With(f), sound.With(g)
	x, err1 := plant.LiveTable(&a)
	y, err2 := plant.LiveTable(&b)
	return err1 == nil && err2 == nil && slices.EqualFunc(x, y, func(r, s plant.Row) bool {
		return r.Pump == s.Pump && r.Call == s.Call && r.Valves == s.Valves && r.Unsettled == s.Unsettled
	})
}

func sameSecond(c plant.SecondControl) sameness {
	return func(taken, _, _ *lived) bool {
		for i := range taken.world.Phases {
			s := taken.world.Phases[i].Plant.SecondControl
			if s.Fitted && s.OnHW == c.OnHW && overlap(s, c) {
				return true
			}
		}
		return false
	}
}

// overlap reports whether two daily times have any of it in common: the evidence seldom gives the hours.
func overlap(a, b plant.SecondControl) bool {
	in := func(s plant.SecondControl, at uint32) bool {
		if s.From <= s.To {
			return s.From <= at && at < s.To
		}
		return at >= s.From || at < s.To
	}
	for at := uint32(0); at < calendar.Day; at += calendar.Minute {
		if in(a, at) && in(b, at) {
			return true
		}
	}
	return false
}

func sameFrost(taken, _, _ *lived) bool {
	in := &taken.world.Phases[len(taken.world.Phases)-1].Plant
	return in.Frost.Fitted && in.Frost.Setting >= in.Outdoor
}

// sameImmersion: the immersion heater stands switched on at the end.
func sameImmersion(taken, _, _ *lived) bool {
	in := taken.world.Phases[len(taken.world.Phases)-1].Plant.Immersion
	on := in.Wired == plant.OwnCircuit && in.On
	for _, a := range taken.world.Acts {
		if a.Deed == replay.AtImmersion {
			on = a.On
		}
	}
	return on || in.Wired == plant.OnHWRelay
}
