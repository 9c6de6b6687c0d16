package diagnosis

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func ids(s *Set) []string {
	var all []string
	for _, c := range s.Causes {
		all = append(all, c.ID)
	}
	return all
}

// Each family has a complaint whose cause must be in the first set, derived by hand from the periods of [house], and one that differs in
// little and in which it must not be.
func TestFamilies(t *testing.T) {
	evenings := []string{
		"{what: ch relay, is: on, when: 2026-11-09 17:10-21:50}", "{what: ch relay, is: on, when: 2026-11-10 17:10-21:50}",
		"{what: ch relay, is: off, when: 2026-11-10 12:00-13:00}", "{what: hw relay, is: on, when: 2026-11-10 18:10-19:20}",
	}
	for name, x := range map[string]struct {
		house house
		want  string // must be in the first set
		but   house
		not   string // must not be in the first set of but; the same id unless it is said
	}{
		"nothing wrong": {
			// On from the press until the table next switches, 17:00, and with it until 22:00. Not for ever.
			house{source: "read", done: []string{"{when: 2026-11-10 12:00, do: override ch}"}, sensed: []string{
				"{what: ch relay, is: on, when: 2026-11-10 12:10-16:50}", "{what: ch relay, is: off, when: 2026-11-10 22:10-23:50}",
			}, wanted: "{words: on until we press again, means: [{what: ch relay, is: on, when: 2026-11-10 22:30-23:30}]}"},
			"normal/unit",
			house{source: "read", sensed: []string{
				"{what: ch relay, is: on, when: 2026-11-10 22:30-23:50}", "{what: ch relay, is: on, when: 2026-11-09 22:30-23:50}",
				"{what: ch relay, is: on, when: 2026-11-08 23:00-23:50}", "{what: ch relay, is: on, when: 2026-11-05 01:00-02:00}",
			}}, "",
		},
		"plant normal": {
			// The relay closes at 17:00; radiators need tens of minutes.
			house{source: "read", sensed: []string{
				"{what: ch relay, is: on, when: 2026-11-10 17:02-17:30}", "{what: radiators, is: cold, when: 2026-11-10 17:02}",
				"{what: radiators, is: warm, when: 2026-11-10 19:00}",
			}, wanted: "{words: warm at five, means: [{what: radiators, is: warm, when: 2026-11-10 17:00-17:04}]}"},
			"normal/plant",
			house{source: "read", sensed: []string{
				"{what: ch relay, is: on, when: 2026-11-10 17:02-19:30}", "{what: radiators, is: cold, when: 2026-11-10 17:02-21:30}",
				"{what: radiators, is: cold, when: 2026-11-09 17:10-21:30}", "{what: radiators, is: cold, when: 2026-11-08 10:00-21:30}",
			}}, "",
		},
		"coupling": {
			// Hot water is on in its own periods only; here with every heating period, but not at noon.
			house{sensed: append([]string{
				"{what: hw relay, is: on, when: 2026-11-10 20:00-21:50}", "{what: hw relay, is: on, when: 2026-11-09 20:00-21:50}",
				"{what: hw relay, is: on, when: 2026-11-08 10:00-16:00}", "{what: hw relay, is: off, when: 2026-11-10 12:00-14:00}",
				"{what: hw relay, is: off, when: 2026-11-09 22:20-23:50}",
			}, evenings...)}, "set-up/coupling/gravity",
			house{sensed: append([]string{"{what: hw relay, is: off, when: 2026-11-10 20:00-21:50, sure: measured, who: log}"}, evenings...)}, "",
		},
		"half a day": {
			// 17:00 set as 05:00, or 08:30 as 20:30: on all day on weekdays, and not at the weekend's night.
			house{sensed: []string{
				"{what: ch relay, is: on, when: 2026-11-10 09:00-16:00}", "{what: ch relay, is: on, when: 2026-11-11 09:00-16:00}",
				"{what: ch relay, is: on, when: 2026-11-12 05:10-06:20}", "{what: ch relay, is: on, when: 2026-11-11 05:10-06:20}",
				"{what: ch relay, is: off, when: 2026-11-10 22:10-23:50}",
				"{what: ch relay, is: off, when: 2026-11-08 06:00-07:50}", "{what: ch relay, is: off, when: 2026-11-11 02:00-04:00}",
			}}, "tables/half-day/on/ch/monday-to-friday/2",
			house{sensed: evenings}, "",
		},
		"weekend empty": {
			house{sensed: []string{
				"{what: ch relay, never: on, when: 2026-11-07 06:00-23:00}", "{what: ch relay, never: on, when: 2026-11-08 06:00-23:00}",
				"{what: ch relay, is: on, when: 2026-11-09 17:10-21:50}", "{what: hw relay, is: on, when: 2026-11-08 18:10-19:20}",
				"{what: ch relay, is: on, when: 2026-11-06 17:10-21:50}",
			}}, "tables/empty/ch/saturday-and-sunday",
			house{sensed: append([]string{"{what: ch relay, is: on, when: 2026-11-07 10:00-20:00}"}, evenings...)}, "",
		},
		"summer time": {
			// The clock was not put back on 25 October: everything comes an hour early.
			house{sensed: []string{
				"{what: ch relay, becomes: on, when: 2026-11-10 about 05:30}", "{what: ch relay, becomes: off, when: 2026-11-10 about 07:30}",
				"{what: ch relay, becomes: on, when: 2026-11-09 about 16:00}", "{what: hw relay, becomes: on, when: 2026-11-11 about 05:00}",
			}}, "clock/summer-time",
			house{sensed: append([]string{"{what: ch relay, becomes: on, when: 2026-11-10 about 06:30}"}, evenings...)}, "",
		},
		"a day out": {
			// Friday 6 November as a Saturday, Sunday the 8th as a Monday.
			house{sensed: []string{
				"{what: ch relay, is: on, when: 2026-11-06 09:00-16:00}", "{what: ch relay, is: off, when: 2026-11-08 09:00-16:30}",
				"{what: ch relay, is: on, when: 2026-11-07 09:00-16:30}", "{what: ch relay, is: off, when: 2026-11-05 09:00-16:30}",
				"{what: ch relay, is: on, when: 2026-10-30 09:00-16:30}", "{what: ch relay, is: off, when: 2026-11-01 09:00-16:30}",
			}}, "clock/day/+1",
			house{sensed: append([]string{"{what: ch relay, is: off, when: 2026-11-06 09:00-16:00}"}, evenings...)}, "",
		},
		"clock unset": {
			house{sensed: []string{
				"{what: display, is: unset, when: 2026-11-12 17:00, who: integrator}", "{what: ch relay, never: on, when: 2026-11-10 06:00-23:00}",
				"{what: hw relay, never: on, when: 2026-11-11 05:00-23:00}",
			}}, "clock/unset",
			house{sensed: evenings}, "",
		},
		"wrong channel": {
			house{done: []string{"{when: 2026-11-10 12:00, do: override ch}"}, sensed: []string{
				"{what: ch relay, is: off, when: 2026-11-10 12:10-16:50}", "{what: hw relay, is: on, when: 2026-11-10 12:10-17:50}",
				"{what: hw relay, is: off, when: 2026-11-09 12:10-17:50}",
			}}, "slip/channel/1",
			house{done: []string{"{when: 2026-11-10 12:00, do: override ch}"}, sensed: []string{
				"{what: ch relay, is: on, when: 2026-11-10 12:10-16:50}", "{what: hw relay, is: off, when: 2026-11-10 12:10-17:50}",
			}}, "",
		},
		"pressed twice": {
			house{done: []string{"{when: 2026-11-10 12:00, do: override ch}"}, sensed: []string{
				"{what: ch relay, is: off, when: 2026-11-10 12:10-16:50}", "{what: hw relay, is: off, when: 2026-11-10 12:10-17:50}",
				"{what: ch relay, is: on, when: 2026-11-10 17:10-21:50}",
			}}, "slip/twice/1",
			house{done: []string{"{when: 2026-11-10 12:00, do: override ch}"}, sensed: []string{
				"{what: ch relay, is: on, when: 2026-11-10 12:10-16:50}",
			}}, "",
		},
		"mode off": {
			house{sensed: []string{
				"{what: ch relay, never: on, when: 2026-11-10 06:00-23:00}", "{what: ch relay, never: on, when: 2026-11-08 06:00-23:00}",
				"{what: ch relay, never: on, when: 2026-11-01 06:00-23:00}", "{what: hw relay, is: on, when: 2026-11-10 18:10-19:20}",
			}}, "forgotten/mode/ch/off",
			house{sensed: evenings}, "",
		},
		"holiday": {
			// Both channels, from one day to a midnight.
			house{sensed: []string{
				"{what: ch relay, is: on, when: 2026-11-08 10:00-20:00}", "{what: ch relay, never: on, when: 2026-11-09 06:00-23:00}",
				"{what: hw relay, never: on, when: 2026-11-09 06:00-23:00}", "{what: ch relay, never: on, when: 2026-11-10 06:00-23:00}",
				"{what: hw relay, never: on, when: 2026-11-10 05:00-23:00}", "{what: ch relay, is: on, when: 2026-11-11 17:10-21:50}",
				"{what: display, is: \"17:00\", when: 2026-11-12 17:00, who: integrator}",
			}}, "forgotten/holiday",
			house{sensed: []string{
				"{what: ch relay, never: on, when: 2026-11-09 06:00-23:00}", "{what: ch relay, never: on, when: 2026-11-10 06:00-23:00}",
				"{what: hw relay, is: on, when: 2026-11-09 18:10-19:20}", "{what: hw relay, is: on, when: 2026-11-10 18:10-19:20}",
			}}, "",
		},
		"lock": {
			house{sensed: []string{
				"{what: alert, is: restricted, when: 2026-11-12 17:30, who: integrator}", "{what: ch relay, becomes: off, when: 2026-11-11 about 18:10}",
				"{what: ch relay, becomes: off, when: 2026-11-11 about 19:10}", "{what: ch relay, becomes: off, when: 2026-11-11 about 20:10}",
			}}, "lock/restricted",
			house{sensed: append([]string{"{what: alert, is: none, when: 2026-11-12 17:30, who: integrator}"}, evenings...)}, "",
		},
		"conductor": {
			// The relay calls, and nothing of the heating side follows; hot water does.
			house{sensed: []string{
				"{what: ch relay, is: on, when: 2026-11-10 20:00-21:50}", "{what: ch valve, never: open, when: 2026-11-10 20:00-21:50}",
				"{what: flame, never: on, when: 2026-11-10 20:00-21:50}", "{what: radiators, is: cold, when: 2026-11-10 20:00-21:50}",
				"{what: hw valve, is: open, when: 2026-11-10 18:10-18:20}", "{what: tap, is: hot, when: 2026-11-10 19:40}",
			}}, "wiring/stuck-open/the room thermostat",
			house{sensed: append([]string{"{what: ch valve, is: open, when: 2026-11-10 18:00-18:30}"}, evenings...)}, "",
		},
		"boiler": {
			house{sensed: []string{
				"{what: boiler call, is: on, when: 2026-11-10 17:20-17:30, who: integrator}", "{what: flame, never: on, when: 2026-11-10 17:00-22:00}",
				"{what: radiators, is: cold, when: 2026-11-10 19:00-21:30}", "{what: pump, is: on, when: 2026-11-10 17:20-17:30}",
			}}, "part/dead/the boiler",
			house{sensed: append([]string{"{what: flame, is: on, when: 2026-11-10 17:20}"}, evenings...)}, "",
		},
		"thermostat turned down": {
			house{sensed: []string{
				"{what: ch relay, is: on, when: 2026-11-10 17:10-21:50}", "{what: radiators, is: cold, when: 2026-11-10 18:30-21:30}",
				"{what: ch valve, never: open, when: 2026-11-10 17:30-21:30}", "{what: tap, is: hot, when: 2026-11-10 19:40}",
			}}, "control/low/room",
			house{sensed: append([]string{
				"{what: ch relay, never: on, when: 2026-11-11 17:30-21:30, who: log}", "{what: radiators, is: cold, when: 2026-11-11 18:30-21:30}",
			}, evenings...)}, "",
		},
		"second time control": {
			house{sensed: []string{
				"{what: ch relay, is: off, when: 2026-11-10 05:00-06:20}", "{what: flame, is: on, when: 2026-11-10 05:20}",
				"{what: radiators, is: warm, when: 2026-11-10 05:50}", "{what: flame, is: on, when: 2026-11-11 05:20}",
				"{what: ch relay, is: off, when: 2026-11-11 05:00-06:20}", "{what: radiators, is: cold, when: 2026-11-11 03:00-04:00}",
				"{what: radiators, is: cold, when: 2026-11-11 13:00-16:00}",
			}}, "outside/second-control/heating",
			house{sensed: evenings}, "",
		},
		"a mistaken statement": {
			house{source: "read", sensed: append([]string{
				"{what: ch relay, is: off, when: 2026-11-11 18:00-18:20, sure: unsure}", "{what: ch relay, is: on, when: 2026-11-11 17:10-17:50}",
				"{what: ch relay, is: on, when: 2026-11-11 18:30-21:50}", "{what: flame, is: on, when: 2026-11-11 18:05}",
				"{what: radiators, is: warm, when: 2026-11-11 18:00-18:20}",
			}, evenings...)}, "statement",
			house{sensed: evenings}, "",
		},
	} {
		t.Run(name, func(t *testing.T) {
			r := x.house.diagnose(t)
			assert.Contains(t, ids(&r.Sets[0]), x.want, "%s", write(t, r))
			not := x.not
			if not == "" {
				not = x.want
			}
			r = x.but.diagnose(t)
			assert.NotContains(t, ids(&r.Sets[0]), not, "%s", write(t, r))
		})
	}
}

func write(t *testing.T, r *Result) string {
	t.Helper()
	var w strings.Builder
	assert.NoError(t, WriteText(&w, r))
	return w.String()
}
