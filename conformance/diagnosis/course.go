package diagnosis

import (
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// What somebody notices who lives there: whether it got warm in a part of the day, and whether it stayed cold. How often it came and went
// meanwhile is a thermostat's affair, and nobody's memory holds it.
const (
	partOfDay = 4 * calendar.Hour
	gotWarm   = calendar.Hour        // of a part of the day: it was warm
	stayed    = 10 * calendar.Minute // up to which of a part of the day it was not
)

// courseOf is how the house was otherwise than the account has it, as somebody notices who lives there.
type courseOf struct {
	first          int64 // from when on; meaningless unless days is more than 0
	days, of       int   // on how many days, and of how many from the first on
	weekend, week  bool  // on days of the weekend, on others
	heating, water bool
	warmer, colder bool
	lately         bool // on the last day too
}

// courseOf returns how a probe's house was otherwise.
func (a *account) courseOf(p *probe) *courseOf {
	if p.course != nil {
		return p.course
	}
	c := &courseOf{}
	p.course = c
	z, to := a.complaint.Zone, a.complaint.Until
	day := func(at int64) int { return calendar.DayOf(localOf(z, at)) }
	begins := day(a.base.From)
	on := make([]bool, day(to)-begins+1)
	for _, l := range [...]replay.Lane{
		replay.PointLane(plant.Radiators), replay.PointLane(plant.Radiators2), replay.PointLane(plant.Tap), replay.LaneDisplay,
	} {
		// Parts begin where the local day has them; with summer time within the history, half of them an hour beside it.
		start := a.base.From - calendar.SecondOfDay(localOf(z, a.base.From))%partOfDay
		least := spec.Level(1) // warm, or hot
		if l == replay.LaneDisplay {
			least = replay.Readable
		}
		was, is := inParts(a.h, l, least, start, to), inParts(p.h, l, least, start, to)
		for i := range was {
			warmer, colder := is[i] >= gotWarm && was[i] <= stayed, was[i] >= gotWarm && is[i] <= stayed
			if !warmer && !colder {
				continue
			}
			at := max(start+int64(i)*partOfDay, a.base.From)
			if c.first == 0 || at < c.first {
				c.first = at
			}
			on[day(at)-begins] = true
			c.lately = c.lately || at >= to-calendar.Day
			switch l {
			case replay.LaneDisplay:
				continue
			case replay.PointLane(plant.Tap):
				c.water = true
			default:
				c.heating = true
			}
			c.warmer, c.colder = c.warmer || warmer, c.colder || colder
		}
	}
	for i, x := range on {
		if x {
			c.days++
			weekend := calendar.Weekday(begins+i) > 4
			c.weekend, c.week = c.weekend || weekend, c.week || !weekend
		}
	}
	if c.days > 0 {
		c.of = day(to-1) - day(c.first) + 1
	}
	return c
}

// inParts returns for how many seconds of each part of the day a lane is at a level or above.
func inParts(h *replay.History, l replay.Lane, least spec.Level, from, to int64) []int64 {
	all := make([]int64, (to-from+partOfDay-1)/partOfDay)
	level, since := h.Initial[l], from
	take := func(until int64) {
		for until = min(until, to); level >= least && since < until; {
			i := (since - from) / partOfDay
			end := min(until, from+(i+1)*partOfDay)
			all[i] += end - since
			since = end
		}
		since = max(since, until)
	}
	for _, c := range h.Changes(l) {
		take(c.At)
		level = c.Level
	}
	take(to)
	return all
}

// How often somebody is wrong about the course of things. Common sense, no source.
const (
	wrongSince = 0.2
	wrongOften = 0.15
	wrongWas   = 0.12
)

// course are questions about what it was like, and when: what whoever lives there remembers of warmth and of the display.
func course(a *account, add func(Question)) {
	remember := func(id, words string, choices []string, mistaken float64, predict func(*courseOf) int) {
		add(Question{
			ID: "course/" + id, Words: words, Who: Householder, Minutes: costAsk, Choices: choices, mistaken: mistaken, sitting: memory,
			predict: func(p *probe) int {
				c := a.courseOf(p)
				if c.days == 0 {
					return 0
				}
				return predict(c)
			},
		})
	}
	span := a.complaint.Until - a.base.From
	remember("since", "Since when is it otherwise than it is set?", []string{
		"it is as it is set", "for as long as they remember", "for more than a week, but not always", "for some days", "since yesterday or today",
	}, wrongSince, func(c *courseOf) int {
		switch age := a.complaint.Until - c.first; {
		case age > span-2*calendar.Day:
			return 1
		case age > 7*calendar.Day:
			return 2
		case age > 2*calendar.Day:
			return 3
		default:
			return 4
		}
	})
	remember("often", "On which days, since it began, is it otherwise than it is set?", []string{
		"on none", "on one day only", "on days of the weekend only", "on working days only", "now and then", "on most days, or all",
	}, wrongOften, func(c *courseOf) int {
		switch {
		case c.days == 1:
			return 1
		case c.of >= 7 && !c.week && 7*c.days >= c.of:
			return 2 // at least half of the weekends' days
		case c.of >= 7 && !c.weekend && 14*c.days >= 5*c.of:
			return 3 // at least half of the others
		case 2*c.days < c.of:
			return 4
		default:
			return 5
		}
	})
	remember("which", "Is it heating that is otherwise than it is set, or hot water, or both?", []string{"neither", "heating", "hot water", "both"}, wrongWas, func(c *courseOf) int {
		switch {
		case c.heating && c.water:
			return 3
		case c.water:
			return 2
		default:
			return first(!c.heating)
		}
	})
	remember("way", "Is it cold when it should be warm, or warm when it should be cold?", []string{"neither", "cold", "warm", "both, at different times"}, wrongWas, func(c *courseOf) int {
		switch {
		case c.colder && c.warmer:
			return 3
		case c.warmer:
			return 2
		default:
			return first(!c.colder)
		}
	})
	remember("lately", "Is it still so today, or has it gone by itself?", []string{"it is as it is set", "it has gone by itself", "it is still so"}, wrongWas, func(c *courseOf) int {
		return 1 + first(!c.lately)
	})
}
