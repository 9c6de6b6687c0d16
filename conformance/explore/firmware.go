package explore

import (
	"context"
	"fmt"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/wasm"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// firmware is a worker's unit under test, which is put into the state that goes with the emulator's and asked the same.
type firmware struct {
	s        *search
	unit     *wasm.Unit
	tree     *tree
	memory   []byte // of the state under way
	after    []byte
	standing iut.Standing

	requests []iut.Request
	outcomes []spec.Outcome // that the emulator gave; a wait's is Accepted
	ends     []int          // how many of the emulator's changes there were up to each request
	changes  []spec.Change  // the emulator's
}

// newFirmware brings a unit to where the exploration starts.
func newFirmware(ctx context.Context, s *search, u *wasm.Unit) (*firmware, error) {
	if u.ICS() != s.bounds.ICS {
		return nil, fmt.Errorf("%s has another conformance statement than the bounds", u.Describe())
	}
	w := &firmware{s: s, unit: u}
	requests := []iut.Request{{Kind: iut.New}}
	for _, l := range s.bounds.Given {
		for _, in := range l.Inputs {
			requests = append(requests, iut.Request{Kind: iut.Do, Input: in})
		}
	}
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
	if w.memory, err = u.AppendState(nil); err != nil {
		return nil, err
	}
	w.tree = newTree(s.forest, len(w.memory))
	w.tree.build(w.memory)
	return w, nil
}

// enter makes a state of the firmware, and what it shows, the one under way.
func (w *firmware) enter(root uint32, f *emulator.Facts) {
	w.tree.load(root, w.memory)
	w.standing = iut.StandingOf(f.Now, f.Shown, f.Back.Channels)
}

func (w *firmware) begin() {
	w.requests, w.outcomes, w.ends, w.changes = w.requests[:0], w.outcomes[:0], w.ends[:0], w.changes[:0]
}

// input notes what the emulator did with an input, to be asked of the firmware too.
func (w *firmware) input(in *spec.Input, outcome spec.Outcome, changes []spec.Change) {
	w.requests = append(w.requests, iut.Request{Kind: iut.Do, Input: *in})
	w.note(outcome, changes)
}

func (w *firmware) wait(seconds uint64, changes []spec.Change) {
	for left := seconds; ; left -= wire.MaxGo {
		w.requests = append(w.requests, iut.Request{Kind: iut.Go, Seconds: min(left, wire.MaxGo)})
		if left <= wire.MaxGo {
			break
		}
		w.note(spec.Accepted, nil)
	}
	w.note(spec.Accepted, changes)
}

func (w *firmware) note(outcome spec.Outcome, changes []spec.Change) {
	w.outcomes = append(w.outcomes, outcome)
	w.changes = append(w.changes, changes...)
	w.ends = append(w.ends, len(w.changes))
}

// end asks the firmware what the emulator was asked, and returns the name of the memory that it then has, or how it departs.
func (w *firmware) end(ctx context.Context) (root uint32, d *Departure, err error) {
	if err := w.unit.SetState(ctx, w.memory, w.standing); err != nil {
		return 0, nil, err
	}
	obs, err := w.unit.Ask(ctx, w.requests)
	if err != nil {
		return 0, nil, err
	}
	if d := w.compare(obs); d != nil {
		return 0, d, nil
	}
	if w.after, err = w.unit.AppendState(w.after[:0]); err != nil {
		return 0, nil, err
	}
	return w.tree.with(w.memory, w.after), nil, nil
}

// compare says where the firmware departs from what the emulator did; nil: nowhere.
func (w *firmware) compare(obs *iut.Observation) *Departure {
	matched := 0
	for i, a := range obs.Answers {
		if a.Outcome != w.outcomes[i] {
			return &Departure{Request: w.requests[i], Outcome: a.Outcome, WantOutcome: w.outcomes[i]}
		}
		for ; matched < max(a.Changes, w.ends[i]); matched++ {
			d := Departure{Request: w.requests[i]}
			if matched < a.Changes {
				d.Change = &obs.Changes[matched]
			}
			if matched < w.ends[i] {
				d.WantChange = &w.changes[matched]
			}
			if d.Change == nil || d.WantChange == nil || d.Change.At != d.WantChange.At || d.Change.Signal != d.WantChange.Signal || d.Change.Level != d.WantChange.Level {
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
	w, err := newFirmware(ctx, &search{bounds: *b, forest: newForest()}, unit)
	if err != nil {
		return nil, err
	}
	for _, step := range c.Steps {
		w.begin()
		for i := range step.Inputs {
			r, changes := u.Do(step.Inputs[i], nil)
			w.input(&step.Inputs[i], r.Outcome, changes)
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
