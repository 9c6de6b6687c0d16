package main

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/emulator/spec"
)

// BenchmarkAdapters puts the same requests to the sample firmware over every adapter, and to the emulator in this process. The baseline, first
// in the same run, is a process that is asked one request at a time. QEMU is left out: there it is QEMU's emulation of a serial port that
// would be measured, at some thousand requests a second.
func BenchmarkAdapters(b *testing.B) {
	var script iut.Script
	for script = toScript(b, []string{"new", "power on"}); len(script) < 4_000; {
		script = append(script, toScript(b, []string{"mode hw always", "go 60", "mode hw off", "go 1"})...)
	}
	scripts := make([]iut.Script, 10)
	for i := range scripts {
		scripts[i] = script
	}
	all := adapters(b)
	base := 0.0
	run := func(name string, open func(tb testing.TB) iut.IUT) {
		b.Run(name, func(b *testing.B) {
			u := open(b)
			answers := 0
			for b.Loop() {
				require.NoError(b, u.Run(context.Background(), scripts, func(_ int, o *iut.Observation) {
					require.Nil(b, o.Trouble)
					answers += len(o.Answers)
				}))
			}
			rate := float64(answers) / b.Elapsed().Seconds()
			require.NoError(b, u.Close())
			b.ReportMetric(rate, "requests/s")
			if name == baseline {
				base = rate
			}
			if base > 0 {
				b.ReportMetric(rate/base, "x-lock-step")
			}
		})
	}
	for _, first := range []bool{true, false} {
		for _, a := range all {
			if (a.name == baseline) == first {
				run(a.name, a.open)
			}
		}
	}
	run("in process, emulator", func(testing.TB) iut.IUT { return iut.InProcess("emulator", spec.FullICS(), emulated) })
}

const baseline = "exec, lock-step"

// BenchmarkSet puts the whole published set to the sample firmware as a process, and as the module that this program carries.
func BenchmarkSet(b *testing.B) {
	set, _, err := loadVectors("")
	require.NoError(b, err)
	for _, target := range []string{"exec:'" + buildSample(b) + "'", "sample"} {
		b.Run(target[:4], func(b *testing.B) {
			u, err := openTarget(b.Context(), target, time.Minute, nil)
			require.NoError(b, err)
			for b.Loop() {
				require.NoError(b, runner.Run(context.Background(), u, set.Vectors, func(r *runner.Result) {
					require.Contains(b, []runner.Verdict{runner.Pass, runner.NotApplicable}, r.Verdict)
				}))
			}
			require.NoError(b, u.Close())
		})
	}
}
