package explore

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// units that differ in what bears on which states are alike.
func statements() map[string]spec.ICS {
	ics := spec.FullICS()
	ics.SummerTime = false
	day, week, other := ics, ics, ics
	week.Fitted.Cycle = spec.Cycle7Day
	other.Wrap, other.BoostExtends, other.KeptThroughCut, other.BoostInHoliday, other.OverrideProgrammed = true, true, true, true, true
	other.LostClock, other.Zone = spec.LostResumes, 60
	restarts := week
	restarts.LostClock, restarts.Zone = spec.LostRestarts, -60
	return map[string]spec.ICS{"day": day, "week": week, "other choices": other, "restarts": restarts}
}

// alphabetOf returns every group's letters, and some that the groups do not have.
func alphabetOf(t require.TestingT, ics spec.ICS) Bounds {
	var names []string
	for _, g := range Groups() {
		names = append(names, g.Name)
	}
	b, err := ForGroups(ics, names)
	require.NoError(t, err)
	for _, line := range []string{"boost hw 180", "holiday 3", "clock 2026-11-18 05:59", "clock 2026-11-22 23:59", "lock arm {credential} 1 1 10 none 20 30 06:11,23:59",
		"table hw every 00:00-00:30 23:00-24:00"} {
		l, err := ParseLetter(&ics, line)
		require.NoError(t, err)
		b.Letters = append(b.Letters, l)
	}
	return b
}

// Moves that let time pass: to the next instant of change, and for so many seconds.
const (
	toNext = -1 - iota
	aWait
)

// move is a letter of an alphabet, or time that passes.
type move struct {
	letter  int    // of the alphabet, or one of the above
	seconds uint64 // with toNext: where nothing is to come
}

// make makes a move on a unit; dates in it are taken so many days later.
func (m move) make(b *Bounds, u *emulator.Unit, days int) (r spec.Reply, changes []spec.Change) {
	switch m.letter {
	case aWait:
		return r, u.Advance(m.seconds, nil)
	case toNext:
		seconds := m.seconds
		if next, ok := u.Next(); ok {
			seconds = next - u.Now()
		}
		return r, u.Advance(seconds, nil)
	}
	for _, in := range b.Letters[m.letter].Inputs {
		if in.Kind == spec.SetClock {
			y, m, d := calendar.Date(calendar.Days(int(in.Date.Year), int(in.Date.Month), int(in.Date.Day)) + days)
			in.Date = spec.Date{Year: uint16(y), Month: uint8(m), Day: uint8(d)}
		}
		r, changes = u.Do(in, changes)
	}
	return r, changes
}

// standsFor returns the facts of the state that stands for a unit's, and by how many days its clock is another.
func standsFor(b *Bounds, u *emulator.Unit) (f emulator.Facts, days int) {
	f = u.Facts()
	days = canonical(&f, b.shift())
	return f, days
}

// requireAlike requires that a unit that has come some way and the state that stands for its own go on alike, and stay so, and reports whether
// they are two.
func requireAlike(t require.TestingT, b *Bounds, way, on []move) (two bool) {
	u, err := b.start()
	require.NoError(t, err)
	for _, m := range way {
		m.make(b, &u, 0)
	}
	stands, _ := standsFor(b, &u)
	two = stands != u.Facts()
	v := u
	v.Restore(&stands)
	require.Equal(t, stands, v.Facts(), "a state that stands for others is one")

	memory := newMemory()
	n := newNames(memory)
	written := sheet{Facts: stands}
	n.name(&written)
	var packed state
	n.pack(&written, &packed)
	var back sheet
	n.unpack(&packed, &back)
	require.Equal(t, stands, back.Facts, "nothing is lost in packing")

	at := u.Now()
	for _, m := range on {
		// By how many days they differ is asked before each move, as the search and the way to a counterexample do: a clock that has been lost is
		// unset or restarts on the same day for both.
		f, days := standsFor(b, &u)
		g, others := standsFor(b, &v)
		require.Equal(t, f, g, "what stands for them is one")
		days -= others

		r, changes := m.make(b, &u, days)
		q, same := m.make(b, &v, 0)
		require.Equal(t, r, q)
		require.Equal(t, len(changes), len(same))
		for i := range changes {
			changes[i].At -= at
			require.Equal(t, changes[i], same[i], "%s", wire.AppendChange(nil, changes[i]))
		}
	}
	return two
}

// A state and the one that stands for it behave alike from there on, but for the date that the clock shows.
func TestStatesThatAreTakenForOneBehaveAlike(t *testing.T) {
	for name, ics := range statements() {
		t.Run(name, func(t *testing.T) {
			b := alphabetOf(t, ics)
			moved := 0
			rapid.Check(t, func(t *rapid.T) {
				walk := func(n int, label string) (moves []move) {
					for range n {
						moves = append(moves, move{
							max(aWait, rapid.IntRange(aWait-1, len(b.Letters)-1).Draw(t, label)),
							rapid.SampledFrom([]uint64{1, 59, 3600, 86_399, 86_400, 200_000, 700_000}).Draw(t, "seconds"),
						})
					}
					return moves
				}
				if requireAlike(t, &b, walk(rapid.IntRange(0, 40).Draw(t, "way"), "way"), walk(30, "on")) {
					moved++
				}
			})
			require.Positive(t, moved)
		})
	}
}

// A clock that restarts is on the same day whatever it was before: from then on no date is taken later for one than for the other.
func TestStatesWhoseClocksRestartBehaveAlike(t *testing.T) {
	b := alphabetOf(t, statements()["restarts"])
	do := func(line string) move {
		i := slices.IndexFunc(b.Letters, func(l Letter) bool { return l.Text == line })
		require.GreaterOrEqual(t, i, 0, line)
		return move{letter: i}
	}
	lost := []move{do("power off"), {aWait, 86_399}, do("power on")}
	require.True(t, requireAlike(t, &b, lost, append(lost, do("holiday 2"), do("clock 2026-11-16 06:15"), move{aWait, 200_000})))
}
