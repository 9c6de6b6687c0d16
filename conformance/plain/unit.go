// Package plain is a second model of the heating programmer, written from vectors/BEHAVIOUR.md alone so that it can be
// compared with the emulator. It is meant to be checked by reading: the state is raw facts, every second of simulated time
// is lived through one by one, and everything is worked out anew from those facts each time. It shares nothing with the
// emulator but the words of package spec.
package plain

import (
	"slices"
	"time"

	"example.org/hearthbench/emulator/spec"
)

var (
	channels = [...]spec.Channel{spec.HW, spec.CH}
	days     = [...]spec.Day{spec.Mon, spec.Tue, spec.Wed, spec.Thu, spec.Fri, spec.Sat, spec.Sun}
)

// Unit is one heating programmer. It is made by [New] and is not safe for concurrent use.
type Unit struct {
	ics     spec.ICS
	elapsed uint64 // seconds
	power   bool
	back    spec.Fitted // what is chosen at the back now
	fitted  spec.Fitted // what the unit found there when power last returned (PWR-14)

	channel [spec.NumChannels]channel

	// Clock. A clock that runs may still be unset: then it counts seconds and knows no reading.
	clockRuns bool      // on mains, or on a reserve that has not run out
	clockSet  bool      //
	utc       time.Time // counts only if clockSet
	onReserve uint64    // seconds since power was lost, while the clock runs without it

	// Holiday.
	holiday     bool
	holidayDays int       // its length as accepted (HOL-10)
	holidayEnd  time.Time // 00:00 of the civil date at which it is over, as a reading

	// Interval lock.
	armed   bool
	terms   spec.LockTerms
	counted uint64 // seconds since arming in which the clock ran (LCK-10)

	shown   [spec.NumSignals]spec.Level
	changes []spec.Change
}

// channel is what belongs to hot water or to heating alone.
type channel struct {
	mode       spec.Mode
	table      [len(days)][spec.MaxPeriods]spec.Period // with a shared table, the same in both channels (TAB-13)
	overridden bool
	override   spec.Level // counts only if overridden
	boostLeft  uint64     // seconds; 0: no boost runs
	s          spec.Level // the scheduled level when it was last worked out, to tell whether it changes
}

// New returns a unit as it left the factory: no power, elapsed second 0, fitted as the ICS says. The ICS is taken as valid.
func New(ics spec.ICS) *Unit {
	u := &Unit{ics: ics, back: ics.Fitted, fitted: effective(ics.Fitted)}
	u.defaults() // PWR-16
	return u
}

// Advance lets seconds of elapsed time pass, one at a time: from second t it covers t+1 to t+seconds.
func (u *Unit) Advance(seconds uint64) {
	for range seconds {
		u.pass(1)
	}
}

// AdvanceByMinutes does what [Unit.Advance] does, in strides to the next full minute of the reading wherever nothing is
// running that is counted in seconds of elapsed time. Everything else happens at full minutes of the reading.
func (u *Unit) AdvanceByMinutes(seconds uint64) {
	for seconds > 0 {
		stride := uint64(1)
		if !u.countsSeconds() {
			stride = seconds
			if u.clockRuns && u.clockSet {
				stride = min(seconds, uint64(60-u.reading().Second()))
			}
		}
		u.pass(stride)
		seconds -= stride
	}
}

// countsSeconds reports whether a boost, the lock or the reserve is running.
func (u *Unit) countsSeconds() bool {
	if !u.clockRuns {
		return false
	}
	return !u.power || u.armed || u.channel[spec.HW].boostLeft > 0 || u.channel[spec.CH].boostLeft > 0
}

// Changes returns every change so far in the order in which they happened. Cause and Slot are not filled in.
func (u *Unit) Changes() []spec.Change { return slices.Clone(u.changes) }

// pass lets seconds pass at once. More than one is right only if nothing can happen in any but the last of them.
func (u *Unit) pass(seconds uint64) {
	u.elapsed += seconds
	if !u.clockRuns {
		return // no power and no reserve: everything stands still
	}

	if u.clockSet {
		u.utc = u.utc.Add(time.Duration(seconds) * time.Second) // CLK-1
	}
	for _, c := range channels {
		if u.channel[c].boostLeft > 0 {
			u.channel[c].boostLeft -= seconds // BST-1, BST-8
		}
	}
	if u.armed {
		u.counted += seconds // LCK-10, LCK-12
	}
	if !u.power {
		u.onReserve += seconds
		if u.onReserve >= u.reserveSeconds() {
			u.loseClock() // PWR-7
		}
	}

	u.settle(clockMoved) // OUT-2
}

// event is what settle follows.
type event int

const (
	clockMoved event = iota // by running
	clockWasSet
	otherInput
)

// settle brings everything that follows from the facts up to date after the clocks have moved, or after an input.
func (u *Unit) settle(after event) {
	now := u.reading()

	// HOL-1, HOL-9, HOL-12: at or past its end the holiday is over for good.
	if u.holiday && !now.Before(u.holidayEnd) {
		u.holiday = false
	}

	for _, c := range channels {
		ch := &u.channel[c]
		s := u.scheduled(c, now)
		if s != ch.s {
			ch.overridden = false // OVR-2 to OVR-5, OVR-8
		}
		ch.s = s

		// OVR-16: the clock has come to read a programmed time, by running, by a change of summer time or by being set.
		if ch.overridden && u.ics.OverrideProgrammed && after != otherInput &&
			now.Second() == 0 && u.programmed(c, weekday(now), minute(now)) {
			ch.overridden = false
		}
		// OVR-10, OVR-17.
		if ch.overridden && after != clockMoved && !u.overrideCanEnd(c) {
			ch.overridden = false
		}
	}

	u.show(now)
}

// effective is what fitted options amount to: a single channel is independent and has its own table, whatever is fitted.
func effective(f spec.Fitted) spec.Fitted {
	if f.Channels != spec.BothChannels {
		f.Timing = spec.Separate
		f.Coupling = spec.Independent
	}
	return f
}

// defaults restores modes and tables (RST-1, RST-2, PWR-15, PWR-16).
func (u *Unit) defaults() {
	for _, c := range channels {
		u.channel[c].mode = spec.Table
		for _, d := range days {
			u.channel[c].table[d] = u.defaultDay(d)
		}
	}
}

// defaultDay is TAB-18.
func (u *Unit) defaultDay(d spec.Day) (slots [spec.MaxPeriods]spec.Period) {
	weekend := d == spec.Sat || d == spec.Sun
	if u.ics.Periods == 1 || weekend && u.fitted.Cycle != spec.Cycle24h {
		slots[0] = spec.Period{On: 7 * 60, Off: 23 * 60}
		return slots
	}
	slots[0] = spec.Period{On: 7 * 60, Off: 9 * 60}
	slots[1] = spec.Period{On: 16 * 60, Off: 23 * 60}
	return slots
}

func (u *Unit) cancelOverrides() {
	for _, c := range channels {
		u.channel[c].overridden = false
	}
}

func (u *Unit) cancelBoosts() {
	for _, c := range channels {
		u.channel[c].boostLeft = 0
	}
}
