package diagnosis

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/spec"
)

// Of two causes the first may add acts, or take one away, before the second changes the act that it is about.
func TestASlipFindsItsActAgain(t *testing.T) {
	c := house{done: []string{"{when: 2026-11-10 12:00, do: override ch}"}}.complaint(t)
	base, err := replay.FromComplaint(c)
	require.NoError(t, err)
	b := &builder{c: c, base: base}
	act := base.Acts[0]
	later := act
	later.At += 3600
	slip := exchanged("", act, later)

	earlier := input(base, act.At-7200, spec.Input{Kind: spec.Boost, Channel: spec.HW, Amount: 60})
	w, ok := slip.apply(earlier)
	assert.True(t, ok)
	require.Len(t, w.Acts, 2)
	assert.Equal(t, spec.Boost, w.Acts[0].Input.Kind, "what was added stands")
	assert.Equal(t, later, w.Acts[1])

	undone, ok := b.undone(earlier, []int{0})
	assert.True(t, ok)
	require.Len(t, undone.Acts, 1)
	assert.Equal(t, spec.Boost, undone.Acts[0].Input.Kind)

	_, ok = slip.apply(undone)
	assert.False(t, ok, "what was not done was not done otherwise")
	_, ok = b.undone(undone, []int{0})
	assert.False(t, ok)
}
