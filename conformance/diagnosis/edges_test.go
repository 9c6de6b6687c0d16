package diagnosis

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
)

// builderOf returns what the hypotheses about a sample complaint are made from.
func builderOf(t *testing.T, name string) *builder {
	t.Helper()
	path := filepath.Join("../../testdata/complaints", name)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	c, err := complaint.Parse(path, data)
	require.NoError(t, err)
	w, err := replay.FromComplaint(c)
	require.NoError(t, err)
	h, err := replay.Run(&w, new(replay.Buffers))
	require.NoError(t, err)
	return &builder{c: c, base: w, h: h}
}

// By the log 06:42:00 on the 5th and 06:49:00 on the 19th, with 06:30 set: 12 minutes behind and half a minute more each day.
func TestAClockIsFittedToALog(t *testing.T) {
	b := builderOf(t, "later-every-week.yaml")
	ahead, ppm, ok := b.fitClock()
	require.True(t, ok)
	require.InDelta(t, -30.0/86_400*1e6, ppm, 3)
	days := float64(b.edges(complaint.CHRelay)[0].at-b.base.From) / 86_400
	require.InDelta(t, -12*60+30*days, ahead, 10)

	b = builderOf(t, "ten-minutes-an-hour.yaml")
	_, _, ok = b.fitClock()
	require.False(t, ok, "four edges of one evening say nothing of a rate")
}

// What came on at 17:15 and 18:15, each time for ten minutes.
func TestBursts(t *testing.T) {
	b := builderOf(t, "ten-minutes-an-hour.yaml")
	bursts := b.bursts(complaint.CHRelay, complaint.Flame)
	require.Len(t, bursts, 2)
	for _, u := range bursts {
		require.EqualValues(t, 600, u.to-u.from)
	}
	require.EqualValues(t, 3600, bursts[1].from-bursts[0].from)
}

// What a permit accounts for is told by where in the hour it lies. On at 13:15 one day and off at 18:25 another make ten minutes from a quarter
// past; what the table does by itself, on at 17:00 and off at 22:00, is no permit's.
func TestPermits(t *testing.T) {
	log := func(level, when string) string {
		return "{what: ch relay, becomes: " + level + ", when: \"" + when + "Z\", who: log}"
	}
	of := func(sensed ...string) []permit {
		c := house{source: "read", sensed: sensed}.complaint(t)
		base, err := replay.FromComplaint(c)
		require.NoError(t, err)
		h, err := replay.Run(&base, new(replay.Buffers))
		require.NoError(t, err)
		return (&builder{c: c, base: base, h: h}).permits()
	}
	at := int64(calendar.Days(2026, 11, 10))*calendar.Day + 13*calendar.Hour + 15*calendar.Minute

	require.Equal(t, []permit{{from: at, minutes: 10, support: 2}}, of(log("on", "2026-11-10 13:15:00"), log("off", "2026-11-11 18:25:00")))
	require.Equal(t, []permit{{from: at, minutes: 10, support: 3}, {from: at, minutes: 30, support: 2}},
		of(log("on", "2026-11-10 13:15:00"), log("off", "2026-11-11 18:25:00"), log("off", "2026-11-08 23:25:10"), log("off", "2026-11-06 12:45:00")))
	require.Empty(t, of(log("on", "2026-11-10 17:00:00"), log("off", "2026-11-10 22:00:00"), log("off", "2026-11-11 18:25:00")), "no on is left")
	require.Empty(t, of(log("on", "2026-11-10 13:15:00"), log("off", "2026-11-11 18:20:00")), "5 minutes an hour is no allowance (LCK-13)")

	b := builderOf(t, "ten-minutes-an-hour.yaml")
	ps := b.permits()
	require.EqualValues(t, 10, ps[0].minutes)
	require.Equal(t, 4, ps[0].support, "on at 17:15 and 18:15, off at 17:25 and 18:25")
}

// How far a thermostat that is in the sun or in a draught is out nobody knows: it is looked for in two sizes, of which each has half of the weight;
// no other fault has a size.
func TestSizes(t *testing.T) {
	warm := plant.Reads(plant.RoomStatContact, 4*plant.Celsius)
	require.Equal(t, []plant.Fault{warm, plant.Reads(plant.RoomStatContact, 8*plant.Celsius)}, sizes(warm))
	require.Equal(t, []plant.Fault{plant.Dies(plant.PumpLoad)}, sizes(plant.Dies(plant.PumpLoad)))
}

// A lock of which no alert is mentioned is half as probable as one that shows.
func TestALockShows(t *testing.T) {
	weight := func(sensed ...string) float64 {
		c := house{sensed: sensed}.complaint(t)
		base, err := replay.FromComplaint(c)
		require.NoError(t, err)
		h, err := replay.Run(&base, new(replay.Buffers))
		require.NoError(t, err)
		b := &builder{c: c, base: base, h: h}
		b.lock()
		return b.causes[0].weight
	}
	require.InDelta(t, unmentioned, weight()/weight("{what: alert, is: restricted, when: 2026-11-12 17:00}"), 1e-9)
}

// A boiler that was called from half past eleven to twenty to one, two nights in a row.
func TestASecondControlOverMidnight(t *testing.T) {
	mornings := `
  - {is: "mode hw table", source: read}
  - {is: "mode ch table", source: read}
  - {is: "table ch every 06:30-08:30", source: read}
  - {is: "table hw every 06:00-07:30 18:00-19:30", source: read}
  - clock thu 18:00`
	r := house{settings: mornings, sensed: []string{
		`{what: boiler call, becomes: on, when: "2026-11-09 23:30:35Z", who: log}`, `{what: boiler call, becomes: off, when: "2026-11-10 00:40:05Z", who: log}`,
		`{what: boiler call, becomes: on, when: "2026-11-10 23:30:35Z", who: log}`, `{what: boiler call, becomes: off, when: "2026-11-11 00:40:05Z", who: log}`,
		"{what: ch relay, is: off, when: 2026-11-09 23:00 to 2026-11-10 01:00, who: log}",
		"{what: ch relay, is: off, when: 2026-11-10 23:00 to 2026-11-11 01:00, who: log}",
		"{what: ch valve, is: open, when: 2026-11-10 23:45, who: integrator}",
	}}.diagnose(t)
	first := r.Sets[0].Causes[0]
	require.Equal(t, "outside/second-control/heating", first.ID, "%s", write(t, r))
	require.Equal(t, "23:30-00:40", first.Detail)
}

// A table of two periods that was told of in one go is done, or not done, as one.
func TestATableIsOneEdit(t *testing.T) {
	b := builderOf(t, "times-on-the-other-channel.yaml")
	require.Greater(t, len(b.base.Acts), 1)
	require.Len(t, b.together(0), len(b.base.Acts))
	require.Equal(t, b.together(0), b.together(1))
}

// The four whose causes have to be reckoned from what was logged.
func TestCausesThatAreReckoned(t *testing.T) {
	for file, id := range map[string]string{
		"ten-minutes-an-hour.yaml": "lock/restricted", "later-every-week.yaml": "clock/loses",
		"a-second-clock.yaml": "outside/second-control/heating", "times-on-the-other-channel.yaml": "slip/table/1",
	} {
		r, err := Diagnose(builderOf(t, file).c)
		require.NoError(t, err)
		require.Equal(t, id, r.Sets[0].Causes[0].ID, file)
	}
}

// A clock that has not followed the change is looked for in the weeks after it; later somebody has put it right.
func TestSummerTimeHasItsSeason(t *testing.T) {
	weight := func(asked string) float64 {
		text := "title: Plover House\nasked: " + asked + " 18:00\nsafety: no\nunit: {cycle: 5/2}\ninstallation: {plan: two valves}\nsettings: [mode ch table]\n" +
			"sensed:\n  - {what: radiators, is: cold, when: " + asked + " 12:00}\nwanted: as set\n"
		c, err := complaint.Parse("house.yaml", []byte(text))
		require.NoError(t, err, text)
		w, err := replay.FromComplaint(c)
		require.NoError(t, err)
		b := &builder{c: c, base: w}
		var found float64
		b.summerTime(func(id, _ string, weight float64, _ ...variant) {
			if id == "summer-time" {
				found = weight
			}
		})
		require.NotZero(t, found)
		return found
	}
	require.InDelta(t, summerTimeSoon/summerTimeLater, weight("2026-11-12")/weight("2027-01-14"), 1e-9)
	require.Equal(t, weight("2026-11-12"), weight("2027-04-12"))
}
