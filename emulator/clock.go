package emulator

import (
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// clock is the civil clock. All of it follows from base: UTC, as the unit reckons it, is base + elapsed second.
type clock struct {
	set    bool
	base   int64  // seconds since 2000-01-01T00:00 UTC at elapsed second 0
	offset int64  // of the reading from UTC now, in seconds: the zone's and summer time's
	change uint64 // when summer time next begins or ends
}

func (c *clock) reading(now uint64) int64      { return c.base + int64(now) + c.offset }
func (c *clock) secondOfWeek(now uint64) int64 { return calendar.SecondOfWeek(c.reading(now)) }
func (c *clock) minuteOfWeek(now uint64) uint16 {
	return uint16(c.secondOfWeek(now) / calendar.Minute)
}

// Reading returns what the clock reads: days since 2000-01-01 and the second of the day; ok is false if the clock is unset or
// stands still.
func (u *Unit) Reading() (days int, second int, ok bool) {
	if u.power.clockStopped || !u.clock.set {
		return 0, 0, false
	}
	r := u.clock.reading(u.now)
	return calendar.DayOf(r), int(calendar.SecondOfDay(r)), true
}

// zone returns the standard offset from UTC in seconds (CLK-7).
func (u *Unit) zone() int64 { return int64(u.ics.Zone) * calendar.Minute }

// instantOf returns the instant of UTC at which the display first comes to show the reading (CLK-8), or false if it never does
// (CLK-9).
func (u *Unit) instantOf(reading int64) (utc int64, ok bool) {
	standard := reading - u.zone()
	if !u.ics.SummerTime {
		return standard, true
	}
	if utc = standard - calendar.Hour; calendar.SummerTime(utc) {
		return utc, true
	}
	return standard, !calendar.SummerTime(standard)
}

// startOf returns the elapsed second at which the clock comes to a later date, in days since 2000-01-01: the first instant
// with that date (HOL-1). Where 00:00 is skipped, that is the change to summer time.
func (u *Unit) startOf(days int) uint64 {
	midnight := int64(days) * calendar.Day
	utc, ok := u.instantOf(midnight)
	switch {
	case !ok:
		utc = calendar.NextChange(midnight - u.zone() - calendar.Hour)
	case utc <= u.clock.base+int64(u.now):
		utc = midnight - u.zone() // the reading has been there and gone back: it comes again
	}
	return u.elapsedAt(utc)
}

// setClockTo makes the clock run from the instant of UTC.
func (u *Unit) setClockTo(utc int64) {
	u.clock.set = true
	u.clock.base = utc - int64(u.now)
	u.clock.offset = u.zone()
	u.clock.change = never
	if u.ics.SummerTime {
		if calendar.SummerTime(utc) {
			u.clock.offset += calendar.Hour
		}
		u.clock.change = u.elapsedAt(calendar.NextChange(utc))
	}
}

// elapsedAt returns the elapsed second at which the clock comes to an instant of UTC that is still ahead.
func (u *Unit) elapsedAt(utc int64) uint64 { return uint64(utc - u.clock.base) }

func (u *Unit) unsetClock() {
	u.clock = clock{change: never}
	u.holiday = holiday{ends: never}
}

// changeSummerTime moves the reading forward or back (CLK-5, CLK-6). Only the scheduled levels just before and just after count
// (OVR-5).
func (u *Unit) changeSummerTime(due *causes) {
	u.setClockTo(u.clock.base + int64(u.now))
	for c := range u.channels {
		ch := &u.channels[c]
		before, overridden := ch.level, ch.override
		ch.programmed = never // it was reckoned on the reading as it ran before
		u.follow(spec.Channel(c))
		u.meetProgrammedTime(spec.Channel(c))
		if ch.level != before || ch.override != overridden {
			due.add(spec.Channel(c), spec.CauseSummerTime)
		}
	}
}

// meetProgrammedTime ends an override where the clock has jumped to a reading that is a programmed time (OVR-16).
func (u *Unit) meetProgrammedTime(c spec.Channel) {
	if ch := &u.channels[c]; u.ics.OverrideProgrammed && ch.override && u.isProgrammed(c, u.clock.minuteOfWeek(u.now)) {
		ch.override = false
	}
}

// setClock is the input of that name (CLK-2 to CLK-4).
func (u *Unit) setClock(date spec.Date, minute uint16) spec.Refusal {
	year, month, day := int(date.Year), int(date.Month), int(date.Day)
	if year < spec.FirstYear || year > spec.LastYear || !calendar.Valid(year, month, day) || minute >= spec.MinutesPerDay {
		return spec.BadDate
	}
	days := calendar.Days(year, month, day)
	utc, ok := u.instantOf(int64(days)*calendar.Day + int64(minute)*calendar.Minute)
	if !ok {
		return spec.SkippedReading
	}
	if u.clock.set && utc == u.clock.base+int64(u.now) {
		return spec.NoRefusal // what is set already (INP-2)
	}
	u.setClockTo(utc)
	for c := range u.channels {
		u.follow(spec.Channel(c))
		u.meetProgrammedTime(spec.Channel(c))
	}
	u.capHoliday(days)
	return spec.NoRefusal
}
