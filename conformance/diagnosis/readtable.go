package diagnosis

import (
	"fmt"
	"slices"
	"strings"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// How the periods of some days can stand, against what was told.
const (
	asTold = iota
	allEmpty
	asDelivered
	asOtherChannel
	asOtherDays
	oneMore
	notAsTold
)

// How one period can stand, against what was told of it.
const (
	missing = iota + 1 // asTold is 0
	equalTimes
	onHalfDay
	offHalfDay
	bothHalfDay
	onEarly
	onLate
	offEarly
	offLate
	bothEarly
	bothLate
	periodOtherwise
)

var periodChoices = [...]string{
	asTold: "just so", missing: "it is not there", equalTimes: "its on and off are the same time", onHalfDay: "its on is twelve hours out",
	offHalfDay: "its off is twelve hours out", bothHalfDay: "both its times are twelve hours out", onEarly: "its on is earlier", onLate: "its on is later", offEarly: "its off is earlier", offLate: "its off is later",
	bothEarly: "both its times are as much earlier", bothLate: "both its times are as much later", periodOtherwise: "otherwise",
}

// tablesRead are questions about the periods of each group of days, together and one by one.
func tablesRead(a *account, add func(Question)) {
	b := builder{c: a.complaint, base: a.base}
	was := &a.h.States[len(a.h.States)-1].Facts
	for _, t := range b.tableSets() {
		for _, g := range b.dayGroups() {
			c := t.channels[0]
			var told []string
			for slot, p := range was.Channels[c].Table[g.first] {
				if p.On == p.Off {
					continue
				}
				told = append(told, periodWords(p))
				add(Question{
					ID: fmt.Sprintf("display/period/%s/%s/%d", t.id, g.id(), slot+1), Who: Householder, Minutes: costRead, Choices: periodChoices[:],
					Words:    fmt.Sprintf("Look on the display for the period %s of %s table for %s. How does it stand there?", periodWords(p), t.name, g.words),
					mistaken: wrongRead, sitting: indoors, predict: func(p *probe) int {
						return standsAs(was.Channels[c].Table[g.first][slot], slot, &p.state().Facts.Channels[c].Table[g.first])
					},
				})
			}
			if told == nil {
				told = []string{"none"}
			}
			choices := []string{
				asTold: "yes", allEmpty: "no, there are none", asDelivered: "no, those with which the unit leaves the factory",
				asOtherChannel: "no, those that were told of the other channel", asOtherDays: "no, those that were told of other days",
				oneMore: "yes, and one more", notAsTold: "no, others",
			}
			periods := fmt.Sprintf("display/period/%s/%s/", t.id, g.id())
			add(Question{
				ID: fmt.Sprintf("display/table/%s/%s", t.id, g.id()), Who: Householder, Minutes: costRead, Choices: choices, mistaken: wrongRead, sitting: indoors,
				Words:  fmt.Sprintf("Read the periods of %s table for %s off the display, one by one. Are they these: %s?", t.name, g.words, list(told)),
				covers: func(id string) bool { return strings.HasPrefix(id, periods) }, says: func(choice int) bool { return choice == asTold },
				predict: func(p *probe) int { return daysStand(p, was, c, g) },
			})
		}
	}
}

// standsAs says how a period of a slot stands in what a day now has.
func standsAs(told spec.Period, slot int, day *[spec.MaxPeriods]spec.Period) int {
	is := day[slot]
	switch {
	case slices.Contains(day[:], told):
		return asTold
	case is == spec.Period{}:
		return missing
	case is.On == is.Off:
		return equalTimes
	}
	on, off := int(is.On)-int(told.On), int(is.Off)-int(told.Off)
	switch {
	case is == spec.Period{On: halfDay(told.On), Off: told.Off}:
		return onHalfDay
	case is == spec.Period{On: told.On, Off: halfDay(told.Off)}:
		return offHalfDay
	case is == spec.Period{On: halfDay(told.On), Off: halfDay(told.Off)}:
		return bothHalfDay
	case off == 0 && on < 0:
		return onEarly
	case off == 0:
		return onLate
	case on == 0 && off < 0:
		return offEarly
	case on == 0:
		return offLate
	case on == off && on < 0:
		return bothEarly
	case on == off:
		return bothLate
	default:
		return periodOtherwise
	}
}

// daysStand says how the periods of a group of days stand.
func daysStand(p *probe, was *emulator.Facts, c spec.Channel, g days) int {
	f, ics := &p.state().Facts, p.ics()
	alike := func(of func(d int) [spec.MaxPeriods]spec.Period) bool {
		for d := g.first; d <= g.last; d++ {
			if activeSet(f.Channels[c].Table[d]) != activeSet(of(d)) {
				return false
			}
		}
		return true
	}
	other := (g.first + 5) % 7 // a weekend's day for Monday, a weekday for the weekend
	switch {
	case alike(func(d int) [spec.MaxPeriods]spec.Period { return was.Channels[c].Table[d] }):
		return asTold
	case alike(func(int) (none [spec.MaxPeriods]spec.Period) { return none }):
		return allEmpty
	case alike(func(d int) [spec.MaxPeriods]spec.Period { return defaultDay(ics, d) }):
		return asDelivered
	case alike(func(d int) [spec.MaxPeriods]spec.Period { return was.Channels[1-c].Table[d] }):
		return asOtherChannel
	case alike(func(int) [spec.MaxPeriods]spec.Period { return was.Channels[c].Table[other] }):
		return asOtherDays
	}
	has, told := activeSet(f.Channels[c].Table[g.first]), activeSet(was.Channels[c].Table[g.first])
	extra := 0
	for _, x := range has {
		if x.On != x.Off && !slices.Contains(told[:], x) {
			extra++
		}
	}
	for _, x := range told {
		if x.On != x.Off && !slices.Contains(has[:], x) {
			return notAsTold
		}
	}
	if extra == 1 {
		return oneMore
	}
	return notAsTold
}
