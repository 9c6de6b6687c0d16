package diagnosis

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
)

// Of a unit whose cycle nobody told, an edit may be of every day, of the working week or of one day, as far as the tables are alike; all of them
// together are as probable as those of a cycle that is known.
func TestWhatIsEditedWhereTheCycleIsNotKnown(t *testing.T) {
	equal := func(settings string, known bool) (ids []string, weight float64) {
		c := house{settings: settings}.complaint(t)
		for i := range c.Unit {
			if c.Unit[i].Name == "cycle" && !known {
				c.Unit[i].Source = complaint.NotKnown
			}
		}
		base, err := replay.FromComplaint(c)
		require.NoError(t, err)
		h, err := replay.Run(&base, new(replay.Buffers))
		require.NoError(t, err)
		b := &builder{c: c, base: base, h: h}
		b.tables()
		for _, x := range b.causes {
			if days, ok := strings.CutPrefix(x.id, "tables/equal/ch/"); ok && strings.HasSuffix(days, "/1") {
				ids = append(ids, strings.TrimSuffix(days, "/1"))
			}
			if strings.HasPrefix(x.id, "tables/equal/") {
				weight += x.weight
			}
		}
		return ids, weight
	}
	each := []string{"monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"}
	week := []string{"monday-to-friday", "saturday-and-sunday"}
	alike := "\n  - mode ch table\n  - table ch every 06:30-08:30 17:00-22:00\n  - mode hw table\n  - table hw every 06:00-07:30\n  - clock thu 18:00"
	for name, x := range map[string]struct {
		settings string
		known    bool
		want     []string
	}{
		"all alike":           {alike, false, append(append([]string{"every-day"}, week...), each...)},
		"a working week":      {"", false, append(append([]string{}, week...), each...)},
		"each day its own":    {strings.Replace(alike, "every 06:30", "mon 06:45-08:30 17:00-22:00\n  - table ch tue 06:30", 1), false, each},
		"5/2, and it is told": {alike, true, week},
	} {
		ids, weight := equal(x.settings, x.known)
		assert.ElementsMatch(t, x.want, ids, name)
		assert.InDelta(t, weightEqualTimes, weight, 1e-9, name)
	}
}
