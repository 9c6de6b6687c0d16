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
	units map[uint64]*emulator.Unit // by tables and modes, which a unit takes longest to be put into
	fw    *firmware                 // nil: the emulator alone

	// The state under way, as it is and as the unit is that has come to it.
	start sheet
	unit  *emulator.Unit

	// What becomes of it.
	trial   emulator.Unit
	apart   emulator.Parts // in which it may be another than the unit
	after   sheet
	step    step
	unmoved bool // it is in every bit as it was

	seen        sheet // a state that is new
	before      sheet // between two inputs of one letter
	was, once   emulator.Unit
	changes     []spec.Change
	found       candidates // of the states under way, in order
	transitions uint64
	pruned      uint64
	problem     *problem // the first
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
	lanes    [lanes]candidates
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
		it.lanes[i].clear()
	}
	w.problem = nil
	w.found.clear()
	// The item is left alone meanwhile: its neighbours, which other workers have, lie in the same lines of memory.
	shard, to := place(it.shard), it.to
	var err error
	for i := it.from; i < to && err == nil && w.problem == nil; i++ {
		err = w.from(ctx, place(i)<<shardBits|shard)
		if len(w.found.list) >= together {
			w.sift(it)
		}
	}
	w.sift(it)
	it.problem, it.err = w.problem, err
}

// sift puts what has been found and not been seen before into an item's lanes. A state that is broken comes before what is broken on the way to
// a later one.
func (w *worker) sift(it *item) {
	w.s.store.fresh(&w.found, func(i int) bool {
		c := &w.found.list[i]
		w.names.unpack(&c.state, &w.seen)
		if inv := w.s.checklist.brokenIn(&w.s.bounds.ICS, &w.seen.Facts, &w.step); inv != nil {
			w.problem = &problem{at: c.parent, letter: int(c.letter), invariant: inv}
			return false
		}
		it.lanes[laneOf(c.hash)].add(&w.found, i)
		return true
	})
	w.found.clear()
}

// from goes on from one state.
func (w *worker) from(ctx context.Context, p place) error {
	e := w.s.store.at(p)
	w.names.unpack(&e.state, &w.start)
	if w.start.ClockSet && w.s.beyond(w.start.UTC) {
		w.pruned++
		return nil
	}
	key := uint64(e.state.tables())<<16 | uint64(w.start.Channels[spec.HW].Mode)<<8 | uint64(w.start.Channels[spec.CH].Mode)
	u := w.units[key]
	if u == nil {
		if len(w.units) >= maxUnits {
			clear(w.units)
		}
		u = new(emulator.Unit)
		*u = w.s.fresh
		w.units[key] = u
		u.Restore(&w.start.Facts)
	} else {
		u.RestoreMoment(&w.start.Facts)
	}
	w.unit = u
	w.apart = emulator.AllParts
	if w.fw != nil {
		w.fw.enter(e.root, w.s.store.leaf(p), &w.start.Facts)
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
	w.trial.Become(w.unit, w.apart)
	w.apart = 0
	var broken *Invariant
	if kind < 0 {
		if w.fw != nil {
			w.fw.begin(w.s.requests[l])
		}
		broken = w.inputs(w.s.bounds.Letters[l].Inputs)
	} else {
		broken = w.pass(seconds)
	}
	if broken != nil {
		w.problem = &problem{at: p, letter: l, invariant: broken}
		return nil
	}
	w.transitions++
	root, memory := e.root, uint64(0)
	moved := !w.unmoved
	if w.fw != nil {
		taken, departure, err := w.fw.end(ctx)
		if err != nil {
			return err
		}
		if departure != nil {
			w.problem = &problem{at: p, letter: l, departure: departure}
			return nil
		}
		root, memory = taken.root.name, taken.hash
		moved = moved || !taken.same
	}
	if !moved {
		return nil
	}
	n := len(w.found.list)
	w.found.list = append(w.found.list, candidate{})
	c := &w.found.list[n]
	c.state, c.root, c.parent, c.letter = e.state, root, p, uint16(l)
	if !w.unmoved {
		canonical(&w.after.Facts, w.s.shift)
		w.names.pack(&w.after, &c.state)
		if c.state.is(&e.state) && (w.fw == nil || w.fw.image.taken.same) {
			w.found.list = w.found.list[:n]
			return nil
		}
	}
	c.hash = c.state.hash() ^ memory
	if w.fw != nil {
		w.found.leaves = append(w.found.leaves, w.fw.image.taken.apart)
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
	if w.start.ClockSet && w.s.beyond(w.start.UTC+int64(seconds)) || w.s.shift == exact && next > maxElapsed {
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
		if broken := w.do(was, &before.Facts, &inputs[i]); broken != nil {
			return broken
		}
	}
	return nil
}

// do gives an input to the unit on trial and checks what comes of it. The unit was, and its facts were before, as given.
func (w *worker) do(was *emulator.Unit, before *emulator.Facts, in *spec.Input) *Invariant {
	u := &w.trial
	s := &w.step
	s.reply, w.changes = u.Give(in, w.changes[:0])
	if w.s.tamper != nil {
		w.s.tamper(u, before, in, &s.reply)
	}
	s.ics, s.input, s.seconds, s.changes = &w.s.bounds.ICS, in, 0, w.changes
	s.before, s.after, s.asked = before, before, false
	apart := u.Apart(was)
	s.tables = apart&emulator.Tables == 0
	s.same = len(w.changes) == 0 && apart == 0
	if !s.same {
		w.apart |= apart
		w.unmoved = false
		w.ask()
		s.after = &w.after.Facts
	}
	if in.Kind == spec.Reset && s.reply.Outcome == spec.Accepted {
		// What changed nothing once changes nothing again.
		s.again = s.same
		if !s.same {
			w.once.Become(u, emulator.Moment)
			_, more := u.Give(in, nil)
			s.again = len(more) == 0 && u.Apart(&w.once) == 0
		}
	}
	if w.fw != nil {
		w.fw.note(s.reply.Outcome, w.changes)
	}
	return w.broken()
}

// pass lets time pass and checks what comes of it.
func (w *worker) pass(seconds uint64) *Invariant {
	u := &w.trial
	s := &w.step
	w.changes = u.Advance(seconds, w.changes[:0])
	if w.s.tamper != nil {
		w.s.tamper(u, &w.start.Facts, nil, nil)
	}
	w.apart = u.Apart(w.unit)
	w.unmoved = false
	w.ask()
	s.tables = w.apart&emulator.Tables == 0
	s.ics, s.input, s.seconds, s.changes = &w.s.bounds.ICS, nil, seconds, w.changes
	s.before, s.after, s.asked = &w.start.Facts, &w.after.Facts, false
	if w.fw != nil {
		w.fw.wait(seconds, w.changes)
	}
	return w.broken()
}

// ask asks the unit on trial for its facts.
func (w *worker) ask() {
	if w.apart&emulator.Tables != 0 {
		w.trial.FactsTo(&w.after.Facts)
		w.names.name(&w.after)
		return
	}
	w.names.fill(&w.after, w.start.tables)
	w.trial.MomentTo(&w.after.Facts)
}

// broken returns the first invariant that the step breaks, or the state to which it leads; nil: none. Whether the state does is asked only
// where the step does: otherwise it is looked at when it turns out to be new.
func (w *worker) broken() *Invariant {
	c := w.s.checklist
	inv := c.broken(&w.step)
	if inv == nil {
		return nil
	}
	state := c.brokenIn(w.step.ics, w.step.after, &step{})
	for i := range w.s.invariants {
		if first := &w.s.invariants[i]; first == inv || first == state {
			return first
		}
	}
	return inv
}
