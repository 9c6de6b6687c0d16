package explore

import (
	"context"
	"errors"
	"fmt"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/wasm"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Options say how to explore; the zero value explores the emulator alone on one processor.
type Options struct {
	// Workers is how many processors are used. The result does not depend on it.
	Workers int
	// Firmware opens a unit to be explored beside the emulator, once for each worker; each must be of the same module. Its statement must be
	// that of the bounds.
	Firmware func(ctx context.Context) (*wasm.Unit, error)
	// Progress, if not nil, is told from time to time how many states there are and how deep they lie.
	Progress func(states, depth int)
}

// Result is what came of an exploration.
type Result struct {
	Bounds      Bounds
	Invariants  []Invariant // that were checked in every step
	Firmware    bool        // whether one was explored beside the emulator
	States      int         // that were seen, the first included
	Transitions uint64      // steps that were taken
	Pruned      uint64      // steps that were not taken, for they lead past the horizon
	Depth       int         // of the state that takes most steps to come to
	// Complete is set if every state within the bounds was seen, and every step from it. It is not after a counterexample, an interruption, or
	// with more states than may be kept; Stopped says which.
	Complete bool
	Stopped  string

	Counterexample *Counterexample
}

// Counterexample is a shortest way to something that should not be.
type Counterexample struct {
	Steps []Step
	// Invariant is what the emulator breaks; nil if the firmware departs from the emulator, and then Departure says how.
	Invariant *Invariant
	Departure *Departure
	// Vector is the vector file that shows a firmware's departure, File where it has been written, and Again the command that puts it to the
	// firmware. They are the caller's to set; see [Vector].
	Vector      []byte
	File, Again string
}

// Step is one thing done to the unit.
type Step struct {
	At     uint64       // elapsed second
	Inputs []spec.Input // none: time passes
	Wait   uint64       // seconds
}

// search is one exploration.
type search struct {
	bounds     Bounds
	invariants []Invariant
	checklist  *checklist
	shift      shifting
	origin     int64 // UTC at the start
	memory     *memory
	forest     *forest         // nil: the emulator alone
	requests   [][]iut.Request // of each letter, to a firmware
	store      store
	first      place
	fresh      emulator.Unit // as it is there
	// tamper, in tests, spoils a unit after a step; an input that is nil is the passing of time.
	tamper func(u *emulator.Unit, before *emulator.Facts, in *spec.Input, reply *spec.Reply)
}

// restart is where a clock that has been lost begins anew (PWR-11).
var restart = int64(calendar.Days(2001, 1, 1)) * calendar.Day

// beyond reports whether a clock is past the horizon, from the start or from where a clock that has been lost restarts.
func (s *search) beyond(utc int64) bool {
	if s.bounds.Horizon == 0 {
		return false
	}
	origin := s.origin
	if utc < origin-calendar.Week {
		origin = restart
	}
	return utc > origin+int64(s.bounds.Horizon)
}

// The letters after those of the bounds let time pass: to the next instant of change, and to the second before it.
func (s *search) letters() int { return len(s.bounds.Letters) + 2 }

func (s *search) hash(e *entry, leaf *node) uint64 {
	h := e.state.hash()
	if leaf != nil {
		h ^= s.forest.hash(e.root) ^ leaf.hash()
	}
	return h
}

// A level is gone through in blocks of items. A block's candidates wait until all of them are there, so that with a large alphabet it has
// fewer items.
const (
	itemStates     = 256
	blockItems     = 128
	blockSuccessor = 1 << 20
)

// Run explores. An error is bounds that cannot be explored or a firmware that cannot be opened; the end of ctx is none, but a result that is
// not complete.
func Run(ctx context.Context, b Bounds, o Options) (*Result, error) {
	return run(ctx, b, o, nil)
}

func run(ctx context.Context, b Bounds, o Options, tamper func(*emulator.Unit, *emulator.Facts, *spec.Input, *spec.Reply)) (*Result, error) {
	if err := b.check(); err != nil {
		return nil, err
	}
	if b.States == 0 {
		b.States = DefaultStates
	}
	start, err := b.start()
	if err != nil {
		return nil, err
	}
	s := &search{bounds: b, invariants: Invariants(), shift: b.shift(), memory: newMemory(), fresh: start, tamper: tamper}
	s.checklist = newChecklist(s.invariants)
	facts := start.Facts()
	s.origin = facts.UTC
	workers := make([]*worker, max(1, o.Workers))
	for i := range workers {
		workers[i] = &worker{s: s, names: newNames(s.memory), units: map[uint64]*emulator.Unit{}, trial: start, once: start}
	}
	first := candidates{list: make([]candidate, 1)}
	e := &first.list[0].entry
	if o.Firmware != nil {
		s.forest = newForest()
		for _, l := range b.Letters {
			s.requests = append(s.requests, appendInputs(nil, l.Inputs))
		}
		// What the firmware's clock and its count of seconds are is in its memory.
		s.shift = exact
		if b.Horizon == 0 {
			return nil, errors.New("a firmware needs a horizon: its clock is in its memory")
		}
		probe, err := o.Firmware(ctx)
		if err != nil {
			return nil, err
		}
		layout, err := s.layout(ctx, probe)
		if err != nil {
			return nil, err
		}
		for _, w := range workers {
			u, err := probe.OpenAgain(ctx) // it has been compiled
			if err != nil {
				return nil, err
			}
			defer u.Close()
			if w.fw, err = newFirmware(ctx, &s.bounds, u); err != nil {
				return nil, err
			}
			w.fw.image = newImage(s.forest, layout, w.fw.live)
		}
		image := workers[0].fw.image
		e.root, first.leaves = image.root.name, []node{image.apart}
	}
	canonical(&facts, s.shift)
	sheet := sheet{Facts: facts}
	workers[0].names.name(&sheet)
	workers[0].names.pack(&sheet, &e.state)
	hash := s.hash(e, first.leaf(0))
	first.list[0].hash = hash
	s.first = place(shardOf(hash))
	s.store.add(&first, s.hash)

	r := &Result{Bounds: b, Invariants: s.invariants, Firmware: o.Firmware != nil}
	if inv := s.checklist.brokenIn(&b.ICS, &facts, &step{}); inv != nil {
		r.found(&Counterexample{Invariant: inv})
	} else {
		crew := newCrew(workers)
		defer crew.end()
		err = s.levels(ctx, crew, o.Progress, r)
	}
	r.States = s.store.size()
	for _, w := range workers {
		r.Transitions += w.transitions
		r.Pruned += w.pruned
	}
	return r, err
}

// levels goes through the states in the order of their distance from the start.
func (s *search) levels(ctx context.Context, crew *crew, progress func(states, depth int), r *Result) error {
	var from, to [shards]uint32
	items := make([]item, max(1, min(blockItems, blockSuccessor/(itemStates*s.letters()))))
	for {
		for i := range to {
			to[i] = s.store.shards[i].n
		}
		if from == to {
			r.Complete = true
			return nil
		}
		seen := s.store.size()
		sh, at := 0, from[0]
		for sh < shards {
			block := items[:0]
			for len(block) < len(items) && sh < shards {
				if at == to[sh] {
					if sh++; sh < shards {
						at = from[sh]
					}
					continue
				}
				n := min(itemStates, to[sh]-at)
				block = block[:len(block)+1]
				it := &block[len(block)-1]
				it.shard, it.from, it.to = sh, at, at+n
				at += n
			}
			if err := s.block(ctx, crew, block); err != nil {
				return err
			}
			if ctx.Err() != nil {
				r.Stopped = "it was interrupted"
				return nil
			}
			for i := range block {
				if p := block[i].problem; p != nil {
					r.found(s.counterexample(p))
					return nil
				}
			}
			if n := s.store.size(); n > s.bounds.States {
				r.Stopped = fmt.Sprintf("there are more than %d states", s.bounds.States)
				return nil
			}
			if progress != nil {
				progress(s.store.size(), r.Depth)
			}
		}
		from = to
		if s.store.size() > seen {
			r.Depth++
		}
	}
}

// layout tries on a firmware, and closes it, what such firmware remembers where.
func (s *search) layout(ctx context.Context, u *wasm.Unit) (*layout, error) {
	defer u.Close()
	w, err := newFirmware(ctx, &s.bounds, u)
	if err != nil {
		return nil, err
	}
	return w.layout(ctx, &s.bounds)
}

func (r *Result) found(c *Counterexample) {
	r.Stopped, r.Counterexample = "a counterexample was found", c
}

// block goes on from the states of some items and keeps those that are new. What is kept, and where, depends on the items alone.
func (s *search) block(ctx context.Context, crew *crew, block []item) error {
	crew.each(len(block), func(w *worker, i int) { w.expand(ctx, &block[i]) })
	for i := range block {
		if block[i].problem != nil {
			return nil
		}
		if block[i].err != nil && ctx.Err() == nil {
			return block[i].err
		}
	}
	if ctx.Err() != nil {
		return nil
	}
	crew.each(lanes, func(_ *worker, lane int) {
		for i := range block {
			s.store.add(&block[i].lanes[lane], s.hash)
		}
	})
	return nil
}

// counterexample returns the way to a problem, on a unit whose days have not been shifted.
func (s *search) counterexample(p *problem) *Counterexample {
	letters := []int{p.letter}
	for at := p.at; at != s.first; {
		e := s.store.at(at)
		letters = append(letters, int(e.letter))
		at = e.parent
	}
	c := &Counterexample{Invariant: p.invariant, Departure: p.departure}
	u := s.fresh
	w := worker{s: s}
	for i := len(letters) - 1; i >= 0; i-- {
		l := letters[i]
		before := u.Facts()
		w.start.Facts = before
		if kind := l - len(s.bounds.Letters); kind >= 0 {
			seconds, _ := w.wait(&u, kind)
			c.Steps = append(c.Steps, Step{At: u.Now(), Wait: seconds})
			u.Advance(seconds, nil)
			s.spoil(&u, &before, nil)
			continue
		}
		days := canonical(&before, s.shift)
		step := Step{At: u.Now()}
		for _, in := range s.bounds.Letters[l].Inputs {
			if in.Kind == spec.SetClock {
				year, month, day := calendar.Date(calendar.Days(int(in.Date.Year), int(in.Date.Month), int(in.Date.Day)) + days)
				in.Date = spec.Date{Year: uint16(year), Month: uint8(month), Day: uint8(day)}
			}
			was := u.Facts()
			u.Do(in, nil)
			s.spoil(&u, &was, &in)
			step.Inputs = append(step.Inputs, in)
		}
		c.Steps = append(c.Steps, step)
	}
	return c
}

func (s *search) spoil(u *emulator.Unit, before *emulator.Facts, in *spec.Input) {
	if s.tamper != nil {
		s.tamper(u, before, in, &spec.Reply{})
	}
}
