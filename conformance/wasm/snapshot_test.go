package wasm

import (
	"bytes"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/sample"
)

// From a snapshot on everything happens again as it did, whatever has happened in between, and it is the same as with a unit that
// was never put back.
func TestSnapshot(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 1))
	lines := []string{"power on", "power off", "mode hw table", "mode ch always", "mode ch span", "mode hw off", "override hw", "override ch",
		"boost hw 60", "boost ch 120", "boost ch 0", "holiday 2", "holiday cancel", "reset", "clock 2026-03-28 23:10", "clock 2026-10-24 22:05",
		"period hw wed 1 06:30 09:00", "period ch sun 2 01:00 03:00", "lock arm 246810 3 2 none 30 20 10 08:00", "lock remove 246810",
		"go 1", "go 59", "go 3600", "go 86400", "go 200000"}
	some := func(n int) iut.Script {
		words := make([]string, n)
		for i := range words {
			words[i] = lines[random.IntN(len(lines))]
		}
		return requests(t, words...)
	}
	for _, text := range []bool{false, true} {
		u, straight := opened(t, sample.Module, Options{Text: text}), opened(t, sample.Module, Options{Text: text})
		ask := func(u *Unit, s iut.Script) iut.Observation {
			obs, err := u.Ask(t.Context(), s)
			require.NoError(t, err)
			require.Nil(t, obs.Trouble)
			return iut.Observation{Answers: slices.Clone(obs.Answers), Changes: slices.Clone(obs.Changes)}
		}
		changes := 0
		for range 40 {
			var at, same Snapshot
			first := slices.Concat(requests(t, "new", "power on", "clock 2026-03-28 12:00"), some(30))
			then, other := some(20), some(20)
			ask(u, first)
			require.NoError(t, u.Snapshot(&at))
			want := ask(u, then)
			ask(u, other)
			require.NoError(t, u.Restore(t.Context(), &at))
			require.NoError(t, u.Snapshot(&same))
			require.True(t, bytes.Equal(at.memory, same.memory))
			require.Equal(t, at.globals, same.globals)
			require.Equal(t, want, ask(u, then))

			ask(straight, first)
			require.Equal(t, want, ask(straight, then))
			changes += len(want.Changes)
		}
		require.Greater(t, changes, 400)
	}
}

// The sample's whole state is a few KiB: the rest of its page are buffers.
func TestSnapshotOfTheSampleIsSmall(t *testing.T) {
	u := opened(t, sample.Module, Options{})
	var s Snapshot
	require.NoError(t, u.Snapshot(&s))
	require.Less(t, len(s.memory), 4<<10)
	require.Len(t, s.globals, 1, "the stack pointer")
	require.Zero(t, testing.AllocsPerRun(100, func() { require.NoError(t, u.Snapshot(&s)) }))
}

func TestSnapshotOfAnotherUnit(t *testing.T) {
	u, other := opened(t, sample.Module, Options{}), opened(t, sample.Module, Options{})
	var s Snapshot
	require.NoError(t, u.Snapshot(&s))
	require.ErrorContains(t, other.Restore(t.Context(), &s), "none of this unit's")
}
