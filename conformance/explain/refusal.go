package explain

import (
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Refusal says why a unit with the ICS turned an input down, and the clause, as in "a holiday is running (HOL-4)". For an accepted
// input it returns "".
func Refusal(r spec.Refusal, in spec.Input, ics *spec.ICS) string {
	if r == spec.NoRefusal {
		return ""
	}
	words := wire.RefusalWords(r)
	if clause := RefusalClause(r, in, ics); clause != "" {
		words += " (" + clause + ")"
	}
	return words
}

// RefusalClause returns the id of the clause by which a unit with the ICS turned an input down, or "" where none does: for an accepted
// input, and for a value that cannot be fitted, which is a matter of the ICS alone.
func RefusalClause(r spec.Refusal, in spec.Input, ics *spec.ICS) string {
	switch r {
	case spec.NoPower:
		if in.Kind == spec.PowerOff {
			return "PWR-13"
		}
		return "PWR-2"
	case spec.PowerPresent:
		return "PWR-14"
	case spec.BadDate:
		return "CLK-4"
	case spec.SkippedReading:
		return "CLK-9"
	case spec.NoSuchSlot:
		return "TAB-16"
	case spec.NoSuchTable:
		return "TAB-17"
	case spec.BadPeriod:
		if in.Period.On == spec.MinutesPerDay {
			return "TAB-3"
		}
		return "TAB-6"
	case spec.NoSwitchingPoint:
		if ics.OverrideProgrammed {
			return "OVR-17"
		}
		return "OVR-9"
	case spec.ClockUnset:
		return "CLK-11"
	case spec.InHoliday:
		if ics.BoostInHoliday {
			return "HOL-5"
		}
		return "HOL-4"
	case spec.BadBoost:
		return "BST-9"
	case spec.BadHoliday:
		return "HOL-2"
	case spec.BadTerms:
		return "LCK-5"
	case spec.WrongCredential:
		return "LCK-6"
	case spec.LockDormant:
		return "LCK-8"
	case spec.UnsupportedInput:
		switch in.Kind {
		case spec.Holiday, spec.HolidayCancel, spec.LockArm, spec.LockRemove:
			return "INP-6"
		case spec.Boost:
			if ics.BoostLongest == 0 {
				return "INP-6"
			}
		}
		return "INP-5"
	default:
		return ""
	}
}
