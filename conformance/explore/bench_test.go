package explore

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
)

// BenchmarkStates measures states a second (those that are new) and steps a second (each worked out and checked) on two processors: of the
// emulator alone, for ever, and with the sample beside it, for a week, by the same inputs; the sample's opening counts too. How many steps there are
// to a new state depends on the inputs: with those of the third there are twice as many, for most lead where it has been. The baseline is a plain
// search on a map of whole facts, which checks nothing.
func BenchmarkStates(b *testing.B) {
	run := func(b *testing.B, bounds Bounds, o Options) {
		states, steps := 0, uint64(0)
		for b.Loop() {
			r, err := Run(b.Context(), bounds, o)
			require.NoError(b, err)
			require.True(b, r.Complete)
			states, steps = states+r.States, steps+r.Transitions
		}
		b.ReportMetric(float64(states)/b.Elapsed().Seconds(), "states/s")
		b.ReportMetric(float64(steps)/b.Elapsed().Seconds(), "steps/s")
	}
	alone := boundsOf(b, winter(nil), "override,boost,reset")
	b.Run("emulator", func(b *testing.B) { run(b, alone, Options{Workers: 2}) })
	both := boundsOfSample(b, "override,boost,reset", calendar.Week)
	b.Run("emulator and sample", func(b *testing.B) { run(b, both, Options{Workers: 2, Firmware: opens(sample.Module)}) })
	more := boundsOfSample(b, "override,boost,mode,power,reset", 75*calendar.Minute)
	b.Run("emulator and sample, more inputs", func(b *testing.B) { run(b, more, Options{Workers: 2, Firmware: opens(sample.Module)}) })
	b.Run("plain", func(b *testing.B) {
		states, steps := 0, uint64(0)
		for b.Loop() {
			n, m := plainSearch(b, alone)
			states, steps = states+n, steps+m
		}
		b.ReportMetric(float64(states)/b.Elapsed().Seconds(), "states/s")
		b.ReportMetric(float64(steps)/b.Elapsed().Seconds(), "steps/s")
	})
}

// plainSearch sees the same states one by one, and keeps their whole facts in a map.
func plainSearch(t testing.TB, b Bounds) (states int, steps uint64) {
	u, err := b.start()
	require.NoError(t, err)
	end := u.Facts().UTC + int64(b.Horizon)
	if b.Horizon == 0 {
		end = 1 << 60
	}
	seen := map[emulator.Facts]bool{}
	list := []emulator.Facts{}
	keep := func(u *emulator.Unit) {
		f := u.Facts()
		canonical(&f, b.shift())
		if !seen[f] {
			seen[f] = true
			list = append(list, f)
		}
	}
	keep(&u)
	for i := 0; i < len(list); i++ {
		if list[i].ClockSet && list[i].UTC > end {
			continue
		}
		for _, l := range b.Letters {
			v := u
			v.Restore(&list[i])
			for _, in := range l.Inputs {
				v.Do(in, nil)
			}
			keep(&v)
			steps++
		}
		v := u
		v.Restore(&list[i])
		next, ok := v.Next()
		if !ok || list[i].ClockSet && list[i].UTC+int64(next) > end {
			continue
		}
		steps++
		if list[i].ClockSet && (list[i].UTC+int64(next))%60 == 0 && next > 1 {
			w := v
			w.Advance(next-1, nil)
			keep(&w)
			steps++
		}
		v.Advance(next, nil)
		keep(&v)
	}
	return len(list), steps
}
