package evidence_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
)

// closed returns how long a relay, open at first, was closed on each local day up to the end of the bench's run.
func (b *bench) closed(s spec.Signal) map[string]time.Duration {
	hours := map[string]time.Duration{}
	since, on := time.Time{}, false
	until := func(end time.Time) {
		for at := since; at.Before(end); {
			midnight := time.Date(at.Year(), at.Month(), at.Day()+1, 0, 0, 0, 0, at.Location())
			stop := end
			if midnight.Before(end) {
				stop = midnight
			}
			hours[at.Format(time.DateOnly)] += stop.Sub(at)
			at = stop
		}
	}
	for _, c := range b.changes {
		if c.Signal != s {
			continue
		}
		if on {
			until(b.at(c.At))
		}
		since, on = b.at(c.At), c.Level == 1
	}
	if on {
		until(b.at(b.now))
	}
	return hours
}

// SAP 2012, table 9 (from memory): weekdays 07:00 to 09:00 and 16:00 to 23:00, weekends 07:00 to 23:00: 9 h and 16 h, 77 h a week. It
// is a space-heating model of that edition; later ones differ. Here it is the default table of both channels, over a year's weeks with
// both changes of summer time, and again after a reset; then the times of one week.
func TestDefaultTableIsTheStandardOccupancyPattern(t *testing.T) {
	monday := time.Date(2026, 1, 5, 0, 0, 0, 0, zone(t, "Europe/London"))
	const weeks = 52
	for name, cycle := range map[string]spec.Cycle{"5-2": spec.Cycle52, "7day": spec.Cycle7Day} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			onBoth(t, func(t *testing.T, m model) {
				b := newBench(t, m, fitted(cycle), monday)
				b.goTo(monday.AddDate(0, 0, 7*(weeks-1)))
				weekday := map[spec.Cycle]spec.Day{spec.Cycle52: spec.Weekdays, spec.Cycle7Day: spec.Wed}[cycle]
				b.table(spec.HWTable, weekday)
				b.table(spec.CHTable, weekday, periods("10:00-10:30")...)
				b.do(spec.Input{Kind: spec.Reset})
				b.goTo(monday.AddDate(0, 0, 7*weeks))
				for _, relay := range []spec.Signal{spec.SigHW, spec.SigCH} {
					hours := b.closed(relay)
					for week := range weeks {
						var total time.Duration
						for d := range 7 {
							day := monday.AddDate(0, 0, 7*week+d)
							want := 9 * time.Hour
							if d >= 5 {
								want = 16 * time.Hour
							}
							got := hours[day.Format(time.DateOnly)]
							require.Equal(t, want, got, day)
							total += got
						}
						require.Equal(t, 77*time.Hour, total)
					}
				}
				b.forget()
				b.goTo(monday.AddDate(0, 0, 7*weeks+7))
				var want []turn
				for d := range 7 {
					times := []string{"07:00:00", "09:00:00", "16:00:00", "23:00:00"}
					if d >= 5 {
						times = []string{"07:00:00", "23:00:00"}
					}
					for i, at := range times {
						date := monday.AddDate(0, 0, 7*weeks+d).Format("Mon 2006-01-02 ")
						want = append(want, turn{date + at + " +0000", spec.Level(1 - i%2)})
					}
				}
				require.Equal(t, want, b.turns(spec.SigHW))
				require.Equal(t, want, b.turns(spec.SigCH))
			})
		})
	}
}
