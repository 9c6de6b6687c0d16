package fuzz

import (
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// rareLeft is the length in seconds from which a wait is only now and then worth what it costs.
const rareLeft = 21 * calendar.Day

// waitKinds has each kind of wait as often as it is drawn.
var waitKinds = [...]waitKind{
	toNext, toNext, toNext, toNext, toNext, toNext, toNext, toBoostEnd, toOtherBoostEnd, toHolidayEnd, toHolidayEnd, toStage, toReserveEnd,
	toReserveEnd, toSummerTime, toMidnight, toMinute, waitShort, waitShort, waitShort, waitHours, waitHours, waitDays,
}

// wait draws seconds to wait: to and around the instants at which the oracle's unit can change, or a length that means something.
func (a *alphabet) wait(v *view) (seconds uint64, c class) {
	k := waitKinds[a.below(len(waitKinds))]
	left, ok := v.until(k)
	if !ok || left > rareLeft && !a.oneIn(16) {
		k = pick(&a.random, toNext, waitShort, waitHours)
		if left, ok = v.until(k); !ok || left > rareLeft {
			k = max(k, waitShort)
		}
	}
	c = firstClass[spec.NumKinds] + class(k)*4
	switch k {
	case waitShort:
		i := a.below(8)
		return [...]uint64{1, 2, 30, 59, 60, 61, 600, 120}[i], c + class(i/2)
	case waitHours:
		i := a.below(8)
		return [...]uint64{1800, 3599, 3600, 3601, 2 * calendar.Hour, 4 * calendar.Hour, 8 * calendar.Hour, 12 * calendar.Hour}[i], c + class(i/2)
	case waitDays:
		if a.oneIn(64) {
			return uint64(pick(&a.random, 12, 33, 46, 50, 65, 130)) * calendar.Day, c + 3
		}
		i := a.below(6)
		return [...]uint64{calendar.Day, calendar.Day - 1, 2 * calendar.Day, calendar.Day + 1, 3 * calendar.Day, 7 * calendar.Day}[i], c + class(i/2)
	}
	switch a.below(8) {
	case 0, 1:
		return max(1, left) - 1, c + 1
	case 2:
		return left + 1, c + 2
	case 3:
		return left + calendar.Minute, c + 3
	default:
		return left, c
	}
}
