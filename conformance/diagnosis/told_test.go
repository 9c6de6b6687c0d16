package diagnosis

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/spec"
)

// toldOf returns the ids of what a complaint's account tells of.
func toldOf(t *testing.T, c *complaint.Complaint) (ids []string) {
	t.Helper()
	base, err := replay.FromComplaint(c)
	require.NoError(t, err)
	h, err := replay.Run(&base, new(replay.Buffers))
	require.NoError(t, err)
	b := &builder{c: c, base: base, h: h}
	b.told(b.bearingOf(h))
	for i := range b.causes {
		ids = append(ids, b.causes[i].id)
	}
	return ids
}

// A table, a mode or a clock that was read off and is not what is wanted is told of, though nothing that is wanted fail by it: mode 'span' is on
// whenever the table is.
func TestWhatIsReadAndNotWantedIsTold(t *testing.T) {
	const evening = "{what: ch relay, is: on, when: every weekday 17:00-22:00}"
	wanted := func(morning string) string {
		return "{words: warm in the morning, means: [{what: ch relay, is: on, when: every weekday " + morning + "}, " + evening + "]}"
	}
	settings := func(mode, table, clock string) string {
		return "\n  - {is: \"mode ch " + mode + "\", source: read}\n  - {is: \"table ch every " + table + "\", source: read}\n  - mode hw off\n  - clock " + clock
	}
	const asSet = "06:30-08:30 17:00-22:00"
	for name, x := range map[string]struct {
		house house
		want  []string
	}{
		"as wanted":         {house{settings: settings("table", asSet, "thu 18:00"), wanted: wanted("06:30-08:30")}, nil},
		"nearly as wanted":  {house{settings: settings("table", asSet, "thu 18:00"), wanted: wanted("06:25-08:35")}, nil},
		"half an hour late": {house{settings: settings("table", asSet, "thu 18:00"), wanted: wanted("06:00-08:30")}, []string{"tables/not-as-wanted/ch"}},
		"the default table": {
			// What the factory left on weekdays and, in a unit of 24 hours, on all days.
			house{unit: "", settings: "\n  - {is: \"mode ch table\", source: read}\n  - {is: \"table ch weekdays 07:00-09:00 16:00-23:00\", source: read}\n" +
				"  - {is: \"table ch weekend 07:00-23:00\", source: read}\n  - mode hw off\n  - clock thu 18:00", wanted: wanted("06:40-08:45")},
			[]string{"tables/default/ch"},
		},
		"a slip says why": {
			// 18:30 for 06:30 leaves an on after the off, so that it would not be taken; an hour late is.
			house{settings: settings("table", "07:30-08:30 17:00-22:00", "thu 18:00"), wanted: wanted("06:30-08:30")},
			[]string{"tables/hour-out/on/late/ch/monday-to-friday/1"},
		},
		"what is still to come": {
			// Asked on a Thursday at 18:00, within the evening: of the only Thursday since the 6th the account has the half.
			house{settings: settings("table", asSet, "thu 18:00"), wanted: "{words: warm, means: [{what: ch relay, is: on, when: every thursday 06:30-08:30 since 2026-11-06}, " +
				"{what: ch relay, is: on, when: every thursday 17:00-22:00 since 2026-11-06}]}"}, nil,
		},
		"in mode span":    {house{settings: settings("span", asSet, "thu 18:00"), wanted: wanted("06:30-08:30")}, []string{"forgotten/mode/ch/span"}},
		"in mode always":  {house{settings: settings("always", asSet, "thu 18:00"), wanted: wanted("06:30-08:30")}, []string{"forgotten/mode/ch/always"}},
		"half an hour":    {house{settings: settings("table", asSet, "thu 18:30"), wanted: wanted("06:30-08:30")}, []string{"clock/ahead"}},
		"a day":           {house{settings: settings("table", asSet, "fri 18:00"), wanted: wanted("06:30-08:30")}, []string{"clock/day/+1"}}, // every day has the same table
		"three minutes":   {house{settings: settings("table", asSet, "thu 18:03"), wanted: wanted("06:30-08:30")}, nil},
		"ten minutes":     {house{settings: settings("table", asSet, "thu 18:10"), wanted: wanted("06:30-08:30")}, []string{"clock/ahead"}}, // off ten minutes too soon
		"nothing is said": {house{settings: settings("span", "07:00-08:30 17:00-22:00", "thu 18:00")}, nil},
	} {
		assert.Equal(t, x.want, toldOf(t, x.house.complaint(t)), name)
	}
}

func TestApart(t *testing.T) {
	p := func(on, off int) spec.Period { return spec.Period{On: uint16(on), Off: uint16(off)} }
	for _, x := range []struct {
		xs, ys []spec.Period
		want   int
	}{
		{nil, nil, 0},
		{[]spec.Period{p(60, 120)}, nil, 60},
		{[]spec.Period{p(60, 120)}, []spec.Period{p(60, 120)}, 0},
		{[]spec.Period{p(60, 120)}, []spec.Period{p(70, 130)}, 20},
		{[]spec.Period{p(60, 180)}, []spec.Period{p(60, 100), p(90, 180)}, 0}, // together they are the one
		{[]spec.Period{p(60, 90), p(100, 120)}, []spec.Period{p(0, 1440)}, 1390},
	} {
		assert.Equal(t, x.want, apart(x.xs, x.ys))
		assert.Equal(t, x.want, apart(x.ys, x.xs))
	}
}
