package main

import (
	"io"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/emulator/spec"
)

// realTime opens a target as check does with these flags.
func realTime(t *testing.T, target string, flags ...string) (iut.IUT, error) {
	t.Helper()
	var f realTimeFlags
	var captured captureFlags
	c := &cobra.Command{}
	c.Flags().Int("jobs", 1, "")
	captured.add(c)
	f.add(c)
	require.NoError(t, c.ParseFlags(flags))
	return f.open(t.Context(), target, 5*time.Second, io.Discard)
}

// A child whose time passes by itself, 20 000 times as fast as time does. What this machine makes too uncertain is inconclusive and is tried
// again; it is never a failure.
func TestRealTimeChild(t *testing.T) {
	checkLeaks(t)
	v := &suite.Vector{ID: "OVR-2/x", File: "ovr.json", Clauses: []string{"OVR-2"}, Start: time.Date(2026, 1, 14, 5, 0, 0, 0, time.UTC), Until: 40_000}
	v.Given = []string{"mode hw off"}
	v.Steps = []suite.Step{{At: 24_000, Do: "override ch"}} // between 09:00 and 16:00 by the default table
	v.Trace = []spec.Change{
		{At: 7200, Signal: spec.SigCH, Level: 1, By: spec.ClauseTable}, {At: 14_400, Signal: spec.SigCH, By: spec.ClauseTable},
		{At: 24_000, Signal: spec.SigCH, Level: 1, By: spec.ClauseOverride},
	}
	long := *v
	long.Until = 800_000_000 // 11 hours at that speed
	wrong := *v
	wrong.Trace = wrong.Trace[:2] // of another unit, whose override does nothing
	for try := 1; ; try++ {
		u, err := realTime(t, child(t, "real-time", "20000"), "--real-time", "--speed", "20000", "--tolerance", "1h", "--time", "10h")
		require.NoError(t, err)
		require.True(t, strings.HasSuffix(u.Describe(), "at 20000 times real time"), u.Describe())
		var got []*runner.Result
		require.NoError(t, runner.Run(t.Context(), u, []*suite.Vector{v, &long, &wrong}, func(r *runner.Result) { got = append(got, r) }))
		require.NoError(t, u.Close())
		require.Equal(t, runner.Inconclusive, got[1].Verdict)
		require.Contains(t, got[1].Why, "not run: it takes 11h6m40s, and of the 10h0m0s allowed the shorter ones leave ")
		require.NotEqual(t, runner.Fail, got[0].Verdict, "%+v", got[0].Departure)
		require.NotEqual(t, runner.Pass, got[2].Verdict)
		if got[0].Verdict == runner.Pass && got[2].Verdict == runner.Fail {
			return
		}
		require.Less(t, try, 20, "%s; %s", got[0].Why, got[2].Why)
	}
}

func TestRealTimeMistakes(t *testing.T) {
	for _, c := range []struct{ target, flags, want string }{
		{"emulator", "--real-time", "--real-time: the time of 'emulator' passes only as the bench lets it; it is for 'exec:', 'serial:' and 'tcp:'"},
		{"sample", "--real-time", "the time of 'sample' passes only as the bench lets it"},
		{"serial:", "--real-time", "no port is named"},
		{"exec:true", "--real-time --speed 0", "--speed 0: it is from 0.001 to 1e+06"},
		{"exec:true", "--real-time --speed NaN", "--speed NaN: it is from"},
		{"exec:true", "--real-time --time 0s", "--time 0s: it should be more than 0"},
		{"exec:true", "--real-time --tolerance 2h", "--tolerance 2h0m0s: with --real-time it is from 0s to 1h0m0s"},
		{"exec:true", "--real-time --jobs 2", "--jobs 2: with --real-time one unit is tested at a time"},
		{"exec:true", "--real-time", "hello"},
		{"emulator", "--speed 2", "--speed goes with --real-time, which is missing"},
		{"emulator", "--time 2h", "--time goes with --real-time, which is missing"},
		{"emulator", "--tolerance 2s", "--tolerance goes with --real-time or --capture FILE, which is missing"},
	} {
		_, err := realTime(t, c.target, strings.Fields(c.flags)...)
		require.ErrorContains(t, err, c.want)
	}
}
