package wasm

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
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

// The module takes many seconds at a stride, and the process takes each for itself: nothing shows which, in the unit or in a wrong one whose
// mistake is in what is counted.
func TestStridesAreSeconds(t *testing.T) {
	for _, defines := range [][]string{
		nil, {"-DTHROUGH_CUT_KEPT=1", "-DRESERVE=7"}, {"-DLOST_CLOCK_RESUMES=1", "-DRESERVE=90"}, {"-DBUG_LOCK_STOPS_ON_RESERVE=1"},
		{"-DBUG_SOUNDER_CLOCK_UNSET=1"}, {"-DBUG_RESERVE_A_SECOND_LONG=1", "-DRESERVE=7"}, {"-DBUG_BOOST_ON_CIVIL_CLOCK=1"},
	} {
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
			for range 60 {
				scripts = append(scripts, requests(t, strides(random)...))
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
			require.Greater(t, changes, 500)
		})
	}
}

// strides are requests of which most let time pass, much and little, with what counts seconds begun in between.
func strides(random *rand.Rand) []string {
	lines := []string{"new", "power on"}
	for range 30 {
		lines = append(lines, []string{
			"clock 2026-03-28 07:58", "mode hw always", "boost hw 60", "boost ch 120", "lock arm 246810 1 1 20 none 10 30 08:00,18:30",
			"lock arm 246810 2 1 none 60 59 none none", "lock arm 246810 1 0 none none 15 15 00:00", "power off", "power on", "reset", "go 59",
		}[random.IntN(11)], fmt.Sprintf("go %d", []int{1, 7 * 60, 3600, 86_400}[random.IntN(4)]+random.IntN(3)-1), fmt.Sprintf("go %d", random.IntN(20_000)))
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
