package identify

import (
	"fmt"
	"slices"

	"example.org/hearthbench/conformance/explain"
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/tolerance"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// Departure is where a unit first leaves what the only ICS that gives its answers to the looks makes of a script.
type Departure struct {
	Where   string     // which script: "question 3" or "control 1"
	Script  iut.Script // as far as the request in which it departs
	Second  uint64     // elapsed
	What    string     // what was expected and what came
	Clauses []string   // that decide what was expected
}

// evidence is a question with all that was observed of it.
type evidence struct {
	question *Question
	observed *iut.Observation
}

// departureFromAll returns how the unit departs from the first of some ICSs if it departs from all.
func (e *evidence) departureFromAll(list []spec.ICS, claims spec.Tolerances) (first *Departure) {
	for i := range list {
		d := e.departure(&list[i], claims)
		if d == nil {
			return nil
		}
		if first == nil {
			first = d
		}
	}
	return first
}

// departure holds everything that was observed against a unit with the ICS, within the tolerances.
func (e *evidence) departure(ics *spec.ICS, claims spec.Tolerances) *Departure {
	u, err := emulator.New(*ics)
	if err != nil {
		panic(fmt.Sprintf("a hypothesis that is no ICS: %v", err))
	}
	rules := tolerance.New(ics, claims)
	var expected []spec.Change
	var due []int // how many changes are expected up to and including each request
	var wrong *Departure
	at := len(e.question.Script) // the request in which it departs
	for i := range e.question.Script {
		r := &e.question.Script[i]
		switch r.Kind {
		case iut.Go:
			expected = u.Advance(r.Seconds, expected)
		case iut.Do:
			var reply spec.Reply
			reply, expected = u.Do(r.Input, expected)
			if reply.Outcome == spec.Accepted {
				rules.Did(u.Now(), &r.Input)
			}
			if came := e.observed.Answers[i].Outcome; came != reply.Outcome && wrong == nil {
				at = i
				wrong = &Departure{Second: u.Now(), What: fmt.Sprintf("'%s' should be %s and is %s",
					wire.AppendInput(nil, r.Input), wire.OutcomeWord(reply.Outcome), wire.OutcomeWord(came)), Clauses: e.question.Clauses}
				if clause := explain.RefusalClause(reply.Refusal, r.Input, ics); clause != "" {
					wrong.Clauses = []string{clause}
				}
			}
		}
		due = append(due, len(expected))
	}
	for s := range spec.Signal(spec.NumSignals) {
		if found, request := e.signal(s, rules, expected, due, u.Now()); found != nil && request < at {
			wrong, at = found, request
		}
	}
	if wrong == nil && claims.Stagger == 0 {
		wrong, at = e.order(expected, due)
	}
	if wrong != nil {
		wrong.Script = e.question.Script[:at+1]
	}
	return wrong
}

// order finds changes that came in the right second and the wrong order.
func (e *evidence) order(expected []spec.Change, due []int) (d *Departure, request int) {
	for i := range min(len(expected), len(e.observed.Changes)) {
		want, got := &expected[i], &e.observed.Changes[i]
		if want.At != got.At {
			return nil, 0 // something was late, and allowed to be
		}
		if want.Signal != got.Signal || want.Level != got.Level {
			return &Departure{Second: want.At, What: fmt.Sprintf("'%s' should come before '%s' and comes after it",
				wire.AppendChange(nil, *want), wire.AppendChange(nil, *got)), Clauses: []string{"OUT-3"}}, requestOf(i, due)
		}
	}
	return nil, 0
}

// requestOf returns the request that brings about a change, by how many there have been up to each.
func requestOf(change int, due []int) int {
	return slices.IndexFunc(due, func(n int) bool { return n > change })
}

// signal holds one signal's changes against the expected ones.
func (e *evidence) signal(s spec.Signal, rules *tolerance.Rules, all []spec.Change, due []int, until uint64) (d *Departure, request int) {
	of := func(list []spec.Change) (own []*spec.Change, index []int) {
		for i := range list {
			if list[i].Signal == s {
				own, index = append(own, &list[i]), append(index, i)
			}
		}
		return own, index
	}
	expected, expectedAt := of(all)
	observed, observedAt := of(e.observed.Changes)
	m := rules.Match(0, expected, observed, until)
	if m.Whole {
		return nil, 0
	}
	d = &Departure{Second: m.At, Clauses: e.question.Clauses}
	request = len(due) - 1
	if m.Expected < len(expected) {
		request = requestOf(expectedAt[m.Expected], due)
	}
	if m.Observed < len(observed) {
		var came []int
		for _, answer := range e.observed.Answers {
			came = append(came, answer.Changes)
		}
		request = min(request, requestOf(observedAt[m.Observed], came))
	}
	came := "nothing comes"
	if m.Observed < len(observed) {
		came = fmt.Sprintf("'%s' comes", wire.AppendChange(nil, *observed[m.Observed]))
	}
	if m.Expected < len(expected) {
		want := expected[m.Expected]
		d.What = fmt.Sprintf("'%s' should come (%s) and %s", wire.AppendChange(nil, *want), want.By, came)
		d.Clauses = e.clauses(want.By)
	} else {
		d.What = fmt.Sprintf("nothing more should come of %s and %s", wire.SignalWord(s), came)
		if m.Expected > 0 {
			d.Clauses = e.clauses(expected[m.Expected-1].By)
		}
	}
	return d, request
}

// clauses returns the clause by which a level holds, and after it those that the script is about.
func (e *evidence) clauses(by spec.Clause) []string {
	list := []string{by.String()}
	for _, clause := range e.question.Clauses {
		if clause != list[0] {
			list = append(list, clause)
		}
	}
	return list
}
