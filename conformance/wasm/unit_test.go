package wasm

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/tetratelabs/wazero"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/emulator/spec"
)

// failures are the ids of the vectors that a unit fails, and their number of all that it was put to.
func failures(tb testing.TB, u iut.IUT, set []*suite.Vector) (failed []string, put int) {
	tb.Helper()
	require.NoError(tb, runner.Run(tb.Context(), u, set, func(r *runner.Result) {
		switch r.Verdict {
		case runner.NotApplicable:
			return
		case runner.Inconclusive:
			tb.Errorf("%s: %s", r.Vector.ID, r.Why)
		case runner.Fail:
			failed = append(failed, r.Vector.ID)
		}
		put++
	}))
	return failed, put
}

// The sample passes the published set, whether it is asked as text or not.
func TestSamplePassesThePublishedSet(t *testing.T) {
	set := published(t)
	for name, text := range map[string]bool{"without text": false, "text": true} {
		t.Run(name, func(t *testing.T) {
			u := opened(t, sample.Module, Options{Text: text})
			failed, put := failures(t, u, set.Vectors)
			require.Empty(t, failed)
			require.Greater(t, put, 500)
		})
	}
}

// A unit that is opened again is one of its own: it is put to test while the first is, and lives on when the first is closed.
func TestOpenAgain(t *testing.T) {
	var part []*suite.Vector
	for _, v := range published(t).Vectors {
		if suite.FamilyOf(v.ID) == "LCK" {
			part = append(part, v)
		}
	}
	passes := func(u *Unit) {
		passed := 0
		assert.NoError(t, runner.Run(t.Context(), u, part, func(r *runner.Result) {
			switch r.Verdict {
			case runner.Pass:
				passed++
			case runner.Fail, runner.Inconclusive:
				t.Errorf("%s: %s %s", r.Vector.ID, r.Verdict, r.Why)
			}
		}))
		assert.Greater(t, passed, 50)
		assert.NoError(t, u.Close())
	}
	first, err := Open(t.Context(), "sample", sample.Module, Options{})
	require.NoError(t, err)
	var tests sync.WaitGroup
	for range 3 {
		u, err := first.OpenAgain(t.Context())
		require.NoError(t, err)
		require.Equal(t, first.Describe(), u.Describe())
		require.Equal(t, first.ICS(), u.ICS())
		tests.Go(func() { passes(u) })
	}
	passes(first)
	tests.Wait()
	last, err := first.OpenAgain(t.Context())
	require.NoError(t, err)
	passes(last)
}

// Where there is no compiler for the machine the engine interprets. It is slow, so that it gets a part of the set.
func TestInterpreter(t *testing.T) {
	var part []*suite.Vector
	for _, v := range published(t).Vectors {
		if family := suite.FamilyOf(v.ID); (family == "OVR" || family == "BST") && v.Until <= 86_400 {
			part = append(part, v)
		}
	}
	u, err := open(t.Context(), "sample", sample.Module, Options{}, wazero.NewRuntimeConfigInterpreter())
	require.NoError(t, err)
	defer u.Close()
	failed, put := failures(t, u, part)
	require.Empty(t, failed)
	require.Greater(t, put, 50)
}

// The module takes many seconds, and minutes, at a stride, and the process takes each second for itself: nothing shows which, in the unit, with
// what can be chosen, or with any mistake.
func TestStridesAreSeconds(t *testing.T) {
	builds := [][]string{
		nil, {"-DTHROUGH_CUT_KEPT=1", "-DRESERVE=7"}, {"-DLOST_CLOCK_RESUMES=1", "-DRESERVE=90"}, {"-DLOST_CLOCK_RESTARTS=1", "-DRESERVE=7"},
		{"-DPAST_MIDNIGHT_WRAP=1"}, {"-DPAST_MIDNIGHT_WRAP=1", "-DOVERRIDE_END_PROGRAMMED=1"}, {"-DSUMMER_TIME=0"},
		{"-DZONE=-210", "-DPERIODS=1"}, {"-DZONE=825", "-DPERIODS=2"}, {"-DCYCLE_FITTED=CYCLE_24H", "-DTIMING_FITTED=TIMING_SHARED"},
		{"-DCHANNELS_FITTED=CHANNELS_CH"}, {"-DCOUPLING_FITTED=COUPLING_GRAVITY", "-DCYCLE_FITTED=CYCLE_5_2", "-DCLOCK_AFTER_RESET_UNSET=1"},
		{"-DBUG_RESERVE_A_SECOND_LONG=1", "-DRESERVE=7"}, {"-DBUG_EQUAL_TIMES_ALL_DAY=1", "-DPAST_MIDNIGHT_WRAP=1"},
	}
	for line := range strings.Lines(string(read(t, filepath.Join(firmware, "wrong_builds.txt")))) {
		name, _, _ := strings.Cut(line, "\t")
		builds = append(builds, []string{"-DBUG_" + name + "=1", "-DRESERVE=90"})
	}
	for _, defines := range builds {
		t.Run(strings.Join(defines, " "), func(t *testing.T) {
			t.Parallel()
			module := opened(t, wasmBuild(t, defines...), Options{})
			dialer, err := iut.Exec("'"+execBuild(t, defines...)+"'", io.Discard)
			require.NoError(t, err)
			process, err := iut.Open(t.Context(), dialer, iut.Options{Timeout: time.Minute})
			require.NoError(t, err)
			defer process.Close()
			var scripts []iut.Script
			random := rand.New(rand.NewPCG(1, 1))
			ics := module.ICS()
			for range 400 {
				scripts = append(scripts, requests(t, strides(random, &ics)...))
			}
			observe := func(u iut.IUT) (all []iut.Observation) {
				require.NoError(t, u.Run(t.Context(), scripts, func(_ int, obs *iut.Observation) {
					require.Nil(t, obs.Trouble)
					o := iut.Observation{Answers: slices.Clone(obs.Answers), Changes: slices.Clone(obs.Changes)}
					for i := range o.Answers {
						o.Answers[i].Words = "" // the module has none
					}
					all = append(all, o)
				}))
				return all
			}
			want := observe(process)
			changes := 0
			for i, got := range observe(module) {
				require.Equal(t, want[i], got, "script %d", i)
				changes += len(got.Changes)
			}
			require.Greater(t, changes, 4000)
		})
	}
}

// strides are requests of which most let time pass, much and little, with what time can end begun in between.
func strides(random *rand.Rand, ics *spec.ICS) []string {
	pick := func(of ...string) string { return of[random.IntN(len(of))] }
	channel := func() string { return pick("hw", "ch") }
	moment := func() string {
		m := []int{0, 1, 60 + random.IntN(60), 1439, 1440, 390, random.IntN(1441)}[random.IntN(7)]
		return fmt.Sprintf("%02d:%02d", m/60, m%60)
	}
	days := map[spec.Cycle][]string{
		spec.Cycle24h: {"all"}, spec.Cycle52: {"weekdays", "weekend"}, spec.Cycle7Day: {"mon", "tue", "wed", "thu", "fri", "sat", "sun"},
	}[ics.Fitted.Cycle]
	edit := func(days ...string) (lines []string) {
		table := "both"
		if ics.Fitted.Timing == spec.Separate {
			table = channel()
		}
		slot, on, off := 1+random.IntN(int(ics.Periods)), moment(), moment()
		for _, day := range days {
			lines = append(lines, fmt.Sprintf("period %s %s %d %s %s", table, day, slot, on, off))
		}
		return lines
	}
	acts := []func() []string{
		func() []string {
			return []string{"clock " + pick("2026-03-28 07:58", "2026-03-29 00:30", "2026-10-24 23:59", "2026-10-25 00:57", "2027-12-31 12:00", "2028-02-28 21:00")}
		},
		func() []string {
			return []string{"mode " + channel() + " " + pick("off", "table", "table", "span", "always")}
		},
		func() []string { return edit(pick(days...)) },
		func() []string { return edit(days...) },
		func() []string { return []string{"override " + channel()} },
		func() []string { return append([]string{"override " + channel()}, edit(days...)...) },
		func() []string { // in the hour that repeats, or before it
			return append([]string{"clock 2026-10-25 00:57", fmt.Sprintf("go %d", random.IntN(7200))}, edit(days...)...)
		},
		func() []string { return []string{"boost " + channel() + " " + pick("60", "120")} },
		func() []string { return []string{pick("holiday 1", "holiday 2", "holiday cancel", "holiday cancel")} },
		func() []string {
			return []string{"lock arm 246810 " + pick("1 1 20 none 10 30 08:00,18:30", "2 1 none 60 59 none none", "1 0 none none 15 15 00:00")}
		},
		func() []string { return []string{pick("power off", "power on", "power on")} },
		func() []string { return []string{pick("reset", "lock remove 246810", "go 59", "go 59")} },
	}
	lines := []string{"new", "power on", "clock 2026-10-24 12:00"}
	for range 40 {
		lines = append(lines, acts[random.IntN(len(acts))]()...)
		lines = append(lines, fmt.Sprintf("go %d", []int{1, 7 * 60, 3600, 43_200}[random.IntN(4)]+random.IntN(3)-1))
	}
	return lines
}

// Observations are the same as those of a process down to the words, if it is asked as text.
func TestModuleAnswersAsAProcessDoes(t *testing.T) {
	module, program := wasmBuild(t), execBuild(t)
	dialer, err := iut.Exec("'"+program+"'", io.Discard)
	require.NoError(t, err)
	process, err := iut.Open(t.Context(), dialer, iut.Options{Timeout: time.Minute})
	require.NoError(t, err)
	defer process.Close()
	scripts := []iut.Script{
		// Six years of events, which do not fit into the buffer at once.
		requests(t, "new", "power on", "clock 2026-01-14 06:00", "mode hw table", "go 200000000", "go 1", "go 3600", "override hw"),
		requests(t, "new", "mode hw off", "power on", "override hw", "boost ch 61", "boost ch 60", "period both mon 1 06:00 07:00",
			"lock arm 246810 30 10 none 30 none 20 08:00,18:30", "go 3000000", "lock remove 1111", "holiday 3", "go 0", "power off", "go 100000"),
	}
	observe := func(u iut.IUT) (all []iut.Observation) {
		require.NoError(t, u.Run(t.Context(), scripts, func(_ int, obs *iut.Observation) {
			require.Nil(t, obs.Trouble)
			all = append(all, iut.Observation{Answers: slices.Clone(obs.Answers), Changes: slices.Clone(obs.Changes)})
		}))
		return all
	}
	want := observe(process)
	require.Greater(t, len(want[0].Changes), 10_000)
	require.Equal(t, process.ICS(), opened(t, module, Options{}).ICS())
	require.Equal(t, want, observe(opened(t, module, Options{Text: true})))
	wordless := observe(opened(t, module, Options{}))
	for i := range want {
		for j := range want[i].Answers {
			want[i].Answers[j].Words, wordless[i].Answers[j].Words = "", ""
		}
	}
	require.Equal(t, want, wordless)
}

func TestEndedContext(t *testing.T) {
	u := opened(t, sample.Module, Options{})
	ctx, cancel := context.WithCancel(t.Context())
	done := 0
	err := u.Run(ctx, []iut.Script{requests(t, "new"), requests(t, "new")}, func(int, *iut.Observation) {
		done++
		cancel()
	})
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, 1, done)
	_, err = Open(ctx, "sample", sample.Module, Options{})
	require.ErrorIs(t, err, context.Canceled)
}
