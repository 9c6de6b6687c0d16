package diagnosis

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/replay"
)

// all returns the ids of a set's causes, the others too.
func all(s *Set) []string {
	ids := ids(s)
	for i := range s.Others {
		ids = append(ids, s.Others[i].ID)
	}
	return ids
}

// Cold radiators with an open valve missing, and a relay an hour late: neither cause explains what the other does.
var valveAndClock = house{sensed: []string{
	`{what: ch relay, becomes: on, when: "2026-11-10 07:30:00Z", who: log}`, `{what: ch relay, becomes: off, when: "2026-11-10 09:30:00Z", who: log}`,
	`{what: ch relay, becomes: on, when: "2026-11-11 07:30:00Z", who: log}`,
	"{what: ch valve, is: shut, when: 2026-11-11 19:30, who: integrator}", "{what: ch relay, is: on, when: 2026-11-11 19:30, who: integrator}",
	"{what: radiators, never: warm, when: 2026-11-10 18:00-22:30}", "{what: radiators, never: warm, when: 2026-11-11 18:00-22:30}",
	"{what: tap, is: hot, when: 2026-11-11 20:00}",
}}

func TestTwoCausesAtOnce(t *testing.T) {
	r := valveAndClock.diagnose(t)
	first := all(&r.Sets[0])
	assert.Contains(t, first, "clock/summer-time-twice + part/dead/the heating valve", "%s", write(t, r))
	assert.Empty(t, r.Sets[0].Departs)
	for i := range r.Sets {
		for _, id := range all(&r.Sets[i]) {
			if id == "clock/summer-time-twice" || id == "part/dead/the heating valve" {
				assert.NotZero(t, i, "%s alone does not explain it", id)
			}
		}
	}
}

// A boiler that is dead explains a house that is cold throughout. So do two valves, and no evidence tells the two apart: they are one set, in
// which the simple cause comes first.
func TestASingleCauseDoesNotHideTwo(t *testing.T) {
	r := house{sensed: []string{
		"{what: radiators, never: warm, when: 2026-11-10 17:30-22:30}", "{what: radiators, never: warm, when: 2026-11-11 17:30-22:30}",
		"{what: tap, never: hot, when: 2026-11-10 08:00-22:30}", "{what: tap, never: hot, when: 2026-11-11 07:00-22:30}",
		"{what: ch relay, is: on, when: 2026-11-11 19:00, who: integrator}", "{what: hw relay, is: on, when: 2026-11-11 19:00, who: integrator}",
	}}.diagnose(t)
	first := all(&r.Sets[0])
	two := slices.Index(first, "part/dead/the hot-water valve + part/dead/the heating valve")
	one := slices.Index(first, "part/dead/the boiler")
	require.Positive(t, two, "%s", write(t, r))
	require.GreaterOrEqual(t, one, 0)
	assert.Less(t, one, two)
	assert.NotContains(t, first, "part/dead/the boiler + part/dead/the pump", "of two causes each is needed")
}

// A clock an hour out in a house that stays cold: whatever keeps the boiler from firing goes with it, and not only what stood for all.
func TestWhatHasTheSameEffect(t *testing.T) {
	r := house{sensed: append([]string{
		"{what: radiators, never: warm, when: 2026-11-10 18:00-22:30}", "{what: radiators, never: warm, when: 2026-11-11 18:00-22:30}",
		"{what: tap, never: hot, when: 2026-11-10 08:00-22:30}", "{what: tap, never: hot, when: 2026-11-11 08:00-22:30}",
	}, valveAndClock.sensed[:3]...)}.diagnose(t)
	first := all(&r.Sets[0])
	for _, part := range []string{"part/dead/the pump", "part/dead/the boiler", "part/ignition"} {
		assert.True(t, slices.Contains(first, "clock/summer-time-twice + "+part) || slices.Contains(first, part+" + clock/summer-time-twice"), "%s: %s", part, write(t, r))
	}
}

// The clock was read an hour out, and says nothing of a valve that does not open.
func TestWhatTheAccountTellsOfIsNotAll(t *testing.T) {
	h := valveAndClock
	h.settings = `
  - {is: "mode hw table", source: read}
  - {is: "mode ch table", source: read}
  - {is: "table ch weekdays 06:30-08:30 17:00-22:00", source: read}
  - {is: "table ch weekend 08:00-22:30", source: read}
  - {is: "table hw every 06:00-07:30 18:00-19:30", source: read}
  - clock thu 17:00`
	r := h.diagnose(t)
	assert.Contains(t, all(&r.Sets[0]), "part/dead/the heating valve + clock/summer-time", "%s", write(t, r))
	assert.Equal(t, Clock, r.Sets[0].Causes[slices.Index(ids(&r.Sets[0]), "part/dead/the heating valve + clock/summer-time")].Also)
}

// Something may have begun at any time; that it began in a stretch of the history is as probable as the stretch is long.
func TestOnsets(t *testing.T) {
	c := valveAndClock.complaint(t)
	r, err := Diagnose(c)
	require.NoError(t, err)
	b := &builder{c: c, base: r.base}
	sum, short, long := 0.0, 0.0, 0.0
	for _, o := range b.onsets() {
		sum += o.share
		switch {
		case o.at == b.base.From:
			assert.Greater(t, o.share, beganBefore)
		case o.at < c.Sensed[1].When.Windows[0].To: // after 07:30, before 09:30
			short = o.share
		case long == 0:
			long = o.share // after 09:30, before 22:30
		}
	}
	assert.InDelta(t, 1, sum, 1e-9)
	assert.InDelta(t, 13.0/2, long/short, 0.1)
}

func TestOthersAreWrittenAsIDs(t *testing.T) {
	data, err := json.Marshal(Set{Others: Others{{ID: "a", Words: "lengthy"}, {ID: "b"}}})
	require.NoError(t, err)
	assert.Contains(t, string(data), `"others":["a","b"]`)
	data, err = json.Marshal(Set{})
	require.NoError(t, err)
	assert.NotContains(t, string(data), "others")
}

// A cause is told in the ways that fit as well as the best, and in no others.
func TestWaysThatFitAsWell(t *testing.T) {
	r := house{sensed: []string{
		"{what: radiators, never: warm, when: 2026-11-11 17:30-22:30}", "{what: tap, never: hot, when: 2026-11-11 07:00-22:30}",
		"{what: radiators, is: warm, when: 2026-11-05 20:00}",
	}}.diagnose(t)
	i := slices.Index(ids(&r.Sets[0]), "forgotten/holiday")
	require.GreaterOrEqual(t, i, 0, "%s", write(t, r))
	c := &r.Sets[0].Causes[i]
	require.NotEmpty(t, c.Ways, "%s", write(t, r))
	assert.LessOrEqual(t, len(c.Ways), mostWays)
	assert.Len(t, c.Worlds(), 1+len(c.Ways))
	assert.NotContains(t, c.Ways, c.Detail)
	assert.Contains(t, strings.Join(strings.Fields(write(t, r)), " "), c.Detail+"; or as well: "+c.Ways[0])
	for _, w := range c.Worlds() {
		h, err := replay.Run(&w, nil)
		require.NoError(t, err)
		for k := range r.complaint.Sensed {
			assert.NotEqual(t, replay.Departs, replay.Compare(h, &r.complaint.Sensed[k]).Verdict)
		}
	}
	for _, o := range r.Sets[0].Others {
		assert.Empty(t, o.Ways, "those are told by name only")
	}
}

// Heating's period begins two hours late: an hour is likelier beforehand, and the evidence says two.
func TestHoursOut(t *testing.T) {
	r := house{sensed: []string{
		`{what: ch relay, becomes: on, when: "2026-11-10 19:00:00Z", who: log}`, `{what: ch relay, becomes: off, when: "2026-11-10 22:00:00Z", who: log}`,
		`{what: ch relay, becomes: on, when: "2026-11-11 19:00:00Z", who: log}`, `{what: ch relay, becomes: on, when: "2026-11-11 06:30:00Z", who: log}`,
	}}.diagnose(t)
	c := r.Sets[0].Causes[0]
	assert.Equal(t, "tables/hour-out/on/late/ch/monday-to-friday/2", c.ID, "%s", write(t, r))
	assert.Equal(t, "it stands at 19:00-22:00", c.Detail)
	assert.Empty(t, c.Ways)
}

// Heating's times went into hot water's table, and heating kept the one it left the factory with.
func TestTheOtherChannelsTable(t *testing.T) {
	r := house{sensed: []string{
		`{what: hw relay, becomes: on, when: "2026-11-10 17:00:00Z", who: log}`, `{what: hw relay, becomes: off, when: "2026-11-10 22:00:00Z", who: log}`,
		`{what: hw relay, becomes: on, when: "2026-11-11 06:30:00Z", who: log}`, `{what: ch relay, becomes: on, when: "2026-11-10 16:00:00Z", who: log}`,
		`{what: ch relay, becomes: off, when: "2026-11-10 23:00:00Z", who: log}`, `{what: ch relay, becomes: on, when: "2026-11-11 07:00:00Z", who: log}`,
	}}.diagnose(t)
	assert.Equal(t, "tables/channel/ch-into-hw", r.Sets[0].Causes[0].ID, "%s", write(t, r))
}

// The clock was read twelve hours out, and the table as it was read is not what is wanted: both may be complained of.
func TestTwoThingsThatTheAccountTells(t *testing.T) {
	r := house{settings: `
  - {is: "mode hw always", source: read}
  - {is: "mode ch table", source: read}
  - {is: "table ch every 06:30-08:30 17:00-22:00", source: read}
  - clock thu 06:00`, wanted: "{words: warm in the evening only, means: [{what: hw relay, is: off, when: 2026-11-10 23:00-23:50}, {what: ch relay, is: on, when: 2026-11-10 18:00-21:00}]}"}.diagnose(t)
	found := false
	for i := range r.Sets {
		found = found || slices.Contains(all(&r.Sets[i]), "clock/half-day + forgotten/mode/hw/always")
	}
	assert.True(t, found, "%s", write(t, r))
}
