package diagnosis

import (
	"fmt"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// defaultDay is TAB-18's table for a day, from Monday 0.
func defaultDay(ics *spec.ICS, day int) (ps [spec.MaxPeriods]spec.Period) {
	whole := ics.Periods == 1 || day > 4 && ics.Fitted.Cycle != spec.Cycle24h
	if whole {
		ps[0] = spec.Period{On: 7 * 60, Off: 23 * 60}
		return ps
	}
	ps[0], ps[1] = spec.Period{On: 7 * 60, Off: 9 * 60}, spec.Period{On: 16 * 60, Off: 23 * 60}
	return ps
}

// fitAs returns the world with the unit fitted otherwise all the time, and whether it can be.
func fitAs(w replay.World, option spec.FitOption, value uint8) (replay.World, bool) {
	ok := true
	w = w.EachPhase(func(p *replay.Phase) {
		fitted, can := p.ICS.Fit(p.ICS.Fitted, option, value)
		ok = ok && can
		if can {
			p.ICS.Fitted = fitted
		}
	})
	return w, ok
}

// fitted are the causes at the back of the unit.
func (b *builder) fitted() {
	ics := b.ics()
	now := [...]uint8{
		spec.FitChannels: uint8(ics.Fitted.Channels), spec.FitCycle: uint8(ics.Fitted.Cycle),
		spec.FitTiming: uint8(ics.Fitted.Timing), spec.FitCoupling: uint8(ics.Fitted.Coupling),
	}
	weights := [...]float64{spec.FitChannels: weightChannels, spec.FitCycle: weightCycle, spec.FitTiming: weightTiming, spec.FitCoupling: weightCoupling}
	for o := range spec.FitOption(len(now)) {
		words := wire.FitWords(o)
		for value := range uint8(len(words)) {
			if value == now[o] {
				continue
			}
			name := wire.FitOptionWord(o)
			c := cause{
				id: "set-up/" + name + "/" + words[value], family: SetUp,
				words:  fmt.Sprintf("the unit is set at the back to %s %s, not %s", name, words[value], words[now[o]]),
				weight: weights[o] / float64(len(words)-1) * b.backSays(name),
				cure:   cure{Visit: true, Who: Competent, Part: "the setting at the back: " + name, Wiring: true},
			}
			if o == spec.FitCycle || o == spec.FitTiming {
				c.subject = ofTables
			}
			var variants []variant
			for _, tables := range b.tablesFitted(o, value) {
				variants = append(variants, variant{words: tables.words, apply: func(w replay.World) (replay.World, bool) {
					w, ok := fitAs(w, o, value)
					if !ok || tables.set == nil {
						return w, ok
					}
					return w.EachStart(tables.set), true
				}})
			}
			b.add(c, variants...)
			if at := b.onsets(); len(at) > 1 && b.unitSays(name) > 0.5 {
				// Set in the course of the history: the unit is then as PWR-15 leaves it.
				last := at[len(at)-1].at
				late := c
				late.id, late.words = c.id+"/since", c.words+", since "+clockWords(b.c.Zone, last)
				late.weight = c.weight / 4
				b.add(late, variant{apply: func(w replay.World) (replay.World, bool) {
					ok := true
					w = from(w, last, func(p *replay.Phase) {
						fitted, can := p.ICS.Fit(p.ICS.Fitted, o, value)
						ok = ok && can
						p.ICS.Fitted = fitted
					})
					return w, ok
				}})
			}
		}
	}
	b.choices()
}

// tablesAs is a way in which tables stand in a unit that is fitted otherwise than was thought.
type tablesAs struct {
	words string
	set   func(*replay.Start)
}

// tablesFitted returns how the tables may stand if the unit is fitted so: whoever set them, set what the unit let them set.
func (b *builder) tablesFitted(o spec.FitOption, value uint8) []tablesAs {
	switch {
	case o == spec.FitTiming && spec.Timing(value) == spec.Shared:
		return []tablesAs{
			{"both as heating's", func(s *replay.Start) { s.Facts.Channels[spec.HW].Table = s.Facts.Channels[spec.CH].Table }},
			{"both as hot water's", func(s *replay.Start) { s.Facts.Channels[spec.CH].Table = s.Facts.Channels[spec.HW].Table }},
		}
	case o == spec.FitTiming:
		ics := *b.ics()
		return []tablesAs{
			{"hot water has the default table", func(s *replay.Start) { defaults(s, spec.HW, &ics) }},
			{"heating has the default table", func(s *replay.Start) { defaults(s, spec.CH, &ics) }},
		}
	case o == spec.FitCycle && spec.Cycle(value) == spec.Cycle24h:
		return []tablesAs{
			{"every day as Monday", func(s *replay.Start) { everyDayAs(s, 0, 0, 6) }},
			{"every day as Sunday", func(s *replay.Start) { everyDayAs(s, 6, 0, 6) }},
		}
	case o == spec.FitCycle && spec.Cycle(value) == spec.Cycle52:
		ics := *b.ics()
		ics.Fitted.Cycle = spec.Cycle52
		return []tablesAs{
			{"weekend as its first day", func(s *replay.Start) { everyDayAs(s, 0, 0, 4); everyDayAs(s, 5, 5, 6) }},
			{"the weekend has the default table", func(s *replay.Start) { everyDayAs(s, 0, 0, 4); defaultDays(s, &ics, 5, 6) }},
		}
	case o == spec.FitCycle:
		ics := *b.ics()
		ics.Fitted.Cycle = spec.Cycle7Day
		return []tablesAs{
			{"every day but the first has the default table", func(s *replay.Start) { defaultDays(s, &ics, 1, 6) }},
			{"Saturday and Sunday have the default table", func(s *replay.Start) { defaultDays(s, &ics, 5, 6) }},
		}
	default:
		return []tablesAs{{}}
	}
}

func defaults(s *replay.Start, c spec.Channel, ics *spec.ICS) {
	for d := range s.Facts.Channels[c].Table {
		s.Facts.Channels[c].Table[d] = defaultDay(ics, d)
	}
}

func defaultDays(s *replay.Start, ics *spec.ICS, first, last int) {
	for c := range s.Facts.Channels {
		for d := first; d <= last; d++ {
			s.Facts.Channels[c].Table[d] = defaultDay(ics, d)
		}
	}
}

func everyDayAs(s *replay.Start, day, first, last int) {
	for c := range s.Facts.Channels {
		as := s.Facts.Channels[c].Table[day]
		for d := first; d <= last; d++ {
			s.Facts.Channels[c].Table[d] = as
		}
	}
}

// choices are the options on which honest designs differ: where the complaint's unit may be one of the others.
func (b *builder) choices() {
	choice := func(name, words string, flip func(*spec.ICS)) {
		b.add(cause{
			id: "set-up/" + name, family: SetUp, words: "the unit is of a design in which " + words,
			weight: weightChoice * b.unitSays(name), cure: cure{Words: "Explain what this design does; another design would need another unit."},
		}, simply("", func(w replay.World) replay.World {
			return w.EachPhase(func(p *replay.Phase) { flip(&p.ICS) })
		}))
	}
	either := func(now bool, is, not string) string {
		if now {
			return not
		}
		return is
	}
	ics := b.ics()
	choice("override-end", either(ics.OverrideProgrammed, "an override ends at the next programmed time", "an override lasts until the scheduled level changes"),
		func(s *spec.ICS) { s.OverrideProgrammed = !s.OverrideProgrammed })
	choice("override-on-mode-change", either(ics.OverrideKept, "a change of mode keeps an override", "a change of mode cancels an override"),
		func(s *spec.ICS) { s.OverrideKept = !s.OverrideKept })
	choice("through-cut", either(ics.KeptThroughCut, "override and boost outlive a power cut", "a power cut ends override and boost"),
		func(s *spec.ICS) { s.KeptThroughCut = !s.KeptThroughCut })
	if ics.BoostLongest > 0 {
		choice("second-boost", either(ics.BoostExtends, "a second boost extends the first", "a second boost replaces the first"),
			func(s *spec.ICS) { s.BoostExtends = !s.BoostExtends })
	}
	if ics.Holiday && ics.BoostLongest > 0 {
		choice("boost-in-holiday", either(ics.BoostInHoliday, "a boost works in a holiday", "a boost is refused in a holiday"),
			func(s *spec.ICS) { s.BoostInHoliday = !s.BoostInHoliday })
	}
	if !ics.Wrap {
		choice("past-midnight", "a period may run past midnight", func(s *spec.ICS) { s.Wrap = true })
	}
	choice("clock-after-reset", either(ics.ResetUnsetsClock, "a reset unsets the clock", "a reset keeps the clock"),
		func(s *spec.ICS) { s.ResetUnsetsClock = !s.ResetUnsetsClock })
	for _, reserve := range []uint32{0, 60, 8 * 60} {
		if reserve < ics.Reserve {
			b.add(cause{
				id: fmt.Sprintf("set-up/reserve/%d", reserve), family: Clock, weight: weightChoice * b.unitSays("reserve"), subject: ofClock,
				words: fmt.Sprintf("the unit's reserve lasts %d min only, so that a cut loses the clock", reserve),
				cure:  cure{Words: "Set the clock after each cut; if cuts are frequent, ask for a unit with a longer reserve, or for a new reserve cell."},
			}, b.lostClocks(func(s *spec.ICS) { s.Reserve = reserve })...)
		}
	}
}

// lostClocks returns a variant for each thing that a unit may do with a clock that it has lost, after flip.
func (b *builder) lostClocks(flip func(*spec.ICS)) []variant {
	var variants []variant
	for _, lost := range []spec.LostClock{spec.LostUnset, spec.LostResumes, spec.LostRestarts} {
		share := 0.2
		if lost == b.ics().LostClock {
			share = 0.6
		}
		variants = append(variants, variant{words: "lost-clock " + wire.LostClockWord(lost), share: share, apply: func(w replay.World) (replay.World, bool) {
			return w.EachPhase(func(p *replay.Phase) { flip(&p.ICS); p.ICS.LostClock = lost }), true
		}})
	}
	return variants
}
