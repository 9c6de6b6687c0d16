package evidence_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
)

// What units of the trade are known to do. Common practice, no source: nobody lays it down, and designs differ; these are the habits
// that the clauses' defaults take up.

// atDawn is a unit at 05:00 on a Wednesday in winter with two periods, 06:30 to 09:00 and 17:00 to 22:00, on heating only.
func atDawn(t *testing.T, m model, ics spec.ICS) *bench {
	t.Helper()
	b := newBench(t, m, ics, time.Date(2026, 1, 14, 5, 0, 0, 0, time.UTC))
	b.mode(spec.HW, spec.Off)
	b.table(spec.CHTable, spec.All, periods("06:30-09:00", "17:00-22:00")...)
	b.forget()
	return b
}

// clockTime lets time pass to an hour and minute of that Wednesday.
func (b *bench) clockTime(hour, minute int) {
	b.t.Helper()
	b.goTo(time.Date(2026, 1, 14, hour, minute, 0, 0, time.UTC))
}

// Common practice, no source: 'once' or 'all day' runs from the day's first on to its last off.
func TestPracticeFirstOnToLastOff(t *testing.T) {
	onBoth(t, func(t *testing.T, m model) {
		b := atDawn(t, m, fitted(spec.Cycle24h))
		b.mode(spec.CH, spec.Span)
		b.clockTime(24, 0)
		require.Equal(t, []string{"2026-01-14T06:30:00+00:00 ch 1", "2026-01-14T22:00:00+00:00 ch 0"}, b.told())
	})
}

// Common practice, no source: the override button flips the channel until the next switching point, which it has no need to move.
func TestPracticeFlipUntilTheNextSwitchingPoint(t *testing.T) {
	onBoth(t, func(t *testing.T, m model) {
		b := atDawn(t, m, fitted(spec.Cycle24h))
		flip := spec.Input{Kind: spec.Override, Channel: spec.CH}
		b.clockTime(8, 0)
		b.do(flip)
		b.clockTime(12, 0)
		b.do(flip)
		b.clockTime(24, 0)
		require.Equal(t, []string{
			"2026-01-14T06:30:00+00:00 ch 1",
			"2026-01-14T08:00:00+00:00 ch 0", // off until 09:00, when it would go off anyway
			"2026-01-14T12:00:00+00:00 ch 1", // on until 17:00, when it would go on anyway
			"2026-01-14T22:00:00+00:00 ch 0",
		}, b.told())
	})
}

// Common practice, no source: a period is deleted by setting its on and its off to the same time.
func TestPracticeEqualTimesDeleteAPeriod(t *testing.T) {
	onBoth(t, func(t *testing.T, m model) {
		for _, same := range []string{"06:30-06:30", "00:00-00:00", "18:00-18:00"} {
			b := atDawn(t, m, fitted(spec.Cycle24h))
			b.do(spec.Input{Kind: spec.SetPeriod, Table: spec.CHTable, Day: spec.All, Slot: 1, Period: periods(same)[0]})
			b.clockTime(24, 0)
			require.Equal(t, []string{"2026-01-14T17:00:00+00:00 ch 1", "2026-01-14T22:00:00+00:00 ch 0"}, b.told(), same)
		}
	})
}

// Common practice, no source: a boost button gives one, two or three hours.
func TestPracticeBoostOfOneToThreeHours(t *testing.T) {
	onBoth(t, func(t *testing.T, m model) {
		ends := map[uint32]string{1: "11:12", 2: "12:12", 3: "13:12"}
		for hours, end := range ends {
			b := atDawn(t, m, fitted(spec.Cycle24h))
			b.clockTime(10, 12)
			b.forget()
			b.do(spec.Input{Kind: spec.Boost, Channel: spec.CH, Amount: 60 * hours})
			b.clockTime(16, 59)
			require.Equal(t, []string{"2026-01-14T10:12:00+00:00 ch 1", "2026-01-14T" + end + ":00+00:00 ch 0"}, b.told())
		}
	})
}

// Common practice, no source: on a gravity system heating brings hot water with it, and hot water can run alone.
func TestPracticeHeatingBringsHotWaterOnGravity(t *testing.T) {
	onBoth(t, func(t *testing.T, m model) {
		ics := fitted(spec.Cycle24h)
		ics.Fitted.Coupling = spec.Gravity
		b := atDawn(t, m, ics)
		b.clockTime(12, 0)
		b.do(spec.Input{Kind: spec.Boost, Channel: spec.HW, Amount: 60})
		b.clockTime(16, 0)
		require.Equal(t, []string{
			"2026-01-14T06:30:00+00:00 hw 1", "2026-01-14T06:30:00+00:00 ch 1",
			"2026-01-14T09:00:00+00:00 ch 0", "2026-01-14T09:00:00+00:00 hw 0",
			"2026-01-14T12:00:00+00:00 hw 1", "2026-01-14T13:00:00+00:00 hw 0",
		}, b.told())
	})
}

// Common practice, no source: a countdown to a service visit is set in days, a year as a rule with notice about a month before, and
// outlives a reset. The second model, which lives through every second of it, is given two days.
func TestPracticeCountdownOutlivesAReset(t *testing.T) {
	onBoth(t, func(t *testing.T, m model) {
		days, notice := 365, 30
		want := []string{
			"2026-01-14T05:00:00+00:00 alert counting", "2026-12-15T05:00:00+00:00 alert notice", "2027-01-14T05:00:00+00:00 alert restricted",
		}
		if m.slow {
			days, notice = 2, 1
			want = []string{
				"2026-01-14T05:00:00+00:00 alert counting", "2026-01-15T05:00:00+00:00 alert notice", "2026-01-16T05:00:00+00:00 alert restricted",
			}
		}
		b := atDawn(t, m, fitted(spec.Cycle24h))
		b.do(arming(days, notice))
		total := time.Duration(days) * 24 * time.Hour
		for range 4 {
			b.advance(total/4 - time.Hour)
			b.do(spec.Input{Kind: spec.Reset})
		}
		b.advance(4 * time.Hour)
		var alerts []string
		for _, c := range b.changes {
			if c.Signal == spec.SigAlert {
				alerts = append(alerts, b.line(c.At, c.Signal, c.Level))
			}
		}
		require.Equal(t, want, alerts)
	})
}
