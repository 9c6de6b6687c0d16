package diagnosis

import (
	"fmt"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// forgotten are things done that nobody told of, at times that the switching points and what was sensed suggest.
func (b *builder) forgotten() {
	for _, c := range b.channels() {
		b.overrides(c)
		b.boosts(c)
		b.modes(c)
	}
	b.holidays()
	b.resets()
	b.cuts()
}

// pressed returns the instants at which a button of the channel may have been pressed: just after and before its switching points, and
// some time before each thing that the account leaves unexplained.
func (b *builder) pressed(c spec.Channel, most int) []int64 {
	var at []int64
	for _, t := range b.switchings(c) {
		at = append(at, t+3*calendar.Minute, t-20*calendar.Minute)
	}
	for _, t := range b.trouble {
		at = append(at, t-calendar.Minute, t-calendar.Hour, t-3*calendar.Hour)
	}
	return b.within(at, most)
}

func (b *builder) overrides(c spec.Channel) {
	var variants []variant
	for _, at := range b.pressed(c, 36) {
		variants = append(variants, simply(clockWords(b.c.Zone, at), func(w replay.World) replay.World {
			return input(w, at, spec.Input{Kind: spec.Override, Channel: c})
		}))
	}
	b.add(cause{
		id: "forgotten/override/" + short(c), family: Forgotten, weight: weightOverride,
		words: "the " + named(c) + " button was pressed and it was forgotten: an override, which lasts until the next switching point (OVR-2)",
		cure:  cure{Words: "One press turns " + named(c) + " over until the table next switches; a second press takes that back."},
	}, variants...)
}

func (b *builder) boosts(c spec.Channel) {
	ics := b.ics()
	if ics.BoostLongest == 0 {
		return
	}
	var lengths []uint32
	for _, m := range []uint32{60, 120} {
		if m <= uint32(ics.BoostLongest) && m%uint32(ics.BoostStep) == 0 {
			lengths = append(lengths, m)
		}
	}
	if len(lengths) == 0 {
		lengths = []uint32{uint32(ics.BoostStep), uint32(ics.BoostLongest)}
	}
	var variants []variant
	for _, at := range b.pressed(c, 12) {
		for _, m := range lengths {
			variants = append(variants, simply(fmt.Sprintf("%d min from %s", m, clockWords(b.c.Zone, at)), func(w replay.World) replay.World {
				return input(w, at, spec.Input{Kind: spec.Boost, Channel: c, Amount: m})
			}))
		}
	}
	b.add(cause{
		id: "forgotten/boost/" + short(c), family: Forgotten, weight: weightBoost,
		words: "a boost of " + named(c) + " was given and forgotten (BST-1)",
		cure:  cure{Words: "A boost runs for its time and then stops by itself; its button ends it sooner."},
	}, variants...)
	variants = nil
	for i := range b.base.Acts {
		if a := &b.base.Acts[i]; a.Deed == replay.AtUnit && a.Input.Kind == spec.Boost && a.Input.Channel == c && a.Input.Amount > 0 {
			end := a.At + int64(a.Input.Amount)*calendar.Minute
			ends := []int64{a.At + (end-a.At)/3, a.At + 2*(end-a.At)/3}
			for _, e := range b.edges(complaint.HWRelay, complaint.CHRelay, complaint.Click, complaint.Call, complaint.Flame) {
				if !e.on && e.at > a.At && e.at < end && !slices.Contains(ends, e.at) {
					ends = append(ends, e.at) // seen, not guessed
				}
			}
			for _, at := range ends {
				for _, in := range []spec.Input{{Kind: spec.Boost, Channel: c}, {Kind: spec.Override, Channel: c}} {
					variants = append(variants, simply(clockWords(b.c.Zone, at), func(w replay.World) replay.World { return input(w, at, in) }))
				}
			}
		}
	}
	b.add(cause{
		id: "forgotten/boost-ended/" + short(c), family: Forgotten, weight: weightBoostEnded,
		words: "the boost of " + named(c) + " was ended early, by a press of its button or of the override's (BST-10, OVR-13)",
		cure:  cure{Words: "A press while a boost runs ends it."},
	}, variants...)
}

var modeWords = [...]string{spec.Off: "off", spec.Table: "table", spec.Span: "span", spec.Always: "always"}

var modeWeights = [...]float64{spec.Off: weightModeOff, spec.Table: weightModeTable, spec.Span: weightModeSpan, spec.Always: weightModeAlways}

var modeClauses = [...]string{spec.Off: "MOD-1", spec.Table: "MOD-2", spec.Span: "MOD-3", spec.Always: "MOD-6"}

// acted returns the instants in the history at which something may have been done that lasts: the onsets but the beginning, which is a minute
// after it.
func (b *builder) acted() []onset {
	list := slices.Clone(b.onsets())
	if list[0].share -= beganBefore; list[0].share <= 0 {
		return list[1:]
	}
	list[0].at += calendar.Minute
	return list
}

// modes are modes other than was told: from the beginning, or from some time on.
func (b *builder) modes(c spec.Channel) {
	for m, words := range modeWords {
		mode := spec.Mode(m)
		var variants []variant
		if b.facts().Facts.Channels[c].Mode != mode {
			variants = append(variants, simply("all the time", func(w replay.World) replay.World {
				return w.EachStart(func(s *replay.Start) { s.Facts.Channels[c].Mode = mode })
			}).of(beganBefore))
		}
		for _, o := range b.acted() {
			variants = append(variants, simply("since "+clockWords(b.c.Zone, o.at), func(w replay.World) replay.World {
				return input(w, o.at, spec.Input{Kind: spec.SetMode, Channel: c, Mode: mode})
			}).of(o.share))
		}
		b.add(cause{
			id: "forgotten/mode/" + short(c) + "/" + words, family: Forgotten, weight: modeWeights[m], subject: ofMode(c),
			words: fmt.Sprintf("%s is in mode %s (%s)", named(c), words, modeClauses[m]),
			cure:  cure{Words: "Set " + named(c) + "'s mode to what is wanted; mostly 'table'."},
		}, variants...)
	}
}

// holidays are holidays that nobody told of, and ones longer or shorter than was told.
func (b *builder) holidays() {
	if !b.ics().Holiday {
		return
	}
	var variants []variant
	for _, o := range append([]onset{{b.base.From + 1, beganBefore}}, b.acted()...) {
		lengths := []uint32{1, 2, 3, 4, 5, 6, 7, 9, 11, 14}
		for _, n := range lengths {
			variants = append(variants, simply(fmt.Sprintf("%d days from %s", n, clockWords(b.c.Zone, o.at)), func(w replay.World) replay.World {
				return input(w, o.at, spec.Input{Kind: spec.Holiday, Amount: n})
			}).of(o.share/float64(len(lengths))))
		}
	}
	cureHoliday := cure{Words: "Look for a holiday on the display and cancel it; it ends by itself at midnight of its last day."}
	b.add(cause{
		id: "forgotten/holiday", family: Forgotten, weight: weightHoliday, subject: subject{holiday: true}, cure: cureHoliday,
		words: "a holiday is set and keeps both channels off (HOL-1)",
	}, variants...)
	variants = nil
	for i := range b.base.Acts {
		a := &b.base.Acts[i]
		if a.Deed != replay.AtUnit || a.Input.Kind != spec.Holiday {
			continue
		}
		for _, n := range []int{-2, -1, 1, 2, 7} {
			days := int(a.Input.Amount) + n
			if days < 1 || days > spec.MaxHolidayDays {
				continue
			}
			other := *a
			other.Input.Amount = uint32(days)
			variants = append(variants, exchanged(fmt.Sprintf("%d days", days), *a, other))
		}
	}
	b.add(cause{
		id: "slip/holiday-days", family: Slip, weight: weightSlip, subject: subject{holiday: true}, cure: cureHoliday,
		words: "the holiday was set for another number of days; its first day is the day on which it is set (HOL-1)",
	}, variants...)
}

func (b *builder) resets() {
	var variants []variant
	for _, o := range append([]onset{{b.base.From + 1, beganBefore}}, b.acted()...) {
		variants = append(variants, simply(clockWords(b.c.Zone, o.at), func(w replay.World) replay.World {
			return input(w, o.at, spec.Input{Kind: spec.Reset})
		}).of(o.share))
	}
	b.add(cause{
		id: "forgotten/reset", family: Forgotten, weight: weightReset, subject: ofTables.or(ofMode(spec.HW)).or(ofMode(spec.CH)),
		words: "the unit was reset: default tables, both modes 'table' (RST-1, RST-2)",
		cure:  cure{Words: "Set the tables and modes again; a reset brings the default ones."},
	}, variants...)
}

// cuts are power cuts that nobody told of. What they do to the clock is the clock's family.
func (b *builder) cuts() {
	var variants []variant
	for _, o := range b.acted() {
		for _, length := range []int64{calendar.Minute, 2 * calendar.Hour} {
			variants = append(variants, simply(clockWords(b.c.Zone, o.at), func(w replay.World) replay.World { return cut(w, o.at, length) }).of(o.share/2))
		}
	}
	b.add(cause{
		id: "forgotten/cut", family: Outside, weight: weightCut,
		words: "there was a power cut: it opens both relays and may end override and boost (PWR-1, PWR-3)",
		cure:  cure{Words: "Explain what a cut does; if they come often, have the supply looked at."},
	}, variants...)
	variants = nil
	for _, o := range b.onsets() {
		variants = append(variants, simply(b.since(o), func(w replay.World) replay.World {
			return w.Add(replay.Act{At: o.at, Deed: replay.AtIsolator, Claim: -1})
		}).of(o.share))
	}
	b.add(cause{
		id: "outside/supply", family: Outside, weight: weightNoSupply,
		words: "the unit has no mains: its isolator is off, or its fuse has blown",
		cure:  cure{Words: "See whether the display is dark and the isolator on.", Visit: true, Who: Competent, Part: "the unit's isolator and fuse", Wiring: true},
	}, variants...)
}

// claimed returns how far the complaint can be wrong about an act, as a share of a hypothesis's prior.
func (b *builder) claimed(a *replay.Act) float64 {
	if a.Claim < 0 || a.Claim >= len(b.c.Acts) {
		return 1
	}
	switch b.c.Acts[a.Claim].Sure {
	case complaint.Measured:
		return 0.05
	case complaint.Certain:
		return 0.4
	default:
		return 1
	}
}
