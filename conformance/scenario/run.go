package scenario

import (
	"time"

	"example.org/hearthbench/conformance/explain"
	"example.org/hearthbench/conformance/localtime"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Trace is what a unit did in a scenario, in order.
type Trace struct {
	Scenario *Scenario
	Initial  [spec.NumSignals]spec.Level // after what is given
	Entries  []Entry
	Limits   []Limit
}

// Entry is one thing that happened: an input, or a change of a signal.
type Entry struct {
	At      uint64    // second
	Local   time.Time // the true local time
	Display Display   // what the unit showed when an input came, or shows after a change
	Input   *Done     // nil if this is a change
	Change  spec.Change
	Why     string // the rule in plain words, with its clause; for an input only if it was turned down
}

// Display is a unit's own reading.
type Display struct {
	Power   bool      // without it there is nothing to read
	Set     bool      // the clock is set
	Reading time.Time // in no zone
}

// Done is a step that was done.
type Done struct {
	Number int // from 1
	Step   *Step
	// Reply is the unit's answer: for a line that stands for several inputs, the first answer that is not accepted, if there is one.
	Reply  spec.Reply
	Clause string // by which it was turned down, or ""
	Met    bool   // each answer was as the step expects, if it expects one
}

// Limit is a stage of the lock that came to pass and limits a channel.
type Limit struct {
	Stage      spec.Stage
	Allowances [spec.NumChannels]uint8 // minutes an hour, or spec.NoAllowance
}

// Holds reports whether every step had the outcome that it expects.
func (t *Trace) Holds() bool { return len(t.Unmet()) == 0 }

// Unmet returns the steps that had another outcome than they expect.
func (t *Trace) Unmet() []*Done {
	var unmet []*Done
	for i := range t.Entries {
		if d := t.Entries[i].Input; d != nil && !d.Met {
			unmet = append(unmet, d)
		}
	}
	return unmet
}

// Run lets the emulator do the scenario. The same scenario gives the same trace, always.
func (s *Scenario) Run() *Trace {
	r := run{s: s, u: s.newUnit(), t: &Trace{Scenario: s}}
	for _, line := range s.Given {
		for _, in := range line.inputs {
			r.u.Do(in, nil)
		}
	}
	for sig := range r.t.Initial {
		r.t.Initial[sig] = r.u.Level(spec.Signal(sig))
	}
	r.noteLimit()
	for i := range s.Steps {
		r.advance(s.Steps[i].At)
		r.do(i)
	}
	r.advance(s.Until)
	return r.t
}

type run struct {
	s       *Scenario
	u       emulator.Unit
	t       *Trace
	changes []spec.Change
}

// advance goes from one instant of change to the next, since each has a display of its own.
func (r *run) advance(to uint64) {
	for {
		next, ok := r.u.Next()
		if !ok || next > to {
			r.u.Advance(to-r.u.Now(), nil)
			return
		}
		r.changes = r.u.Advance(next-r.u.Now(), r.changes[:0])
		r.record(explain.Unit{})
	}
}

func (r *run) do(step int) {
	s := &r.s.Steps[step]
	d := &Done{Number: step + 1, Step: s, Met: true}
	at := len(r.t.Entries)
	r.t.Entries = append(r.t.Entries, r.entry())
	for i := range s.inputs {
		in := &s.inputs[i]
		boosted := in.Kind == spec.Override && r.u.Facts().Channels[in.Channel].BoostLeft > 0
		var reply spec.Reply
		reply, r.changes = r.u.Do(*in, r.changes[:0])
		if d.Reply.Outcome == spec.Accepted && reply.Outcome != spec.Accepted {
			d.Reply = reply
			d.Clause = explain.RefusalClause(reply.Refusal, *in, &r.s.ICS)
			r.t.Entries[at].Why = explain.Refusal(reply.Refusal, *in, &r.s.ICS)
		}
		if s.Expect.Stated && reply.Outcome != s.Expect.Outcome {
			d.Met = false
		}
		r.record(explain.Unit{Input: in, Boosted: boosted})
	}
	r.t.Entries[at].Input = d
}

// record enters what has changed. It completes what the words depend on.
func (r *run) record(unit explain.Unit) {
	r.noteLimit()
	if len(r.changes) == 0 {
		return
	}
	unit.Coupling, unit.Programmed = r.u.Facts().Fitted.Coupling, r.s.ICS.OverrideProgrammed
	for i, c := range r.changes {
		unit.Before = r.changes[:i]
		e := r.entry()
		e.Change, e.Why = c, explain.Change(c, unit)
		r.t.Entries = append(r.t.Entries, e)
	}
}

// entry returns an entry for this second.
func (r *run) entry() Entry {
	e := Entry{At: r.u.Now(), Local: r.s.At(r.u.Now())}
	e.Display.Power = r.u.Facts().Powered
	days, second, ok := r.u.Reading()
	if e.Display.Power && ok {
		e.Display.Set = true
		e.Display.Reading = localtime.Clock(int64(days*calendar.Day + second))
	}
	return e
}

// noteLimit notes a stage of the lock that limits a channel the unit has.
func (r *run) noteLimit() {
	f := r.u.Facts()
	l := Limit{Stage: f.Lock.Stage}
	switch l.Stage {
	case spec.Notice:
		l.Allowances = f.Lock.Terms.Notice
	case spec.Restricted:
		l.Allowances = f.Lock.Terms.Restricted
	default:
		return
	}
	limits := false
	for c := range l.Allowances {
		if a := &l.Allowances[c]; !f.Fitted.Channels.Has(spec.Channel(c)) || *a >= spec.MaxAllowance {
			*a = spec.NoAllowance
		} else {
			limits = true
		}
	}
	if n := len(r.t.Limits); limits && (n == 0 || r.t.Limits[n-1] != l) {
		r.t.Limits = append(r.t.Limits, l)
	}
}
