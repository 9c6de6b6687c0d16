package fuzz

import (
	"slices"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// At first, while there is much that has not been tried, it pays to choose each step with care, though that takes many times as long as the
// step itself. After each step there are doubts: units that have slipped on one of the things that they remember, and that nothing they have shown
// sets apart from the right one. The next step is the one of a few that settles most doubts of a sort that has not been settled yet, raises new
// ones, or brings an answer that has not come yet.

// carefulSteps is how many steps are chosen with care, and considered how many are drawn for each.
const (
	carefulSteps = 2500
	considered   = 8
)

// longestCareful is how many steps a careful script has at most; it ends before if so many as maxIdle settle no doubt. Long scripts pay,
// since much of what a step can go wrong on must have been brought about before.
const (
	longestCareful = 80
	maxIdle        = 10
)

// maxDoubts is how many doubts may be open at a time.
const maxDoubts = 48

// What counts for a step, and how much the first time; then a quarter of it each time.
const (
	settlesSort  = 24 // a doubt that no step of the sort has left settled
	settlesClass = 4  // a doubt that no step of the class has
	raisesSort   = 4
	raisesClass  = 1
	answersKind  = 24 // a kind of input is answered as none of its kind has been
	answersClass = 8
	newPlace     = 2
)

// doubt is a unit that has slipped after some step of the script.
type doubt struct {
	unit emulator.Unit
	slip mistake
	sort sort
	class
}

// doubts are those that are open, and how often others like them have been settled.
type doubts struct {
	open    []doubt
	settled int
	bySort  []uint8
	byClass []uint8
	kinds   []uint8 // answers, by the input's kind
	classes []uint8 // and by its class
	right   []spec.Change
	other   []spec.Change
}

func newDoubts() doubts {
	return doubts{
		bySort: make([]uint8, numSorts*numMistakes), byClass: make([]uint8, numClasses*numMistakes), kinds: make([]uint8, spec.NumKinds*spec.NumRefusals),
		classes: make([]uint8, numClasses*spec.NumRefusals),
	}
}

// worth is what comes of a worth when it has counted some times.
func worth(first int, times uint8) int { return first >> min(8, 2*times) }

func count(n *uint8) {
	if *n < 255 {
		*n++
	}
}

// counters returns how often doubts like one have been settled.
func (d *doubts) counters(o *doubt) (bySort, byClass *uint8) {
	return &d.bySort[int(o.sort)*numMistakes+int(o.slip)], &d.byClass[int(o.class)*numMistakes+int(o.slip)]
}

func (d *doubts) worth(o *doubt, bySort, byClass int) int {
	s, c := d.counters(o)
	return worth(bySort, *s) + worth(byClass, *c)
}

func (d *doubts) settle(o *doubt) {
	s, c := d.counters(o)
	count(s)
	count(c)
	d.settled++
}

// answers returns how often inputs of a kind, and of a class, have been answered like that.
func (d *doubts) answers(o *op, r spec.Reply) (byKind, byClass *uint8) {
	return &d.kinds[int(o.Input.Kind)*spec.NumRefusals+int(r.Refusal)], &d.classes[int(o.class)*spec.NumRefusals+int(r.Refusal)]
}

// on does the step on a unit.
func (o *op) on(u *emulator.Unit, changes []spec.Change) (spec.Reply, []spec.Change) {
	if o.Kind == iut.Do {
		return u.Do(o.Input, changes)
	}
	return spec.Reply{}, u.Advance(o.Seconds, changes)
}

// score says how much a step would bring to light.
func (g *generator) score(o *op) int {
	d := &g.doubts
	v := g.unit
	var r spec.Reply
	r, d.right = o.on(&v, d.right[:0])
	sum := 0
	for i := range d.open {
		p := &d.open[i]
		w := d.worth(p, settlesSort, settlesClass)
		if w == 0 {
			continue
		}
		u := p.unit
		var s spec.Reply
		if s, d.other = o.on(&u, d.other[:0]); s.Outcome != r.Outcome || !slices.EqualFunc(d.right, d.other, sameChange) {
			sum += w
		}
	}
	now := v.Facts()
	raised := doubt{sort: g.sortOf(&o.Request, r, &g.facts, &now), class: o.class}
	for s := range numSlips {
		if s.isFine() {
			continue
		}
		f := now
		if w := g.perturb(s, o.channel(), &g.facts, &f); w != noWay {
			raised.slip = mistakeOf(s, w)
			sum += d.worth(&raised, raisesSort, raisesClass)
		}
	}
	if o.Kind == iut.Do {
		byKind, byClass := d.answers(o, r)
		sum += worth(answersKind, *byKind) + worth(answersClass, *byClass)
	}
	if g.coverage.places[g.place(o)] == 0 {
		sum += newPlace
	}
	return sum
}

// putCarefully does a step, and notes what it settles and what it leaves open.
func (g *generator) putCarefully(o op) {
	d := &g.doubts
	was, channel, from := g.facts, o.channel(), len(g.changes)
	g.put(o)
	r := g.prediction.answers[len(g.prediction.answers)-1].reply
	open := d.open[:0]
	for i := range d.open {
		p := &d.open[i]
		var s spec.Reply
		if s, d.other = o.on(&p.unit, d.other[:0]); s.Outcome != r.Outcome || !slices.EqualFunc(g.changes[from:], d.other, sameChange) {
			d.settle(p)
		} else {
			open = append(open, *p)
		}
	}
	d.open = open
	if o.Kind == iut.Do {
		byKind, byClass := d.answers(&o, r)
		count(byKind)
		count(byClass)
	}
	raised := doubt{sort: g.sortOf(&o.Request, r, &was, &g.facts), class: o.class}
	for s := range numSlips {
		if s.isFine() {
			continue
		}
		f := g.facts
		w := g.perturb(s, channel, &was, &f)
		raised.slip = mistakeOf(s, w)
		if w == noWay || d.worth(&raised, settlesSort, settlesClass) == 0 {
			continue
		}
		raised.unit = g.unit
		raised.unit.Restore(&f)
		d.other = raised.unit.Settle(d.other[:0])
		switch {
		case len(d.other) > 0: // it would show at once
			d.settle(&raised)
		case raised.unit.Apart(&g.unit) == 0:
		case len(d.open) < maxDoubts:
			d.open = append(d.open, raised)
		default:
			d.open[g.below(maxDoubts)] = raised
		}
	}
}

// makeCarefully makes a script of steps that are chosen with care.
func (g *generator) makeCarefully() {
	g.start()
	g.purse = g.credit / 16
	g.doubts.open = g.doubts.open[:0]
	g.firstSteps()
	for n, idle := 0, 0; n < longestCareful && idle < maxIdle; n++ {
		best, most := op{}, -1
		for range considered {
			o := g.draw()
			if n := g.score(&o); n > most {
				best, most = o, n
			}
		}
		was := g.doubts.settled
		g.putCarefully(best)
		if idle++; g.doubts.settled > was {
			idle = 0
		}
	}
	g.lastStep()
	g.careful += len(g.script) - 1
}
