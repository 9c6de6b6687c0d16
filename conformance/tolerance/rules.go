package tolerance

import (
	"slices"

	"example.org/hearthbench/emulator/spec"
)

// Rules say what a unit may be late by in one course of events. What is done to the unit is told with [Rules.Did] first, all of it.
type Rules struct {
	// Slack is how far from its second anything may come, either way, in seconds, beyond what the ICS allows: where the bench and the
	// unit have a clock each. The zero value is for a unit whose time the bench lets pass.
	Slack uint64

	ics    *spec.ICS
	claims spec.Tolerances
	done   []done
	power  []power
	boosts []boost
	clock  []uint64 // seconds in which the civil clock was set going
	arms   []uint64 // and the lock
}

type done struct {
	at uint64
	in *spec.Input
}

type power struct {
	at uint64
	on bool
}

// boost is a boost that may come to its end.
type boost struct {
	channel    spec.Channel
	begin, end uint64
}

// New returns rules for a unit that claims these tolerances and that is without power. The ICS's own tolerances do not count.
func New(ics *spec.ICS, claims spec.Tolerances) *Rules {
	return &Rules{ics: ics, claims: claims, clock: []uint64{0}}
}

// Did tells of an accepted input, which must not change while the rules are in use. Inputs come in order.
func (r *Rules) Did(at uint64, in *spec.Input) {
	r.done = append(r.done, done{at, in})
	switch in.Kind {
	case spec.PowerOff, spec.PowerOn:
		on := in.Kind == spec.PowerOn
		if r.powered() == on {
			return
		}
		if on && len(r.power) > 0 && r.ics.LostClock == spec.LostRestarts && at-r.power[len(r.power)-1].at >= 60*uint64(r.ics.Reserve) {
			r.clock = append(r.clock, at)
		}
		r.power = append(r.power, power{at, on})
	case spec.SetClock:
		r.clock = append(r.clock, at)
	case spec.LockArm:
		r.arms = append(r.arms, at)
	case spec.Boost:
		r.boost(at, in.Channel, in.Amount)
	}
}

func (r *Rules) powered() bool { return len(r.power) > 0 && r.power[len(r.power)-1].on }

// boost notes when a boost may end. What else ends one is not followed, so that it may be a fresh one as well as a part of each that
// could be running.
func (r *Rules) boost(at uint64, c spec.Channel, minutes uint32) {
	if minutes == 0 {
		return
	}
	longest := uint64(r.ics.BoostLongest) * 60
	length := uint64(minutes) * 60
	if r.ics.Clamp {
		step := uint64(r.ics.BoostStep) * 60
		length = min(max(length/step, 1)*step, longest)
	}
	running := func(b boost) bool { return b.channel == c && b.end > at }
	if r.ics.BoostExtends {
		for i := range r.boosts {
			if b := &r.boosts[i]; running(*b) {
				b.end = min(b.end+length, at+longest)
			}
		}
	} else {
		r.boosts = slices.DeleteFunc(r.boosts, running)
	}
	r.boosts = append(r.boosts, boost{c, at, at + length})
}

// Allowance says how far from its second a change may come.
type Allowance struct {
	// Late is how much later than all else lets it come, in seconds.
	Late uint64
	// Running is how long the unit's clock has run to the change since something outside set it going, in seconds: what clock-rate
	// counts on. 0 for what an input settles.
	Running uint64
	// Boost is the length of the longest boost that may end with the change, in seconds: what boost-rate counts on.
	Boost uint64
	// Civil says that the civil clock brings the change and nothing else can, so that a clock that is fast or slow moves all such
	// changes alike.
	Civil bool
}

// Allow returns what a change is allowed. A cause that is not known (spec.NoCause) is taken to be whichever allows most.
func (r *Rules) Allow(c *spec.Change) Allowance { return r.allow(c, false) }

// allow is Allow, of a change of which it is known whether it comes before a cut of its own second.
func (r *Rules) allow(c *spec.Change, beforeCut bool) Allowance {
	var a Allowance
	relay := c.Signal <= spec.SigCH
	stagger := uint64(0)
	if relay {
		stagger = uint64(r.claims.Stagger)
	}
	a.Late = stagger
	if !r.settledByInput(c) {
		a.Late += uint64(r.claims.LateScan)
		if r.armed(c.At) {
			a.Late += r.cuts(c.At) * uint64(r.claims.LockGrain)
		}
		a.Running = r.running(c)
		if relay && (c.Cause == spec.NoCause || c.Cause == spec.CauseBoostEnd) {
			for _, b := range r.boosts {
				if b.end == c.At {
					a.Boost = max(a.Boost, b.end-b.begin)
				}
			}
		}
		a.Civil = a.Boost == 0 && (c.By == spec.ClauseTable || c.By == spec.ClauseSpan || c.By == spec.ClauseSounder) && len(r.inputs(c.At)) == 0
	}
	ready := r.Ready(c.At)
	if beforeCut {
		ready = 0
		if c.At > 0 {
			ready = r.Ready(c.At - 1)
		}
	}
	if c.By != spec.ClausePower && ready > c.At {
		a.Late = max(a.Late, ready-c.At+uint64(r.claims.LateScan)+stagger)
	}
	return a
}

// Drift returns by how many seconds, early or late, the rates let a change come, rounded up, with the slack.
func (r *Rules) Drift(a Allowance) uint64 {
	return r.Slack + partsPerMillion(a.Running, r.claims.ClockRate) + partsPerMillion(a.Boost, r.claims.BoostRate)
}

func partsPerMillion(seconds uint64, rate uint32) uint64 {
	return (seconds*uint64(rate) + 999_999) / 1_000_000
}

// running returns how long what may have brought a change has run.
func (r *Rules) running(c *spec.Change) uint64 {
	switch c.Cause {
	case spec.CauseInput, spec.CauseBoostEnd: // of the latter, boost-rate says all
		return 0
	case spec.CauseStage, spec.CausePermit:
		return since(r.arms, c.At)
	case spec.NoCause:
		if r.armed(c.At) {
			return max(since(r.clock, c.At), since(r.arms, c.At))
		}
	}
	return since(r.clock, c.At)
}

// since returns how long ago the last of the seconds up to one was.
func since(seconds []uint64, at uint64) uint64 {
	last := uint64(0)
	for _, s := range seconds {
		if s <= at {
			last = s
		}
	}
	return at - last
}

// armed reports whether the lock has been armed up to a second.
func (r *Rules) armed(second uint64) bool { return len(r.arms) > 0 && r.arms[0] <= second }

// inputs returns what was done in a second.
func (r *Rules) inputs(second uint64) []done {
	from, _ := slices.BinarySearchFunc(r.done, second, func(d done, at uint64) int {
		if d.at < at {
			return -1
		}
		return 1
	})
	to := from
	for to < len(r.done) && r.done[to].at == second {
		to++
	}
	return r.done[from:to]
}

// settledByInput reports whether an input of the very second settles the level by itself, so that nothing the clocks bring can make
// it late (OUT-6). Where a lock limits the channels, a permit that opens in that second may have its part in it.
func (r *Rules) settledByInput(c *spec.Change) bool {
	switch {
	case c.By == spec.ClausePower:
		return true
	case c.Cause != spec.NoCause && c.Cause != spec.CauseInput:
		return false
	}
	if c.Cause == spec.CauseInput {
		switch c.By {
		case spec.ClauseHoliday:
			return true
		case spec.ClauseOff, spec.ClauseAlways, spec.ClauseBoost, spec.ClauseOverride:
			return !r.armed(c.At)
		}
	}
	for _, d := range r.inputs(c.At) {
		own := c.Signal == spec.Signal(d.in.Channel) && !r.armed(c.At)
		switch d.in.Kind {
		case spec.SetMode:
			if own && (c.By == spec.ClauseOff && d.in.Mode == spec.Off || c.By == spec.ClauseAlways && d.in.Mode == spec.Always) {
				return true
			}
		case spec.Boost:
			if own && c.By == spec.ClauseBoost && d.in.Amount > 0 {
				return true
			}
		case spec.Override:
			if own && c.By == spec.ClauseOverride {
				return true
			}
		case spec.Holiday:
			if c.By == spec.ClauseHoliday {
				return true
			}
		case spec.LockArm, spec.LockRemove:
			if c.Signal == spec.SigAlert {
				return true
			}
		}
	}
	return false
}

// Ready returns the second up to which the outputs may lag after the last return of power, if that is there still, else 0: without
// power nothing may be late.
func (r *Rules) Ready(second uint64) uint64 {
	ready := uint64(0)
	for _, p := range r.power {
		switch {
		case p.at > second:
			return ready
		case p.on:
			ready = p.at + uint64(r.claims.LatePowerOn)
		case p.at < second: // what happens in the second of the loss with power comes before it
			ready = 0
		}
	}
	return ready
}

// cuts returns how many cuts begin up to a second.
func (r *Rules) cuts(second uint64) uint64 {
	n := uint64(0)
	for _, p := range r.power {
		if p.at <= second && !p.on {
			n++
		}
	}
	return n
}
