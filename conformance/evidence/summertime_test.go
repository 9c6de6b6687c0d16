package evidence_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
)

// zones are places by their standard offset from UTC in minutes. Offsets are compared, not the tz database's flag of summer time, which
// is inverted in Dublin.
var zones = []struct {
	name   string
	offset int16
}{
	{"Europe/London", 0},
	{"Europe/Dublin", 0},
	{"Europe/Berlin", 60},
	{"Atlantic/Azores", -60},
}

// changesOfOffset returns every instant from 2000 to 2037 at which the tz database moves the zone's clocks.
func changesOfOffset(t *testing.T, loc *time.Location) (list []time.Time) {
	t.Helper()
	at := time.Date(2000, 1, 1, 0, 0, 0, 0, loc)
	for {
		_, at = at.ZoneBounds()
		require.False(t, at.IsZero())
		if at.UTC().Year() > 2037 {
			return list
		}
		list = append(list, at)
	}
}

// Directive 2000/84/EC, article 2: summer time begins at 01:00 UTC on the last Sunday in March; article 3: it ends at 01:00 UTC on the
// last Sunday in October, from 2002 on. The Summer Time Act 1972 as amended by SI 2002/262 says so for the UK.
func requireRule(t *testing.T, at time.Time, spring bool) {
	t.Helper()
	utc := at.UTC()
	month := time.October
	if spring {
		month = time.March
	}
	require.Equal(t, month, utc.Month(), utc)
	require.Equal(t, time.Sunday, utc.Weekday(), utc)
	require.Equal(t, month+1, utc.AddDate(0, 0, 7).Month(), "%s is not the last Sunday", utc)
	require.Equal(t, "01:00:00", utc.Format(time.TimeOnly))
}

// What the display reads just before and just after each change, as the relays show it: hot water has a period for the last minute
// before the change, heating one for the first minute after.
func TestReadingsAroundEachChangeOfSummerTime(t *testing.T) {
	onBoth(t, func(t *testing.T, m model) {
		for _, z := range zones {
			loc := zone(t, z.name)
			ics := fitted(spec.Cycle24h)
			ics.Zone = z.offset
			changes := changesOfOffset(t, loc)
			require.Len(t, changes, 2*38, z.name)
			for _, change := range changes {
				before, after := change.Add(-time.Minute), change
				_, offsetBefore := before.Zone()
				_, offsetAfter := after.Zone()
				spring := offsetAfter == offsetBefore+3600
				require.True(t, spring || offsetAfter == offsetBefore-3600)
				requireRule(t, change, spring)

				b := newBench(t, m, ics, change.Add(-3*time.Hour))
				b.table(spec.HWTable, spec.All, spec.Period{On: minuteOf(before), Off: minuteOf(before) + 1})
				b.table(spec.CHTable, spec.All, spec.Period{On: minuteOf(after), Off: minuteOf(after) + 1})
				b.forget()
				b.advance(6 * time.Hour)

				// Seconds from the change. Of one second, hot water opens after heating closes (OUT-3).
				const hw, ch = spec.SigHW, spec.SigCH
				type moved struct {
					at     int
					signal spec.Signal
					level  spec.Level
				}
				want := []moved{{-60, hw, 1}, {0, ch, 1}, {0, hw, 0}, {60, ch, 0}}
				if !spring {
					// The hour comes twice, and with it both minutes.
					want = []moved{
						{-3600, ch, 1}, {-3540, ch, 0}, {-60, hw, 1}, {0, ch, 1}, {0, hw, 0}, {60, ch, 0}, {3540, hw, 1}, {3600, hw, 0},
					}
				}
				var got []moved
				for _, c := range b.changes {
					got = append(got, moved{int(c.At) - 3*3600, c.Signal, c.Level})
				}
				require.Equal(t, want, got, "%s, %s", z.name, change)

				if spring {
					skipped := clock(change)
					skipped.Minute -= 30
					require.Equal(t, spec.Reply{Outcome: spec.Refused, Refusal: spec.SkippedReading}, b.try(skipped), "%s, %s", z.name, change)
				}
			}
		}
	})
}

// A clock that is set once, in 2000, comes to noon of every day when the tz database says that it is noon there, to the end of 2037.
// The emulator only: the second model runs through five years in the tests of recurrences.
func TestAClockSetOnceKeepsCivilTime(t *testing.T) {
	t.Parallel()
	for _, z := range zones {
		loc := zone(t, z.name)
		ics := fitted(spec.Cycle24h)
		ics.Zone = z.offset
		b := newBench(t, emulated, ics, time.Date(2000, 1, 1, 0, 0, 0, 0, loc))
		b.mode(spec.HW, spec.Off)
		b.table(spec.CHTable, spec.All, periods("12:00-12:01")...)
		b.forget()
		b.goTo(time.Date(2038, 1, 1, 0, 0, 0, 0, loc))

		var want, got []int64
		for day := 1; ; day++ {
			noon := time.Date(2000, 1, day, 12, 0, 0, 0, loc)
			if noon.Year() > 2037 {
				break
			}
			want = append(want, noon.Unix())
		}
		for _, c := range b.changes {
			if c.Level == 1 {
				got = append(got, b.at(c.At).Unix())
			}
		}
		assert.Len(t, want, 38*365+10, "ten leap days")
		assert.Equal(t, want, got, z.name)
	}
}
