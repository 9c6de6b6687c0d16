package diagnosis

import (
	"fmt"
	"slices"

	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// slips are acts that were told of and came out otherwise: pressed twice, on the wrong channel, not taken, at another time.
func (b *builder) slips() {
	acts := float64(max(1, len(b.base.Acts)))
	for i := range b.base.Acts {
		a := b.base.Acts[i]
		if a.Deed != replay.AtUnit || a.Input.Kind == spec.PowerOff || a.Input.Kind == spec.PowerOn {
			continue
		}
		add := func(id, words string, weight float64, s subject, variants ...variant) {
			b.add(cause{
				id: fmt.Sprintf("slip/%s/%d", id, max(a.Claim, 0)+1), family: Slip,
				words:  fmt.Sprintf("%s on %s: %s", doing(&a.Input), clockWords(b.c.Zone, a.At), words),
				weight: weight / acts * b.claimed(&a), cure: cure{Words: "Go through it step by step on the telephone, and watch the display."}, subject: s,
			}, variants...)
		}
		replaced := func(in spec.Input) variant {
			other := a
			other.Input = in
			return exchanged("", a, other)
		}
		s := subjectOf(&a.Input)
		group := b.together(i)
		if group[0] != i {
			continue // of a table that was told of in one go, once is enough
		}
		add("not-done", "it was not done, or the unit did not take it", 2*weightSlip, s, variant{apply: func(w replay.World) (replay.World, bool) {
			return b.undone(w, group)
		}})
		switch a.Input.Kind {
		case spec.Override:
			add("twice", "the button was pressed twice, which takes the override back (OVR-6)", 2*weightSlip, s,
				simply("", func(w replay.World) replay.World { return input(w, a.At+5, a.Input) }))
		case spec.Boost:
			add("twice", "it was followed by a press of the override button, which ends a boost (OVR-13)", weightSlip, s,
				simply("", func(w replay.World) replay.World {
					return input(w, a.At+5, spec.Input{Kind: spec.Override, Channel: a.Input.Channel})
				}))
			if step := uint32(b.ics().BoostStep); step > 0 {
				longer, shorter := a.Input, a.Input
				longer.Amount += step
				variants := []variant{replaced(longer)}
				if a.Input.Amount > step {
					shorter.Amount -= step
					variants = append(variants, replaced(shorter))
				}
				add("length", "the boost was set a step longer or shorter", weightSlip, s, variants...)
			}
		case spec.SetMode:
			var variants []variant
			for m := range spec.Mode(len(modeWords)) {
				if m != a.Input.Mode {
					in := a.Input
					in.Mode = m
					v := replaced(in)
					v.words = modeWords[m]
					variants = append(variants, v)
				}
			}
			add("mode", "another mode was chosen", weightSlip, s, variants...)
		case spec.SetPeriod:
			if a.Input.Table != spec.BothTables && len(b.channels()) == 2 {
				add("table", "it went to the other channel's table", 2*weightSlip, s, variant{apply: func(w replay.World) (replay.World, bool) {
					w, ok := b.undone(w, group)
					for _, j := range group {
						other := b.base.Acts[j]
						other.Input.Table = spec.HWTable + spec.CHTable - other.Input.Table
						w = w.Add(other)
					}
					return w, ok
				}})
			}
			for _, m := range missets {
				var variants []variant
				for _, way := range m.ways {
					if p, ok := way.set(a.Input.Period); ok && good(p, b.ics()) {
						in := a.Input
						in.Period = p
						v := replaced(in).of(way.share)
						if len(m.ways) > 1 {
							v.words = "it came out as " + periodWords(p)
						}
						variants = append(variants, v)
					}
				}
				add("period/"+m.id, m.words, m.weight, s, variants...)
			}
		case spec.SetClock:
			add("clock", "the clock was set twelve hours or a day out", 2*weightSlip, s, clockVariants(a)...)
		}
		if usesChannel(a.Input.Kind) && len(b.channels()) == 2 {
			in := a.Input
			in.Channel = 1 - in.Channel
			add("channel", "it was done to "+named(in.Channel), 2*weightSlip, s.or(subjectOf(&in)), replaced(in))
		}
		var moved []variant
		for _, by := range []int64{-2 * calendar.Hour, -calendar.Hour, -30 * calendar.Minute, 30 * calendar.Minute, calendar.Hour, 2 * calendar.Hour, -calendar.Day, calendar.Day} {
			other := a
			other.At += by
			if other.At <= b.base.From || other.At >= b.base.To {
				continue
			}
			moved = append(moved, exchanged(clockWords(b.c.Zone, other.At), a, other))
		}
		add("time", "it was done at another time", weightSlip, subject{}, moved...)
	}
}

// exchanged is a variant in which an act was another. In a pair the other cause may have added acts, which shifts this one, or have taken it
// away, after which it cannot be exchanged.
func exchanged(words string, was, is replay.Act) variant {
	return variant{words: words, apply: func(w replay.World) (replay.World, bool) {
		i := slices.Index(w.Acts, was)
		if i < 0 {
			return w, false
		}
		return w.Replace(i, is), true
	}}
}

// undone returns a world without acts of the account, given by their indexes there; false where another cause has taken one away.
func (b *builder) undone(w replay.World, group []int) (replay.World, bool) {
	for _, j := range group {
		i := slices.Index(w.Acts, b.base.Acts[j])
		if i < 0 {
			return w, false
		}
		w = w.Without(i)
	}
	return w, true
}

// together returns the acts that come from the same statement as one, which a table of several periods does: their indexes, in order.
func (b *builder) together(i int) []int {
	a := &b.base.Acts[i]
	group := []int{}
	for j := range b.base.Acts {
		if o := &b.base.Acts[j]; j == i || a.Claim >= 0 && o.Claim == a.Claim && o.At == a.At && o.Input.Kind == a.Input.Kind {
			group = append(group, j)
		}
	}
	return group
}

func clockVariants(a replay.Act) []variant {
	var variants []variant
	put := func(words string, in spec.Input) {
		other := a
		other.Input = in
		variants = append(variants, exchanged(words, a, other))
	}
	in := a.Input
	in.Minute = (in.Minute + spec.MinutesPerDay/2) % spec.MinutesPerDay
	put("twelve hours out", in)
	day := calendar.Days(int(in.Date.Year), int(in.Date.Month), int(in.Date.Day))
	for _, by := range []int{-1, 1, -2, 2} {
		in := a.Input
		y, m, d := calendar.Date(day + by)
		in.Date = spec.Date{Year: uint16(y), Month: uint8(m), Day: uint8(d)}
		put(fmt.Sprintf("%+d days out", by), in)
	}
	for _, by := range []int{-60, 60} {
		in := a.Input
		in.Minute = uint16((int(in.Minute) + by + spec.MinutesPerDay) % spec.MinutesPerDay)
		put("an hour out", in)
	}
	return variants
}

func usesChannel(k spec.Kind) bool { return k == spec.SetMode || k == spec.Override || k == spec.Boost }

// subjectOf returns what an input sets: what is then said of it is what somebody meant to do.
func subjectOf(in *spec.Input) subject {
	switch in.Kind {
	case spec.SetMode:
		return ofMode(in.Channel)
	case spec.SetPeriod:
		return ofTables
	case spec.SetClock:
		return ofClock
	case spec.Holiday, spec.HolidayCancel:
		return subject{holiday: true}
	case spec.Reset:
		return ofTables.or(ofMode(spec.HW)).or(ofMode(spec.CH))
	case spec.LockArm, spec.LockRemove:
		return subject{lock: true}
	default:
		return subject{}
	}
}

// doing says what an input does.
func doing(in *spec.Input) string {
	switch in.Kind {
	case spec.Override:
		return "the override of " + named(in.Channel)
	case spec.Boost:
		if in.Amount == 0 {
			return "the end of the boost of " + named(in.Channel)
		}
		return "the boost of " + named(in.Channel)
	case spec.SetMode:
		return "the change of mode of " + named(in.Channel)
	case spec.SetPeriod:
		return "the edit of a period"
	case spec.SetClock:
		return "the setting of the clock"
	case spec.Holiday:
		return "the holiday"
	case spec.HolidayCancel:
		return "the cancelling of the holiday"
	case spec.Reset:
		return "the reset"
	case spec.LockArm:
		return "the arming of the lock"
	case spec.LockRemove:
		return "the removal of the lock"
	default:
		return "what was done"
	}
}
