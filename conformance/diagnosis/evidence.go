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
	n       int
}

// again is what a further statement of the same kind by the same source counts, against the first: whoever is wrong about the radiators
// on Saturday may be wrong about them on Sunday in the same way. Common sense, no source.
const again = 0.85

// meant is how probable it is that somebody says what was meant to be set, where the hypothesis is that it was set otherwise.
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
	for i := range e.c.Settings {
		l, v := e.claim(h, i, s)
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
	return x
}

// claim holds a history against a setting.
func (e *evidence) claim(h *replay.History, i int, s subject) (float64, replay.Verdict) {
	claim := &e.c.Settings[i]
	if claim.Source == complaint.NotKnown {
		return 0.5, replay.CannotTell
	}
	c := replay.CompareClaim(h, claim)
	if claim.Source == complaint.Said && c.Verdict == replay.Departs && s.covers(claim) {
		return meant, replay.CannotTell
	}
	return c.Likelihood, c.Verdict
}

// unexplained is the logarithm of the likelihood under 'none of these': an unknown cause under which what was sensed agrees with the
// account at an unknown rate, and settings are as the account has them.
func (e *evidence) unexplained(h *replay.History, base verdicts) float64 {
	log, agree, depart := 0.0, 0.0, 0.0
	for i, v := range base {
		if s := i - len(e.c.Sensed); s >= 0 && s < len(e.c.Settings) {
			l, _ := e.claim(h, s, subject{})
			log += math.Log(l)
			continue
		}
		switch v {
		case replay.Agrees:
			agree += e.weights[i]
		case replay.Departs:
			depart += e.weights[i]
		default:
			// It says nothing either way: worth what a coin is.
			log -= e.weights[i] * math.Ln2
		}
	}
	a, _ := math.Lgamma(agree + 1)
	d, _ := math.Lgamma(depart + 1)
	n, _ := math.Lgamma(agree + depart + 2)
	return log + a + d - n
}
