package emulator

import (
	"math"

	"example.org/hearthbench/emulator/spec"
)

// never is an elapsed second that does not come.
const never = math.MaxUint64

// Unit is one programmer. Its zero value is of no use; see [New]. A Unit may be copied, and compared by [Unit.Apart].
type Unit struct {
	ics spec.ICS
	moment

	tables [spec.NumChannels]week
	plans  [spec.NumChannels]plan
	// edits counts the writings of tables and plans, which are long, so that those of a copy need not be held against each other where there
	// was none.
	edits uint64
}

// moment is all that is small, and changes with most inputs.
type moment struct {
	now    uint64 // elapsed second
	rare   uint64 // the next instant at which anything but a switching point is due
	back   spec.Fitted
	fitted spec.Fitted // back as it was when power last returned, with what a single channel implies

	clock    clock
	power    power
	channels [spec.NumChannels]channel
	holiday  holiday
	lock     lock
	shown    [spec.NumSignals]spec.Level
}

// channel is what each channel has of its own, but for its table and plan.
type channel struct {
	mode   spec.Mode
	level  spec.Level // the scheduled level, s
	cursor uint8      // the next entry of plan

	// override is in force. Its level needs no place of its own: it is NOT s when it is given and ends when s changes, so it
	// is NOT s always.
	override   bool
	next       uint64 // the next switching point
	programmed uint64 // with override-end programmed: the next programmed time
	boostEnd   uint64 // never: no boost
}

// New returns a unit as it left the factory: without power, at elapsed second 0. It fails if the ICS is not valid.
func New(ics spec.ICS) (Unit, error) {
	if err := ics.Validate(); err != nil {
		return Unit{}, err
	}
	u := Unit{ics: ics, moment: moment{back: ics.Fitted, fitted: ics.Fitted.Effective(), rare: never}}
	u.power = power{clockStopped: true, runsOut: never}
	u.holiday.ends = never
	u.clock.change = never
	u.liftPermits()
	for c := range u.channels {
		u.channels[c].boostEnd = never
		u.channels[c].programmed = never
	}
	u.restoreDefaults()
	return u, nil
}

// Now returns the elapsed second.
func (u *Unit) Now() uint64 { return u.now }

// Level returns what the signal shows.
func (u *Unit) Level(s spec.Signal) spec.Level { return u.shown[s] }

// Next returns the next elapsed second in which time alone can change anything, or false if there is none: nothing of the
// unit changes before it without an input. Nothing visible need change in it.
func (u *Unit) Next() (second uint64, ok bool) {
	next := min(u.rare, u.channels[spec.HW].next, u.channels[spec.CH].next)
	return next, next != never
}

// Advance lets elapsed seconds pass, covering (now, now+seconds], and appends what changes to changes. It allocates only
// where changes must grow.
func (u *Unit) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	end := u.now + seconds
	if end < u.now {
		end = never - 1
	}
	for {
		at, _ := u.Next()
		if at > end {
			u.now = end
			return changes
		}
		u.now = max(u.now, at)
		changes = u.clocks(changes)
	}
}

// clocks applies everything that the clocks bring at this second together, and reports the net change (clause OUT-2).
func (u *Unit) clocks(changes []spec.Change) []spec.Change {
	var due causes
	panel := false
	if u.rare <= u.now {
		panel = true
		u.timers(&due)
	}
	for c := range u.channels {
		if ch := &u.channels[c]; ch.next == u.now {
			due.add(spec.Channel(c), spec.CausePeriod)
			due.slot[c] = u.step(spec.Channel(c))
		}
	}
	changes = u.showRelays(changes, &due)
	if panel {
		changes = u.showPanel(changes, &due)
		u.arrange()
	}
	return changes
}

// timers applies what is due now, switching points apart. What the civil clock brings comes first, so that a reading which summer
// time skips has no effect; the reserve runs out last, since it still carried this second.
func (u *Unit) timers(due *causes) {
	if u.clock.change <= u.now {
		u.changeSummerTime(due)
	}
	for c := range u.channels {
		ch := &u.channels[c]
		if ch.programmed <= u.now && ch.override {
			ch.override = false
			due.add(spec.Channel(c), spec.CausePeriod)
			due.slot[c] = u.programmedSlot(spec.Channel(c), u.clock.minuteOfWeek(u.now))
		}
		if ch.boostEnd <= u.now {
			ch.boostEnd = never
			due.add(spec.Channel(c), spec.CauseBoostEnd)
		}
	}
	if u.holiday.ends <= u.now {
		u.holiday.ends = never
		due.addAll(spec.CauseHolidayEnd)
	}
	u.advanceLock(due)
	if u.power.runsOut <= u.now {
		u.loseClock()
	}
}

// arrange works out when anything but a switching point is next due.
func (u *Unit) arrange() {
	u.rare = u.power.runsOut
	if u.power.clockStopped {
		u.rare = never
		return
	}
	for c := range u.channels {
		ch := &u.channels[c]
		ch.programmed = never
		if ch.override && u.ics.OverrideProgrammed {
			ch.programmed = u.now + u.nextProgrammed(spec.Channel(c), u.clock.secondOfWeek(u.now))
		}
		u.rare = min(u.rare, ch.boostEnd, ch.programmed)
	}
	u.rare = min(u.rare, u.clock.change, u.holiday.ends, u.nextOfLock())
}
