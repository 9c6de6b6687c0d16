package faults

import (
	"strconv"
	"strings"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// Fault is one seeded fault.
type Fault struct {
	ID     string // FAMILY/short-words
	Family string // the clause family that it breaks
	Words  string // the mistake, as the firmware writer would say it who has found it
	// claims changes the full unit's statement to one of a unit that could have this fault: the choice whose rule is broken, say. nil
	// where the full unit could.
	claims func(*spec.ICS)
	// make returns the hooks of one unit; what they remember is in its closures.
	make func() hooks
	// Witness is the shortest sequence known by hand on which the faulty unit departs from a right one.
	Witness []WitnessStep
}

// WitnessStep is a line of ADAPTER.md given to a unit so many elapsed seconds after new. The last step has none: it is the end.
type WitnessStep struct {
	At uint64
	Do string
}

// witness reads steps written as "SECOND LINE", and the end as "SECOND".
func witness(steps ...string) []WitnessStep {
	list := make([]WitnessStep, len(steps))
	for i, step := range steps {
		second, line, _ := strings.Cut(step, " ")
		at, err := strconv.ParseUint(second, 10, 64)
		if err != nil {
			panic("a witness's step is SECOND LINE: " + step)
		}
		list[i] = WitnessStep{At: at, Do: line}
	}
	return list
}

// hooks are where a fault can act. Those that are nil do nothing.
type hooks struct {
	// design makes the unit another one than it claims to be.
	design func(*spec.ICS)
	// input replaces an input, in the second and before it acts. The reply is that to the last of the inputs it returns, or
	// acceptance if there is none. A unit that does not have what the input is for is not asked.
	input func(now *emulator.Facts, in spec.Input) []spec.Input
	// after changes the facts after an input has been answered, or the answer.
	after func(was, now *emulator.Facts, in spec.Input, r *spec.Reply)
	// wait says after how many seconds, at least one, passed is to be called at the latest: it is called wherever the unit itself could change.
	wait func(now *emulator.Facts) uint64
	// passed changes the facts after time has passed.
	passed func(was, now *emulator.Facts)
	// believes changes the facts from which what is shown follows, and nothing else: the unit acts as if they were so, and remembers
	// what is so.
	believes func(f *emulator.Facts)
	// show changes what is shown: the relays, the alert, the sounder. It is called once after every input and every passing of time, in that second.
	show func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level)
	// glitch changes what is shown for an instant, before what show makes of the same second.
	glitch func(was, now *emulator.Facts, levels *[spec.NumSignals]spec.Level)
	// order changes the order in which the changes from some levels to others are shown; it is given that of clause OUT-3.
	order func(from, to *[spec.NumSignals]spec.Level, order *[spec.NumSignals]spec.Signal)
}

// both returns the hooks of a unit with two faults: b acts on what a has made of things.
func both(a, b hooks) hooks {
	h := hooks{
		design: func(ics *spec.ICS) {
			for _, h := range [...]hooks{a, b} {
				if h.design != nil {
					h.design(ics)
				}
			}
		},
		input: func(now *emulator.Facts, in spec.Input) []spec.Input {
			inputs := []spec.Input{in}
			if a.input != nil {
				inputs = a.input(now, in)
			}
			if b.input == nil {
				return inputs
			}
			var replaced []spec.Input
			for _, i := range inputs {
				replaced = append(replaced, b.input(now, i)...)
			}
			return replaced
		},
		after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
			for _, h := range [...]hooks{a, b} {
				if h.after != nil {
					h.after(was, now, in, r)
				}
			}
		},
		wait: func(now *emulator.Facts) uint64 {
			wait := noWait
			for _, h := range [...]hooks{a, b} {
				if h.wait != nil {
					wait = min(wait, h.wait(now))
				}
			}
			return wait
		},
		passed: func(was, now *emulator.Facts) {
			for _, h := range [...]hooks{a, b} {
				if h.passed != nil {
					h.passed(was, now)
				}
			}
		},
		show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
			for _, h := range [...]hooks{a, b} {
				if h.show != nil {
					h.show(now, levels)
				}
			}
		},
		glitch: func(was, now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
			for _, h := range [...]hooks{a, b} {
				if h.glitch != nil {
					h.glitch(was, now, levels)
				}
			}
		},
		order: func(from, to *[spec.NumSignals]spec.Level, order *[spec.NumSignals]spec.Signal) {
			for _, h := range [...]hooks{a, b} {
				if h.order != nil {
					h.order(from, to, order)
				}
			}
		},
	}
	if a.believes != nil || b.believes != nil {
		h.believes = func(f *emulator.Facts) {
			for _, h := range [...]hooks{a, b} {
				if h.believes != nil {
					h.believes(f)
				}
			}
		}
	}
	return h
}

// noWait is what a wait hook returns that waits for nothing.
const noWait = uint64(1) << 62

// ICS returns the statement of the unit that has the fault, made from that of a full unit.
func (f *Fault) ICS() spec.ICS {
	ics := spec.FullICS()
	if f.claims != nil {
		f.claims(&ics)
	}
	return ics
}

// Unit returns a faulty unit as it left the factory, whose statement must be one that could have the fault.
func (f *Fault) Unit(ics spec.ICS) oracle.Device { return wrap(ics, f.make()) }

// wrap puts hooks round a unit.
func wrap(ics spec.ICS, h hooks) oracle.Device {
	if h.design != nil {
		h.design(&ics)
	}
	u := &unit{real: oracle.Emulator(ics).(*emulator.Unit), hooks: h}
	u.shows = u.real
	if h.believes != nil {
		u.shows = oracle.Emulator(ics).(*emulator.Unit)
	}
	return u
}

// unit is a faulty unit.
type unit struct {
	real  *emulator.Unit
	shows *emulator.Unit // where what is shown comes from: the real unit, or one that follows from what it believes
	hooks
	shown   [spec.NumSignals]spec.Level
	scratch []spec.Change
}

func (u *unit) Level(s spec.Signal) spec.Level { return u.shown[s] }

// Do gives the unit an input.
func (u *unit) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	inputs := []spec.Input{in}
	was := u.real.Facts()
	var r spec.Reply
	if u.input != nil {
		trial := *u.real
		if r, u.scratch = trial.Do(in, u.scratch[:0]); r.Outcome == spec.Unsupported {
			return r, changes
		}
		inputs, r = u.input(&was, in), spec.Reply{}
	}
	for _, i := range inputs {
		r, u.scratch = u.real.Do(i, u.scratch[:0])
	}
	if u.after != nil {
		now := u.real.Facts()
		u.after(&was, &now, in, &r)
		u.restore(&now)
	}
	return r, u.update(&was, changes)
}

// Advance lets time pass, with a stop wherever anything could change.
func (u *unit) Advance(seconds uint64, changes []spec.Change) []spec.Change {
	end := u.real.Now() + seconds
	for {
		now := u.real.Now()
		to := end
		if next, ok := u.real.Next(); ok && next < to {
			to = max(next, now)
		}
		if next, ok := u.shows.Next(); ok && next > now {
			to = min(to, next) // of what it believes, what should have come already does not come
		}
		was := emulator.Facts{}
		if u.wait != nil || u.passed != nil || u.glitch != nil {
			was = u.real.Facts()
		}
		if u.wait != nil {
			to = min(to, now+min(max(1, u.wait(&was)), noWait))
		}
		u.scratch = u.real.Advance(to-now, u.scratch[:0])
		if u.passed != nil && to > now {
			facts := u.real.Facts()
			u.passed(&was, &facts)
			u.restore(&facts)
		}
		changes = u.update(&was, changes)
		if to == end {
			if next, ok := u.real.Next(); !ok || next > end {
				return changes
			}
		}
	}
}

// restore puts the real unit where the facts say, if that is elsewhere.
func (u *unit) restore(f *emulator.Facts) {
	if *f == u.real.Facts() {
		return
	}
	u.real.Restore(f)
	u.scratch = u.real.Settle(u.scratch[:0])
}

// update shows what has changed since the last time.
func (u *unit) update(was *emulator.Facts, changes []spec.Change) []spec.Change {
	if u.believes != nil {
		facts := u.real.Facts()
		u.believes(&facts)
		u.shows.Restore(&facts)
		u.scratch = u.shows.Settle(u.scratch[:0])
	}
	var levels [spec.NumSignals]spec.Level
	for s := range levels {
		levels[s] = u.shows.Level(spec.Signal(s))
	}
	if u.show == nil && u.glitch == nil {
		return u.reveal(levels, changes)
	}
	now := u.real.Facts()
	if u.show != nil {
		u.show(&now, &levels)
	}
	if u.glitch != nil {
		first := levels
		u.glitch(was, &now, &first)
		changes = u.reveal(first, changes)
	}
	return u.reveal(levels, changes)
}

// reveal shows levels, in the order of clause OUT-3.
func (u *unit) reveal(levels [spec.NumSignals]spec.Level, changes []spec.Change) []spec.Change {
	order := [spec.NumSignals]spec.Signal{spec.SigHW, spec.SigCH, spec.SigAlert, spec.SigSounder}
	if levels[spec.SigHW] < u.shown[spec.SigHW] {
		order[0], order[1] = spec.SigCH, spec.SigHW
	}
	if u.order != nil {
		u.order(&u.shown, &levels, &order)
	}
	for _, s := range order {
		if levels[s] != u.shown[s] {
			u.shown[s] = levels[s]
			changes = append(changes, spec.Change{At: u.real.Now(), Signal: s, Level: levels[s]})
		}
	}
	return changes
}
