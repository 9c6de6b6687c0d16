package wasm

import (
	"bytes"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/emulator/spec"
)

// Expect is true of the answer that Ask gives and of no other, and leaves the unit in the same state.
func TestExpect(t *testing.T) {
	asked, unit := opened(t, sample.Module, Options{}), opened(t, sample.Module, Options{})
	ics := unit.ICS()
	random := rand.New(rand.NewPCG(5, 1))
	put, changed, asText := 0, 0, 0
	for range 20 {
		script := requests(t, strides(random, &ics)...)
		for _, u := range []*Unit{asked, unit} {
			_, err := u.Ask(t.Context(), script[:1])
			require.NoError(t, err)
		}
		at := uint64(0)
		for i := 1; i < len(script); i++ {
			r := &script[i]
			var before, after, is Snapshot
			require.NoError(t, unit.Snapshot(&before))
			obs, err := asked.Ask(t.Context(), script[i:i+1])
			require.NoError(t, err)
			require.Nil(t, obs.Trouble)
			outcome, changes := obs.Answers[0].Outcome, slices.Clone(obs.Changes)
			k := r.Input.Kind
			isText := r.Kind == iut.Do && (k == spec.LockArm || k == spec.LockRemove)
			expect := func(outcome spec.Outcome, changes []spec.Change) bool {
				require.NoError(t, unit.Restore(t.Context(), &before))
				put, so, err := unit.Expect(t.Context(), r, at, outcome, changes)
				require.NoError(t, err)
				require.Equal(t, put, !isText)
				return so
			}
			if isText {
				require.False(t, expect(outcome, changes), "there is no function for it")
				obs, err := unit.Ask(t.Context(), script[i:i+1])
				require.NoError(t, err)
				require.Nil(t, obs.Trouble)
				asText++
				continue
			}
			require.False(t, expect((outcome+1)%3, changes))
			require.False(t, expect(outcome, append(slices.Clone(changes), spec.Change{At: at + r.Seconds, Signal: spec.SigSounder, Level: 1})))
			if n := len(changes); n > 0 {
				require.False(t, expect(outcome, changes[:n-1]))
				for _, spoil := range []func(c *spec.Change){
					func(c *spec.Change) { c.At++ }, func(c *spec.Change) { c.At-- }, func(c *spec.Change) { c.At += 1 << 32 },
					func(c *spec.Change) { c.Level ^= 1 }, func(c *spec.Change) { c.Signal ^= 1 },
				} {
					other := slices.Clone(changes)
					spoil(&other[random.IntN(n)])
					require.False(t, expect(outcome, other))
				}
				changed++
			}
			require.True(t, expect(outcome, changes), "%+v: %v %+v", r, outcome, changes)
			require.NoError(t, unit.Snapshot(&is))
			require.NoError(t, asked.Snapshot(&after))
			require.True(t, bytes.Equal(after.memory, is.memory))
			unit.SetStanding(asked.reader.Standing())
			at += r.Seconds
			put++
		}
	}
	require.Greater(t, put, 500)
	require.Greater(t, changed, 100)
	require.Positive(t, asText)
}

// What is no answer is none that was expected, whether or not the unit outlives it.
func TestExpectOfAModuleThatFails(t *testing.T) {
	boost := requests(t, "boost hw 60")
	for fast, lives := range map[string]bool{"1": true, "2": true, "3": true, "6": false} {
		u := opened(t, hostile(t, "-DACT=0", "-DFAST="+fast), Options{})
		_, err := u.Ask(t.Context(), requests(t, "new"))
		require.NoError(t, err)
		put, so, err := u.Expect(t.Context(), &boost[0], 0, spec.Accepted, nil)
		require.NoError(t, err)
		require.True(t, put)
		require.False(t, so)
		put, so, err = u.Expect(t.Context(), &requests(t, "go 5")[0], 0, spec.Accepted, nil)
		require.NoError(t, err)
		require.Equal(t, lives, put)
		require.Equal(t, lives, so, "after trouble there is no state to go on from")
		_, err = u.Ask(t.Context(), requests(t, "new"))
		require.NoError(t, err)
	}
	u := opened(t, hostile(t, "-DACT=0", "-DFAST=10"), Options{})
	_, err := u.Ask(t.Context(), requests(t, "new"))
	require.NoError(t, err)
	pieces := []spec.Change{{At: 15, Signal: spec.SigCH, Level: 1}, {At: 25, Signal: spec.SigCH}, {At: 35, Signal: spec.SigCH, Level: 1}}
	_, so, err := u.Expect(t.Context(), &requests(t, "go 32")[0], 5, spec.Accepted, pieces)
	require.NoError(t, err)
	require.True(t, so)
	for _, fast := range []string{"8", "9"} {
		u := opened(t, hostile(t, "-DACT=0", "-DFAST="+fast), Options{})
		_, err := u.Ask(t.Context(), requests(t, "new"))
		require.NoError(t, err)
		_, so, err := u.Expect(t.Context(), &requests(t, "go 32")[0], 5, spec.Accepted, nil)
		require.NoError(t, err)
		require.False(t, so, "it says that no second has passed, or too many")
	}
}
