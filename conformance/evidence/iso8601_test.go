package evidence_test

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// Days of the week, dates and durations are those of ISO 8601-1, as Go's time package has them: weeks begin on Monday, an hour has 3600
// seconds, a day of the calendar has as many as its readings take.

// A clock set to any date of 2000 to 2099 has that date's day of the week: with a table of its own for each day, heating begins at 01:00 on
// Mondays, at 02:00 on Tuesdays, and so on, today and tomorrow.
func TestDayOfTheWeekFollowsFromTheDate(t *testing.T) {
	onBoth(t, func(t *testing.T, m model) {
		step := 1
		if m.slow {
			step = 61
		}
		ics := fitted(spec.Cycle7Day)
		ics.SummerTime = false // so that every day has 24 hours
		first := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
		b := newBench(t, m, ics, first)
		b.mode(spec.HW, spec.Off)
		for d := range uint16(7) {
			hour := (d + 1) * 60
			b.table(spec.CHTable, spec.Mon+spec.Day(d), spec.Period{On: hour, Off: hour + 1})
		}
		b.forget()
		days := 0
		for date := first; date.Year() < 2100; date = date.AddDate(0, 0, step) {
			b.do(clock(date))
			b.forget()
			set := b.now
			b.advance(48 * time.Hour)
			var got []uint64
			for _, c := range b.changes {
				if c.Level == 1 {
					got = append(got, c.At-set)
				}
			}
			iso := func(t time.Time) uint64 { return uint64(t.Weekday()+6)%7 + 1 } // 1 for Monday
			require.Equal(t, []uint64{iso(date) * 3600, 86400 + iso(date.AddDate(0, 0, 1))*3600}, got, date)
			days++
		}
		require.Equal(t, (36525+step-1)/step, days)
	})
}

// The clock can be set to a date if the calendar has it.
func TestDatesAreTheCalendars(t *testing.T) {
	onBoth(t, func(t *testing.T, m model) {
		b := quietBench(t, m, time.Date(2026, 1, 14, 12, 0, 0, 0, time.UTC))
		taken := 0
		for year := 1999; year <= 2100; year++ {
			for month := range 14 {
				for d := range 33 {
					at := time.Date(year, time.Month(month), d, 12, 0, 0, 0, time.UTC)
					exists := at.Year() == year && int(at.Month()) == month && at.Day() == d
					want := spec.Reply{}
					if !exists || year < spec.FirstYear || year > spec.LastYear {
						want = spec.Reply{Outcome: spec.Refused, Refusal: spec.BadDate}
					} else {
						taken++
					}
					got := b.try(spec.Input{
						Kind: spec.SetClock, Date: spec.Date{Year: uint16(year), Month: uint8(month), Day: uint8(d)}, Minute: 12 * 60,
					})
					if got != want {
						require.Equal(t, want, got, "%d-%d-%d", year, month, d)
					}
				}
			}
		}
		require.Equal(t, 36525, taken)
	})
}

// A boost is a duration of elapsed time, over changes of summer time too: PT1H is 3600 s, PT3H 10 800 s.
func TestBoostIsADurationOfElapsedTime(t *testing.T) {
	loc := zone(t, "Europe/London")
	onBoth(t, func(t *testing.T, m model) {
		for _, change := range changesOfOffset(t, loc) {
			for _, length := range []time.Duration{time.Hour, 2 * time.Hour, 3 * time.Hour} {
				b := quietBench(t, m, change.Add(-30*time.Minute-time.Hour))
				b.advance(time.Hour)
				begin := b.now
				b.do(spec.Input{Kind: spec.Boost, Channel: spec.CH, Amount: uint32(length / time.Minute)})
				b.advance(4 * time.Hour)
				require.Equal(t, []string{
					b.line(begin, spec.SigCH, 1),
					b.line(begin+uint64(length/time.Second), spec.SigCH, 0),
				}, b.told())
			}
		}
	})
}

// A holiday of N days ends at 00:00 civil, N calendar days on, over months' ends, leap days and changes of summer time.
func TestHolidayIsADurationOfCalendarDays(t *testing.T) {
	loc := zone(t, "Europe/London")
	onBoth(t, func(t *testing.T, m model) {
		step, lengths := 11, []int{1, 2, 7, 14, 30, 31, 99}
		if m.slow {
			step, lengths = 97, []int{1, 7, 31}
		}
		for date := time.Date(2027, 1, 1, 15, 20, 0, 0, loc); date.Year() < 2029; date = date.AddDate(0, 0, step) {
			for _, n := range lengths {
				b := newBench(t, m, fitted(spec.Cycle24h), date)
				b.mode(spec.HW, spec.Always)
				b.mode(spec.CH, spec.Off)
				b.forget()
				b.do(spec.Input{Kind: spec.Holiday, Amount: uint32(n)})
				end := time.Date(date.Year(), date.Month(), date.Day()+n, 0, 0, 0, 0, loc)
				b.goTo(end.Add(time.Hour))
				require.Equal(t, []string{
					b.line(0, spec.SigHW, 0),
					b.line(uint64(end.Sub(date)/time.Second), spec.SigHW, 1),
				}, b.told(), "%d days from %s", n, date)
			}
		}
	})
}

// Every instant in the published vectors is one of RFC 3339's profile of ISO 8601, of a date that exists, and its offset is the one that
// the tz database gives Europe/London then.
func TestInstantsOfTheVectorsAreISO8601(t *testing.T) {
	loc := zone(t, "Europe/London")
	files, err := fs.Glob(vectors.Files, "hand/*.json")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, name := range files {
		data, err := fs.ReadFile(vectors.Files, name)
		require.NoError(t, err)
		var content any
		require.NoError(t, json.Unmarshal(data, &content))
		found := 0
		var walk func(where string, x any)
		walk = func(where string, x any) {
			switch x := x.(type) {
			case []any:
				for i, e := range x {
					walk(fmt.Sprintf("%s/%d", where, i), e)
				}
			case map[string]any:
				for key, e := range x {
					place := path.Join(where, key)
					if key != "start" && key != "until" && key != "at" {
						walk(place, e)
						continue
					}
					text, ok := e.(string)
					require.True(t, ok, place)
					at, err := time.Parse(time.RFC3339, text)
					require.NoError(t, err, place)
					require.Equal(t, at.In(loc).Format("2006-01-02T15:04:05-07:00"), text, place)
					found++
				}
			}
		}
		walk(name, content)
		require.Greater(t, found, 10, name)
	}
}
