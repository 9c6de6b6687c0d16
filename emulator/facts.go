package emulator

import "example.org/hearthbench/emulator/spec"

// Facts is everything that a unit remembers, and nothing that follows from it: two units with equal facts and statements behave
// alike for ever. Seconds are elapsed seconds, counted while the unit's clock runs.
type Facts struct {
	Now          uint64
	Powered      bool
	ClockStopped bool   // without power, and the reserve has run out
	Stopped      uint64 // with ClockStopped: the elapsed second in which it did
	ReserveLeft  uint64 // s, without power
	Back, Fitted spec.Fitted

	ClockSet bool
	UTC      int64 // what the clock takes UTC to be, in seconds since 2000-01-01T00:00

	Channels [spec.NumChannels]ChannelFacts
	Holiday  HolidayFacts
	Lock     LockFacts

	Shown [spec.NumSignals]spec.Level
}

// ChannelFacts is what each channel has of its own.
type ChannelFacts struct {
	Mode      spec.Mode
	Table     [7][spec.MaxPeriods]spec.Period // a row for each day from Monday, whatever the cycle
	Override  bool                            // its level is NOT s
	BoostLeft uint64                          // s; 0: no boost runs
}

// HolidayFacts is the holiday under way.
type HolidayFacts struct {
	On      bool
	EndDate int // at whose 00:00 it ends, in days since 2000-01-01
	Days    int // that it was given for
}

// LockFacts is the interval lock.
type LockFacts struct {
	Stage   spec.Stage
	Terms   spec.LockTerms
	Counted uint64 // s since it was armed
	InStage uint64 // s since the stage began
}

// Facts returns the unit's facts.
func (u *Unit) Facts() (f Facts) {
	u.FactsTo(&f)
	return f
}

// FactsTo puts the unit's facts into f, over what was there: for one who asks after every step.
func (u *Unit) FactsTo(f *Facts) {
	for c := range u.tables {
		f.Channels[c].Table = u.tables[c]
	}
	u.MomentTo(f)
}

// MomentTo puts the unit's facts into f as FactsTo does, but for the tables, which stay as they are there: for one who knows that they are the
// same.
func (u *Unit) MomentTo(f *Facts) {
	f.Now, f.Powered, f.ClockStopped, f.Stopped, f.ReserveLeft = u.now, u.power.on, u.power.clockStopped, 0, 0
	f.Back, f.Fitted, f.ClockSet, f.UTC = u.back, u.fitted, u.clock.set, 0
	for i, level := range u.shown {
		f.Shown[i] = level
	}
	now := u.now
	if f.ClockStopped {
		now = u.power.stopped
		f.Stopped = now
	} else if !f.Powered {
		f.ReserveLeft = u.power.runsOut - now
	}
	if f.ClockSet {
		f.UTC = u.clock.base + int64(now)
	}
	for c := range u.channels {
		ch, to := &u.channels[c], &f.Channels[c]
		to.Mode, to.Override, to.BoostLeft = ch.mode, ch.override, 0
		if ch.boostEnd != never {
			to.BoostLeft = ch.boostEnd - now
		}
	}
	f.Holiday.On, f.Holiday.EndDate, f.Holiday.Days = u.inHoliday(), 0, 0
	if f.Holiday.On {
		f.Holiday.EndDate, f.Holiday.Days = u.holiday.date, u.holiday.days
	}
	if u.lock.stage == spec.Dormant {
		f.Lock = LockFacts{}
		return
	}
	f.Lock.Stage, f.Lock.Counted, f.Lock.InStage = u.lock.stage, now-u.lock.armed, now-u.lock.began
	f.Lock.Terms = u.lock.terms
}

// Restore puts a unit of the same statement where the facts say, whatever has been done to it since. What it shows is as the facts have
// it; if they have been changed by hand, [Unit.Settle] brings it in line. What they make overdue, say a stage that should have begun,
// comes as soon as time passes, or with an Advance of 0.
func (u *Unit) Restore(f *Facts) {
	for c := range u.channels {
		// A plan takes longer to make than all the rest, and mostly it is the same.
		if was := &f.Channels[c]; u.tables[c] != was.Table {
			u.tables[c] = was.Table
			u.remake(spec.Channel(c), was.Mode)
		}
	}
	u.RestoreMoment(f)
}

// RestoreMoment puts a unit where the facts say as Restore does, but for the tables, which stay as they are in it: for one who knows that they are
// the same.
func (u *Unit) RestoreMoment(f *Facts) {
	u.now, u.back, u.fitted, u.shown = f.Now, f.Back, f.Fitted, f.Shown
	u.clock, u.holiday, u.lock = clock{}, holiday{}, lock{}
	now := f.Now
	u.power = power{on: f.Powered, runsOut: never, clockStopped: f.ClockStopped}
	if f.ClockStopped {
		now = f.Stopped
		u.power.stopped = now
	} else if !f.Powered {
		u.power.runsOut = now + f.ReserveLeft
	}
	u.clock.change = never
	if f.ClockSet {
		u.now = now
		u.setClockTo(f.UTC)
		u.now = f.Now
	}
	u.holiday.ends = never
	if f.Holiday.On {
		u.holiday = holiday{ends: u.startOf(f.Holiday.EndDate), date: f.Holiday.EndDate, days: f.Holiday.Days}
	}
	if l := &f.Lock; l.Stage != spec.Dormant {
		u.lock = lock{stage: l.Stage, terms: l.Terms, armed: now - l.Counted, began: now - l.InStage}
	}
	for c := range u.channels {
		ch := &u.channels[c]
		u.lock.open[c], _ = u.lock.permit(spec.Channel(c), now)
		if mode := f.Channels[c].Mode; ch.mode != mode {
			u.remake(spec.Channel(c), mode)
		}
		ch.cursor = 0
		u.follow(spec.Channel(c))
		if f.ClockStopped {
			ch.next = never
		}
		ch.override = f.Channels[c].Override
		ch.programmed, ch.boostEnd = never, never
		if left := f.Channels[c].BoostLeft; left > 0 {
			ch.boostEnd = now + left
		}
	}
	u.arrange()
}

// Settle brings what the unit shows in line with the formula, and appends what changes to changes.
func (u *Unit) Settle(changes []spec.Change) []spec.Change {
	due := byInput
	changes = u.showRelays(changes, &due)
	changes = u.showPanel(changes, &due)
	u.arrange()
	return changes
}
