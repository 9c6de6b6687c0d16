package replay

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// tick is the second in which something last changed, and what.
type tick struct {
	at    int64
	lane  Lane
	level spec.Level
}

// ticked is the same as Run for a world of one phase without drift, minute by minute: unit and plant are looked at after every minute, and
// at every act. It is exact where everything of the unit happens at full minutes, and is the baseline of the benchmark.
func ticked(tb testing.TB, w *World) []tick {
	u, err := emulator.New(w.Phases[0].ICS)
	require.NoError(tb, err)
	s := w.Phases[0].Start
	f := s.Facts
	f.Now, f.Powered, f.ClockStopped = birth, true, false
	f.Back, f.Fitted = w.Phases[0].ICS.Fitted, w.Phases[0].ICS.Fitted.Effective()
	f.ClockSet, f.UTC = !s.ClockUnset, w.From+s.ClockError
	u.Restore(&f)
	u.Settle(nil)
	warmth := w.Warmth
	warmth.At = w.From
	p, err := plant.New(w.Phases[0].Plant, warmth)
	require.NoError(tb, err)
	power := true
	feed := func(buf []plant.Change) []plant.Change {
		return p.Set(plant.Inputs{HW: u.Level(spec.SigHW) == 1, CH: u.Level(spec.SigCH) == 1, UnitPower: power, PlantPower: power}, buf)
	}
	feed(nil)
	var all []tick
	var changes []spec.Change
	var plants []plant.Change
	note := func(at int64) {
		for _, c := range changes {
			all = append(all, tick{at, SignalLane(c.Signal), c.Level})
		}
		for _, c := range plants {
			all = append(all, tick{c.At, PointLane(c.Point), spec.Level(c.Level)})
		}
		changes, plants = changes[:0], plants[:0]
	}
	act := 0
	for at := w.From; ; at += 60 {
		for ; act < len(w.Acts) && w.Acts[act].At == at; act++ {
			in := w.Acts[act].Input
			switch in.Kind {
			case spec.PowerOff:
				power = false
			case spec.PowerOn:
				power = true
			}
			_, changes = u.Do(in, changes)
			plants = feed(plants)
			note(at)
		}
		if at >= w.To {
			return all
		}
		changes = u.Advance(60, changes)
		plants = p.Advance(60, plants)
		if len(changes) > 0 {
			note(at + 60)
		}
		plants = feed(plants)
		note(at + 60)
	}
}

// minuteWorld draws a world in which everything of the unit happens at full minutes.
func minuteWorld(t *rapid.T, tb testing.TB) World {
	w := house(tb, "2026-10-23 00:00", "2026-10-27 00:00")
	p := &w.Phases[0]
	p.Plant = plant.Usual(plant.Plan(rapid.IntRange(0, plant.NumPlans-1).Draw(t, "plan")))
	p.ICS.SummerTime = rapid.Bool().Draw(t, "summer time")
	p.ICS.LostClock = spec.LostClock(rapid.IntRange(0, 2).Draw(t, "lost clock"))
	p.ICS.Reserve = rapid.SampledFrom([]uint32{0, 60, 480}).Draw(t, "reserve")
	if rapid.Bool().Draw(t, "gravity") {
		p.ICS.Fitted.Coupling = spec.Gravity
	}
	p.Start.ClockError = 60 * rapid.Int64Range(-5000, 5000).Draw(t, "error")
	minuteOf := rapid.Custom(func(t *rapid.T) uint16 { return uint16(rapid.IntRange(0, 1439).Draw(t, "minute")) })
	for c := range spec.Channel(spec.NumChannels) {
		on, off := minuteOf.Draw(t, "on"), minuteOf.Draw(t, "off")
		p.Start.table(c, spec.Period{On: min(on, off), Off: max(on, off)})
		p.Start.Facts.Channels[c].Mode = spec.Mode(rapid.IntRange(0, 3).Draw(t, "mode"))
	}
	at, powered := w.From, true
	for range rapid.IntRange(0, 8).Draw(t, "acts") {
		at += 60 * rapid.Int64Range(0, 900).Draw(t, "wait")
		in := spec.Input{Kind: spec.PowerOn}
		if powered {
			in.Kind = rapid.SampledFrom([]spec.Kind{spec.PowerOff, spec.SetMode, spec.Override, spec.Boost, spec.Reset, spec.Holiday}).Draw(t, "kind")
		}
		switch in.Kind {
		case spec.SetMode:
			in.Mode = spec.Mode(rapid.IntRange(0, 3).Draw(t, "to"))
		case spec.Boost:
			in.Amount = 60
		case spec.Holiday:
			in.Amount = 1
		}
		if in.Kind == spec.SetMode || in.Kind == spec.Override || in.Kind == spec.Boost {
			in.Channel = spec.Channel(rapid.IntRange(0, 1).Draw(t, "channel"))
		}
		powered = in.Kind != spec.PowerOff
		if at < w.To {
			w.Acts = append(w.Acts, Act{At: at, Input: in, Claim: -1})
		}
	}
	return w
}

// Jumping from change to change comes to the same as looking every minute.
func TestRunIsTheSameAsTicking(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := minuteWorld(rt, t)
		h, err := Run(&w, nil)
		require.NoError(rt, err)
		var got, want [NumLanes][]tick
		for c := range h.All(h.From, h.To) {
			if c.Lane != LaneDisplay {
				got[c.Lane] = append(got[c.Lane], tick{c.At, c.Lane, c.Level})
			}
		}
		for _, c := range ticked(t, &w) {
			want[c.lane] = append(want[c.lane], c)
		}
		for l := range Lane(NumLanes) {
			require.Equal(rt, want[l], got[l], "%v", l)
		}
	})
}

// fortnight is a usual fortnight of two channels with a room thermostat that cycles.
func fortnight(tb testing.TB) World {
	w := house(tb, "2026-10-20 00:00", "2026-11-03 00:00")
	w.Phases[0].Plant = plant.Usual(plant.TwoValves)
	w.Phases[0].Start.table(spec.HW, morning, spec.Period{On: 17 * 60, Off: 18 * 60}).table(spec.CH, morning, spec.Period{On: 16 * 60, Off: 22 * 60})
	w.Acts = []Act{input(spec.Input{Kind: spec.Boost, Channel: spec.CH, Amount: 60}, w.From+5*24*hour+12*hour)}
	return w
}

// A fortnight, as a diagnosis runs it thousands of times, against the same looked at every minute.
func BenchmarkFortnight(b *testing.B) {
	w := fortnight(b)
	b.Run("run", func(b *testing.B) {
		b.ReportAllocs()
		var buffers Buffers
		for b.Loop() {
			if _, err := Run(&w, &buffers); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("unit alone", func(b *testing.B) {
		alone := w
		alone.Phases = append([]Phase(nil), w.Phases...)
		alone.Phases[0].Plant.Faults[0] = plant.Stuck(plant.RoomStatContact, false)
		alone.Phases[0].Plant.Faults[1] = plant.Stuck(plant.CylinderStatCallsContact, false)
		var buffers Buffers
		for b.Loop() {
			if _, err := Run(&alone, &buffers); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("every minute (baseline)", func(b *testing.B) {
		for b.Loop() {
			ticked(b, &w)
		}
	})
}

// Once its buffers have grown, a run allocates nothing but what making a plant does.
func TestARunAllocatesNothing(t *testing.T) {
	w := fortnight(t)
	var buffers Buffers
	_, err := Run(&w, &buffers)
	require.NoError(t, err)
	making := testing.AllocsPerRun(10, func() { _, _ = plant.New(w.Phases[0].Plant, w.Warmth) })
	require.LessOrEqual(t, testing.AllocsPerRun(10, func() { _, _ = Run(&w, &buffers) }), making)
}

// A score: every statement of a sample, held against a history, as a diagnosis does thousands of times.
func BenchmarkCompare(b *testing.B) {
	c := samples(b)["an-hour-late"]
	w, err := FromComplaint(c)
	require.NoError(b, err)
	h, err := Run(&w, nil)
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		for i := range c.Sensed {
			Compare(h, &c.Sensed[i])
		}
		for i := range c.Settings {
			CompareClaim(h, &c.Settings[i])
		}
	}
	b.ReportMetric(float64(len(c.Sensed)+len(c.Settings)), "statements")
}
