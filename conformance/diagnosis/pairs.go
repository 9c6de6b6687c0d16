package diagnosis

import (
	"cmp"
	"math"
	"slices"
)

// Bounds of the search for pairs.
const (
	mostScanned = 2000 // pairs that are lived through at first
	mostRefined = 1800 // in other ways of the best of them
	mostMates   = 1000 // with a cause in place of another that has the same effect
	mostEffort  = 4e6  // of work on pairs: contacts that chatter make thousands of times as much as others
	perPair     = 2    // of the same two causes, at first
	refined     = 24   // pairs of causes whose other ways are looked at
	hopeless    = 14.0 // nats by which a pair may be less probable than the best single cause and still be looked at
	worthMates  = 7.0  // the same, against the best pair, for what has the same effect
)

// pairs looks for two causes at once. Both have to be needed: each explains something that neither the account nor the other does. What a
// cause that the account tells of leaves unexplained, another may explain.
//
// There are millions of pairs. At every statement one is hardly better than the better of the two, which says which are worth living
// through. Of causes that have the same effect alone, as all have that keep the boiler from lighting, one stands for all at first. Of the best
// pairs so found other ways are looked at, and then those for which their members stood.
func (s *search) pairs() {
	told := s.withTold()
	p := s.gather()
	for _, x := range p.promising() {
		if p.over() {
			break
		}
		p.try(x.a, x.b)
	}
	p.refine()
	p.mates()
	s.found = append(append(s.found, told...), p.kept...)
}

// pairing is a search for pairs under way.
type pairing struct {
	*search
	begun   int                    // the effort with which it began
	best    float64                // the score of the best single hypothesis
	ways    [][]*found             // of each cause that is supposed, its single hypotheses
	alone   map[*hypothesis]*found // the same, each as it was found alone
	classes [][]*found             // of those that explain something which the account does not, the same in effect; the most probable first
	tried   map[[2]*hypothesis]bool
	kept    []found
}

// gather begins a search for pairs with the single hypotheses that have been found.
func (s *search) gather() *pairing {
	p := &pairing{
		search: s, begun: s.effort, best: math.Inf(-1), ways: make([][]*found, len(s.causes)),
		alone: map[*hypothesis]*found{}, tried: map[[2]*hypothesis]bool{},
	}
	class := map[string]int{}
	for i := range s.found {
		f := &s.found[i]
		p.best = max(p.best, f.score())
		if !s.causes[f.first.cause].supposed() {
			continue
		}
		p.ways[f.first.cause] = append(p.ways[f.first.cause], f)
		p.alone[f.first] = f
		if !s.explainsMore(f) {
			continue
		}
		n, known := class[f.effect()]
		if !known {
			n = len(p.classes)
			class[f.effect()] = n
			p.classes = append(p.classes, nil)
		}
		p.classes[n] = append(p.classes[n], f)
	}
	for _, c := range p.classes {
		slices.SortStableFunc(c, func(x, y *found) int { return cmp.Compare(y.first.prior, x.first.prior) })
	}
	return p
}

// over reports whether all the work has been done that pairs are worth.
func (p *pairing) over() bool { return p.effort-p.begun > mostEffort }

// effect is the same of hypotheses that come to the same at every statement.
func (f *found) effect() string {
	b := make([]byte, 0, 4*len(f.each))
	for _, x := range f.each {
		n := math.Float32bits(x)
		b = append(b, byte(n), byte(n>>8), byte(n>>16), byte(n>>24))
	}
	return string(b)
}

// try lives through a pair, unless it has been, and keeps it if both are needed. It returns the pair, or nil.
func (p *pairing) try(a, b *found) *found {
	key := [2]*hypothesis{a.first, b.first}
	if p.tried[key] || p.tried[[2]*hypothesis{b.first, a.first}] {
		return nil
	}
	p.tried[key] = true
	f := found{first: a.first, second: b.first, prior: bothPrior(a, b)}
	if p.wants {
		f.prior += math.Log(unasked)
	}
	w, ok := f.world(p.base)
	if !ok {
		return nil
	}
	var err error
	f.holding, err = p.live(w, p.causes[f.first.cause].subject.or(p.causes[f.second.cause].subject))
	if err != nil || f.likelihood <= max(a.likelihood, b.likelihood)+improvesBy {
		return nil
	}
	p.kept = append(p.kept, f)
	return &p.kept[len(p.kept)-1]
}

// bothPrior returns the logarithm of the prior of two causes that do not depend on each other: that each is not the only one is in it once.
func bothPrior(a, b *found) float64 {
	return a.first.prior + b.first.prior + math.Log(secondCause/(1-secondCause)/(1-secondCause))
}

// promise is a pair that is worth living through.
type promise struct {
	a, b  *found
	bound float64 // logarithm of what it may come to
	place int     // in the order in which pairs are looked at
}

// bound returns what a pair may come to. At every statement it is taken to be the better of the two.
func (p *pairing) bound(a, b *found) (bound float64, ok bool) {
	prior := bothPrior(a, b)
	if prior < p.best-hopeless {
		return 0, false
	}
	var together float32
	for k, x := range a.each {
		together += max(x, b.each[k])
	}
	likelihood := float64(together) + p.evidence.further(a.verdicts, b.verdicts)
	bound = likelihood + prior
	return bound, bound >= p.best-hopeless && likelihood >= max(a.likelihood, b.likelihood)+improvesBy
}

// promising returns the pairs that may explain most, the best first: of each class its most probable member.
func (p *pairing) promising() []promise {
	type key struct{ a, b int }
	kept := map[key][]promise{}
	place := 0
	for i, class := range p.classes {
		a := class[0]
		for _, other := range p.classes[i+1:] {
			b := other[0]
			if b.first.cause == a.first.cause {
				continue
			}
			bound, ok := p.bound(a, b)
			if !ok {
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
	return all[:min(len(all), mostScanned)]
}

// leading returns the best pairs, one of each two causes, the best first.
func (p *pairing) leading() []*found {
	all := make([]*found, len(p.kept))
	for i := range p.kept {
		all[i] = &p.kept[i]
	}
	slices.SortStableFunc(all, func(x, y *found) int { return cmp.Compare(y.score(), x.score()) })
	seen := map[[2]int]bool{}
	return slices.DeleteFunc(all, func(f *found) bool {
		key := [2]int{min(f.first.cause, f.second.cause), max(f.first.cause, f.second.cause)}
		if seen[key] {
			return true
		}
		seen[key] = true
		return false
	})
}

// refine looks at other ways in which the two causes of the best pairs may have come about: of one with the other as it is, and then of the
// other. What fits best alone need not fit best together.
func (p *pairing) refine() {
	left := mostRefined
	leading := p.leading()
	for _, lead := range leading[:min(len(leading), refined)] {
		pair := *lead
		for turn := range 2 {
			fixed, other := p.alone[pair.first], p.ways[pair.second.cause]
			if turn == 1 {
				fixed, other = p.alone[pair.second], p.ways[pair.first.cause]
			}
			ways := slices.Clone(other)
			bounds := map[*found]float64{}
			for _, w := range ways {
				bounds[w], _ = p.bound(fixed, w)
			}
			slices.SortStableFunc(ways, func(x, y *found) int { return cmp.Compare(bounds[y], bounds[x]) })
			for _, w := range ways[:min(len(ways), left, mostRefined/refined)] {
				if p.over() {
					return
				}
				left--
				if f := p.try(fixed, w); f != nil && f.score() > pair.score() {
					pair = *f
				}
			}
		}
	}
}

// mates looks at what has the same effect alone as a member of one of the best pairs.
func (p *pairing) mates() {
	class := map[*hypothesis][]*found{}
	for _, c := range p.classes {
		for _, f := range c {
			class[f.first] = c
		}
	}
	leading := p.leading()
	left := mostMates
	for _, lead := range leading {
		if lead.score() < leading[0].score()-worthMates {
			return
		}
		a, b := lead.first, lead.second
		for _, x := range class[a] {
			for _, y := range class[b] {
				if left == 0 || p.over() {
					return
				}
				if x.first != a && y.first != b || x.first.cause == y.first.cause {
					continue // one at a time
				}
				left--
				p.try(x, y)
			}
		}
	}
}

// withTold returns the pairs of two things that the account tells of, or as which the account as it is fails what is wanted; and those of one
// of them and a cause that explains what the account leaves unexplained. The account is as the first of them has it, so that the world is the
// second one's. Of what is told nobody doubts that it is so, only whether it is complained of too: the second cause shares its prior with its pairs.
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
	for i, a := range told {
		for _, b := range told[i+1:] {
			if a.first.cause != b.first.cause {
				pair := *a
				pair.second = b.first
				pair.prior = min(a.prior, b.prior) + math.Log(secondCause)
				pairs = append(pairs, pair)
			}
		}
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
			if s.wants && s.causes[t.first.cause].told {
				pair.prior -= math.Log(unasked) // two things may well be complained of
			}
			pairs = append(pairs, pair)
		}
	}
	return pairs
}
