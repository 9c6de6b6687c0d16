package fuzz

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/iut"
	models "example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/rapidtest"
	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// BenchmarkFuzz measures steps a second, generation and comparison included, of a campaign on the emulator and on the sample as a
// WebAssembly module; the baseline is rapid's own driver on the emulator, as package rapidtest has it.
func BenchmarkFuzz(b *testing.B) {
	for _, c := range []struct {
		name     string
		unit     iut.IUT
		patience uint64
	}{
		{"emulator", emulated(spec.FullICS()), Jumping},
		{"sample", opened(b, sample.Module), Ticking},
	} {
		b.Run(c.name, func(b *testing.B) {
			campaign, err := New(c.unit, Options{Seed: 1, Patience: c.patience})
			require.NoError(b, err)
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, campaign.put(b.Context(), 1, func(int) { campaign.gen.make(campaign.kept) }))
			}
			require.Empty(b, campaign.Findings())
			b.ReportMetric(float64(campaign.Progress().Steps)/b.Elapsed().Seconds(), "steps/s")
		})
	}
	b.Run("rapid", func(b *testing.B) {
		ics := spec.FullICS()
		steps := 0
		property := rapidtest.Property(ics, func(ics spec.ICS) wire.Device { return counting{models.Emulator(ics), &steps} })
		test := rapid.Custom(func(t *rapid.T) bool { property(t); return true })
		seed := 0
		for b.Loop() {
			seed++
			test.Example(seed)
		}
		b.ReportMetric(float64(steps)/b.Elapsed().Seconds(), "steps/s")
	})
}

// counting counts the steps of a device.
type counting struct {
	models.Device
	steps *int
}

func (c counting) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	*c.steps++
	return c.Device.Do(in, changes)
}

func (c counting) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	*c.steps++
	return c.Device.Advance(seconds, changes)
}
