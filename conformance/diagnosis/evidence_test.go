package diagnosis

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/spec"
)

// Whoever says of one table what was meant to be set says it of all: that costs once. What was said of something else is not excused.
func TestWhatWasMeantIsSaidOfAllTables(t *testing.T) {
	c := house{}.complaint(t)
	base, err := replay.FromComplaint(c)
	require.NoError(t, err)
	other, ok := simply("", func(w replay.World) replay.World {
		return w.EachStart(func(s *replay.Start) {
			for ch := range s.Facts.Channels {
				for d := range s.Facts.Channels[ch].Table {
					s.Facts.Channels[ch].Table[d][0] = spec.Period{On: 600, Off: 610}
				}
			}
			s.Facts.Channels[spec.HW].Mode = spec.Span
		})
	}).apply(base)
	require.True(t, ok)
	h, err := replay.Run(&other, new(replay.Buffers))
	require.NoError(t, err)
	x := gather(c, nil).hold(h, ofTables, nil)
	yes, no := replay.Likelihood(complaint.Fairly, 1), replay.Likelihood(complaint.Fairly, 0)
	likely := []float64{no, yes, meant, yes, yes, yes} // in the order of the house's settings
	require.Len(t, x.each, len(likely))
	for i, p := range likely {
		assert.InDelta(t, math.Log(p), x.each[i], 1e-6, c.Settings[i].Text)
	}
	assert.Equal(t, verdicts{replay.Departs, replay.Agrees, replay.CannotTell, replay.CannotTell, replay.CannotTell, replay.Agrees}, x.verdicts)
}
