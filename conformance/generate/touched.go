package generate

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// pick returns one of two clauses, by the choice that an ICS has made.
func pick(chosen bool, yes, no string) string {
	if chosen {
		return yes
	}
	return no
}

// touchedByInput adds the clauses that an input bears on where it meets what it meets. Those that settle levels are added as the
// reasons of changes.
func touchedByInput(touched map[string]bool, ics *spec.ICS, in *spec.Input, outcome spec.Outcome, before, after *emulator.Facts) {
	add := func(ids ...string) {
		for _, id := range ids {
			touched[id] = true
		}
	}
	if outcome == spec.Unsupported {
		switch in.Kind {
		case spec.SetMode, spec.Override, spec.SetPeriod:
			add("INP-5")
		case spec.Fit:
			add("PWR-14")
		default:
			add("INP-6")
		}
		return
	}
	if !before.Powered && in.Kind != spec.PowerOn && in.Kind != spec.Fit {
		add("PWR-2")
		return
	}
	if outcome == spec.Refused {
		add("INP-1")
		touchedByRefusal(add, ics, in, before)
		return
	}
	ch := &before.Channels[in.Channel] // of an input that is for a channel
	switch in.Kind {
	case spec.PowerOff:
		add("PWR-1", "PWR-5")
		if anyOverride(before) || anyBoost(before) {
			add(pick(ics.KeptThroughCut, "PWR-4", "PWR-3"))
		}
	case spec.PowerOn:
		touchedByReturn(add, ics, before, after)
	case spec.Fit:
		add("PWR-14")
	case spec.SetClock:
		touchedByClock(add, before, after)
	case spec.SetMode:
		if ch.Mode == in.Mode {
			add("MOD-9")
			break
		}
		add("MOD-7", "MOD-8")
		if ch.Override {
			add(pick(ics.OverrideKept, "OVR-8", "OVR-7"))
		}
		if ch.BoostLeft > 0 {
			add("BST-7")
		}
		if !before.ClockSet {
			add("CLK-12")
		}
	case spec.SetPeriod:
		add("TAB-14", pick(in.Table == spec.BothTables, "TAB-13", "TAB-12"))
		touchedByEdit(add, ics, in, before, after)
	case spec.Override:
		switch {
		case ch.BoostLeft > 0:
			add("OVR-13")
		case ch.Override:
			add("OVR-6")
		default:
			add("OVR-1")
			if shut(before, in.Channel) {
				add("OVR-15")
			}
		}
	case spec.Boost:
		touchedByBoost(add, ics, in, before)
	case spec.Holiday:
		add("HOL-1")
		if before.Holiday.On {
			add("HOL-8")
		}
		if anyOverride(before) || anyBoost(before) {
			add("HOL-3")
		}
	case spec.HolidayCancel:
		add("HOL-7")
	case spec.LockArm:
		add("LCK-2")
		if before.Lock.Stage != spec.Dormant {
			add("LCK-7")
		}
	case spec.LockRemove:
		add("LCK-8")
	case spec.Reset:
		add("RST-1", "RST-2", pick(ics.ResetUnsetsClock, "RST-5", "RST-4"))
		if anyOverride(before) || anyBoost(before) || before.Holiday.On {
			add("RST-3")
		}
		if before.Lock.Stage != spec.Dormant {
			add("LCK-9")
		}
	}
}

func touchedByRefusal(add func(...string), ics *spec.ICS, in *spec.Input, before *emulator.Facts) {
	switch in.Kind {
	case spec.Fit:
		add("PWR-14")
	case spec.SetClock:
		exists := in.Minute < spec.MinutesPerDay && calendar.Valid(int(in.Date.Year), int(in.Date.Month), int(in.Date.Day))
		add(pick(exists && in.Date.Year >= spec.FirstYear && in.Date.Year <= spec.LastYear, "CLK-9", "CLK-4"))
	case spec.SetPeriod:
		switch {
		case in.Slot > ics.Periods:
			add("TAB-16")
		case in.Period.Off < in.Period.On:
			add("TAB-6")
		default:
			add("TAB-17")
		}
	case spec.Override:
		switch {
		case before.Holiday.On:
			add(pick(ics.BoostInHoliday, "HOL-5", "HOL-4"))
		case !before.ClockSet:
			add("CLK-11")
		default:
			add(pick(ics.OverrideProgrammed, "OVR-17", "OVR-9"))
		}
	case spec.Boost:
		if before.Holiday.On && !ics.BoostInHoliday {
			add("HOL-4")
		} else {
			add("BST-9")
		}
	case spec.Holiday:
		add(pick(before.ClockSet, "HOL-2", "CLK-11"))
	case spec.LockArm, spec.LockRemove:
		switch {
		case in.Credential != ics.Credential:
			add("LCK-6")
		case in.Kind == spec.LockArm:
			add("LCK-5")
		default:
			add("LCK-8")
		}
	}
}

func touchedByBoost(add func(...string), ics *spec.ICS, in *spec.Input, before *emulator.Facts) {
	ch := &before.Channels[in.Channel]
	if in.Amount == 0 {
		add("BST-10")
		return
	}
	add("BST-1")
	if ch.BoostLeft > 0 {
		add(pick(ics.BoostExtends, "BST-4", "BST-3"))
	}
	if ch.Override {
		add("BST-5")
	}
	if before.Holiday.On {
		add("HOL-5")
	}
	if ch.Mode == spec.Off || !before.ClockSet {
		add("BST-6")
	}
	if shut(before, in.Channel) {
		add("LCK-14")
	}
}

func touchedByEdit(add func(...string), ics *spec.ICS, in *spec.Input, before, after *emulator.Facts) {
	for c := range before.Channels {
		if in.Table != spec.BothTables && int(in.Table) != c {
			continue
		}
		if before.Channels[c].Override {
			add("OVR-3")
			if !after.Channels[c].Override {
				add(pick(ics.OverrideProgrammed, "OVR-17", "OVR-10"))
			}
		}
		if before.Channels[c].BoostLeft > 0 {
			add("BST-12")
		}
		if before.Channels[c].Table == after.Channels[c].Table {
			add("INP-2")
		}
	}
	if in.Period.On == in.Period.Off {
		add("TAB-2")
	}
	if in.Period.Off < in.Period.On {
		add(pick(ics.Wrap, "TAB-7", "TAB-6"))
	}
	if before.Holiday.On {
		add("HOL-6")
	}
}

func touchedByClock(add func(...string), before, after *emulator.Facts) {
	add("CLK-2", "CLK-3")
	if !before.ClockSet {
		add("CLK-13")
	}
	if anyOverride(before) {
		add("OVR-4")
	}
	if anyBoost(before) {
		add("BST-8")
	}
	if before.Holiday.On {
		add("HOL-10")
		if !after.Holiday.On {
			add("HOL-9")
		}
	}
	if before.Lock.Stage != spec.Dormant {
		add("LCK-12")
	}
	if before.ClockSet && before.UTC == after.UTC {
		add("INP-2")
	}
}

func touchedByReturn(add func(...string), ics *spec.ICS, before, after *emulator.Facts) {
	switch {
	case before.Powered:
		add("PWR-13")
		return
	case before.ClockStopped || before.ReserveLeft == 0:
		add("PWR-7", [...]string{spec.LostUnset: "PWR-9", spec.LostResumes: "PWR-10", spec.LostRestarts: "PWR-11"}[ics.LostClock])
		if before.Holiday.On {
			add("HOL-11")
		}
	default:
		add("PWR-6")
		if before.ReserveLeft == uint64(ics.Reserve)*calendar.Minute {
			add("PWR-12")
		}
		if before.Holiday.On {
			add("HOL-12")
		}
	}
	if before.Lock.Stage != spec.Dormant {
		add("LCK-10", "LCK-16")
	}
	if before.Fitted.Channels != after.Fitted.Channels || before.Fitted.Cycle != after.Fitted.Cycle || before.Fitted.Timing != after.Fitted.Timing {
		add("PWR-15")
	}
}

// touchedByTime adds the clauses on what has ended, or has been passed, in a wait.
func touchedByTime(touched map[string]bool, ics *spec.ICS, before, after *emulator.Facts) {
	for c := range before.Channels {
		if before.Channels[c].Override && !after.Channels[c].Override && !after.ClockStopped {
			touched[pick(ics.OverrideProgrammed, "OVR-16", "OVR-2")] = true
		}
		if before.Channels[c].BoostLeft > 0 && after.Channels[c].BoostLeft == 0 && !after.ClockStopped {
			touched["BST-2"] = true
		}
	}
	if before.Holiday.On && !after.Holiday.On {
		touched["HOL-1"] = true
	}
	if after.ClockStopped && !before.ClockStopped {
		touched["PWR-7"] = true
	}
	if before.ClockSet && after.ClockSet && ics.SummerTime && calendar.NextChange(before.UTC) <= after.UTC {
		touched[pick(calendar.SummerTime(before.UTC), "CLK-6", "CLK-5")] = true
		touched["CLK-7"] = true
		if anyOverride(before) {
			touched["OVR-5"] = true
		}
		if anyBoost(before) {
			touched["BST-8"] = true
		}
	}
}

func anyOverride(f *emulator.Facts) bool {
	return f.Channels[spec.HW].Override || f.Channels[spec.CH].Override
}

func anyBoost(f *emulator.Facts) bool {
	return f.Channels[spec.HW].BoostLeft > 0 || f.Channels[spec.CH].BoostLeft > 0
}

// shut reports whether a channel's permit is shut.
func shut(f *emulator.Facts, c spec.Channel) bool {
	allowance := spec.NoAllowance
	switch f.Lock.Stage {
	case spec.Notice:
		allowance = f.Lock.Terms.Notice[c]
	case spec.Restricted:
		allowance = f.Lock.Terms.Restricted[c]
	}
	return allowance != spec.NoAllowance && f.Lock.InStage%calendar.Hour >= uint64(allowance)*calendar.Minute
}
