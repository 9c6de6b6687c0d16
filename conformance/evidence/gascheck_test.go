package evidence_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
)

// The interval of a landlord's gas check in Great Britain is set by the Gas Safety (Installation and Use) Regulations 1998: at most 12
// months (regulation 36); a check done in the last two months of it keeps its date, so that the next may be up to 14 months off
// (regulation 36A). These tests show with dates that a countdown in days can hold that interval, and what it does not prove.

// monthsFrom returns the same day of the month so many months on, or the month's last day where it has none such: of the two readings
// of the regulations the one that is never late.
func monthsFrom(date time.Time, months int) time.Time {
	first := time.Date(date.Year(), date.Month()+time.Month(months), 1, date.Hour(), date.Minute(), 0, 0, date.Location())
	last := first.AddDate(0, 1, -1).Day()
	return first.AddDate(0, 0, min(date.Day(), last)-1)
}

// daysBetween counts calendar days.
func daysBetween(a, b time.Time) int {
	day := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	return int(day(b).Sub(day(a)) / (24 * time.Hour))
}

// arming counts days, and shows notice for the last so many of them. Nothing is ever held back: only the alert shows the count.
func arming(days, notice int) spec.Input {
	return spec.Input{Kind: spec.LockArm, Credential: spec.FullICS().Credential, Terms: spec.LockTerms{
		Days: uint16(days), NoticeDays: uint16(notice),
		Notice:     [spec.NumChannels]uint8{spec.NoAllowance, spec.NoAllowance},
		Restricted: [spec.NumChannels]uint8{spec.NoAllowance, spec.NoAllowance},
	}}
}

// quietBench is a unit that switches nothing, so that only the lock shows.
func quietBench(t *testing.T, m model, start time.Time) *bench {
	t.Helper()
	b := newBench(t, m, fitted(spec.Cycle24h), start)
	b.mode(spec.HW, spec.Off)
	b.mode(spec.CH, spec.Off)
	b.forget()
	return b
}

// Whatever the date of a check, the days to 12 months later, and to 14 months later for one done early, can be armed, and the count ends
// on that date. The emulator only: the second model lives through every second of the count.
func TestCountdownHoldsTheGasCheckInterval(t *testing.T) {
	t.Parallel()
	loc := zone(t, "Europe/London")
	shortest, longest := map[int]int{}, map[int]int{}
	for date := time.Date(2000, 1, 1, 12, 0, 0, 0, loc); date.Year() < 2099; date = date.AddDate(0, 0, 1) {
		deadline := monthsFrom(date, 12)
		next := monthsFrom(deadline, 12)
		early := monthsFrom(deadline, -2) // the first day on which a check keeps the date
		for _, c := range []struct {
			months   int
			from, to time.Time
		}{{12, date, deadline}, {14, early, next}} {
			days := daysBetween(c.from, c.to)
			if shortest[c.months] == 0 || days < shortest[c.months] {
				shortest[c.months] = days
			}
			longest[c.months] = max(longest[c.months], days)
			b := quietBench(t, emulated, c.from)
			b.do(arming(days, 0))
			b.forget()
			b.advance(time.Duration(days)*24*time.Hour - time.Second)
			require.Empty(t, b.changes, "armed on %s for %d days", c.from, days)
			b.advance(time.Second)
			require.Len(t, b.changes, 1)
			require.Equal(t, spec.Level(spec.Restricted), b.changes[0].Level)
			require.Equal(t, c.to.Format(time.DateOnly), b.at(b.now).Format(time.DateOnly))
		}
		leap := false
		for y := date.Year(); y <= deadline.Year(); y++ {
			day := time.Date(y, 2, 29, 12, 0, 0, 0, loc)
			leap = leap || day.Month() == time.February && day.After(date) && !day.After(deadline)
		}
		want := 365
		if leap {
			want = 366
		}
		require.Equal(t, want, daysBetween(date, deadline), date)
	}
	// Two months are 59 to 62 days, a year 365 or 366.
	require.Equal(t, map[int]int{12: 365, 14: 59 + 365}, shortest)
	require.Equal(t, map[int]int{12: 366, 14: 62 + 366}, longest)
	require.LessOrEqual(t, longest[14], spec.MaxLockDays)
}

// Both models take every such number of days, up to 999, and no more.
func TestArmingTakesFourteenMonths(t *testing.T) {
	onBoth(t, func(t *testing.T, m model) {
		b := quietBench(t, m, time.Date(2026, 2, 10, 12, 0, 0, 0, zone(t, "Europe/London")))
		for _, days := range []int{365, 366, 424, 428, 999} {
			b.do(arming(days, 62))
		}
		require.Equal(t, spec.Reply{Outcome: spec.Refused, Refusal: spec.BadTerms}, b.try(arming(1000, 62)))
	})
}

// A check on 10 February 2026 is next due by 10 February 2027. Notice begins two months before, when a check begins to keep that date. One
// done on 15 December is next due by 10 February 2028: 422 days. The emulator only, as above.
func TestNoticeCoversTheTwoMonthsInWhichACheckKeepsItsDate(t *testing.T) {
	t.Parallel()
	loc := zone(t, "Europe/London")
	noon := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 12, 0, 0, 0, loc) }
	b := quietBench(t, emulated, noon(2026, 2, 10))
	b.do(arming(365, 62))
	b.goTo(noon(2026, 12, 15))
	b.do(arming(422, 62))
	b.goTo(noon(2028, 6, 1))
	require.Equal(t, []string{
		"2026-02-10T12:00:00+00:00 alert counting",
		"2026-12-10T12:00:00+00:00 alert notice",
		"2026-12-15T12:00:00+00:00 alert counting",
		"2027-12-10T12:00:00+00:00 alert notice",
		"2028-02-10T12:00:00+00:00 alert restricted",
	}, b.told())
}

// The lock counts days of 86 400 s in which its clock runs, not days of the calendar. Over a change of summer time, and over a cut longer
// than the reserve, it shows 'counting' when the calendar's days are up: what it shows is no proof that a legal duty is met.
func TestCountdownIsNoProofOfALegalDuty(t *testing.T) {
	loc := zone(t, "Europe/London")
	onBoth(t, func(t *testing.T, m model) {
		b := quietBench(t, m, time.Date(2026, 3, 28, 12, 0, 0, 0, loc))
		b.do(arming(2, 0))
		b.advance(3 * 24 * time.Hour)
		require.Equal(t, []string{
			"2026-03-28T12:00:00+00:00 alert counting",
			"2026-03-30T13:00:00+01:00 alert restricted", // the calendar's two days were up at 12:00
		}, b.told())

		// A cut of 24 h with a reserve of 8 h takes 16 h from the count.
		b = quietBench(t, m, time.Date(2026, 1, 10, 12, 0, 0, 0, loc))
		b.do(arming(2, 0))
		b.advance(time.Hour)
		b.do(spec.Input{Kind: spec.PowerOff})
		b.advance(24 * time.Hour)
		b.do(spec.Input{Kind: spec.PowerOn})
		b.advance(2 * 24 * time.Hour)
		require.Equal(t, []string{
			"2026-01-10T12:00:00+00:00 alert counting",
			"2026-01-10T13:00:00+00:00 alert none",
			"2026-01-11T13:00:00+00:00 alert counting",
			"2026-01-13T04:00:00+00:00 alert restricted", // the calendar's two days were up on the 12th at 12:00
		}, b.told())
	})
}
