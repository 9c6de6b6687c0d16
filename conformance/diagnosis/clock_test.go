package diagnosis

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
)

// A clock that is read an hour out, as a change within the history would have left it, was right before the change: it is not an hour out all
// the time, as the account has it that knows of the reading only.
func TestAClockFoundAsTheChangeLeftIt(t *testing.T) {
	for asked, x := range map[string]struct {
		from, reads   string
		before, after int   // days
		out           int64 // after the change
	}{
		"2027-04-01": {"2027-03-20", "thu 17:00", calendar.Days(2027, 3, 25), calendar.Days(2027, 3, 31), -calendar.Hour},
		"2026-10-29": {"2026-10-17", "thu 19:00", calendar.Days(2026, 10, 21), calendar.Days(2026, 10, 28), calendar.Hour},
	} {
		text := "title: Plover House\nasked: " + asked + " 18:00\nfrom: " + x.from + " 00:00\nsafety: no\nunit: {cycle: 5/2}\ninstallation: {plan: two valves}\n" +
			"settings: [mode ch table, clock " + x.reads + "]\nsensed:\n  - {what: radiators, is: cold, when: " + asked + " 12:00}\nwanted: as set\n"
		c, err := complaint.Parse("house.yaml", []byte(text))
		require.NoError(t, err, text)
		base, err := replay.FromComplaint(c)
		require.NoError(t, err)
		b := &builder{c: c, base: base}
		off := func(w replay.World, day int) int64 {
			h, err := replay.Run(&w, new(replay.Buffers))
			require.NoError(t, err)
			at := int64(day)*calendar.Day + 12*calendar.Hour
			reading, shown := h.Reading(at)
			require.Equal(t, replay.Readable, shown)
			return reading - b.local(at)
		}
		require.Equal(t, x.out, off(base, x.before), "the account")

		var found bool
		b.summerTime(func(id, _ string, _ float64, variants ...variant) {
			for _, v := range variants {
				w, ok := v.apply(base)
				if id != "summer-time" || !ok {
					continue
				}
				found = found || off(w, x.before) == 0 && off(w, x.after) == x.out
			}
		})
		require.True(t, found, asked)
	}
}
