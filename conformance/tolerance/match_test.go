package tolerance

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/hearthbench/emulator/spec"
)

func pointers(changes []spec.Change) []*spec.Change {
	var all []*spec.Change
	for i := range changes {
		all = append(all, &changes[i])
	}
	return all
}

func table(second uint64, level spec.Level) spec.Change {
	return spec.Change{At: second, Level: level, By: spec.ClauseTable}
}
func by(c spec.Clause, second uint64, level spec.Level) spec.Change {
	return spec.Change{At: second, Level: level, By: c}
}
func seen(second uint64, level spec.Level) spec.Change { return spec.Change{At: second, Level: level} }

func TestMatch(t *testing.T) {
	twoCuts := []step{{100, "power off"}, {100, "power on"}, {100, "power off"}, {100, "power on"}}
	cut := by(spec.ClausePower, 100, 0)
	for _, c := range []struct {
		name     string
		claims   spec.Tolerances
		steps    []step
		initial  spec.Level
		expected []spec.Change
		observed []spec.Change
		came     []int // nil if it cannot be matched
		stuck    [2]int
	}{
		{"exact", spec.Tolerances{}, nil, 0, []spec.Change{table(10, 1), table(20, 0)}, []spec.Change{seen(10, 1), seen(20, 0)}, []int{0, 1}, [2]int{}},
		{"nothing", spec.Tolerances{}, nil, 0, nil, nil, []int{}, [2]int{}},
		{"too many", spec.Tolerances{}, nil, 0, nil, []spec.Change{seen(10, 1)}, nil, [2]int{0, 0}},
		{"too few", spec.Tolerances{}, nil, 0, []spec.Change{table(10, 1), table(20, 0)}, []spec.Change{seen(10, 1)}, nil, [2]int{1, 1}},
		{"late", spec.Tolerances{}, nil, 0, []spec.Change{table(10, 1), table(20, 0)}, []spec.Change{seen(10, 1), seen(21, 0)}, nil, [2]int{1, 1}},
		// Of two cuts in one second a board that is ready two seconds later shows no more than the first loss and the last return: the
		// closing between them is not the one that comes, and taking it for that leaves the second loss without a change.
		{"two cuts in one second", spec.Tolerances{LatePowerOn: 2}, twoCuts, 1, []spec.Change{cut, table(100, 1), cut, table(100, 1)},
			[]spec.Change{seen(100, 0), seen(102, 1)}, []int{0, -1, -1, 1}, [2]int{}},
		{"two cuts in one second, the first shows", spec.Tolerances{LatePowerOn: 2}, twoCuts, 1, []spec.Change{cut, table(100, 1), cut, table(100, 1)},
			[]spec.Change{seen(100, 0), seen(100, 1), seen(100, 0), seen(102, 1)}, []int{0, 1, 2, 3}, [2]int{}},
		{"two cuts in one second, the loss is missing", spec.Tolerances{LatePowerOn: 2}, twoCuts, 1, []spec.Change{cut, table(100, 1), cut, table(100, 1)},
			nil, nil, [2]int{0, 0}},
		{"two cuts in one second, too late", spec.Tolerances{LatePowerOn: 2}, twoCuts, 1, []spec.Change{cut, table(100, 1), cut, table(100, 1)},
			[]spec.Change{seen(100, 0), seen(103, 1)}, nil, [2]int{3, 1}},
		{"two cuts in one second claim nothing", spec.Tolerances{}, twoCuts, 1, []spec.Change{cut, table(100, 1), cut, table(100, 1)},
			[]spec.Change{seen(100, 0), seen(100, 1)}, nil, [2]int{2, 2}},
		// The table closes at 100, which the board has not looked at when 'off' comes at 110, and 'always' at 120 closes it.
		{"inputs follow a switching point", spec.Tolerances{LateScan: 60}, []step{{110, "mode hw off"}, {120, "mode hw always"}}, 0,
			[]spec.Change{table(100, 1), by(spec.ClauseOff, 110, 0), by(spec.ClauseAlways, 120, 1)}, []spec.Change{seen(120, 1)}, []int{-1, -1, 0}, [2]int{}},
		{"inputs follow a switching point that shows", spec.Tolerances{LateScan: 60}, []step{{110, "mode hw off"}, {120, "mode hw always"}}, 0,
			[]spec.Change{table(100, 1), by(spec.ClauseOff, 110, 0), by(spec.ClauseAlways, 120, 1)}, []spec.Change{seen(105, 1), seen(110, 0), seen(120, 1)}, []int{0, 1, 2}, [2]int{}},
		{"an input is late", spec.Tolerances{LateScan: 60}, []step{{110, "mode hw off"}, {120, "mode hw always"}}, 0,
			[]spec.Change{table(100, 1), by(spec.ClauseOff, 110, 0), by(spec.ClauseAlways, 120, 1)}, []spec.Change{seen(121, 1)}, nil, [2]int{2, 0}},
		// An alert that comes to another stage before the board is ready need not show the one before.
		{"a level that is passed over", spec.Tolerances{LatePowerOn: 2}, []step{{50, "power off"}, {100, "power on"}}, 0,
			[]spec.Change{{At: 100, Signal: alert, Level: 2, By: spec.ClauseNotice}, {At: 101, Signal: alert, Level: 3, By: spec.ClauseRestrict}},
			[]spec.Change{{At: 102, Signal: alert, Level: 3}}, []int{-1, 0}, [2]int{}},
		{"a level that is not", spec.Tolerances{}, []step{{50, "power off"}, {100, "power on"}}, 0,
			[]spec.Change{{At: 100, Signal: alert, Level: 2, By: spec.ClauseNotice}, {At: 101, Signal: alert, Level: 3, By: spec.ClauseRestrict}},
			[]spec.Change{{At: 101, Signal: alert, Level: 3}}, nil, [2]int{0, 0}},
		// Either closing could be the one that came; the one that is nearer is taken.
		{"the nearest", spec.Tolerances{LateScan: 60}, nil, 0, []spec.Change{table(100, 1), table(110, 0), table(120, 1)},
			[]spec.Change{seen(155, 1)}, []int{-1, -1, 0}, [2]int{}},
		{"the most", spec.Tolerances{LateScan: 60}, nil, 0, []spec.Change{table(100, 1), table(110, 0), table(120, 1)},
			[]spec.Change{seen(155, 1), seen(156, 0), seen(157, 1)}, []int{0, 1, 2}, [2]int{}},
		{"after the end", spec.Tolerances{LateScan: 60}, nil, 0, []spec.Change{table(950, 1)}, nil, []int{-1}, [2]int{}},
		{"before the end", spec.Tolerances{LateScan: 60}, nil, 0, []spec.Change{table(940, 1)}, nil, nil, [2]int{0, 0}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := rules(t, spec.FullICS(), c.claims, c.steps...).Match(c.initial, pointers(c.expected), pointers(c.observed), 1000)
			if m.Whole != (c.came != nil) {
				t.Fatalf("%+v", m)
			}
			if c.came != nil {
				assert.Equal(t, c.came, m.Came)
			} else {
				assert.Equal(t, c.stuck, [2]int{m.Expected, m.Observed})
			}
		})
	}
}

// whole is Match's definition, tried in every way.
func whole(r *Rules, level spec.Level, expected, observed []spec.Change, until uint64) bool {
	if len(expected) == 0 {
		return len(observed) == 0
	}
	want, a := expected[0], r.Allow(&expected[0])
	drift := r.Drift(a)
	due := want.At + drift + a.Late
	if len(observed) > 0 && observed[0].Level == want.Level && observed[0].At+drift >= want.At && observed[0].At <= due &&
		whole(r, observed[0].Level, expected[1:], observed[1:], until) {
		return true
	}
	absent := level == want.Level || len(expected) == 1 && due > until
	if len(expected) > 1 {
		late := due - want.At
		if a.Civil && r.Allow(&expected[1]).Civil {
			late = r.Slack + a.Late
		}
		absent = absent || late > 0 && expected[1].At-want.At <= late
	}
	return absent && whole(r, level, expected[1:], observed, until)
}

// Small courses of events with many changes within each other's allowances: Match finds a matching where there is one, it is one, and
// where there is none it says how far any comes.
func TestMatchFindsWhatThereIs(t *testing.T) {
	clauses := []spec.Clause{spec.ClauseTable, spec.ClausePower, spec.ClauseOff, spec.ClauseBoost}
	found, missed := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		claims := spec.Tolerances{LatePowerOn: uint16(rapid.IntRange(0, 3).Draw(t, "late-power-on")), LateScan: uint16(rapid.IntRange(0, 5).Draw(t, "late-scan")),
			ClockRate: uint32(rapid.SampledFrom([]int{0, 100_000}).Draw(t, "clock-rate"))}
		r := rules(t, spec.FullICS(), claims, step{10, "power off"}, step{11, "power on"}, step{15, "mode hw off"}, step{15, "mode hw always"})
		r.Slack = uint64(rapid.IntRange(0, 2).Draw(t, "slack"))
		course := func(name string, least int) (all []spec.Change) {
			second, level := uint64(8), spec.Level(0)
			for range rapid.IntRange(least, 6).Draw(t, name) {
				second += uint64(rapid.IntRange(0, 3).Draw(t, "gap"))
				level = 1 - level
				all = append(all, spec.Change{At: second, Level: level})
			}
			return all
		}
		expected, observed := course("expected", 1), course("observed", 0)
		for i := range expected {
			expected[i].By = rapid.SampledFrom(clauses).Draw(t, "by")
		}
		m := r.Match(0, pointers(expected), pointers(observed), 20)
		want := whole(r, 0, expected, observed, 20)
		if m.Whole != want {
			t.Fatalf("%+v, want whole: %v", m, want)
		}
		if want {
			found++
		} else {
			missed++
		}
		last, came := -1, 0
		for e, o := range m.Came {
			if o < 0 {
				continue
			}
			a := r.Allow(&expected[e])
			if drift := r.Drift(a); o <= last || expected[e].Level != observed[o].Level || observed[o].At+drift < expected[e].At || observed[o].At > expected[e].At+drift+a.Late {
				t.Fatalf("%+v", m)
			}
			last = o
			came++
		}
		if came != m.Observed || m.Whole && came != len(observed) {
			t.Fatalf("%+v", m)
		}
	})
	assert.Greater(t, found, 5)
	assert.Greater(t, missed, 5)
}

// BenchmarkMatch matches a thousand changes, each late by its allowance, of which each could be one of several.
func BenchmarkMatch(b *testing.B) {
	r := rules(b, spec.FullICS(), spec.Tolerances{LateScan: 60})
	var expected, observed []spec.Change
	for i := range uint64(1000) {
		expected = append(expected, table(1000+20*i, spec.Level(1-i%2)))
		observed = append(observed, seen(1040+20*i, spec.Level(1-i%2)))
	}
	for b.Loop() {
		if !r.Match(0, pointers(expected), pointers(observed), 100_000).Whole {
			b.Fatal("not matched")
		}
	}
}
