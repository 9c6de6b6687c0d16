package explain

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/hearthbench/emulator/spec"
)

func under(k spec.Kind) *spec.Input { return &spec.Input{Kind: k} }

func TestChange(t *testing.T) {
	gravity := Unit{Coupling: spec.Gravity}
	after := Unit{Coupling: spec.Gravity, Before: []spec.Change{{Signal: spec.SigCH, Level: 0}}}
	relay := func(c spec.Channel, level spec.Level, by spec.Clause, cause spec.Cause, slot uint8) spec.Change {
		return spec.Change{Signal: spec.Signal(c), Level: level, By: by, Cause: cause, Slot: slot}
	}
	panel := func(s spec.Signal, level spec.Level, by spec.Clause, cause spec.Cause) spec.Change {
		return spec.Change{Signal: s, Level: level, By: by, Cause: cause}
	}
	for _, c := range []struct {
		change spec.Change
		unit   Unit
		want   string
	}{
		{relay(spec.CH, 1, spec.ClauseTable, spec.CausePeriod, 1), gravity, "period 1 begins (MOD-2)"},
		{relay(spec.CH, 0, spec.ClauseTable, spec.CausePeriod, 2), gravity, "period 2 ends (MOD-2)"},
		{relay(spec.CH, 1, spec.ClauseSpan, spec.CausePeriod, 3), Unit{}, "span begins with period 3 (MOD-3)"},
		{relay(spec.CH, 0, spec.ClauseSpan, spec.CausePeriod, 3), Unit{}, "span ends with period 3 (MOD-3)"},
		// With override-end programmed the off of a period inside another can end an override to 0: nothing begins.
		{relay(spec.CH, 1, spec.ClauseTable, spec.CausePeriod, 2), Unit{Programmed: true}, "on or off of period 2; table asks for 1 (MOD-2)"},
		{relay(spec.HW, 1, spec.ClauseCoupling, spec.CausePeriod, 1), gravity, "with heating: gravity (CPL-1)"},
		{relay(spec.HW, 0, spec.ClauseOff, spec.CausePeriod, 1), after, "heating stops; mode off (MOD-1)"},
		{relay(spec.HW, 0, spec.ClauseTable, spec.CausePeriod, 1), after, "heating stops; table asks for 0 (MOD-2)"},
		{relay(spec.HW, 0, spec.ClauseTable, spec.CausePeriod, 1), gravity, "period 1 ends (MOD-2)"},
		{relay(spec.HW, 0, spec.ClauseTable, spec.CausePeriod, 1), Unit{Before: after.Before}, "period 1 ends (MOD-2)"},
		{relay(spec.HW, 0, spec.ClausePower, spec.CauseInput, 0), Unit{Coupling: spec.Gravity, Before: after.Before, Input: under(spec.PowerOff)}, "no power (PWR-1)"},
		{relay(spec.HW, 0, spec.ClauseHoliday, spec.CauseInput, 0), Unit{Coupling: spec.Gravity, Before: after.Before, Input: under(spec.Holiday)}, "holiday (HOL-1)"},
		{relay(spec.CH, 0, spec.ClauseTable, spec.CauseBoostEnd, 0), Unit{}, "boost ends; table asks for 0 (MOD-2)"},
		{relay(spec.CH, 1, spec.ClauseTable, spec.CauseHolidayEnd, 0), Unit{}, "holiday ends; table asks for 1 (MOD-2)"},
		{relay(spec.CH, 0, spec.ClauseTable, spec.CauseSummerTime, 0), Unit{}, "summer time begins or ends; table asks for 0 (MOD-2)"},
		{relay(spec.CH, 0, spec.ClausePermit, spec.CausePermit, 0), Unit{}, "this hour's allowance is used up (LCK-13)"},
		{relay(spec.CH, 1, spec.ClauseAlways, spec.CausePermit, 0), Unit{}, "the next hour's allowance begins; mode always (MOD-6)"},
		{relay(spec.CH, 1, spec.ClauseBoost, spec.CauseStage, 0), Unit{}, "the lock comes to its next stage; boost (BST-1)"},
		{relay(spec.CH, 0, spec.ClauseOverride, spec.CauseInput, 0), Unit{Input: under(spec.Override)}, "override to 0 (OVR-1)"},
		{relay(spec.CH, 1, spec.ClauseTable, spec.CauseInput, 0), Unit{Input: under(spec.Override)}, "second override cancels the first; table asks for 1 (MOD-2)"},
		{relay(spec.CH, 0, spec.ClauseUnset, spec.CauseInput, 0), Unit{Input: under(spec.Override), Boosted: true}, "override ends the boost; clock unset (CLK-11)"},
		{relay(spec.CH, 1, spec.ClauseBoost, spec.CauseInput, 0), Unit{Input: under(spec.Boost)}, "boost (BST-1)"},
		{relay(spec.CH, 0, spec.ClauseOff, spec.CauseInput, 0), Unit{Input: under(spec.Boost)}, "boost cancelled; mode off (MOD-1)"},
		{relay(spec.CH, 0, spec.ClauseOff, spec.CauseInput, 0), Unit{Input: under(spec.SetMode)}, "mode off (MOD-1)"},
		{relay(spec.CH, 1, spec.ClauseTable, spec.CauseInput, 0), Unit{Input: under(spec.SetMode)}, "mode changed; table asks for 1 (MOD-2)"},
		{relay(spec.CH, 1, spec.ClauseTable, spec.CauseInput, 0), Unit{Input: under(spec.SetClock)}, "clock set; table asks for 1 (MOD-2)"},
		{relay(spec.CH, 1, spec.ClauseTable, spec.CauseInput, 0), Unit{Input: under(spec.SetPeriod)}, "table edited; table asks for 1 (MOD-2)"},
		{relay(spec.CH, 1, spec.ClauseTable, spec.CauseInput, 0), Unit{Input: under(spec.PowerOn)}, "power returns; table asks for 1 (MOD-2)"},
		{relay(spec.CH, 1, spec.ClauseTable, spec.CauseInput, 0), Unit{Input: under(spec.Reset)}, "reset; table asks for 1 (MOD-2)"},
		{relay(spec.CH, 1, spec.ClauseTable, spec.CauseInput, 0), Unit{Input: under(spec.HolidayCancel)}, "holiday cancelled; table asks for 1 (MOD-2)"},
		{relay(spec.CH, 1, spec.ClauseTable, spec.CauseInput, 0), Unit{Input: under(spec.LockRemove)}, "lock removed; table asks for 1 (MOD-2)"},
		{relay(spec.CH, 1, spec.ClauseTable, spec.CauseInput, 0), Unit{}, "table asks for 1 (MOD-2)"},
		{panel(spec.SigAlert, 1, spec.ClauseCounting, spec.CauseInput), Unit{Input: under(spec.LockArm)}, "lock armed; stage counting (LCK-2)"},
		{panel(spec.SigAlert, 2, spec.ClauseNotice, spec.CauseStage), Unit{}, "stage notice (LCK-3)"},
		{panel(spec.SigAlert, 3, spec.ClauseRestrict, spec.CauseStage), Unit{}, "stage restricted (LCK-4)"},
		{panel(spec.SigAlert, 0, spec.ClauseDormant, spec.CauseInput), Unit{Input: under(spec.LockRemove)}, "lock removed (LCK-8)"},
		{panel(spec.SigSounder, 1, spec.ClauseSounder, spec.CauseSounder), Unit{}, "a sounder time (LCK-18)"},
		{panel(spec.SigSounder, 0, spec.ClauseSounder, spec.CauseSounder), Unit{}, "not a sounder time (LCK-18)"},
	} {
		assert.Equal(t, c.want, Change(c.change, c.unit))
	}
}

func TestEveryReasonHasWords(t *testing.T) {
	form := regexp.MustCompile(`^[a-z].* \([A-Z]{3}-[0-9]+\)$`)
	for by := spec.Clause(1); by < spec.NumClauses; by++ {
		for cause := spec.Cause(0); cause < spec.NumCauses; cause++ {
			words := Change(spec.Change{By: by, Cause: cause, Slot: 1}, Unit{})
			assert.Regexp(t, form, words)
			assert.NotContains(t, words, "no rule given")
		}
	}
	for cause := spec.Cause(1); cause < spec.NumCauses; cause++ {
		assert.NotEmpty(t, CauseWord(cause))
	}
	assert.Empty(t, CauseWord(spec.NoCause))
}

func TestRefusal(t *testing.T) {
	ics := spec.FullICS()
	programmed := ics
	programmed.OverrideProgrammed = true
	allowed := ics
	allowed.BoostInHoliday = true
	none := ics
	none.BoostLongest = 0
	for _, c := range []struct {
		refusal spec.Refusal
		in      spec.Input
		ics     spec.ICS
		want    string
	}{
		{spec.NoRefusal, spec.Input{}, ics, ""},
		{spec.NoPower, spec.Input{Kind: spec.Boost}, ics, "no power (PWR-2)"},
		{spec.NoPower, spec.Input{Kind: spec.PowerOff}, ics, "no power (PWR-13)"},
		{spec.NoSwitchingPoint, spec.Input{Kind: spec.Override}, ics, "the schedule never changes by itself (OVR-9)"},
		{spec.NoSwitchingPoint, spec.Input{Kind: spec.Override}, programmed, "the schedule never changes by itself (OVR-17)"},
		{spec.InHoliday, spec.Input{Kind: spec.Override}, ics, "a holiday is running (HOL-4)"},
		{spec.InHoliday, spec.Input{Kind: spec.Override}, allowed, "a holiday is running (HOL-5)"},
		{spec.BadPeriod, spec.Input{Kind: spec.SetPeriod, Period: spec.Period{On: 1440, Off: 1440}}, ics, "not a good on and off (TAB-3)"},
		{spec.BadPeriod, spec.Input{Kind: spec.SetPeriod, Period: spec.Period{On: 600, Off: 540}}, ics, "not a good on and off (TAB-6)"},
		{spec.UnsupportedInput, spec.Input{Kind: spec.Boost}, ics, "the unit does not have this (INP-5)"},
		{spec.UnsupportedInput, spec.Input{Kind: spec.Boost}, none, "the unit does not have this (INP-6)"},
		{spec.UnsupportedInput, spec.Input{Kind: spec.LockRemove}, ics, "the unit does not have this (INP-6)"},
		{spec.UnsupportedFitted, spec.Input{Kind: spec.Fit}, ics, "the unit cannot be fitted so"},
	} {
		assert.Equal(t, c.want, Refusal(c.refusal, c.in, &c.ics))
	}
	for r := spec.Refusal(1); r < spec.NumRefusals; r++ {
		if r != spec.UnsupportedFitted {
			assert.NotEmpty(t, RefusalClause(r, spec.Input{}, &ics), r)
		}
	}
}
