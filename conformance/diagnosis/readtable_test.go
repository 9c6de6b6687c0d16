package diagnosis

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// Each way to set a period wrongly is told by reading that period, and only by that one.
func TestEachWrongPeriodIsReadApart(t *testing.T) {
	x := house{}.asker(t)
	for _, y := range []struct {
		on, off uint16 // in place of 17:00-22:00, the second period of working days
		want    string
	}{
		{5 * 60, 22 * 60, "its on is twelve hours out"}, {17 * 60, 10 * 60, "its off is twelve hours out"}, {5 * 60, 10 * 60, "both its times are twelve hours out"},
		{17 * 60, 17 * 60, "its on and off are the same time"}, {0, 0, "it is not there"}, {16 * 60, 22 * 60, "its on is earlier"}, {19 * 60, 22 * 60, "its on is later"},
		{17 * 60, 20 * 60, "its off is earlier"}, {17 * 60, 23 * 60, "its off is later"}, {15 * 60, 20 * 60, "both its times are as much earlier"},
		{18 * 60, 23 * 60, "both its times are as much later"}, {16 * 60, 23 * 60, "otherwise"},
	} {
		w := x.base.EachStart(func(s *replay.Start) {
			for d := range 5 {
				s.Facts.Channels[spec.CH].Table[d][1] = spec.Period{On: y.on, Off: y.off}
			}
		})
		assert.Equal(t, y.want, x.of(t, "display/period/ch/monday-to-friday/2", w))
		assert.Equal(t, "just so", x.of(t, "display/period/ch/monday-to-friday/1", w), y.want)
		assert.Equal(t, "yes", x.of(t, "display/table/ch/saturday-and-sunday", w), y.want)
		assert.Equal(t, "no, others", x.of(t, "display/table/ch/monday-to-friday", w), y.want)
	}
}

func TestWhichTableItIs(t *testing.T) {
	x := house{}.asker(t)
	weekdays := func(day func(s *replay.Start) [spec.MaxPeriods]spec.Period) string {
		w := x.base.EachStart(func(s *replay.Start) {
			is := day(s)
			for d := range 5 {
				s.Facts.Channels[spec.CH].Table[d] = is
			}
		})
		return x.of(t, "display/table/ch/monday-to-friday", w)
	}
	table := func(s *replay.Start, c spec.Channel, d int) [spec.MaxPeriods]spec.Period {
		return s.Facts.Channels[c].Table[d]
	}
	assert.Equal(t, "yes", weekdays(func(s *replay.Start) [spec.MaxPeriods]spec.Period { return table(s, spec.CH, 0) }))
	assert.Equal(t, "yes", weekdays(func(s *replay.Start) [spec.MaxPeriods]spec.Period {
		was := table(s, spec.CH, 0)
		was[0], was[1] = was[1], was[0] // TAB-15: the slot does not matter
		return was
	}))
	assert.Equal(t, "no, there are none", weekdays(func(*replay.Start) (none [spec.MaxPeriods]spec.Period) { return none }))
	assert.Equal(t, "no, those that were told of the other channel", weekdays(func(s *replay.Start) [spec.MaxPeriods]spec.Period { return table(s, spec.HW, 0) }))
	assert.Equal(t, "no, those that were told of other days", weekdays(func(s *replay.Start) [spec.MaxPeriods]spec.Period { return table(s, spec.CH, 6) }))
	// TAB-18
	assert.Equal(t, "no, those with which the unit leaves the factory", weekdays(func(*replay.Start) [spec.MaxPeriods]spec.Period {
		return [spec.MaxPeriods]spec.Period{{On: 7 * 60, Off: 9 * 60}, {On: 16 * 60, Off: 23 * 60}}
	}))
	assert.Equal(t, "yes, and one more", weekdays(func(s *replay.Start) [spec.MaxPeriods]spec.Period {
		was := table(s, spec.CH, 0)
		was[2] = spec.Period{On: 12 * 60, Off: 13 * 60}
		return was
	}))
}

// A part's own test finds its own fault, and no other part's test does.
func TestPartsAreTestedByThemselves(t *testing.T) {
	x := house{}.asker(t)
	tested := 0
	for _, f := range x.base.Phases[0].Plant.PossibleFaults() {
		var own string
		switch {
		case f.Kind == plant.StuckOpen || f.Kind == plant.StuckClosed:
			own = fmt.Sprintf("test/contact/%d", f.Contact)
		case f.Kind == plant.ValveStuck || f.Kind == plant.Dead && f.Load != plant.BoilerLoad:
			own = fmt.Sprintf("test/part/%d", f.Load)
		case f.Kind == plant.ConductorOpen:
			own = fmt.Sprintf("test/conductor/%d-%d", f.A, f.B)
		}
		w := x.base.EachPhase(func(p *replay.Phase) { p.Plant = p.Plant.With(f) })
		p := extend(x.a.complaint, w)
		for id, q := range x.qs {
			if q.sitting == opened && len(id) > 5 && id[:5] == "test/" {
				assert.Equal(t, id == own, q.predict(p) > 0, "%s: %v", id, f)
			}
		}
		if own != "" {
			tested++
			assert.Contains(t, x.qs, own)
		}
	}
	assert.Greater(t, tested, 20)
	both := x.base.EachPhase(func(p *replay.Phase) {
		p.Plant.SecondControl = plant.SecondControl{Fitted: true, To: 3600}
		p.Plant.Frost = plant.Thermostat{Fitted: true, Setting: 5 * plant.Celsius, Band: plant.Celsius}
	})
	assert.Equal(t, "both", x.of(t, "test/others", both))
}

func TestThermostatsAreRead(t *testing.T) {
	x := house{}.asker(t)
	room := func(change func(*plant.Installation)) replay.World {
		return x.base.EachPhase(func(p *replay.Phase) { change(&p.Plant) })
	}
	turned := func(by plant.Temp) replay.World { return room(func(in *plant.Installation) { in.Room.Setting += by }) }
	assert.Equal(t, "about that", x.of(t, "look/room-thermostat", x.base))
	assert.Equal(t, "lower by 2 to 5 degrees", x.of(t, "look/room-thermostat", turned(-3*plant.Celsius)))
	assert.Equal(t, "lower by more", x.of(t, "look/room-thermostat", turned(-8*plant.Celsius)))
	assert.Equal(t, "higher by 2 to 5 degrees", x.of(t, "look/room-thermostat", turned(3*plant.Celsius)))
	assert.Equal(t, "higher by more", x.of(t, "look/room-thermostat", turned(8*plant.Celsius)))
	assert.Equal(t, "no", x.of(t, "look/room-timetable", x.base))
	assert.Equal(t, "yes", x.of(t, "look/room-timetable", room(func(in *plant.Installation) {
		in.Room.Setback, in.Room.From, in.Room.To = 10*plant.Celsius, 6*3600, 22*3600
	})))
	for f, want := range map[plant.Fault]string{
		plant.Reads(plant.RoomStatContact, 4*plant.Celsius): "well above it", plant.Reads(plant.RoomStatContact, -4*plant.Celsius): "well below it",
		plant.Stuck(plant.RoomStatContact, true): "at nothing", plant.Stuck(plant.CylinderStatCallsContact, true): "within 2 degrees of it",
	} {
		assert.Equal(t, want, x.of(t, "turn/room", room(func(in *plant.Installation) { *in = in.With(f) })), "%v", f)
	}
}

func TestHowFarTheClockIsOut(t *testing.T) {
	x := house{}.asker(t)
	for minutes, want := range map[int64]string{
		0: "the same, within 3 minutes", -2: "the same, within 3 minutes", 60: "an hour ahead", -62: "an hour behind", 719: "twelve hours out", -720: "twelve hours out",
		10: "up to 20 minutes ahead", -20: "up to 20 minutes behind", 45: "20 to 50 minutes ahead", -90: "50 to 100 minutes behind, not an hour",
		120: "100 to 160 minutes ahead", -160: "100 to 160 minutes behind", 300: "more ahead", -161: "more behind",
	} {
		w := x.base.EachStart(func(s *replay.Start) { s.ClockError = 60 * minutes })
		assert.Equal(t, want, x.of(t, "display/time", w), "%d min", minutes)
	}
	for days, want := range map[int64]string{0: "the right ones", 1: "a day ahead", 3: "three days ahead", -1: "a day behind", -2: "two days behind", 5: "others"} {
		w := x.base.EachStart(func(s *replay.Start) { s.ClockError = 86400 * days })
		assert.Equal(t, want, x.of(t, "display/day", w), "%d days", days)
	}
	unset := x.base.EachStart(func(s *replay.Start) { s.ClockUnset = true })
	assert.Equal(t, "it flashes or shows dashes", x.of(t, "display/time", unset))
	assert.Equal(t, "none", x.of(t, "display/day", unset))
}

// A clock keeps pace, gains or loses by what it is a day later.
func TestPace(t *testing.T) {
	x := house{}.asker(t)
	for ppm, want := range map[int32]string{0: "it does", 100: "it does", 700: "it gains", -700: "it loses"} {
		w := x.base.EachStart(func(s *replay.Start) { s.Drift = ppm })
		assert.Equal(t, want, x.of(t, "look/pace", w), "%d ppm", ppm)
	}
	unset := x.base.EachStart(func(s *replay.Start) { s.ClockUnset = true })
	assert.Equal(t, "it shows no time", x.of(t, "look/pace", unset))
}

// What was told of is not what is asked for beyond it, though its time was told nearly.
func TestBeyondWhatWasTold(t *testing.T) {
	x := house{done: []string{"{when: 2026-11-10 about 12:00, do: override ch}"}}.asker(t)
	assert.Equal(t, "nobody did", x.of(t, "ask/pressed", x.base))
	assert.Equal(t, "yes", x.of(t, "ask/act/1", x.base))
	act := x.base.Acts[0]
	moved := act
	moved.At, moved.Claim = act.At+10*60, -1
	w := x.base.Replace(0, moved)
	assert.Equal(t, "nobody did", x.of(t, "ask/pressed", w), "it is the one that was told of")
	assert.Equal(t, "yes", x.of(t, "ask/act/1", w))
	twice := input(x.base, act.At+5, act.Input)
	assert.Equal(t, "heating's override", x.of(t, "ask/pressed", twice))
	assert.Equal(t, "no", x.of(t, "ask/act/1", twice))
	assert.Equal(t, "a boost of hot water", x.of(t, "ask/pressed", input(x.base, act.At+7200, spec.Input{Kind: spec.Boost, Channel: spec.HW, Amount: 60})))
	assert.Equal(t, "no", x.of(t, "ask/act/1", x.base.Without(0)))
	assert.Equal(t, "the unit was reset", x.of(t, "ask/settings", input(x.base, act.At, spec.Input{Kind: spec.Reset})))
}
