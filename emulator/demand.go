package emulator

import (
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// holiday is the holiday under way.
type holiday struct {
	ends uint64 // never: there is none
	date int    // at whose 00:00 it ends, in days since 2000-01-01
	days int    // that it was given for
}

func (u *Unit) inHoliday() bool { return u.holiday.ends != never }

// override is the input of that name.
func (u *Unit) override(c spec.Channel) spec.Refusal {
	ch := &u.channels[c]
	switch {
	case ch.boostEnd != never:
		ch.boostEnd = never // and nothing else, in every case (OVR-13)
	case ch.override:
		ch.override = false // OVR-6
	case u.inHoliday():
		return spec.InHoliday // HOL-4
	case !u.clock.set:
		return spec.ClockUnset // CLK-11
	case !u.canEndOverride(c):
		return spec.NoSwitchingPoint // OVR-9, OVR-17
	default:
		ch.override = true
	}
	return spec.NoRefusal
}

// boost is the input of that name.
func (u *Unit) boost(c spec.Channel, minutes uint32) spec.Refusal {
	ch := &u.channels[c]
	if minutes == 0 {
		ch.boostEnd = never // BST-10
		return spec.NoRefusal
	}
	if u.inHoliday() && !u.ics.BoostInHoliday {
		return spec.InHoliday // HOL-4
	}
	longest, step := uint32(u.ics.BoostLongest), uint32(u.ics.BoostStep)
	if minutes > longest || minutes%step != 0 {
		if !u.ics.Clamp {
			return spec.BadBoost // BST-9
		}
		minutes = max(step, min(minutes, longest)/step*step) // INP-4
	}
	end := u.now + uint64(minutes)*calendar.Minute
	if u.ics.BoostExtends && ch.boostEnd != never {
		end = min(ch.boostEnd+uint64(minutes)*calendar.Minute, u.now+uint64(longest)*calendar.Minute) // BST-4
	}
	ch.boostEnd = end
	ch.override = false // BST-5
	return spec.NoRefusal
}

// startHoliday is the input of that name.
func (u *Unit) startHoliday(days uint32) spec.Refusal {
	if !u.clock.set {
		return spec.ClockUnset // CLK-11
	}
	if days < 1 || days > spec.MaxHolidayDays {
		if !u.ics.Clamp {
			return spec.BadHoliday // HOL-2
		}
		days = min(max(days, 1), spec.MaxHolidayDays) // INP-4
	}
	n := int(days)
	date := calendar.DayOf(u.clock.reading(u.now)) + n
	if u.inHoliday() && u.holiday.date == date && u.holiday.days == n {
		return spec.NoRefusal // HOL-8
	}
	u.holiday = holiday{ends: u.startOf(date), date: date, days: n}
	u.cancelOverridesAndBoosts() // HOL-3
	return spec.NoRefusal
}

// capHoliday is for a clock that has been set to a date: the holiday has ended if that is at or past its end (HOL-9), and no
// setting prolongs it (HOL-10).
func (u *Unit) capHoliday(today int) {
	if !u.inHoliday() {
		return
	}
	if today >= u.holiday.date {
		u.holiday.ends = never
		return
	}
	u.holiday.date = min(u.holiday.date, today+u.holiday.days)
	u.holiday.ends = u.startOf(u.holiday.date)
}

func (u *Unit) cancelOverridesAndBoosts() {
	for c := range u.channels {
		u.channels[c].override = false
		u.channels[c].boostEnd = never
	}
}
