package diagnosis

import (
	"cmp"
	"math"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// change is what a hypothesis does to a world. It reports false where it comes to nothing there.
type change func(replay.World) (replay.World, bool)

// cause is something that may be wrong. Its variants are the ways in which it may have come about, such as the times at which a
// button may have been pressed; they share its prior.
type cause struct {
	id     string
	family Family
	words  string
	weight float64
	cure   cure
	// subject is what the cause says was set otherwise than was meant. What was only said of it is not held against the cause.
	subject  subject
	told     bool // the account itself tells of it
	variants []variant
}

type variant struct {
	words string // of the variant alone, such as a time; may be empty
	share float64
	apply change
}

// subject is a set of settings: for claims that were said and not read.
type subject struct {
	modes, tables [spec.NumChannels]bool
	clock, lock   bool
	holiday       bool
}

func ofMode(c spec.Channel) (s subject) { s.modes[c] = true; return s }

var (
	ofTables = subject{tables: [spec.NumChannels]bool{true, true}}
	ofClock  = subject{clock: true}
)

func (s subject) or(t subject) subject {
	for c := range spec.NumChannels {
		s.modes[c] = s.modes[c] || t.modes[c]
		s.tables[c] = s.tables[c] || t.tables[c]
	}
	s.clock = s.clock || t.clock
	s.lock = s.lock || t.lock
	s.holiday = s.holiday || t.holiday
	return s
}

// covers reports whether the claim is about something of the subject.
func (s subject) covers(c *complaint.Claim) bool {
	switch c.About {
	case complaint.AboutMode:
		return s.modes[c.Channel]
	case complaint.AboutTable:
		switch c.Table {
		case spec.HWTable:
			return s.tables[spec.HW]
		case spec.CHTable:
			return s.tables[spec.CH]
		default:
			return s.tables[spec.HW] || s.tables[spec.CH]
		}
	case complaint.AboutClock:
		return s.clock
	case complaint.AboutHoliday:
		return s.holiday
	case complaint.AboutLock, complaint.AboutAlert:
		return s.lock
	default:
		return false
	}
}

// builder gathers the causes that are worth looking at for one complaint.
type builder struct {
	c      *complaint.Complaint
	base   replay.World
	h      *replay.History // of base
	causes []cause
	// trouble are the instants at which the account first leaves something unexplained, one for each statement, in order.
	trouble []int64
	began   []onset // see onsets
}

// add adds a cause. Without variants there is no cause. Variants have equal shares of its weight unless they say otherwise: proportions where
// they come to more than 1, and where they come to less, the rest of the weight lies with variants that explain nothing here.
func (b *builder) add(c cause, variants ...variant) {
	if len(variants) == 0 || c.weight <= 0 {
		return
	}
	shares := 0.0
	for i := range variants {
		if variants[i].share == 0 {
			variants[i].share = 1
		}
		shares += variants[i].share
	}
	for i := range variants {
		variants[i].share /= max(1, shares)
	}
	c.variants = variants
	for i := range b.c.Changed {
		c.weight *= after(b.c.Changed[i].Kind, c.family)
	}
	b.causes = append(b.causes, c)
}

// simply is a variant that always applies.
func simply(words string, apply func(replay.World) replay.World) variant {
	return variant{words: words, apply: func(w replay.World) (replay.World, bool) { return apply(w), true }}
}

// of returns the variant with a share of its cause's weight.
func (v variant) of(share float64) variant {
	v.share = share
	return v
}

// ics returns the statement of the unit at the end.
func (b *builder) ics() *spec.ICS { return &b.base.Phases[len(b.base.Phases)-1].ICS }

// plant returns the installation at the end.
func (b *builder) plant() *plant.Installation { return &b.base.Phases[len(b.base.Phases)-1].Plant }

// channels returns the channels that the unit has.
func (b *builder) channels() []spec.Channel {
	var cs []spec.Channel
	for c := range spec.Channel(spec.NumChannels) {
		if b.ics().Fitted.Channels.Has(c) {
			cs = append(cs, c)
		}
	}
	return cs
}

// facts returns what the unit remembers at the beginning.
func (b *builder) facts() *replay.Start { return b.base.Phases[0].Start }

// unitSource returns how an option of the unit is known.
func (b *builder) unitSource(name string) complaint.Source {
	for i := range b.c.Unit {
		if b.c.Unit[i].Name == name {
			return b.c.Unit[i].Source
		}
	}
	return complaint.NotKnown
}

// unitSays returns what is left of the prior of a hypothesis that contradicts what is known of an option of the unit.
func (b *builder) unitSays(name string) float64 { return contradicted[b.unitSource(name)] }

// backSays is the same for what is set at the back of the unit. What is only said of it is mostly what somebody thinks, who has never looked.
func (b *builder) backSays(name string) float64 {
	if b.unitSource(name) == complaint.Said {
		return saidOfTheBack
	}
	return b.unitSays(name)
}

// installationSays is the same for a thing of the installation.
func (b *builder) installationSays(name string) float64 {
	for i := range b.c.Installation {
		if b.c.Installation[i].Name == name {
			return contradicted[b.c.Installation[i].Source]
		}
	}
	return 1
}

// local returns a true second as the household reads it.
func (b *builder) local(at int64) int64 { return localOf(b.c.Zone, at) }

func localOf(z complaint.Zone, at int64) int64 {
	local := at + int64(z.Minutes)*calendar.Minute
	if z.SummerTime && calendar.SummerTime(at) {
		local += calendar.Hour
	}
	return local
}

// within keeps the instants that lie in the history, in order and each once, and of those at most most: the ones nearest to where the
// trouble begins.
func (b *builder) within(at []int64, most int) []int64 {
	slices.Sort(at)
	at = slices.Compact(at)
	at = slices.DeleteFunc(at, func(t int64) bool { return t < b.base.From || t >= b.base.To })
	if len(at) <= most {
		return at
	}
	near := b.base.To
	if len(b.trouble) > 0 {
		near = b.trouble[0]
	}
	slices.SortStableFunc(at, func(s, t int64) int { return int(math.Abs(float64(s-near)) - math.Abs(float64(t-near))) })
	at = at[:most]
	slices.Sort(at)
	return at
}

// onset is an instant from which on something may have been otherwise, and how probable it is that it began there, of all the times at which
// it could have begun.
type onset struct {
	at    int64
	share float64
}

// How probable it is that something began before the history, and with a turn of events that was told of, if one was. The rest is spread
// evenly over the history. Common sense, no source.
const (
	beganBefore   = 0.4
	beganWithTurn = 0.3
)

// mostOnsets bounds the instants from which on something may have been otherwise.
const mostOnsets = 14

// onsets returns the instants from which on something may have been otherwise: the beginning, each turn of events, and one for each stretch
// of the history between two statements. It is the stretch's first, so that what comes after has had time to show. A stretch has as much of
// the probability as it has of the history: something that has to begin within an hour of two weeks to explain one evening is a
// coincidence, and weighs as little as that.
func (b *builder) onsets() []onset {
	if b.began != nil {
		return b.began
	}
	list := []onset{{b.base.From, beganBefore}}
	var turns []int64
	for i := range b.c.Changed {
		if ws := b.c.Changed[i].When.Windows; len(ws) > 0 {
			turns = append(turns, ws[0].Middle())
		}
	}
	rest := 1 - beganBefore
	if turns = b.within(turns, 3); len(turns) > 0 {
		rest -= beganWithTurn
		for _, at := range turns {
			list = append(list, onset{at, beganWithTurn / float64(len(turns))})
		}
	}
	cuts := []int64{b.base.From}
	for i := range b.c.Sensed {
		if ws := b.c.Sensed[i].When.Windows; len(ws) > 0 {
			if after := ws[0].To + 2*calendar.Minute; after > b.base.From && after < b.base.To {
				cuts = append(cuts, after)
			}
		}
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	for len(cuts) > mostOnsets-len(list) {
		// The shortest stretch goes to the one before it.
		least := 1
		for i := range cuts[1:] {
			if cuts[i+1]-cuts[i] < cuts[least]-cuts[least-1] {
				least = i + 1
			}
		}
		cuts = slices.Delete(cuts, least, least+1)
	}
	for i, at := range cuts {
		end := b.base.To
		if i+1 < len(cuts) {
			end = cuts[i+1]
		}
		list = append(list, onset{at, rest * float64(end-at) / float64(b.base.To-b.base.From)})
	}
	slices.SortStableFunc(list, func(a, b onset) int { return cmp.Compare(a.at, b.at) })
	// What begins twice at one instant begins there once.
	merged := list[:1]
	for _, o := range list[1:] {
		if last := &merged[len(merged)-1]; o.at == last.at {
			last.share += o.share
			continue
		}
		merged = append(merged, o)
	}
	b.began = merged
	return merged
}

// since words an onset.
func (b *builder) since(o onset) string {
	if o.at <= b.base.From {
		return "all the time"
	}
	return "since " + clockWords(b.c.Zone, o.at)
}

// switchings returns the instants at which a channel's relay moves in the account.
func (b *builder) switchings(c spec.Channel) []int64 {
	var at []int64
	for _, ch := range b.h.Changes(replay.SignalLane(spec.Signal(c))) {
		at = append(at, ch.At)
	}
	return at
}

// from returns the world with every phase changed from an instant on; where that lies within a phase, the phase is split.
func from(w replay.World, at int64, change func(*replay.Phase)) replay.World {
	phases := make([]replay.Phase, 0, len(w.Phases)+1)
	for i := range w.Phases {
		p := w.Phases[i]
		begins := p.From
		if i == 0 {
			begins = w.From
		}
		if begins >= at {
			change(&p)
			phases = append(phases, p)
			continue
		}
		phases = append(phases, p)
		if i+1 < len(w.Phases) && w.Phases[i+1].From <= at {
			continue
		}
		split := p
		split.From, split.Start = at, nil
		change(&split)
		phases = append(phases, split)
	}
	w.Phases = phases
	return w
}

// input returns the world with an input more.
func input(w replay.World, at int64, in spec.Input) replay.World {
	return w.Add(replay.Act{At: at, Input: in, Claim: -1})
}

// named returns a word for a channel.
func named(c spec.Channel) string {
	if c == spec.HW {
		return "hot water"
	}
	return "heating"
}

// short returns the channel's short name, for ids.
func short(c spec.Channel) string {
	if c == spec.HW {
		return "hw"
	}
	return "ch"
}
