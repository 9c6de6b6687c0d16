package wasm

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/tetratelabs/wazero"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/emulator/spec"
)

// In pieces of ten seconds, of which each has a change at its end.
func TestGoInPieces(t *testing.T) {
	u := opened(t, hostile(t, "-DACT=0", "-DFAST=10"), Options{})
	obs, err := u.Ask(t.Context(), requests(t, "new", "go 5", "go 32"))
	require.NoError(t, err)
	require.Nil(t, obs.Trouble)
	var at []uint64
	for _, c := range obs.Changes {
		require.Equal(t, spec.SigCH, c.Signal)
		at = append(at, c.At)
	}
	require.Equal(t, []uint64{15, 25, 35}, at, "2 seconds are left, which the module lets pass at once")
}

func TestGiveUpAfterThree(t *testing.T) {
	u := opened(t, hostile(t, "-DACT=2"), Options{})
	bad := requests(t, "new", "boost hw 60")
	var untried []bool
	require.NoError(t, u.Run(t.Context(), []iut.Script{bad, bad, bad, bad, bad}, func(_ int, obs *iut.Observation) {
		require.Equal(t, iut.Died, obs.Trouble.Kind)
		untried = append(untried, obs.Trouble.Untried)
	}))
	require.Equal(t, []bool{false, false, false, true, true}, untried)
}

// What is wrong with a module as a whole is said before anything is asked of it.
func TestModulesThatCannotBeOpened(t *testing.T) {
	for _, c := range []struct {
		name  string
		flags []string
		want  string
	}{
		{"imports", []string{"-DACT=0", "-DIMPORTS"}, `it imports "wasi_snapshot_preview1"."clock_time_get", "env"."puts", and a module for the bench can import nothing`},
		{"a missing export", []string{"-DACT=0", "-DINCOMPLETE"}, "function reply_size is missing, which has () -> (i32)"},
		{"another type", []string{"-DACT=0", "-DOTHER_TYPE"}, "function feed has (i64) -> (i64) and should have (i32) -> (i32)"},
		{"too small a buffer", []string{"-DACT=0", "-DSMALL"}, "request_size gives 64, and should give 121 or more"},
		{"a buffer outside", []string{"-DACT=0", "-DOUTSIDE"}, "request gives 2147483647 and request_size gives 128, which goes beyond the module's 65536 bytes"},
		{"much memory", []string{"-DACT=0", "-Wl,--initial-memory=33554432"}, "it begins with 512 pages of memory, and the limit is 256 pages"},
		{"a loop in reset", []string{"-DACT=0", "-DRESET_LOOPS"}, "reset: no answer within 100ms"},
		{"no statement", []string{"-DACT=0", `-DICS="ok\n"`}, "its conformance statement: "},
		{"an unknown option", []string{"-DACT=0", `-DICS="ics colour red\nok\n"`}, "colour"},
		{"another version", []string{"-DACT=0", `-DICS="error version 2\n"`}, "does not speak version 1"},
		{"no answer to hello", []string{"-DACT=0", `-DICS="ics periods 1\n"`}, "feed(0) has nothing more of the answer"},
		{"more after hello", []string{"-DACT=0", `-DICS_END="ok\nok\n"`}, `after the answer to 'hello 1' came "ok\n"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Open(t.Context(), "this.wasm", hostile(t, c.flags...), Options{Timeout: 100 * time.Millisecond})
			var open *iut.OpenError
			require.ErrorAs(t, err, &open)
			require.ErrorContains(t, err, "cannot test this.wasm: ")
			require.ErrorContains(t, err, c.want)
		})
	}
}

// An endless loop keeps nothing else in this process from running, a garbage collection least of all.
func TestAnEndlessLoopStopsNobodyElse(t *testing.T) {
	module := hostile(t, "-DACT=1")
	for name, config := range map[string]wazero.RuntimeConfig{"machine code": wazero.NewRuntimeConfig(), "interpreter": wazero.NewRuntimeConfigInterpreter()} {
		t.Run(name, func(t *testing.T) {
			u, err := open(t.Context(), "loop", module, Options{Timeout: time.Minute}, config)
			require.NoError(t, err)
			defer u.Close()
			stop := errors.New("enough")
			ctx, cancel := context.WithCancelCause(t.Context())
			defer cancel(nil)
			go func() {
				time.Sleep(50 * time.Millisecond)
				runtime.GC()
				cancel(stop)
			}()
			begin := time.Now()
			err = u.Run(ctx, []iut.Script{requests(t, "new", "boost hw 60")}, func(int, *iut.Observation) { t.Error("done was called") })
			require.ErrorIs(t, err, stop)
			require.Less(t, time.Since(begin), 10*time.Second)
			obs, err := u.Ask(t.Context(), requests(t, "new", "power on"))
			require.NoError(t, err)
			require.Nil(t, obs.Trouble)
		})
	}
}

// Memory that a module has taken can be given back only by a new instance, which Restore makes.
func TestSnapshotOfMemoryThatGrew(t *testing.T) {
	u := opened(t, hostile(t, "-DACT=19"), Options{})
	pages := func(lines ...string) string {
		obs, err := u.Ask(t.Context(), requests(t, lines...))
		require.NoError(t, err)
		require.Nil(t, obs.Trouble)
		return obs.Answers[len(obs.Answers)-1].Words
	}
	var one, three Snapshot
	require.Equal(t, "", pages("new"))
	require.NoError(t, u.Snapshot(&one))
	require.Equal(t, "2", pages("boost hw 60"))
	require.Equal(t, "3", pages("boost hw 60"))
	require.NoError(t, u.Snapshot(&three))
	require.NoError(t, u.Restore(t.Context(), &one))
	require.Equal(t, "2", pages("boost hw 60"))
	require.NoError(t, u.Restore(t.Context(), &three))
	require.Equal(t, "4", pages("boost hw 60"))
}

func TestAfterTroubleComesNew(t *testing.T) {
	u := opened(t, hostile(t, "-DACT=2"), Options{})
	var before, after Snapshot
	_, err := u.Ask(t.Context(), requests(t, "new", "power on", "go 7"))
	require.NoError(t, err)
	require.NoError(t, u.Snapshot(&before))
	obs, err := u.Ask(t.Context(), requests(t, "go 5", "boost hw 60"))
	require.NoError(t, err)
	require.Equal(t, 1, obs.Trouble.Index)
	require.Len(t, obs.Answers, 1)

	_, err = u.Ask(t.Context(), requests(t, "go 5"))
	require.ErrorContains(t, err, "the first request must be new")
	require.ErrorContains(t, u.Snapshot(&after), "after trouble")
	require.ErrorContains(t, u.Restore(t.Context(), &after), "none of this unit's")
	require.NoError(t, u.Restore(t.Context(), &before), "a snapshot will do as well as new")
	obs, err = u.Ask(t.Context(), requests(t, "go 5"))
	require.NoError(t, err)
	require.Nil(t, obs.Trouble)
	require.Equal(t, uint64(12), u.reader.Elapsed())
}

func TestRequestsThatCannotBeAsked(t *testing.T) {
	u := opened(t, hostile(t, "-DACT=0"), Options{})
	for _, c := range []struct {
		script iut.Script
		want   string
	}{
		{nil, "script 0 does not begin with new"},
		{requests(t, "power on"), "script 0 does not begin with new"},
		{requests(t, "new", "new"), "script 0: request 1 is new"},
		{append(requests(t, "new"), iut.Request{Kind: iut.Go, Seconds: 1_000_000_001}), "request 1: go has at most 1000000000 seconds"},
	} {
		err := u.Run(t.Context(), []iut.Script{c.script}, func(int, *iut.Observation) { t.Error("done was called") })
		require.ErrorContains(t, err, c.want)
	}
	long := spec.Input{Kind: spec.LockRemove, Credential: fmt.Sprintf("%0130d", 0)}
	_, err := u.Ask(t.Context(), slices.Concat(requests(t, "new"), iut.Script{{Kind: iut.Do, Input: long}}))
	require.ErrorContains(t, err, "request 1 is longer than 120 bytes")
	obs, err := u.Ask(t.Context(), nil)
	require.NoError(t, err)
	require.Empty(t, obs.Answers)
}
