package diagnosis

import (
	"cmp"
	"math"
	"slices"

	"example.org/hearthbench/conformance/replay"
)

// Ask is a question that would tell causes apart.
type Ask struct {
	Question
	Bits float64 `json:"bits"` // expected information
	// Leads says what each choice would make most probable.
	Leads []string `json:"leads"`
}

// Put is a question that has been asked, and its answer.
type Put struct {
	Question string `json:"question"`
	Answer   string `json:"answer"`
}

const (
	mostProbed = 64   // hypotheses whose answers are found out
	perGroup   = 3    // of one cause
	shown      = 3    // questions in a result
	worthLead  = 0.02 // a choice less probable than this is said to lead nowhere: it would most probably be a mistake
	worthBits  = 0.1  // a question that is expected to tell less is not worth asking
	// turn is what each question costs beside its minutes: the patience of whoever is asked.
	turn = 20.0
)

// choose finds the questions that tell most for what they cost.
func (s *search) choose(r *Result, groups []*group, sum float64) error {
	a := &account{complaint: s.c, base: s.base, verdicts: s.account.verdicts}
	p := extend(s.c, s.base)
	if err := p.live(new(replay.Buffers)); err != nil {
		return err
	}
	a.h = p.h
	a.base = s.base
	qs := catalogue(a)
	qs = slices.DeleteFunc(qs, func(q *Question) bool {
		return slices.ContainsFunc(s.evidence.answers, func(x Answer) bool { return x.Question.ID == q.ID })
	})
	onSite := slices.ContainsFunc(s.evidence.answers, func(x Answer) bool { return x.Question.Who == Competent })
	// Each probed hypothesis stands for its share of its cause.
	type probed struct {
		group  int
		weight float64
		choice []int
	}
	var all []probed
	for i, g := range groups {
		if len(all) >= mostProbed {
			break
		}
		fs := slices.Clone(g.all)
		slices.SortStableFunc(fs, func(a, b *found) int { return cmp.Compare(b.score(), a.score()) })
		fs = fs[:min(len(fs), perGroup)]
		within := math.Inf(-1)
		for _, f := range fs {
			within = logAdd(within, f.score())
		}
		for _, f := range fs {
			share := math.Exp(f.score() - within)
			if share < 0.05 {
				continue
			}
			w, ok := f.world(s.base)
			if !ok {
				continue
			}
			p := extend(s.c, w)
			if err := p.live(&s.buffers); err != nil {
				continue
			}
			x := probed{group: i, weight: math.Exp(g.total-sum) * share, choice: make([]int, len(qs))}
			for k, q := range qs {
				x.choice[k] = q.predict(p)
			}
			all = append(all, x)
		}
	}
	mass := 0.0
	for _, x := range all {
		mass += x.weight
	}
	if mass == 0 {
		return nil
	}
	type rated struct {
		q     *Question
		bits  float64
		value float64
		leads []string
	}
	var best []rated
	causes := len(groups)
	before := make([]float64, causes)
	for _, x := range all {
		before[x.group] += x.weight / mass
	}
	entropy := bits(before)
	after := make([]float64, causes)
	for k, q := range qs {
		expected := 0.0
		leads := make([]string, len(q.Choices))
		for choice := range q.Choices {
			clear(after)
			total := 0.0
			for _, x := range all {
				l := q.chance(x.choice[k], choice) * x.weight / mass
				after[x.group] += l
				total += l
			}
			if total <= 0 {
				continue
			}
			top := 0
			for i := range after {
				after[i] /= total
				if after[i] > after[top] {
					top = i
				}
			}
			if total > worthLead {
				leads[choice] = s.causes[groups[top].key[0]].words
			}
			expected += total * bits(after)
		}
		gain := entropy - expected
		if gain < worthBits {
			continue
		}
		cost := q.Minutes
		if onSite && q.Who == Competent {
			cost = costTry // somebody is there already
		}
		best = append(best, rated{q, gain, gain / (turn + cost), leads})
	}
	slices.SortStableFunc(best, func(a, b rated) int { return cmp.Compare(b.value, a.value) })
	for _, x := range best {
		r.questions = append(r.questions, x.q)
		if len(r.Ask) < shown {
			r.Ask = append(r.Ask, Ask{Question: *x.q, Bits: rounded(x.bits), Leads: x.leads})
		}
	}
	return nil
}

// chance is the probability of a choice where a world leads to another, or to none in particular.
func (q *Question) chance(is, choice int) float64 {
	others := float64(len(q.Choices) - 1)
	switch {
	case is < 0:
		return 1 / (others + 1)
	case is == choice:
		return 1 - q.mistaken
	default:
		return q.mistaken / others
	}
}

// bits returns the entropy of a distribution.
func bits(p []float64) float64 {
	h := 0.0
	for _, x := range p {
		if x > 0 {
			h -= x * math.Log2(x)
		}
	}
	return h
}
