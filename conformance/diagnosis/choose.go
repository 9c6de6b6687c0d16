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
	mostProbed = 128  // hypotheses whose answers are found out
	perGroup   = 3    // of one cause
	shown      = 3    // questions in a result
	worthLead  = 0.02 // a choice less probable than this is said to lead nowhere: it would most probably be a mistake
	worthBits  = 0.2  // a question that is expected to tell less is not worth asking: it leaves nearly nine causes of ten
	worthShare = 0.25 // unless it tells so much of what is left to know: it makes sure
	// turn is what each question costs beside its minutes: the patience of whoever is asked, and of whoever asks.
	turn = 90.0
	// callOut is what a visit costs besides: the days until it comes, and somebody who stays in for it.
	callOut = 200.0
)

// choose finds the questions that tell most for what they cost.
func (s *search) choose(r *Result, groups []*group, sum float64) error {
	a := &account{complaint: s.c, base: s.base, verdicts: s.account.verdicts}
	p := extend(s.c, s.base)
	if err := p.live(new(replay.Buffers)); err != nil {
		return err
	}
	a.h = p.h
	qs := catalogue(a)
	qs = slices.DeleteFunc(qs, func(q *Question) bool { return q.answered(s.evidence.answers) })
	t := s.lookUp(qs, groups, sum)
	if len(t.probed) == 0 {
		return nil
	}
	onSite := slices.ContainsFunc(s.evidence.answers, func(x Answer) bool { return x.Question.Who == Competent })
	var all []rated
	for k, q := range qs {
		all = append(all, t.rate(q, k))
	}
	for _, q := range t.together(a, all, s.evidence.answers) {
		all = append(all, t.rate(q, -1))
	}
	best := slices.DeleteFunc(all, func(x rated) bool { return x.bits < min(worthBits, worthShare*t.before) })
	slices.SortStableFunc(best, func(a, b rated) int { return cmp.Compare(b.value(onSite), a.value(onSite)) })
	for _, x := range best {
		r.questions = append(r.questions, x.q)
		if len(r.Ask) < shown {
			ask := Ask{Question: *x.q, Bits: rounded(x.bits), Leads: make([]string, len(x.leads))}
			for i, g := range x.leads {
				if g >= 0 {
					ask.Leads[i] = s.causes[groups[g].key[0]].words
				}
			}
			r.Ask = append(r.Ask, ask)
		}
	}
	return nil
}

// rated is a question with what it is expected to tell.
type rated struct {
	q     *Question
	place int // in the table's questions, or -1
	bits  float64
	leads []int // for each choice the most probable group, or -1
}

// value is what a question tells for what it costs.
func (x *rated) value(onSite bool) float64 {
	cost := x.q.Minutes
	switch {
	case x.q.Who != Competent:
	case onSite:
		cost -= costVisit - costTry // somebody is there already
	default:
		cost += callOut
	}
	return x.bits / (turn + cost)
}

// table is what each question would come to in each of the hypotheses that stand for all.
type table struct {
	qs     []*Question
	probed []probed
	groups int     // numbered from 0; each has some that is probed
	before float64 // the entropy of the groups
	after  []float64
}

// probed is a hypothesis with a share of its cause's probability, and the choice of each question that it leads to.
type probed struct {
	group  int
	weight float64 // all of them come to 1
	choice []int
}

// lookUp finds out what the most probable hypotheses would answer.
func (s *search) lookUp(qs []*Question, groups []*group, sum float64) *table {
	t := &table{qs: qs}
	for i, g := range groups {
		if len(t.probed) >= mostProbed {
			break
		}
		fs := g.ranked()
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
			t.probed, t.groups = append(t.probed, x), i+1
		}
	}
	mass := 0.0
	for _, x := range t.probed {
		mass += x.weight
	}
	t.after = make([]float64, t.groups)
	for i := range t.probed {
		t.probed[i].weight /= mass
		t.after[t.probed[i].group] += t.probed[i].weight
	}
	t.before = bits(t.after)
	return t
}

// always reports whether a question has an answer in every hypothesis.
func (t *table) always(k int) bool {
	return !slices.ContainsFunc(t.probed, func(x probed) bool { return x.choice[k] < 0 })
}

// rate finds what a question is expected to tell, and what each choice would make most probable.
func (t *table) rate(q *Question, k int) rated {
	r := rated{q: q, place: k, leads: make([]int, len(q.Choices))}
	chance := func(i, choice int) float64 { return q.chance(t.probed[i].choice[k], choice) }
	if q.joint != nil {
		chance = t.chances(q.joint, len(q.Choices))
	}
	r.bits = t.tells(len(q.Choices), chance, func(choice, top int, total float64) {
		r.leads[choice] = -1
		if total > worthLead {
			r.leads[choice] = top
		}
	})
	return r
}

// tells returns the bits that a question is expected to tell, from the probability of each choice in each hypothesis. Of each choice it
// hands on the group that it would make the most probable, and how probable the choice is.
func (t *table) tells(choices int, chance func(i, choice int) float64, lead func(choice, top int, total float64)) float64 {
	expected := 0.0
	for choice := range choices {
		clear(t.after)
		total := 0.0
		for i := range t.probed {
			l := chance(i, choice) * t.probed[i].weight
			t.after[t.probed[i].group] += l
			total += l
		}
		top := 0
		if total > 0 {
			for i := range t.after {
				t.after[i] /= total
				if t.after[i] > t.after[top] {
					top = i
				}
			}
			expected += total * bits(t.after)
		}
		lead(choice, top, total)
	}
	return t.before - expected
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
