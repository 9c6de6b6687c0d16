package fuzz

import (
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// op is a request with its class.
type op struct {
	iut.Request
	class class
}

// generator makes scripts on the oracle.
type generator struct {
	alphabet
	*oracle
	view
	coverage *coverage
	doubts
	script   iut.Script
	classes  []class // of the script's requests
	previous class
	lastBy   [spec.NumSignals]spec.Clause
	fresh    int // how much that is new the script has reached
	// patience is how many seconds a step may let pass on average, 0 for any number; credit is what has been saved of them.
	// purse is what of it this script may use.
	patience uint64
	credit   uint64
	purse    uint64
	careful  int // steps that have been chosen with care
}

// newGenerator returns a generator for units with a valid statement.
func newGenerator(ics *spec.ICS, r random) (*generator, error) {
	o, err := newOracle(*ics)
	if err != nil {
		return nil, err
	}
	return &generator{oracle: o, alphabet: newAlphabet(&o.statement, r), coverage: newCoverage(), doubts: newDoubts()}, nil
}

// The lengths of scripts, in steps without the beginning and the end.
const (
	shortest = 3
	longest  = 24
)

// weighed is how many steps are drawn for each that is done.
const weighed = 4

// kinds, each as often as it is drawn, for a unit with power and a clock; waits are NumKinds.
var (
	usual = []spec.Kind{
		spec.NumKinds, spec.NumKinds, spec.NumKinds, spec.NumKinds, spec.NumKinds, spec.NumKinds, spec.NumKinds, spec.NumKinds,
		spec.PowerOff, spec.PowerOff, spec.PowerOn, spec.Fit, spec.SetClock, spec.SetClock, spec.SetMode, spec.SetMode, spec.SetMode,
		spec.SetPeriod, spec.SetPeriod, spec.SetPeriod, spec.SetPeriod, spec.Override, spec.Override, spec.Override, spec.Boost, spec.Boost, spec.Boost,
		spec.Holiday, spec.Holiday, spec.HolidayCancel, spec.LockArm, spec.LockArm, spec.LockRemove, spec.Reset,
	}
	dark = []spec.Kind{
		spec.NumKinds, spec.NumKinds, spec.NumKinds, spec.NumKinds, spec.NumKinds, spec.PowerOn, spec.PowerOn, spec.PowerOn, spec.PowerOn, spec.PowerOn, spec.PowerOn,
		spec.Fit, spec.Fit, spec.PowerOff, spec.SetClock, spec.SetMode, spec.SetPeriod, spec.Override, spec.Boost, spec.Holiday, spec.HolidayCancel, spec.LockArm,
		spec.LockRemove, spec.Reset,
	}
	unset = []spec.Kind{
		spec.NumKinds, spec.NumKinds, spec.NumKinds, spec.NumKinds, spec.SetClock, spec.SetClock, spec.SetClock, spec.SetClock, spec.SetMode, spec.SetMode,
		spec.SetPeriod, spec.SetPeriod, spec.Override, spec.Boost, spec.Boost, spec.Holiday, spec.HolidayCancel, spec.LockArm, spec.LockArm, spec.LockRemove,
		spec.Reset, spec.PowerOff,
	}
)

// draw draws a step.
func (g *generator) draw() op {
	kinds := usual
	if !g.facts.Powered {
		kinds = dark
	} else if !g.facts.ClockSet {
		kinds = unset
	}
	k := kinds[g.below(len(kinds))]
	if k == spec.NumKinds {
		return g.drawWait()
	}
	in, c := g.input(k, &g.view)
	return op{iut.Request{Kind: iut.Do, Input: in}, c}
}

// drawWait draws a wait that patience allows.
func (g *generator) drawWait() op {
	seconds, c := g.alphabet.wait(&g.view)
	if g.cost(seconds) > g.purse && g.patience > 0 {
		// The shortest waits are always allowed.
		i := g.below(4)
		seconds, c = [...]uint64{1, 30, 59, 60}[i], firstClass[spec.NumKinds]+class(waitShort)*4+class(i)
	}
	return op{iut.Request{Kind: iut.Go, Seconds: seconds}, c}
}

// lockCost is how many times as much a second costs while the lock is armed: firmware that lives through every second has more to do in it.
const lockCost = 4

// cost is what it costs to let seconds pass.
func (g *generator) cost(seconds uint64) uint64 {
	if g.facts.Lock.Stage != spec.Dormant {
		return lockCost * seconds
	}
	return seconds
}

// nextStep draws steps and returns the one that has been tried least in a state like this.
func (g *generator) nextStep() op {
	best := g.draw()
	least := g.coverage.tried(g.place(&best), g.previous)
	for i := 1; i < weighed && least > 0; i++ {
		o := g.draw()
		if n := g.coverage.tried(g.place(&o), g.previous); n < least {
			best, least = o, n
		}
	}
	return best
}

// channel returns the channel that a step is for, hot water if it is for none.
func (o *op) channel() spec.Channel { return channelFor(&o.Request) }

func channelFor(r *iut.Request) spec.Channel {
	if r.Kind == iut.Do {
		switch in := &r.Input; in.Kind {
		case spec.SetMode, spec.Override, spec.Boost:
			return in.Channel
		case spec.SetPeriod:
			if in.Table == spec.CHTable {
				return spec.CH
			}
		}
	}
	return spec.HW
}

// place is where a step counts: its class in what matters of the state.
func (g *generator) place(o *op) uint32 {
	kind := spec.Kind(spec.NumKinds)
	if o.Kind == iut.Do {
		kind = o.Input.Kind
	}
	own := g.own(kind, o.channel())
	return uint32(o.class)<<placeBits | g.global()<<5 | own
}

// put does a step on the oracle.
func (g *generator) put(o op) {
	if g.coverage.step(g.place(&o), g.previous) {
		g.fresh++
	}
	g.previous = o.class
	from := len(g.changes)
	g.script = append(g.script, o.Request)
	g.classes = append(g.classes, o.class)
	g.credit += g.patience
	if o.Kind == iut.Go {
		cost := g.cost(o.Seconds)
		g.credit, g.purse = g.credit-min(g.credit, cost), g.purse-min(g.purse, cost)
		g.oracle.wait(o.Seconds)
	} else {
		g.do(o.Input)
	}
	for i := from; i < len(g.changes); i++ {
		c := &g.changes[i]
		if g.coverage.pair(g.lastBy[c.Signal], c) {
			g.fresh += freshPair
		}
		g.lastBy[c.Signal] = c.By
	}
	g.look(&g.unit)
}

// start begins a script: what is fitted, power, and mostly a clock that is set.
func (g *generator) start() {
	g.oracle.begin()
	g.script = append(g.script[:0], iut.Request{Kind: iut.New})
	g.classes = append(g.classes[:0], 0)
	g.previous, g.fresh = 0, 0
	// Most scripts save for the few that can afford days.
	switch r := g.below(256); {
	case r == 0:
		g.purse = g.credit
	case r < 16:
		g.purse = g.credit / 64
	default:
		g.purse = g.credit / 1024
	}
	g.lastBy = [spec.NumSignals]spec.Clause{}
	g.look(&g.unit)
}

func (g *generator) firstSteps() {
	if g.oneIn(4) {
		for range 1 + g.below(2) {
			in, c := g.input(spec.Fit, &g.view)
			if _, ok := g.ics.Fit(g.facts.Back, in.FitOption, in.FitValue); ok {
				g.put(op{iut.Request{Kind: iut.Do, Input: in}, c})
			}
		}
	}
	g.put(op{iut.Request{Kind: iut.Do, Input: spec.Input{Kind: spec.PowerOn}}, firstClass[spec.PowerOn]})
	if !g.oneIn(8) {
		in, c := g.input(spec.SetClock, &g.view)
		g.put(op{iut.Request{Kind: iut.Do, Input: in}, c})
	}
}

// lastStep lets time pass, so that what has been stored wrong shows.
func (g *generator) lastStep() {
	seconds := uint64(pick(&g.random, 1, 1, 2, 2, 2, 3, 8, 8)) * calendar.Day
	for _, less := range [...]uint64{calendar.Day, calendar.Hour, calendar.Minute} {
		if g.patience > 0 && g.cost(seconds) > g.purse {
			seconds = less
		}
	}
	if !g.facts.Powered {
		g.put(op{iut.Request{Kind: iut.Do, Input: spec.Input{Kind: spec.PowerOn}}, firstClass[spec.PowerOn]})
	}
	g.put(op{iut.Request{Kind: iut.Go, Seconds: seconds}, firstClass[spec.NumKinds] + class(waitDays)*4 + 2})
}

// make makes a script: a new one, or a kept one varied.
func (g *generator) make(kept []entry) {
	if g.careful < carefulSteps {
		g.makeCarefully()
		return
	}
	g.start()
	if len(kept) < minKept || g.oneIn(2) {
		g.firstSteps()
		for range shortest + g.below(longest-shortest) {
			g.put(g.nextStep())
		}
		g.lastStep()
		return
	}
	e := &kept[g.below(len(kept))]
	if g.oneIn(2) {
		// As far as a point, and on from there.
		cut := 1 + g.below(len(e.script)-1)
		g.follow(e, 1, cut)
		for range shortest + g.below(longest/2) {
			g.put(g.nextStep())
		}
		g.lastStep()
		return
	}
	for i := 1; i < len(e.script); i++ {
		switch g.below(16) {
		case 0: // left out
			continue
		case 1, 2:
			g.put(g.nextStep())
		case 3, 4: // another argument, or another wait
			g.put(g.again(&e.script[i]))
			continue
		case 5: // the rest of another one
			if f := &kept[g.below(len(kept))]; len(f.script) > 2 {
				g.follow(f, 2+g.below(len(f.script)-2), len(f.script))
				return
			}
		}
		g.follow(e, i, i+1)
	}
	g.lastStep()
}

// replay makes a script that is given.
func (g *generator) replay(script iut.Script) {
	g.start()
	for _, r := range script[1:] {
		c := firstClass[spec.NumKinds]
		if r.Kind == iut.Do {
			c = firstClass[r.Input.Kind]
		}
		g.put(op{r, c})
	}
}

// follow does steps of a kept script.
func (g *generator) follow(e *entry, from, to int) {
	for i := from; i < to; i++ {
		o := op{e.script[i], e.classes[i]}
		if o.Kind == iut.Go && g.patience > 0 && g.cost(o.Seconds) > g.purse {
			o = g.drawWait()
		}
		g.put(o)
	}
}

// again draws a step of a request's kind.
func (g *generator) again(r *iut.Request) op {
	if r.Kind == iut.Go {
		return g.drawWait()
	}
	in, c := g.input(r.Input.Kind, &g.view)
	return op{iut.Request{Kind: iut.Do, Input: in}, c}
}
