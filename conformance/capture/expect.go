package capture

import (
	"strings"

	"example.org/hearthbench/conformance/scenario"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// expectation is what a scenario says of one signal.
type expectation struct {
	signal  spec.Signal
	initial spec.Level
	changes []expected
}

// expected is a change that a unit should show, and how far from its second it may come.
type expected struct {
	*spec.Change
	why string
	// By the unit's clock, its drift counts from the last time that something outside set it going: at least so long ago, in
	// seconds. 0 is a change that the very input brings.
	running float64
	// In seconds: drift is allowed either way, lateness beyond it. Both are the ICS's.
	drift, late float64
}

// judge works out what the ICS's tolerances allow: see "The ICS" in vectors/BEHAVIOUR.md.
type judge struct {
	ics    *spec.ICS
	claims *spec.Tolerances
	power  []powerChange
	boost  [spec.NumChannels][]uint64 // in which a boost was accepted
	clock  []uint64                   // seconds in which the civil clock was set going
	arms   []uint64                   // and the lock
}

type powerChange struct {
	at uint64
	on bool
}

// expect returns what a trace says of every signal, and until when outputs may lag after its start, in seconds.
func expect(t *scenario.Trace, claims *spec.Tolerances) (all [spec.NumSignals]expectation, ready float64) {
	j := &judge{ics: &t.Scenario.ICS, claims: claims, power: []powerChange{{0, true}}, clock: []uint64{0}}
	for i := range t.Scenario.Given {
		j.note(0, t.Scenario.Given[i].Text)
	}
	for i := range t.Entries {
		if d := t.Entries[i].Input; d != nil && d.Reply.Outcome == spec.Accepted {
			j.note(t.Entries[i].At, d.Step.Text)
		}
	}
	for sig := range all {
		all[sig] = expectation{signal: spec.Signal(sig), initial: t.Initial[sig]}
	}
	for i := range t.Entries {
		if e := &t.Entries[i]; e.Input == nil {
			x := &all[e.Change.Signal]
			x.changes = append(x.changes, j.allow(&e.Change, e.Why))
		}
	}
	return all, float64(j.ready(0))
}

// note notes what an accepted input does to what may be late.
func (j *judge) note(at uint64, text string) {
	words := strings.Fields(text)
	switch {
	case text == "power on" || text == "power off":
		on := text == "power on"
		if j.power[len(j.power)-1].on != on {
			j.power = append(j.power, powerChange{at, on})
		}
		if on && j.ics.LostClock != spec.LostUnset {
			j.clock = append(j.clock, at)
		}
	case words[0] == "clock":
		j.clock = append(j.clock, at)
	case strings.HasPrefix(text, "lock arm"):
		j.arms = append(j.arms, at)
	case words[0] == "boost" && words[len(words)-1] != "cancel":
		c := spec.HW
		if words[1] == wire.ChannelWord(spec.CH) {
			c = spec.CH
		}
		j.boost[c] = append(j.boost[c], at)
	}
}

// allow says how far from its second a change may come.
func (j *judge) allow(c *spec.Change, why string) expected {
	x := expected{Change: c, why: why}
	stagger := uint64(0)
	if c.Signal <= spec.SigCH {
		stagger = uint64(j.claims.Stagger)
	}
	late := stagger
	if !j.settledByInput(c) {
		late += uint64(j.claims.LateScan)
		if len(j.arms) > 0 {
			late += j.cuts(c.At) * uint64(j.claims.LockGrain)
		}
	}
	if ready := j.ready(c.At); c.By != spec.ClausePower && ready > c.At {
		late = max(late, ready-c.At+uint64(j.claims.LateScan)+stagger)
	}
	x.late = float64(late)
	switch c.Cause {
	case spec.CauseInput:
	case spec.CauseBoostEnd:
		x.running = float64(j.boostLength(c.At))
		x.drift = x.running * float64(j.claims.BoostRate) / 1e6
	case spec.CauseStage, spec.CausePermit:
		x.running = since(j.arms, c.At)
	default:
		x.running = since(j.clock, c.At)
	}
	return x
}

// since returns how long ago the last of the seconds before one was.
func since(seconds []uint64, at uint64) float64 {
	last := uint64(0)
	for _, s := range seconds {
		if s <= at {
			last = s
		}
	}
	return float64(at - last)
}

// settledByInput reports whether an input of the very second settles the level by itself, so that nothing the clocks bring makes it late
// (OUT-6). Where a lock limits the channels, a permit that opens in that second may have its part in it.
func (j *judge) settledByInput(c *spec.Change) bool {
	switch {
	case c.Cause != spec.CauseInput:
		return false
	case c.Signal > spec.SigCH:
		return c.Signal == spec.SigAlert
	}
	switch c.By {
	case spec.ClausePower, spec.ClauseHoliday:
		return true
	case spec.ClauseOff, spec.ClauseAlways, spec.ClauseBoost, spec.ClauseOverride:
		return len(j.arms) == 0
	default:
		return false
	}
}

// boostLength returns how long the boost ran that ends in a second: of those that could have ended then, the longest.
func (j *judge) boostLength(end uint64) uint64 {
	length := uint64(0)
	for _, boosts := range j.boost {
		for i := len(boosts) - 1; i >= 0; i-- {
			if boosts[i] >= end {
				continue
			}
			length = max(length, end-boosts[i])
			// With a boost that extends the one before, the time of both counts.
			if !j.ics.BoostExtends || i == 0 || boosts[i-1]+uint64(j.ics.BoostLongest)*60 < boosts[i] {
				break
			}
		}
	}
	return length
}

// ready returns the second up to which outputs may lag after the last return of power up to a second, or 0.
func (j *judge) ready(second uint64) uint64 {
	ready := uint64(0)
	for _, p := range j.power {
		switch {
		case p.at > second, !p.on && p.at == second: // what happens with power in the second of its loss comes before
			return ready
		case p.on:
			ready = p.at + uint64(j.claims.LatePowerOn)
		default:
			ready = 0
		}
	}
	return ready
}

// cuts returns how many cuts begin up to a second.
func (j *judge) cuts(second uint64) uint64 {
	n := uint64(0)
	for _, p := range j.power {
		if p.at <= second && !p.on {
			n++
		}
	}
	return n
}
