package diagnosis

import (
	"fmt"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// clauses are what a household hears of a clause with which its expectation differs.
var clauses = map[string]string{
	"OVR-2":  "an override lasts until the table next switches, and then the channel follows its table again",
	"OVR-4":  "setting the clock ends an override if the table then asks for something else",
	"OVR-6":  "a second press takes an override back",
	"OVR-1":  "an override turns the channel over until the table next switches",
	"OVR-7":  "a change of mode ends an override",
	"OVR-16": "in this design an override ends at the next programmed time",
	"BST-2":  "when a boost's time is up the channel goes back to what its table says",
	"BST-1":  "a boost runs for its time, whatever the table says",
	"HOL-1":  "a holiday keeps both channels off until midnight of its last day",
	"CPL-1":  "on this set-up heating always brings hot water with it",
	"MOD-1":  "in mode 'off' nothing is asked for",
	"MOD-2":  "in mode 'table' the periods decide, on and off to the minute",
	"MOD-3":  "in mode 'span' it stays on from the day's first on to its last off",
	"MOD-6":  "in mode 'always' it is on day and night",
	"CLK-11": "with its clock unset the unit runs no tables",
	"LCK-13": "the interval lock lets a channel call for some minutes of each hour only",
	"PWR-1":  "without mains both relays are open",
	"PWR-3":  "a power cut ends override and boost",
}

// reason finds out where 'nothing is wrong' lies: with a clause of the unit or with the plant, which clause, and what of the two is more
// probable. It looks at what the household wants or expects and does not get, and failing that at what was sensed.
func (s *search) reason(r *Result) {
	h, err := replay.Run(&s.base, new(replay.Buffers))
	if err != nil {
		return
	}
	clause, over, plants := "", "", false
	wanted := len(s.c.Wanted.Means) > 0
	for i, o := range slices.Concat(s.c.Wanted.Means, s.c.Sensed) {
		compare := replay.Compare
		if i < len(s.c.Wanted.Means) {
			compare = replay.CompareWish
		}
		c := compare(h, &o)
		if wanted && c.Verdict != replay.Departs {
			continue
		}
		asked := asksOn(&o)
		if !wanted {
			asked = !asked // what is complained of is what was sensed
		}
		ch, ok := channelOf(o.What)
		if !ok {
			continue
		}
		if stands(h, ch, c.At, asked) {
			plants = plants || clause == ""
			continue
		}
		if clause == "" {
			clause = clauseAt(h, ch, c.At)
		}
		if over == "" {
			over = ended(h, ch, c.At, asked)
		}
	}
	if over != "" {
		clause = over // what was pressed, and is over, is what a household asks about
	}
	r.account(clause, plants, s.wants)
}

// account gives the causes 'nothing is wrong' their clause, and moves most of their common probability to the one of the two that it
// points to: they are the same world, and no evidence but the expectation tells them apart. Where the account departs from statements,
// nothing is wrong only if those are mistaken; that alone is what it is made of, unless what is wanted is not what the unit does.
func (r *Result) account(clause string, plants, wants bool) {
	for i := range r.Sets {
		set := &r.Sets[i]
		unit := slices.IndexFunc(set.Causes, func(c Cause) bool { return c.ID == "normal/unit" })
		pl := slices.IndexFunc(set.Causes, func(c Cause) bool { return c.ID == "normal/plant" })
		if unit < 0 || pl < 0 {
			continue
		}
		sum := set.Causes[unit].Probability + set.Causes[pl].Probability
		switch {
		case clause != "":
			set.Causes[unit].Probability, set.Causes[pl].Probability = 0.9*sum, 0.1*sum
			set.Causes[unit].Clause = clause
			if words := clauses[clause]; words != "" {
				set.Causes[unit].Detail = words + " (" + clause + ")"
			} else {
				set.Causes[unit].Detail = "by its clause " + clause
			}
			set.Causes[unit].Action.Words = "Say: " + set.Causes[unit].Detail + ". Show how to set what is wanted."
		case plants:
			set.Causes[unit].Probability, set.Causes[pl].Probability = 0.1*sum, 0.9*sum
		}
		switch n := len(set.Departs); {
		case n == 0:
		case wants && (clause != "" || plants):
			besides := fmt.Sprintf("; besides, %s mistaken", plural(n, "one statement is", "statements are"))
			set.Causes[unit].Words += besides
			set.Causes[pl].Words += besides
		default:
			words := fmt.Sprintf("nothing is wrong: %s mistaken", plural(n, "what was said is", "statements are"))
			c := set.Causes[unit]
			c.ID, c.Family, c.Words, c.Probability = "statement", Statement, words, sum
			c.Action = cure{Words: "Ask again, without leading, for what the account does not explain."}.action()
			set.Causes[unit] = c
			set.Causes = slices.Delete(set.Causes, pl, pl+1)
		}
		slices.SortStableFunc(set.Causes, func(a, b Cause) int {
			switch {
			case a.Probability > b.Probability:
				return -1
			case a.Probability < b.Probability:
				return 1
			default:
				return 0
			}
		})
		set.conclude()
	}
}

func plural(n int, one, more string) string {
	if n == 1 {
		return one
	}
	return fmt.Sprintf("%d %s", n, more)
}

// asksOn reports whether an observation, or a wish, is of something on.
func asksOn(o *complaint.Observation) bool { return o.Level == 1 && o.Form != complaint.Never }

// stands reports whether a channel's relay is on, or off, at an instant.
func stands(h *replay.History, c spec.Channel, at int64, on bool) bool {
	return h.Level(replay.SignalLane(spec.Signal(c)), at) == 1 == on
}

// channelOf returns the channel that something sensed hangs on, if it is one channel.
func channelOf(w complaint.What) (spec.Channel, bool) {
	switch w {
	case complaint.HWRelay, complaint.HWValve, complaint.Tap, complaint.Radiators2, complaint.Zone2Valve:
		return spec.HW, true
	case complaint.CHRelay, complaint.CHValve, complaint.Radiators, complaint.Room, complaint.Pump, complaint.Flame, complaint.Call, complaint.Click:
		return spec.CH, true
	default:
		return 0, false
	}
}

// lately is how long after an override or a boost somebody still thinks of it.
const lately = 36 * calendar.Hour

// ended returns the clause by which an override or a boost is over that was given lately and that had the level that is asked for. An
// override's level is that of the next stretch of the table, so that nothing moves when it ends: it is missed only later.
func ended(h *replay.History, c spec.Channel, at int64, asked bool) string {
	clause := ""
	for i := range h.Done {
		d := &h.Done[i]
		a := &h.World.Acts[d.Act]
		if d.At > at || d.At < at-lately || a.Deed != replay.AtUnit || d.Reply.Outcome != spec.Accepted || a.Input.Channel != c {
			continue
		}
		f := &h.State(d.At).Facts.Channels[c]
		now := &h.State(at).Facts.Channels[c]
		switch {
		case a.Input.Kind == spec.Boost && f.BoostLeft > 0 && asked && now.BoostLeft == 0:
			clause = "BST-2"
		case a.Input.Kind == spec.Override && f.Override && !now.Override && stands(h, c, d.At, asked):
			clause = "OVR-2"
		}
	}
	return clause
}

// clauseAt returns the clause that settles a channel's relay at an instant: of what ended last, if that is what brought it about.
func clauseAt(h *replay.History, c spec.Channel, at int64) string {
	changes := h.Changes(replay.SignalLane(spec.Signal(c)))
	i := len(changes) - 1
	for i >= 0 && changes[i].At > at {
		i--
	}
	if i < 0 {
		return ruling(h, c, at)
	}
	ch := &changes[i]
	before := h.State(ch.At - 1)
	switch f := &before.Facts.Channels[c]; {
	case ch.Why.Unit.Cause == spec.CauseBoostEnd:
		return "BST-2"
	case f.Override && ch.Why.Unit.Cause == spec.CausePeriod:
		return "OVR-2"
	case f.Override && ch.Why.Unit.Cause == spec.CauseInput && ch.Why.Unit.By != spec.ClausePower:
		return inputEnds(h, ch)
	default:
		return ch.Why.Unit.By.String()
	}
}

// inputEnds returns the clause by which an input ended an override.
func inputEnds(h *replay.History, ch *replay.Change) string {
	if ch.Why.Act >= 0 {
		switch h.World.Acts[ch.Why.Act].Input.Kind {
		case spec.SetMode:
			return "OVR-7"
		case spec.SetClock:
			return "OVR-4"
		case spec.Override:
			return "OVR-6"
		}
	}
	return ch.Why.Unit.By.String()
}

// ruling returns the clause that settles a channel's relay where it has not moved, in the order of BEHAVIOUR.md's table of reasons.
func ruling(h *replay.History, c spec.Channel, at int64) string {
	f := &h.State(at).Facts
	ch := &f.Channels[c]
	switch {
	case !f.Powered:
		return "PWR-1"
	case ch.BoostLeft > 0:
		return "BST-1"
	case f.Holiday.On:
		return "HOL-1"
	case ch.Override:
		return "OVR-1"
	case !f.ClockSet && ch.Mode != spec.Off && ch.Mode != spec.Always:
		return "CLK-11"
	default:
		return modeClauses[ch.Mode]
	}
}
