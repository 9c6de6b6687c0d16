package emulator

import (
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// lock is the interval lock. Its instants are elapsed seconds; time for which the unit stood still is added to them when it is
// over, so that they count only seconds in which the clock ran (LCK-10).
type lock struct {
	stage spec.Stage
	terms spec.LockTerms
	armed uint64
	began uint64 // the stage
	open  [spec.NumChannels]bool
}

// nextStage returns when the stage ends by itself (LCK-3, LCK-4).
func (l *lock) nextStage() uint64 {
	switch l.stage {
	case spec.Counting:
		return l.armed + uint64(l.terms.Days-l.terms.NoticeDays)*calendar.Day
	case spec.Notice:
		return l.armed + uint64(l.terms.Days)*calendar.Day
	default:
		return never
	}
}

// allowance returns the minutes an hour for which the stage lets the channel call (LCK-15).
func (l *lock) allowance(c spec.Channel) uint8 {
	a := spec.NoAllowance
	switch l.stage {
	case spec.Notice:
		a = l.terms.Notice[c]
	case spec.Restricted:
		a = l.terms.Restricted[c]
	}
	if a == spec.NoAllowance {
		return spec.MaxAllowance
	}
	return a
}

// permit reports whether the channel may call (LCK-13), and when that next changes.
func (l *lock) permit(c spec.Channel, now uint64) (open bool, until uint64) {
	allowance := uint64(l.allowance(c)) * calendar.Minute
	if allowance == calendar.Hour {
		return true, never
	}
	within := (now - l.began) % calendar.Hour
	if within < allowance {
		return true, now - within + allowance
	}
	return false, now - within + calendar.Hour
}

// advanceLock brings stage and permits to this second.
func (u *Unit) advanceLock(due *causes) {
	l := &u.lock
	if l.nextStage() <= u.now {
		if l.stage == spec.Counting && l.terms.NoticeDays > 0 {
			l.stage = spec.Notice
		} else {
			l.stage = spec.Restricted
		}
		l.began = u.now
		due.panel = spec.CauseStage
		due.addAll(spec.CauseStage)
	}
	for c := range u.channels {
		if open, _ := l.permit(spec.Channel(c), u.now); open != l.open[c] {
			l.open[c] = open
			due.add(spec.Channel(c), spec.CausePermit)
		}
	}
}

// nextOfLock returns when a stage, a permit or the sounder next changes.
func (u *Unit) nextOfLock() uint64 {
	l := &u.lock
	if l.stage == spec.Dormant {
		return never
	}
	next := l.nextStage()
	for c := range u.channels {
		_, until := l.permit(spec.Channel(c), u.now)
		next = min(next, until)
	}
	if l.stage < spec.Notice || !u.clock.set {
		return next
	}
	second := calendar.SecondOfDay(u.clock.reading(u.now))
	for _, minute := range l.terms.Sounder[:l.terms.Sounders] {
		for _, edge := range [...]int64{int64(minute), int64(minute) + 1} {
			wait := (edge*calendar.Minute - second + 2*calendar.Day) % calendar.Day
			if wait == 0 {
				wait = calendar.Day
			}
			next = min(next, u.now+uint64(wait))
		}
	}
	return next
}

// sounding reports whether the sounder sounds, power apart (LCK-18).
func (u *Unit) sounding() bool {
	l := &u.lock
	if l.stage < spec.Notice || !u.clock.set {
		return false
	}
	minute := uint16(calendar.SecondOfDay(u.clock.reading(u.now)) / calendar.Minute)
	for _, m := range l.terms.Sounder[:l.terms.Sounders] {
		if m == minute {
			return true
		}
	}
	return false
}

// arm is the input of that name.
func (u *Unit) arm(credential string, terms spec.LockTerms) spec.Refusal {
	if credential != u.ics.Credential {
		return spec.WrongCredential // LCK-6
	}
	if !goodTerms(&terms) {
		return spec.BadTerms // LCK-5
	}
	u.lock = lock{stage: spec.Counting, terms: terms, armed: u.now, began: u.now}
	if terms.NoticeDays == terms.Days {
		u.lock.stage = spec.Notice // LCK-2
	}
	u.liftPermits()
	return spec.NoRefusal
}

// remove is the input of that name.
func (u *Unit) remove(credential string) spec.Refusal {
	if credential != u.ics.Credential {
		return spec.WrongCredential // LCK-6
	}
	if u.lock.stage == spec.Dormant {
		return spec.LockDormant // LCK-8
	}
	u.lock = lock{}
	u.liftPermits()
	return spec.NoRefusal
}

// liftPermits opens both: every stage begins with its permits open.
func (u *Unit) liftPermits() {
	u.lock.open = [spec.NumChannels]bool{true, true}
}

// goodTerms reports whether arming can be accepted (LCK-5).
func goodTerms(t *spec.LockTerms) bool {
	good := t.Days >= 1 && t.Days <= spec.MaxLockDays && t.NoticeDays <= t.Days && t.Sounders <= spec.MaxSounderTimes
	if !good {
		return false
	}
	for _, allowances := range [...][spec.NumChannels]uint8{t.Notice, t.Restricted} {
		for _, a := range allowances {
			good = good && (a == spec.NoAllowance || a >= spec.MinAllowance && a <= spec.MaxAllowance)
		}
	}
	for _, minute := range t.Sounder[:t.Sounders] {
		good = good && minute < minutesPerDay
	}
	return good
}
