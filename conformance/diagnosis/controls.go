package diagnosis

import (
	"fmt"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
)

// thermostat is one that a household can turn.
type thermostat struct {
	id, words string // the words begin a sentence
	contact   plant.Contact
	low       float64 // what it weighs that it is set low
	of        func(*plant.Installation) *plant.Thermostat
}

var thermostats = []thermostat{
	{"room", "the room thermostat", plant.RoomStatContact, weightRoomLow, func(in *plant.Installation) *plant.Thermostat { return &in.Room }},
	{"room-2", "the room thermostat of zone 2", plant.RoomStat2Contact, weightRoomLow, func(in *plant.Installation) *plant.Thermostat { return &in.Room2 }},
	{"cylinder", "the cylinder thermostat", plant.CylinderStatCallsContact, weightCylinderLow, func(in *plant.Installation) *plant.Thermostat { return &in.Cylinder }},
}

// controls are thermostats that are set otherwise than was thought.
func (b *builder) controls() {
	in := b.plant()
	at := b.onsets()
	for _, t := range thermostats {
		stat := t.of(in)
		if !stat.Fitted {
			continue
		}
		// Degrees by which it may be turned: enough to matter.
		for _, way := range []struct {
			id, words string
			by        []plant.Temp
			weight    float64
		}{
			{"low", "is set low", []plant.Temp{-3 * plant.Celsius, -8 * plant.Celsius, -15 * plant.Celsius}, t.low},
			{"high", "is set high", []plant.Temp{3 * plant.Celsius, 8 * plant.Celsius, 15 * plant.Celsius}, weightStatHigh},
		} {
			var variants []variant
			for _, by := range way.by {
				setting := stat.Setting + by
				if setting < 5*plant.Celsius {
					continue
				}
				for _, o := range at {
					words := fmt.Sprintf("at %v", setting)
					if o.at > b.base.From {
						words += " " + b.since(o)
					}
					variants = append(variants, simply(words, func(w replay.World) replay.World {
						return from(w, o.at, func(p *replay.Phase) {
							if s := t.of(&p.Plant); s.Fitted {
								s.Setting, s.Setback = setting, min(s.Setback, setting)
							}
						})
					}).of(o.share/float64(len(way.by))))
				}
			}
			c := cure{Words: "Turn " + t.words + " to its usual setting and see whether it then calls."}
			c.HotWater = t.contact == plant.CylinderStatCallsContact
			b.add(cause{
				id: "control/" + way.id + "/" + t.id, family: Control, words: t.words + " " + way.words, weight: way.weight, cure: c,
			}, variants...)
		}
		if t.contact != plant.CylinderStatCallsContact {
			b.setback(t)
		}
	}
}

// setback is a programmable thermostat that turns itself down for hours that nobody thinks of.
func (b *builder) setback(t thermostat) {
	stat := t.of(b.plant())
	var variants []variant
	for _, hours := range [][2]int64{{6, 22}, {7, 9}, {16, 22}, {17, 21}, {9, 17}} {
		from, to := b.utcOfDay(hours[0]*calendar.Hour), b.utcOfDay(hours[1]*calendar.Hour)
		setting := stat.Setting
		variants = append(variants, simply(fmt.Sprintf("warm %02d:00-%02d:00 only", hours[0], hours[1]), func(w replay.World) replay.World {
			return w.EachPhase(func(p *replay.Phase) {
				if s := t.of(&p.Plant); s.Fitted {
					s.Setting, s.Setback, s.From, s.To = setting, min(setting, 10*plant.Celsius), from, to
				}
			})
		}))
	}
	b.add(cause{
		id: "control/setback/" + t.id, family: Control, weight: weightSetback, words: t.words + " has a timetable of its own and turns itself down",
		cure: cure{Words: "Set the thermostat's own timetable, or let only one of the two keep time."},
	}, variants...)
}

// utcOfDay returns the second of the UTC day at which it is a second of the household's day, at the beginning of the history.
func (b *builder) utcOfDay(second int64) uint32 {
	offset := b.local(b.base.From) - b.base.From
	return uint32(((second-offset)%calendar.Day + calendar.Day) % calendar.Day)
}
