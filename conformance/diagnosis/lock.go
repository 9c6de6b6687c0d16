package diagnosis

import (
	"fmt"
	"slices"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

var cureLock = cure{
	Words: "Read the alert off the display. Only the service visit ends it, by whoever holds the credential; take advice where tenants are concerned.",
	Visit: true, Who: Landlord, Part: "the service that the lock asks for", Restricted: true,
}

// lock is an interval lock that nobody told of, in a stage that withholds heat.
func (b *builder) lock() {
	at, permits := b.onsets(), b.permits()
	weight := weightLock * b.unitSays("lock")
	if !b.alerted() {
		weight *= unmentioned
	}
	for _, stage := range []spec.Stage{spec.Notice, spec.Restricted} {
		name := map[spec.Stage]string{spec.Notice: "notice", spec.Restricted: "restricted"}[stage]
		for _, hotWater := range []bool{false, true} {
			var variants []variant
			// What was seen to come on and go off says how long the permit is, and where in the hour it begins.
			for _, u := range permits {
				for _, o := range at {
					variants = append(variants, b.locked(stage, u.minutes, hotWater, o.at, hourOf(max(o.at, b.base.From)-u.from)).of(o.share))
				}
			}
			seen, sure, guessed := len(variants), 0.0, 0.0
			for i := range variants {
				sure += variants[i].share
			}
			lengths := []uint8{10, 15, 20, 30, 45}
			for _, minutes := range lengths {
				for i, o := range at {
					offsets := []int64{0, 10, 20, 30, 40, 50}
					if i > 0 && len(at) > 2 {
						offsets = []int64{0, 20, 40}
					}
					share := o.share / float64(len(lengths)*len(offsets))
					guessed += o.share / float64(len(lengths))
					for _, offset := range offsets {
						variants = append(variants, b.locked(stage, minutes, hotWater, o.at, offset*calendar.Minute).of(share))
					}
				}
			}
			for i := range variants[:seen] {
				// What was seen is together as probable as all that is guessed.
				variants[i].share *= guessed / sure
			}
			id, words, share := name, "", 0.5
			if hotWater {
				// Hot water is needed for more than comfort.
				id, words, share = name+"/hot-water-too", " and hot water", 0.05
			}
			if stage == spec.Notice {
				share /= 6 // it mostly only tells
			}
			b.add(cause{
				id: "lock/" + id, family: Lock, weight: weight * share, subject: subject{lock: true},
				words: fmt.Sprintf("the interval lock is in its stage '%s' and lets heating%s call for only some minutes of each hour (LCK-13)", name, words),
				cure:  cureLock,
			}, variants...)
		}
	}
}

// alerted reports whether anybody speaks of an alert.
func (b *builder) alerted() bool {
	return slices.ContainsFunc(b.c.Sensed, func(o complaint.Observation) bool { return o.What == complaint.Alert }) ||
		slices.ContainsFunc(b.c.Settings, func(c complaint.Claim) bool { return c.About == complaint.AboutAlert })
}

// locked is a variant in which the stage begins at an instant, or began so long before the beginning that its hours are so much out of step.
func (b *builder) locked(stage spec.Stage, minutes uint8, hotWater bool, begins, offset int64) variant {
	allowance := [spec.NumChannels]uint8{spec.NoAllowance, spec.NoAllowance}
	allowance[spec.CH] = minutes
	if hotWater {
		allowance[spec.HW] = minutes
	}
	terms := spec.LockTerms{
		Days: 30, NoticeDays: 10, Notice: [spec.NumChannels]uint8{spec.NoAllowance, spec.NoAllowance},
		Restricted: [spec.NumChannels]uint8{spec.NoAllowance, spec.NoAllowance},
	}
	counted := uint64(20 * calendar.Day)
	if stage == spec.Notice {
		terms.Days, terms.NoticeDays, terms.Notice = 60, 25, allowance
		counted = uint64(35 * calendar.Day)
	} else {
		terms.Restricted = allowance
		counted = uint64(30 * calendar.Day)
	}
	words := fmt.Sprintf("%d min an hour", minutes)
	return simply(words, func(w replay.World) replay.World {
		f := emulator.LockFacts{Stage: stage, Terms: terms}
		if begins <= w.From {
			f.InStage = uint64(2*calendar.Hour + offset)
			f.Counted = counted + f.InStage
		} else {
			// A stage before it, which ends at that instant: earlier by the offset.
			before := uint64(begins - w.From - offset)
			if begins-w.From < offset {
				before = 0
			}
			f.Counted = counted - min(before, counted)
			f.Stage, f.InStage = spec.Counting, f.Counted
			if stage == spec.Restricted {
				f.Stage = spec.Notice
				if f.Counted < uint64(20*calendar.Day) {
					f.Stage = spec.Counting
				} else {
					f.InStage = f.Counted - uint64(20*calendar.Day)
				}
			}
		}
		return w.EachPhase(func(p *replay.Phase) {
			p.ICS.Lock = true
			if p.ICS.Credential == "" {
				p.ICS.Credential = "0000"
			}
			if p.Start != nil {
				start := *p.Start
				start.Facts.Lock = f
				p.Start = &start
			}
		})
	})
}
