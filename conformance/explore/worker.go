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

	// The state under way, as it is and as the unit is that has come to it.
	start emulator.Facts
	unit  *emulator.Unit

	// What becomes of it.
	trial   emulator.Unit
	after   emulator.Facts
	step    step
	unmoved bool // it is in every bit as it was

	before      emulator.Facts // between two inputs of one letter
	was, twice  emulator.Unit
	changes     []spec.Change
	list        []candidate // of the state under way
	transitions uint64
	pruned      uint64
	problem     *problem // the first
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
	shard    int
	from, to uint32
	lanes    [lanes][]candidate
	problem  *problem
	err      error
}

// Candidates are parted by where they are to be kept, so that each lane can be kept apart from the others.
const (
	laneBits = 3
	lanes    = 1 << laneBits
)

func laneOf(hash uint64) int { return int(hash >> (64 - laneBits)) }

// expand goes on from the states of an item. It stops at the first problem.
func (w *worker) expand(ctx context.Context, it *item) {
	for i := range it.lanes {
		it.lanes[i] = it.lanes[i][:0]
	}
	it.problem, it.err = nil, nil
	for i := it.from; i < it.to; i++ {
		p := place(i)<<shardBits | place(it.shard)
		w.problem = nil
		it.err = w.from(ctx, p)
		w.s.store.fresh(w.list, func(c *candidate) {
			// A state comes before what is broken on the way to a later one.
			if w.problem == nil || int(c.letter) < w.problem.letter {
				w.names.unpack(&c.state, &w.after)
				if inv := w.s.checklist.brokenIn(&w.s.bounds.ICS, &w.after); inv != nil {
					w.problem = &problem{at: p, letter: int(c.letter), invariant: inv}
				}
			}
			lane := laneOf(c.hash)
			it.lanes[lane] = append(it.lanes[lane], *c)
		})
		if it.err != nil || w.problem != nil {
			it.problem = w.problem
			return
		}
	}
}

// from goes on from one state.
func (w *worker) from(ctx context.Context, p place) error {
	w.list = w.list[:0]
	e := w.s.store.at(p)
	w.names.unpack(&e.state, &w.start)
	if w.start.ClockSet && w.s.beyond(w.start.UTC) {
		w.pruned++
		return nil
	}
	key := unitKey{e.state.tables(), w.start.Channels[spec.HW].Mode, w.start.Channels[spec.CH].Mode}
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
	w.unit = u
	if w.fw != nil {
		w.fw.enter(e.root, &w.start)
	}
	for l := range w.s.letters() {
		if err := w.letter(ctx, p, e, l); err != nil || w.problem != nil {
			return err
		}
	}
	return nil
}

// letter does one letter of the alphabet, or lets time pass.
func (w *worker) letter(ctx context.Context, p place, e *entry, l int) error {
	kind := l - len(w.s.bounds.Letters)
	seconds := uint64(0)
	if kind >= 0 {
		var ok bool
		if seconds, ok = w.wait(w.unit, kind); !ok {
			return nil
		}
	}
	if w.fw != nil {
		w.fw.begin()
	}
	w.trial = *w.unit
	var broken *Invariant
	if kind < 0 {
		broken = w.inputs(w.s.bounds.Letters[l].Inputs)
	} else {
		broken = w.pass(seconds)
	}
	if broken != nil {
		w.problem = &problem{at: p, letter: l, invariant: broken}
		return nil
	}
	w.transitions++
	root := named{name: e.root}
	if w.fw != nil {
		var departure *Departure
		var err error
		if root, departure, err = w.fw.end(ctx); err != nil {
			return err
		}
		if departure != nil {
			w.problem = &problem{at: p, letter: l, departure: departure}
			return nil
		}
	}
	if w.unmoved && root.name == e.root {
		return nil
	}
	c := candidate{entry: entry{state: e.state, root: root.name, parent: p, letter: uint16(l)}}
	if !w.unmoved {
		canonical(&w.after, w.s.shift)
		c.state = w.names.pack(&w.after)
		if c.state == e.state && root.name == e.root {
			return nil
		}
	}
	c.hash = c.state.hash() ^ root.hash
	w.list = append(w.list, c)
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

// inputs gives the inputs of a letter, and returns what they break.
func (w *worker) inputs(inputs []spec.Input) *Invariant {
	w.unmoved = true
	was, before := w.unit, &w.start
	for i := range inputs {
		if i > 0 {
			w.was = w.trial
			was = &w.was
			if !w.unmoved {
				w.before = w.after
				before = &w.before
			}
		}
		if broken := w.do(was, before, &inputs[i]); broken != nil {
			return broken
		}
	}
	return nil
}

// do gives an input to the unit on trial and checks what comes of it. The unit was, and its facts were before, as given.
func (w *worker) do(was *emulator.Unit, before *emulator.Facts, in *spec.Input) *Invariant {
	u := &w.trial
	s := &w.step
	s.reply, w.changes = u.Do(*in, w.changes[:0])
	if w.s.tamper != nil {
		w.s.tamper(u, before, in, &s.reply)
	}
	s.ics, s.input, s.seconds, s.changes = &w.s.bounds.ICS, in, 0, w.changes
	s.before, s.after = before, before
	s.same = len(w.changes) == 0 && *u == *was
	if !s.same {
		w.unmoved = false
		u.FactsTo(&w.after)
		s.after = &w.after
	}
	if in.Kind == spec.Reset && s.reply.Outcome == spec.Accepted {
		w.twice = *u
		_, more := w.twice.Do(*in, nil)
		s.again = w.twice == *u && len(more) == 0
	}
	if w.fw != nil {
		w.fw.input(in, s.reply.Outcome, w.changes)
	}
	return w.broken()
}

// pass lets time pass and checks what comes of it.
func (w *worker) pass(seconds uint64) *Invariant {
	u := &w.trial
	s := &w.step
	w.changes = u.Advance(seconds, w.changes[:0])
	if w.s.tamper != nil {
		w.s.tamper(u, &w.start, nil, nil)
	}
	w.unmoved = false
	u.FactsTo(&w.after)
	s.ics, s.input, s.seconds, s.changes = &w.s.bounds.ICS, nil, seconds, w.changes
	s.before, s.after = &w.start, &w.after
	if w.fw != nil {
		w.fw.wait(seconds, w.changes)
	}
	return w.broken()
}

// broken returns the first invariant that the step breaks, or the state to which it leads; nil: none. Whether the state does is asked only
// where the step does: otherwise it is looked at when it turns out to be new.
func (w *worker) broken() *Invariant {
	c := w.s.checklist
	inv := c.broken(&w.step)
	if inv == nil {
		return nil
	}
	state := c.brokenIn(w.step.ics, w.step.after)
	for i := range w.s.invariants {
		if first := &w.s.invariants[i]; first == inv || first == state {
			return first
		}
	}
	return inv
}
