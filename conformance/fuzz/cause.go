package fuzz

import (
	"context"
	"slices"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// cause is a guess at what is behind a failure. Two failures that one guess predicts to the second, and to the order, are told as one, however
// they differ in clauses and inputs.
type cause struct {
	design int // from 1: the unit is another one than it states, of those that differ in one option; else
	// after every step of a sort it slips on one thing in one way.
	after sort
	slip  mistake
}

// designs returns oracles for the units that differ from a statement in one option.
func designs(ics *spec.ICS) (list []*oracle) {
	add := func(other spec.ICS) {
		if other == *ics || other.Validate() != nil {
			return
		}
		if o, err := newOracle(other); err == nil {
			list = append(list, o)
		}
	}
	for _, name := range wire.OptionNames() {
		for _, word := range wire.OptionWords(name) {
			other := *ics
			if wire.SetOption(&other, name, word) == nil {
				add(other)
			}
		}
	}
	for _, zone := range [...]int16{0, -ics.Zone, ics.Zone / 60 * 60} {
		other := *ics
		other.Zone = zone
		add(other)
	}
	return list
}

// pieces lets time pass with a stop wherever something may happen after which a unit slips. It calls stopped with the facts before each
// piece, and how many changes there were.
func (o *oracle) pieces(seconds uint64, stopped func(was *emulator.Facts, from int)) {
	for end := o.unit.Now() + seconds; o.unit.Now() < end; {
		was := o.unit.Facts()
		to := end
		if next, ok := o.unit.Next(); ok {
			to = min(to, max(next, was.Now+1))
		}
		if _, second, ok := o.unit.Reading(); ok {
			to = min(to, was.Now+uint64(calendar.Day-second))
		}
		from := len(o.changes)
		o.changes = o.unit.Advance(to-was.Now, o.changes)
		stopped(&was, from)
	}
	o.answers = append(o.answers, answer{changes: len(o.changes)})
}

// behave predicts what a unit does that slips.
func (o *oracle) behave(c cause, script iut.Script) {
	for i := range script {
		switch r := &script[i]; r.Kind {
		case iut.New:
			o.begin()
		case iut.Do:
			was, from := o.unit.Facts(), len(o.changes)
			reply := o.do(r.Input)
			o.err(c, o.sortOf(r, reply, nil, nil), &was, channelFor(r), from)
			o.answers[len(o.answers)-1].changes = len(o.changes)
		case iut.Go:
			o.pieces(r.Seconds, func(was *emulator.Facts, from int) {
				now := o.unit.Facts()
				o.err(c, o.sortOf(r, spec.Reply{}, was, &now), was, spec.HW, from)
			})
		}
	}
}

// err makes the unit slip if the step just done was of the cause's sort. What it shows in that second, the changes from a number on, follows
// from what it then remembers.
func (o *oracle) err(c cause, s sort, was *emulator.Facts, own spec.Channel, from int) {
	if s != c.after {
		return
	}
	now := o.unit.Facts()
	if o.perturb(c.slip.slip(), own, was, &now) != c.slip.way() {
		return
	}
	now.Shown = was.Shown
	o.unit.Restore(&now)
	o.changes = o.unit.Settle(o.changes[:from])
}

// sorts returns the sorts of a script's steps.
func (o *oracle) sorts(script iut.Script) (list []sort) {
	note := func(s sort) {
		if !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	o.begin()
	for i := range script {
		switch r := &script[i]; r.Kind {
		case iut.Do:
			note(o.sortOf(r, o.do(r.Input), nil, nil))
		case iut.Go:
			o.pieces(r.Seconds, func(was *emulator.Facts, _ int) {
				now := o.unit.Facts()
				note(o.sortOf(r, spec.Reply{}, was, &now))
			})
		}
	}
	return list
}

// suspect returns the guesses that explain a finding.
func (c *Campaign) suspect(ctx context.Context, f *Finding) (list []cause, err error) {
	if f.Trouble != nil {
		return nil, nil
	}
	var seen *iut.Observation
	err = c.unit.Run(ctx, []iut.Script{f.Script}, func(_ int, o *iut.Observation) { seen = keep(o) })
	if err != nil {
		return nil, err
	}
	if c.designs == nil {
		c.designs = designs(&c.ics)
	}
	for i, o := range c.designs {
		if o.play(f.Script); o.same(seen) {
			list = append(list, cause{design: i + 1})
		}
	}
	for _, s := range c.judge.sorts(f.Script) {
		for m := range mistake(numMistakes) {
			g := cause{after: s, slip: m}
			if m.way() == noWay {
				continue
			}
			if c.judge.behave(g, f.Script); c.judge.same(seen) {
				list = append(list, g)
			}
		}
	}
	return list, nil
}

// common returns what two lists of causes have in common.
func common(a, b []cause) (both []cause) {
	for _, c := range a {
		if slices.Contains(b, c) {
			both = append(both, c)
		}
	}
	return both
}
