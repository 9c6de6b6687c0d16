package diagnosis

import (
	"fmt"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
)

// thermostatsRead are questions about the thermostats that somebody in the house can read and turn.
func thermostatsRead(a *account, add func(Question)) {
	in := &a.base.Phases[len(a.base.Phases)-1].Plant
	for _, t := range thermostats {
		if !t.of(in).Fitted {
			continue
		}
		taken := setTo(t, in, a.base.Acts, a.complaint.Until)
		add(Question{
			ID: "look/" + t.id + "-thermostat", Who: Householder, Minutes: costRead, mistaken: wrongRead, sitting: indoors,
			Words:   fmt.Sprintf("What is %s set to? (%v is taken for granted.)", t.words, taken),
			Choices: []string{"about that", "lower by 2 to 5 degrees", "lower by more", "higher by 2 to 5 degrees", "higher by more"},
			predict: func(p *probe) int {
				if !t.of(p.installation()).Fitted {
					return -1
				}
				switch by := setTo(t, p.installation(), p.asked.Acts, p.now) - taken; {
				case by < -5*plant.Celsius:
					return 2
				case by <= -2*plant.Celsius:
					return 1
				case by > 5*plant.Celsius:
					return 4
				case by >= 2*plant.Celsius:
					return 3
				default:
					return 0
				}
			},
		})
		add(Question{
			ID: "look/" + t.id + "-timetable", Who: Householder, Minutes: costRead, mistaken: wrongRead, sitting: indoors, Choices: yesNo,
			Words: fmt.Sprintf("Has %s a timetable of its own, by which it turns itself down?", t.words),
			predict: func(p *probe) int {
				s := t.of(p.installation())
				return first(s.Fitted && s.From != s.To && s.Setback < s.Setting)
			},
		})
		add(Question{
			ID: "turn/" + t.id, Who: Householder, Minutes: costTry, mistaken: wrongHeard, sitting: indoors, Caution: cautionPutBack,
			Words:   fmt.Sprintf("Turn %s slowly up from its lowest. At what does it click, against a thermometer that was beside it for a while?", t.words),
			Choices: []string{"within 2 degrees of it", "well below it", "well above it", "at nothing"},
			predict: func(p *probe) int {
				for _, f := range p.installation().Faults {
					switch {
					case f.Contact != t.contact:
					case f.Kind == plant.StuckOpen, f.Kind == plant.StuckClosed:
						return 3
					case f.Kind == plant.StatReads && f.By <= -2*plant.Celsius:
						return 1
					case f.Kind == plant.StatReads && f.By >= 2*plant.Celsius:
						return 2
					}
				}
				return 0
			},
		})
	}
	add(Question{
		ID: "look/pace", Who: Householder, Minutes: costWait, mistaken: wrongRead,
		Words:   "Note against a telephone, to the second, when the display's minute changes, and again a day later. Does the clock keep pace?",
		Choices: []string{"it does", "it gains", "it loses", "it shows no time"},
		predict: func(p *probe) int {
			// By less than this a day it would take a month to be noticed.
			const worth = 15 // seconds
			now, shown := p.h.Reading(p.now)
			then, still := p.h.Reading(p.now + calendar.Day - calendar.Minute)
			gains := then - now - (localOf(p.c.Zone, p.now+calendar.Day-calendar.Minute) - localOf(p.c.Zone, p.now))
			switch {
			case shown != replay.Readable || still != replay.Readable:
				return 3
			case gains > worth:
				return 1
			case gains < -worth:
				return 2
			default:
				return 0
			}
		},
	})
}

// setTo returns what a thermostat stands at, after what was done to it.
func setTo(t thermostat, in *plant.Installation, acts []replay.Act, at int64) plant.Temp {
	setting := t.of(in).Setting
	for i := range acts {
		if x := &acts[i]; x.Deed == replay.AtThermostat && x.Contact == t.contact && x.At <= at {
			setting = x.Setting
		}
	}
	return setting
}

// tests are tests of one part by itself, which only a competent person makes.
func tests(a *account, add func(Question)) {
	test := func(id, words string, choices []string, predict func(*plant.Installation) int) {
		add(Question{
			ID: "test/" + id, Words: words, Who: Competent, Minutes: costVisit + costRead, Choices: choices, Caution: cautionIsolate, mistaken: wrongProved,
			sitting: opened, shared: costOpened, predict: func(p *probe) int { return predict(p.installation()) },
		})
	}
	has := func(in *plant.Installation, is func(plant.Fault) bool) bool {
		for _, f := range in.Faults {
			if f.Kind != plant.NoFault && is(f) {
				return true
			}
		}
		return false
	}
	done := map[plant.Load]bool{}
	for _, f := range a.base.Phases[len(a.base.Phases)-1].Plant.PossibleFaults() {
		switch f.Kind {
		case plant.StuckOpen:
			test(fmt.Sprintf("contact/%d", f.Contact), fmt.Sprintf("Isolated, meter across %v while it is made to call and not to: does it follow?", f.Contact),
				[]string{"it opens and closes", "it never closes", "it never opens"}, func(in *plant.Installation) int {
					switch {
					case has(in, func(g plant.Fault) bool { return g.Kind == plant.StuckOpen && g.Contact == f.Contact }):
						return 1
					case has(in, func(g plant.Fault) bool { return g.Kind == plant.StuckClosed && g.Contact == f.Contact }):
						return 2
					default:
						return 0
					}
				})
		case plant.Dead, plant.ValveStuck:
			if done[f.Load] || f.Load == plant.BoilerLoad {
				continue // a boiler is for a registered engineer
			}
			done[f.Load] = true
			test(fmt.Sprintf("part/%d", f.Load), fmt.Sprintf("Isolated, disconnect %v, work it by hand and meter its winding: does it turn, and is the winding whole?", f.Load),
				[]string{"both", "it turns, and the winding is open", "it is stuck"}, func(in *plant.Installation) int {
					switch {
					case has(in, func(g plant.Fault) bool { return g.Kind == plant.ValveStuck && g.Load == f.Load }):
						return 2
					case has(in, func(g plant.Fault) bool { return g.Kind == plant.Dead && g.Load == f.Load }):
						return 1
					default:
						return 0
					}
				})
		case plant.ConductorOpen:
			test(fmt.Sprintf("conductor/%d-%d", f.A, f.B), fmt.Sprintf("Isolated, meter the conductor between %v and %v: is it whole?", f.A, f.B), yesNo,
				func(in *plant.Installation) int {
					return 1 - first(has(in, func(g plant.Fault) bool { return g == f }))
				})
		}
	}
	test("others", "Isolated, trace what else is wired to call for heat or hot water, beside the unit. What is there?",
		[]string{"nothing", "a second time control", "a frost thermostat", "both"}, func(in *plant.Installation) int {
			n := 0
			if in.SecondControl.Fitted {
				n++
			}
			if in.Frost.Fitted {
				n += 2
			}
			return n
		})
}
