package replay

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/emulator/plant"
)

// life is a world that a diagnosis lives through, and the complaint that it is held against.
type life struct {
	world World
	c     *complaint.Complaint
}

// lives are the accounts of the samples, each with some of the faults that its installation can have: valves that stay, end switches that
// chatter, thermostats that misread.
func lives(tb testing.TB) (all []life) {
	cs := samples(tb)
	names := make([]string, 0, len(cs))
	for name := range cs {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		w, err := FromComplaint(cs[name])
		require.NoError(tb, err)
		in := &w.Phases[len(w.Phases)-1].Plant
		free := slices.IndexFunc(in.Faults[:], func(f plant.Fault) bool { return f.Kind == plant.NoFault })
		for i, f := range in.PossibleFaults() {
			if i%5 != 0 {
				continue
			}
			all = append(all, life{w.EachPhase(func(p *Phase) { p.Plant.Faults[free] = f }), cs[name]})
		}
	}
	return all
}

// What a diagnosis does thousands of times: a world lived through, and every statement held against it. The baseline looks every minute at the
// first phase of the same worlds, drift and what is done elsewhere than at the unit apart: it is for its time only. It runs the same plant, so that a
// faster plant makes it faster too.
func BenchmarkLives(b *testing.B) {
	all := lives(b)
	run := func(b *testing.B, live func(l *life)) {
		b.ReportAllocs()
		for b.Loop() {
			for i := range all {
				live(&all[i])
			}
		}
		b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*len(all)), "µs/life")
	}
	var buffers Buffers
	through := func(b *testing.B, l *life) *History {
		h, err := Run(&l.world, &buffers)
		if err != nil {
			b.Fatal(err)
		}
		return h
	}
	b.Run("lived through", func(b *testing.B) { run(b, func(l *life) { through(b, l) }) })
	b.Run("and compared", func(b *testing.B) {
		run(b, func(l *life) {
			h := through(b, l)
			for i := range l.c.Sensed {
				Compare(h, &l.c.Sensed[i])
			}
			for i := range l.c.Settings {
				CompareClaim(h, &l.c.Settings[i])
			}
		})
	})
	b.Run("every minute (baseline)", func(b *testing.B) { run(b, func(l *life) { ticked(b, &l.world) }) })
}
