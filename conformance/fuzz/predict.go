package fuzz

import (
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// prediction is what the oracle says of a script: an answer for each request, and the changes.
type prediction struct {
	answers []answer
	changes []spec.Change
}

// answer is what becomes of a request.
type answer struct {
	reply   spec.Reply
	changes int // up to and including this answer
}

func (p *prediction) clear() { p.answers, p.changes = p.answers[:0], p.changes[:0] }

// oracle plays scripts on the emulator.
type oracle struct {
	statement spec.ICS
	fresh     emulator.Unit // as after new
	defaults  [7][spec.MaxPeriods]spec.Period
	unit      emulator.Unit
	prediction
}

func newOracle(ics spec.ICS) (*oracle, error) {
	u, err := emulator.New(ics)
	if err != nil {
		return nil, err
	}
	return &oracle{statement: ics, fresh: u, defaults: u.Facts().Channels[0].Table, unit: u}, nil
}

// begin is the request new.
func (o *oracle) begin() {
	o.unit = o.fresh
	o.clear()
	o.answers = append(o.answers, answer{})
}

func (o *oracle) do(in spec.Input) spec.Reply {
	var r spec.Reply
	r, o.changes = o.unit.Do(in, o.changes)
	o.answers = append(o.answers, answer{r, len(o.changes)})
	return r
}

func (o *oracle) wait(seconds uint64) {
	o.changes = o.unit.Advance(seconds, o.changes)
	o.answers = append(o.answers, answer{changes: len(o.changes)})
}

// play puts a whole script to the oracle.
func (o *oracle) play(script iut.Script) {
	for i := range script {
		switch r := &script[i]; r.Kind {
		case iut.New:
			o.begin()
		case iut.Do:
			o.do(r.Input)
		case iut.Go:
			o.wait(r.Seconds)
		}
	}
}

// reason returns the clause that settles what a signal shows now.
func reason(u *emulator.Unit, s spec.Signal) spec.Clause {
	f := u.Facts()
	if s == spec.SigAlert && f.Shown[s] != 0 {
		f.Shown[s] = 0
	} else {
		f.Shown[s] = 1 - min(1, f.Shown[s])
	}
	v := *u
	v.Restore(&f)
	for _, c := range v.Settle(nil) {
		if c.Signal == s {
			return c.By
		}
	}
	return spec.NoClause
}
