package diagnosis

import (
	"fmt"
	"strings"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// days is a run of days that have a table in common: the table of a group of the cycle.
type days struct {
	first, last int // from Monday 0
	words       string
}

var dayNames = [7]string{"Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"}

// dayGroups returns the groups of days that the unit's cycle has, as far as it is known.
func (b *builder) dayGroups() []days { return groupsOf(b.ics().Fitted.Cycle) }

func groupsOf(cycle spec.Cycle) []days {
	switch cycle {
	case spec.Cycle24h:
		return []days{{0, 6, "every day"}}
	case spec.Cycle52:
		return []days{{0, 4, "Monday to Friday"}, {5, 6, "Saturday and Sunday"}}
	default:
		var gs []days
		for d, name := range dayNames {
			gs = append(gs, days{d, d, name})
		}
		return gs
	}
}

// grouping is the groups of days of a cycle that the unit may have, and how probable that is.
type grouping struct {
	groups []days
	share  float64
}

// groupings returns those of which one edit may be. Of a unit whose cycle is not known, tables in which all days are alike, or those of a
// working week, say little of how they were set. Common practice, no source.
func (b *builder) groupings() []grouping {
	known := b.ics().Fitted.Cycle
	by := func(cycle spec.Cycle, share float64) grouping { return grouping{groupsOf(cycle), share} }
	switch {
	case known == spec.Cycle24h || b.unitSource("cycle") != complaint.NotKnown:
		return []grouping{by(known, 1)}
	case b.alike(0, 6):
		return []grouping{by(spec.Cycle24h, 0.4), by(spec.Cycle52, 0.3), by(spec.Cycle7Day, 0.3)}
	case b.alike(0, 4) && b.alike(5, 6):
		return []grouping{by(spec.Cycle52, 0.6), by(spec.Cycle7Day, 0.4)}
	default:
		return []grouping{by(spec.Cycle7Day, 1)}
	}
}

// alike reports whether days have the same table, on each channel.
func (b *builder) alike(first, last int) bool {
	for _, c := range b.channels() {
		for d := first; d < last; d++ {
			if t := b.table(c); t[d] != t[d+1] {
				return false
			}
		}
	}
	return true
}

// tableSet is a table that is set in one go: a channel's, or with timing shared both channels'.
type tableSet struct {
	channels []spec.Channel
	id, name string
}

func (b *builder) tableSets() []tableSet {
	cs := b.channels()
	if b.ics().Fitted.Effective().Timing == spec.Shared && len(cs) == 2 {
		return []tableSet{{cs, "both", "both channels'"}}
	}
	var ts []tableSet
	for _, c := range cs {
		ts = append(ts, tableSet{[]spec.Channel{c}, short(c), named(c) + "'s"})
	}
	return ts
}

func (t tableSet) subject() (s subject) {
	for _, c := range t.channels {
		s.tables[c] = true
	}
	return s
}

// edit returns the world with a period of some days set otherwise from the beginning on.
func (t tableSet) edit(w replay.World, g days, slot int, p spec.Period) replay.World {
	return w.EachStart(func(s *replay.Start) {
		for _, c := range t.channels {
			for d := g.first; d <= g.last; d++ {
				s.Facts.Channels[c].Table[d][slot] = p
			}
		}
	})
}

// table returns a channel's table at the beginning, a row for each day from Monday.
func (b *builder) table(c spec.Channel) *[7][spec.MaxPeriods]spec.Period {
	return &b.facts().Facts.Channels[c].Table
}

// period returns the period that a table has in a slot of a group of days.
func (b *builder) period(t tableSet, g days, slot int) spec.Period {
	return b.table(t.channels[0])[g.first][slot]
}

// good reports whether a unit would take the period.
func good(p spec.Period, ics *spec.ICS) bool {
	return p.On < spec.MinutesPerDay && p.Off <= spec.MinutesPerDay && (p.On <= p.Off || ics.Wrap)
}

func periodWords(p spec.Period) string {
	return fmt.Sprintf("%02d:%02d-%02d:%02d", p.On/60, p.On%60, p.Off/60, p.Off%60)
}

// misset is a way to set a period wrongly.
type misset struct {
	id, words string
	weight    float64
	ways      []way // the likeliest first
}

// way is one of the ways of a slip.
type way struct {
	set   func(spec.Period) (spec.Period, bool)
	share float64
}

func moved(minute uint16, by int) (uint16, bool) {
	m := int(minute) + by
	return uint16(m), m >= 0 && m <= spec.MinutesPerDay
}

func halfDay(minute uint16) uint16 { return (minute + spec.MinutesPerDay/2) % spec.MinutesPerDay }

// hoursOut are by how many hours a time is set too early or too late, and how often: one hour most often, by a press too many or too few.
var hoursOut = []struct {
	hours int
	share float64
}{{1, 0.6}, {2, 0.25}, {3, 0.15}}

var missets = func() []misset {
	simple := func(set func(spec.Period) (spec.Period, bool)) []way { return []way{{set, 1}} }
	ms := []misset{
		{"half-day/on", "the on is set a.m. for p.m., or p.m. for a.m.", weightHalfDay / 3, simple(func(p spec.Period) (spec.Period, bool) {
			return spec.Period{On: halfDay(p.On), Off: p.Off}, true
		})},
		{"half-day/off", "the off is set a.m. for p.m., or p.m. for a.m.", weightHalfDay / 3, simple(func(p spec.Period) (spec.Period, bool) {
			return spec.Period{On: p.On, Off: halfDay(p.Off)}, true
		})},
		{"half-day/both", "on and off are set a.m. for p.m., or p.m. for a.m.", weightHalfDay / 3, simple(func(p spec.Period) (spec.Period, bool) {
			return spec.Period{On: halfDay(p.On), Off: halfDay(p.Off)}, true
		})},
		{"equal", "its off was set equal to its on, which makes it inactive (TAB-2)", weightEqualTimes, simple(func(p spec.Period) (spec.Period, bool) {
			return spec.Period{On: p.On, Off: p.On}, true
		})},
	}
	for _, sign := range []int{-1, 1} {
		side := map[int]string{-1: "early", 1: "late"}[sign]
		on := misset{id: "hour-out/on/" + side, words: "the on is set an hour too " + side + ", or some hours", weight: weightHourOut / 6}
		off := misset{id: "hour-out/off/" + side, words: "the off is set an hour too " + side + ", or some hours", weight: weightHourOut / 6}
		both := misset{id: "hour-out/both/" + side, words: "on and off are set an hour too " + side + ", or some hours", weight: weightHourOut / 6}
		for _, h := range hoursOut {
			by := sign * h.hours * 60
			on.ways = append(on.ways, way{func(p spec.Period) (spec.Period, bool) {
				on, ok := moved(p.On, by)
				return spec.Period{On: on, Off: p.Off}, ok
			}, h.share})
			off.ways = append(off.ways, way{func(p spec.Period) (spec.Period, bool) {
				off, ok := moved(p.Off, by)
				return spec.Period{On: p.On, Off: off}, ok
			}, h.share})
			both.ways = append(both.ways, way{func(p spec.Period) (spec.Period, bool) {
				on, ok := moved(p.On, by)
				off, good := moved(p.Off, by)
				return spec.Period{On: on, Off: off}, ok && good
			}, h.share})
		}
		ms = append(ms, on, off, both)
	}
	return ms
}()

var cureTable = cure{Words: "Read the period's times off the display together, on and off, a.m. and p.m., and set them as wanted."}

// tables are the causes that lie in how the tables are set.
func (b *builder) tables() {
	sets := b.tableSets()
	for _, by := range b.groupings() {
		active := 0
		for _, t := range sets {
			for _, g := range by.groups {
				for slot := range b.ics().Periods {
					if p := b.period(t, g, int(slot)); p.On != p.Off {
						active++
					}
				}
			}
		}
		for _, t := range sets {
			for _, g := range by.groups {
				b.missetPeriods(t, g, by.share/float64(active))
				b.emptyDays(t, g, by.share/float64(len(sets)*len(by.groups)))
			}
		}
	}
	for _, t := range sets {
		b.notKept(t, float64(len(sets)))
	}
	b.swapped()
	b.dayShifted()
	b.extraPeriods()
}

// missetPeriods are periods of some days that were set wrongly; each has a share of all.
func (b *builder) missetPeriods(t tableSet, g days, share float64) {
	ics := b.ics()
	for slot := range int(ics.Periods) {
		was := b.period(t, g, slot)
		if was.On == was.Off {
			continue
		}
		for _, m := range missets {
			var variants []variant
			stands := ""
			for _, way := range m.ways {
				p, ok := way.set(was)
				if !ok || !good(p, ics) || p == was {
					continue
				}
				v := simply("", func(w replay.World) replay.World { return t.edit(w, g, slot, p) }).of(way.share)
				if len(m.ways) > 1 {
					v.words = "it stands at " + periodWords(p)
				} else {
					stands = "at " + periodWords(p) + ", "
				}
				variants = append(variants, v)
			}
			b.add(cause{
				id: fmt.Sprintf("tables/%s/%s/%s/%d", m.id, t.id, g.id(), slot+1), family: Tables,
				words:  fmt.Sprintf("period %d of %s table on %s stands %snot at %s: %s", slot+1, t.name, g.words, stands, periodWords(was), m.words),
				weight: m.weight * share, cure: cureTable, subject: t.subject(),
			}, variants...)
		}
	}
}

func (g days) id() string { return strings.ToLower(strings.ReplaceAll(g.words, " ", "-")) }

func (b *builder) emptyDays(t tableSet, g days, share float64) {
	if g.last-g.first == 6 {
		share /= 2 // a table that is empty throughout is rarely overlooked
	}
	b.add(cause{
		id: fmt.Sprintf("tables/empty/%s/%s", t.id, g.id()), family: Tables,
		words:  fmt.Sprintf("%s table for %s has no active period", t.name, g.words),
		weight: weightDayEmpty * share, cure: cure{Words: "Set the periods of those days too: they have a table of their own."}, subject: t.subject(),
	}, simply("", func(w replay.World) replay.World {
		for slot := range spec.MaxPeriods {
			w = t.edit(w, g, slot, spec.Period{})
		}
		return w
	}))
}

// notKept are edits that the unit did not keep: the table is the default one, or what it was before.
func (b *builder) notKept(t tableSet, of float64) {
	ics := *b.ics()
	subject := t.subject()
	b.add(cause{
		id: "tables/default/" + t.id, family: Tables, words: t.name + " table is the default one: what was set was not kept",
		weight: weightNotKept / 2 / of, cure: cure{Words: "Set the table again, and see that the display shows it afterwards."}, subject: subject,
	}, simply("", func(w replay.World) replay.World {
		return w.EachStart(func(s *replay.Start) {
			for _, c := range t.channels {
				defaults(s, c, &ics)
			}
		})
	}))
	for _, by := range b.groupings() {
		for _, g := range by.groups {
			if g.last-g.first == 6 {
				continue
			}
			b.add(cause{
				id: fmt.Sprintf("tables/default/%s/%s", t.id, g.id()), family: Tables,
				words:  fmt.Sprintf("%s table for %s is the default one: it was not set, or not kept", t.name, g.words),
				weight: weightNotKept / 2 / of * by.share / float64(len(by.groups)), cure: cureTable, subject: subject,
			}, simply("", func(w replay.World) replay.World {
				return w.EachStart(func(s *replay.Start) {
					for _, c := range t.channels {
						for d := g.first; d <= g.last; d++ {
							s.Facts.Channels[c].Table[d] = defaultDay(&ics, d)
						}
					}
				})
			}))
		}
	}
	for i := range b.c.Changed {
		for j := range b.c.Changed[i].SettingsBefore {
			claim := &b.c.Changed[i].SettingsBefore[j]
			if claim.About == complaint.AboutTable && subject.covers(claim) {
				b.add(cause{
					id: fmt.Sprintf("tables/as-before/%s/%d", t.id, i+1), family: Tables, words: t.name + " table is still as it was before the change",
					weight: weightNotKept / 2 / of, cure: cureTable, subject: subject,
				}, simply("", func(w replay.World) replay.World {
					for d := range 7 {
						if !claim.Every && !coversDay(claim.Days, d) {
							continue
						}
						for slot := range spec.MaxPeriods {
							p := spec.Period{}
							if slot < len(claim.Periods) {
								p = claim.Periods[slot]
							}
							w = t.edit(w, days{first: d, last: d}, slot, p)
						}
					}
					return w
				}))
				break
			}
		}
	}
}

func coversDay(day spec.Day, d int) bool {
	switch day {
	case spec.All:
		return true
	case spec.Weekdays:
		return d < 5
	case spec.Weekend:
		return d > 4
	default:
		return int(day) == d
	}
}

// swapped are tables set for the wrong channel.
func (b *builder) swapped() {
	if len(b.tableSets()) != 2 {
		return
	}
	wrong := func(id, words string, share float64, set func(hw, ch *[7][spec.MaxPeriods]spec.Period)) {
		b.add(cause{
			id: "tables/channel/" + id, family: Tables, words: words, weight: weightSwapped * share, subject: ofTables,
			cure: cure{Words: "Read both channels' tables off the display, and set each as wanted."},
		}, simply("", func(w replay.World) replay.World {
			return w.EachStart(func(s *replay.Start) { set(&s.Facts.Channels[spec.HW].Table, &s.Facts.Channels[spec.CH].Table) })
		}))
	}
	wrong("swapped", "each channel has the table that was meant for the other", 0.1, func(hw, ch *[7][spec.MaxPeriods]spec.Period) { *hw, *ch = *ch, *hw })
	wrong("hw-as-ch", "heating's table was set for hot water too", 0.1, func(hw, ch *[7][spec.MaxPeriods]spec.Period) { *hw = *ch })
	wrong("ch-as-hw", "hot water's table was set for heating too", 0.1, func(hw, ch *[7][spec.MaxPeriods]spec.Period) { *ch = *hw })
	var unset [7][spec.MaxPeriods]spec.Period
	for d := range unset {
		unset[d] = defaultDay(b.ics(), d)
	}
	wrong("ch-into-hw", "heating's table was set as hot water's, and heating has the default one", 0.35, func(hw, ch *[7][spec.MaxPeriods]spec.Period) { *hw, *ch = *ch, unset })
	wrong("hw-into-ch", "hot water's table was set as heating's, and hot water has the default one", 0.35, func(hw, ch *[7][spec.MaxPeriods]spec.Period) { *ch, *hw = *hw, unset })
}

// dayShifted are tables set for the wrong days.
func (b *builder) dayShifted() {
	shift := func(t tableSet, id, words string, day func(d int) int) {
		b.add(cause{
			id: fmt.Sprintf("tables/days/%s/%s", id, t.id), family: Tables, words: t.name + " table: " + words,
			weight: weightDayGroup / 4 / float64(len(b.tableSets())), subject: t.subject(), cure: cureTable,
		}, simply("", func(w replay.World) replay.World {
			return w.EachStart(func(s *replay.Start) {
				for _, c := range t.channels {
					was := s.Facts.Channels[c].Table
					for d := range was {
						s.Facts.Channels[c].Table[d] = was[day(d)]
					}
				}
			})
		}))
	}
	for _, t := range b.tableSets() {
		if b.ics().Fitted.Cycle == spec.Cycle24h {
			return
		}
		shift(t, "exchanged", "weekdays have what was meant for the weekend, and the weekend what was meant for weekdays", func(d int) int {
			if d < 5 {
				return 5
			}
			return 0
		})
		shift(t, "weekend-as-weekday", "the weekend has the weekdays' periods", func(d int) int { return min(d, 4) })
		shift(t, "weekday-as-weekend", "weekdays have the weekend's periods", func(d int) int { return max(d, 5) })
		if b.ics().Fitted.Cycle == spec.Cycle7Day {
			shift(t, "early", "each day has what was meant for the day after", func(d int) int { return (d + 1) % 7 })
			shift(t, "late", "each day has what was meant for the day before", func(d int) int { return (d + 6) % 7 })
		}
	}
}

// extraPeriods are periods that nobody told of, where something was sensed that no period accounts for.
func (b *builder) extraPeriods() {
	sets := b.tableSets()
	for _, t := range sets {
		for _, by := range b.groupings() {
			for _, g := range by.groups {
				b.extraPeriod(t, g, by.share/float64(len(sets)*len(by.groups)))
			}
		}
	}
}

func (b *builder) extraPeriod(t tableSet, g days, share float64) {
	free := -1
	for slot := range int(b.ics().Periods) {
		if p := b.period(t, g, slot); p.On == p.Off {
			free = slot
			break
		}
	}
	if free < 0 {
		return
	}
	var variants []variant
	seen := map[spec.Period]bool{}
	for _, at := range b.trouble {
		day := int((calendar.SecondOfWeek(b.local(at))) / calendar.Day)
		if day < g.first || day > g.last {
			continue
		}
		quarter := uint16(calendar.SecondOfDay(b.local(at)) / (15 * calendar.Minute) * 15)
		for _, length := range []uint16{60, 120, 240} {
			for _, lead := range []uint16{0, 30, 60} {
				p := spec.Period{On: quarter - min(lead, quarter), Off: min(quarter-min(lead, quarter)+length, spec.MinutesPerDay)}
				if seen[p] || len(variants) >= 12 {
					continue
				}
				seen[p] = true
				variants = append(variants, simply(periodWords(p), func(w replay.World) replay.World { return t.edit(w, g, free, p) }))
			}
		}
	}
	b.add(cause{
		id: fmt.Sprintf("tables/extra/%s/%s", t.id, g.id()), family: Tables,
		words:  fmt.Sprintf("%s table on %s has a period more than was told", t.name, g.words),
		weight: weightExtra * share, cure: cureTable, subject: t.subject(),
	}, variants...)
}
