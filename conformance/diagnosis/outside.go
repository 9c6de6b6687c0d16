package diagnosis

import (
	"fmt"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
)

// outside are things beside the programmer that heat, or keep from heating.
func (b *builder) outside() {
	in := b.plant()
	eachPlant := func(change func(*plant.Installation)) change {
		return func(w replay.World) (replay.World, bool) {
			return w.EachPhase(func(p *replay.Phase) { change(&p.Plant) }), true
		}
	}
	if !in.SecondControl.Fitted {
		for _, hw := range []bool{false, true} {
			if hw && (in.Plan == plant.Combination) {
				continue
			}
			name := "heating"
			if hw {
				name = "hot water"
			}
			var variants []variant
			for _, hours := range b.secondTimes() {
				from, to := b.utcOfDay(hours[0]), b.utcOfDay(hours[1])
				variants = append(variants, variant{words: secondWords(hours), apply: eachPlant(func(in *plant.Installation) {
					in.SecondControl = plant.SecondControl{Fitted: true, OnHW: hw, From: from, To: to}
				})})
			}
			b.add(cause{
				id: "outside/second-control/" + name, family: Outside, weight: weightSecondControl / 2 * b.installationSays("second-control"),
				words: "a second time control, in parallel with the unit, calls for " + name,
				cure:  cure{Words: "Look for another timer, and set it or have it taken out.", Visit: true, Who: Competent, Part: "the second time control", Wiring: true},
			}, variants...)
		}
	}
	b.frost(eachPlant)
	b.immersion()
	if in.Overrun < 900 {
		b.add(cause{
			id: "outside/overrun", family: PlantNormal, weight: weightSecondControl / 2 * b.installationSays("pump-overrun"),
			words: "the boiler runs the pump on after each call", cure: cure{Words: "A pump that runs on for some minutes protects the boiler; nothing is to be done."},
		}, variant{apply: eachPlant(func(in *plant.Installation) { in.Overrun = 900 })}, variant{apply: eachPlant(func(in *plant.Installation) { in.Overrun = 300 })})
	}
	b.otherPlan()
}

func secondWords(hours [2]int64) string {
	return fmt.Sprintf("%02d:%02d-%02d:%02d", hours[0]/calendar.Hour, hours[0]/60%60, hours[1]/calendar.Hour, hours[1]/60%60)
}

// secondTimes are times for which a second time control may be set, as second of the household's day: the usual ones, and around what
// was sensed and not accounted for.
func (b *builder) secondTimes() [][2]int64 {
	times := [][2]int64{
		{0, calendar.Day - 60}, {5 * calendar.Hour, 7 * calendar.Hour}, {6 * calendar.Hour, 9 * calendar.Hour},
		{16 * calendar.Hour, 22 * calendar.Hour}, {22 * calendar.Hour, 23*calendar.Hour + 1800}, {0, 7 * calendar.Hour},
	}
	// What was seen to begin and to end, over midnight too, says when; valves and pumps follow within the minute.
	for _, u := range b.bursts(complaint.Call, complaint.Flame, complaint.CHValve, complaint.HWValve, complaint.Pump) {
		from, to := calendar.SecondOfDay(b.local(u.from))/60*60, calendar.SecondOfDay(b.local(u.to))/60*60
		if hours := [2]int64{from, to}; u.to-u.from >= 10*calendar.Minute && u.to-u.from < 20*calendar.Hour && !slices.Contains(times, hours) {
			times = append(times, hours)
		}
	}
	for _, at := range b.trouble[:min(3, len(b.trouble))] {
		s := calendar.SecondOfDay(b.local(at)) / 1800 * 1800
		for _, lead := range []int64{0, 1800, calendar.Hour} {
			for _, length := range []int64{calendar.Hour, 2 * calendar.Hour} {
				from := max(0, s-lead)
				times = append(times, [2]int64{from, min(from+length, calendar.Day-60)})
			}
		}
	}
	return times
}

// frost is a frost thermostat that calls on cold nights, or that is set too high.
func (b *builder) frost(eachPlant func(func(*plant.Installation)) change) {
	var variants []variant
	for _, at := range []struct {
		setting plant.Temp
		share   float64
	}{{5 * plant.Celsius, 0.4}, {10 * plant.Celsius, 0.35}, {15 * plant.Celsius, 0.2}, {25 * plant.Celsius, 0.05}} {
		variants = append(variants, variant{words: fmt.Sprintf("set at %v", at.setting), share: at.share, apply: eachPlant(func(in *plant.Installation) {
			in.Frost.Fitted, in.Frost.Setting = true, at.setting
			if in.Frost.Band == 0 {
				in.Frost.Band = plant.Celsius
			}
		})})
	}
	b.add(cause{
		id: "outside/frost", family: Outside, weight: weightFrost * b.installationSays("frost-thermostat"),
		words: "a frost thermostat calls for heat, whatever the unit says",
		cure:  cure{Words: "In cold weather it is meant to; if it is set above 5 °C or so, have it set lower."},
	}, variants...)
}

func (b *builder) immersion() {
	in := b.plant()
	if in.Plan == plant.Combination || in.Plan == plant.TwoZones {
		return
	}
	var on, off []variant
	for _, o := range b.onsets() {
		words := "since " + clockWords(b.c.Zone, o.at)
		on = append(on, simply(words, func(w replay.World) replay.World {
			return from(w, o.at, func(p *replay.Phase) {
				setting := p.Plant.Immersion.Setting
				if setting == 0 {
					setting = 60 * plant.Celsius
				}
				p.Plant.Immersion = plant.Immersion{Wired: plant.OwnCircuit, On: true, Setting: setting}
			})
		}).of(o.share))
		off = append(off, simply(words, func(w replay.World) replay.World {
			return from(w, o.at, func(p *replay.Phase) { p.Plant.Immersion.On = false })
		}).of(o.share))
	}
	if in.Immersion.Wired != plant.OwnCircuit || !in.Immersion.On {
		b.add(cause{
			id: "outside/immersion", family: Outside, weight: weightImmersionOn * b.installationSays("immersion"),
			words: "an immersion heater heats the cylinder, whatever the unit says", cure: cure{Words: "Look for the immersion heater's own switch.", HotWater: true},
		}, on...)
	} else {
		b.add(cause{
			id: "outside/immersion-off", family: Outside, weight: weightImmersionOn * b.installationSays("immersion"),
			words: "the immersion heater is switched off", cure: cure{Words: "Look for the immersion heater's own switch.", HotWater: true},
		}, off...)
	}
}

// otherPlan is an installation whose pipes run otherwise than was thought.
func (b *builder) otherPlan() {
	was := b.plant()
	for plan := range plant.Plan(plant.NumPlans) {
		if plan == was.Plan {
			continue
		}
		b.add(cause{
			id: fmt.Sprintf("set-up/plant/%d", plan), family: SetUp, weight: weightPlan / float64(plant.NumPlans) * b.installationSays("plan"),
			words: "the installation is another: " + plan.String(),
			cure:  cure{Words: "Find out which valves there are before anything else is concluded."},
		}, simply("", func(w replay.World) replay.World {
			return w.EachPhase(func(p *replay.Phase) {
				in := plant.Usual(plan)
				in.Outdoor, in.Draws, in.Practice, in.Frost = p.Plant.Outdoor, p.Plant.Draws, p.Plant.Practice, p.Plant.Frost
				if p.Plant.Room.Fitted && in.Room.Fitted {
					in.Room = p.Plant.Room
				}
				p.Plant = in
			})
		}))
	}
}
