package runner

import (
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/tolerance"
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

// comparer holds one observation against one bound vector, within what the ICS's tolerances allow.
type comparer struct {
	bound   *suite.Bound
	rules   *tolerance.Rules
	stagger uint64
	// expected is the vector's trace. Where levels after the given inputs are not the expected ones, the changes that would have
	// made them so stand before it: such a change may be late, since the unit has only just been powered on.
	expected []spec.Change
	starts   int // how many of those there are
}

func newComparer(b *suite.Bound, ics *spec.ICS, slack uint64) *comparer {
	c := &comparer{bound: b, rules: tolerance.New(ics, ics.Tolerances), stagger: uint64(ics.Tolerances.Stagger)}
	c.rules.Slack = slack
	for i := range b.Given {
		c.rules.Did(0, &b.Given[i])
	}
	for i := range b.Steps {
		if b.Steps[i].Want == spec.Accepted {
			c.rules.Did(b.Steps[i].At, &b.Steps[i].Input)
		}
	}
	return c
}

// compare compares the levels after the given inputs and the changes after them with what the vector expects. exact is false where
// only the tolerances make them agree.
func compare(b *suite.Bound, ics *spec.ICS, slack uint64, initial [spec.NumSignals]spec.Level, observed []spec.Change) (d *Departure, exact bool) {
	if initial == b.Initial && same(b.Trace, observed) {
		return nil, true
	}
	return newComparer(b, ics, slack).compare(initial, observed), false
}

func (c *comparer) compare(initial [spec.NumSignals]spec.Level, observed []spec.Change) (d *Departure) {
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
		if found := c.signal(s, initial[s], observed, came); found != nil && (d == nil || found.At < d.At) {
			d = found
		}
	}
	if found := c.order(observed, came); found != nil && (d == nil || found.At < d.At) {
		d = found
	}
	if d != nil && d.Expected != nil && d.Kind != WrongOrder {
		for e := range c.starts {
			if d.Expected == &c.expected[e] {
				return &Departure{Kind: WrongStart, Expected: d.Expected, Observed: &spec.Change{Signal: d.Expected.Signal, Level: initial[d.Expected.Signal]}}
			}
		}
	}
	return d
}

func same(a, b []spec.Change) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i].Signal != b[i].Signal || a[i].Level != b[i].Level || a[i].At != b[i].At {
			return false
		}
	}
	return true
}

// signal compares the changes of one signal in their order, and notes in came which is which.
func (c *comparer) signal(s spec.Signal, initial spec.Level, observed []spec.Change, came []int) *Departure {
	expectedAt, expected := of(s, c.expected)
	observedAt, seen := of(s, observed)
	m := c.rules.Match(initial, expected, seen, c.bound.Vector.Until)
	for e, o := range m.Came {
		if o >= 0 {
			came[expectedAt[e]] = observedAt[o]
		}
	}
	switch {
	case m.Whole:
		return nil
	case m.Observed == len(seen):
		return &Departure{At: m.At, Kind: Missing, Expected: expected[m.Expected]}
	case m.Expected == len(expected):
		return &Departure{At: m.At, Kind: Unexpected, Observed: seen[m.Observed]}
	}
	want, got := expected[m.Expected], seen[m.Observed]
	switch {
	case got.At < want.At:
		return &Departure{At: m.At, Kind: Unexpected, Expected: want, Observed: got}
	case got.Level == want.Level:
		return &Departure{At: m.At, Kind: Late, Expected: want, Observed: got}
	default:
		return &Departure{At: m.At, Kind: Missing, Expected: want}
	}
}

// of returns the changes of a signal, and where they stand.
func of(s spec.Signal, changes []spec.Change) (at []int, own []*spec.Change) {
	for i := range changes {
		if changes[i].Signal == s {
			at, own = append(at, i), append(own, &changes[i])
		}
	}
	return at, own
}

// order finds changes that are expected in one second and came in one second, but in another order, and hot water that closes in
// the wake of heating. Relays that may change apart from each other need keep no order, nor need a unit whose inputs may come before or
// after what its clocks bring.
func (c *comparer) order(observed []spec.Change, came []int) *Departure {
	for e := c.starts; e < len(came); e++ {
		for later := e + 1; later < len(came) && c.expected[later].At == c.expected[e].At; later++ {
			first, second := came[e], came[later]
			if first < 0 || second < 0 || first < second {
				continue
			}
			if c.expected[e].By == spec.ClauseCoupling && observed[first].At > observed[second].At+c.stagger {
				return &Departure{At: c.expected[e].At, Kind: Late, Expected: &c.expected[e], Observed: &observed[first]}
			}
			if c.stagger > 0 || c.rules.Slack > 0 || observed[first].At != observed[second].At {
				continue
			}
			return &Departure{At: c.expected[e].At, Kind: WrongOrder, Expected: &c.expected[e], Observed: &observed[second]}
		}
	}
	return nil
}
