package capture

import (
	"fmt"
	"slices"

	"example.org/hearthbench/conformance/recording"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/emulator/spec"
)

// Limits of the search for the scenario's start.
const (
	mostDistances = 4_000_000 // between changes and edges
	mostStarts    = 12        // looked at closely
)

// align finds where in the recording the scenario starts: where most changes meet an edge and least is left over. It returns why it
// cannot be said, or "".
func (res *Result) align() (why string) {
	var distances []float64
	total := 0
	for sig := range res.Signals {
		if line := res.line(spec.Signal(sig)); line != nil {
			total += len(res.expectations[sig].changes) * len(edgesOf(line))
		}
	}
	every := 1 + total/mostDistances
	for sig := range res.Signals {
		line := res.line(spec.Signal(sig))
		if line == nil {
			continue
		}
		edges := edgesOf(line)
		for i := 0; i < len(res.expectations[sig].changes); i += every {
			c := &res.expectations[sig].changes[i]
			for _, e := range edges {
				if e.level == c.Level {
					distances = append(distances, e.at-float64(c.At))
				}
			}
		}
	}
	const give = "say where the scenario starts with --start"
	if len(distances) == 0 {
		return "the start cannot be found: no change of the scenario has an edge that could be it; " + give
	}
	slices.Sort(distances)
	// Within this, distances are those of one start.
	reach := 2*res.tolerance() + res.Limit/1e6*float64(res.Trace.Scenario.Until)
	type candidate struct {
		start float64
		n     int
		value int
		share float64 // of the changes that the recording covers, how many were matched
	}
	var all []candidate
	end := 0
	for begin := range distances {
		for end < len(distances) && distances[end]-distances[begin] <= reach {
			end++
		}
		all = append(all, candidate{start: median(distances[begin:end]), n: end - begin})
	}
	slices.SortStableFunc(all, func(a, b candidate) int { return b.n - a.n })
	var best []candidate
	for _, c := range all {
		if len(best) == mostStarts {
			break
		}
		if !slices.ContainsFunc(best, func(o candidate) bool { return c.start >= o.start-reach && c.start <= o.start+reach }) {
			best = append(best, c)
		}
	}
	for i := range best {
		best[i].value, best[i].share = res.worth(best[i].start)
	}
	slices.SortStableFunc(best, func(a, b candidate) int { return b.value - a.value })
	switch {
	case best[0].share < 0.5 || best[0].value <= 0:
		return "the start cannot be found: nowhere do half of the scenario's changes meet an edge of the recording; " + give + ", and see whether the columns are mapped right"
	case len(best) > 1 && best[1].value == best[0].value:
		return fmt.Sprintf("the start cannot be told: the scenario fits as well from %s as from %s after the first sample; %s", seconds(best[0].start), seconds(best[1].start), give)
	}
	res.Start = best[0].start
	return ""
}

// worth says how well a start fits: the changes matched, less those that the recording covers and that were not, less the edges left over.
func (res *Result) worth(start float64) (value int, share float64) {
	was := res.Start
	defer func() { res.Start = was }()
	res.Start = start
	length := res.Recording.Length.Seconds()
	matched, covered := 0, 0
	for sig := range res.Signals {
		line := res.line(spec.Signal(sig))
		if line == nil {
			continue
		}
		edges := edgesOf(line)
		x := &res.expectations[sig]
		pairs := len(res.track(x, edges))
		matched += pairs
		value += 3 * pairs
		for i := range x.changes {
			if at := start + float64(x.changes[i].At); at >= 0 && at <= length {
				covered++
				value--
			}
		}
		for _, e := range edges {
			if e.at >= start-res.tolerance() && e.at <= res.end()+res.tolerance() {
				value--
			}
		}
	}
	if covered > 0 {
		share = float64(matched) / float64(covered)
	}
	return value, share
}

// hint looks for what would explain a failure without a fault of the unit.
func (res *Result) hint() {
	try := func(change func(r *Recording, o *Options)) *Result {
		r, o := *res.Recording, res.Options
		change(&r, &o)
		other := newResult(&r, res.Trace, o)
		other.judge()
		matched := 0
		for sig := range other.Signals {
			matched += other.Signals[sig].Matched
		}
		if other.Verdict == runner.Fail || matched == 0 {
			return nil
		}
		return other
	}
	hw, ch := res.Recording.Lines[spec.HW], res.Recording.Lines[spec.CH]
	if hw != nil && ch != nil && try(func(r *Recording, _ *Options) { r.Lines[spec.HW], r.Lines[spec.CH] = ch, hw }) != nil {
		res.Hints = append(res.Hints, fmt.Sprintf("The channels look swapped: nothing departs with --map 'hw=%s,ch=%s'.", mapped(ch, false), mapped(hw, false)))
	}
	for _, sig := range []spec.Signal{spec.SigHW, spec.SigCH} {
		if line := res.Recording.Lines[sig]; line != nil && try(func(r *Recording, _ *Options) { r.Lines[sig] = invert(line) }) != nil {
			res.Hints = append(res.Hints, fmt.Sprintf("%s looks inverted: nothing departs with --map '%s=%s'.", line.Name, [...]string{"hw", "ch"}[sig], mapped(line, true)))
		}
	}
	if hw != nil && ch != nil && res.Hints == nil && try(func(r *Recording, _ *Options) { r.Lines[spec.HW], r.Lines[spec.CH] = invert(hw), invert(ch) }) != nil {
		res.Hints = append(res.Hints, fmt.Sprintf("Both relays look inverted: nothing departs with --map 'hw=%s,ch=%s'.", mapped(hw, true), mapped(ch, true)))
	}
	if !res.Options.Align {
		if other := try(func(_ *Recording, o *Options) { o.Align = true }); other != nil {
			res.Hints = append(res.Hints, fmt.Sprintf("The scenario seems to start %.3f s after the first sample: nothing departs with --start auto. Else the unit's clock is that far off.", other.Start))
		}
	}
}

// mapped returns how --map names the line, or the same line inverted.
func mapped(l *recording.Line, inverted bool) string {
	if l.Inverted != inverted {
		return "!" + l.Name
	}
	return l.Name
}

// invert returns the line with open and closed exchanged.
func invert(l *recording.Line) *recording.Line {
	other := *l
	other.Inverted = !l.Inverted
	other.Levels = slices.Clone(l.Levels)
	for i := range other.Levels {
		if other.Levels[i].Level != recording.Unknown {
			other.Levels[i].Level = 1 - other.Levels[i].Level
		}
	}
	return &other
}
