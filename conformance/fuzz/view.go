package fuzz

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// view is what the oracle's unit looks like before a step.
type view struct {
	facts  emulator.Facts
	clock  bool // it runs and is set
	day    int  // of the reading, since 2000-01-01
	second int  // of that day
	next   uint64
	ahead  bool // next is an instant of change
}

func (v *view) look(u *emulator.Unit) {
	v.facts = u.Facts()
	v.day, v.second, v.clock = u.Reading()
	v.next, v.ahead = u.Next()
}

// own is what matters of the channels to a step, in 5 bits: of the channel it is for the mode, the override and the boost, and
// whether the other one has either; of an edit and the rest also whether the modes differ, and what is shown.
func (v *view) own(k spec.Kind, c spec.Channel) uint32 {
	mine, other := &v.facts.Channels[c], &v.facts.Channels[1-c]
	var own uint32
	set := func(bit int, is bool) {
		if is {
			own |= 1 << bit
		}
	}
	set(0, mine.Override)
	set(1, mine.BoostLeft > 0)
	switch k {
	case spec.SetMode, spec.Override, spec.Boost:
		set(2, other.Override || other.BoostLeft > 0)
		own |= uint32(mine.Mode) << 3
	default:
		set(2, other.Override)
		set(3, mine.Mode != other.Mode)
		set(4, v.facts.Shown[c] == 1)
	}
	return own
}

// global is what matters of the rest, in 6 bits.
func (v *view) global() uint32 {
	var g uint32
	switch {
	case v.facts.Powered && v.facts.ClockSet:
	case v.facts.Powered:
		g = 1
	case v.facts.ClockStopped:
		g = 2
	default:
		g = 3
	}
	if v.facts.Holiday.On {
		g |= 4
	}
	g |= uint32(v.facts.Lock.Stage) << 3
	if v.facts.Fitted.Coupling == spec.Gravity {
		g |= 32
	}
	return g
}

// far is more than any wait.
const far = uint64(1) << 62

// waitKind is a sort of instant to wait for.
type waitKind uint8

const (
	toNext waitKind = iota
	toBoostEnd
	toOtherBoostEnd
	toHolidayEnd
	toStage
	toReserveEnd
	toSummerTime
	toMidnight
	toMinute
	waitShort
	waitHours
	waitDays
)

// until returns the seconds to an instant of the oracle's unit, or false if there is none ahead.
func (v *view) until(k waitKind) (uint64, bool) {
	f := &v.facts
	switch k {
	case toNext:
		if v.ahead {
			return v.next - min(v.next, f.Now), true
		}
	case toBoostEnd, toOtherBoostEnd:
		left := f.Channels[k-toBoostEnd].BoostLeft
		return left, left > 0 && !f.ClockStopped
	case toHolidayEnd:
		if f.Holiday.On && v.clock {
			days := f.Holiday.EndDate - v.day
			return uint64(days*calendar.Day - v.second), days > 0
		}
	case toStage:
		l := &f.Lock
		switch l.Stage {
		case spec.Counting:
			return uint64(l.Terms.Days-l.Terms.NoticeDays)*calendar.Day - l.Counted, true
		case spec.Notice:
			return uint64(l.Terms.Days)*calendar.Day - l.Counted, true
		}
	case toReserveEnd:
		return f.ReserveLeft, f.ReserveLeft > 0
	case toSummerTime:
		if v.clock {
			return uint64(calendar.NextChange(f.UTC) - f.UTC), true
		}
	case toMidnight:
		return uint64(calendar.Day - v.second), v.clock
	case toMinute:
		return uint64(calendar.Minute - v.second%calendar.Minute), v.clock && v.second%calendar.Minute != 0
	}
	return 0, false
}
