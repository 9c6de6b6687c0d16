package fuzz

import (
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// alphabet draws inputs for a unit. Arguments are aimed: at the reading, at what is set already, at the limits of the statement and
// one beyond them.
type alphabet struct {
	ics *spec.ICS
	random
	wrong []string // credentials that are not the unit's, but are like it
}

func newAlphabet(ics *spec.ICS, r random) alphabet {
	a := alphabet{ics: ics, random: r}
	right := ics.Credential
	if right == "" {
		right = "0000"
	}
	last := len(right) - 1
	for _, w := range []string{
		right[:last] + string('0'+(right[last]-'0'+1)%10), right[:last], right + "0", "0" + right, right[:4] + "0000"[:max(0, len(right)-4)], "0000",
	} {
		if w != ics.Credential && spec.ValidCredential(w) {
			a.wrong = append(a.wrong, w)
		}
	}
	return a
}

// class tells inputs and waits apart as far as guidance does: by kind, channel and the sort of argument.
type class uint16

const numClasses = 512

// The first class of each kind. Waits come last.
var firstClass = [spec.NumKinds + 1]class{}

var classesOf = [spec.NumKinds + 1]class{
	spec.PowerOff: 1, spec.PowerOn: 1, spec.Fit: 12, spec.SetClock: 32, spec.SetMode: 8, spec.SetPeriod: 2 * 24, spec.Override: 2, spec.Boost: 2 * 8,
	spec.Holiday: 8, spec.HolidayCancel: 1, spec.LockArm: 32, spec.LockRemove: 2, spec.Reset: 1, spec.NumKinds: 64,
}

func init() {
	sum := class(0)
	for k, n := range classesOf {
		firstClass[k] = sum
		sum += n
	}
}

func (a *alphabet) channel() spec.Channel { return spec.Channel(a.below(2)) }

// input draws an input of a kind.
func (a *alphabet) input(k spec.Kind, v *view) (spec.Input, class) {
	in := spec.Input{Kind: k}
	c := firstClass[k]
	switch k {
	case spec.Fit:
		in.FitOption = spec.FitOption(a.below(4))
		in.FitValue = uint8(a.below([...]int{3, 3, 2, 2}[in.FitOption]))
		c += class(in.FitOption)*3 + class(in.FitValue)
	case spec.SetClock:
		var sort int
		in.Date, in.Minute, sort = a.reading(v)
		c += class(sort)
	case spec.SetMode:
		in.Channel = a.channel()
		in.Mode = spec.Mode(a.below(4))
		c += class(in.Channel)*4 + class(in.Mode)
	case spec.SetPeriod:
		c += a.period(&in, v)
	case spec.Override:
		in.Channel = a.channel()
		c += class(in.Channel)
	case spec.Boost:
		in.Channel = a.channel()
		var sort int
		in.Amount, sort = a.boost()
		c += class(in.Channel)*8 + class(sort)
	case spec.Holiday:
		var sort int
		in.Amount, sort = a.holiday(v)
		c += class(sort)
	case spec.LockArm:
		c += a.arming(&in, v)
	case spec.LockRemove:
		in.Credential = a.ics.Credential
		if a.oneIn(3) || in.Credential == "" {
			in.Credential = a.wrongCredential()
			c++
		}
	}
	return in, c
}

func (a *alphabet) wrongCredential() string { return a.wrong[a.below(len(a.wrong))] }

// boost draws a length in minutes: whole steps, none, and values that are no good, among them such as a byte or two cannot hold.
func (a *alphabet) boost() (minutes uint32, sort int) {
	step, longest := uint32(a.ics.BoostStep), uint32(a.ics.BoostLongest)
	switch a.below(16) {
	case 0, 1, 2, 3, 4, 5:
		return step, 0
	case 6, 7:
		return longest, 1
	case 8:
		return step * uint32(1+a.below(int(max(1, longest/step)))), 2
	case 9, 10:
		return 0, 3
	case 11, 12:
		return pick(&a.random, step+1, 1, longest-step/2, step*2-1), 4
	case 13, 14:
		return pick(&a.random, longest+1, longest+step, longest+2*step), 5
	default:
		return pick(&a.random, 256, 256+step, 256+longest, 65536, 65536+step, 4_000_000_000), 6
	}
}

// holiday draws a number of days.
func (a *alphabet) holiday(v *view) (days uint32, sort int) {
	switch a.below(12) {
	case 0, 1, 2, 3:
		return 1, 0
	case 4, 5:
		return 2, 1
	case 6:
		return pick[uint32](&a.random, 3, 7, 9, 14), 2
	case 7:
		return spec.MaxHolidayDays, 3
	case 8:
		if h := &v.facts.Holiday; h.On {
			return uint32(h.Days), 4 // what is set already, if the date is the one it began on
		}
		return 1, 0
	case 9:
		return 0, 5
	case 10:
		return spec.MaxHolidayDays + 1, 6
	default:
		return pick[uint32](&a.random, 256, 257, 200, 65537), 7
	}
}

// times of day that meet: those of the default table, round ones, and the ends of the day.
var times = [...]uint16{0, 1, 30, 60, 90, 120, 150, 180, 390, 420, 540, 600, 720, 750, 780, 960, 1020, 1320, 1380, 1410, 1439}

// minute draws a time of day for a table or the sounder: mostly near the reading.
func (a *alphabet) minute(v *view) uint16 {
	switch a.below(8) {
	case 0, 1, 2, 3:
		if v.clock {
			m := v.second/calendar.Minute + pick(&a.random, -120, -60, -30, -1, 0, 0, 0, 1, 1, 2, 30, 60)
			return uint16((m + spec.MinutesPerDay) % spec.MinutesPerDay)
		}
	case 4:
		return uint16(a.below(spec.MinutesPerDay))
	case 5:
		p := a.edge(v)
		return min(p, spec.MinutesPerDay-1)
	}
	return times[a.below(len(times))]
}

// edge draws an on or off of the present table: of today, if there is a clock.
func (a *alphabet) edge(v *view) uint16 {
	day := a.below(7)
	if v.clock && !a.oneIn(4) {
		day = calendar.Weekday(v.day)
	}
	row := &v.facts.Channels[a.below(2)].Table[day]
	p := row[a.below(min(3, int(a.ics.Periods)))]
	if p.On == p.Off {
		p = row[0]
	}
	if a.oneIn(2) {
		return p.On
	}
	return p.Off
}

// period draws an edit.
func (a *alphabet) period(in *spec.Input, v *view) class {
	c := a.channel()
	fitted := &v.facts.Fitted
	in.Table = spec.TableID(c)
	if (fitted.Timing == spec.Shared) != a.oneIn(24) {
		in.Table = spec.BothTables
	}
	weekday := a.below(7)
	if v.clock {
		weekday = calendar.Weekday(v.day)
		switch a.below(10) {
		case 0:
			weekday = (weekday + 6) % 7
		case 1:
			weekday = (weekday + 1) % 7
		case 2:
			weekday = a.below(7)
		}
	}
	cycle := fitted.Cycle
	if a.oneIn(32) {
		cycle = spec.Cycle(a.below(3))
	}
	switch {
	case cycle == spec.Cycle24h:
		in.Day = spec.All
	case cycle == spec.Cycle7Day:
		in.Day = spec.Day(weekday)
	case weekday < 5:
		in.Day = spec.Weekdays
	default:
		in.Day = spec.Weekend
	}
	switch a.below(16) {
	case 0, 1, 2, 3, 4, 5:
		in.Slot = 1
	case 6, 7, 8:
		in.Slot = 2
	case 9, 10, 11, 12:
		in.Slot = 3
	case 13:
		in.Slot = a.ics.Periods
	case 14:
		in.Slot = uint8(1 + a.below(int(a.ics.Periods)))
	default:
		in.Slot = a.ics.Periods + 1
	}
	if in.Slot > 3 && in.Slot <= a.ics.Periods || in.Slot > a.ics.Periods && in.Slot <= 3 && !a.oneIn(4) {
		in.Slot = 1 + (in.Slot-1)%a.ics.Periods
	}
	in.Slot = min(in.Slot, 9)
	row := &v.facts.Channels[c].Table[weekday]
	p, sort := &in.Period, 0
	switch sort = a.below(12); sort {
	case 0, 1: // off with it
		p.On, p.Off = 0, 0
		sort = 0
	case 2:
		p.On = a.minute(v)
		p.Off = p.On
	case 3:
		p.On, p.Off = pick(&a.random, uint16(0), 0, 720), pick[uint16](&a.random, 1440, 1440, 720)
	case 4: // touching or overlapping what is there
		q := row[a.below(int(a.ics.Periods))]
		if q.On == q.Off {
			q = row[0]
		}
		p.On, p.Off = q.Off%spec.MinutesPerDay, min(spec.MinutesPerDay, q.Off+pick[uint16](&a.random, 1, 30, 60))
		if a.oneIn(2) {
			p.On, p.Off = q.On-min(q.On, 60), q.Off+min(spec.MinutesPerDay-q.Off, 60)
		}
	case 5:
		p.On = a.minute(v)
		p.Off = p.On + 1
	case 6:
		p.On, p.Off = a.minute(v), spec.MinutesPerDay
	case 7: // what is set already
		*p = row[(in.Slot-1)%a.ics.Periods]
	case 8: // off before on: over midnight, or bad
		p.On, p.Off = a.minute(v), a.minute(v)
		if p.On < p.Off {
			p.On, p.Off = p.Off, p.On
		}
		if p.On == p.Off {
			p.On, p.Off = 1320, 360
		}
	case 9:
		if a.oneIn(3) {
			p.On, p.Off = spec.MinutesPerDay, pick(&a.random, spec.MinutesPerDay, a.minute(v))
			break
		}
		fallthrough
	default:
		p.On, p.Off = a.minute(v), a.minute(v)
		if p.Off < p.On {
			p.On, p.Off = p.Off, p.On
		}
		sort = 10
	}
	k := class(sort)
	if in.Slot > a.ics.Periods {
		k = 11
	} else if in.Table == spec.BothTables != (fitted.Timing == spec.Shared) || !in.Day.In(fitted.Cycle) {
		k = 9
	}
	if v.clock && weekday != calendar.Weekday(v.day) {
		k += 12
	}
	return class(c)*24 + k
}

// arming draws the lock's arming.
func (a *alphabet) arming(in *spec.Input, v *view) class {
	in.Credential = a.ics.Credential
	k := class(0)
	if a.oneIn(8) || in.Credential == "" {
		in.Credential = a.wrongCredential()
		k = 16
	}
	t := &in.Terms
	t.Days = pick[uint16](&a.random, 1, 1, 1, 1, 1, 1, 1, 1, 2, 2, 3, 11, 46, 257, spec.MaxLockDays, 0)
	switch a.below(12) {
	case 0, 1, 2, 3, 4, 5, 6:
		t.NoticeDays = t.Days // notice at once
		k++
	case 7:
		t.NoticeDays = min(1, t.Days)
		k += 2
	case 8:
		t.NoticeDays = t.Days + 1
		k += 3
	}
	allowance := func() uint8 {
		switch a.below(12) {
		case 0, 1, 2, 3, 4:
			return spec.NoAllowance
		case 5, 6, 7:
			return 10
		case 8:
			return uint8(10 + a.below(51))
		case 9:
			return pick[uint8](&a.random, 20, 30, 60, 59, 14)
		case 10:
			return pick[uint8](&a.random, 20, 60)
		default:
			if a.oneIn(4) {
				return pick[uint8](&a.random, 9, 61, 0)
			}
			return 10
		}
	}
	t.Notice = [2]uint8{allowance(), allowance()}
	t.Restricted = [2]uint8{allowance(), allowance()}
	if a.oneIn(3) {
		k += 4
		t.Sounders = uint8(pick(&a.random, 1, 1, 1, 2, 4, 4))
		for i := range t.Sounder[:t.Sounders] {
			t.Sounder[i] = a.minute(v)
		}
		switch a.below(24) {
		case 0:
			t.Sounders = spec.MaxSounderTimes + 1
			t.Sounder = [spec.MaxSounderTimes]uint16{}
			k += 4
		case 1:
			t.Sounder[0] = spec.MinutesPerDay
			k += 4
		case 2:
			t.Sounder[0] = 0
		case 3:
			t.Sounder[0] = (t.Sounder[0] + 720) % spec.MinutesPerDay
		}
	}
	switch {
	case a.oneIn(32):
		t.Days, k = spec.MaxLockDays+1, k|8
	case v.facts.Lock.Stage != spec.Dormant && a.oneIn(4):
		*t = v.facts.Lock.Terms // what is in force
		k |= 8
	}
	return k
}

// reading draws a date and a time of day to set the clock to.
func (a *alphabet) reading(v *view) (date spec.Date, minute uint16, sort int) {
	if v.clock && a.oneIn(2) {
		// Near what it shows.
		day, m := v.day, v.second/calendar.Minute
		switch a.below(10) {
		case 0: // what is set already, or but for its seconds
		case 1:
			m += pick(&a.random, -60, 60, -1, 1, 120, -120)
			sort = 1
		case 2, 3:
			day += pick(&a.random, -1, 1, 1, 1, 2, -2, 7, -7)
			sort = 2
		case 4:
			day += pick(&a.random, -1, 0, 1, 1)
			m = pick(&a.random, 0, spec.MinutesPerDay-1)
			sort = 3
		case 5, 6, 7: // on, or a minute before, an on or off
			m = int(a.edge(v)) - a.below(2)
			sort = 4
		case 8: // at, or before, a holiday's end
			if v.facts.Holiday.On {
				day = v.facts.Holiday.EndDate - a.below(2)
			}
			m = pick(&a.random, 0, 0, spec.MinutesPerDay-1, m)
			sort = 5
		default:
			m = int(times[a.below(len(times))])
			sort = 6
		}
		if m < 0 {
			day, m = day-1, m+spec.MinutesPerDay
		} else if m >= spec.MinutesPerDay {
			day, m = day+1, m-spec.MinutesPerDay
		}
		return dateOf(day), uint16(m), sort
	}
	return a.anyReading(v)
}

func dateOf(day int) spec.Date {
	y, m, d := calendar.Date(day)
	return spec.Date{Year: uint16(y), Month: uint8(m), Day: uint8(d)}
}

// lastSunday returns the last Sunday of March or October.
func lastSunday(year, month int) int {
	last := calendar.Days(year, month, 31)
	return last - (calendar.Weekday(last)+1)%7
}

// anyReading draws one without regard to what the clock shows.
func (a *alphabet) anyReading(v *view) (date spec.Date, minute uint16, sort int) {
	year := pick(&a.random, 2026, 2026, 2026, 2027, 2028, 2028, spec.FirstYear+a.below(100))
	minute = times[a.below(len(times))]
	switch a.below(4) {
	case 0:
		minute = uint16(a.below(24) * 60)
	case 1:
		minute = a.edge(v)
		minute -= min(minute, uint16(a.below(2)))
		minute = min(minute, spec.MinutesPerDay-1)
	}
	switch a.below(24) {
	case 0, 1, 2, 3, 4, 5, 6, 7: // any day
		sort = 8
		return dateOf(calendar.Days(year, 1+a.below(12), 1+a.below(28))), minute, sort
	case 8, 9, 10: // before midnight: of any day, a week's or month's end, a leap day
		month := 1 + a.below(12)
		next := calendar.Days(year+month/12, month%12+1, 1)
		day := pick(&a.random, next-1, next-2, next-1, calendar.Days(year, 3, 1)-1, calendar.Days(year, 3, 1)-2, next-1-a.below(28))
		return dateOf(max(0, day)), spec.MinutesPerDay - uint16(a.below(2)) - uint16(pick(&a.random, 0, 0, 0, 120)) - 1, 9
	case 11:
		return spec.Date{Year: spec.LastYear, Month: 12, Day: 31}, spec.MinutesPerDay - 1, 10
	case 12: // a weekend or the Monday after
		return dateOf(calendar.Days(2026, 1, 16) + a.below(4)), minute, 11
	case 13, 14, 15, 16: // the night of a change of summer time, or a Sunday too early or late
		year := pick(&a.random, year, year, 2026, spec.FirstYear+a.below(100))
		month := pick(&a.random, 3, 10)
		day := lastSunday(year, month) + pick(&a.random, 0, 0, 0, 0, 0, 0, -7, -1, 7, 1)
		day = min(day, calendar.Days(year, month, 31))
		// The hour before and the hours that are skipped or repeated, in the unit's zone.
		m := 60 + int(a.ics.Zone) + pick(&a.random, -60, -30, -1, -1, -1, -1, 0, 0, 30, 59, 60, 61, 119, 120)
		if m < 0 {
			day, m = day-1, m+spec.MinutesPerDay
		}
		if m >= spec.MinutesPerDay {
			day, m = day+1, m-spec.MinutesPerDay
		}
		return dateOf(day), uint16(m), 12 + min(month/10, 1)
	case 17:
		return dateOf(calendar.Days(year, 1, 1+a.below(28))), minute, 14
	case 18:
		return spec.Date{Year: uint16(year), Month: uint8(1 + a.below(12)), Day: uint8(28 + a.below(5))}, minute, 15
	case 19:
		return spec.Date{Year: uint16(year), Month: uint8(pick(&a.random, 2, 9, 4, 6, 11)), Day: uint8(pick(&a.random, 30, 31))}, minute, 16
	case 20:
		return pick(&a.random, spec.Date{Year: 1999, Month: 12, Day: 31}, spec.Date{Year: 2100, Month: 1, Day: 1}, spec.Date{Year: uint16(year), Month: 13, Day: 1}, spec.Date{Year: uint16(year), Month: uint8(1 + a.below(12))}), minute, 17
	case 21:
		return dateOf(calendar.Days(year, 1+a.below(12), 1+a.below(28))), spec.MinutesPerDay, 18
	case 22:
		return spec.Date{Year: uint16(pick(&a.random, spec.FirstYear, spec.LastYear)), Month: uint8(pick(&a.random, 1, 12)), Day: uint8(pick(&a.random, 1, 31))}, minute, 19
	default:
		return spec.Date{Year: 2026, Month: 1, Day: 14}, minute, 20
	}
}
