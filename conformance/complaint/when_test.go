package complaint

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Windows were worked out by hand; they are given as the household's local times with their offset.
type window struct {
	from, to   string
	throughout bool
	blur       int64
}

func windows(t *testing.T, when, who string) []window {
	t.Helper()
	c := parse(t, "title: x\nasked: 2026-11-04 18:00\nsafety: no\nfrom: 2026-10-23 00:00\nsensed: [{what: tap, is: hot, when: "+when+", who: "+who+"}]\n")
	z := c.LocalTime()
	var all []window
	for _, w := range c.Sensed[0].When.Windows {
		const layout = "2006-01-02 15:04:05 -07:00"
		all = append(all, window{z.At(w.From).Format(layout), z.At(w.To).Format(layout), w.Throughout, w.Blur})
	}
	return all
}

func TestTimesAsPeopleSayThem(t *testing.T) {
	one := func(from, to string, throughout bool, blur int64) []window {
		return []window{{from + " +00:00", to + " +00:00", throughout, blur}}
	}
	for when, want := range map[string][]window{
		"2026-11-02 18:00":                     one("2026-11-02 18:00:00", "2026-11-02 18:00:00", false, 300),
		"2026-11-02 18:00:20":                  one("2026-11-02 18:00:20", "2026-11-02 18:00:20", false, 5),
		"2026-11-02 about 18:00":               one("2026-11-02 18:00:00", "2026-11-02 18:00:00", false, 900),
		"2026-11-02 between 17:00 and 19:00":   one("2026-11-02 17:00:00", "2026-11-02 19:00:00", false, 300),
		"2026-11-02 between 23:00 and 01:00":   one("2026-11-02 23:00:00", "2026-11-03 01:00:00", false, 300),
		"2026-11-02 evening":                   one("2026-11-02 18:00:00", "2026-11-02 23:00:00", false, 1800),
		"2026-11-02 night":                     one("2026-11-02 23:00:00", "2026-11-03 06:00:00", false, 1800),
		"2026-11-02":                           one("2026-11-02 00:00:00", "2026-11-03 00:00:00", false, 0),
		"2026-11-02 all day":                   one("2026-11-02 00:00:00", "2026-11-03 00:00:00", true, 0),
		"2026-11-02 06:30-07:30":               one("2026-11-02 06:30:00", "2026-11-02 07:30:00", true, 300),
		"2026-11-02 about 06:30-07:30":         one("2026-11-02 06:30:00", "2026-11-02 07:30:00", true, 900),
		"2026-11-02 22:00-24:00":               one("2026-11-02 22:00:00", "2026-11-03 00:00:00", true, 300),
		"2026-11-02 22:00 to 2026-11-03 07:00": one("2026-11-02 22:00:00", "2026-11-03 07:00:00", true, 300),
		"since 2026-11-02":                     one("2026-11-02 00:00:00", "2026-11-04 18:00:00", true, 0),
		"since 2026-11-02 18:00":               one("2026-11-02 18:00:00", "2026-11-04 18:00:00", true, 300),
		"2026-11-04 17:00-19:00":               one("2026-11-04 17:00:00", "2026-11-04 18:00:00", true, 300), // what is still to come does not count
		"now":                                  one("2026-11-04 18:00:00", "2026-11-04 18:00:00", false, 60),
		"2026-11-02T18:00Z":                    one("2026-11-02 18:00:00", "2026-11-02 18:00:00", false, 300),
		"2026-11-02 18:00 +01:00":              one("2026-11-02 17:00:00", "2026-11-02 17:00:00", false, 300),
		"2026-11-02 17:30-18:00":               one("2026-11-02 17:30:00", "2026-11-02 18:00:00", true, 300), // no offset from UTC
	} {
		t.Run(when, func(t *testing.T) { assert.Equal(t, want, windows(t, when, "household")) })
	}
	assert.EqualValues(t, 120, windows(t, "2026-11-02 18:00", "integrator")[0].blur)
	assert.EqualValues(t, 5, windows(t, "2026-11-02 18:00", "log")[0].blur)
	assert.EqualValues(t, 900, windows(t, "2026-11-02 about 18:00", "log")[0].blur)
}

// On 25 October 2026 the household's clock goes back from 02:00 to 01:00: 01:00 comes twice, and the first is meant.
func TestTimesInTheNightOfTheChange(t *testing.T) {
	assert.Equal(t, []window{{"2026-10-25 01:30:00 +01:00", "2026-10-25 01:30:00 +01:00", false, 300}}, windows(t, "2026-10-25 01:30", "household"))
	assert.Equal(t, []window{{"2026-10-25 01:30:00 +00:00", "2026-10-25 01:30:00 +00:00", false, 300}}, windows(t, "2026-10-25 01:30 +00:00", "household"))
	assert.Equal(t, []window{{"2026-10-25 00:30:00 +01:00", "2026-10-25 02:30:00 +00:00", true, 300}}, windows(t, "2026-10-25 00:30-02:30", "household"), "three hours")
	assert.Equal(t, []window{{"2026-10-25 00:00:00 +01:00", "2026-10-26 00:00:00 +00:00", true, 0}}, windows(t, "2026-10-25 all day", "household"), "25 hours")
	// A rule goes by what the clock shows on either side of the change.
	assert.Equal(t, []window{
		{"2026-10-24 07:00:00 +01:00", "2026-10-24 08:00:00 +01:00", true, 300},
		{"2026-10-25 07:00:00 +00:00", "2026-10-25 08:00:00 +00:00", true, 300},
	}, windows(t, "every weekend 07:00-08:00 to 2026-10-26", "household"))
}

// On 29 March 2026 the household's clock goes on from 01:00 to 02:00: what is said of the hour between is said of the change.
func TestTimesThatNeverCome(t *testing.T) {
	c := parse(t, "title: x\nasked: 2026-04-04 18:00\nsafety: no\nsensed: [{what: tap, is: hot, when: every sun 01:30-02:30 since 2026-03-23}]\n")
	require.Len(t, c.Sensed[0].When.Windows, 1)
	w := c.Sensed[0].When.Windows[0]
	z := c.LocalTime()
	assert.Equal(t, "2026-03-29 02:00 +01:00", z.At(w.From).Format("2006-01-02 15:04 -07:00"))
	assert.Equal(t, "2026-03-29 02:30 +01:00", z.At(w.To).Format("2006-01-02 15:04 -07:00"))
}

func TestRules(t *testing.T) {
	// 23 October 2026 is a Friday, the account ends on Wednesday, 4 November at 18:00.
	for when, want := range map[string]int{
		"every day 07:00":                                     13,
		"every day 19:00":                                     12,
		"every weekday 07:00":                                 9,
		"every weekend 07:00":                                 4,
		"every sat and sun about 07:00":                       4,
		"'every mon, wed 07:00'":                              4,
		"every mondays 07:00":                                 2,
		"every day evening":                                   13, // the fourth's has just begun
		"every day all day":                                   13,
		"every day between 07:00 and 08:00":                   13,
		"every day 07:00 since 2026-11-01":                    4,
		"every day 07:00 from 2026-11-01 to 2026-11-02":       2,
		"every day 07:00 until 2026-10-24":                    2,
		"every sun about 06:30-07:30 since 2026-10-26":        1,
		"every wednesday":                                     2,
		"every weekday 06:30-07:00 from 2026-11-01":           3,
		"every day about 23:30-00:30 to 2026-10-25":           3,
		"every weekend morning":                               4,
		"every weekday between 06:00 and 07:00 to 2026-10-27": 3,
	} {
		all := windows(t, when, "household")
		assert.Len(t, all, want, when)
	}
}

// An account that names no day goes back a fortnight, one that names some goes back to the day before the first.
func TestWhereAnAccountBegins(t *testing.T) {
	begins := func(rest string) string {
		c := parse(t, head+rest)
		return c.LocalTime().At(c.From).Format("2006-01-02 15:04")
	}
	assert.Equal(t, "2026-10-21 00:00", begins("sensed: [{what: tap, is: cold, when: every day 07:00}]\n"))
	assert.Equal(t, "2026-11-01 00:00", begins("sensed: [{what: tap, is: cold, when: 2026-11-02 07:00}]\n"))
	assert.Equal(t, "2026-10-31 00:00", begins("sensed: [{what: tap, is: cold, when: 2026-11-02 about 00:10}]\n"), "it may have been the day before")
	assert.Equal(t, "2026-10-24 00:00", begins("changed: [{what: clocks, when: 2026-10-25}]\n"))
	assert.Equal(t, "2026-10-22 12:00", begins("from: 2026-10-22 12:00\nchanged: [{what: clocks, when: 2026-10-25}]\n"))
}
