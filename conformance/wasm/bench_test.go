package wasm

import (
	"context"
	"io"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/tetratelabs/wazero"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// units are the sample as a module, with and without text, and its baselines: the same sources as a process, and the emulator.
func units(b *testing.B, each func(b *testing.B, u iut.IUT)) {
	b.Run("module", func(b *testing.B) { each(b, opened(b, sample.Module, Options{})) })
	b.Run("module, text", func(b *testing.B) { each(b, opened(b, sample.Module, Options{Text: true})) })
	b.Run("process", func(b *testing.B) {
		dialer, err := iut.Exec("'"+execBuild(b)+"'", io.Discard)
		require.NoError(b, err)
		u, err := iut.Open(b.Context(), dialer, iut.Options{})
		require.NoError(b, err)
		defer u.Close()
		each(b, u)
	})
	b.Run("emulator", func(b *testing.B) {
		each(b, iut.InProcess("emulator", spec.FullICS(), func(ics spec.ICS) wire.Device { return oracle.Emulator(ics) }))
	})
}

// BenchmarkSteps measures steps a second: the requests of a fuzzer, who lets a minute pass at most, and those of one who lets
// none pass.
func BenchmarkSteps(b *testing.B) {
	for _, kind := range []struct {
		name  string
		lines []string
	}{
		{"minutes", []string{"mode hw always", "go 60", "boost ch 60", "go 1", "mode hw off", "override ch", "period hw wed 1 06:30 09:00", "go 30", "boost ch 0", "mode hw table"}},
		{"inputs", []string{"mode hw always", "mode hw off", "boost hw 60", "override hw"}},
	} {
		b.Run(kind.name, func(b *testing.B) {
			units(b, func(b *testing.B, u iut.IUT) {
				script := requests(b, "new", "power on", "clock 2026-01-14 06:00")
				for len(script) < 10_000 {
					script = append(script, requests(b, kind.lines...)...)
				}
				b.ReportAllocs()
				steps := 0
				for b.Loop() {
					require.NoError(b, u.Run(context.Background(), []iut.Script{script}, func(_ int, obs *iut.Observation) {
						require.Nil(b, obs.Trouble)
						steps += len(obs.Answers)
					}))
				}
				b.ReportMetric(float64(steps)/b.Elapsed().Seconds(), "steps/s")
			})
		})
	}
}

// BenchmarkSet measures the published set.
func BenchmarkSet(b *testing.B) {
	set := published(b)
	units(b, func(b *testing.B, u iut.IUT) {
		for b.Loop() {
			require.NoError(b, runner.Run(context.Background(), u, set.Vectors, func(r *runner.Result) {
				require.Contains(b, []runner.Verdict{runner.Pass, runner.NotApplicable}, r.Verdict)
			}))
		}
	})
}

// BenchmarkSnapshot measures keeping the sample's state and bringing it back; the baseline is to get there again by its
// thirteen requests.
func BenchmarkSnapshot(b *testing.B) {
	u := opened(b, sample.Module, Options{})
	way := requests(b, "new", "power on", "clock 2026-01-14 06:00", "mode hw table", "mode ch span", "period hw wed 1 06:30 09:00", "go 3600",
		"override ch", "go 600", "boost hw 60", "go 60", "mode ch table", "override ch")
	step := requests(b, "boost ch 60")
	ask := func(b *testing.B, s iut.Script) {
		if obs, err := u.Ask(context.Background(), s); err != nil || obs.Trouble != nil {
			b.Fatal(err, obs)
		}
	}
	var s Snapshot
	b.Run("snapshot", func(b *testing.B) {
		ask(b, way)
		b.ReportAllocs()
		for b.Loop() {
			if err := u.Snapshot(&s); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(len(s.memory)), "bytes")
	})
	b.Run("restore and step", func(b *testing.B) {
		for b.Loop() {
			if err := u.Restore(context.Background(), &s); err != nil {
				b.Fatal(err)
			}
			ask(b, step)
		}
	})
	b.Run("step", func(b *testing.B) {
		for b.Loop() {
			ask(b, step)
		}
	})
	b.Run("way and step", func(b *testing.B) {
		for b.Loop() {
			ask(b, way)
			ask(b, step)
		}
	})
}

// BenchmarkTimeLimit measures what the time limit costs: the counter that is built into a module, against the engine's own
// remedy, which leaves the machine code at every turn of every loop, and against none.
func BenchmarkTimeLimit(b *testing.B) {
	ctx := context.Background()
	metered, err := meter(sample.Module, defaultPages)
	require.NoError(b, err)
	for _, c := range []struct {
		name   string
		module []byte
		config wazero.RuntimeConfig
	}{
		{"counter", metered.binary, wazero.NewRuntimeConfig()},
		{"engine's own", sample.Module, wazero.NewRuntimeConfig().WithCloseOnContextDone(true)},
		{"none", sample.Module, wazero.NewRuntimeConfig()},
	} {
		b.Run(c.name, func(b *testing.B) {
			r := wazero.NewRuntimeWithConfig(ctx, c.config)
			defer r.Close(ctx)
			w := watch{limit: defaultTimeout}
			_, err := r.NewHostModuleBuilder(hostModule).NewFunctionBuilder().WithFunc(func(ctx context.Context) int32 {
				stack := []uint64{0}
				w.check(ctx, stack)
				return int32(stack[0])
			}).Export(hostCheck).Instantiate(ctx)
			require.NoError(b, err)
			m, err := r.InstantiateWithConfig(ctx, c.module, wazero.NewModuleConfig().WithName(""))
			require.NoError(b, err)
			call := func(name string, params ...uint64) uint64 {
				results, err := m.ExportedFunction(name).Call(ctx, params...)
				if err != nil {
					b.Fatal(err)
				}
				return append(results, 0)[0]
			}
			call("reset")
			at := uint32(call("request"))
			feed := m.ExportedFunction("feed")
			lines := []string{"new\n", "power on\n", "clock 2026-01-14 06:00\n", "mode hw always\n", "boost ch 60\n", "go 60\n", "mode hw off\n", "go 3600\n"}
			stack := make([]uint64, 1)
			for b.Loop() {
				for _, line := range lines {
					w.begin()
					m.Memory().WriteString(at, line)
					stack[0] = uint64(len(line))
					if err := feed.CallWithStack(ctx, stack); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}

// BenchmarkOpen measures what comes before the first request: metering, compiling and the handshake; and again, which has compiled already.
func BenchmarkOpen(b *testing.B) {
	ctx := context.Background()
	run := func(name string, open func() (*Unit, error)) {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				u, err := open()
				require.NoError(b, err)
				require.NoError(b, u.Close())
			}
		})
	}
	run("first", func() (*Unit, error) { return Open(ctx, "sample", sample.Module, Options{}) })
	first := opened(b, sample.Module, Options{})
	run("again", func() (*Unit, error) { return first.OpenAgain(ctx) })
}
