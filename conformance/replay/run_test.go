package replay

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// The times below were derived by hand from the clauses that the comments name, before anything was run.

func TestRelaysFollowTheTable(t *testing.T) {
	w := house(t, "2026-11-02 00:00", "2026-11-04 00:00")
	w.Phases[0].Start.table(spec.CH, morning)
	h := run(t, w)
	// MOD-2, TAB-1.
	assert.Equal(t, []string{"2 06:30:00 +00 closed", "2 08:30:00 +00 open", "3 06:30:00 +00 closed", "3 08:30:00 +00 open"}, lane(h, LaneCH))
	assert.Empty(t, lane(h, LaneHW))
	assert.Equal(t, "period 1 begins (MOD-2)", h.Why(&h.Changes(LaneCH)[0]))
	assert.EqualValues(t, 0, h.Level(LaneCH, at(t, "2026-11-02 06:29:59")))
	assert.EqualValues(t, 1, h.Level(LaneCH, at(t, "2026-11-02 06:30")))
	assert.EqualValues(t, 0, h.Level(LaneCH, at(t, "2026-11-02 08:30")))
	// The plant follows: the valve takes its 20 s, the boiler 15 s (plant.DefaultPractice).
	assert.Equal(t, "2 06:30:20 +00 on", lane(h, PointLane(plant.Call))[0])
	assert.Equal(t, "2 06:30:35 +00 burning", lane(h, PointLane(plant.Flame))[0])
}

func TestAClockThatIsOut(t *testing.T) {
	w := house(t, "2026-11-02 00:00", "2026-11-03 00:00")
	w.Phases[0].Start.table(spec.CH, morning)
	fast := w.EachStart(func(s *Start) { s.ClockError = hour })
	assert.Equal(t, []string{"2 05:30:00 +00 closed", "2 07:30:00 +00 open"}, lane(run(t, fast), LaneCH))
	slow := w.EachStart(func(s *Start) { s.ClockError = -12 * hour })
	h := run(t, slow)
	assert.Equal(t, []string{"2 18:30:00 +00 closed", "2 20:30:00 +00 open"}, lane(h, LaneCH))
	reading, shown := h.Reading(at(t, "2026-11-02 18:30"))
	assert.Equal(t, Readable, shown)
	assert.Equal(t, at(t, "2026-11-02 06:30"), reading)
	// A day out: on Monday the unit takes it to be Tuesday.
	day := w.EachStart(func(s *Start) {
		s.ClockError = 24 * hour
		s.Facts.Channels[spec.CH].Table[spec.Tue] = [spec.MaxPeriods]spec.Period{{On: 600, Off: 660}}
	})
	assert.Equal(t, []string{"2 10:00:00 +00 closed", "2 11:00:00 +00 open"}, lane(run(t, day), LaneCH))
	// Unset: table asks for nothing (CLK-11), and the display flashes.
	unset := w.EachStart(func(s *Start) { s.ClockUnset = true })
	h = run(t, unset)
	assert.Empty(t, lane(h, LaneCH))
	assert.Equal(t, Flashing, h.Initial[LaneDisplay])
}

// With a gain of 1000 ppm the unit's clock comes to 06:30, 23 400 of its seconds after midnight, after 23 400 / 1.001 = 23 376.6 true ones:
// in second 23 377. On the second day it is 109 800 / 1.001 = 109 690.3. With a loss of 1000 ppm it is 23 400 / 0.999 = 23 423.4.
func TestDrift(t *testing.T) {
	w := house(t, "2026-11-02 00:00", "2026-11-04 00:00")
	w.Phases[0].Start.table(spec.CH, morning)
	gains := run(t, w.EachStart(func(s *Start) { s.Drift = 1000 }))
	assert.Equal(t, w.From+23_377, gains.Changes(LaneCH)[0].At)
	assert.Equal(t, w.From+109_691, gains.Changes(LaneCH)[2].At)
	loses := run(t, w.EachStart(func(s *Start) { s.Drift = -1000 }))
	assert.Equal(t, w.From+23_424, loses.Changes(LaneCH)[0].At)
	// The reading after a day: 86 400 x 1.001 = 86 486.4 of the unit's seconds.
	reading, _ := gains.Reading(w.From + 86_400)
	assert.Equal(t, w.From+86_486, reading)
	// A boost of 60 minutes is timed by the same crystal: 3600 / 1.001 = 3596.4 true seconds from 12:00, of which the unit is then in second
	// 43 243 (43 200 x 1.001 = 43 243.2): it ends with the unit's second 46 843, 46 843 / 1.001 = 46 796.2.
	boosted := w.EachStart(func(s *Start) { s.Drift = 1000 }).Add(input(spec.Input{Kind: spec.Boost, Channel: spec.HW, Amount: 60}, w.From+43_200))
	h := run(t, boosted)
	assert.Equal(t, []int64{w.From + 43_200, w.From + 46_797}, []int64{h.Changes(LaneHW)[0].At, h.Changes(LaneHW)[1].At})
}

// BEHAVIOUR.md, worked example 4, beside a unit without summer time that shows what the household's clocks showed before the change.
func TestTheNightOfTheChange(t *testing.T) {
	w := house(t, "2026-10-24 00:00", "2026-10-26 00:00")
	w.Phases[0].Start.table(spec.CH, spec.Period{On: 90, Off: 120})
	h := run(t, w)
	assert.Equal(t, []string{
		"24 01:30:00 +01 closed", "24 02:00:00 +01 open",
		"25 01:30:00 +01 closed", "25 01:00:00 +00 open", "25 01:30:00 +00 closed", "25 02:00:00 +00 open",
	}, lane(h, LaneCH))
	reading, _ := h.Reading(at(t, "2026-10-25 01:30 +00:00"))
	assert.Equal(t, at(t, "2026-10-25 01:30 +00:00"), reading, "the reading went back with the household's")

	ics := w.Phases[0].ICS
	ics.SummerTime = false
	w.Phases[0].ICS = ics
	none := w.EachStart(func(s *Start) {
		s.ClockError = hour
		s.table(spec.CH, morning)
	})
	h = run(t, none)
	// CLK-14: on Sunday it comes on an hour early.
	assert.Equal(t, []string{"24 06:30:00 +01 closed", "24 08:30:00 +01 open", "25 05:30:00 +00 closed", "25 07:30:00 +00 open"}, lane(h, LaneCH))
}

func TestTheSpringNight(t *testing.T) {
	w := house(t, "2026-03-28 12:00", "2026-03-29 12:00")
	w.Phases[0].Start.table(spec.CH, spec.Period{On: 60, Off: 120}, morning)
	// CLK-5: 01:00 to 02:00 never happens.
	assert.Equal(t, []string{"29 06:30:00 +01 closed", "29 08:30:00 +01 open"}, lane(run(t, w), LaneCH))
}

// BEHAVIOUR.md, worked example 8, with the reserve of 8 hours.
func TestACutOfTheReservesLength(t *testing.T) {
	cut := func(seconds int64) *History {
		w := house(t, "2026-11-01 12:00", "2026-11-02 12:00")
		w.Phases[0].Start.table(spec.CH, morning)
		w.Phases[0].Start.Facts.Channels[spec.HW].Mode = spec.Always
		off := at(t, "2026-11-01 22:00")
		w.Acts = []Act{input(spec.Input{Kind: spec.PowerOff}, off), input(spec.Input{Kind: spec.PowerOn}, off+seconds)}
		return run(t, w)
	}
	h := cut(8*hour - 1)
	assert.Equal(t, []string{"1 22:00:00 +00 dark", "2 05:59:59 +00 readable"}, lane(h, LaneDisplay))
	assert.Equal(t, []string{"2 06:30:00 +00 closed", "2 08:30:00 +00 open"}, lane(h, LaneCH))
	assert.Equal(t, []string{"1 22:00:00 +00 open", "2 05:59:59 +00 closed"}, lane(h, LaneHW))
	assert.Equal(t, "no power (PWR-1)", h.Why(&h.Changes(LaneHW)[0]))
	assert.Equal(t, "power returns; mode always (MOD-6)", h.Why(&h.Changes(LaneHW)[1]))
	assert.Equal(t, "off", PointLane(plant.UnitMains).Word(h.Level(PointLane(plant.UnitMains), at(t, "2026-11-01 23:00"))))

	h = cut(8 * hour) // PWR-7, PWR-9
	assert.Equal(t, []string{"1 22:00:00 +00 dark", "2 06:00:00 +00 flashing"}, lane(h, LaneDisplay))
	assert.Empty(t, lane(h, LaneCH))
	assert.Equal(t, []string{"1 22:00:00 +00 open", "2 06:00:00 +00 closed"}, lane(h, LaneHW), "always works with the clock unset (CLK-12)")
	_, shown := h.Reading(at(t, "2026-11-02 07:00"))
	assert.Equal(t, Flashing, shown)
	_, shown = h.Reading(at(t, "2026-11-02 05:00"))
	assert.Equal(t, Dark, shown)
}

// PWR-10: the clock goes on from where it stopped, here 2 hours behind after a cut of 10 with a reserve of 8.
func TestAClockThatGoesOn(t *testing.T) {
	w := house(t, "2026-11-01 12:00", "2026-11-02 12:00")
	w.Phases[0].ICS.LostClock = spec.LostResumes
	w.Phases[0].Start.table(spec.CH, morning)
	off := at(t, "2026-11-01 20:00")
	w.Acts = []Act{input(spec.Input{Kind: spec.PowerOff}, off), input(spec.Input{Kind: spec.PowerOn}, off+10*hour)}
	h := run(t, w)
	assert.Equal(t, []string{"2 08:30:00 +00 closed", "2 10:30:00 +00 open"}, lane(h, LaneCH))
}

func TestActsAndTheirReasons(t *testing.T) {
	w := house(t, "2026-11-02 00:00", "2026-11-03 00:00")
	w.Phases[0].ICS.Fitted.Coupling = spec.Gravity
	w.Phases[0].Plant = plant.Usual(plant.GravityUnvalved)
	w.Phases[0].Start.table(spec.CH, morning, spec.Period{On: 16 * 60, Off: 22 * 60})
	override := spec.Input{Kind: spec.Override, Channel: spec.CH}
	w.Acts = []Act{
		input(override, w.From-1), // before the history: not done
		input(override, at(t, "2026-11-02 15:00")),
		input(override, at(t, "2026-11-02 23:00")),
		input(override, at(t, "2026-11-02 23:00")),
		input(spec.Input{Kind: spec.Override, Channel: spec.HW}, at(t, "2026-11-02 23:30")),
		input(override, w.To+1), // after it: not done
	}
	h := run(t, w)
	// OVR-1, OVR-2, OVR-6; CPL-1 for hot water, which never calls by itself (MOD-1).
	assert.Equal(t, []string{
		"2 06:30:00 +00 closed", "2 08:30:00 +00 open", "2 15:00:00 +00 closed", "2 22:00:00 +00 open", "2 23:00:00 +00 closed", "2 23:00:00 +00 open",
	}, lane(h, LaneCH))
	assert.Equal(t, lane(h, LaneCH), lane(h, LaneHW))
	sentences := map[int64]string{}
	var together []*Change
	for c := range h.All(h.From, h.To) {
		if c.Lane > LaneDisplay {
			continue
		}
		if len(together) > 0 && together[0].At != c.At {
			together = nil
		}
		together = append(together, c)
		sentences[c.At] = h.Sentence(together)
	}
	assert.Equal(t, "the heating relay closed because period 1 begins (MOD-2); hot water closed with it because the unit is set to gravity (CPL-1)",
		sentences[at(t, "2026-11-02 06:30")])
	assert.Equal(t, "the heating relay opened because period 1 ends (MOD-2); the hot-water relay opened because heating stops; mode off (MOD-1)",
		sentences[at(t, "2026-11-02 08:30")])
	assert.Equal(t, "the heating relay closed because an override was given (OVR-1); hot water closed with it because the unit is set to gravity (CPL-1)",
		sentences[at(t, "2026-11-02 15:00")])
	require.Len(t, h.Done, 4)
	assert.Equal(t, []int{1, 2, 3, 4}, []int{h.Done[0].Act, h.Done[1].Act, h.Done[2].Act, h.Done[3].Act})
	assert.Empty(t, h.Refused(h.Done[0]))
	assert.Equal(t, spec.Refused, h.Done[3].Reply.Outcome)
	assert.Contains(t, h.Refused(h.Done[3]), "OVR-9")
	assert.True(t, h.State(at(t, "2026-11-02 15:30")).Facts.Channels[spec.CH].Override)
	assert.False(t, h.State(at(t, "2026-11-02 16:00")).Facts.Channels[spec.CH].Override)
}

// What is fitted at the back is changed in a cut (PWR-14), which drops an override (PWR-3); a changed coupling alone changes nothing else.
func TestTheSwitchAtTheBack(t *testing.T) {
	w := house(t, "2026-11-02 00:00", "2026-11-04 00:00")
	w.Phases[0].Start.table(spec.CH, morning)
	gravity := w.Phases[0]
	gravity.From, gravity.Start = at(t, "2026-11-02 12:00"), nil
	gravity.ICS.Fitted.Coupling = spec.Gravity
	w.Phases = append(w.Phases, gravity)
	w.Acts = []Act{input(spec.Input{Kind: spec.Override, Channel: spec.CH}, at(t, "2026-11-02 11:00"))}
	h := run(t, w)
	assert.Equal(t, []string{
		"2 06:30:00 +00 closed", "2 08:30:00 +00 open", "2 11:00:00 +00 closed", "2 12:00:00 +00 open", "3 06:30:00 +00 closed", "3 08:30:00 +00 open",
	}, lane(h, LaneCH))
	assert.Equal(t, []string{"3 06:30:00 +00 closed", "3 08:30:00 +00 open"}, lane(h, LaneHW))
	assert.Equal(t, spec.ClauseCoupling, h.Changes(LaneHW)[0].Why.Unit.By)
	assert.Equal(t, 1, h.State(h.To).Phase)
}

// Another unit, as it left the factory but for its clock: the default table of Monday is 07:00 to 09:00 and 16:00 to 23:00 (TAB-18).
func TestAnotherUnit(t *testing.T) {
	w := house(t, "2026-11-01 12:00", "2026-11-03 00:00")
	w.Phases[0].Start.Facts.Channels[spec.HW].Mode = spec.Always
	next := w.Phases[0]
	next.From = at(t, "2026-11-02 06:00")
	next.ICS.Lock = false
	next.Start = start(t, next.ICS)
	next.Start.Facts.Channels[spec.CH].Mode = spec.Table
	next.Start.table(spec.CH, spec.Period{On: 420, Off: 540}, spec.Period{On: 960, Off: 1380})
	next.Plant.Faults[0] = plant.Dies(plant.BoilerLoad)
	w.Phases = append(w.Phases, next)
	h := run(t, w)
	assert.Equal(t, []string{"2 06:00:00 +00 open"}, lane(h, LaneHW))
	assert.Equal(t, []string{"2 07:00:00 +00 closed", "2 09:00:00 +00 open", "2 16:00:00 +00 closed", "2 23:00:00 +00 open"}, lane(h, LaneCH))
	for _, c := range h.Changes(PointLane(plant.Flame)) {
		assert.False(t, c.At > next.From && c.Level == 1, "the boiler is dead from then on")
	}
	assert.True(t, h.Has[LaneAlert], "the first unit has a lock")
}

func TestTheMainsOfUnitAndHouse(t *testing.T) {
	w := house(t, "2026-11-02 00:00", "2026-11-02 12:00")
	w.Phases[0].Plant.Supply = plant.VoltFree
	w.Phases[0].Start.Facts.Channels[spec.CH].Mode = spec.Always
	w.Acts = []Act{
		{At: w.From + 1*hour, Deed: AtIsolator},
		{At: w.From + 2*hour, Input: spec.Input{Kind: spec.PowerOff}},
		{At: w.From + 3*hour, Deed: AtIsolator, On: true}, // nothing comes of it yet
		{At: w.From + 4*hour, Input: spec.Input{Kind: spec.PowerOn}},
		{At: w.From + 5*hour, Input: spec.Input{Kind: spec.PowerOff}},
		{At: w.From + 6*hour, Deed: AtIsolator},
		{At: w.From + 7*hour, Input: spec.Input{Kind: spec.PowerOn}}, // nor of this
		{At: w.From + 8*hour, Deed: AtIsolator, On: true},
	}
	h := run(t, w)
	assert.Equal(t, []string{"2 01:00:00 +00 open", "2 04:00:00 +00 closed", "2 05:00:00 +00 open", "2 08:00:00 +00 closed"}, lane(h, LaneCH))
}

func TestTheThingsAroundTheUnit(t *testing.T) {
	w := house(t, "2026-11-02 00:00", "2026-11-02 12:00")
	w.Phases[0].Start.Facts.Channels[spec.CH].Mode = spec.Always
	w.Phases[0].Plant.Immersion = plant.Immersion{Wired: plant.OwnCircuit, Setting: 60 * plant.Celsius}
	w.Acts = []Act{
		{At: w.From + 4*hour, Deed: AtThermostat, Contact: plant.RoomStatContact, Setting: 5 * plant.Celsius},
		{At: w.From + 5*hour, Deed: AtImmersion, On: true},
		{At: w.From + 6*hour, Deed: AtTap, Draw: plant.Draw{Seconds: 600, Percent: 100}},
		{At: w.From + 7*hour, Deed: AtBoiler},
	}
	h := run(t, w)
	assert.Equal(t, []string{"2 04:00:00 +00 satisfied"}, lane(h, PointLane(plant.RoomStat)))
	assert.EqualValues(t, 1, h.Level(PointLane(plant.Call), w.From+4*hour-1))
	assert.EqualValues(t, 0, h.Level(PointLane(plant.Call), w.From+4*hour+minute))
	assert.EqualValues(t, 1, h.Level(PointLane(plant.ImmersionHeat), w.From+5*hour))
	assert.EqualValues(t, 1, h.Level(PointLane(plant.Tap), w.From+6*hour-1))
	assert.EqualValues(t, 0, h.Level(PointLane(plant.Tap), w.From+6*hour), "a whole cylinder of cold water")
	require.Len(t, h.Done, 4)
}

func TestHistoriesAreRepeatable(t *testing.T) {
	w := house(t, "2026-10-20 00:00", "2026-11-03 00:00")
	w.Phases[0].Start.table(spec.CH, morning).table(spec.HW, spec.Period{On: 1020, Off: 1080})
	w.Phases[0].Plant.Room.Setting = 20 * plant.Celsius
	other := w.EachStart(func(s *Start) { s.ClockError = 5 * hour })
	var b Buffers
	first, err := Run(&w, &b)
	require.NoError(t, err)
	kept := first.Clone()
	fresh := run(t, w)
	for l := range Lane(NumLanes) {
		require.True(t, slices.Equal(fresh.Changes(l), first.Changes(l)), l)
	}
	_, err = Run(&other, &b)
	require.NoError(t, err)
	assert.NotEqual(t, fresh.Changes(LaneCH), b.history.Changes(LaneCH))
	again, err := Run(&w, &b)
	require.NoError(t, err)
	assert.Equal(t, fresh.States, again.States)
	for l := range Lane(NumLanes) {
		require.True(t, slices.Equal(fresh.Changes(l), again.Changes(l)), l)
		require.True(t, slices.Equal(fresh.Changes(l), kept.Changes(l)), "a clone lasts: %v", l)
	}
}

func TestAllChangesComeInOrder(t *testing.T) {
	w := house(t, "2026-11-02 00:00", "2026-11-04 00:00")
	w.Phases[0].Start.table(spec.CH, morning).table(spec.HW, morning)
	h := run(t, w)
	n, seq, last := 0, uint32(0), int64(0)
	for c := range h.All(h.From, h.To) {
		assert.Greater(t, c.Seq, seq)
		assert.GreaterOrEqual(t, c.At, last)
		assert.NotEmpty(t, h.Why(c), c.Lane)
		seq, last = c.Seq, c.At
		n++
	}
	sum := 0
	for l := range Lane(NumLanes) {
		sum += len(h.Changes(l))
		level := h.Initial[l]
		for _, c := range h.Changes(l) {
			assert.NotEqual(t, level, c.Level, "%v changes to what it was", l)
			assert.NotEmpty(t, l.Word(c.Level))
			level = c.Level
		}
	}
	assert.Equal(t, sum, n)
	from := at(t, "2026-11-02 06:30")
	var lanes []Lane
	for c := range h.All(from, from) {
		if c.Lane < LaneDisplay {
			lanes = append(lanes, c.Lane)
		}
	}
	assert.Equal(t, []Lane{LaneHW, LaneCH}, lanes, "OUT-3")
}
