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
	mostPairs    = 3000 // pairs that are lived through
	mostEffort   = 4e6  // of work on pairs: contacts that chatter make thousands of times as much as others
	perPair      = 2    // of the same two causes
	hopeless     = 14.0 // nats by which a pair may be less probable than the best single cause and still be looked at
	mostCauses   = 2000 // that are kept in a result
	improvesBy   = 0.7  // nats by which a hypothesis must improve on the account to be worth pairing
	bayesFactor  = 3.0  // between causes that the evidence cannot tell apart
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
	wants    bool  // the account as it is does not give what is wanted: there is something to complain of though nothing is wrong
	none     float64
	found    []found
	lived    int  // how many worlds
	effort   int  // and what work that was, by replay.History.Work
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
	b := &builder{c: s.c, base: s.base, h: h}
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
	account := b.bearingOf(h)
	s.wants = slices.Contains(account.wanted, replay.Departs)
	s.none = s.evidence.unexplained(h, vs)
	b.normal()
	b.told(account)
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
	s.effort += h.Work
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
			if !c.supposed() {
				f.holding = s.account.holding
				if !c.told && s.account.verdicts.departures() > 0 && !s.wants {
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
// unexplained, the complaint is then made of mistakes, whatever else may be the case. Where it leaves nothing, the cause has not shown; and
// where the account is not what is wanted, there is no need of it.
func (s *search) idle(total float64) float64 {
	switch {
	case s.account.verdicts.departures() > 0:
		return weightStatement / total
	case s.wants:
		return unneeded
	default:
		return unseen
	}
}

// pairs looks for two causes at once. Both have to be needed: each explains something that neither the account nor the other does. What a
// cause that the account tells of leaves unexplained, another may explain.
func (s *search) pairs() {
	told := s.withTold()
	var members []*found
	best := math.Inf(-1)
	for i := range s.found {
		f := &s.found[i]
		best = max(best, f.score())
		if s.explainsMore(f) {
			members = append(members, f)
		}
	}
	var both []found
	begun := s.effort
	for _, p := range s.promising(members, best) {
		if s.effort-begun > mostEffort {
			break
		}
		f := found{first: p.a.first, second: p.b.first, prior: p.a.first.prior + p.b.first.prior + math.Log(secondCause/(1-secondCause)/(1-secondCause))}
		w, ok := f.world(s.base)
		if !ok {
			continue
		}
		var err error
		f.holding, err = s.live(w, s.causes[f.first.cause].subject.or(s.causes[f.second.cause].subject))
		if err == nil && f.likelihood > max(p.a.likelihood, p.b.likelihood)+improvesBy {
			both = append(both, f)
		}
	}
	s.found = append(append(s.found, told...), both...)
}

// withTold returns the pairs of something that the account tells of, or as which the account as it is fails what is wanted, and a cause that
// explains what the account leaves unexplained. The account is as the first of them has it, so that the world is the second one's. Of what
// is told nobody doubts that it is so, only whether it is complained of too: the second cause shares its prior with its pairs.
func (s *search) withTold() (pairs []found) {
	var told []*found
	for i := range s.found {
		if c := &s.causes[s.found[i].first.cause]; c.told || c.id == "normal/unit" && s.wants {
			told = append(told, &s.found[i])
		}
	}
	if len(told) == 0 {
		return nil
	}
	for i := range s.found {
		f := &s.found[i]
		if !s.causes[f.first.cause].supposed() || f.likelihood <= s.account.likelihood+improvesBy {
			continue
		}
		f.prior -= math.Ln2
		for _, t := range told {
			pair := *f
			pair.second = t.first
			pair.prior -= math.Log(float64(len(told)))
			pairs = append(pairs, pair)
		}
	}
	return pairs
}

// supposed reports whether the cause is that something is otherwise than the account has it.
func (c *cause) supposed() bool { return !c.told && c.id != "normal/unit" && c.id != "normal/plant" }

// explainsMore reports whether a hypothesis explains something that the account does not.
func (s *search) explainsMore(f *found) bool {
	if !s.causes[f.first.cause].supposed() {
		return false
	}
	for k := range f.each {
		if f.each[k] > s.account.each[k]+improvesBy/2 {
			return true
		}
	}
	return false
}

// promise is a pair that is worth living through.
type promise struct {
	a, b  *found
	bound float64 // logarithm of what it may come to
	place int     // in the order in which pairs are looked at
}

// promising returns the pairs that may explain most, the best first. At every statement a pair is hardly better than the better of the two.
func (s *search) promising(members []*found, best float64) []promise {
	type key struct{ a, b int }
	kept := map[key][]promise{}
	place := 0
	for i, a := range members {
		for _, b := range members[i+1:] {
			if b.first.cause == a.first.cause {
				continue
			}
			prior := a.first.prior + b.first.prior + math.Log(secondCause)
			if prior < best-hopeless {
				continue
			}
			var together float32
			for k, x := range a.each {
				together += max(x, b.each[k])
			}
			bound := float64(together) + prior
			if bound < best-hopeless || float64(together) < max(a.likelihood, b.likelihood)+improvesBy {
				continue
			}
			// Of two causes, the ways in which they may have come about that go together best.
			place++
			k := key{a.first.cause, b.first.cause}
			of := kept[k]
			if len(of) < perPair {
				kept[k] = append(of, promise{a, b, bound, place})
				continue
			}
			least := 0
			for j := range of {
				if of[j].bound < of[least].bound {
					least = j
				}
			}
			if bound > of[least].bound {
				of[least] = promise{a, b, bound, place}
			}
		}
	}
	var all []promise
	for _, of := range kept {
		all = append(all, of...)
	}
	slices.SortFunc(all, func(x, y promise) int { return cmp.Or(cmp.Compare(y.bound, x.bound), cmp.Compare(x.place, y.place)) })
	return all[:min(len(all), mostPairs)]
}
