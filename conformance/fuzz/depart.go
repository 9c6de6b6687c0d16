package fuzz

import (
	"slices"

	"example.org/hearthbench/conformance/explain"
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/emulator/spec"
)

// Departure is where a unit first leaves what the clauses say of a script.
type Departure struct {
	Request int    // its number in the script
	At      uint64 // elapsed second
	Kind    runner.DepartureKind
	Signal  spec.Signal  // unless it is a reply
	Reply   spec.Outcome // with WrongReply and ClaimMissing: the one given
	Refusal spec.Refusal // with WrongReply and ClaimMissing: why the clauses refuse, if they do
	Trouble *iut.Trouble // the unit broke the protocol: the rest says where
	// Follows says that the script has departed before in a way that can bring this about.
	Follows bool
	Clause  string // the clause that is violated
}

// isReply reports whether it is an answer that departs.
func (d *Departure) isReply() bool {
	return d.Kind == runner.WrongReply || d.Kind == runner.ClaimMissing
}

// same reports whether an observation is what is predicted, to the second and in order.
func (p *prediction) same(o *iut.Observation) bool {
	if o.Trouble != nil || len(o.Changes) != len(p.changes) || len(o.Answers) != len(p.answers) {
		return false
	}
	for i := range p.answers {
		if a, b := &p.answers[i], &o.Answers[i]; a.reply.Outcome != b.Outcome || a.changes != b.Changes {
			return false
		}
	}
	for i := range p.changes {
		if a, b := &p.changes[i], &o.Changes[i]; a.At != b.At || a.Signal != b.Signal || a.Level != b.Level {
			return false
		}
	}
	return true
}

// maxDepartures is how many departures of one script are looked at.
const maxDepartures = 8

// departures finds where an observation of a script departs from the predicted one: first of all, and then again wherever both have
// come to show the same in between. The clauses are left open.
func (p *prediction) departures(script iut.Script, o *iut.Observation, list []Departure) []Departure {
	at := uint64(0)
	listed, lasting := len(list), false
	var want, have struct {
		levels [spec.NumSignals]spec.Level
		from   int
	}
	for i := range script {
		if i >= len(o.Answers) {
			d := Departure{Request: i, At: at}
			if o.Trouble != nil {
				trouble := *o.Trouble
				d.Trouble = &trouble
			}
			return append(list, d)
		}
		w, h := &p.answers[i], &o.Answers[i]
		aligned := want.levels == have.levels
		wants, haves := p.changes[want.from:w.changes], o.Changes[have.from:h.Changes]
		if aligned && w.reply.Outcome != h.Outcome {
			d := Departure{Request: i, At: at, Kind: runner.WrongReply, Reply: h.Outcome, Refusal: w.reply.Refusal}
			if h.Outcome == spec.Unsupported {
				d.Kind = runner.ClaimMissing
			}
			list = append(list, d)
		} else if d, found := firstChange(wants, haves); aligned && found && !slices.ContainsFunc(list, d.repeats) {
			d.Request = i
			list = append(list, d)
		}
		if n := len(list); n > listed {
			list[n-1].Follows = lasting
			lasting = lasting || list[n-1].lasts()
			if listed = n; n == maxDepartures {
				return list
			}
		}
		for _, c := range wants {
			want.levels[c.Signal] = c.Level
		}
		for _, c := range haves {
			have.levels[c.Signal] = c.Level
		}
		want.from, have.from = w.changes, h.Changes
		if script[i].Kind == iut.Go {
			at += script[i].Seconds
		}
	}
	return list
}

// lasts reports whether after the departure the unit is likely to be in another state than it should be: an order is soon forgotten,
// and so is what only the sounder shows, and an input that was turned down for a wrong reason.
func (d *Departure) lasts() bool {
	switch d.Kind {
	case runner.WrongOrder:
		return false
	case runner.WrongReply, runner.ClaimMissing:
		return d.Reply == spec.Accepted || d.Refusal == spec.NoRefusal
	default:
		return d.Signal != spec.SigSounder
	}
}

// repeats reports whether an earlier departure of the script is much the same.
func (d *Departure) repeats(earlier Departure) bool {
	return d.Kind == earlier.Kind && d.Signal == earlier.Signal
}

// firstChange finds where the changes of one answer depart.
func firstChange(want, have []spec.Change) (Departure, bool) {
	i := 0
	for i < len(want) && i < len(have) && alike(&want[i], &have[i]) {
		i++
	}
	switch {
	case i == len(want) && i == len(have):
		return Departure{}, false
	case i == len(have) || i < len(want) && want[i].At < have[i].At:
		return Departure{At: want[i].At, Kind: absent(&want[i], have[i:]), Signal: want[i].Signal}, true
	case i == len(want) || have[i].At < want[i].At:
		return Departure{At: have[i].At, Kind: runner.Unexpected, Signal: have[i].Signal}, true
	}
	// Of one second: in another order, or not the same ones.
	second := want[i].At
	w, h := ofSecond(want[i:], second), ofSecond(have[i:], second)
	for j := range w {
		if !contains(h, &w[j]) {
			return Departure{At: second, Kind: absent(&w[j], have[i:]), Signal: w[j].Signal}, true
		}
	}
	for j := range h {
		if !contains(w, &h[j]) {
			return Departure{At: second, Kind: runner.Unexpected, Signal: h[j].Signal}, true
		}
	}
	if len(h) > len(w) {
		return Departure{At: second, Kind: runner.Unexpected, Signal: have[i].Signal}, true
	}
	return Departure{At: second, Kind: runner.WrongOrder, Signal: want[i].Signal}, true
}

func sameChange(a, b spec.Change) bool { return alike(&a, &b) }

func alike(a, b *spec.Change) bool {
	return a.At == b.At && a.Signal == b.Signal && a.Level == b.Level
}

func ofSecond(changes []spec.Change, second uint64) []spec.Change {
	n := 0
	for n < len(changes) && changes[n].At == second {
		n++
	}
	return changes[:n]
}

func contains(changes []spec.Change, c *spec.Change) bool {
	for i := range changes {
		if alike(&changes[i], c) {
			return true
		}
	}
	return false
}

// absent says whether a change that has not come comes later, as the signal's next one.
func absent(c *spec.Change, later []spec.Change) runner.DepartureKind {
	for i := range later {
		if l := &later[i]; l.Signal == c.Signal {
			if l.Level == c.Level && l.At > c.At {
				return runner.Late
			}
			break
		}
	}
	return runner.Missing
}

// blame finds the clause that a departure violates: the one by which the input should have been refused, or the one that settles the
// level that the signal should have.
func (d *Departure) blame(o *oracle, ics *spec.ICS, script iut.Script) {
	r := &script[d.Request]
	if d.Trouble != nil || d.isReply() {
		if r.Kind != iut.Do {
			d.Clause = "OUT-1" // time passes, and nothing may keep the unit from showing what it brings
			return
		}
		if d.Clause = explain.RefusalClause(d.Refusal, r.Input, ics); d.Clause == "" {
			d.Clause = accepting(&r.Input)
		}
		return
	}
	o.begin()
	for i := 1; i < d.Request; i++ {
		if script[i].Kind == iut.Do {
			o.do(script[i].Input)
		} else {
			o.wait(script[i].Seconds)
		}
	}
	from := len(o.changes)
	if r.Kind == iut.Do {
		o.do(r.Input)
	} else {
		o.wait(d.At - o.unit.Now())
	}
	if d.Kind == runner.WrongOrder {
		d.Clause = "OUT-3"
		return
	}
	for i := from; i < len(o.changes); i++ {
		if c := &o.changes[i]; c.At == d.At && c.Signal == d.Signal && d.Kind != runner.Unexpected {
			d.Clause = c.By.String()
			return
		}
	}
	d.Clause = reason(&o.unit, d.Signal).String()
}

// accepting returns the clause by which an input is accepted, or for a value that cannot be fitted, the one that says so.
func accepting(in *spec.Input) string {
	switch in.Kind {
	case spec.PowerOff:
		return "PWR-1"
	case spec.PowerOn:
		return "PWR-13"
	case spec.Fit:
		return "PWR-14"
	case spec.SetClock:
		return "CLK-3"
	case spec.SetMode:
		return "MOD-8"
	case spec.SetPeriod:
		return "TAB-14"
	case spec.Override:
		return "OVR-1"
	case spec.Boost:
		if in.Amount == 0 {
			return "BST-10"
		}
		return "BST-1"
	case spec.Holiday:
		return "HOL-1"
	case spec.HolidayCancel:
		return "HOL-7"
	case spec.LockArm:
		return "LCK-2"
	case spec.LockRemove:
		return "LCK-8"
	default:
		return "RST-7"
	}
}
