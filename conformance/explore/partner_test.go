package explore

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/faults"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// walker puts ways to a device that cannot be put back into a state, from new each time, and the emulator beside it.
type walker struct {
	t      testing.TB
	search *worker
	device func() oracle.Device
	start  emulator.Unit
}

func newWalker(t testing.TB, b Bounds, device func() oracle.Device) *walker {
	start, err := b.start()
	require.NoError(t, err)
	facts := start.Facts()
	return &walker{t, &worker{s: &search{bounds: b, origin: facts.UTC}}, device, start}
}

func alike(r, q spec.Reply, one, other []spec.Change) bool {
	return r.Outcome == q.Outcome && slices.EqualFunc(one, other, func(a, b spec.Change) bool { return a.At == b.At && a.Signal == b.Signal && a.Level == b.Level })
}

// given brings a fresh device to the start, and reports whether it is alike until there.
func (w *walker) given() (oracle.Device, bool) {
	d := w.device()
	u, err := emulator.New(w.search.s.bounds.ICS)
	require.NoError(w.t, err)
	same := true
	for _, l := range w.search.s.bounds.Given {
		for _, in := range l.Inputs {
			r, one := u.Do(in, nil)
			q, other := d.Do(in, nil)
			same = same && alike(r, q, one, other)
		}
	}
	return d, same
}

// step does a letter with the emulator, and with a device unless it is nil. It is not taken where time cannot pass so.
func (w *walker) step(u *emulator.Unit, d oracle.Device, letter int) (taken, same bool) {
	b := &w.search.s.bounds
	same = true
	if kind := letter - len(b.Letters); kind >= 0 {
		w.search.start.Facts = u.Facts()
		seconds, ok := w.search.wait(u, kind)
		if !ok {
			return false, true
		}
		changes := u.Advance(seconds, nil)
		return true, d == nil || alike(spec.Reply{}, spec.Reply{}, changes, d.Advance(seconds, nil))
	}
	for _, in := range b.Letters[letter].Inputs {
		r, one := u.Do(in, nil)
		if d != nil {
			q, other := d.Do(in, nil)
			same = same && alike(r, q, one, other)
		}
	}
	return true, same
}

// The second model, brought to every state of the emulator within small bounds on a shortest way there, takes every step from it as the
// emulator does.
func TestTheSecondModelDoesAsTheEmulatorDoes(t *testing.T) {
	for _, groups := range []string{"override,reset", "boost,power", "mode", "holiday,override", "lock,power", "clock,override", "fit,power,boost"} {
		t.Run(groups, func(t *testing.T) {
			b := boundsOf(t, winter(nil), groups)
			b.Horizon = 75 * calendar.Minute
			w := newWalker(t, b, func() oracle.Device { return oracle.SecondModel(b.ICS) })
			_, same := w.given()
			require.True(t, same)
			type reached struct {
				unit emulator.Unit
				way  []int
			}
			list := []reached{{w.start, nil}}
			key := func(u *emulator.Unit) emulator.Facts {
				f := u.Facts()
				canonical(&f, b.shift())
				return f
			}
			seen := map[emulator.Facts]bool{key(&w.start): true}
			steps := 0
			for i := 0; i < len(list); i++ {
				at := list[i]
				if f := at.unit.Facts(); f.ClockSet && w.search.s.beyond(f.UTC) {
					continue
				}
				for letter := range w.search.s.letters() {
					u := at.unit
					if taken, _ := w.step(&u, nil, letter); !taken {
						continue
					}
					d, _ := w.given()
					v := w.start
					for _, l := range at.way {
						w.step(&v, d, l)
					}
					steps++
					_, same := w.step(&v, d, letter)
					require.True(t, same, "%v, then %d", at.way, letter)
					if f := key(&u); !seen[f] {
						seen[f] = true
						list = append(list, reached{u, append(slices.Clone(at.way), letter)})
					}
				}
			}
			alone, err := Run(t.Context(), b, Options{})
			require.NoError(t, err)
			require.Equal(t, [2]int{alone.States, int(alone.Transitions)}, [2]int{len(seen), steps}, "no state, and no step, is missing")
			t.Logf("%d states, %d steps", len(seen), steps)
		})
	}
}

// bounded is a seeded fault's bounds: what its witness has in second 0 before anything else than the unit's setting up is given, the rest of
// its inputs are letters. The way is the witness's in these bounds; outside says why it has none.
func bounded(t testing.TB, f *faults.Fault) (b Bounds, way int, outside string) {
	b.ICS = f.ICS()
	start, err := emulator.New(b.ICS)
	require.NoError(t, err)
	u, setsUp := start, true
	var inputs []spec.Input
	for _, s := range f.Witness[:len(f.Witness)-1] {
		in, err := wire.ParseInput(s.Do)
		require.NoError(t, err, f.ID)
		inputs = append(inputs, in)
		switch in.Kind {
		case spec.PowerOn, spec.Fit, spec.SetClock, spec.SetPeriod, spec.SetMode:
			r, _ := u.Do(in, nil)
			setsUp = setsUp && s.At == 0 && r.Outcome == spec.Accepted
		default:
			setsUp = false
		}
		l := Letter{Text: s.Do, Inputs: []spec.Input{in}}
		if setsUp {
			b.Given = append(b.Given, l)
		} else if !slices.ContainsFunc(b.Letters, func(m Letter) bool { return m.Text == s.Do }) {
			b.Letters = append(b.Letters, l)
		}
	}
	u = start
	for i, s := range f.Witness {
		last := i == len(inputs)
		for {
			next, ok := u.Next()
			if u.Now() >= s.At && (!ok || next > u.Now()) {
				break // else what is due in this second, such as the end of no reserve, comes before the input: a wait of no seconds
			}
			facts := u.Facts()
			switch {
			case !ok:
				return b, 0, fmt.Sprintf("time is to pass to second %d, and no instant of change comes", s.At)
			case next > s.At && !last && !(next == s.At+1 && facts.ClockSet && (facts.UTC+int64(next-u.Now()))%calendar.Minute == 0):
				return b, 0, fmt.Sprintf("its witness has '%s' in second %d, which is neither an instant of change nor the second before one that is a full minute", s.Do, s.At)
			case next > s.At && !last:
				u.Advance(s.At-u.Now(), nil)
			default:
				u.Advance(next-u.Now(), nil)
			}
			way++
		}
		if !last {
			if i >= len(b.Given) {
				way++
			}
			u.Do(inputs[i], nil)
		}
	}
	sequences := 1
	for range way {
		if sequences *= len(b.Letters) + 2; sequences > mostSequences {
			return b, way, fmt.Sprintf("its witness takes %d steps of %d kinds, and at most %d sequences are tried", way, len(b.Letters)+2, mostSequences)
		}
	}
	return b, way, ""
}

// mostSequences is how many ways are tried to find one fault.
const mostSequences = 50_000

// shortest returns how many steps the shortest way takes on which a device departs, if that is at most so many. A faulty unit may remember
// anything, so that no two ways are taken for one.
func shortest(w *walker, most int) (steps int, found bool) {
	if _, same := w.given(); !same {
		return 0, true
	}
	level := [][]int{nil}
	for depth := 1; depth <= most; depth++ {
		var next [][]int
		for _, way := range level {
			for letter := range w.search.s.letters() {
				d, _ := w.given()
				u := w.start
				for _, l := range way {
					w.step(&u, d, l)
				}
				taken, same := w.step(&u, d, letter)
				if !same {
					return depth, true
				}
				if taken && depth < most {
					next = append(next, append(slices.Clone(way), letter))
				}
			}
		}
		level = next
	}
	return 0, false
}

// Every seeded fault whose witness lies within bounds made of its inputs is found there, on a way that is as short as any and no longer than the
// witness known by hand; of the others it is said why they lie outside. On a sample of the catalogue here; with -full on all of it.
func TestSeededFaultsWithinBoundsAreFound(t *testing.T) {
	list := slices.Concat(faults.Catalogue(), faults.Doubles())
	every := 12
	if *full {
		every = 1
	}
	found, shorter, outside := 0, 0, 0
	for i := 0; i < len(list); i += every {
		f := &list[i]
		b, way, why := bounded(t, f)
		if why != "" {
			outside++
			t.Logf("%s is outside the bounds: %s", f.ID, why)
			continue
		}
		steps, ok := shortest(newWalker(t, b, func() oracle.Device { return f.Unit(b.ICS) }), way)
		if assert.True(t, ok, "%s is not found within the %d steps of its witness: %s", f.ID, way, f.Words) {
			found++
			if steps < way {
				shorter++
			}
		}
		right, ok := shortest(newWalker(t, b, func() oracle.Device { return oracle.Emulator(b.ICS) }), min(way, 2))
		require.False(t, ok, "%s: a right unit departs after %d steps", f.ID, right)
	}
	t.Logf("%d found, %d of them on a way shorter than the witness's; %d outside the bounds", found, shorter, outside)
	require.Greater(t, found, len(list)/every/2)
}
