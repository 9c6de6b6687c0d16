package diagnosis

import (
	"math"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
)

// evidence is all that a hypothesis is held against: what was sensed, the settings that were said or read, and the answers to questions.
type evidence struct {
	c       *complaint.Complaint
	answers []Answer
	weights []float64 // of each statement
	said    []bool    // of each observation: by somebody, not by a log or an instrument
	n       int
}

// further returns the logarithm of what is left for further mistakes than one, of what departs from both of two hypotheses; from one, where
// both are the same.
func (e *evidence) further(v, w verdicts) float64 {
	n := 0
	for i, said := range e.said {
		if said && v[i] == replay.Departs && w[i] == replay.Departs {
			n++
		}
	}
	return float64(max(0, n-1)) * math.Log(furtherMistake)
}

// again is what a further statement of the same kind by the same source counts, against the first: whoever is wrong about the radiators
// on Saturday may be wrong about them on Sunday in the same way. Common sense, no source.
const again = 0.85

// meant is how probable it is that somebody says what was meant to be set, where the hypothesis is that it was set otherwise. Whoever does so of
// one table does so of all.
const meant = 0.6

func gather(c *complaint.Complaint, answers []Answer) *evidence {
	e := &evidence{c: c, answers: answers, n: len(c.Sensed) + len(c.Settings) + len(answers)}
	type kind struct {
		what complaint.What
		form complaint.Form
		lvl  uint8
		who  complaint.Who
	}
	count := map[kind]int{}
	for i := range c.Sensed {
		o := &c.Sensed[i]
		k := kind{o.What, o.Form, uint8(o.Level), o.Who}
		weight := 1.0
		if o.Who != complaint.Log && count[k] > 0 {
			weight = again
		}
		count[k]++
		e.weights = append(e.weights, weight)
		e.said = append(e.said, o.Who != complaint.Log && o.Sure != complaint.Measured)
	}
	for range len(c.Settings) + len(answers) {
		e.weights = append(e.weights, 1)
	}
	return e
}

// verdicts are what comes of each statement.
type verdicts []replay.Verdict

// departures returns how many statements depart.
func (v verdicts) departures() (n int) {
	for _, x := range v {
		if x == replay.Departs {
			n++
		}
	}
	return n
}

// holding is what comes of holding a history against the evidence.
type holding struct {
	likelihood float64   // logarithm, of all
	each       []float32 // logarithms, of each statement
	verdicts   verdicts
}

// hold holds a history against the evidence.
func (e *evidence) hold(h *replay.History, s subject, p *probe) holding {
	x := holding{each: make([]float32, 0, e.n), verdicts: make(verdicts, 0, e.n)}
	add := func(weight, likelihood float64, v replay.Verdict) {
		log := weight * math.Log(likelihood)
		x.likelihood += log
		x.each = append(x.each, float32(log))
		x.verdicts = append(x.verdicts, v)
	}
	for i := range e.c.Sensed {
		c := replay.Compare(h, &e.c.Sensed[i])
		add(e.weights[i], c.Likelihood, c.Verdict)
	}
	excused := false
	for i := range e.c.Settings {
		l, v := e.claim(h, i, s, &excused)
		add(1, l, v)
	}
	for _, a := range e.answers {
		l := a.Question.likelihood(p, a.Choice)
		v := replay.CannotTell
		switch {
		case l > 0.6:
			v = replay.Agrees
		case l < 0.2:
			v = replay.Departs
		}
		add(1, l, v)
	}
	x.likelihood += e.further(x.verdicts, x.verdicts)
	return x
}

// claim holds a history against a setting. It notes that what was said has been taken for what was meant.
func (e *evidence) claim(h *replay.History, i int, s subject, excused *bool) (float64, replay.Verdict) {
	claim := &e.c.Settings[i]
	if claim.Source == complaint.NotKnown {
		return 0.5, replay.CannotTell
	}
	c := replay.CompareClaim(h, claim)
	if claim.Source == complaint.Said && c.Verdict == replay.Departs && s.covers(claim) {
		if *excused {
			return replay.Likelihood(claim.Sure, 1), replay.CannotTell
		}
		*excused = true
		return meant, replay.CannotTell
	}
	return c.Likelihood, c.Verdict
}
