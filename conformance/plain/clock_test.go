package plain

import (
	"testing"
	"time"
	_ "time/tzdata" // the IANA tz database

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
)

// What summer time is compared with is the IANA tz database, the system's or the copy that Go embeds. Directive 2000/84/EC sets the rule for 2002 and
// after; the tables of the database's oldest readers end in 2037.
const firstDirectiveYear, lastTableYear = 2002, 2037

// zones that keep the rule, one for each side of UTC.
var zones = []struct {
	name   string
	offset int16 // minutes
}{
	{"Europe/London", 0},
	{"Europe/Berlin", 60},
	{"Atlantic/Azores", -60},
}

// Every second's reading from an hour before each change to two hours after.
func TestReadingFollowsTheTZDatabase(t *testing.T) {
	for _, zone := range zones {
		loc, err := time.LoadLocation(zone.name)
		require.NoError(t, err)
		ics := designICS()
		ics.Zone = zone.offset
		u := New(ics)
		u.Do(spec.Input{Kind: spec.PowerOn})
		changes := 0
		at := time.Date(firstDirectiveYear, 1, 1, 0, 0, 0, 0, loc)
		for _, next := at.ZoneBounds(); next.Year() <= lastTableYear; _, next = next.ZoneBounds() {
			changes++
			u.Do(clock(next.Add(-time.Hour).In(loc).Format("2006-01-02 15:04")))
			for s := -3600; s < 7200; s++ {
				_, offset := next.Add(time.Duration(s) * time.Second).In(loc).Zone()
				want := next.Add(time.Duration(s+offset) * time.Second)
				if !u.reading().Equal(want) {
					require.Equal(t, want.UTC().Format(time.DateTime), u.reading().Format(time.DateTime), zone.name)
				}
				u.Advance(1)
			}
		}
		assert.Equal(t, 2*(lastTableYear-firstDirectiveYear+1), changes, "two changes a year")
	}
}

// Every hour of 36 years: no change comes at another time.
func TestSummerTimeFollowsTheTZDatabase(t *testing.T) {
	london, err := time.LoadLocation("Europe/London")
	require.NoError(t, err)
	end := time.Date(lastTableYear+1, 1, 1, 0, 0, 0, 0, time.UTC)
	for at := time.Date(firstDirectiveYear, 1, 1, 0, 0, 0, 0, time.UTC); at.Before(end); at = at.Add(time.Hour) {
		if want := at.In(london).IsDST(); inSummerTime(at) != want {
			require.Equal(t, want, inSummerTime(at), at)
		}
	}
}

// Every minute's reading around each change: which are refused, and which instant the others mean.
func TestSettingTheClockFollowsTheTZDatabase(t *testing.T) {
	for _, zone := range zones {
		loc, err := time.LoadLocation(zone.name)
		require.NoError(t, err)
		ics := designICS()
		ics.Zone = zone.offset
		refused, repeated := 0, 0
		for year := firstDirectiveYear; year <= lastTableYear; year++ {
			_, spring := time.Date(year, 1, 1, 0, 0, 0, 0, loc).ZoneBounds()
			_, autumn := spring.ZoneBounds()
			for _, change := range []time.Time{spring, autumn} {
				first := map[string]time.Time{} // when the display first shows a reading
				for m := -240; m < 240; m++ {
					at := change.Add(time.Duration(m) * time.Minute)
					reading := at.In(loc).Format("2006-01-02 15:04")
					if _, before := first[reading]; before {
						repeated++
					} else {
						first[reading] = at
					}
				}
				for m := -120; m < 120; m++ {
					// UTC serves as a calendar without gaps.
					_, offset := change.Add(-time.Second).In(loc).Zone()
					reading := change.UTC().Add(time.Duration(offset)*time.Second + time.Duration(m)*time.Minute).Format("2006-01-02 15:04")
					u := New(ics)
					u.Do(spec.Input{Kind: spec.PowerOn})
					reply := u.Do(clock(reading))
					if at, happens := first[reading]; happens {
						require.Equal(t, spec.Accepted, reply.Outcome, reading)
						require.Equal(t, at.UTC().Format(time.DateTime), u.utc.Format(time.DateTime), reading)
					} else {
						require.Equal(t, spec.Reply{Outcome: spec.Refused, Refusal: spec.SkippedReading}, reply, reading)
						refused++
					}
				}
			}
		}
		years := lastTableYear - firstDirectiveYear + 1
		assert.Equal(t, 60*years, refused)
		assert.Equal(t, 60*years, repeated)
	}
}

func TestLastSundaysOf2026(t *testing.T) {
	assert.Equal(t, time.Date(2026, 3, 29, 1, 0, 0, 0, time.UTC), lastSundayAtOne(2026, time.March))
	assert.Equal(t, time.Date(2026, 10, 25, 1, 0, 0, 0, time.UTC), lastSundayAtOne(2026, time.October))
	assert.Equal(t, time.Date(2024, 3, 31, 1, 0, 0, 0, time.UTC), lastSundayAtOne(2024, time.March), "on the last day")
	assert.Equal(t, time.Date(2027, 10, 31, 1, 0, 0, 0, time.UTC), lastSundayAtOne(2027, time.October), "on the last day")
}

func TestClockSettingsThatAreRefused(t *testing.T) {
	for _, in := range []spec.Input{
		{Kind: spec.SetClock},
		{Kind: spec.SetClock, Date: spec.Date{Year: 1999, Month: 12, Day: 31}},
		{Kind: spec.SetClock, Date: spec.Date{Year: 2100, Month: 1, Day: 1}},
		{Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 2, Day: 29}},
		{Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 13, Day: 1}},
		{Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 1, Day: 0}},
		{Kind: spec.SetClock, Date: spec.Date{Year: 2026, Month: 1, Day: 1}, Minute: 1440},
	} {
		for _, clamp := range []bool{false, true} {
			ics := designICS()
			ics.Clamp = clamp // INP-7
			b := newBench(t, ics, "2026-01-14T05:00:00Z")
			b.refused(in, spec.BadDate)
			assert.Equal(t, "2026-01-14 05:00:00", b.display())
		}
	}
	b := newBench(t, designICS(), "2026-01-14T05:00:00Z")
	b.do(clock("2000-02-29 23:59"))
	b.do(clock("2099-12-31 23:59"))
	b.u.Advance(60)
	assert.Equal(t, "2100-01-01 00:00:00", b.display())
}
