package generate

import (
	"fmt"
	"strings"
	"time"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// world is a unit at its bench, about to be given a vector's steps: what all vectors of a machine, or of a row, begin with.
type world struct {
	ics   spec.ICS
	start time.Time // with the offset of Europe/London
	unset bool      // the clock is left alone
	given []string

	lines map[string][]spec.Input // by their text
}

// newWorld makes a world of a full unit with some options changed, each NAME=VALUE; what is fitted is among them, as one value.
func newWorld(start string, options []string, given ...string) (*world, error) {
	w := &world{ics: spec.FullICS(), given: given, lines: map[string][]spec.Input{}}
	var err error
	if w.start, err = time.Parse(time.RFC3339, start); err != nil {
		return nil, err
	}
	for _, option := range options {
		name, value, _ := strings.Cut(option, "=")
		if o, err := wire.ParseFitOption(name); err == nil {
			v, err := wire.ParseFitValue(o, value)
			if err != nil {
				return nil, err
			}
			w.ics.Fitted, _ = w.ics.Fit(w.ics.Fitted, o, v)
		} else if err := wire.SetOption(&w.ics, name, value); err != nil {
			return nil, err
		}
	}
	return w, w.ics.Validate()
}

// vector returns a vector of this world without steps, for any unit that is fitted as the world's is.
func (w *world) vector() *suite.Vector {
	v := &suite.Vector{Start: w.start, ClockUnset: w.unset, Given: w.given}
	for o, value := range [...]uint8{
		spec.FitChannels: uint8(w.ics.Fitted.Channels), spec.FitCycle: uint8(w.ics.Fitted.Cycle),
		spec.FitTiming: uint8(w.ics.Fitted.Timing), spec.FitCoupling: uint8(w.ics.Fitted.Coupling),
	} {
		v.Fit = append(v.Fit, spec.Input{Kind: spec.Fit, FitOption: spec.FitOption(o), FitValue: value})
	}
	return v
}

// begin returns the unit as it is after the given inputs.
func (w *world) begin() (emulator.Unit, error) {
	u, err := emulator.New(w.ics)
	if err != nil {
		return u, err
	}
	b, err := w.vector().Bind(&w.ics)
	if err != nil {
		return u, err
	}
	for _, in := range append(append([]spec.Input{}, b.Fits...), b.Given...) {
		if r, _ := u.Do(in, nil); r.Outcome != spec.Accepted {
			return u, fmt.Errorf("given input '%s' is not accepted: %s", wire.AppendInput(nil, in), wire.RefusalWords(r.Refusal))
		}
	}
	return u, nil
}

// do gives the unit a line, which may be several inputs that are answered alike.
func (w *world) do(u *emulator.Unit, line string, changes []spec.Change) (spec.Outcome, []spec.Change, error) {
	inputs, known := w.lines[line]
	if !known {
		var err error
		if inputs, err = suite.Expand(&w.ics, w.ics.Fitted, line); err != nil {
			return 0, changes, fmt.Errorf("'%s': %w", line, err)
		}
		w.lines[line] = inputs
	}
	var r spec.Reply
	for i, in := range inputs {
		before := r
		if r, changes = u.Do(in, changes); i > 0 && r.Outcome != before.Outcome {
			return 0, changes, fmt.Errorf("'%s' is several inputs here, and they are answered differently", line)
		}
	}
	return r.Outcome, changes, nil
}

// tape records what is done to a unit, as a vector has it.
type tape struct {
	w       *world
	u       emulator.Unit
	v       *suite.Vector
	touched map[string]bool // clauses
}

func (w *world) tape() (*tape, error) {
	u, err := w.begin()
	if err != nil {
		return nil, err
	}
	t := &tape{w: w, u: u, v: w.vector(), touched: map[string]bool{}}
	for s := range t.v.Initial {
		t.v.Initial[s] = u.Level(spec.Signal(s))
	}
	return t, nil
}

// do gives the unit a line as a step.
func (t *tape) do(line string) error {
	before := t.u.Facts()
	n := len(t.v.Trace)
	var err error
	step := suite.Step{At: t.u.Now(), Do: line}
	if step.Want, t.v.Trace, err = t.w.do(&t.u, line, t.v.Trace); err != nil {
		return err
	}
	t.v.Steps = append(t.v.Steps, step)
	t.settled(n)
	after := t.u.Facts()
	for _, in := range t.w.lines[line] {
		touchedByInput(t.touched, &t.w.ics, &in, step.Want, &before, &after)
	}
	return nil
}

// wait lets seconds pass.
func (t *tape) wait(seconds uint64) {
	before := t.u.Facts()
	n := len(t.v.Trace)
	t.v.Trace = t.u.Advance(seconds, t.v.Trace)
	t.v.Until = t.u.Now()
	t.settled(n)
	after := t.u.Facts()
	touchedByTime(t.touched, &t.w.ics, &before, &after)
}

// settled notes the reasons of the changes from the nth on. A vector's trace has neither cause nor slot.
func (t *tape) settled(n int) {
	t.v.Until = t.u.Now()
	for i := n; i < len(t.v.Trace); i++ {
		c := &t.v.Trace[i]
		c.Cause, c.Slot = spec.NoCause, 0
		t.touched[c.By.String()] = true
	}
}

// done returns the recorded vector with the clauses that it touches, in the order of the page. In one in which nothing happens, no
// output may change.
func (t *tape) done(page *suite.Page) *suite.Vector {
	if len(t.touched) == 0 {
		t.touched["OUT-1"] = true
	}
	for _, f := range page.Families {
		for _, c := range f.Clauses {
			if t.touched[c.ID] {
				t.v.Clauses = append(t.v.Clauses, c.ID)
			}
		}
	}
	return t.v
}
