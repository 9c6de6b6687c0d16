package plain

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/hearthbench/emulator/spec"
)

// Cases in which rules meet, with the changes derived by hand.

// CLK-5, OVR-5: 00:30-01:00 and 02:00-03:00, override 0 at 00:45. After 00:59:59 comes 02:00:00, so s never changes.
func TestOverrideOverSpring(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-03-29T00:00:00Z", period(0, 30, 1, 0), period(2, 0, 3, 0))
	b.until("2026-03-29T00:45:00Z")
	b.do(override(spec.CH))
	b.until("2026-03-30T00:00:00+01:00")
	b.changes(
		"2026-03-29T00:30:00Z ch 1 MOD-2",
		"2026-03-29T00:45:00Z ch 0 OVR-1",
	)
	assert.False(t, b.u.channel[spec.CH].overridden, "ended at 03:00")
}

// CLK-6: 01:00-02:00, override 0 at the first 01:30. The first 01:59:59 is followed by 01:00:00; s stays 1 to the second 02:00.
func TestOverrideOverAutumn(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-10-25T00:00:00+01:00", period(1, 0, 2, 0))
	b.until("2026-10-25T01:30:00+01:00")
	b.do(override(spec.CH))
	b.until("2026-10-25T01:59:59Z")
	assert.True(t, b.u.channel[spec.CH].overridden)
	b.until("2026-10-25T02:00:00Z")
	assert.False(t, b.u.channel[spec.CH].overridden)
	b.changes(
		"2026-10-25T01:00:00+01:00 ch 1 MOD-2",
		"2026-10-25T01:30:00+01:00 ch 0 OVR-1",
	)
}

// OVR-4: over two switching points the override stays; over one it ends.
func TestSettingTheClockUnderAnOverride(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-01-14T08:00:00Z", period(6, 30, 9, 0), period(11, 0, 13, 0))
	b.do(override(spec.CH))
	b.do(clock("2026-01-14 12:00"))
	assert.True(t, b.u.channel[spec.CH].overridden)
	b.u.Advance(60)
	b.do(clock("2026-01-14 10:00"))
	assert.False(t, b.u.channel[spec.CH].overridden)
	b.changes() // open from the override to the schedule's 0
}

// OVR-3, OVR-10: an edit that moves the end moves the override's end; one that leaves no end ends it.
func TestEditsUnderAnOverride(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-01-14T06:00:00Z", period(6, 30, 9, 0))
	b.until("2026-01-14T08:00:00Z")
	b.do(override(spec.CH))
	b.table(spec.CHTable, spec.All, period(6, 30, 10, 0))
	b.until("2026-01-14T09:59:59Z")
	assert.True(t, b.u.channel[spec.CH].overridden)
	b.until("2026-01-14T10:00:00Z")
	assert.False(t, b.u.channel[spec.CH].overridden)

	b.until("2026-01-14T12:00:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-14T12:30:00Z")
	b.table(spec.CHTable, spec.All)
	b.refused(override(spec.CH), spec.NoSwitchingPoint)
	b.until("2026-01-14T13:00:00Z")
	b.changes(
		"2026-01-14T06:30:00Z ch 1 MOD-2",
		"2026-01-14T08:00:00Z ch 0 OVR-1",
		"2026-01-14T12:00:00Z ch 1 OVR-1",
		"2026-01-14T12:30:00Z ch 0 MOD-2",
	)
}

// OVR-11: 5/2 with an empty weekend; from Friday 22:30 to Monday's first on, where the relay stays closed.
func TestOverrideOverAWeekend(t *testing.T) {
	b := newBench(t, designICS(), "2026-01-16T20:00:00Z",
		spec.Input{Kind: spec.Fit, FitOption: spec.FitCycle, FitValue: uint8(spec.Cycle52)})
	b.do(mode(spec.HW, spec.Off))
	b.table(spec.CHTable, spec.Weekdays, period(6, 30, 22, 0))
	b.table(spec.CHTable, spec.Weekend)
	b.until("2026-01-16T22:30:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-19T23:00:00Z")
	b.changes(
		"2026-01-16T22:00:00Z ch 0 MOD-2",
		"2026-01-16T22:30:00Z ch 1 OVR-1",
		"2026-01-19T22:00:00Z ch 0 MOD-2",
	)
}

// OVR-16, OVR-17: with `programmed` an override ends at a boundary between touching periods, with `change` it does not; and
// in a day that is full, only `programmed` has an end at all.
func TestProgrammedTimes(t *testing.T) {
	for _, programmed := range []bool{false, true} {
		ics := designICS()
		ics.OverrideProgrammed = programmed
		b := heatingOnly(t, ics, "2026-01-14T07:00:00Z", period(6, 0, 9, 0), period(9, 0, 12, 0))
		b.until("2026-01-14T08:00:00Z")
		b.do(override(spec.CH))
		b.until("2026-01-14T13:00:00Z")
		if programmed {
			b.changes(
				"2026-01-14T08:00:00Z ch 0 OVR-1",
				"2026-01-14T09:00:00Z ch 1 MOD-2",
				"2026-01-14T12:00:00Z ch 0 MOD-2",
			)
		} else {
			b.changes("2026-01-14T08:00:00Z ch 0 OVR-1")
		}

		b = heatingOnly(t, ics, "2026-01-14T07:00:00Z", period(0, 0, 12, 0), period(12, 0, 24, 0))
		if !programmed {
			b.refused(override(spec.CH), spec.NoSwitchingPoint)
			continue
		}
		b.until("2026-01-14T12:00:00Z")
		b.do(override(spec.CH))
		b.until("2026-01-15T01:00:00Z")
		b.changes(
			"2026-01-14T12:00:00Z ch 0 OVR-1",
			"2026-01-15T00:00:00Z ch 1 MOD-2", // the off at 24:00
		)
	}
}

// OVR-16: setting the clock to a programmed time ends the override, setting it past one does not.
func TestSettingTheClockToAProgrammedTime(t *testing.T) {
	ics := designICS()
	ics.OverrideProgrammed = true
	b := heatingOnly(t, ics, "2026-01-14T07:00:00Z", period(6, 0, 9, 0), period(9, 0, 12, 0))
	b.do(override(spec.CH))
	b.do(clock("2026-01-14 09:01"))
	assert.True(t, b.u.channel[spec.CH].overridden)
	b.do(clock("2026-01-14 09:00"))
	assert.False(t, b.u.channel[spec.CH].overridden)
	b.do(override(spec.CH))
	b.do(clock("2026-01-14 09:00")) // INP-2
	assert.True(t, b.u.channel[spec.CH].overridden)
}

// OVR-16: in the night of spring 01:30 is not read, and 04:00 ends the override; in autumn it is read again.
func TestProgrammedTimesInSummerTime(t *testing.T) {
	ics := designICS()
	ics.OverrideProgrammed = true
	b := heatingOnly(t, ics, "2026-03-29T00:00:00Z", period(0, 0, 1, 30), period(1, 30, 4, 0))
	b.until("2026-03-29T00:30:00Z")
	b.do(override(spec.CH))
	b.until("2026-03-29T03:59:59+01:00")
	assert.True(t, b.u.channel[spec.CH].overridden)
	b.until("2026-03-29T12:00:00+01:00")
	b.changes("2026-03-29T00:30:00Z ch 0 OVR-1")

	b = heatingOnly(t, ics, "2026-10-25T00:00:00+01:00", period(0, 0, 1, 30), period(1, 30, 4, 0))
	b.until("2026-10-25T01:40:00+01:00")
	b.do(override(spec.CH))
	b.until("2026-10-25T12:00:00Z")
	b.changes(
		"2026-10-25T01:40:00+01:00 ch 0 OVR-1",
		"2026-10-25T01:30:00Z ch 1 MOD-2",
		"2026-10-25T04:00:00Z ch 0 MOD-2",
	)
}

// OVR-16: an on in the middle of yesterday's tail, and the tail's off in the middle of today's period.
func TestProgrammedTimesPastMidnight(t *testing.T) {
	ics := designICS()
	ics.OverrideProgrammed = true
	ics.Wrap = true
	b := heatingOnly(t, ics, "2026-01-14T21:00:00Z", period(5, 0, 9, 0), period(22, 0, 6, 0))
	b.until("2026-01-14T23:00:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-15T05:30:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-15T07:00:00Z")
	b.changes(
		"2026-01-14T22:00:00Z ch 1 MOD-2",
		"2026-01-14T23:00:00Z ch 0 OVR-1",
		"2026-01-15T05:00:00Z ch 1 MOD-2",
		"2026-01-15T05:30:00Z ch 0 OVR-1",
		"2026-01-15T06:00:00Z ch 1 MOD-2",
	)
}

// OVR-16: in mode span only the first on and the last off count. With 06:00 to 22:00 nothing between ends the override; with a
// whole day, midnight does.
func TestProgrammedTimesInSpan(t *testing.T) {
	ics := designICS()
	ics.OverrideProgrammed = true
	b := heatingOnly(t, ics, "2026-01-14T04:00:00Z", period(12, 0, 15, 0), period(18, 0, 22, 0), period(6, 0, 9, 0))
	b.do(mode(spec.CH, spec.Span))
	b.until("2026-01-14T10:00:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-15T05:00:00Z")
	b.changes(
		"2026-01-14T06:00:00Z ch 1 MOD-3",
		"2026-01-14T10:00:00Z ch 0 OVR-1",
	)

	b = heatingOnly(t, ics, "2026-01-14T10:00:00Z", period(0, 0, 1, 0), period(20, 0, 24, 0))
	b.do(mode(spec.CH, spec.Span))
	b.until("2026-01-14T10:30:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-15T05:00:00Z")
	b.changes(
		"2026-01-14T10:30:00Z ch 0 OVR-1",
		"2026-01-15T00:00:00Z ch 1 MOD-3",
	)
}

// OVR-16: in mode span with wrap, a day's last off inside another day's span: Tuesday 20:00 to Wednesday 06:00 around Wednesday
// 01:00 to 03:00, and every day 05:00 to 06:00 on the day after.
func TestProgrammedTimesInSpanPastMidnight(t *testing.T) {
	ics := designICS()
	ics.OverrideProgrammed = true
	ics.Wrap = true
	b := newBench(t, ics, "2026-01-13T12:00:00Z",
		spec.Input{Kind: spec.Fit, FitOption: spec.FitCycle, FitValue: uint8(spec.Cycle7Day)})
	b.do(mode(spec.HW, spec.Off))
	b.do(mode(spec.CH, spec.Span))
	b.table(spec.CHTable, spec.Tue, period(20, 0, 6, 0))
	b.table(spec.CHTable, spec.Wed, period(1, 0, 3, 0))
	b.until("2026-01-14T02:00:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-14T06:30:00Z")
	b.changes(
		"2026-01-13T20:00:00Z ch 1 MOD-3",
		"2026-01-14T02:00:00Z ch 0 OVR-1",
		"2026-01-14T03:00:00Z ch 1 MOD-3",
		"2026-01-14T06:00:00Z ch 0 MOD-3",
	)

	b = heatingOnly(t, ics, "2026-01-14T04:00:00Z", period(5, 0, 9, 0), period(22, 0, 6, 0))
	b.do(mode(spec.CH, spec.Span))
	b.until("2026-01-14T05:30:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-14T12:00:00Z")
	b.changes(
		"2026-01-14T05:30:00Z ch 0 OVR-1",
		"2026-01-14T06:00:00Z ch 1 MOD-3",
	)
}

// OVR-6.
func TestSecondOverride(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-01-14T08:00:00Z", twoPeriods...)
	b.until("2026-01-14T08:10:00Z")
	b.do(override(spec.CH))
	b.do(override(spec.CH))
	b.until("2026-01-14T12:00:00Z")
	b.changes(
		"2026-01-14T08:10:00Z ch 0 OVR-1",
		"2026-01-14T08:10:00Z ch 1 MOD-2",
		"2026-01-14T09:00:00Z ch 0 MOD-2",
	)
}

// INP-4: no days is a day, too many are 99.
func TestClampedHolidays(t *testing.T) {
	for _, c := range []struct {
		asked uint32
		end   string
	}{{0, "2026-01-15"}, {100, "2026-04-23"}, {4294967295, "2026-04-23"}} {
		ics := designICS()
		ics.Clamp = true
		b := heatingOnly(t, ics, "2026-01-14T08:00:00Z")
		b.do(holiday(c.asked))
		assert.Equal(t, c.end, b.u.holidayEnd.Format("2006-01-02"))
	}
}

// MOD-3, MOD-5, TAB-7: 07:00 to 09:00 and 22:00 to 06:00; table and span.
func TestPastMidnight(t *testing.T) {
	ics := designICS()
	ics.Wrap = true
	b := newBench(t, ics, "2026-01-14T06:30:00Z")
	b.table(spec.CHTable, spec.All, period(22, 0, 6, 0), period(7, 0, 9, 0))
	b.table(spec.HWTable, spec.All, period(22, 0, 6, 0), period(7, 0, 9, 0))
	b.do(mode(spec.HW, spec.Span))
	b.until("2026-01-15T07:30:00Z")
	b.changes(
		"2026-01-14T07:00:00Z hw 1 MOD-3",
		"2026-01-14T07:00:00Z ch 1 MOD-2",
		"2026-01-14T09:00:00Z ch 0 MOD-2",
		"2026-01-14T22:00:00Z ch 1 MOD-2",
		"2026-01-15T06:00:00Z ch 0 MOD-2",
		"2026-01-15T06:00:00Z hw 0 MOD-3",
		"2026-01-15T07:00:00Z hw 1 MOD-3",
		"2026-01-15T07:00:00Z ch 1 MOD-2",
	)
}

// BST-3, BST-4: a second boost 60 minutes into one of 120; and the longest (180) caps what is added.
func TestSecondBoost(t *testing.T) {
	for _, c := range []struct {
		extends     bool
		second, end string
	}{
		{false, "2026-01-14T11:00:00Z", "2026-01-14T12:30:00Z"},
		{true, "2026-01-14T11:00:00Z", "2026-01-14T13:30:00Z"},
		{true, "2026-01-14T10:10:00Z", "2026-01-14T13:10:00Z"},
	} {
		ics := designICS()
		ics.BoostExtends = c.extends
		b := heatingOnly(t, ics, "2026-01-14T09:30:00Z")
		b.until("2026-01-14T10:00:00Z")
		b.do(boost(spec.CH, 120))
		b.until(c.second)
		b.do(boost(spec.CH, 90))
		b.until("2026-01-15T00:00:00Z")
		b.changes("2026-01-14T10:00:00Z ch 1 BST-1", c.end+" ch 0 MOD-2")
	}
}

// OVR-13, OVR-14: an override in the last second of a boost ends the boost; one in the second after is fresh.
func TestOverrideAtTheEndOfABoost(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-01-14T09:00:00Z", period(17, 0, 22, 0))
	b.until("2026-01-14T10:00:00Z")
	b.do(boost(spec.CH, 30))
	b.until("2026-01-14T10:29:59Z")
	b.do(override(spec.CH))
	b.until("2026-01-14T12:00:00Z")
	b.do(boost(spec.CH, 30))
	b.until("2026-01-14T12:30:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-14T23:00:00Z")
	b.changes(
		"2026-01-14T10:00:00Z ch 1 BST-1",
		"2026-01-14T10:29:59Z ch 0 MOD-2",
		"2026-01-14T12:00:00Z ch 1 BST-1",
		"2026-01-14T12:30:00Z ch 0 MOD-2",
		"2026-01-14T12:30:00Z ch 1 OVR-1",
		"2026-01-14T22:00:00Z ch 0 MOD-2",
	)
}

// HOL-1, HOL-8 to HOL-10: 3 days from the 14th end on the 17th; no setting of the clock prolongs that, and one may shorten it.
func TestHoliday(t *testing.T) {
	b := newBench(t, designICS(), "2026-01-14T12:00:00Z")
	b.do(mode(spec.HW, spec.Off))
	b.do(mode(spec.CH, spec.Always))
	b.until("2026-01-14T13:00:00Z")
	b.do(holiday(3))
	b.refused(override(spec.CH), spec.InHoliday)
	b.refused(boost(spec.CH, 30), spec.InHoliday)
	b.do(boost(spec.CH, 0))
	b.refused(holiday(0), spec.BadHoliday)
	b.refused(holiday(100), spec.BadHoliday)
	b.do(clock("2026-01-13 13:00")) // the end is now the 16th, 59 h on
	b.do(clock("2026-01-14 13:00")) // and stays it: 35 h on
	b.until("2026-01-16T12:00:00Z")
	b.do(holiday(1))
	b.do(clock("2026-01-18 00:00"))
	b.do(clock("2026-01-16 12:00"))
	b.changes(
		"2026-01-14T13:00:00Z ch 0 HOL-1",
		"2026-01-16T00:00:00Z ch 1 MOD-6",
		"2026-01-16T12:00:00Z ch 0 HOL-1",
		"2026-01-16T12:00:00Z ch 1 MOD-6",
	)
}

// HOL-5: an override in a holiday ends a boost, and is refused without one. HOL-8: the same holiday again changes nothing.
func TestBoostInAHoliday(t *testing.T) {
	ics := designICS()
	ics.BoostInHoliday = true
	b := heatingOnly(t, ics, "2026-01-14T12:00:00Z", period(6, 0, 9, 0))
	b.do(holiday(3))
	b.until("2026-01-14T13:00:00Z")
	b.refused(override(spec.CH), spec.InHoliday)
	b.do(boost(spec.CH, 60))
	b.do(holiday(3))
	b.until("2026-01-14T13:30:00Z")
	b.do(override(spec.CH))
	b.until("2026-01-14T14:00:00Z")
	b.do(boost(spec.CH, 60))
	b.until("2026-01-14T14:10:00Z")
	b.do(holiday(4))
	b.changes(
		"2026-01-14T13:00:00Z ch 1 BST-1",
		"2026-01-14T13:30:00Z ch 0 HOL-1",
		"2026-01-14T14:00:00Z ch 1 BST-1",
		"2026-01-14T14:10:00Z ch 0 HOL-1",
	)
}

// PWR-4: through a cut of 30 minutes the boost's time runs on and the override ends, since s changed at 09:00.
func TestKeptThroughACut(t *testing.T) {
	for _, kept := range []bool{false, true} {
		ics := designICS()
		ics.KeptThroughCut = kept
		b := newBench(t, ics, "2026-01-14T08:00:00Z")
		b.table(spec.HWTable, spec.All)
		b.table(spec.CHTable, spec.All, period(6, 0, 9, 0), period(9, 30, 10, 0))
		b.until("2026-01-14T08:30:00Z")
		b.do(boost(spec.HW, 60))
		b.do(override(spec.CH))
		b.until("2026-01-14T08:45:00Z")
		b.do(spec.Input{Kind: spec.PowerOff})
		b.refused(boost(spec.HW, 60), spec.NoPower)
		b.until("2026-01-14T09:15:00Z")
		b.do(spec.Input{Kind: spec.PowerOn})
		b.until("2026-01-14T09:45:00Z")
		want := []string{
			"2026-01-14T08:30:00Z hw 1 BST-1",
			"2026-01-14T08:30:00Z ch 0 OVR-1",
			"2026-01-14T08:45:00Z hw 0 PWR-1",
		}
		if kept {
			want = append(want, "2026-01-14T09:15:00Z hw 1 BST-1", "2026-01-14T09:30:00Z ch 1 MOD-2", "2026-01-14T09:30:00Z hw 0 MOD-2")
			// OUT-3: hot water opens after heating has moved.
		} else {
			want = append(want, "2026-01-14T09:30:00Z ch 1 MOD-2")
		}
		b.changes(want...)
	}
}

// PWR-4, PWR-7, PWR-8: with through-cut `kept`, two cuts each a second shorter than the reserve leave a boost and an override
// running, and one as long as the reserve takes both.
func TestCutsAndTheReserve(t *testing.T) {
	ics := designICS()
	ics.KeptThroughCut = true
	ics.Reserve = 10
	ics.LostClock = spec.LostResumes
	b := newBench(t, ics, "2026-01-14T12:00:00Z")
	b.table(spec.CHTable, spec.All, period(6, 0, 9, 0))
	b.do(boost(spec.HW, 180))
	b.do(override(spec.CH))
	for range 2 {
		b.do(spec.Input{Kind: spec.PowerOff})
		b.u.Advance(599)
		b.do(spec.Input{Kind: spec.PowerOn})
		assert.EqualValues(t, 1, b.u.shown[spec.SigHW])
		assert.EqualValues(t, 1, b.u.shown[spec.SigCH])
	}
	b.do(spec.Input{Kind: spec.PowerOff})
	b.u.Advance(600)
	b.do(spec.Input{Kind: spec.PowerOn})
	assert.Zero(t, b.u.shown)
}

// PWR-7, PWR-12: without a reserve the shortest cut loses the clock.
func TestNoReserve(t *testing.T) {
	ics := designICS()
	ics.Reserve = 0
	b := newBench(t, ics, "2026-01-14T12:00:00Z")
	b.do(spec.Input{Kind: spec.PowerOff})
	b.do(spec.Input{Kind: spec.PowerOn})
	assert.Equal(t, "unset", b.display())
}

// BST-5, HOL-3: what cancels an override cancels it for good.
func TestCancelledOverridesDoNotComeBack(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-01-14T12:00:00Z", period(6, 0, 9, 0))
	b.until("2026-01-14T13:00:00Z")
	b.do(override(spec.CH))
	b.do(boost(spec.CH, 30))
	b.until("2026-01-14T14:00:00Z")
	b.do(override(spec.CH))
	b.do(holiday(1))
	b.do(spec.Input{Kind: spec.HolidayCancel})
	b.until("2026-01-14T15:00:00Z")
	b.changes(
		"2026-01-14T13:00:00Z ch 1 OVR-1",
		"2026-01-14T13:30:00Z ch 0 MOD-2",
		"2026-01-14T14:00:00Z ch 1 OVR-1",
		"2026-01-14T14:00:00Z ch 0 HOL-1",
	)
}

// LCK-7, LCK-17, LCK-18: at the second of a stage change re-arming finds the new stage, and starts the count afresh; a clock
// that is unset sounds at no time.
func TestReArming(t *testing.T) {
	u := New(designICS())
	b := &bench{t: t, u: u, zone: instant(t, "2026-01-14T00:00:00Z").Location(), start: instant(t, "2026-01-14T00:00:00Z")}
	arm := spec.Input{Kind: spec.LockArm, Credential: "2468", Terms: spec.LockTerms{
		Days: 1, Notice: [2]uint8{60, 60}, Restricted: [2]uint8{60, 10}, Sounder: [4]uint16{0}, Sounders: 1,
	}}
	b.do(spec.Input{Kind: spec.PowerOn})
	b.do(mode(spec.CH, spec.Always))
	b.do(arm)
	b.until("2026-01-15T00:00:00Z")
	b.do(arm)
	b.until("2026-01-16T00:10:00Z")
	b.do(arm)
	b.changes(
		"2026-01-15T00:00:00Z alert 3 LCK-4",
		"2026-01-15T00:00:00Z alert 1 LCK-2",
		"2026-01-16T00:00:00Z alert 3 LCK-4",
		"2026-01-16T00:10:00Z ch 0 LCK-13",
		"2026-01-16T00:10:00Z ch 1 MOD-6",
		"2026-01-16T00:10:00Z alert 1 LCK-2",
	)
}

// PWR-9 to PWR-11, PWR-16, LCK-10: what a unit does whose reserve of 8 h ran out in a cut of 20 h, and what it counts.
func TestLostClock(t *testing.T) {
	for _, c := range []struct {
		choice       spec.LostClock
		first, after string
	}{
		{spec.LostUnset, "unset", "unset"},
		{spec.LostResumes, "unset", "2026-01-14 18:00:01"},
		{spec.LostRestarts, "2001-01-01 00:00:00", "2001-01-01 00:00:01"},
	} {
		ics := designICS()
		ics.LostClock = c.choice
		ics.Zone = 60
		u := New(ics)
		u.Advance(1000)
		u.Do(spec.Input{Kind: spec.PowerOn})
		b := &bench{t: t, u: u}
		assert.Equal(t, c.first, b.display())
		b.do(clock("2026-01-14 10:00"))
		b.do(spec.Input{Kind: spec.LockArm, Credential: "2468", Terms: spec.LockTerms{
			Days: 10, Notice: [2]uint8{60, 60}, Restricted: [2]uint8{60, 60},
		}})
		b.do(holiday(20))
		b.do(spec.Input{Kind: spec.PowerOff})
		u.Advance(20 * 3600)
		b.do(spec.Input{Kind: spec.PowerOn})
		u.Advance(1)
		assert.Equal(t, c.after, b.display())
		assert.EqualValues(t, 8*3600+1, u.counted)
		assert.False(t, u.holiday)
	}
}

// PWR-15, TAB-18: the cycle brings defaults, the coupling alone does not.
func TestChangesAtTheBack(t *testing.T) {
	b := heatingOnly(t, designICS(), "2026-01-14T12:00:00Z", period(6, 0, 9, 0))
	fit := func(o spec.FitOption, v uint8) spec.Input {
		return spec.Input{Kind: spec.Fit, FitOption: o, FitValue: v}
	}
	b.refused(fit(spec.FitCycle, uint8(spec.Cycle52)), spec.PowerPresent)
	b.do(spec.Input{Kind: spec.PowerOff})
	b.do(fit(spec.FitCoupling, uint8(spec.Gravity)))
	b.do(spec.Input{Kind: spec.PowerOn})
	assert.Equal(t, spec.Off, b.u.channel[spec.HW].mode)
	assert.Equal(t, period(6, 0, 9, 0), b.u.channel[spec.CH].table[spec.Sat][0])
	b.do(spec.Input{Kind: spec.PowerOff})
	b.do(fit(spec.FitCycle, uint8(spec.Cycle52)))
	assert.Equal(t, spec.Off, b.u.channel[spec.HW].mode, "not before power returns")
	b.do(spec.Input{Kind: spec.PowerOn})
	assert.Equal(t, spec.Table, b.u.channel[spec.HW].mode)
	assert.Equal(t, [spec.MaxPeriods]spec.Period{period(7, 0, 23, 0)}, b.u.channel[spec.CH].table[spec.Sat])
	assert.Equal(t, [spec.MaxPeriods]spec.Period{period(7, 0, 9, 0), period(16, 0, 23, 0)}, b.u.channel[spec.CH].table[spec.Fri])
	assert.Equal(t, "2026-01-14 12:00:00", b.display())
}

// INP-5, INP-6: unsupported, with power or without.
func TestUnsupported(t *testing.T) {
	ics := designICS()
	ics.Fitted.Channels = spec.OnlyCH
	ics.BoostLongest = 0
	ics.Holiday = false
	ics.Lock = false
	ics.Supported.Cycle = 1 << spec.Cycle24h
	u := New(ics)
	for range 2 {
		for _, in := range []spec.Input{
			mode(spec.HW, spec.Off), mode(7, spec.Off), mode(spec.CH, 9), override(spec.HW), boost(spec.CH, 30), boost(spec.CH, 0),
			holiday(3), {Kind: spec.HolidayCancel}, {Kind: spec.LockArm}, {Kind: spec.LockRemove}, {Kind: 200},
			{Kind: spec.SetPeriod, Table: spec.HWTable, Day: spec.All, Slot: 1},
		} {
			assert.Equal(t, spec.Reply{Outcome: spec.Unsupported, Refusal: spec.UnsupportedInput}, u.Do(in), "%+v", in)
		}
		for _, in := range []spec.Input{
			{Kind: spec.Fit, FitOption: spec.FitCycle, FitValue: uint8(spec.Cycle52)},
			{Kind: spec.Fit, FitOption: spec.FitCycle, FitValue: 200}, {Kind: spec.Fit, FitOption: 9},
		} {
			assert.Equal(t, spec.Reply{Outcome: spec.Unsupported, Refusal: spec.UnsupportedFitted}, u.Do(in), "%+v", in)
		}
		u.Do(spec.Input{Kind: spec.PowerOn})
	}
}

// INP-3, INP-4, INP-7, TAB-3, TAB-6, TAB-7, TAB-16, TAB-17.
func TestPeriodsAsAccepted(t *testing.T) {
	type try struct {
		in     spec.Period
		plain  spec.Period // with neither wrap nor clamp; the zero period if refused
		wraps  spec.Period
		clamps spec.Period
	}
	for _, c := range []try{
		{period(6, 0, 24, 0), period(6, 0, 24, 0), period(6, 0, 24, 0), period(6, 0, 24, 0)},
		{period(22, 0, 6, 0), spec.Period{}, period(22, 0, 6, 0), period(22, 0, 24, 0)},
		{period(24, 0, 24, 0), spec.Period{}, spec.Period{}, period(23, 59, 24, 0)},
		{period(24, 0, 6, 0), spec.Period{}, spec.Period{}, period(23, 59, 24, 0)},
		{period(8, 0, 8, 0), period(8, 0, 8, 0), period(8, 0, 8, 0), period(8, 0, 8, 0)},
		{spec.Period{On: 5, Off: 60000}, spec.Period{}, spec.Period{}, spec.Period{On: 5, Off: 1440}},
	} {
		for i, want := range []spec.Period{c.plain, c.wraps, c.clamps} {
			ics := designICS()
			ics.Wrap = i == 1
			ics.Clamp = i == 2
			b := heatingOnly(t, ics, "2026-01-14T12:00:00Z")
			in := spec.Input{Kind: spec.SetPeriod, Table: spec.CHTable, Day: spec.All, Slot: 2, Period: c.in}
			if want == (spec.Period{}) {
				b.refused(in, spec.BadPeriod)
			} else {
				b.do(in)
			}
			assert.Equal(t, want, b.u.channel[spec.CH].table[spec.Wed][1])
			for _, slot := range []uint8{0, 4, 9} {
				in.Slot = slot
				b.refused(in, spec.NoSuchSlot)
			}
			in.Slot = 1
			in.Day = spec.Mon
			b.refused(in, spec.NoSuchTable)
			in.Day, in.Table = spec.All, spec.BothTables
			b.refused(in, spec.NoSuchTable)
		}
	}
}

// BST-9, INP-4: lengths with a step of 30 and a longest of 180 minutes.
func TestBoostsAsAccepted(t *testing.T) {
	for _, c := range []struct{ asked, clamped uint32 }{{1, 30}, {29, 30}, {45, 30}, {179, 150}, {181, 180}, {4294967295, 180}} {
		ics := designICS()
		b := heatingOnly(t, ics, "2026-01-14T12:00:00Z")
		b.refused(boost(spec.CH, c.asked), spec.BadBoost)
		ics.Clamp = true
		b = heatingOnly(t, ics, "2026-01-14T12:00:00Z")
		b.do(boost(spec.CH, c.asked))
		assert.EqualValues(t, c.clamped*60, b.u.channel[spec.CH].boostLeft)
	}
}

// LCK-2, LCK-5 to LCK-8, LCK-18.
func TestLockTermsAndSounder(t *testing.T) {
	ics := designICS()
	ics.Clamp = true // LCK-5: no matter
	b := heatingOnly(t, ics, "2026-10-25T00:00:00+01:00")
	good := spec.LockTerms{Days: 1, NoticeDays: 1, Notice: [2]uint8{10, 60}, Restricted: [2]uint8{255, 255}, Sounder: [4]uint16{90}, Sounders: 1}
	for _, spoil := range []func(*spec.LockTerms){
		func(t *spec.LockTerms) { t.Days = 0; t.NoticeDays = 0 },
		func(t *spec.LockTerms) { t.Days = 1000 },
		func(t *spec.LockTerms) { t.NoticeDays = 2 },
		func(t *spec.LockTerms) { t.Notice[spec.HW] = 9 },
		func(t *spec.LockTerms) { t.Restricted[spec.CH] = 61 },
		func(t *spec.LockTerms) { t.Sounders = 5 },
		func(t *spec.LockTerms) { t.Sounders = 255 },
		func(t *spec.LockTerms) { t.Sounder[0] = 1440 },
	} {
		bad := good
		spoil(&bad)
		b.refused(spec.Input{Kind: spec.LockArm, Credential: "2468", Terms: bad}, spec.BadTerms)
	}
	b.refused(spec.Input{Kind: spec.LockArm, Credential: "2469", Terms: good}, spec.WrongCredential)
	b.refused(spec.Input{Kind: spec.LockRemove, Credential: "2468"}, spec.LockDormant)
	b.until("2026-10-25T00:20:00+01:00")
	b.do(spec.Input{Kind: spec.LockArm, Credential: "2468", Terms: good})
	b.until("2026-10-25T01:40:00Z")
	b.refused(spec.Input{Kind: spec.LockRemove, Credential: "24680"}, spec.WrongCredential)
	b.do(spec.Input{Kind: spec.LockRemove, Credential: "2468"})
	b.changes(
		"2026-10-25T00:20:00+01:00 alert 2 LCK-3",
		"2026-10-25T01:30:00+01:00 sounder 1 LCK-18",
		"2026-10-25T01:31:00+01:00 sounder 0 LCK-18",
		"2026-10-25T01:30:00Z sounder 1 LCK-18",
		"2026-10-25T01:31:00Z sounder 0 LCK-18",
		"2026-10-25T01:40:00Z alert 0 LCK-8",
	)
}

// CPL-6: heating closes hot water while hot water's permit is shut; heating held back by its own permit does not.
func TestCouplingAndPermits(t *testing.T) {
	b := newBench(t, designICS(), "2026-01-14T12:00:00Z",
		spec.Input{Kind: spec.Fit, FitOption: spec.FitCoupling, FitValue: uint8(spec.Gravity)})
	b.do(mode(spec.HW, spec.Always))
	b.do(mode(spec.CH, spec.Always))
	b.until("2026-01-14T12:30:00Z")
	b.do(spec.Input{Kind: spec.LockArm, Credential: "2468", Terms: spec.LockTerms{
		Days: 1, NoticeDays: 1, Notice: [2]uint8{10, 20}, Restricted: [2]uint8{255, 255},
	}})
	b.until("2026-01-14T13:30:00Z")
	b.changes(
		"2026-01-14T12:30:00Z alert 2 LCK-3",
		"2026-01-14T12:50:00Z ch 0 LCK-13",
		"2026-01-14T12:50:00Z hw 0 LCK-13",
		"2026-01-14T13:30:00Z hw 1 MOD-6",
		"2026-01-14T13:30:00Z ch 1 MOD-6",
	)
}

// CLK-11, CLK-12, CLK-13.
func TestUnsetClock(t *testing.T) {
	u := New(designICS())
	b := &bench{t: t, u: u, zone: instant(t, "2026-01-14T00:00:00Z").Location(), start: instant(t, "2026-01-14T00:00:00Z")}
	b.do(spec.Input{Kind: spec.PowerOn})
	b.until("2026-01-14T00:00:01Z")
	b.refused(override(spec.CH), spec.ClockUnset)
	b.refused(holiday(1), spec.ClockUnset)
	b.do(spec.Input{Kind: spec.HolidayCancel})
	b.do(boost(spec.CH, 30))
	b.do(override(spec.CH)) // OVR-13
	b.do(boost(spec.CH, 30))
	b.do(mode(spec.HW, spec.Always))
	b.until("2026-01-14T01:00:00Z")
	b.do(clock("2026-06-10 08:30"))
	b.changes(
		"2026-01-14T00:00:01Z ch 1 BST-1",
		"2026-01-14T00:00:01Z ch 0 CLK-11",
		"2026-01-14T00:00:01Z ch 1 BST-1",
		"2026-01-14T00:00:01Z hw 1 MOD-6",
		"2026-01-14T00:30:01Z ch 0 CLK-11",
		"2026-01-14T01:00:00Z ch 1 MOD-2",
	)
}

// OVR-7, OVR-8, BST-7.
func TestModeChangeUnderAnOverride(t *testing.T) {
	for _, kept := range []bool{false, true} {
		ics := designICS()
		ics.OverrideKept = kept
		b := heatingOnly(t, ics, "2026-01-14T08:00:00Z", twoPeriods...)
		b.do(override(spec.CH))
		b.do(mode(spec.CH, spec.Table)) // MOD-9
		assert.True(t, b.u.channel[spec.CH].overridden)
		b.do(mode(spec.CH, spec.Span))
		assert.Equal(t, kept, b.u.channel[spec.CH].overridden)
		b.u.Advance(4 * 3600) // 12:00: s is 1 in `span`, 0 in `table`
		b.do(mode(spec.CH, spec.Table))
		assert.False(t, b.u.channel[spec.CH].overridden)
		b.do(boost(spec.CH, 60))
		b.do(mode(spec.CH, spec.Span))
		b.do(mode(spec.CH, spec.Table))
		assert.Zero(t, b.u.channel[spec.CH].boostLeft)
	}
}

// RST-1 to RST-7, LCK-9.
func TestReset(t *testing.T) {
	for _, unsets := range []bool{false, true} {
		ics := designICS()
		ics.ResetUnsetsClock = unsets
		b := heatingOnly(t, ics, "2026-01-14T12:00:00Z", period(1, 0, 2, 0))
		b.do(spec.Input{Kind: spec.LockArm, Credential: "2468", Terms: spec.LockTerms{
			Days: 5, NoticeDays: 1, Notice: [2]uint8{10, 10}, Restricted: [2]uint8{10, 10},
		}})
		b.do(holiday(9))
		b.u.Advance(90)
		b.do(spec.Input{Kind: spec.Reset})
		want := New(ics)
		assert.Equal(t, want.channel[spec.HW].table, b.u.channel[spec.HW].table)
		assert.Equal(t, want.channel[spec.CH].table, b.u.channel[spec.CH].table)
		assert.Equal(t, spec.Table, b.u.channel[spec.HW].mode)
		assert.False(t, b.u.holiday)
		assert.EqualValues(t, 90, b.u.counted)
		if unsets {
			assert.Equal(t, "unset", b.display())
		} else {
			assert.Equal(t, "2026-01-14 12:01:30", b.display())
		}
	}
}
