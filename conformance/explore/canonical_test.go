package explore

import (
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

// A state and the one that stands for it behave alike from there on, but for the date that the clock shows.
func TestStatesThatAreTakenForOneBehaveAlike(t *testing.T) {
	for name, ics := range statements() {
		t.Run(name, func(t *testing.T) {
			b := alphabetOf(t, ics)
			moved := 0
			rapid.Check(t, func(t *rapid.T) {
				u, err := b.start()
				require.NoError(t, err)
				walk := func(n int, label string) []func(*emulator.Unit, int, []spec.Change) (spec.Reply, []spec.Change) {
					var steps []func(*emulator.Unit, int, []spec.Change) (spec.Reply, []spec.Change)
					for range n {
						l := rapid.IntRange(-3, len(b.Letters)-1).Draw(t, label)
						seconds := rapid.SampledFrom([]uint64{1, 59, 3600, 86_399, 86_400, 200_000, 700_000}).Draw(t, "seconds")
						steps = append(steps, func(u *emulator.Unit, days int, changes []spec.Change) (r spec.Reply, _ []spec.Change) {
							if l < 0 {
								if next, ok := u.Next(); ok && l == -3 {
									seconds = next - u.Now()
								}
								return r, u.Advance(seconds, changes)
							}
							for _, in := range b.Letters[l].Inputs {
								if in.Kind == spec.SetClock {
									y, m, d := calendar.Date(calendar.Days(int(in.Date.Year), int(in.Date.Month), int(in.Date.Day)) + days)
									in.Date = spec.Date{Year: uint16(y), Month: uint8(m), Day: uint8(d)}
								}
								r, changes = u.Do(in, changes)
							}
							return r, changes
						})
					}
					return steps
				}
				for _, do := range walk(rapid.IntRange(0, 40).Draw(t, "way"), "way") {
					do(&u, 0, nil)
				}
				facts := u.Facts()
				stands := facts
				days := canonical(&stands, b.shift())
				if stands != facts {
					moved++
				}
				v := u
				v.Restore(&stands)
				require.Equal(t, stands, v.Facts(), "a state that stands for others is one")

				memory := newMemory()
				n := newNames(memory)
				packed := n.pack(&stands)
				var back emulator.Facts
				n.unpack(&packed, &back)
				require.Equal(t, stands, back, "nothing is lost in packing")

				at := u.Now()
				for _, do := range walk(30, "on") {
					r, changes := do(&u, days, nil)
					// What is shifted stays so until the clock is lost or found elsewhere: the same days later, or not at all.
					q, others := do(&v, 0, nil)
					require.Equal(t, r, q)
					require.Equal(t, len(changes), len(others))
					for i := range changes {
						changes[i].At -= at
						require.Equal(t, changes[i], others[i], "%s", wire.AppendChange(nil, changes[i]))
					}
				}
			})
			require.Positive(t, moved)
		})
	}
}
