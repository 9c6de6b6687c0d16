package diagnosis

import (
	"cmp"
	"math"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
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

// permit is a part of each hour in which a lock lets heating call: it begins at from, and an hour later again.
type permit struct {
	from    int64
	minutes uint8
	support int // how many of the edges it accounts for
}

// mostPermits bounds the permits that are tried.
const mostPermits = 4

// permits returns those that account for edges of heating which the account has not, the best first: what came on at a quarter past one and
// went off at twenty-five past six was on for ten minutes of each hour, perhaps.
func (b *builder) permits() (list []permit) {
	const near = 2 * calendar.Minute
	for _, sensed := range []struct {
		what complaint.What
		lane replay.Lane
	}{{complaint.CHRelay, replay.LaneCH}, {complaint.Call, replay.PointLane(plant.Call)}, {complaint.Flame, replay.PointLane(plant.Flame)}} {
		edges := slices.DeleteFunc(b.edges(sensed.what), func(e edge) bool {
			return slices.ContainsFunc(b.h.Changes(sensed.lane), func(c replay.Change) bool {
				return (c.Level == 1) == e.on && c.At-e.at <= near && e.at-c.At <= near
			})
		})
		for _, on := range edges {
			for _, off := range edges {
				minutes := (hourOf(off.at-on.at) + calendar.Minute/2) / calendar.Minute
				if !on.on || off.on || minutes < spec.MinAllowance || minutes >= spec.MaxAllowance {
					continue
				}
				p := permit{from: on.at, minutes: uint8(minutes)}
				for _, e := range edges {
					at := on.at
					if !e.on {
						at = off.at
					}
					if out := hourOf(e.at - at + near); out <= 2*near {
						p.support++
					}
				}
				alike := func(o permit) bool {
					longer := (int64(o.minutes) - minutes) * calendar.Minute
					return longer <= near && longer >= -near && hourOf(o.from-p.from+near) <= 2*near
				}
				if !slices.ContainsFunc(list, alike) {
					list = append(list, p)
				}
			}
		}
	}
	slices.SortStableFunc(list, func(x, y permit) int { return cmp.Compare(y.support, x.support) })
	return list[:min(len(list), mostPermits)]
}

// hourOf returns where in an hour a time lies.
func hourOf(seconds int64) int64 { return (seconds%calendar.Hour + calendar.Hour) % calendar.Hour }

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
