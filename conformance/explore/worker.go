package explore

import (
	"context"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// worker goes on from states; each processor has one.
type worker struct {
	s     *search
	names names
	units map[unitKey]*emulator.Unit
	fw    *firmware // nil: the emulator alone

	before, after, start emulator.Facts
	unit                 emulator.Unit // the state under way
	trial                emulator.Unit // what becomes of it
	was, twice           emulator.Unit
	changes              []spec.Change
	transitions          uint64
	pruned               uint64
	problem              *problem // the first
}

// unitKey is what a unit takes longest to be put into: tables and modes. Units that have them are kept.
type unitKey struct {
	tables uint32
	hw, ch spec.Mode
}

// maxUnits is how many units a worker keeps.
const maxUnits = 4096

// problem is a step that breaks an invariant, or on which the firmware departs.
type problem struct {
	at        place
	letter    int
	invariant *Invariant
	departure *Departure // of a firmware
}

// item is a part of a level, and what comes of it.
type item struct {
	shard      int
	from, to   uint32
	candidates [shards][]candidate
	problem    *problem
	err        error
}

// expand goes on from the states of an item. It stops at the first problem.
func (w *worker) expand(ctx context.Context, it *item) {
	for i := range it.candidates {
		it.candidates[i] = it.candidates[i][:0]
	}
	it.problem, it.err = nil, nil
	for i := it.from; i < it.to; i++ {
		p := place(i)<<shardBits | place(it.shard)
		w.problem = nil
		if it.err = w.from(ctx, p, it); it.err != nil || w.problem != nil {
			it.problem = w.problem
			return
		}
	}
}

// from goes on from one state.
func (w *worker) from(ctx context.Context, p place, it *item) error {
	e := w.s.store.at(p)
	w.s.memory.unpack(&e.state, &w.start)
	if w.start.ClockSet && w.s.beyond(w.start.UTC) {
		w.pruned++
		return nil
	}
	key := unitKey{uint32(e.state[1]), w.start.Channels[spec.HW].Mode, w.start.Channels[spec.CH].Mode}
	u := w.units[key]
	if u == nil {
		if len(w.units) >= maxUnits {
			clear(w.units)
		}
		u = new(emulator.Unit)
		*u = w.s.fresh
		w.units[key] = u
	}
	u.Restore(&w.start)
	w.unit = *u
	if w.fw != nil {
		w.fw.enter(e.root, &w.start)
	}
	for l := range w.s.letters() {
		if err := w.letter(ctx, p, e, l, it); err != nil || w.problem != nil {
			return err
		}
	}
	return nil
}

// letter does one letter of the alphabet, or lets time pass.
func (w *worker) letter(ctx context.Context, p place, e *entry, l int, it *item) error {
	w.trial = w.unit
	u := &w.trial
	kind := l - len(w.s.bounds.Letters)
	if kind < 0 {
		inputs := w.s.bounds.Letters[l].Inputs
		if w.fw != nil {
			w.fw.begin()
		}
		was, before := &w.unit, &w.start
		for i := range inputs {
			if i > 0 {
				w.was, w.before = *u, w.after
				was, before = &w.was, &w.before
			}
			w.do(u, was, before, &inputs[i], p, l)
			if w.problem != nil {
				return nil
			}
		}
	} else {
		seconds, ok := w.wait(u, kind)
		if !ok {
			return nil
		}
		if w.fw != nil {
			w.fw.begin()
		}
		w.pass(u, seconds, p, l)
		if w.problem != nil {
			return nil
		}
	}
	w.transitions++
	c := candidate{entry: entry{root: e.root, parent: p, letter: uint16(l)}}
	if w.fw != nil {
		root, departure, err := w.fw.end(ctx)
		if err != nil {
			return err
		}
		if departure != nil {
			w.problem = &problem{at: p, letter: l, departure: departure}
			return nil
		}
		c.root = root
	}
	canonical(&w.after, w.s.shift)
	c.state = w.names.pack(&w.after)
	if c.state == e.state && c.root == e.root {
		return nil
	}
	c.hash = w.s.hash(&c.entry)
	if !w.s.store.has(&c) {
		s := shardOf(c.hash)
		it.candidates[s] = append(it.candidates[s], c)
	}
	return nil
}

// wait says for how long time passes: to the next instant of change, or, if that is a full minute of the clock, to the second before it.
func (w *worker) wait(u *emulator.Unit, kind int) (seconds uint64, ok bool) {
	next, ok := u.Next()
	if !ok {
		return 0, false
	}
	seconds = next - u.Now()
	if w.start.ClockSet && w.s.beyond(w.start.UTC+int64(seconds)) {
		w.pruned++
		return 0, false
	}
	if kind == 0 {
		return seconds, true
	}
	full := w.start.ClockSet && (w.start.UTC+int64(seconds))%calendar.Minute == 0
	return seconds - 1, full && seconds > 1
}

// do gives an input and checks what comes of it. The unit was, and its facts were before, as given.
func (w *worker) do(u, was *emulator.Unit, before *emulator.Facts, in *spec.Input, p place, l int) {
	s := step{ics: &w.s.bounds.ICS, before: before, after: &w.after, input: in}
	s.reply, w.changes = u.Do(*in, w.changes[:0])
	if w.s.tamper != nil {
		w.s.tamper(u, before, in, &s.reply)
	}
	s.changes = w.changes
	w.after = u.Facts()
	if s.reply.Outcome != spec.Accepted || in.Kind == spec.SetMode {
		s.same = *u == *was
	}
	if in.Kind == spec.Reset && s.reply.Outcome == spec.Accepted {
		w.twice = *u
		_, more := w.twice.Do(*in, nil)
		s.again = w.twice == *u && len(more) == 0
	}
	w.check(&s, p, l)
	if w.fw != nil && w.problem == nil {
		w.fw.input(in, s.reply.Outcome, s.changes)
	}
}

// pass lets time pass and checks what comes of it.
func (w *worker) pass(u *emulator.Unit, seconds uint64, p place, l int) {
	s := step{ics: &w.s.bounds.ICS, before: &w.start, after: &w.after, seconds: seconds}
	w.changes = u.Advance(seconds, w.changes[:0])
	if w.s.tamper != nil {
		w.s.tamper(u, &w.start, nil, nil)
	}
	s.changes = w.changes
	w.after = u.Facts()
	w.check(&s, p, l)
	if w.fw != nil && w.problem == nil {
		w.fw.wait(seconds, s.changes)
	}
}

func (w *worker) check(s *step, p place, l int) {
	for i := range w.s.invariants {
		if inv := &w.s.invariants[i]; !inv.holds(s) {
			w.problem = &problem{at: p, letter: l, invariant: inv}
			return
		}
	}
}
