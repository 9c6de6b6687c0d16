package runner

import (
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/emulator/spec"
)

// Departure is where an observation first leaves what a vector expects.
type Departure struct {
	At   uint64 // second
	Kind DepartureKind
	// Expected and Observed are the changes that should have matched. Either may be nil: a change that did not come, and one
	// that should not have. Of an unexpected change, Expected is the signal's next one that is. Of a wrong start, they are the
	// levels after the given inputs, as changes in second 0.
	Expected, Observed *spec.Change
	// Step is the step whose reply was not the one expected, an index of the bound vector's steps.
	Step  int
	Reply spec.Outcome
}

// DepartureKind says in what way.
type DepartureKind uint8

// The kinds of departure.
const (
	WrongReply   DepartureKind = iota // an input was not answered as the vector says
	WrongStart                        // a level after the given inputs
	Missing                           // an expected change did not come
	Unexpected                        // a change came that is not expected then
	Late                              // the change came, later than the tolerances allow
	WrongOrder                        // changes of one second came in the wrong order
	ClaimMissing                      // an input of the vector was unsupported, against the ICS
)

// comparer holds one observation against one bound vector, within what the ICS's tolerances allow (see "The ICS" in BEHAVIOUR.md).
type comparer struct {
	bound *suite.Bound
	tol   spec.Tolerances
	// What the vector does, on which the allowances depend.
	power    []powerChange
	boosts   []boost
	usesLock bool
	// expected is the vector's trace. Where levels after the given inputs are not the expected ones, the changes that would have
	// made them so stand before it: such a change may be late, since the unit has only just been powered on.
	expected []spec.Change
	starts   int // how many of those there are
}

type powerChange struct {
	at uint64
	on bool
}

// boost is a boost that may come to its end.
type boost struct{ begin, end uint64 }

func newComparer(b *suite.Bound, ics *spec.ICS) *comparer {
	c := &comparer{bound: b, tol: ics.Tolerances}
	for i := range b.Given {
		c.note(ics, 0, &b.Given[i])
	}
	for i := range b.Steps {
		if b.Steps[i].Want == spec.Accepted {
			c.note(ics, b.Steps[i].At, &b.Steps[i].Input)
		}
	}
	return c
}

func (c *comparer) note(ics *spec.ICS, at uint64, in *spec.Input) {
	switch in.Kind {
	case spec.PowerOff, spec.PowerOn:
		c.power = append(c.power, powerChange{at, in.Kind == spec.PowerOn})
	case spec.LockArm:
		c.usesLock = true
	case spec.Boost:
		length := uint64(in.Amount) * 60
		if ics.Clamp {
			length = min(length, uint64(ics.BoostLongest)*60)
		}
		// Which of its possible ends a boost has depends on what runs when it begins; any of them will do.
		if ics.BoostExtends {
			for _, running := range c.boosts {
				if running.end > at {
					c.boosts = append(c.boosts, boost{running.begin, running.end + length})
				}
			}
			c.boosts = append(c.boosts, boost{at, at + uint64(ics.BoostLongest)*60})
		}
		c.boosts = append(c.boosts, boost{at, at + length})
	}
}

// compare compares the levels after the given inputs and the changes after them with what the vector expects. exact is false where
// only the tolerances make them agree.
func (c *comparer) compare(initial [spec.NumSignals]spec.Level, observed []spec.Change) (d *Departure, exact bool) {
	if initial == c.bound.Initial && same(c.bound.Trace, observed) {
		return nil, true
	}
	c.expected = nil
	for s := range initial {
		if initial[s] != c.bound.Initial[s] {
			c.expected = append(c.expected, spec.Change{Signal: spec.Signal(s), Level: c.bound.Initial[s]})
		}
	}
	c.starts = len(c.expected)
	c.expected = append(c.expected, c.bound.Trace...)
	came := make([]int, len(c.expected)) // index of the observed change for each expected one, -1 if there is none
	for e := range came {
		came[e] = -1
	}
	for s := spec.Signal(0); s < spec.NumSignals; s++ {
		if found := c.signal(s, observed, came); found != nil && (d == nil || found.At < d.At) {
			d = found
		}
	}
	if found := c.order(observed, came); found != nil && (d == nil || found.At < d.At) {
		d = found
	}
	if d != nil && d.Expected != nil && d.Kind != WrongOrder {
		for e := range c.starts {
			if d.Expected == &c.expected[e] {
				return &Departure{Kind: WrongStart, Expected: d.Expected, Observed: &spec.Change{Signal: d.Expected.Signal, Level: initial[d.Expected.Signal]}}, false
			}
		}
	}
	return d, false
}

func same(a, b []spec.Change) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if !alike(&a[i], &b[i]) || a[i].At != b[i].At {
			return false
		}
	}
	return true
}

func alike(a, b *spec.Change) bool { return a.Signal == b.Signal && a.Level == b.Level }

// signal compares the changes of one signal in their order, and notes in came which is which.
func (c *comparer) signal(s spec.Signal, observed []spec.Change, came []int) *Departure {
	expected := c.expected
	e, o := next(s, expected, 0), next(s, observed, 0)
	for e < len(expected) || o < len(observed) {
		switch {
		case o == len(observed):
			if c.mayBeAbsent(s, e) {
				e = c.afterAbsent(s, e)
				continue
			}
			return &Departure{At: expected[e].At, Kind: Missing, Expected: &expected[e]}
		case e == len(expected):
			return &Departure{At: observed[o].At, Kind: Unexpected, Observed: &observed[o]}
		}
		want, got := &expected[e], &observed[o]
		a := c.allowance(want)
		if alike(want, got) && got.At+a.drift >= want.At && got.At <= want.At+a.drift+a.late {
			came[e] = o
			e, o = next(s, expected, e+1), next(s, observed, o+1)
			continue
		}
		if c.mayBeAbsent(s, e) {
			e = c.afterAbsent(s, e)
			continue
		}
		switch {
		case got.At < want.At:
			return &Departure{At: got.At, Kind: Unexpected, Expected: want, Observed: got}
		case alike(want, got):
			return &Departure{At: want.At, Kind: Late, Expected: want, Observed: got}
		default:
			return &Departure{At: want.At, Kind: Missing, Expected: want}
		}
	}
	return nil
}

// next returns the index of the signal's next change from i on.
func next(s spec.Signal, changes []spec.Change, i int) int {
	for i < len(changes) && changes[i].Signal != s {
		i++
	}
	return i
}

// mayBeAbsent reports whether the tolerances let a change, together with the one that takes it back, not show: a pulse no longer
// than the lateness allowed, or a change that may come after the end.
func (c *comparer) mayBeAbsent(s spec.Signal, e int) bool {
	a := c.allowance(&c.expected[e])
	back := next(s, c.expected, e+1)
	if back == len(c.expected) {
		return c.expected[e].At+a.drift+a.late > c.bound.Vector.Until
	}
	late := a.drift + a.late
	if a.clock && c.allowance(&c.expected[back]).clock {
		late = a.late // a clock that is fast or slow makes both edges so
	}
	return late > 0 && c.expected[back].At-c.expected[e].At <= late
}

func (c *comparer) afterAbsent(s spec.Signal, e int) int {
	return next(s, c.expected, next(s, c.expected, e+1)+1)
}

// allowance says how far from its second a change may come.
type allowance struct {
	drift uint64 // s, early or late
	late  uint64 // s beyond that
	clock bool   // the civil clock brings the change, and nothing else can
}

func (c *comparer) allowance(want *spec.Change) (a allowance) {
	relay := want.Signal <= spec.SigCH
	stagger := uint64(0)
	if relay {
		stagger = uint64(c.tol.Stagger)
	}
	a.late = stagger
	ready := c.ready(want.At)
	if !c.settledByInput(want) {
		a.late += uint64(c.tol.LateScan)
		a.drift = partsPerMillion(want.At, c.tol.ClockRate)
		a.clock = want.By == spec.ClauseTable || want.By == spec.ClauseSpan || want.By == spec.ClauseSounder
		for _, step := range c.bound.Steps {
			a.clock = a.clock && step.At != want.At
		}
		boostDrift := uint64(0)
		for _, b := range c.boosts {
			if relay && b.end == want.At {
				boostDrift = max(boostDrift, partsPerMillion(b.end-b.begin, c.tol.BoostRate))
				a.clock = false
			}
		}
		a.drift += boostDrift
		if c.usesLock {
			a.late += c.cuts(want.At) * uint64(c.tol.LockGrain)
		}
	}
	if want.By != spec.ClausePower && ready > want.At {
		a.late = max(a.late, ready-want.At+uint64(c.tol.LateScan)+stagger)
	}
	return a
}

// settledByInput reports whether an input of the very second settles the level by itself, so that nothing the clocks bring can make
// it late (OUT-6). Where a lock limits the channels, a permit that opens in that second may have its part in it.
func (c *comparer) settledByInput(want *spec.Change) bool {
	if want.By == spec.ClausePower {
		return true
	}
	for i := range c.bound.Steps {
		step := &c.bound.Steps[i]
		if step.At != want.At || step.Want != spec.Accepted {
			continue
		}
		in := &step.Input
		own := want.Signal == spec.Signal(in.Channel) && !c.usesLock
		switch in.Kind {
		case spec.SetMode:
			if own && (want.By == spec.ClauseOff && in.Mode == spec.Off || want.By == spec.ClauseAlways && in.Mode == spec.Always) {
				return true
			}
		case spec.Boost:
			if own && want.By == spec.ClauseBoost && in.Amount > 0 {
				return true
			}
		case spec.Override:
			if own && want.By == spec.ClauseOverride {
				return true
			}
		case spec.Holiday:
			if want.By == spec.ClauseHoliday {
				return true
			}
		case spec.LockArm, spec.LockRemove:
			if want.Signal == spec.SigAlert {
				return true
			}
		}
	}
	return false
}

// ready returns the second up to which the outputs may lag after the last return of power, if that is there still, else 0: without
// power nothing may be late.
func (c *comparer) ready(second uint64) uint64 {
	ready := uint64(0)
	on := false
	for _, p := range c.power {
		switch {
		case p.at > second:
			return ready
		case !p.on && p.at == second: // what happens in that second with power comes before
		case !p.on:
			ready = 0
		case !on:
			ready = p.at + uint64(c.tol.LatePowerOn)
		}
		on = p.on
	}
	return ready
}

// cuts returns how many cuts begin up to a second.
func (c *comparer) cuts(second uint64) uint64 {
	n := uint64(0)
	for _, p := range c.power {
		if p.at <= second && !p.on {
			n++
		}
	}
	return n
}

// partsPerMillion rounds up.
func partsPerMillion(seconds uint64, rate uint32) uint64 {
	return (seconds*uint64(rate) + 999_999) / 1_000_000
}

// order finds changes that are expected in one second and came in one second, but in another order, and hot water that closes in
// the wake of heating. Relays that may change apart from each other need keep no order.
func (c *comparer) order(observed []spec.Change, came []int) *Departure {
	stagger := uint64(c.tol.Stagger)
	for e := c.starts; e < len(came); e++ {
		for later := e + 1; later < len(came) && c.expected[later].At == c.expected[e].At; later++ {
			first, second := came[e], came[later]
			if first < 0 || second < 0 || first < second {
				continue
			}
			if c.expected[e].By == spec.ClauseCoupling && observed[first].At > observed[second].At+stagger {
				return &Departure{At: c.expected[e].At, Kind: Late, Expected: &c.expected[e], Observed: &observed[first]}
			}
			if stagger > 0 || observed[first].At != observed[second].At {
				continue
			}
			return &Departure{At: c.expected[e].At, Kind: WrongOrder, Expected: &c.expected[e], Observed: &observed[second]}
		}
	}
	return nil
}
