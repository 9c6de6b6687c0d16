package explore

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// step is one thing that happened to a unit: an input, or the passing of time.
type step struct {
	ics           *spec.ICS
	before, after *emulator.Facts
	input         *spec.Input // nil: time passed
	seconds       uint64
	reply         spec.Reply
	changes       []spec.Change
	same          bool // of an input: the unit is in every bit as it was
	tables        bool // the tables are as they were
	again         bool // of an accepted reset: a second one changes nothing

	asked   bool // what the channels ask for after it has been worked out
	demands [spec.NumChannels]spec.Level
}

func (s *step) passed() bool { return s.input == nil }

// Invariant is something that the clauses promise of every state, or of every step from one to the next.
type Invariant struct {
	Name    string
	Clauses []string
	on      events // those kinds of step that are held against it
	holds   func(s *step) bool
}

// events is a set of what is held against an invariant: a bit for each kind of input, one for the passing of time, and one for a state by itself,
// which is looked at once, when it is come to first. It is then a step of no seconds from itself to itself.
type events uint32

const (
	byTime   events = 1 << spec.NumKinds
	byInputs        = byTime - 1
	inState  events = byTime << 1

	numEvents = spec.NumKinds + 2
)

// eventOf returns the number of a kind of step; nil is the passing of time.
func eventOf(in *spec.Input) int {
	if in == nil {
		return spec.NumKinds
	}
	return int(in.Kind)
}

// checklist is the invariants by what is held against them, in their order.
type checklist [numEvents][]check

// check is what an invariant says, by itself so that it is near at hand.
type check struct {
	holds func(s *step) bool
	of    *Invariant
}

func newChecklist(list []Invariant) *checklist {
	var c checklist
	for i := range list {
		for e := range c {
			if list[i].on&(1<<e) != 0 {
				c[e] = append(c[e], check{list[i].holds, &list[i]})
			}
		}
	}
	return &c
}

// broken returns an invariant that a step breaks; nil: none.
func (c *checklist) broken(s *step) *Invariant { return broken(c[eventOf(s.input)], s) }

// brokenIn returns the first invariant that a state breaks; nil: none. It is made a step for that, over what was there.
func (c *checklist) brokenIn(ics *spec.ICS, f *emulator.Facts, s *step) *Invariant {
	*s = step{ics: ics, before: f, after: f}
	return broken(c[numEvents-1], s)
}

func broken(list []check, s *step) *Invariant {
	for i := range list {
		if c := &list[i]; !c.holds(s) {
			return c.of
		}
	}
	return nil
}

// Invariants returns what is checked of the emulator in every step. They are worked out from the facts by rules of their own, the scheduled
// level included: nothing of the emulator's is asked.
func Invariants() []Invariant {
	return []Invariant{
		{"heating never without hot water on gravity", []string{"CPL-1"}, inState, func(s *step) bool {
			return s.after.Fitted.Coupling != spec.Gravity || s.after.Shown[spec.SigCH] == 0 || s.after.Shown[spec.SigHW] == 1
		}},
		{"no relay, alert or sounder without power", []string{"PWR-1"}, inState, func(s *step) bool {
			return s.after.Powered || s.after.Shown == [spec.NumSignals]spec.Level{}
		}},
		{"each relay is what the formula says", []string{"PWR-1", "MOD-1", "MOD-2", "MOD-3", "MOD-6", "BST-1", "HOL-1", "OVR-1", "LCK-13", "CPL-1"}, inState, formula},
		{"a permit never adds a call", []string{"LCK-13"}, inState, func(s *step) bool {
			f := s.after
			hw, ch := s.demand(spec.HW), s.demand(spec.CH)
			if f.Fitted.Coupling == spec.Gravity {
				hw |= ch
			}
			return f.Shown[spec.SigHW] <= hw && f.Shown[spec.SigCH] <= ch
		}},
		{"an override is gone when its channel's scheduled level has changed", []string{"OVR-2", "OVR-3", "OVR-4", "OVR-5"}, byTime | byInputs, func(s *step) bool {
			given := !s.passed() && s.input.Kind == spec.Override && s.reply.Outcome == spec.Accepted
			for c := range s.after.Channels {
				if s.before.Channels[c].Override && s.after.Channels[c].Override && !(given && s.input.Channel == spec.Channel(c)) &&
					s.rescheduled(spec.Channel(c)) {
					return false
				}
			}
			return true
		}},
		{"no override without power, in a holiday, in a boost, or with the clock unset", []string{"OVR-9", "CLK-11", "HOL-3", "BST-5", "PWR-3"}, inState, func(s *step) bool {
			for c := range s.after.Channels {
				if ch := &s.after.Channels[c]; ch.Override && (!s.after.Powered && !s.ics.KeptThroughCut || s.after.Holiday.On || ch.BoostLeft > 0 || !s.after.ClockSet) {
					return false
				}
			}
			return true
		}},
		{"an override is never begun by time", []string{"OVR-1"}, byTime, func(s *step) bool {
			for c := range s.after.Channels {
				if s.passed() && s.after.Channels[c].Override && !s.before.Channels[c].Override {
					return false
				}
			}
			return true
		}},
		{"a boost counts elapsed seconds down, and ends", []string{"BST-1", "BST-2"}, byTime | inState, func(s *step) bool {
			for c := range s.after.Channels {
				was, is := s.before.Channels[c].BoostLeft, s.after.Channels[c].BoostLeft
				if is > uint64(s.ics.BoostLongest)*calendar.Minute {
					return false
				}
				if !s.passed() || is == 0 && s.after.ClockStopped {
					continue
				}
				if left := was - min(was, s.seconds); is != left {
					return false
				}
			}
			return true
		}},
		{"no boost without power, or in a holiday, unless the statement allows it", []string{"PWR-3", "HOL-3", "HOL-4"}, inState, func(s *step) bool {
			for c := range s.after.Channels {
				if ch := &s.after.Channels[c]; ch.BoostLeft > 0 && (!s.after.Powered && !s.ics.KeptThroughCut || s.after.Holiday.On && !s.ics.BoostInHoliday) {
					return false
				}
			}
			return true
		}},
		{"a holiday is over at its end, and only with the clock set", []string{"HOL-1", "HOL-9", "CLK-11"}, inState, func(s *step) bool {
			f := s.after
			return !f.Holiday.On || f.ClockSet && !f.ClockStopped && (calendar.DayOf(reading(s.ics, f)) < f.Holiday.EndDate)
		}},
		{"nothing but the credential moves the lock, apart from time", []string{"LCK-5", "LCK-9"}, byInputs, func(s *step) bool {
			if (s.input.Kind == spec.LockArm || s.input.Kind == spec.LockRemove) && s.input.Credential == s.ics.Credential {
				return true
			}
			return s.after.Lock == s.before.Lock
		}},
		{"the lock counts the seconds in which the clock runs, and its stages only go forward", []string{"LCK-2", "LCK-3", "LCK-4", "LCK-10"}, byTime, func(s *step) bool {
			was, is := &s.before.Lock, &s.after.Lock
			if !s.passed() || was.Stage == spec.Dormant {
				return !s.passed() || is.Stage == spec.Dormant
			}
			ran := s.seconds
			if s.before.ClockStopped {
				ran = 0
			}
			end := uint64(is.Terms.Days) * calendar.Day
			notice := end - uint64(is.Terms.NoticeDays)*calendar.Day
			stage := spec.Counting
			switch {
			case is.Counted >= end:
				stage = spec.Restricted
			case is.Counted >= notice:
				stage = spec.Notice
			}
			return is.Counted == was.Counted+ran && is.Stage == stage
		}},
		{"an input that is not accepted changes nothing", []string{"INP-1"}, byInputs, func(s *step) bool {
			return s.reply.Outcome == spec.Accepted || s.same && len(s.changes) == 0
		}},
		{"without power every input is refused but its return and what is done at the back", []string{"PWR-2", "PWR-14"}, byInputs, func(s *step) bool {
			return s.before.Powered || s.reply.Outcome != spec.Accepted || s.input.Kind == spec.PowerOn || s.input.Kind == spec.Fit
		}},
		{"a mode that is set already changes nothing", []string{"MOD-9"}, 1 << spec.SetMode, func(s *step) bool {
			return s.input.Mode != s.before.Channels[s.input.Channel].Mode || s.same
		}},
		{"a reset is idempotent, and keeps the lock and what is fitted", []string{"RST-1", "RST-4", "RST-6", "LCK-9"}, 1 << spec.Reset, func(s *step) bool {
			return s.reply.Outcome != spec.Accepted ||
				s.again && s.after.Lock == s.before.Lock && s.after.Back == s.before.Back && s.after.Fitted == s.before.Fitted
		}},
		{"tables and modes are changed by inputs alone", []string{"TAB-1", "MOD-8"}, byTime, func(s *step) bool {
			for c := range s.after.Channels {
				if s.passed() && (s.after.Channels[c].Mode != s.before.Channels[c].Mode || !s.tables) {
					return false
				}
			}
			return true
		}},
		{"what is reported is what has changed, a signal's changes turn about, and hot water closes before and opens after heating", []string{"OUT-2", "OUT-3"}, byTime | byInputs, reported},
	}
}

func isScheduled(m spec.Mode) bool { return m == spec.Table || m == spec.Span }

// reading is what the clock reads, in seconds since 2000-01-01T00:00.
func reading(ics *spec.ICS, f *emulator.Facts) int64 {
	r := f.UTC + int64(ics.Zone)*calendar.Minute
	if ics.SummerTime && calendar.SummerTime(f.UTC) {
		r += calendar.Hour
	}
	return r
}

// scheduled is what mode and table ask of a channel, worked out for this one minute.
func scheduled(ics *spec.ICS, f *emulator.Facts, c spec.Channel) spec.Level {
	ch := &f.Channels[c]
	if !isScheduled(ch.Mode) {
		return level(ch.Mode == spec.Always)
	}
	if !f.ClockSet || f.ClockStopped {
		return 0
	}
	r := reading(ics, f)
	minute := int(calendar.SecondOfDay(r) / calendar.Minute)
	today := calendar.Weekday(calendar.DayOf(r))
	return level(asks(ch.Mode, &ch.Table[today], minute) || asks(ch.Mode, &ch.Table[(today+6)%7], minute+spec.MinutesPerDay))
}

// rescheduled reports whether a channel's scheduled level has changed.
func (s *step) rescheduled(c spec.Channel) bool {
	was, is := &s.before.Channels[c], &s.after.Channels[c]
	clock := s.before.UTC == s.after.UTC && s.before.ClockSet == s.after.ClockSet && s.before.ClockStopped == s.after.ClockStopped
	if clock && was.Mode == is.Mode && (s.tables || was.Table == is.Table) {
		return false // there is nothing that could have changed it
	}
	return scheduled(s.ics, s.before, c) != scheduled(s.ics, s.after, c)
}

// asks reports whether a day's periods ask for 1 at a minute counted from that day's 00:00.
func asks(mode spec.Mode, day *[spec.MaxPeriods]spec.Period, minute int) bool {
	first, last := spec.MinutesPerDay, 0
	for _, p := range day {
		if p.On == p.Off {
			continue
		}
		on, off := int(p.On), int(p.Off)
		if off < on {
			off += spec.MinutesPerDay
		}
		if mode == spec.Table && on <= minute && minute < off {
			return true
		}
		first, last = min(first, on), max(last, off)
	}
	return mode == spec.Span && first <= minute && minute < last
}

func level(b bool) spec.Level {
	if b {
		return 1
	}
	return 0
}

// demand is the formula's d.
func demand(ics *spec.ICS, f *emulator.Facts, c spec.Channel) spec.Level {
	ch := &f.Channels[c]
	switch {
	case ch.BoostLeft > 0:
		return 1
	case f.Holiday.On:
		return 0
	case ch.Override:
		return 1 - scheduled(ics, f, c)
	default:
		return scheduled(ics, f, c)
	}
}

// demand is the formula's d after a step. That of a state is asked for more than once.
func (s *step) demand(c spec.Channel) spec.Level {
	if !s.asked {
		s.asked = true
		for i := range s.demands {
			s.demands[i] = demand(s.ics, s.after, spec.Channel(i))
		}
	}
	return s.demands[c]
}

func permitted(f *emulator.Facts, c spec.Channel) bool {
	allowance := spec.NoAllowance
	switch f.Lock.Stage {
	case spec.Notice:
		allowance = f.Lock.Terms.Notice[c]
	case spec.Restricted:
		allowance = f.Lock.Terms.Restricted[c]
	}
	return allowance == spec.NoAllowance || f.Lock.InStage%calendar.Hour < uint64(allowance)*calendar.Minute
}

func formula(s *step) bool {
	f := s.after
	call := func(c spec.Channel) spec.Level {
		if !f.Powered || !f.Fitted.Channels.Has(c) || !permitted(f, c) {
			return 0
		}
		return s.demand(c)
	}
	hw, ch := call(spec.HW), call(spec.CH)
	if f.Fitted.Coupling == spec.Gravity {
		hw |= ch
	}
	return f.Shown[spec.SigHW] == hw && f.Shown[spec.SigCH] == ch
}

// reported checks the changes of a step, which are those of one second if it is an input, against the levels before and after.
func reported(s *step) bool {
	levels := s.before.Shown
	for i := range s.changes {
		c := &s.changes[i]
		if levels[c.Signal] == c.Level {
			return false
		}
		levels[c.Signal] = c.Level
		// Each signal changes once in a second, and hot water's closing or heating's opening does not come after the other's.
		for j := i - 1; j >= 0 && s.changes[j].At == c.At; j-- {
			d := &s.changes[j]
			if d.Signal == c.Signal || d.Signal == spec.SigCH && d.Level == 1 && c.Signal == spec.SigHW && c.Level == 1 ||
				d.Signal == spec.SigHW && d.Level == 0 && c.Signal == spec.SigCH && c.Level == 0 {
				return false
			}
		}
	}
	for i := range levels { // one by one, as they have just been written
		if levels[i] != s.after.Shown[i] {
			return false
		}
	}
	return true
}
