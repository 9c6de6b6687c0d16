// Package localtime is true local time in a zone with or without European summer time: readings to instants and back, and how people
// write them.
//
// Instants are seconds of UTC since 2000-01-01T00:00, as in package calendar; readings are what a local clock shows, counted likewise.
package localtime

import (
	"fmt"
	"regexp"
	"strconv"
	"time"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Zone is where a unit or a household is.
type Zone struct {
	Standard   int64 // offset from UTC without summer time, in seconds
	SummerTime bool  // by the rule of Directive 2000/84/EC
}

// Of returns the zone of a unit.
func Of(ics *spec.ICS) Zone {
	return Zone{Standard: int64(ics.Zone) * calendar.Minute, SummerTime: ics.SummerTime}
}

// Offset returns how far the local reading is ahead of UTC at an instant, in seconds.
func (z Zone) Offset(utc int64) int64 {
	if z.SummerTime && calendar.SummerTime(utc) {
		return z.Standard + calendar.Hour
	}
	return z.Standard
}

// Reading returns the local reading at an instant.
func (z Zone) Reading(utc int64) int64 { return utc + z.Offset(utc) }

// Instants returns when the local time shows a reading: once, twice where summer time ends, or not at all where it begins.
func (z Zone) Instants(reading int64) []int64 {
	var all []int64
	for _, utc := range [...]int64{reading - z.Standard - calendar.Hour, reading - z.Standard} {
		if z.Reading(utc) == reading {
			all = append(all, utc)
		}
	}
	return all
}

var epoch = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// Second returns the true second of an instant, from 2000-01-01T00:00:00Z, rounded down.
func Second(t time.Time) int64 { return t.Unix() - epoch.Unix() }

// At returns the local time of an instant, with its offset.
func (z Zone) At(utc int64) time.Time {
	return epoch.Add(time.Duration(utc) * time.Second).In(time.FixedZone("", int(z.Offset(utc))))
}

// Dated reports whether an instant's local date is one that a clock can have.
func (z Zone) Dated(utc int64) bool {
	year := z.At(utc).Year()
	return year >= spec.FirstYear && year <= spec.LastYear
}

// Clock returns a reading as a time in no zone.
func Clock(reading int64) time.Time { return epoch.Add(time.Duration(reading) * time.Second) }

var timePattern = regexp.MustCompile(`^([0-9]{4})-([0-9]{2})-([0-9]{2})[ T]([0-9]{2}):([0-9]{2})(?::([0-9]{2}))?(?: ?([+-])([0-9]{2}):([0-9]{2})|(Z))?$`)

// Parse reads a local time or an instant. Of a reading that comes twice it returns the first, unless an offset says which.
func (z Zone) Parse(text string) (utc int64, err error) {
	m := timePattern.FindStringSubmatch(text)
	if m == nil {
		return 0, fmt.Errorf("%s is not a time such as 2026-01-14 08:00", document.Quote(text))
	}
	var f [10]int
	for i := range f {
		if i < len(m) {
			f[i], _ = strconv.Atoi(m[i])
		}
	}
	year, month, day, hour, minute, second := f[1], f[2], f[3], f[4], f[5], f[6]
	date := text[:len("2006-01-02")]
	switch {
	case year < spec.FirstYear || year > spec.LastYear:
		return 0, fmt.Errorf("%s is out of range; dates run from %d-01-01 to %d-12-31", date, spec.FirstYear, spec.LastYear)
	case !calendar.Valid(year, month, day):
		return 0, fmt.Errorf("%s is not in the calendar; correct the date", date)
	case hour == 24 && minute == 0 && second == 0:
		return 0, fmt.Errorf("24:00 is 00:00 of the day after; write that")
	case hour > 23 || minute > 59 || second > 59:
		return 0, fmt.Errorf("%s is not a time of day; times run from 00:00:00 to 23:59:59", text[len(date)+1:])
	}
	reading := int64(calendar.Days(year, month, day))*calendar.Day + int64(hour*calendar.Hour+minute*calendar.Minute+second)
	switch {
	case m[10] == "Z":
		return reading, nil
	case m[7] != "":
		offset := f[8]*calendar.Hour + f[9]*calendar.Minute
		if f[8] > 14 || f[9] > 59 {
			return 0, fmt.Errorf("%s%s:%s is not an offset from UTC such as +01:00", m[7], m[8], m[9])
		}
		if m[7] == "-" {
			offset = -offset
		}
		return reading - int64(offset), nil
	}
	return z.First(reading)
}

// First returns the instant at which the local time first shows a reading. It is an error if summer time skips it.
func (z Zone) First(reading int64) (utc int64, err error) {
	instants := z.Instants(reading)
	if len(instants) == 0 {
		after := calendar.NextChange(reading - z.Standard - calendar.Hour)
		return 0, fmt.Errorf("summer time skips this reading: %s is followed by %s; write one that happens",
			z.At(after-1).Format(time.DateTime), z.At(after).Format(time.TimeOnly))
	}
	return instants[0], nil
}
