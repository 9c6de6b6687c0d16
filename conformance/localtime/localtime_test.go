package localtime

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The zone is that of Go's own tables, through every quarter of an hour of two years.
func TestZonesAreThoseOfTheTables(t *testing.T) {
	for name, zone := range map[string]Zone{
		"Europe/London": {SummerTime: true}, "Europe/Berlin": {Standard: 3600, SummerTime: true}, "UTC": {}, "Asia/Kolkata": {Standard: 19800},
	} {
		where, err := time.LoadLocation(name)
		require.NoError(t, err)
		for at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC); at.Year() < 2028; at = at.Add(15 * time.Minute) {
			utc := int64(at.Sub(epoch) / time.Second)
			there, here := at.In(where), zone.At(utc)
			if there.Format(time.RFC3339) != here.Format(time.RFC3339) {
				t.Fatalf("%s: %v, not %v", name, here, there)
			}
			all := zone.Instants(zone.Reading(utc))
			if len(all) == 0 || len(all) > 2 || all[0] != utc && all[len(all)-1] != utc {
				t.Fatalf("%s: %v is read at %v", name, there, all)
			}
		}
	}
}

func TestParse(t *testing.T) {
	z := Zone{SummerTime: true}
	for text, want := range map[string]string{
		"2026-07-01 12:00":          "2026-07-01T12:00:00+01:00",
		"2026-10-25 01:30":          "2026-10-25T01:30:00+01:00",
		"2026-10-25 01:30 +00:00":   "2026-10-25T01:30:00Z",
		"2026-07-01T12:00:30Z":      "2026-07-01T13:00:30+01:00",
		"2026-07-01 12:00:00+02:00": "2026-07-01T11:00:00+01:00",
	} {
		utc, err := z.Parse(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, z.At(utc).Format(time.RFC3339), text)
	}
	for text, want := range map[string]string{
		"noon":                    "'noon' is not a time such as 2026-01-14 08:00",
		"2026-02-29 12:00":        "2026-02-29 is not in the calendar",
		"2026-02-28 24:00":        "24:00 is 00:00 of the day after",
		"2026-02-28 12:60":        "12:60 is not a time of day",
		"1999-02-28 12:00":        "1999-02-28 is out of range",
		"2026-03-29 01:30":        "summer time skips this reading: 2026-03-29 00:59:59 is followed by 02:00:00",
		"2026-02-28 12:00 +15:00": "+15:00 is not an offset from UTC",
	} {
		_, err := z.Parse(text)
		assert.ErrorContains(t, err, want)
	}
}
