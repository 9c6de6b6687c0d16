package diagnosis

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
)

// Bounds of the search. They are counts, so that the same complaint has the same result on every machine.
const (
	mostCauses   = 2000 // that are kept in a result
	improvesBy   = 0.7  // nats by which a hypothesis must improve on the account to be worth pairing
	bayesFactor  = 3.0  // between causes that the evidence cannot tell apart
	worthKeeping = 1e-6
	mostOfCause  = 250_000 // work on one cause's variants: contacts that chatter make thousands of times as much as others, and each onset is much like the next
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
	s.found = append(s.found, s.noneOfThese())
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
	total := 0.0
	for i := range s.causes {
		total += s.causes[i].weight
	}
	for i := range s.causes {
		c := &s.causes[i]
		began := s.effort
		for j := range c.variants {
			if s.effort-began > mostOfCause {
				break
			}
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
			switch {
			case f.likelihood < s.account.likelihood+improvesBy/2:
				f.prior += math.Log(s.idle(total))
			case s.wants:
				f.prior += math.Log(unasked)
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
