package fuzz

import (
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// slip is a thing that a unit may remember wrongly after a step. Whatever a unit remembers is here: a step may leave what it should change, and
// change what it should leave.
type slip uint8

const (
	slipOverride slip = iota // of the channel that the step is for, or of hot water
	slipBoost
	slipBoostLength
	slipMode
	slipTable
	slipToday         // all of the table but for this day
	slipOtherOverride // the other channel's, in the same order
	slipOtherBoost
	slipOtherBoostLength
	slipOtherMode
	slipOtherTable
	slipOtherToday
	slipClock       // that it is set
	slipReading     // date and time
	slipOnlySeconds // of the reading
	slipSecond
	slipSecondMore
	slipHour
	slipDate
	slipHoliday
	slipHolidayEnd
	slipLock
	slipTerms
	slipCount  // of the lock's days
	slipWindow // of the allowance
	slipCoupling
	slipBack // what is set at the back
	slipReserve
	numSlips
)

// isFine reports whether it is a slip on the reading by some amount. Whether the reading is right at all is one doubt, and more would drown
// the rest; by how much it is off tells causes apart.
func (s slip) isFine() bool { return s >= slipOnlySeconds && s <= slipDate }

// way is in what way a unit slips on a thing.
type way uint8

const (
	noWay   way = iota // there is nothing to slip on
	leaves             // what should change stays as it was
	drops              // what should stay is gone, or is another
	invents            // what was not there, and should not be, is
	numWays
)

// mistake is a slip in one way.
type mistake uint8

const numMistakes = int(numSlips) * int(numWays)

func mistakeOf(s slip, w way) mistake { return mistake(uint8(s)*uint8(numWays) + uint8(w)) }

func (m mistake) slip() slip { return slip(m / mistake(numWays)) }
func (m mistake) way() way   { return way(m % mistake(numWays)) }

// sort is a sort of step: an input of a kind that was accepted, or was not, or a wait by what time has brought.
type sort uint16

const (
	passing  sort = 2 * spec.NumKinds // from here on the wait's eight bits
	numSorts      = int(passing) + 1<<8
)

// sortOf returns the sort of a step that has been done on the oracle's unit, or on one of the same statement.
func (o *oracle) sortOf(r *iut.Request, reply spec.Reply, was, now *emulator.Facts) sort {
	if r.Kind == iut.Do {
		return sort(r.Input.Kind)<<1 | sort(min(1, reply.Outcome))
	}
	s := passing
	bit := func(n int, is bool) {
		if is {
			s |= 1 << n
		}
	}
	for c := range was.Channels {
		w, n := &was.Channels[c], &now.Channels[c]
		bit(0, w.Override && !n.Override)
		bit(1, w.BoostLeft > 0 && n.BoostLeft == 0)
	}
	bit(2, was.Holiday.On && !now.Holiday.On)
	bit(3, was.Lock.Stage != now.Lock.Stage)
	bit(4, was.ClockSet && o.summer(was) != o.summer(now))
	bit(5, !was.Powered)
	bit(6, was.ClockStopped != now.ClockStopped)
	bit(7, was.ClockSet && now.ClockSet && o.date(was) != o.date(now))
	return s
}

func (o *oracle) summer(f *emulator.Facts) bool {
	return o.statement.SummerTime && calendar.SummerTime(f.UTC)
}

func (o *oracle) date(f *emulator.Facts) int {
	reading := f.UTC + int64(o.statement.Zone)*calendar.Minute
	if o.summer(f) {
		reading += calendar.Hour
	}
	return calendar.DayOf(reading)
}

// perturb makes the facts after a step those of a unit that has slipped on a thing, where own is the channel that the step is for, and says in
// what way. The oracle's unit is where it is after the step.
func (o *oracle) perturb(s slip, own spec.Channel, was, now *emulator.Facts) way {
	passed := now.Now - was.Now
	switch s {
	case slipOverride, slipBoost, slipBoostLength, slipMode, slipTable, slipToday:
		return o.perturbChannel(s, &was.Channels[own], &now.Channels[own], passed)
	case slipOtherOverride, slipOtherBoost, slipOtherBoostLength, slipOtherMode, slipOtherTable, slipOtherToday:
		return o.perturbChannel(s-slipOtherOverride, &was.Channels[1-own], &now.Channels[1-own], passed)
	case slipClock:
		switch {
		case now.ClockSet:
			now.ClockSet, now.UTC = false, 0
			return drops
		case was.ClockSet:
			now.ClockSet, now.UTC = true, was.UTC+int64(passed)
			return leaves
		}
	case slipSecond:
		if now.ClockSet {
			now.UTC--
			return drops
		}
	case slipSecondMore:
		if now.ClockSet {
			now.UTC++
			return drops
		}
	case slipOnlySeconds:
		if kept := (was.UTC + int64(passed)) % calendar.Minute; was.ClockSet && now.ClockSet && kept != now.UTC%calendar.Minute {
			now.UTC += kept - now.UTC%calendar.Minute
			return leaves
		}
	case slipReading:
		if !now.ClockSet {
			return noWay
		}
		if kept := was.UTC + int64(passed); was.ClockSet && kept != now.UTC {
			now.UTC = kept
			return leaves
		}
		if odd := now.UTC % calendar.Minute; odd != 0 {
			now.UTC -= odd
			return drops
		}
	case slipHour:
		if now.ClockSet {
			now.UTC -= calendar.Hour
			return drops
		}
	case slipDate:
		if now.ClockSet {
			now.UTC -= calendar.Day
			return drops
		}
	case slipHoliday:
		switch {
		case now.Holiday.On:
			now.Holiday = emulator.HolidayFacts{}
			return drops
		case was.Holiday.On && now.ClockSet:
			now.Holiday = was.Holiday
			return leaves
		}
	case slipHolidayEnd:
		switch {
		case !now.Holiday.On:
		case was.Holiday.On && was.Holiday != now.Holiday:
			now.Holiday = was.Holiday
			return leaves
		default:
			now.Holiday.EndDate++
			return drops
		}
	case slipLock:
		switch {
		case now.Lock.Stage != spec.Dormant:
			now.Lock = emulator.LockFacts{}
			return drops
		case was.Lock.Stage != spec.Dormant:
			now.Lock = was.Lock
			return leaves
		}
	case slipTerms:
		if was.Lock.Stage != spec.Dormant && now.Lock.Stage != spec.Dormant && was.Lock.Terms != now.Lock.Terms {
			now.Lock.Terms = was.Lock.Terms
			return leaves
		}
	case slipCount:
		l := &now.Lock
		switch {
		case l.Stage == spec.Dormant:
		case was.Lock.Stage != spec.Dormant && was.Lock.Counted > l.Counted:
			l.Counted = was.Lock.Counted
			return leaves
		case l.Counted > 0:
			l.Counted -= min(l.Counted, max(1, passed))
			return drops
		}
	case slipWindow:
		if l := &now.Lock; l.Stage >= spec.Notice {
			l.InStage += 10 * calendar.Minute
			return drops
		}
	case slipCoupling:
		now.Fitted.Coupling = 1 - now.Fitted.Coupling
		now.Back.Coupling = now.Fitted.Coupling
		return drops
	case slipBack:
		if was.Back != now.Back {
			now.Back = was.Back
			return leaves
		}
	case slipReserve:
		if !now.Powered && now.ReserveLeft > 0 {
			now.ReserveLeft -= min(now.ReserveLeft-1, calendar.Hour)
			return drops
		}
	}
	return noWay
}

func (o *oracle) perturbChannel(s slip, was, now *emulator.ChannelFacts, passed uint64) way {
	switch s {
	case slipOverride:
		now.Override = !now.Override
		switch {
		case now.Override && was.Override:
			return leaves
		case now.Override:
			return invents
		}
		return drops
	case slipBoost:
		switch {
		case o.statement.BoostLongest == 0:
		case now.BoostLeft > 0:
			now.BoostLeft = 0
			return drops
		case was.BoostLeft > passed:
			now.BoostLeft = was.BoostLeft - passed
			return leaves
		default:
			now.BoostLeft = uint64(o.statement.BoostStep) * calendar.Minute
			return invents
		}
	case slipBoostLength:
		if now.BoostLeft == 0 {
			return noWay
		}
		if left := was.BoostLeft - min(was.BoostLeft, passed); left > 0 && left != now.BoostLeft {
			now.BoostLeft = left
			return leaves
		}
		now.BoostLeft += max(1, uint64(o.statement.BoostStep)*calendar.Minute)
		return drops
	case slipMode:
		switch {
		case was.Mode != now.Mode:
			now.Mode = was.Mode
			return leaves
		case now.Mode == spec.Table:
			now.Mode = spec.Off
			return invents
		default:
			now.Mode = spec.Table
			return drops
		}
	case slipTable:
		if was.Table != now.Table {
			now.Table = was.Table
			return leaves
		}
		if now.Table = o.defaults; now.Table != was.Table {
			return drops
		}
	case slipToday:
		today, _, ok := o.unit.Reading()
		if was.Table == now.Table || !ok {
			return noWay
		}
		day := calendar.Weekday(today)
		row := now.Table[day]
		now.Table = was.Table
		now.Table[day] = row
		if was.Table != now.Table {
			return leaves
		}
	}
	return noWay
}
