package scenario

import (
	"fmt"
	"regexp"
	"strconv"
	"time"

	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// civil is the true local time where the unit is: its zone, with summer time if the unit has that. Instants are seconds of UTC since
// 2000-01-01T00:00, as in package calendar.
type civil struct {
	zone       int64 // standard offset in seconds
	summerTime bool
}

func civilOf(ics *spec.ICS) civil {
	return civil{zone: int64(ics.Zone) * calendar.Minute, summerTime: ics.SummerTime}
}

func (c civil) offset(utc int64) int64 {
	if c.summerTime && calendar.SummerTime(utc) {
		return c.zone + calendar.Hour
	}
	return c.zone
}

// instants returns when the local time shows a reading: once, twice where summer time ends, or not at all where it begins.
func (c civil) instants(reading int64) []int64 {
	var all []int64
	for _, utc := range [...]int64{reading - c.zone - calendar.Hour, reading - c.zone} {
		if utc+c.offset(utc) == reading {
			all = append(all, utc)
		}
	}
	return all
}

var epoch = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// at returns the local time of an instant, with its offset.
func (c civil) at(utc int64) time.Time {
	return epoch.Add(time.Duration(utc) * time.Second).In(time.FixedZone("", int(c.offset(utc))))
}

var (
	timePattern     = regexp.MustCompile(`^([0-9]{4})-([0-9]{2})-([0-9]{2})[ T]([0-9]{2}):([0-9]{2})(?::([0-9]{2}))?(?: ?([+-])([0-9]{2}):([0-9]{2})|(Z))?$`)
	durationPattern = regexp.MustCompile(`^\+([0-9]{2,6}):([0-9]{2}):([0-9]{2})$`)
)

// parse reads a local time or an instant. Of a reading that comes twice it returns the first, unless an offset says which.
func (c civil) parse(text string) (utc int64, err error) {
	m := timePattern.FindStringSubmatch(text)
	if m == nil {
		return 0, fmt.Errorf("%s is not a time such as 2026-01-14 08:00", quote(text))
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
	instants := c.instants(reading)
	if len(instants) == 0 {
		before := reading - c.zone - calendar.Hour
		after := calendar.NextChange(before)
		return 0, fmt.Errorf("summer time skips this reading: %s is followed by %s; write one that happens",
			c.at(after-1).Format(time.DateTime), c.at(after).Format(time.TimeOnly))
	}
	return instants[0], nil
}

// parseDuration reads a time after something such as +01:30:00.
func parseDuration(text string) (seconds int64, ok bool, err error) {
	m := durationPattern.FindStringSubmatch(text)
	if m == nil {
		return 0, false, nil
	}
	var f [4]int64
	for i := 1; i < len(f); i++ {
		f[i], _ = strconv.ParseInt(m[i], 10, 64)
	}
	if f[2] > 59 || f[3] > 59 {
		return 0, true, fmt.Errorf("%s has more than 59 minutes or seconds; write +hours:minutes:seconds", text)
	}
	return f[1]*calendar.Hour + f[2]*calendar.Minute + f[3], true, nil
}

// dated reports whether an instant's local date is one that a clock can have.
func (c civil) dated(utc int64) bool {
	year := c.at(utc).Year()
	return year >= spec.FirstYear && year <= spec.LastYear
}
