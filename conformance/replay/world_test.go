package replay

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/localtime"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

const hour, minute = int64(calendar.Hour), int64(calendar.Minute)

var london = localtime.Zone{SummerTime: true}

// at returns the instant of a local time in Europe/London such as 2026-11-02 06:30.
func at(t testing.TB, text string) int64 {
	t.Helper()
	utc, err := london.Parse(text)
	require.NoError(t, err)
	return utc
}

// house is a world of a unit with everything, two valves, and a room so cold that its thermostat always calls: mode off for both channels
// and every table empty.
func house(t testing.TB, from, to string) World {
	ics := spec.FullICS()
	in := plant.Usual(plant.TwoValves)
	in.Room.Setting = 40 * plant.Celsius
	return World{
		From: at(t, from), To: at(t, to), SummerTime: true, Warmth: usualWarmth,
		Phases: []Phase{{ICS: ics, Plant: in, Start: start(t, ics)}},
	}
}

// start is a unit with both channels off and empty tables.
func start(t testing.TB, ics spec.ICS) *Start {
	u, err := emulator.New(ics)
	require.NoError(t, err)
	f := u.Facts()
	for c := range f.Channels {
		f.Channels[c] = emulator.ChannelFacts{Mode: spec.Off}
	}
	return &Start{Facts: f}
}

// table gives a channel mode table and the same periods every day.
func (s *Start) table(c spec.Channel, periods ...spec.Period) *Start {
	s.Facts.Channels[c].Mode = spec.Table
	for day := range s.Facts.Channels[c].Table {
		s.Facts.Channels[c].Table[day] = [spec.MaxPeriods]spec.Period{}
		copy(s.Facts.Channels[c].Table[day][:], periods)
	}
	return s
}

// morning is 06:30 to 08:30.
var morning = spec.Period{On: 6*60 + 30, Off: 8*60 + 30}

func input(in spec.Input, when int64) Act { return Act{At: when, Input: in, Claim: -1} }

func run(t testing.TB, w World) *History {
	t.Helper()
	h, err := Run(&w, nil)
	require.NoError(t, err)
	return h
}

// lane lists the changes of a lane in local time with their offset.
func lane(h *History, l Lane) []string {
	var all []string
	for _, c := range h.Changes(l) {
		all = append(all, fmt.Sprintf("%s %s", london.At(c.At).Format("2 15:04:05 -07"), l.Word(c.Level)))
	}
	return all
}

func TestMethodsOfAWorldLeaveItAsItWas(t *testing.T) {
	w := house(t, "2026-11-02 00:00", "2026-11-03 00:00")
	w.Acts = []Act{{At: 1}, {At: 2, Claim: 1}, {At: 2, Claim: 2}, {At: 3}}
	before := w.Clone()
	added := w.Add(Act{At: 2, Claim: 3})
	assert.Equal(t, []Act{{At: 1}, {At: 2, Claim: 1}, {At: 2, Claim: 2}, {At: 2, Claim: 3}, {At: 3}}, added.Acts)
	assert.Equal(t, []Act{{At: 1}, {At: 2, Claim: 2}, {At: 3}}, w.Without(1).Acts)
	assert.Equal(t, []Act{{At: 1}, {At: 2, Claim: 2}, {At: 3}, {At: 9}}, w.Replace(1, Act{At: 9}).Acts)
	changed := w.EachPhase(func(p *Phase) { p.Plant.Overrun = 60 })
	assert.EqualValues(t, 60, changed.Phases[0].Plant.Overrun)
	changed = w.EachStart(func(s *Start) { s.Drift = 7 })
	assert.EqualValues(t, 7, changed.Phases[0].Start.Drift)
	assert.Equal(t, before, w)
	clone := w.Clone()
	clone.Acts[0].At, clone.Phases[0].From = 99, 99
	assert.Equal(t, before, w)
}

func TestWorldsThatCannotBe(t *testing.T) {
	good := house(t, "2026-11-02 00:00", "2026-11-03 00:00")
	for name, c := range map[string]struct {
		spoil func(*World)
		want  string
	}{
		"no phase":      {func(w *World) { w.Phases = nil }, "a world without a phase; give it one"},
		"no time":       {func(w *World) { w.To = w.From }, "let it begin at 0 or later, and end after that"},
		"before 2000":   {func(w *World) { w.From = -1 }, "let it begin at 0 or later"},
		"no start":      {func(w *World) { w.Phases[0].Start = nil }, "the first phase does not say how the unit begins"},
		"phases":        {func(w *World) { w.Phases = append(w.Phases, Phase{From: w.From - 1}) }, "phase 1 begins before"},
		"acts":          {func(w *World) { w.Acts = []Act{{At: w.From + 2}, {At: w.From + 1}} }, "act 1 comes before the one before it"},
		"deed":          {func(w *World) { w.Acts = []Act{{Deed: numDeeds}} }, "act 0 is no deed that there is"},
		"drift":         {func(w *World) { w.Phases[0].Start.Drift = -1_000_000 }, "a drift of -1000000 parts per million"},
		"ICS":           {func(w *World) { w.Phases[0].ICS.Periods = 0 }, "phase 0: "},
		"installation":  {func(w *World) { w.Phases[0].Plant.Room.Band = 0 }, "phase 0: "},
		"no thermostat": {func(w *World) { w.Acts = []Act{{At: w.From, Deed: AtThermostat, Contact: plant.FrostStatContact}} }, "act 0: the plant lacks the frost thermostat, which is turned here"},
		"no immersion":  {func(w *World) { w.Acts = []Act{{At: w.From, Deed: AtImmersion}} }, "act 0: the plant lacks an immersion heater with a switch of its own"},
		"later phase":   {func(w *World) { w.Phases = append(w.Phases, Phase{From: w.From + 1, Start: w.Phases[0].Start}) }, "phase 1: "},
		"cannot be fitted": {func(w *World) {
			p := w.Phases[0]
			p.From, p.Start = w.From+1, nil
			p.ICS.Fitted.Coupling = spec.Gravity
			w.Phases = append(w.Phases, p)
			for i := range w.Phases {
				w.Phases[i].ICS.Supported.Coupling = 1 << spec.Independent
			}
		}, "phase 1: "},
	} {
		t.Run(name, func(t *testing.T) {
			w := good.Clone()
			s := *w.Phases[0].Start
			w.Phases[0].Start = &s
			c.spoil(&w)
			_, err := Run(&w, nil)
			assert.ErrorContains(t, err, c.want)
		})
	}
}
