package main

import (
	"context"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/emulator/spec"
)

// BenchmarkSample drives the C sample over stdin and stdout. "requests" asks for as much as the link gives, requests sent ahead; its
// baseline in the same run, "lock-step", waits for each reply. "set" is the whole published set.
func BenchmarkSample(b *testing.B) {
	unit := buildSample(b)
	open := func(b *testing.B, ahead int) iut.IUT {
		dialer, err := iut.Exec(unit, io.Discard)
		require.NoError(b, err)
		u, err := iut.Open(context.Background(), dialer, iut.Options{Timeout: 10 * time.Second, Ahead: ahead})
		require.NoError(b, err)
		b.Cleanup(func() { require.NoError(b, u.Close()) })
		return u
	}
	requests := func(b *testing.B, u iut.IUT, n int) {
		script := iut.Script{{Kind: iut.New}, {Kind: iut.Do, Input: spec.Input{Kind: spec.PowerOn}}}
		for len(script) < n {
			script = append(script,
				iut.Request{Kind: iut.Do, Input: spec.Input{Kind: spec.SetMode, Channel: spec.HW, Mode: spec.Always}},
				iut.Request{Kind: iut.Go, Seconds: 60},
				iut.Request{Kind: iut.Do, Input: spec.Input{Kind: spec.SetMode, Channel: spec.HW, Mode: spec.Off}},
				iut.Request{Kind: iut.Go, Seconds: 1})
		}
		sent := 0
		for b.Loop() {
			require.NoError(b, u.Run(context.Background(), []iut.Script{script}, func(_ int, o *iut.Observation) {
				require.Nil(b, o.Trouble)
				sent += len(o.Answers)
			}))
		}
		b.ReportMetric(float64(sent)/b.Elapsed().Seconds(), "requests/s")
	}
	b.Run("lock-step", func(b *testing.B) { requests(b, open(b, 1), 2_000) })
	b.Run("requests", func(b *testing.B) { requests(b, open(b, 0), 1_000_000) })
	b.Run("set", func(b *testing.B) {
		set, _, err := loadVectors("")
		require.NoError(b, err)
		u := open(b, 0)
		for b.Loop() {
			require.NoError(b, runner.Run(context.Background(), u, set.Vectors, func(r *runner.Result) {
				require.Contains(b, []runner.Verdict{runner.Pass, runner.NotApplicable}, r.Verdict)
			}))
		}
	})
}
