package capture

import (
	"fmt"
	"math"
	"time"

	"example.org/hearthbench/conformance/recording"
	"example.org/hearthbench/conformance/scenario"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// doubt is a time in which a signal may change: the windows of one or more changes that overlap.
type doubt struct {
	from, to float64 // s of the recording
	changes  []expected
	free     bool // any level may come first: outputs may lag after the start
}

// doubts returns the windows of a signal in order.
func (res *Result) doubts(x *expectation) []doubt {
	all := []doubt{{from: res.Start - res.tolerance(), to: res.Start + res.ready + res.tolerance(), free: true}}
	for i := range x.changes {
		from, to := res.window(&x.changes[i])
		all = append(all, doubt{from: from, to: to, changes: x.changes[i : i+1 : i+1]})
		// What one change is allowed can reach over others before it.
		for n := len(all); n > 1 && all[n-1].from <= all[n-2].to; n = len(all) {
			before, last := &all[n-2], &all[n-1]
			before.from, before.to = min(before.from, last.from), max(before.to, last.to)
			before.changes = append(before.changes, last.changes...)
			all = all[:n-1]
		}
	}
	return all
}

// end returns the end of the scenario in seconds of the recording.
func (res *Result) end() float64 {
	return res.Start + float64(res.Trace.Scenario.Until)*(1+res.slope)
}

// compare holds a line against what is expected of it: between the windows the level must be the one expected, and in them no more may
// change than is expected. It notes the first departure of all signals.
func (res *Result) compare(sig spec.Signal, line *recording.Line) {
	x := &res.expectations[sig]
	edges := edgesOf(line)
	level, since := x.initial, (*expected)(nil)
	doubts := res.doubts(x)
	next := 0 // edge
	for i := range doubts {
		d := &doubts[i]
		for next < len(edges) && edges[next].at < d.from {
			next++
		}
		first := next
		for next < len(edges) && edges[next].at <= d.to {
			next++
		}
		res.match(sig, d, edges[first:next])
		// What is done to a unit before the scenario begins, and how it settles, is not the scenario's.
		if most := len(d.changes); next-first > most && !d.free {
			e := edges[first+most]
			res.depart(&Departure{Kind: Unexpected, Signal: sig, Level: e.level}, e.at, since, after(x, d))
		}
		for k := range d.changes {
			level, since = d.changes[k].Level, &d.changes[k]
		}
		to := res.end()
		if i+1 < len(doubts) {
			to = min(to, doubts[i+1].from)
		}
		res.quiet(sig, line, d, to, level, since, after(x, d))
	}
	for _, at := range line.Bounce.GlitchesAt {
		if !res.pulseExpected(doubts, at.Seconds()) {
			res.Exact = false
		}
	}
	if line.Bounce.Glitches > len(line.Bounce.GlitchesAt) {
		res.Exact = false
	}
}

// pulseExpected reports whether a glitch at an instant may be a pulse that the scenario has, or lies outside the scenario.
func (res *Result) pulseExpected(doubts []doubt, at float64) bool {
	if at < res.Start || at > res.end() {
		return true
	}
	for i := range doubts {
		if d := &doubts[i]; at >= d.from && at <= d.to && len(d.changes) > 1 {
			return true
		}
	}
	return false
}

// after returns the first change after a window, or nil.
func after(x *expectation, d *doubt) *expected {
	for i := range x.changes {
		if len(d.changes) == 0 {
			return &x.changes[i]
		}
		if x.changes[i].Change == d.changes[len(d.changes)-1].Change && i+1 < len(x.changes) {
			return &x.changes[i+1]
		}
	}
	return nil
}

// match pairs the changes of a window with the edges in it.
func (res *Result) match(sig spec.Signal, d *doubt, edges []edge) {
	m := &res.Signals[sig]
	for i := range d.changes {
		c := &d.changes[i]
		found := false
		for k, e := range edges {
			from, to := res.window(c)
			if e.level != c.Level || e.at < from || e.at > to {
				continue
			}
			off := e.at - res.Start - float64(c.At)
			m.pairs = append(m.pairs, pair{c, e})
			m.Matched++
			low, high := span(c, res.slope)
			if on := max(off-high, min(0, off-low)); math.Abs(on) > math.Abs(m.Largest) {
				m.Largest = on
			}
			if math.Abs(off) >= max(1, res.Recording.Resolution.Seconds()) {
				res.Exact = false
			}
			edges, found = edges[k+1:], true
			break
		}
		if !found && !d.pulse(c) && res.recorded(sig, c) {
			res.Exact = false
		}
	}
}

// pulse reports whether a change and another of its second take each other back: contacts cannot show that.
func (d *doubt) pulse(c *expected) bool {
	for i := range d.changes {
		if o := &d.changes[i]; o.At == c.At && o.Change != c.Change {
			return true
		}
	}
	return false
}

// recorded reports whether the whole of a change's window was recorded.
func (res *Result) recorded(sig spec.Signal, c *expected) bool {
	from, to := res.window(c)
	if from < 0 || to > res.Recording.Length.Seconds() {
		return false
	}
	for _, g := range res.gaps(res.Recording.Lines[sig]) {
		if g.from <= to && g.to >= from {
			return false
		}
	}
	return true
}

// quiet checks the time from a window to the next, in which the level must be the one expected.
func (res *Result) quiet(sig spec.Signal, line *recording.Line, d *doubt, to float64, level spec.Level, since, next *expected) {
	from := math.Nextafter(d.to, math.Inf(1))
	if from >= to {
		return
	}
	for i, s := range line.Levels {
		begin, end := s.From.Seconds(), res.Recording.Length.Seconds()
		if i+1 < len(line.Levels) {
			end = line.Levels[i+1].From.Seconds()
		}
		if end <= from || begin >= to || s.Level == recording.Unknown || s.Level == level {
			continue
		}
		departure := &Departure{Signal: sig, Level: s.Level}
		gap := i == 0 || line.Levels[i-1].Level == recording.Unknown
		switch {
		case begin > d.to && gap, begin <= d.to && len(d.changes) == 0, begin <= d.to && gap && begin > d.from:
			departure.Kind = WrongLevel
		case begin > d.to:
			departure.Kind = Unexpected
		default:
			departure.Kind = Missing
			if i+1 < len(line.Levels) && line.Levels[i+1].Level == level && end < to {
				departure.Kind, departure.Seen = Late, res.second(end)
			}
		}
		at := max(begin, from)
		if departure.Kind == Missing || departure.Kind == Late {
			next = since
			at = res.Start + float64(since.At)*(1+res.slope)
		}
		if departure.Kind == WrongLevel {
			next = nil
		}
		res.depart(departure, at, since, next)
		return
	}
}

// depart notes a departure at an instant of the recording if it is the first.
func (res *Result) depart(d *Departure, at float64, since, next *expected) {
	d.At = res.second(at)
	if res.Departure != nil && res.Departure.At <= d.At {
		return
	}
	d.Change, d.Since = res.entry(next), res.entry(since)
	res.Departure = d
}

// second returns the second of the scenario at an instant of the recording.
func (res *Result) second(at float64) float64 { return (at - res.Start) / (1 + res.slope) }

// entry returns the trace's entry of a change.
func (res *Result) entry(x *expected) *scenario.Entry {
	for i := range res.Trace.Entries {
		if e := &res.Trace.Entries[i]; x != nil && &e.Change == x.Change {
			return e
		}
	}
	return nil
}

// gap is a time of which nothing is known, in seconds of the recording.
type gap struct{ from, to float64 }

// gaps returns the gaps of a line within the scenario, with what lies before and after the recording.
func (res *Result) gaps(line *recording.Line) []gap {
	length := res.Recording.Length.Seconds()
	var gaps []gap
	add := func(from, to float64) {
		from, to = max(from, res.Start), min(to, res.end())
		if from < to {
			gaps = append(gaps, gap{from, to})
		}
	}
	add(math.Inf(-1), 0)
	for i, s := range line.Levels {
		if s.Level != recording.Unknown {
			continue
		}
		end := length
		if i+1 < len(line.Levels) {
			end = line.Levels[i+1].From.Seconds()
		}
		add(s.From.Seconds(), end)
	}
	// A recording that stops within the tolerance of the end, by its own clock or by the unit's, has all there is.
	if res.Start+float64(res.Trace.Scenario.Until)*(1+min(0, res.slope, res.estimated))-length > res.tolerance() {
		add(length, math.Inf(1))
	}
	return gaps
}

// uncovered says what of the scenario was not recorded.
func (res *Result) uncovered() []string {
	const most = 5
	var missing []string
	for s := range res.Signals {
		sig := spec.Signal(s)
		word := wire.SignalWord(sig)
		if !res.Signals[s].Asked {
			continue
		}
		line := res.Recording.Lines[s]
		switch {
		case line == nil:
			missing = append(missing, fmt.Sprintf("%s is not in the recording, or not mapped: nothing is known of it", word))
			continue
		case !line.Known():
			missing = append(missing, fmt.Sprintf("%s (%s) never has a level", word, line.Name))
			continue
		}
		gaps := res.gaps(line)
		for i, g := range gaps {
			if i == most {
				missing = append(missing, fmt.Sprintf("%s has %d more gaps", word, len(gaps)-most))
				break
			}
			missing = append(missing, fmt.Sprintf("%s is not known from %s to %s (%s)", word, res.when(res.second(g.from)), res.when(res.second(g.to)), seconds(g.to-g.from)))
		}
	}
	return missing
}

// when words a second of the scenario as local time.
func (res *Result) when(second float64) string {
	t := res.Trace.Scenario.At(0).Add(time.Duration(second * 1e9))
	// The offset of the start may not be that of later: the scenario knows.
	if second >= 0 {
		whole := uint64(second)
		t = res.Trace.Scenario.At(whole).Add(time.Duration((second - float64(whole)) * 1e9))
	}
	return t.Round(time.Millisecond).Format("Mon 2006-01-02 15:04:05.999")
}

// seconds words a length of time.
func seconds(s float64) string {
	d := time.Duration(math.Abs(s) * 1e9)
	switch {
	case d >= time.Minute:
		d = d.Round(time.Second)
	case d >= time.Second:
		d = d.Round(10 * time.Millisecond)
	case d >= time.Millisecond:
		d = d.Round(10 * time.Microsecond)
	}
	return d.String()
}
