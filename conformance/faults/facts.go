package faults

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// reading returns what the clock of a unit with zone 0 and automatic summer time reads, in seconds since 2000-01-01T00:00.
func reading(f *emulator.Facts) int64 {
	if calendar.SummerTime(f.UTC) {
		return f.UTC + calendar.Hour
	}
	return f.UTC
}

func secondOfDay(f *emulator.Facts) int64 { return calendar.SecondOfDay(reading(f)) }

func today(f *emulator.Facts) int { return calendar.DayOf(reading(f)) }

// readingOf returns the reading to which a clock is to be set.
func readingOf(in spec.Input) int64 {
	return int64(calendar.Days(int(in.Date.Year), int(in.Date.Month), int(in.Date.Day)))*calendar.Day + int64(in.Minute)*calendar.Minute
}

// untilMidnight returns the seconds to the next midnight as the clock runs now; summer time can only make it come sooner or later by an hour.
func untilMidnight(f *emulator.Facts) uint64 {
	return uint64(calendar.Day - secondOfDay(f))
}

// moveClock puts the clock forward or back by seconds, behind the unit's back. A holiday whose end it passes is over.
func moveClock(f *emulator.Facts, by int64) {
	f.UTC += by
	if f.Holiday.EndDate <= today(f) {
		f.Holiday = emulator.HolidayFacts{}
	}
}

// changedSummerTime reports whether the reading has gone forward or back between two looks at a running clock.
func changedSummerTime(was, now *emulator.Facts) bool {
	return was.ClockSet && now.ClockSet && calendar.SummerTime(was.UTC) != calendar.SummerTime(now.UTC)
}

// eachDay calls f with every channel and day of its table, 0 for Monday.
func eachDay(f *emulator.Facts, do func(c *emulator.ChannelFacts, day int)) {
	for c := range f.Channels {
		for d := range f.Channels[c].Table {
			do(&f.Channels[c], d)
		}
	}
}

func other(c spec.Channel) spec.Channel { return 1 - c }

// recount puts the lock's stage where its count says, for a count that has been changed by hand.
func recount(l *emulator.LockFacts) {
	notice, end := uint64(l.Terms.Days-l.Terms.NoticeDays)*calendar.Day, uint64(l.Terms.Days)*calendar.Day
	switch {
	case l.Stage == spec.Dormant:
	case l.Counted >= end:
		l.Stage, l.InStage = spec.Restricted, l.Counted-end
	case l.Counted >= notice:
		l.Stage, l.InStage = spec.Notice, l.Counted-notice
	default:
		l.Stage, l.InStage = spec.Counting, l.Counted
	}
}

// allowance returns the seconds an hour for which the lock lets the channel call.
func allowance(l *emulator.LockFacts, c spec.Channel) uint64 {
	a := spec.NoAllowance
	switch l.Stage {
	case spec.Notice:
		a = l.Terms.Notice[c]
	case spec.Restricted:
		a = l.Terms.Restricted[c]
	}
	return uint64(min(a, spec.MaxAllowance)) * calendar.Minute
}

// permits reports whether the lock lets the channel call now.
func permits(l *emulator.LockFacts, c spec.Channel) bool {
	return l.InStage%calendar.Hour < allowance(l, c)
}

// each calls f with both channels.
func each(f func(c spec.Channel)) {
	f(spec.HW)
	f(spec.CH)
}
