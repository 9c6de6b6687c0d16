package plant

import "testing"

// Two weeks in which room and cylinder thermostat cycle, as a diagnosis runs them thousands of times; the same with three faults, and
// the model that ticks as the baseline.
func BenchmarkTwoWeeks(b *testing.B) {
	for _, c := range []struct {
		name string
		in   Installation
	}{
		{"two valves", Usual(TwoValves)},
		{"mid-position", Usual(MidPosition)},
		{"everything fitted and three faults", full(Diverter).With(Bridge(HWOn, CHOn)).With(Stuck(RoomStatContact, true)).With(Reads(CylinderStatCallsContact, 4*Celsius))},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			buf := make([]Change, 0, 10_000)
			for b.Loop() {
				p, err := New(c.in, UsualStart(0))
				if err != nil {
					b.Fatal(err)
				}
				buf = twoWeeks(&p, buf[:0])
			}
			b.ReportMetric(float64(len(buf)), "changes")
		})
	}
	b.Run("ticked baseline", func(b *testing.B) {
		for b.Loop() {
			m := newTicked(Usual(TwoValves), UsualStart(0))
			for range 14 {
				for _, s := range day24 {
					m.Set(s.in)
					for range s.hours * 3600 {
						m.tick()
					}
				}
			}
			b.ReportMetric(float64(len(m.changes)), "changes")
		}
	})
}

func BenchmarkNew(b *testing.B) {
	in := full(TwoValves).With(Bridge(HWOn, CHOn))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := New(in, UsualStart(0)); err != nil {
			b.Fatal(err)
		}
	}
}

// day24 is the default table of a weekday.
var day24 = []struct {
	in    Inputs
	hours int
}{{mains, 7}, {both, 2}, {mains, 7}, {both, 7}, {mains, 1}}

// twoWeeks runs it for two weeks.
func twoWeeks(p *Plant, buf []Change) []Change {
	for range 14 {
		for _, s := range day24 {
			buf = p.Set(s.in, buf)
			buf = p.Advance(uint64(s.hours)*3600, buf)
		}
	}
	return buf
}
