package explore

import (
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/emulator/calendar"
)

var full = flag.Bool("full", false, "explore every wrong build of the sample and every seeded fault")

// world is a small world by hand.
type world struct {
	given, letters string // lines, with '; ' between them
	horizon        uint64 // s
}

const morning = "power on; clock 2026-11-16 06:00; table both every 06:10-06:20 06:40-07:20"

// worlds has for each wrong build of the sample a world in which its mistake shows, and the shortest way to it: its steps by hand.
var worlds = map[string]struct {
	world
	steps int
}{
	"OFF_A_MINUTE_LATE":           {world{morning, "override ch", 30 * calendar.Minute}, 2},
	"EQUAL_TIMES_ALL_DAY":         {world{morning, "period ch mon 3 06:00 06:00", 30 * calendar.Minute}, 1},
	"LAST_EDGE_WINS":              {world{"power on; clock 2026-11-16 06:00; table both every 06:10-07:00 06:20-06:30", "override hw", 75 * calendar.Minute}, 2},
	"WEEKEND_FROM_FRIDAY":         {world{"fit cycle 5/2; power on; clock 2026-11-20 06:00", "override hw", 4 * calendar.Hour}, 2},
	"EDIT_AT_NEXT_MINUTE":         {world{morning, "period ch mon 1 05:00 06:30", 30 * calendar.Minute}, 1},
	"SPAN_BY_SLOT":                {world{"power on; clock 2026-11-16 06:00; period ch mon 1 08:00 09:00; period ch mon 2 06:10 06:20; mode ch span", "override hw", 4 * calendar.Hour}, 1},
	"SAME_MODE_CANCELS":           {world{morning, "override ch; mode ch table", 30 * calendar.Minute}, 2},
	"MODE_TAG":                    {world{morning, "boost hw 60; mode hw off; mode hw table", 30 * calendar.Minute}, 3},
	"OVERRIDE_ENDS_AT_MIDNIGHT":   {world{"power on; clock 2026-11-16 23:50", "override ch", 8 * calendar.Hour}, 2},
	"OVERRIDE_STORES_END":         {world{morning, "override ch; clock 2026-11-16 07:00", 75 * calendar.Minute}, 3},
	"SHARED_EDIT_ENDS_BOTH":       {world{"fit timing shared; power on; clock 2026-11-16 06:25; raw period both mon 1 06:10 06:20; raw period both mon 2 06:40 07:20; mode hw span", "override hw; raw period both mon 2 06:22 07:20", 75 * calendar.Minute}, 2},
	"OVERRIDE_INVERTS_RELAY":      {world{"fit coupling gravity; " + morning, "override ch; override hw", 30 * calendar.Minute}, 3},
	"BOOST_ON_CIVIL_CLOCK":        {world{morning, "boost ch 60; clock 2026-11-16 07:00", 3 * calendar.Hour}, 3},
	"BOOST_BY_THE_MINUTE":         {world{morning, "boost ch 60; mode ch off", 2 * calendar.Hour}, 7},
	"BOOST_ADDS":                  {world{"power on; clock 2026-11-16 06:00; table both every 20:00-21:00", "boost ch 60", 4 * calendar.Hour}, 3},
	"REFUSED_BOOST_ENDS_OVERRIDE": {world{morning, "override ch; boost ch 61", 30 * calendar.Minute}, 2},
	"HOLIDAY_OF_WHOLE_HOURS":      {world{morning + "; mode ch always; mode hw always", "holiday 1", 20 * calendar.Hour}, 2},
	"HOLIDAY_END_NOT_MOVED":       {world{morning + "; mode ch always; mode hw always", "holiday 1; clock 2026-11-15 06:00", 20 * calendar.Hour}, 3},
	"GRAVITY_NOT_BOOST":           {world{"fit coupling gravity; " + morning, "boost ch 60", 30 * calendar.Minute}, 1},
	"HEATING_FIRST":               {world{morning, "override hw", 30 * calendar.Minute}, 1},
	"RESET_CLEARS_LOCK":           {world{morning, "lock arm {credential} 2 1 none none none none none; reset", 30 * calendar.Minute}, 2},
	"RESET_LOSES_SECONDS":         {world{morning, "reset", 75 * calendar.Minute}, 3},
	"LOCK_STOPS_ON_RESERVE":       {world{"power on; clock 2026-11-16 06:00; mode ch off; mode hw off", "lock arm {credential} 1 0 none none none none none; power off; power on", 25 * calendar.Hour}, 5},
	"LOCK_SAVED_BY_DAY":           {world{"power on; clock 2026-11-16 06:00; table both every 06:10-06:20", "lock arm {credential} 1 0 none none none none none; power off; power on", 25 * calendar.Hour}, 6},
	"PERMIT_ON_CLOCK_HOUR":        {world{"power on; clock 2026-11-16 06:20; mode ch always", "lock arm {credential} 1 1 none 30 none none none", 2 * calendar.Hour}, 2},
	"SOUNDER_CLOCK_UNSET":         {world{"power on", "lock arm {credential} 1 1 none none none none 00:10", 30 * calendar.Minute}, 2},
	"LOCKED_OUT":                  {world{morning, "lock remove {wrong}; lock arm {credential} 1 1 none none none none none", 30 * calendar.Minute}, 4},
	"RESERVE_A_SECOND_LONG":       {world{"power on; clock 2026-11-16 06:00; table both every 20:00-21:00", "power off; power on; override ch", 9 * calendar.Hour}, 4},
	"CUT_KEEPS_BOOST":             {world{morning, "boost ch 60; power off; power on", 30 * calendar.Minute}, 3},
	"COUPLING_DEFAULTS":           {world{"power on; clock 2026-11-16 06:50; table both every 06:10-06:20 06:40-07:20", "power off; fit coupling gravity; power on", 75 * calendar.Minute}, 3},
	"FRONT_LIVE_ON_RESERVE":       {world{morning, "power off; reset", 30 * calendar.Minute}, 2},
	"SET_KEEPS_SECONDS":           {world{morning, "clock 2026-11-16 07:00", 90 * calendar.Minute}, 3},
	"AUTUMN_ONCE":                 {world{"power on; clock 2026-10-25 00:20; table both every 01:10-01:20", "override hw", 3 * calendar.Hour}, 4},
	"AUTUMN_AN_HOUR_EARLY":        {world{"power on; clock 2026-10-25 00:20; table both every 01:10-01:20", "override hw", 3 * calendar.Hour}, 1},
	"FOURTH_SUNDAY":               {world{"power on; clock 2026-03-22 00:20; table both every 02:10-02:20", "override hw", 3 * calendar.Hour}, 1},
}

// Every wrong build is found in its world, on a way that is as short as it can be, departs there again from new, and fails by the runner of
// 'check' on the vector made of it, which the right sample passes. On a sample of them here; with -full on all.
func TestEveryWrongBuildIsFound(t *testing.T) {
	testtool.Need(t, "clang", "clang")
	testtool.Need(t, "wasm-ld", "lld")
	page, err := os.ReadFile("../../testdata/firmware/wrong_builds.txt")
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(page)), "\n")
	require.Len(t, lines, len(worlds))
	for i, line := range lines {
		name, _, _ := strings.Cut(line, "\t")
		w, ok := worlds[name]
		require.True(t, ok, name)
		if i%8 != 0 && !*full {
			continue
		}
		t.Run(name, func(t *testing.T) {
			module := wrongBuild(t, name)
			b := boundsOfSample(t, "override", w.horizon)
			b.Given = given(t, b.ICS, strings.Split(w.given, "; ")...)
			b.Letters = given(t, b.ICS, strings.Split(w.letters, "; ")...)
			b.States = 100_000
			r, err := Run(t.Context(), b, Options{Workers: 2, Firmware: opens(module)})
			require.NoError(t, err)
			require.NotNil(t, r.Counterexample, "%s: %d states", r.Stopped, r.States)
			c := r.Counterexample
			require.NotNil(t, c.Departure)
			assert.Len(t, c.Steps, w.steps, "%s %v", c.Departure, c.lines())
			confirmed, err := Confirm(t.Context(), &b, c, opens(module))
			require.NoError(t, err)
			require.Equal(t, c.Departure, confirmed)
			right, err := Run(t.Context(), b, Options{Workers: 2, Firmware: opens(sample.Module)})
			require.NoError(t, err)
			require.Nil(t, right.Counterexample)

			finding, err := Vector(t.Context(), &b, c, opens(module))
			require.NoError(t, err)
			require.NotNil(t, finding)
			require.Equal(t, runner.Fail, finding.Result.Verdict)
			_, err = finding.File()
			require.NoError(t, err)
		})
	}
}
