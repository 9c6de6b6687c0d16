package calendar_test

import (
	"testing"
	"time"
	_ "time/tzdata" // the IANA tz database, the same on every machine

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/calendar"
)

var epoch = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// Source: ISO 8601-1 as Go's time package has it.
func TestDatesAgreeWithTimePackage(t *testing.T) {
	for day := time.Date(1995, 1, 1, 0, 0, 0, 0, time.UTC); day.Year() < 2105; day = day.AddDate(0, 0, 1) {
		n := int(day.Sub(epoch).Hours()) / 24
		y, m, d := day.Date()
		require.Equal(t, n, calendar.Days(y, int(m), d), day)
		gotY, gotM, gotD := calendar.Date(n)
		require.Equal(t, [3]int{y, int(m), d}, [3]int{gotY, gotM, gotD}, day)
		require.Equal(t, (int(day.Weekday())+6)%7, calendar.Weekday(n), day)
		require.True(t, calendar.Valid(y, int(m), d), day)
		// The day after a month's last is no date.
		if next := day.AddDate(0, 0, 1); next.Day() == 1 {
			require.False(t, calendar.Valid(y, int(m), d+1), day)
		}
	}
	require.False(t, calendar.Valid(2026, 0, 1))
	require.False(t, calendar.Valid(2026, 13, 1))
	require.False(t, calendar.Valid(2026, 1, 0))
}

// Source: IANA tz database, Europe/London and Europe/Dublin by offset (Dublin's flag is inverted there), 1996 to 2037; the rule
// itself from 2002 on in Directive 2000/84/EC, articles 2 and 3, and for the UK in the Summer Time Act 1972 as amended by SI 2002/262.
func TestSummerTimeAgreesWithTimeZoneDatabase(t *testing.T) {
	for _, name := range []string{"Europe/London", "Europe/Dublin"} {
		zone, err := time.LoadLocation(name)
		require.NoError(t, err)
		summer := func(at time.Time) bool {
			_, offset := at.In(zone).Zone()
			return offset == 3600
		}
		changes := 0
		at := time.Date(1996, 1, 1, 0, 0, 0, 0, time.UTC)
		for at.Year() < 2038 {
			utc := at.Unix() - epoch.Unix()
			require.Equal(t, summer(at), calendar.SummerTime(utc), "%s at %s", name, at)
			next := epoch.Add(time.Duration(calendar.NextChange(utc)) * time.Second)
			require.True(t, next.After(at))
			require.Equal(t, summer(at), summer(next.Add(-time.Second)), "%s before %s", name, next)
			require.NotEqual(t, summer(at), summer(next), "%s at %s", name, next)
			// Between here and the change nothing else happens.
			for probe := at; probe.Before(next); probe = probe.Add(6 * time.Hour) {
				require.Equal(t, summer(at), summer(probe))
			}
			at = next
			changes++
		}
		require.Equal(t, 2*(2037-1996+1)+1, changes)
	}
}

// Around the turn of any year it is winter, and the next change is that of the coming March; and the years that are kept are as those worked out.
func TestSummerTimeAtTheTurnOfAYear(t *testing.T) {
	lastSunday := func(year int, month time.Month) int64 {
		at := time.Date(year, month, 31, 1, 0, 0, 0, time.UTC)
		return at.AddDate(0, 0, -int(at.Weekday())).Unix() - epoch.Unix()
	}
	for year := 1600; year < 2800; year++ {
		turn := time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC).Unix() - epoch.Unix()
		for hour := range int64(5 * 24) {
			at := turn + (hour-60)*calendar.Hour
			require.False(t, calendar.SummerTime(at), "%d", year)
			require.Equal(t, lastSunday(year, time.March), calendar.NextChange(at), "%d", year)
		}
		require.Equal(t, lastSunday(year, time.October), calendar.NextChange(lastSunday(year, time.March)))
		require.Equal(t, lastSunday(year+1, time.March), calendar.NextChange(lastSunday(year, time.October)))
	}
}

func TestSecondsOfDayAndWeek(t *testing.T) {
	monday := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC).Unix() - epoch.Unix()
	require.Equal(t, int64(0), calendar.SecondOfWeek(monday))
	require.Equal(t, int64(calendar.Week-1), calendar.SecondOfWeek(monday-1))
	require.Equal(t, int64(calendar.Day-1), calendar.SecondOfDay(monday-1))
	require.Equal(t, int64(calendar.Day-1), calendar.SecondOfDay(-1))
	require.Equal(t, -1, calendar.DayOf(-1))
}
