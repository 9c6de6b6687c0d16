package diagnosis

import (
	"math"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
)

// noneOfThese is something that no hypothesis has. Nothing is known of it but that it comes in one of two ways.
//
// It may be steady: air in the radiators, say, or a boiler that somebody has turned down. Since some time, or all along, there are kinds of
// thing of which what was sensed is the contrary of what the account has; most are as the account has them. A kind is what the account has
// at one level: a radiator that should be warm.
//
// Or it may be erratic: then what was sensed agrees with the account at an unknown rate.
//
// Settings are as the account has them, and answers to questions may be anything. Since it predicts nothing, its likelihood is that of all
// its ways together, where that of a hypothesis is that of the best of its own.
func (s *search) noneOfThese() found {
	e, base := s.evidence, s.account.verdicts
	sensed := base[:len(e.c.Sensed)]
	rest := 0.0
	for _, log := range s.account.each[len(sensed) : len(sensed)+len(e.c.Settings)] {
		rest += float64(log)
	}
	for _, a := range e.answers {
		rest -= math.Log(float64(len(a.Question.Choices)))
	}
	began := []int64{math.MinInt64}
	for i, v := range sensed {
		if at := e.c.Sensed[i].When.Windows[0].From; v == replay.Departs && !slices.Contains(began, at) {
			began = append(began, at)
		}
	}
	total, best := e.erratic(sensed)-math.Ln2, math.Inf(-1)
	vs := make(verdicts, len(base))
	for _, at := range began {
		whole, way, its := e.steady(sensed, at)
		total = logAdd(total, whole-math.Ln2-math.Log(float64(len(began))))
		if way > best {
			best = way
			copy(vs, its)
		}
	}
	s.causes = append(s.causes, cause{
		id: "none", family: NoneOfThese, words: "none of these: something that is not among the causes looked at, or more than two at once",
		cure: cure{
			Words: "Ask the questions below; if they settle nothing, send a competent person with this account.", Visit: true, Who: Competent,
			Part: "whatever the questions leave open", Wiring: true,
		},
	})
	prior := math.Log(noneOf)
	return found{
		first:   &hypothesis{cause: len(s.causes) - 1, variant: &variant{apply: nowhere}, prior: prior},
		prior:   prior,
		holding: holding{likelihood: total + rest, verdicts: vs},
	}
}

// byChance is how probable it is that what nobody knows brings about an event just when it was sensed, or a reading as it was. The contrary
// of a state is one thing; of these it is many.
const byChance = 0.1

// binary reports whether a statement is of a state that has one contrary.
func binary(o *complaint.Observation) bool {
	switch o.What {
	case complaint.Display, complaint.Click, complaint.Alert, complaint.Sounder:
		return false
	default:
		return o.Form != complaint.Becomes
	}
}

// nowhere: nobody knows what the world is like.
func nowhere(w replay.World) (replay.World, bool) { return w, false }

// erratic is the logarithm of the likelihood of what was sensed where it agrees with the account at an unknown rate, all rates being equally
// probable beforehand (Laplace's rule of succession), and does not agree once at least.
func (e *evidence) erratic(base verdicts) float64 {
	log, agree, depart := 0.0, 0.0, 0.0
	for i, v := range base {
		switch v {
		case replay.Agrees:
			agree += e.weights[i]
		case replay.Departs:
			depart += e.weights[i]
			if !binary(&e.c.Sensed[i]) {
				log += e.weights[i] * math.Log(byChance)
			}
		default:
			// It says nothing either way: worth what a coin is.
			log -= e.weights[i] * math.Ln2
		}
	}
	if depart == 0 {
		return math.Inf(-1)
	}
	a, _ := math.Lgamma(agree + 1)
	d, _ := math.Lgamma(depart + 1)
	n, _ := math.Lgamma(agree + depart + 2)
	return log + a + d - n
}

// steady is the same where each kind of thing is as the account has it, or since an instant the contrary, and one of them is: over all ways in
// which that can be, and in the best of them, with what comes of each statement there. A world says nothing that agrees.
func (e *evidence) steady(base verdicts, since int64) (whole, best float64, vs verdicts) {
	type kind struct {
		what  complaint.What
		level bool // which the account has, or would have but for the statement
	}
	type sums struct {
		kind
		as, contrary float64
	}
	var kinds []sums
	of := make([]int, len(base)) // which of kinds
	vs = make(verdicts, len(base))
	for i, v := range base {
		o := &e.c.Sensed[i]
		if v == replay.CannotTell {
			whole -= e.weights[i] * math.Ln2
			continue
		}
		level := o.Level != 0
		if o.Form == complaint.Never {
			level = !level
		}
		its := kind{o.What, level == (v == replay.Agrees)}
		if of[i] = slices.IndexFunc(kinds, func(k sums) bool { return k.kind == its }); of[i] < 0 {
			of[i] = len(kinds)
			kinds = append(kinds, sums{kind: its})
		}
		k := &kinds[of[i]]
		right, wrong := e.weights[i]*math.Log(replay.Likelihood(o.Sure, 1)), e.weights[i]*math.Log(replay.Likelihood(o.Sure, 0))
		as, contrary := right, wrong
		if v == replay.Departs {
			as, contrary = wrong, right
		}
		switch {
		case o.When.Windows[0].From < since:
			contrary = as
		case !binary(o):
			contrary = e.weights[i] * math.Log(byChance)
		}
		k.as += as
		k.contrary += contrary
	}
	best = whole
	ways, asItIs := 0.0, 0.0
	for _, k := range kinds {
		ways += logAdd(k.as+math.Log(1-turned), k.contrary+math.Log(turned))
		asItIs += k.as + math.Log(1-turned)
		best += max(k.as, k.contrary)
	}
	whole += ways + math.Log1p(-math.Exp(min(0, asItIs-ways))) // that nothing is otherwise is the account, and nothing else
	for i, v := range base {
		if v == replay.CannotTell {
			continue
		}
		k := &kinds[of[i]]
		so := k.contrary > k.as && e.c.Sensed[i].When.Windows[0].From >= since
		if so == (v == replay.Agrees) {
			vs[i] = replay.Departs
		}
	}
	further := e.further(vs, vs)
	return whole + further, best + further, vs
}
