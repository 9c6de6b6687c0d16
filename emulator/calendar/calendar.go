// Package calendar is the Gregorian calendar and European summer time as arithmetic on whole seconds: what a clock with no
// operating system beneath it needs. Second 0 is 2000-01-01T00:00:00; nothing here allocates or fails.
package calendar

// Lengths in seconds.
const (
	Minute = 60
	Hour   = 60 * Minute
	Day    = 24 * Hour
	Week   = 7 * Day
)

// Valid reports whether the date is in the Gregorian calendar.
func Valid(year, month, day int) bool {
	return month >= 1 && month <= 12 && day >= 1 && day <= daysIn(year, month)
}

func daysIn(year, month int) int {
	switch month {
	case 2:
		if leap(year) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	default:
		return 31
	}
}

func leap(year int) bool {
	return year%4 == 0 && (year%100 != 0 || year%400 == 0)
}

// Days returns the number of days from 2000-01-01 to the date.
func Days(year, month, day int) int {
	// Years are counted from March, so that the leap day is the last of its year.
	y := year
	if month <= 2 {
		y--
	}
	m := (month + 9) % 12
	const toEpoch = 2000*365 + 2000/4 - 2000/100 + 2000/400 - 60 // 1 March 0000 to 1 January 2000
	return y*365 + floorDiv(y, 4) - floorDiv(y, 100) + floorDiv(y, 400) + (m*153+2)/5 + day - 1 - toEpoch
}

// Date returns the date that is so many days from 2000-01-01, for dates from 1 March of year 0 on.
func Date(days int) (year, month, day int) {
	const toEpoch = 2000*365 + 2000/4 - 2000/100 + 2000/400 - 60
	n := days + toEpoch
	era := n / 146097
	n %= 146097
	y := (n - n/1460 + n/36524 - n/146096) / 365
	n -= y*365 + y/4 - y/100
	m := (5*n + 2) / 153
	day = n - (153*m+2)/5 + 1
	month = (m+2)%12 + 1
	year = era*400 + y
	if month <= 2 {
		year++
	}
	return year, month, day
}

// Weekday returns the day of the week, 0 for Monday, of the day that is so many days from 2000-01-01, a Saturday.
func Weekday(days int) int {
	return mod(days+5, 7)
}

// SecondOfWeek returns the seconds since Monday 00:00 of the reading.
func SecondOfWeek(reading int64) int64 {
	return mod(reading+5*Day, Week)
}

// SecondOfDay returns the seconds since 00:00 of the reading.
func SecondOfDay(reading int64) int64 {
	return mod(reading, Day)
}

// DayOf returns the number of days from 2000-01-01 to the reading's date.
func DayOf(reading int64) int {
	return int(floorDiv(reading, Day))
}

// Never is an instant that does not come.
const Never = int64(1)<<62 - 1

// SummerTime reports whether summer time is in force in the European Union at the instant of UTC, by the rule of Directive
// 2000/84/EC, articles 2 and 3: from 01:00 UTC on the last Sunday in March to 01:00 UTC on the last Sunday in October.
func SummerTime(utc int64) bool {
	y := summerOf(yearAt(utc))
	return utc >= y.begins && utc < y.ends
}

// NextChange returns the first instant of UTC after the given one at which summer time begins or ends.
func NextChange(utc int64) int64 {
	year := yearAt(utc)
	switch y := summerOf(year); {
	case utc < y.begins:
		return y.begins
	case utc < y.ends:
		return y.ends
	}
	return summerOf(year + 1).begins
}

// yearAt returns the year of an instant, or within two days of its end or beginning the other: too far from March and October to matter.
func yearAt(utc int64) int {
	const mean = 146097 * Day / 400 // 400 years are 146097 days
	return 2000 + int(floorDiv(utc, mean))
}

// summer is the summer time of a year.
type summer struct{ begins, ends int64 }

// summers are those of the years that a clock can show: a clock asks for one every time it is set, or put back into a state.
var summers = func() (all [100]summer) {
	for i := range all {
		all[i] = summerIn(2000 + i)
	}
	return all
}()

func summerOf(year int) summer {
	if i := year - 2000; i >= 0 && i < len(summers) {
		return summers[i]
	}
	return summerIn(year)
}

func summerIn(year int) summer { return summer{changeIn(year, 3), changeIn(year, 10)} }

// changeIn returns 01:00 UTC on the last Sunday of a month of 31 days.
func changeIn(year, month int) int64 {
	last := Days(year, month, 31)
	sunday := last - mod(Weekday(last)+1, 7)
	return int64(sunday)*Day + Hour
}

type integer interface{ int | int64 }

func floorDiv[T integer](a, b T) T {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

func mod[T integer](a, b T) T {
	m := a % b
	if m < 0 {
		m += b
	}
	return m
}
