package diagnosis

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// asker puts questions of a house's catalogue to worlds that differ from the account.
type asker struct {
	a    *account
	base replay.World
	qs   map[string]*Question
}

func (h house) asker(t *testing.T) *asker {
	t.Helper()
	c := h.complaint(t)
	base, err := replay.FromComplaint(c)
	require.NoError(t, err)
	p := extend(c, base)
	require.NoError(t, p.live(new(replay.Buffers)))
	x := &asker{a: &account{complaint: c, base: base, h: p.h, verdicts: make(verdicts, len(c.Sensed))}, base: base, qs: map[string]*Question{}}
	for _, q := range catalogue(x.a) {
		assert.NotContains(t, x.qs, q.ID, "two questions have one id")
		x.qs[q.ID] = q
	}
	return x
}

// of returns the words of the choice that a world leads to.
func (x *asker) of(t *testing.T, id string, w replay.World) string {
	t.Helper()
	require.Contains(t, x.qs, id)
	choice, err := x.qs[id].Ask(w)
	require.NoError(t, err)
	require.GreaterOrEqual(t, choice, 0, id)
	return x.qs[id].Choices[choice]
}

// The account is taken on Thursday 12 November at 18:00 and reaches back to Friday 30 October. Heating is on in the evenings and mornings of
// working days, and all day at weekends.
func TestCourse(t *testing.T) {
	x := house{}.asker(t)
	ask := func(w replay.World) string {
		var all []string
		for _, id := range []string{"since", "often", "which", "way", "lately"} {
			all = append(all, x.of(t, "course/"+id, w))
		}
		return strings.Join(all, "; ")
	}
	dead := func(from, to int64) replay.World {
		w := x.base
		w.Phases = append(w.Phases[:1:1], w.Phases[0], w.Phases[0])
		w.Phases[1].From, w.Phases[1].Start, w.Phases[1].Plant = from, nil, w.Phases[0].Plant.With(plant.Dies(plant.CHValveLoad))
		w.Phases[2].From, w.Phases[2].Start = to, nil
		return w
	}
	end := x.base.To
	hours := func(n int64) int64 { return end - n*calendar.Hour }

	assert.Equal(t, "it is as it is set; on none; neither; neither; it is as it is set", ask(x.base))
	always := x.base.EachPhase(func(p *replay.Phase) { p.Plant = p.Plant.With(plant.Dies(plant.CHValveLoad)) })
	assert.Equal(t, "for as long as they remember; on most days, or all; heating; cold; it is still so", ask(always))
	// From Monday the 9th at noon on: the evenings of Monday to Wednesday, and the mornings after.
	assert.Equal(t, "for some days; on most days, or all; heating; cold; it is still so", ask(dead(hours(78), end-1)))
	// From Tuesday the 3rd at noon, 222 hours before, to the next noon: one evening and one morning.
	assert.Equal(t, "for more than a week, but not always; now and then; heating; cold; it has gone by itself", ask(dead(hours(222), hours(198))))
	// Monday's evening alone.
	assert.Equal(t, "for some days; on one day only; heating; cold; it has gone by itself", ask(dead(hours(75), hours(67))))
	// Tables that are empty at the weekend, of which the first was the day after the account begins.
	weekend := x.base.EachStart(func(s *replay.Start) {
		for d := 5; d < 7; d++ {
			s.Facts.Channels[spec.CH].Table[d] = [spec.MaxPeriods]spec.Period{}
		}
	})
	assert.Equal(t, "for as long as they remember; on days of the weekend only; heating; cold; it has gone by itself", ask(weekend))
	// Mode always: warm at night and about noon.
	on := x.base.EachStart(func(s *replay.Start) { s.Facts.Channels[spec.CH].Mode = spec.Always })
	assert.Contains(t, ask(on), "on most days, or all; heating; warm; it is still so")
}

func TestInParts(t *testing.T) {
	x := house{}.asker(t)
	from := x.base.From
	all := inParts(x.a.h, replay.LaneCH, 1, from, from+3*calendar.Day)
	// Friday 30 October from midnight: 06:30 to 08:30, 17:00 to 22:00; Saturday 08:00 to 22:30.
	const hour = calendar.Hour
	assert.Equal(t, []int64{0, hour * 3 / 2, hour / 2, 0, 3 * hour, 2 * hour, 0, 0, 4 * hour, 4 * hour, 4 * hour, 5 * hour / 2}, all[:12])
	sum := int64(0)
	for _, n := range all {
		sum += n
	}
	assert.Equal(t, int64(7*hour+2*(29*hour/2)), sum, "Sunday is as Saturday")
}
