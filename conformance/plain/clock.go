package plain

import (
	"time"

	"example.org/hearthbench/emulator/spec"
)

// A reading, what the display shows, is held as a time.Time whose fields are those of the display. Its location says UTC
// only because it has to say something.

// reading returns what the display shows. Without a set clock there is none, and the result means nothing.
func (u *Unit) reading() time.Time {
	if !u.clockSet {
		return time.Time{}
	}
	r := u.utc.Add(u.zone()) // CLK-7
	if u.ics.SummerTime && inSummerTime(u.utc) {
		r = r.Add(time.Hour)
	}
	return r
}

// zone is the standard offset from UTC.
func (u *Unit) zone() time.Duration { return time.Duration(u.ics.Zone) * time.Minute }

// inSummerTime reports whether summer time is in force at an instant of UTC (CLK-5, CLK-6).
func inSummerTime(utc time.Time) bool {
	year, month, _ := utc.Date()
	switch {
	case month < time.March || month > time.October:
		return false
	case month == time.March:
		return !utc.Before(lastSundayAtOne(year, time.March))
	case month == time.October:
		return utc.Before(lastSundayAtOne(year, time.October))
	default:
		return true
	}
}

// lastSundayAtOne returns 01:00 UTC on the last Sunday of a month.
func lastSundayAtOne(year int, month time.Month) time.Time {
	lastDay := time.Date(year, month+1, 0, 1, 0, 0, 0, time.UTC)
	return lastDay.AddDate(0, 0, -int(lastDay.Weekday()))
}

// instant returns the UTC instant at which the display shows the reading, the first one if there are two (CLK-8). It is not
// ok if the reading never happens (CLK-9).
func (u *Unit) instant(reading time.Time) (utc time.Time, ok bool) {
	standard := reading.Add(-u.zone())
	if !u.ics.SummerTime {
		return standard, true // CLK-14
	}
	summer := standard.Add(-time.Hour)
	if inSummerTime(summer) {
		return summer, true
	}
	if !inSummerTime(standard) {
		return standard, true
	}
	return time.Time{}, false
}

// weekday returns the day of the week of a reading.
func weekday(reading time.Time) spec.Day { return spec.Day((reading.Weekday() + 6) % 7) }

// minute returns the minute of the day of a reading.
func minute(reading time.Time) int { return reading.Hour()*60 + reading.Minute() }

// midnight returns 00:00 of a reading's date.
func midnight(reading time.Time) time.Time {
	year, month, day := reading.Date()
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
}

func (u *Unit) reserveSeconds() uint64 { return uint64(u.ics.Reserve) * 60 }

// loseClock is the end of the reserve (PWR-7).
func (u *Unit) loseClock() {
	u.clockRuns = false
	u.holiday = false   // HOL-11
	u.cancelOverrides() // PWR-4
	u.cancelBoosts()    // PWR-4
}

// startLostClock is what a unit whose clock has stopped, or never ran, does with it when power returns.
func (u *Unit) startLostClock() {
	u.clockRuns = true
	switch u.ics.LostClock {
	case spec.LostUnset:
		u.clockSet = false // PWR-9
	case spec.LostResumes:
		// PWR-10: it goes on from where it stopped; an unset clock stays unset.
	case spec.LostRestarts:
		u.clockSet = true // PWR-11
		u.utc = time.Date(2001, time.January, 1, 0, 0, 0, 0, time.UTC).Add(-u.zone())
	}
}
