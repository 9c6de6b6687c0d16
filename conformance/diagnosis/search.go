package diagnosis

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
)

// Bounds of the search. They are counts, so that the same complaint has the same result on every machine.
const (
	mostPairs    = 320 // pairs that are lived through
	mostPaired   = 240 // of the best hypotheses that are paired
	mostCauses   = 400 // that are kept in a result
	improvesBy   = 0.7 // nats by which a hypothesis must improve on the account to be worth pairing
	bayesFactor  = 3.0 // between causes that the evidence cannot tell apart
	worthKeeping = 1e-6
)

// found is a hypothesis, single or a pair, that has been lived through.
type found struct {
	first, second *hypothesis // second is nil of a single one
	prior         float64     // logarithm
	holding
}

// hypothesis is one variant of one cause.
type hypothesis struct {
	cause   int
	variant *variant
	prior   float64 // logarithm
}

func (f *found) score() float64 { return f.prior + f.likelihood }

// world returns the world of the hypothesis.
func (f *found) world(base replay.World) (replay.World, bool) {
	w, ok := f.first.variant.apply(base)
	if !ok || f.second == nil {
		return w, ok
	}
	return f.second.variant.apply(w)
}

// search is a diagnosis under way.
type search struct {
	c        *complaint.Complaint
	base     replay.World
	causes   []cause
	evidence *evidence
	buffers  replay.Buffers
	account  found // the account as it is
	none     float64
	found    []found
	lived    int  // how many worlds
	extends  bool // worlds are lived through beyond the history, since questions have been answered
}

// Diagnose looks for what explains the complaint, given the answers to questions that have been asked so far. The account it begins with
// is [replay.FromComplaint]'s. It fails only if that account cannot be lived through.
func Diagnose(c *complaint.Complaint, answers ...Answer) (*Result, error) {
	base, err := replay.FromComplaint(c)
	if err != nil {
		return nil, err
	}
	return From(c, base, answers...)
}

// From is [Diagnose] with another account of what was the case.
func From(c *complaint.Complaint, base replay.World, answers ...Answer) (*Result, error) {
	s := &search{c: c, base: base, evidence: gather(c, answers), extends: len(answers) > 0}
	for _, a := range answers {
		switch {
		case a.Question == nil:
			return nil, errors.New("an answer to no question; take the question from Result.Next or Result.Questions")
		case a.Choice < 0 || a.Choice >= len(a.Question.Choices):
			return nil, fmt.Errorf("choice %d is none that the question %s has; choose one of 0 to %d", a.Choice, a.Question.ID, len(a.Question.Choices)-1)
		}
	}
	if err := s.begin(); err != nil {
		return nil, err
	}
	if err := s.singles(); err != nil {
		return nil, err
	}
	s.pairs()
	return s.result()
}

// begin lives through the account itself, and gathers hypotheses from what it leaves unexplained.
func (s *search) begin() error {
	h, err := replay.Run(&s.base, new(replay.Buffers))
	if err != nil {
		return fmt.Errorf("the account cannot be lived through: %w", err)
	}
	b := &builder{c: s.c, base: s.base, h: h, before: s.base.From}
	if s.account.holding, err = s.live(s.base, subject{}); err != nil {
		return err
	}
	vs := s.account.verdicts
	for i := range s.c.Sensed {
		if vs[i] == replay.Departs {
			b.trouble = append(b.trouble, replay.Compare(h, &s.c.Sensed[i]).At)
		}
	}
	slices.Sort(b.trouble)
	b.explainedUntil(vs)
	s.none = s.evidence.unexplained(h, vs)
	b.normal()
	if err := b.told(); err != nil {
		return err
	}
	b.fitted()
	b.tables()
	b.clock()
	b.slips()
	b.forgotten()
	b.lock()
	b.wiring()
	b.controls()
	b.outside()
	s.causes = b.causes
	return nil
}

// explainedUntil finds the last statement that the account explains before the first that it does not.
func (b *builder) explainedUntil(vs verdicts) {
	if len(b.trouble) == 0 {
		return
	}
	for i := range b.c.Sensed {
		if vs[i] != replay.Agrees {
			continue
		}
		for _, w := range b.c.Sensed[i].When.Windows {
			if w.To < b.trouble[0] {
				b.before = max(b.before, w.To)
			}
		}
	}
}

// live lives through a world and holds it against the evidence.
func (s *search) live(w replay.World, about subject) (holding, error) {
	s.lived++
	var p *probe
	if s.extends {
		p = extend(s.c, w)
		w = p.world
	}
	h, err := replay.Run(&w, &s.buffers)
	if err != nil {
		return holding{}, err
	}
	if p != nil {
		p.h = h
	}
	return s.evidence.hold(h, about, p), nil
}

// singles lives through every hypothesis.
func (s *search) singles() error {
	total := weightNone
	for i := range s.causes {
		total += s.causes[i].weight
	}
	s.none += math.Log(weightNone / total)
	for i := range s.causes {
		c := &s.causes[i]
		for j := range c.variants {
			v := &c.variants[j]
			prior := math.Log(c.weight / total * v.share * (1 - secondCause))
			f := found{first: &hypothesis{cause: i, variant: v, prior: prior}, prior: prior}
			if c.told || c.id == "normal/unit" || c.id == "normal/plant" {
				f.holding = s.account.holding
				if !c.told && s.account.verdicts.departures() > 0 {
					f.prior += math.Log(weightStatement / (weightUnitNormal + weightPlantNormal))
				}
				s.found = append(s.found, f)
				continue
			}
			w, ok := v.apply(s.base)
			if !ok {
				continue
			}
			var err error
			if f.holding, err = s.live(w, c.subject); err != nil {
				// A hypothesis that cannot be is none: a setting that the installation does not have, say.
				continue
			}
			if f.likelihood < s.account.likelihood+improvesBy/2 {
				f.prior += math.Log(s.idle(total))
			}
			s.found = append(s.found, f)
		}
	}
	if len(s.found) == 0 {
		return errors.New("no hypothesis can be lived through; give the complaint a unit and an installation")
	}
	return nil
}

// idle is what is left of the prior of a cause that explains nothing which the account does not. Where the account leaves something
// unexplained, the complaint is then made of mistakes, whatever else may be the case. Where it leaves nothing, the cause has not shown.
func (s *search) idle(total float64) float64 {
	if s.account.verdicts.departures() > 0 {
		return weightStatement / total
	}
	return unseen
}

// pairs lives through pairs of hypotheses of which each explains something that the account does not.
func (s *search) pairs() {
	var improving []*found
	best := math.Inf(-1)
	complete := false
	for i := range s.found {
		f := &s.found[i]
		if f.score() > best {
			best = f.score()
			complete = f.verdicts.departures() == 0
		}
		if f.likelihood > s.account.likelihood+improvesBy {
			improving = append(improving, f)
		}
	}
	if complete || len(improving) == 0 {
		return
	}
	slices.SortStableFunc(improving, func(a, b *found) int { return cmp.Compare(b.score(), a.score()) })
	improving = perCause(improving, 2)
	improving = improving[:min(len(improving), mostPaired)]
	type pair struct {
		a, b  *found
		bound float64
	}
	var pairs []pair
	for i, a := range improving {
		for _, b := range improving[i+1:] {
			if b.first.cause == a.first.cause {
				continue
			}
			// At every statement a pair is hardly better than the better of the two.
			together := 0.0
			for k := range a.each {
				together += float64(max(a.each[k], b.each[k]))
			}
			if together > max(a.likelihood, b.likelihood)+improvesBy {
				pairs = append(pairs, pair{a, b, together + a.prior + b.prior})
			}
		}
	}
	slices.SortStableFunc(pairs, func(a, b pair) int { return cmp.Compare(b.bound, a.bound) })
	var both []found
	for _, p := range pairs[:min(len(pairs), mostPairs)] {
		f := found{first: p.a.first, second: p.b.first, prior: p.a.prior + p.b.prior + math.Log(secondCause/(1-secondCause)/(1-secondCause))}
		w, ok := f.world(s.base)
		if !ok {
			continue
		}
		var err error
		f.holding, err = s.live(w, s.causes[f.first.cause].subject.or(s.causes[f.second.cause].subject))
		if err != nil {
			continue
		}
		// Of use only if it explains more than either of the two.
		if f.likelihood > max(p.a.likelihood, p.b.likelihood)+improvesBy {
			both = append(both, f)
		}
	}
	s.found = append(s.found, both...)
}

// perCause keeps so many hypotheses of each cause, the first ones.
func perCause(fs []*found, most int) []*found {
	count := map[int]int{}
	return slices.DeleteFunc(slices.Clone(fs), func(f *found) bool {
		count[f.first.cause]++
		return count[f.first.cause] > most
	})
}
