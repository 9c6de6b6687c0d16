package fuzz

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/verify"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// shortened is what a long script of the mistake is expected to come down to, derived by hand.
var shortened = []struct {
	fault, script, clause string
}{
	// An override at 23:59 is gone at midnight: the relay, closed by it, opens. Nothing shorter shows it.
	{"OVR/ends-at-midnight", "new\npower on\nclock 2026-01-14 23:59\noverride hw\ngo 60\n", "OVR-1"},
	// A boost's relay opens a second late, 3600 s after the press. No clock is needed.
	{"BST/a-second-long", "new\npower on\nboost hw 60\ngo 3600\n", "CLK-11"},
	// 24:00 is no time to set a clock to.
	{"CLK/takes-24-00", "new\npower on\nclock 2026-01-14 24:00\n", "CLK-4"},
	// Hot water does not come with heating's boost. It may be late up to 2 s after power has returned, and not later.
	{"CPL/not-under-boost", "new\npower on\nboost ch 60\ngo 2\n", "CPL-1"},
	// Reset takes the lock's alert away.
	{"LCK/reset-clears", "new\npower on\nlock arm 246810 1 0 none none none none none\nreset\n", "LCK-2"},
}

func TestShortening(t *testing.T) {
	for _, want := range shortened {
		t.Run(want.fault, func(t *testing.T) {
			for seed := range uint64(3) {
				c := run(t, faulty(fault(t, want.fault)), Options{Seed: seed, Steps: 200_000, Patience: Jumping, First: true})
				require.Len(t, c.Findings(), 1)
				f := c.Findings()[0]
				assert.Equal(t, want.script, string(Format(f.Script)), "seed %d", seed)
				assert.Equal(t, want.clause, f.Clause, "seed %d", seed)
			}
		})
	}
}

// A finding's file is a vector by the rules of all vectors: schema, both models on a spread of units, and a verdict on the unit.
func TestFilesAreVectors(t *testing.T) {
	for _, id := range []string{"OVR/ends-at-midnight", "LCK/window-on-the-clocks-hour", "CLK/takes-24-00", "PWR/fit-unlisted-refused", "HOL/none-cancels", "TAB/both-with-separate-timing", "LCK/any-credential-removes"} {
		t.Run(id, func(t *testing.T) {
			unit := faulty(fault(t, id))
			c := run(t, unit, Options{Seed: 1, Steps: 300_000, Patience: Jumping, First: true})
			require.Len(t, c.Findings(), 1)
			f := c.Findings()[0]
			data, err := f.File()
			require.NoError(t, err)
			set, err := read(f.Name()+".json", data)
			require.NoError(t, err)
			require.Len(t, set.Vectors, 1)
			v := set.Vectors[0]
			assert.Equal(t, "GEN/"+f.Name()+"-1", v.ID)
			assert.Equal(t, f.Clause, v.Clauses[0])
			require.NoError(t, verify.Vector(v))
			verdicts := func(unit iut.IUT) (verdict runner.Verdict) {
				require.NoError(t, runner.Run(t.Context(), unit, []*suite.Vector{v}, func(r *runner.Result) { verdict = r.Verdict }))
				return verdict
			}
			assert.Equal(t, runner.Fail, verdicts(unit))
			assert.Equal(t, runner.Pass, verdicts(emulated(unit.ICS())))
			full := spec.FullICS()
			assert.NotContains(t, string(data), full.Credential)
		})
	}
}

// What one option has nothing to do with, the vector does not ask for.
func TestNeedsAreLoose(t *testing.T) {
	c := run(t, faulty(fault(t, "OVR/ends-at-midnight")), Options{Seed: 1, Steps: 100_000, Patience: Jumping, First: true})
	require.Len(t, c.Findings(), 1)
	data, err := c.Findings()[0].File()
	require.NoError(t, err)
	assert.NotContains(t, string(data), `"needs"`)
	c = run(t, faulty(fault(t, "OVR/cancelled-between-table-and-span")), Options{Seed: 1, Steps: 100_000, Patience: Jumping, First: true})
	require.Len(t, c.Findings(), 1)
	data, err = c.Findings()[0].File()
	require.NoError(t, err)
	assert.Contains(t, string(data), `"override-on-mode-change": "kept"`)
	assert.NotContains(t, string(data), `"lost-clock"`)
}

// Where a unit can have another statement, a cause is shown on the plainest with which it comes.
func TestPlainestStatement(t *testing.T) {
	f := fault(t, "OVR/cancelled-between-table-and-span")
	claims := f.ICS()
	claims.Zone, claims.Clamp, claims.Wrap, claims.Periods, claims.BoostStep, claims.Fitted.Coupling = 60, true, true, 2, 30, spec.Gravity
	other := func(ics spec.ICS) iut.IUT {
		return iut.InProcess(f.ID, ics, func(ics spec.ICS) wire.Device { return f.Unit(ics) })
	}
	c := run(t, other(claims), Options{Seed: 1, Steps: 300_000, Patience: Jumping, First: true, Other: other})
	require.Len(t, c.Findings(), 1)
	assert.Equal(t, f.ICS(), c.Findings()[0].ICS, "the option that the fault is about stays, and no other")
}

func TestSubsumes(t *testing.T) {
	for _, c := range []struct {
		known, group string
		want         bool
	}{
		{"OVR-1 relay: override", "OVR-1 relay: override", true},
		{"OVR-1 relay: override", "OVR-1 relay: holiday, override, reset", true},
		{"OVR-1 relay: override, reset", "OVR-1 relay: reset, override", false},
		{"OVR-1 relay: override", "OVR-1 refused: override", false},
		{"OVR-1 relay: override", "BST-1 relay: override", false},
		{"MOD-2 relay: ", "MOD-2 relay: period", false},
		{"MOD-2 relay: ", "MOD-2 relay: ", true},
	} {
		assert.Equal(t, c.want, subsumes(c.known, c.group), "%q, %q", c.known, c.group)
	}
}

// A vector keeps what is fitted where the change of it is what shows the cause: here a unit that comes with coupling independent has none.
func TestFitThatIsChangedStays(t *testing.T) {
	unit := faulty(fault(t, "PWR/coupling-brings-defaults"))
	script, err := Parse([]byte("new\nfit coupling gravity\npower on\nmode hw always\npower off\nfit coupling independent\npower on\ngo 2\n"))
	require.NoError(t, err)
	c, err := New(unit, Options{})
	require.NoError(t, err)
	s := storyOf(script)
	list, err := c.watch(t.Context(), &s)
	require.NoError(t, err)
	require.NotEmpty(t, list)
	f := &Finding{Departure: list[0], Script: script, ICS: unit.ICS(), story: s}
	f.Group = f.group()
	require.NoError(t, c.confirm(t.Context(), f))
	require.NotNil(t, f.Result)
	data, err := f.File()
	require.NoError(t, err)
	set, err := read(f.Name()+".json", data)
	require.NoError(t, err)
	require.NoError(t, runner.Run(t.Context(), unit, set.Vectors, func(r *runner.Result) { assert.Equal(t, runner.Fail, r.Verdict) }))
}
