package explore

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"example.org/hearthbench/conformance/fuzz"
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/wasm"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// firmware is a worker's unit under test, which is put into the state that goes with the emulator's and asked the same.
type firmware struct {
	unit    *wasm.Unit
	image   *image // of the state under way
	inPlace wasm.InPlace
	live    [][]byte
	facts   *emulator.Facts // of the emulator

	requests []iut.Request
	waits    []iut.Request  // where they are made of the passing of time
	outcomes []spec.Outcome // that the emulator gave; a wait's is Accepted
	ends     []int          // how many of the emulator's changes there were up to each request
	changes  []spec.Change  // the emulator's
}

// newFirmware brings a unit to where the exploration starts.
func newFirmware(ctx context.Context, b *Bounds, u *wasm.Unit) (*firmware, error) {
	if u.ICS() != b.ICS {
		return nil, fmt.Errorf("%s has another conformance statement than the bounds", u.Describe())
	}
	requests := b.script()
	obs, err := u.Ask(ctx, requests)
	if err != nil {
		return nil, err
	}
	if obs.Trouble != nil {
		return nil, obs.Trouble
	}
	for i, a := range obs.Answers {
		if a.Outcome != spec.Accepted {
			return nil, fmt.Errorf("%s does not accept '%s', which is given", u.Describe(), requests[i].Append(nil))
		}
	}
	w := &firmware{unit: u}
	return w, w.look(nil)
}

// script is what brings a unit to where the exploration starts.
func (b *Bounds) script() iut.Script {
	script := iut.Script{{Kind: iut.New}}
	for _, l := range b.Given {
		script = appendInputs(script, l.Inputs)
	}
	return script
}

// look makes live what the unit's state is now. Mostly it lies where it was. Unless was is nil, its parts must still be of these sizes.
func (w *firmware) look(was []int) error {
	moved, err := w.unit.InPlace(&w.inPlace)
	if err != nil || !moved {
		return err
	}
	w.live = append(append(w.live[:0], w.inPlace.Memory...), w.inPlace.Globals)
	if sizes := w.sizes(); was != nil && !slices.Equal(sizes, was) {
		return fmt.Errorf("%s: its memory has parts of %d bytes now, which were %d; memory that grows cannot be put back", w.unit.Describe(), sizes, was)
	}
	return nil
}

// sizes are those of the parts of the state.
func (w *firmware) sizes() (sizes []int) {
	for _, part := range w.live {
		sizes = append(sizes, len(part))
	}
	return sizes
}

// probes is how often every letter is tried to see what of the state changes.
const probes = 20

// layout tries what a firmware remembers where, which leaves it in another state.
func (w *firmware) layout(ctx context.Context, b *Bounds) (*layout, error) {
	sizes := w.sizes()
	changed := map[leaf]int{}
	before := newLayout(sizes, func(leaf) int { return 0 })
	requests := []iut.Request{{Kind: iut.Go, Seconds: 1}, {Kind: iut.Go, Seconds: 10 * calendar.Minute}}
	for _, l := range b.Letters {
		requests = appendInputs(requests, l.Inputs)
	}
	image := newImage(newForest(), before, w.live)
	for range probes {
		for i := range requests {
			obs, err := w.unit.Ask(ctx, requests[i:i+1])
			if err != nil {
				return nil, err
			}
			if obs.Trouble != nil {
				return newLayout(sizes, func(l leaf) int { return changed[l] }), nil
			}
			if err := w.look(sizes); err != nil {
				return nil, err
			}
			image.compare(w.live)
			for _, id := range image.dirty {
				l := before.leaves[id]
				changed[l]++
				copy(image.parts[l.part][l.from:l.to], w.live[l.part][l.from:l.to])
			}
		}
	}
	return newLayout(sizes, func(l leaf) int { return changed[l] }), nil
}

// enter makes a state of the firmware, and what it shows, the one under way.
func (w *firmware) enter(root uint32, apart *node, f *emulator.Facts) {
	w.image.load(root, apart, w.live)
	w.unit.SetGlobals(w.inPlace.Globals)
	w.facts = f
}

// begin begins with what is to be asked; what is to be answered is noted afterwards.
func (w *firmware) begin(requests []iut.Request) {
	w.requests, w.outcomes, w.ends, w.changes = requests, w.outcomes[:0], w.ends[:0], w.changes[:0]
}

// wait begins with the passing of time, and notes what the emulator did.
func (w *firmware) wait(seconds uint64, changes []spec.Change) {
	w.waits = appendWait(w.waits[:0], seconds)
	w.begin(w.waits)
	for range len(w.waits) - 1 {
		w.note(spec.Accepted, nil)
	}
	w.note(spec.Accepted, changes)
}

// appendWait appends the passing of time, in one request or as many as it takes.
func appendWait(to []iut.Request, seconds uint64) []iut.Request {
	for left := seconds; ; left -= wire.MaxGo {
		to = append(to, iut.Request{Kind: iut.Go, Seconds: min(left, wire.MaxGo)})
		if left <= wire.MaxGo {
			return to
		}
	}
}

// appendInputs appends inputs.
func appendInputs(to []iut.Request, inputs []spec.Input) []iut.Request {
	for _, in := range inputs {
		to = append(to, iut.Request{Kind: iut.Do, Input: in})
	}
	return to
}

// note notes what the emulator did with a request.
func (w *firmware) note(outcome spec.Outcome, changes []spec.Change) {
	w.outcomes = append(w.outcomes, outcome)
	w.changes = append(w.changes, changes...)
	w.ends = append(w.ends, len(w.changes))
}

// end asks the firmware what the emulator was asked, and returns the state that it then has, or how it departs.
func (w *firmware) end(ctx context.Context) (is *taken, d *Departure, err error) {
	if d, err := w.answers(ctx); d != nil || err != nil {
		return nil, d, err
	}
	if err := w.look(w.image.size); err != nil {
		return nil, nil, err
	}
	w.image.take(w.live)
	if w.image.lastDiffers() {
		w.unit.SetGlobals(w.inPlace.Globals)
	}
	return &w.image.taken, nil, nil
}

// answers asks, and says how the firmware departs. Mostly it does not, and then it is enough to have expected that; else it is put back and asked
// once more, to hear what it says. What it takes as text only is asked at once.
func (w *firmware) answers(ctx context.Context) (*Departure, error) {
	at, from := w.facts.Now, 0
	for i := range w.requests {
		r, end := &w.requests[i], w.ends[i]
		put, so, err := w.unit.Expect(ctx, r, at, w.outcomes[i], w.changes[from:end])
		if err != nil {
			return nil, err
		}
		if !so {
			return w.ask(ctx, put || i > 0)
		}
		at, from = at+r.Seconds, end
	}
	return nil, nil
}

// ask asks all, if need be after the firmware has been put back into the state under way.
func (w *firmware) ask(ctx context.Context, moved bool) (*Departure, error) {
	if moved {
		if err := w.putBack(ctx); err != nil {
			return nil, err
		}
	}
	w.unit.SetStanding(iut.StandingOf(w.facts.Now, w.facts.Shown, w.facts.Back.Channels))
	obs, err := w.unit.Ask(ctx, w.requests)
	if err != nil {
		return nil, err
	}
	d := w.compare(obs)
	if obs.Trouble != nil {
		err = w.putBack(ctx) // for the states that come next: what comes of them is wanted too
	}
	return d, err
}

// putBack makes the unit what the image is, whatever has become of it: after trouble nothing has, and it begins anew.
func (w *firmware) putBack(ctx context.Context) error {
	err := w.look(w.image.size)
	if errors.Is(err, wasm.ErrNoState) {
		if _, err = w.unit.Ask(ctx, []iut.Request{{Kind: iut.New}}); err == nil {
			err = w.look(w.image.size)
		}
	}
	if err != nil {
		return err
	}
	for i, part := range w.image.parts {
		copy(w.live[i], part)
	}
	w.unit.SetGlobals(w.inPlace.Globals)
	return nil
}

// compare says where the firmware departs from what the emulator did; nil: nowhere.
func (w *firmware) compare(obs *iut.Observation) *Departure {
	matched := 0
	for i, a := range obs.Answers {
		if a.Outcome != w.outcomes[i] {
			return &Departure{Request: w.requests[i], Outcome: a.Outcome, WantOutcome: w.outcomes[i]}
		}
		for ; matched < max(a.Changes, w.ends[i]); matched++ {
			var is, want *spec.Change
			if matched < a.Changes {
				is = &obs.Changes[matched]
			}
			if matched < w.ends[i] {
				want = &w.changes[matched]
			}
			if is == nil || want == nil || is.At != want.At || is.Signal != want.Signal || is.Level != want.Level {
				d := Departure{Request: w.requests[i], Change: is, WantChange: want}
				return d.own()
			}
		}
	}
	if obs.Trouble != nil {
		return &Departure{Request: w.requests[len(obs.Answers)], Trouble: obs.Trouble.Error()}
	}
	return nil
}

// Departure is how a firmware departs from what the clauses say: by its answer to a request, by a change that comes with it, or by no answer
// that could be read.
type Departure struct {
	Request              iut.Request
	Outcome, WantOutcome spec.Outcome
	Change, WantChange   *spec.Change // nil: none
	Trouble              string
}

// own makes a departure keep its changes.
func (d *Departure) own() *Departure {
	for _, c := range []**spec.Change{&d.Change, &d.WantChange} {
		if *c != nil {
			kept := **c
			*c = &kept
		}
	}
	return d
}

// String says how, in one line.
func (d *Departure) String() string {
	request := d.Request.Append(nil)
	switch {
	case d.Trouble != "":
		return fmt.Sprintf("'%s': %s", request, d.Trouble)
	case d.Change != nil && d.WantChange != nil:
		return fmt.Sprintf("'%s': '%s' comes; the clauses say '%s' (%s)", request, wire.AppendChange(nil, *d.Change), wire.AppendChange(nil, *d.WantChange), d.WantChange.By)
	case d.Change != nil:
		return fmt.Sprintf("'%s': '%s' comes, and by the clauses nothing does", request, wire.AppendChange(nil, *d.Change))
	case d.WantChange != nil:
		return fmt.Sprintf("'%s': '%s' should come (%s), and does not", request, wire.AppendChange(nil, *d.WantChange), d.WantChange.By)
	default:
		return fmt.Sprintf("'%s' is answered '%s'; the clauses say '%s'", request, wire.OutcomeWord(d.Outcome), wire.OutcomeWord(d.WantOutcome))
	}
}

// Script is the counterexample, from new on.
func (c *Counterexample) Script(b *Bounds) iut.Script {
	script := b.script()
	for i := range c.Steps {
		if s := &c.Steps[i]; len(s.Inputs) > 0 {
			script = appendInputs(script, s.Inputs)
		} else {
			script = appendWait(script, s.Wait)
		}
	}
	return script
}

// Vector puts a counterexample to a fresh firmware as a vector, by the runner of 'check'. There is no finding if it does not fail there.
func Vector(ctx context.Context, b *Bounds, c *Counterexample, open func(context.Context) (*wasm.Unit, error)) (*fuzz.Finding, error) {
	unit, err := open(ctx)
	if err != nil {
		return nil, err
	}
	defer unit.Close()
	return fuzz.Explored(ctx, unit, c.Script(b))
}

// Confirm does a counterexample on a fresh firmware, from new on, and returns how it departs, or nil if it does not.
func Confirm(ctx context.Context, b *Bounds, c *Counterexample, open func(context.Context) (*wasm.Unit, error)) (*Departure, error) {
	unit, err := open(ctx)
	if err != nil {
		return nil, err
	}
	defer unit.Close()
	u, err := b.start()
	if err != nil {
		return nil, err
	}
	w, err := newFirmware(ctx, b, unit)
	if err != nil {
		return nil, err
	}
	for _, step := range c.Steps {
		w.begin(appendInputs(nil, step.Inputs))
		for i := range step.Inputs {
			r, changes := u.Do(step.Inputs[i], nil)
			w.note(r.Outcome, changes)
		}
		if len(step.Inputs) == 0 {
			w.wait(step.Wait, u.Advance(step.Wait, nil))
		}
		obs, err := unit.Ask(ctx, w.requests)
		if err != nil {
			return nil, err
		}
		if d := w.compare(obs); d != nil {
			return d, nil
		}
	}
	return nil, nil
}
