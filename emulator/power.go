package emulator

import (
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// power is the mains and the reserve.
type power struct {
	on           bool
	runsOut      uint64 // when the reserve does; never with power, or when it has
	clockStopped bool   // time stands still for the unit, since the second `stopped`
	stopped      uint64
}

// restart is where a unit with lost-clock restarts begins: Monday 2001-01-01 00:00:00 (PWR-11).
var restart = int64(calendar.Days(2001, 1, 1)) * calendar.Day

// cutPower is the input "power off".
func (u *Unit) cutPower() {
	u.power.on = false
	u.power.runsOut = u.now + uint64(u.ics.Reserve)*calendar.Minute // each cut counts alone (PWR-8)
	if !u.ics.KeptThroughCut {
		u.cancelOverridesAndBoosts() // PWR-3
	}
}

// loseClock is for the second in which the reserve runs out: from then on time stands still for the unit.
func (u *Unit) loseClock() {
	u.power.runsOut = never
	u.power.clockStopped = true
	u.power.stopped = u.now
	u.cancelOverridesAndBoosts() // PWR-4
	u.holiday = holiday{ends: never}
	for c := range u.channels {
		u.channels[c].next = never
	}
}

// returnPower is the input "power on". Without effect on a unit that has power (PWR-13).
func (u *Unit) returnPower() {
	if u.power.on {
		return
	}
	if u.power.runsOut <= u.now { // the reserve runs out before power returns in the same second (PWR-7)
		u.loseClock()
	}
	u.power.on = true
	u.power.runsOut = never
	if u.power.clockStopped {
		u.findClock(u.now - u.power.stopped)
	}
	was := u.fitted
	u.fitted = u.back.Effective()
	was.Coupling = u.fitted.Coupling // which alone changes nothing else
	if was != u.fitted {
		u.restoreDefaults() // PWR-15
	}
}

// findClock is for the return of power after the clock has stood still for so many seconds.
func (u *Unit) findClock(still uint64) {
	u.power.clockStopped = false
	u.lock.armed += still
	u.lock.began += still
	switch {
	case u.ics.LostClock == spec.LostRestarts:
		u.setClockTo(restart - u.zone())
	case u.ics.LostClock == spec.LostResumes && u.clock.set:
		u.setClockTo(u.clock.base + int64(u.power.stopped))
	default:
		u.unsetClock()
	}
	for c := range u.channels {
		u.follow(spec.Channel(c))
	}
}

// fit is the input of that name: what it changes is read when power returns (PWR-14).
func (u *Unit) fit(option spec.FitOption, value uint8) spec.Refusal {
	back, _ := u.ics.Fit(u.back, option, value)
	if u.power.on {
		return spec.PowerPresent
	}
	u.back = back
	return spec.NoRefusal
}

// restoreDefaults gives tables and modes their defaults and cancels override and boost (PWR-15, PWR-16, RST-1 to RST-3).
func (u *Unit) restoreDefaults() {
	u.cancelOverridesAndBoosts()
	d := &fallbacks[min(u.ics.Periods, 2)-1][u.fitted.Cycle]
	for c := range u.channels {
		if ch := &u.channels[c]; ch.mode != spec.Table || u.tables[c] != d.table {
			ch.mode, u.tables[c], u.plans[c] = spec.Table, d.table, d.plan
			u.edits++
			u.follow(spec.Channel(c))
		}
	}
}

// reset is the input of that name. It leaves the clock, what is fitted and the lock alone (RST-4, RST-6, LCK-9).
func (u *Unit) reset() {
	u.holiday = holiday{ends: never}
	if u.ics.ResetUnsetsClock {
		u.unsetClock() // RST-5
		for c := range u.channels {
			u.follow(spec.Channel(c))
		}
	}
	u.restoreDefaults()
}
