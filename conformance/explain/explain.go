// Package explain puts the reason of a change into plain words. Traces, replay and reports all take their words from here.
package explain

import (
	"fmt"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Unit is what the words depend on apart from the change itself.
type Unit struct {
	Coupling spec.Coupling // in force
	// Programmed is set for a unit with override-end programmed, where a period's on or off may do no more than end an override.
	Programmed bool
	// Input is the input under way, nil if there is none or it is not known.
	Input *spec.Input
	// Boosted is set if the input under way is an override that came while a boost ran on its channel.
	Boosted bool
	// Before are the changes that the clocks, or the same input, have brought in the same second before this one.
	Before []spec.Change
}

// Change says why a change came about: what brought it, the rule that now settles the level, and the rule's clause, as in
// "boost ends; table asks for 0 (MOD-2)". Where the rule says what brought it, as "no power" does, it stands alone.
func Change(c spec.Change, unit Unit) string {
	words := whole(c, &unit)
	if words == "" {
		words = rule(c)
		if e := event(c, &unit); e != "" {
			words = e + "; " + words
		}
	}
	return fmt.Sprintf("%s (%s)", words, c.By)
}

// CauseWord returns the word for a cause: input, boost-end, holiday-end, summer-time, period, stage, permit or sounder; "" for
// NoCause.
func CauseWord(c spec.Cause) string { return causeWords[c] }

var causeWords = [spec.NumCauses]string{
	spec.CauseInput: "input", spec.CauseBoostEnd: "boost-end", spec.CauseHolidayEnd: "holiday-end", spec.CauseSummerTime: "summer-time",
	spec.CausePeriod: "period", spec.CauseStage: "stage", spec.CausePermit: "permit", spec.CauseSounder: "sounder",
}

// whole returns the words for what is event and rule in one: a period's on or off that switches as the table or the span asks. For
// everything else it returns "".
func whole(c spec.Change, unit *Unit) string {
	if c.Cause != spec.CausePeriod || unit.Programmed || unit.heatingStopped(c) {
		return ""
	}
	verb := "ends"
	if c.Level == 1 {
		verb = "begins"
	}
	switch c.By {
	case spec.ClauseTable:
		return fmt.Sprintf("period %d %s", c.Slot, verb)
	case spec.ClauseSpan:
		return fmt.Sprintf("span %s with period %d", verb, c.Slot)
	default:
		return ""
	}
}

// event says what brought the change about, or "" where the rule says as much.
func event(c spec.Change, unit *Unit) string {
	if c.By == spec.ClausePower || c.By == spec.ClauseCoupling {
		return ""
	}
	if unit.heatingStopped(c) {
		return "heating stops"
	}
	switch c.Cause {
	case spec.CauseInput:
		return input(c, unit)
	case spec.CauseBoostEnd:
		return "boost ends"
	case spec.CauseHolidayEnd:
		return "holiday ends"
	case spec.CauseSummerTime:
		return "summer time begins or ends"
	case spec.CausePeriod:
		return fmt.Sprintf("on or off of period %d", c.Slot)
	case spec.CauseStage:
		if c.Signal != spec.SigAlert {
			return "the lock comes to its next stage"
		}
	case spec.CausePermit:
		if c.By != spec.ClausePermit {
			return "the next hour's allowance begins"
		}
	}
	return ""
}

// heatingStopped reports whether hot water opens in the wake of heating. Whether a call of its own has ended in the same second makes
// no difference to the words: heating stops, and what rules hot water asks for nothing.
func (u *Unit) heatingStopped(c spec.Change) bool {
	if u.Coupling != spec.Gravity || c.Signal != spec.SigHW || c.Level != 0 || c.By == spec.ClauseHoliday {
		return false
	}
	for _, b := range u.Before {
		if b.Signal == spec.SigCH && b.Level == 0 {
			return true
		}
	}
	return false
}

// input says what the input under way has done, or "" where the rule says as much.
func input(c spec.Change, unit *Unit) string {
	if unit.Input == nil {
		return ""
	}
	switch unit.Input.Kind {
	case spec.PowerOn:
		return "power returns"
	case spec.SetClock:
		return "clock set"
	case spec.SetMode:
		if c.By != spec.ClauseOff && c.By != spec.ClauseAlways {
			return "mode changed"
		}
	case spec.SetPeriod:
		return "table edited"
	case spec.Override:
		switch {
		case unit.Boosted:
			return "override ends the boost"
		case c.By != spec.ClauseOverride:
			return "second override cancels the first"
		}
	case spec.Boost:
		if c.By != spec.ClauseBoost {
			return "boost cancelled"
		}
	case spec.HolidayCancel:
		return "holiday cancelled"
	case spec.LockArm:
		return "lock armed"
	case spec.LockRemove:
		if c.By != spec.ClauseDormant {
			return "lock removed"
		}
	case spec.Reset:
		return "reset"
	}
	return ""
}

// rule says what settles the level.
func rule(c spec.Change) string {
	switch c.By {
	case spec.ClausePower:
		return "no power"
	case spec.ClauseBoost:
		return "boost"
	case spec.ClauseHoliday:
		return "holiday"
	case spec.ClauseOverride:
		return fmt.Sprintf("override to %d", c.Level)
	case spec.ClauseOff:
		return "mode off"
	case spec.ClauseTable:
		return fmt.Sprintf("table asks for %d", c.Level)
	case spec.ClauseSpan:
		return fmt.Sprintf("span asks for %d", c.Level)
	case spec.ClauseAlways:
		return "mode always"
	case spec.ClauseUnset:
		return "clock unset"
	case spec.ClausePermit:
		return "this hour's allowance is used up"
	case spec.ClauseCoupling:
		return "with heating: gravity"
	case spec.ClauseDormant:
		return "lock removed"
	case spec.ClauseCounting, spec.ClauseNotice, spec.ClauseRestrict:
		return "stage " + wire.LevelWord(spec.SigAlert, c.Level)
	case spec.ClauseSounder:
		if c.Level == 1 {
			return "a sounder time"
		}
		return "not a sounder time"
	default:
		return "no rule given"
	}
}
