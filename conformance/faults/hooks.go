package faults

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

// afterInput is a hook that changes the facts or the answer after an input.
type afterInput = func(was, now *emulator.Facts, in spec.Input, r *spec.Reply)

// accepted is for inputs of a kind that were accepted.
func accepted(kind spec.Kind, f func(was, now *emulator.Facts, in spec.Input)) afterInput {
	return func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
		if in.Kind == kind && r.Outcome == spec.Accepted {
			f(was, now, in)
		}
	}
}

// refused is for inputs of a kind that were refused by a unit with power.
func refused(kind spec.Kind, f func(was, now *emulator.Facts, in spec.Input, r *spec.Reply)) afterInput {
	return func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
		if in.Kind == kind && r.Outcome == spec.Refused && was.Powered {
			f(was, now, in, r)
		}
	}
}

// returned is for the end of a cut, the first power-on included.
func returned(f func(was, now *emulator.Facts)) afterInput {
	return accepted(spec.PowerOn, func(was, now *emulator.Facts, _ spec.Input) {
		if !was.Powered {
			f(was, now)
		}
	})
}

// lost is for the beginning of a cut.
func lost(f func(was, now *emulator.Facts)) afterInput {
	return accepted(spec.PowerOff, func(was, now *emulator.Facts, _ spec.Input) { f(was, now) })
}

// undo makes an input one that was refused.
func undo(was, now *emulator.Facts, r *spec.Reply) {
	*now = *was
	r.Outcome = spec.Refused
}

// actsAs is the fault of a unit that is another one than it claims to be.
func actsAs(design func(*spec.ICS)) func() hooks {
	return func() hooks { return hooks{design: design} }
}

// eachChannel calls f with the facts that a channel had and has.
func eachChannel(was, now *emulator.Facts, f func(was, now *emulator.ChannelFacts)) {
	for c := range now.Channels {
		f(&was.Channels[c], &now.Channels[c])
	}
}

// keepOverrides and keepBoosts give back what an input has cancelled.
func keepOverrides(was, now *emulator.Facts) {
	eachChannel(was, now, func(was, now *emulator.ChannelFacts) { now.Override = was.Override })
}

func keepBoosts(was, now *emulator.Facts) {
	eachChannel(was, now, func(was, now *emulator.ChannelFacts) { now.BoostLeft = was.BoostLeft })
}

func dropOverrides(now *emulator.Facts) {
	keepOverrides(&emulator.Facts{}, now)
}

func dropBoosts(now *emulator.Facts) {
	keepBoosts(&emulator.Facts{}, now)
}

// untilMinute is a wait hook for the seconds in which the reading's minute changes.
func untilMinute(now *emulator.Facts) uint64 {
	if !now.ClockSet || now.ClockStopped {
		return noWait
	}
	return uint64(60 - reading(now)%60)
}
