package runner

import (
	"context"
	"fmt"
	"regexp"
	"slices"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Verdict is what is said of one vector. The first three are the words of ISO/IEC 9646.
type Verdict uint8

// The verdicts.
const (
	Pass Verdict = iota
	Fail
	Inconclusive  // nothing can be said: the link broke, or the unit could not be brought to where the test begins
	NotApplicable // the unit's ICS does not call for the vector
)

var verdictWords = [...]string{Pass: "pass", Fail: "fail", Inconclusive: "inconclusive", NotApplicable: "not applicable"}

func (v Verdict) String() string { return verdictWords[v] }

// Result is what is said of one vector, and why.
type Result struct {
	Vector  *suite.Vector
	Verdict Verdict
	// Exact says of a pass that it needed none of the ICS's tolerances.
	Exact bool
	// Why says what is missing, for an inconclusive or inapplicable vector.
	Why string
	// The rest is for a vector that applies and did not pass. Bound is the vector as it was put to this unit, and Observed holds the changes
	// after the given inputs.
	Bound     *suite.Bound
	Departure *Departure
	Initial   [spec.NumSignals]spec.Level
	Observed  []spec.Change
	Trouble   *iut.Trouble
}

// Run puts the vectors to the unit and calls each with every result, in the vectors' order. It returns an error, with the rest
// untold, only if the context ends or a vector is itself wrong.
func Run(ctx context.Context, unit iut.IUT, vectors []*suite.Vector, each func(*Result)) error {
	ics := unit.ICS()
	results := make([]*Result, len(vectors))
	var scripts []iut.Script
	var scripted []int
	for i, v := range vectors {
		r := &Result{Vector: v}
		results[i] = r
		ok, why := v.Applies(&ics)
		if !ok {
			r.Verdict, r.Why = NotApplicable, why
			continue
		}
		b, err := v.Bind(&ics)
		if err != nil {
			return fmt.Errorf("%s: %s: %w", v.File, v.ID, err)
		}
		r.Bound = b
		scripts = append(scripts, script(b))
		scripted = append(scripted, i)
	}
	slack := uint64(0)
	if inexact, ok := unit.(iut.Inexact); ok {
		slack = inexact.Slack()
	}
	told := 0
	tell := func(upTo int) {
		for ; told < upTo; told++ {
			each(results[told])
		}
	}
	err := unit.Run(ctx, scripts, func(i int, o *iut.Observation) {
		tell(scripted[i])
		results[scripted[i]].judge(&ics, slack, o)
		tell(scripted[i] + 1)
	})
	if err != nil {
		return err
	}
	tell(len(results))
	return nil
}

// script is what the unit is asked: the order that setUp counts on.
func script(b *suite.Bound) iut.Script {
	s := make(iut.Script, 1, 1+len(b.Fits)+len(b.Given)+2*len(b.Steps)+1)
	s[0].Kind = iut.New
	do := func(in spec.Input) { s = append(s, iut.Request{Kind: iut.Do, Input: in}) }
	for _, in := range b.Fits {
		do(in)
	}
	for _, in := range b.Given {
		do(in)
	}
	now := uint64(0)
	wait := func(until uint64) {
		if until > now {
			s = append(s, iut.Request{Kind: iut.Go, Seconds: until - now})
			now = until
		}
	}
	for _, step := range b.Steps {
		wait(step.At)
		do(step.Input)
	}
	wait(b.Vector.Until)
	return s
}

// judge gives the verdict on an observation.
func (r *Result) judge(ics *spec.ICS, slack uint64, o *iut.Observation) {
	b := r.Bound
	if o.Trouble != nil {
		trouble := *o.Trouble
		r.Verdict, r.Trouble, r.Why = Inconclusive, &trouble, withoutCredential(ics, trouble.Error())
		return
	}
	setUp := 1 + len(b.Fits) + len(b.Given) // the requests of "new" and of the inputs at second 0
	for i, a := range o.Answers[1:setUp] {
		if a.Outcome != spec.Accepted {
			in := slices.Concat(b.Fits, b.Given)[i]
			r.Verdict = Inconclusive
			r.Why = withoutCredential(ics, fmt.Sprintf("the unit answered '%s' to '%s', without which the test cannot begin", outcome(a), wire.AppendInput(nil, in)))
			return
		}
	}
	start := o.Answers[setUp-1].Changes
	for _, c := range o.Changes[:start] {
		r.Initial[c.Signal] = c.Level
	}
	observed := slices.Clone(o.Changes[start:]) // the departure points into it, and the observation does not outlive this call
	r.Departure, r.Exact = compare(b, ics, slack, r.Initial, observed)
	if d := r.replies(o.Answers[setUp:]); d != nil && (r.Departure == nil || r.Departure.Kind != WrongStart && d.At <= r.Departure.At) {
		r.Departure = d
	}
	if r.Departure == nil {
		r.Bound = nil // a run keeps thousands of results, and nothing is left to tell
		return
	}
	r.Verdict, r.Exact = Fail, false
	r.Observed = observed
}

var lockInput = regexp.MustCompile(`\block (arm|remove) ([0-9]+)`)

// withoutCredential puts in a text the words of the vectors for the unit's credential and for one that is not: whoever reads a verdict
// needs neither, and the wrong one tells the right one.
func withoutCredential(ics *spec.ICS, text string) string {
	return lockInput.ReplaceAllStringFunc(text, func(input string) string {
		m := lockInput.FindStringSubmatch(input)
		if m[2] == ics.Credential {
			return "lock " + m[1] + " {credential}"
		}
		return "lock " + m[1] + " {wrong}"
	})
}

func outcome(a iut.Answer) string {
	if a.Words == "" {
		return wire.OutcomeWord(a.Outcome)
	}
	return wire.OutcomeWord(a.Outcome) + ": " + a.Words
}

// replies finds the first step that was not answered as it should be.
func (r *Result) replies(answers []iut.Answer) *Departure {
	now, at := uint64(0), 0
	for i := range r.Bound.Steps {
		step := &r.Bound.Steps[i]
		if step.At > now {
			now = step.At
			at++ // the wait's own answer
		}
		a := answers[at]
		at++
		if a.Outcome != step.Want {
			kind := WrongReply
			if a.Outcome == spec.Unsupported {
				kind = ClaimMissing
			}
			return &Departure{At: step.At, Kind: kind, Step: i, Reply: a.Outcome}
		}
	}
	return nil
}
