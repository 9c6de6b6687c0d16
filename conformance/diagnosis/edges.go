package diagnosis

import (
	"math"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// edge is a change that somebody saw, heard or logged, so near to its instant that something can be reckoned from it.
type edge struct {
	what complaint.What
	on   bool
	at   int64
}

// sharp is how wide the window of an edge may be, with its blur, in seconds.
const sharp = 10 * calendar.Minute

// maxEdges bounds what one rule, such as "every day", may tell.
const maxEdges = 40

// edges returns the sharp changes of some lanes, in their order.
func (b *builder) edges(whats ...complaint.What) []edge {
	var list []edge
	for i := range b.c.Sensed {
		o := &b.c.Sensed[i]
		if o.Form != complaint.Becomes || !slices.Contains(whats, o.What) {
			continue
		}
		for _, w := range o.When.Windows[:min(len(o.When.Windows), maxEdges)] {
			if w.To-w.From+2*w.Blur <= sharp {
				list = append(list, edge{o.What, o.Level == 1, w.Middle()})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b edge) int { return int(a.at - b.at) })
	return list
}

// bursts returns how long something was on between two edges of its own, in seconds, and when it began: what an allowance leaves, or another
// time control asks for.
func (b *builder) bursts(whats ...complaint.What) (list []burst) {
	for _, what := range whats {
		edges := b.edges(what)
		for i := 1; i < len(edges); i++ {
			if on, off := edges[i-1], edges[i]; on.on && !off.on {
				list = append(list, burst{on.at, off.at})
			}
		}
	}
	return list
}

type burst struct{ from, to int64 }

// hourly reports whether another of the bursts began and lasted alike, to two minutes, some whole hours apart within the same day.
func hourly(u burst, all []burst) bool {
	const near = 2 * calendar.Minute
	return slices.ContainsFunc(all, func(o burst) bool {
		apart, longer := max(o.from-u.from, u.from-o.from), (o.to-o.from)-(u.to-u.from)
		hours := (apart + calendar.Hour/2) / calendar.Hour
		out := apart - hours*calendar.Hour
		return hours > 0 && hours < 24 && max(out, -out) <= near && max(longer, -longer) <= near
	})
}

// permits returns the bursts of heating that look like a permit's: they come again hour by hour, or an alert was sensed.
func (b *builder) permits() (list []burst) {
	alert := slices.ContainsFunc(b.c.Sensed, func(o complaint.Observation) bool { return o.What == complaint.Alert && o.Level > 0 })
	for _, what := range []complaint.What{complaint.CHRelay, complaint.Call, complaint.Flame} {
		bursts := b.bursts(what)
		for _, u := range bursts {
			if alert || hourly(u, bursts) {
				list = append(list, u)
			}
		}
	}
	return list
}

// fitClock reckons how far the unit's clock is ahead at the beginning, in seconds, and by how many millionths it runs fast, from the edges of
// the relays and the switching points nearest to them: the line of least squares. It needs three edges over three days.
func (b *builder) fitClock() (ahead, ppm int64, ok bool) {
	const far = 2 * calendar.Hour
	var n, sumT, sumE, sumTT, sumTE float64
	first, last := int64(0), int64(0)
	for _, e := range b.edges(complaint.HWRelay, complaint.CHRelay) {
		c := spec.HW
		if e.what == complaint.CHRelay {
			c = spec.CH
		}
		best, found := int64(far), false
		for _, s := range b.changes(c, e.on) {
			if by := s - e.at; max(by, -by) < max(best, -best) {
				best, found = by, true
			}
		}
		if !found {
			continue
		}
		t, off := float64(e.at-b.base.From), float64(best)
		n, sumT, sumE, sumTT, sumTE = n+1, sumT+t, sumE+off, sumTT+t*t, sumTE+t*off
		if n == 1 {
			first = e.at
		}
		last = e.at
	}
	if n < 3 || last-first < 3*calendar.Day {
		return 0, 0, false
	}
	rate := (n*sumTE - sumT*sumE) / (n*sumTT - sumT*sumT)
	return int64(math.Round((sumE - rate*sumT) / n)), int64(math.Round(rate * 1e6)), true
}

// changes returns when a channel's relay closes, or opens, as the account has it.
func (b *builder) changes(c spec.Channel, on bool) (at []int64) {
	for _, ch := range b.h.Changes(replay.SignalLane(spec.Signal(c))) {
		if (ch.Level == 1) == on {
			at = append(at, ch.At)
		}
	}
	return at
}
