package capture

import (
	"fmt"
	"math"
	"time"

	"example.org/hearthbench/conformance/recording"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/scenario"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Options are what a check is told beside recording and scenario.
type Options struct {
	// Signals are those to hold against the scenario; none stands for the relays that the unit has, and alert and sounder where the
	// scenario moves them.
	Signals []spec.Signal
	// Start is when the scenario starts, after the first sample; with Align it is found.
	Start time.Duration
	Align bool
	// ICS is what the unit's maker claims; nil stands for what is claimed where nothing is said. (A scenario states none: the emulator is
	// exact.)
	ICS *spec.Tolerances
	// Tolerance is how far from its second a change may come beyond what the ICS allows, either way.
	Tolerance time.Duration
	// Drift is how fast or slow the unit's clock may run against the recorder's beyond the ICS's clock-rate, in parts per million.
	Drift float64
}

// Default values of options that are claims about the equipment, not about the unit.
const (
	DefaultTolerance = 2 * time.Second // a press that is timed by hand, and contacts
	DefaultDrift     = 200             // parts per million: two ordinary quartz clocks
	DefaultBounce    = recording.DefaultBounce
)

// Result is what came of a check.
type Result struct {
	Recording *Recording
	Trace     *scenario.Trace
	Options   Options // with what was chosen in place of what was left open

	Verdict runner.Verdict // Pass, Fail or Inconclusive
	Exact   bool           // a pass that needed no tolerance: every change came in its second
	// Missing says what makes a check inconclusive: what was not recorded, or why nothing could be compared.
	Missing []string

	// Start is when the scenario starts in the recording, in seconds: stated or found.
	Start float64
	// Gain is how fast the unit's clock runs against the recorder's, in parts per million; a clock that loses has a negative one.
	Gain Estimate
	// Offset is by how much the unit's changes come after the stated start asks for them, in seconds at the start. After alignment it is
	// near 0 by itself.
	Offset Estimate
	// Used is the gain with which changes were judged: 0 if that will do, else the estimate or what lies near it, within the limit.
	Used    float64
	Limit   float64 // of the gain, either way
	Fitted  int     // how many changes the estimates rest on
	Signals [spec.NumSignals]Matched

	// Departure is where the recording first leaves the scenario; nil if it does not.
	Departure *Departure
	// Hints are what would explain a failure that is no fault of the unit.
	Hints []string

	expectations [spec.NumSignals]expectation
	ready        float64
	slope        float64 // in use: seen = Start + expected x (1 + slope)
	estimated    float64 // likewise, as the fit has it but within the limit; 0 without one
}

// Matched is how one signal fared.
type Matched struct {
	Asked    bool
	Expected int // changes
	Matched  int
	Largest  float64 // deviation of a matched change, in seconds, late if positive
	pairs    []pair
}

// pair is a change and the edge that it was seen as.
type pair struct {
	change *expected
	edge   edge
}

// Departure is where a recording leaves the scenario.
type Departure struct {
	Kind   Kind
	Signal spec.Signal
	At     float64         // second of the scenario
	Change *scenario.Entry // what was expected; of an unexpected change, what should have come next. May be nil
	Level  spec.Level      // what was seen from At on
	Seen   float64         // of a late change, when it came
	Since  *scenario.Entry // what last settled the level that is expected at At, if anything has
}

// Kind says in what way.
type Kind uint8

// The kinds of departure.
const (
	Missing    Kind = iota // a change did not come
	Late                   // it came later than the tolerances allow
	Unexpected             // a change came that is not expected then
	WrongLevel             // the level is wrong when the recording, or the scenario, begins or goes on after a gap
)

// String returns missing, late, unexpected or wrong-level.
func (k Kind) String() string {
	return [...]string{"missing", "late", "unexpected", "wrong-level"}[k]
}

// Check holds a recording against a scenario. The scenario's own expectations must hold.
func Check(r *Recording, t *scenario.Trace, o Options) (*Result, error) {
	if unmet := t.Unmet(); unmet != nil {
		return nil, fmt.Errorf("the scenario itself does not hold: step %d expects %s, which by the clauses is %s; 'hearthbench emulate' shows it",
			unmet[0].Number, wire.OutcomeWord(unmet[0].Step.Expect.Outcome), wire.OutcomeWord(unmet[0].Reply.Outcome))
	}
	res := newResult(r, t, o)
	for _, sig := range o.Signals {
		if sig <= spec.SigCH && !t.Scenario.ICS.Fitted.Channels.Has(spec.Channel(sig)) {
			return nil, fmt.Errorf("the scenario's unit has no %s relay", wire.SignalWord(sig))
		}
	}
	res.judge()
	if res.Verdict == runner.Fail {
		res.hint()
	}
	return res, nil
}

func newResult(r *Recording, t *scenario.Trace, o Options) *Result {
	if o.ICS == nil {
		o.ICS = &t.Scenario.ICS.Tolerances
	}
	res := &Result{Recording: r, Trace: t, Options: o, Start: o.Start.Seconds()}
	res.Limit = o.Drift + float64(o.ICS.ClockRate)
	res.expectations, res.ready = expect(t, o.ICS)
	for sig := range res.Signals {
		x := &res.expectations[sig]
		m := &res.Signals[sig]
		m.Expected = len(x.changes)
		if len(o.Signals) == 0 {
			m.Asked = x.initial != 0 || len(x.changes) > 0 || sig <= int(spec.SigCH) && t.Scenario.ICS.Fitted.Channels.Has(spec.Channel(sig))
		}
	}
	for _, sig := range o.Signals {
		res.Signals[sig].Asked = true
	}
	return res
}

// judge gives the verdict.
func (res *Result) judge() {
	if res.Options.Align {
		if why := res.align(); why != "" {
			res.Verdict, res.Missing = runner.Inconclusive, []string{why}
			return
		}
	}
	res.estimate()
	res.Exact = true
	for sig := range res.Signals {
		if line := res.line(spec.Signal(sig)); line != nil {
			res.compare(spec.Signal(sig), line)
		}
	}
	res.Missing = res.uncovered()
	switch {
	case res.Departure != nil:
		res.Verdict, res.Exact = runner.Fail, false
	case len(res.Missing) > 0:
		res.Verdict, res.Exact = runner.Inconclusive, false
	}
}

// line returns a signal's line if it is asked for and recorded.
func (res *Result) line(sig spec.Signal) *recording.Line {
	if !res.Signals[sig].Asked {
		return nil
	}
	return res.Recording.Lines[sig]
}

// tolerance is what any change may be off by, in seconds.
func (res *Result) tolerance() float64 {
	return (res.Options.Tolerance + res.Recording.Resolution).Seconds()
}

// window is when a change may be seen, in seconds of the recording, on the line in use.
func (res *Result) window(x *expected) (from, to float64) {
	low, high := span(x, res.slope)
	at := res.Start + float64(x.At)
	return at + low - x.drift - res.tolerance(), at + high + x.drift + x.late + res.tolerance()
}

// span is by how much the drift between the clocks moves a change, at least and at most: all of it may be the recorder's, and then it
// counts from the start, or the unit's, and then it counts from when its clock was set going.
func span(x *expected, slope float64) (low, high float64) {
	whole, part := float64(x.At)*slope, x.running*slope
	return min(whole, part), max(whole, part)
}

// estimate matches changes with edges, estimates offset and drift from those that the unit's clock brings, and chooses the drift that is used.
func (res *Result) estimate() {
	var clocked, every []pair
	for sig := range res.Signals {
		if line := res.line(spec.Signal(sig)); line != nil {
			pairs := res.track(&res.expectations[sig], edgesOf(line))
			every = append(every, pairs...)
			for _, p := range pairs {
				if p.change.running > 0 {
					clocked = append(clocked, p)
				}
			}
		}
	}
	if len(clocked) < fewestPoints {
		clocked = every
	}
	points := make([]point, len(clocked))
	for i, p := range clocked {
		points[i] = point{float64(p.change.At), p.edge.at}
	}
	slope, offset := fit(points, res.Recording.Resolution.Seconds())
	res.Fitted = len(clocked)
	limit := res.Limit / 1e6
	if slope.Known {
		res.Gain = Estimate{true, 1e6 * (1/(1+slope.Value) - 1), 1e6 * slope.Uncertainty}
		res.estimated = max(-limit, min(limit, slope.Value))
	}
	if offset.Known {
		res.Offset = Estimate{true, offset.Value - res.Start, offset.Uncertainty}
	}
	if res.Options.Align && offset.Known {
		res.Start, res.Offset.Value = offset.Value, 0
	}
	res.slope = res.estimated
	for _, try := range []float64{0, res.estimated, res.best(every, 0, limit), res.best(every, -limit, 0)} {
		if start, excess := res.excess(every, try); excess <= 0 {
			res.slope, res.Start = try, start
			break
		}
	}
	res.Used = 1e6 * (1/(1+res.slope) - 1)
}

// track matches changes with edges in order. What lies between the clocks changes slowly, so that an edge is looked for where the ones
// before it were, and a little around.
func (res *Result) track(x *expectation, edges []edge) []pair {
	const (
		reach  = 30.0 // s: by how much a start that is stated may be wrong and still yield an estimate that says so
		recent = 3
	)
	var pairs []pair
	next := 0
	for i := range x.changes {
		c := &x.changes[i]
		at := float64(c.At)
		middle, oldest := 0.0, 0.0
		if before := pairs[max(0, len(pairs)-recent):]; len(before) > 0 {
			var off []float64
			for _, p := range before {
				off = append(off, p.edge.at-res.Start-float64(p.change.At))
			}
			middle, oldest = medianOf(off), float64(before[0].change.At)
		}
		far := max(reach, 2*(res.tolerance()+c.drift+c.late)) + res.Limit/1e6*(at-oldest)
		best, distance := -1, far
		for k := next; k < len(edges); k++ {
			off := edges[k].at - res.Start - at - middle
			if off > far {
				break
			}
			if edges[k].level == c.Level && math.Abs(off) <= distance {
				best, distance = k, math.Abs(off)
			}
		}
		if best < 0 {
			continue
		}
		pairs = append(pairs, pair{c, edges[best]})
		next = best + 1
	}
	return pairs
}

// excess returns by how much the worst of the pairs is beyond its tolerances on a line with a slope, and the start of that line: as
// stated, or after alignment where it does best.
func (res *Result) excess(pairs []pair, slope float64) (start, excess float64) {
	late, early := math.Inf(-1), math.Inf(-1)
	for _, p := range pairs {
		low, high := span(p.change, slope)
		off := p.edge.at - res.Start - float64(p.change.At)
		late = max(late, off-high-p.change.drift-p.change.late-res.tolerance())
		early = max(early, low-p.change.drift-res.tolerance()-off)
	}
	if !res.Options.Align || late <= 0 && early <= 0 {
		return res.Start, max(late, early)
	}
	return res.Start + (late-early)/2, (late + early) / 2
}

// best returns the slope in a range, on one side of 0, on which the pairs' excess is least: it is a convex function there.
func (res *Result) best(pairs []pair, low, high float64) float64 {
	for range 100 {
		third := (high - low) / 3
		_, a := res.excess(pairs, low+third)
		_, b := res.excess(pairs, high-third)
		if a <= b {
			high -= third
		} else {
			low += third
		}
	}
	return (low + high) / 2
}
