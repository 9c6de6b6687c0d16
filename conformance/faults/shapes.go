package faults

import (
	"slices"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// The shapes that many mistakes share.

// plain is for hooks that remember nothing.
func plain(h hooks) func() hooks { return func() hooks { return h } }

// instead replaces every input of a kind that is given with power.
func instead(kind spec.Kind, f func(now *emulator.Facts, in spec.Input) []spec.Input) func() hooks {
	return plain(hooks{input: func(now *emulator.Facts, in spec.Input) []spec.Input {
		if in.Kind != kind || !now.Powered {
			return []spec.Input{in}
		}
		return f(now, in)
	}})
}

// changed replaces every input of a kind by one that differs from it.
func changed(kind spec.Kind, f func(now *emulator.Facts, in *spec.Input)) func() hooks {
	return plain(hooks{input: func(now *emulator.Facts, in spec.Input) []spec.Input {
		if in.Kind == kind {
			f(now, &in)
		}
		return []spec.Input{in}
	}})
}

// after changes the facts after each accepted input of a kind.
func after(kind spec.Kind, f func(was, now *emulator.Facts, in spec.Input)) func() hooks {
	return plain(hooks{after: accepted(kind, f)})
}

// refuses refuses what the unit would accept, where when says so.
func refuses(kind spec.Kind, when func(was, now *emulator.Facts, in spec.Input) bool) func() hooks {
	return plain(hooks{after: refusing(kind, when)})
}

func refusing(kind spec.Kind, when func(was, now *emulator.Facts, in spec.Input) bool) afterInput {
	return func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
		if in.Kind == kind && r.Outcome == spec.Accepted && when(was, now, in) {
			undo(was, now, r)
		}
	}
}

// accepts accepts what the unit would refuse for the reason, where f, which says what it then does, returns true.
func accepts(kind spec.Kind, why spec.Refusal, f func(now *emulator.Facts, in spec.Input) bool) func() hooks {
	return plain(hooks{after: accepting(kind, why, f)})
}

func accepting(kind spec.Kind, why spec.Refusal, f func(now *emulator.Facts, in spec.Input) bool) afterInput {
	return func(_, now *emulator.Facts, in spec.Input, r *spec.Reply) {
		if in.Kind == kind && r.Refusal == why && f(now, in) {
			*r = spec.Reply{}
		}
	}
}

// midnight changes the facts when the clock has run to midnight.
func midnight(f func(now *emulator.Facts)) func() hooks {
	return plain(hooks{wait: untilMidnight, passed: func(_, now *emulator.Facts) {
		if now.ClockSet && secondOfDay(now) == 0 {
			f(now)
		}
	}})
}

// minutely changes the facts when the clock has run to the beginning of a minute.
func minutely(f func(was, now *emulator.Facts)) hooks {
	return hooks{wait: untilMinute, passed: func(was, now *emulator.Facts) {
		if now.ClockSet && secondOfDay(now)%calendar.Minute == 0 {
			f(was, now)
		}
	}}
}

// readsTable is a table read by another rule: f changes a day's periods to those that amount to what it asks for.
func readsTable(f func(day *[spec.MaxPeriods]spec.Period)) func() hooks {
	return plain(hooks{believes: func(facts *emulator.Facts) {
		eachDay(facts, func(c *emulator.ChannelFacts, day int) { f(&c.Table[day]) })
	}})
}

// readsSpan is mode span by another rule: f returns the one period of a day's active ones, in the order of their slots.
func readsSpan(f func(active []spec.Period) spec.Period) func() hooks {
	return plain(hooks{believes: func(facts *emulator.Facts) {
		for c := range facts.Channels {
			ch := &facts.Channels[c]
			if ch.Mode != spec.Span {
				continue
			}
			ch.Mode = spec.Table
			for d := range ch.Table {
				p := f(slices.DeleteFunc(slices.Clone(ch.Table[d][:]), func(p spec.Period) bool { return p.On == p.Off }))
				ch.Table[d] = [spec.MaxPeriods]spec.Period{p}
			}
		}
	}})
}

// toMinute returns the seconds to the next minute of the display, or of the count of seconds where it shows nothing.
func toMinute(f *emulator.Facts) uint64 {
	if !f.ClockSet {
		return calendar.Minute - f.Now%calendar.Minute
	}
	return untilMinute(f)
}

// waitsForMinute holds back what an input of the kind does to the relays until the minute turns.
func waitsForMinute(kind spec.Kind) func() hooks {
	return func() hooks {
		var until uint64
		var held [spec.NumSignals]spec.Level
		return hooks{
			after: accepted(kind, func(_, now *emulator.Facts, _ spec.Input) { until = now.Now + toMinute(now) }),
			wait: func(now *emulator.Facts) uint64 {
				if until <= now.Now {
					return noWait
				}
				return until - now.Now
			},
			show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				if now.Now < until && now.Powered {
					copy(levels[:spec.SigAlert], held[:])
				}
				held = *levels
			},
		}
	}
}

// waitsForSwitching holds back what an input does to the relays until the clocks next move them or another input comes.
func waitsForSwitching(what func(was *emulator.Facts, in spec.Input) bool) func() hooks {
	return func() hooks {
		holding := false
		var held [spec.NumSignals]spec.Level
		return hooks{
			after: func(was, _ *emulator.Facts, in spec.Input, r *spec.Reply) {
				holding = r.Outcome == spec.Accepted && what(was, in)
			},
			passed: func(was, now *emulator.Facts) {
				holding = holding && was.Shown == now.Shown
			},
			show: func(_ *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				if holding {
					copy(levels[:spec.SigAlert], held[:])
				}
				held = *levels
			},
		}
	}
}

// ofKind is for waitsForSwitching.
func ofKind(kind spec.Kind) func(*emulator.Facts, spec.Input) bool {
	return func(_ *emulator.Facts, in spec.Input) bool { return in.Kind == kind }
}

// untilSwitching returns the seconds to a channel's next switching point, or false if there is none in eight days.
func (s *scratch) untilSwitching(f emulator.Facts, c spec.Channel) (seconds uint64, ok bool) {
	level := s.scheduled(f, c) // which leaves the unit at these facts, with the schedule alone
	for {
		next, ok := s.unit.Next()
		if !ok || next > f.Now+8*calendar.Day {
			return 0, false
		}
		s.unit.Advance(next-s.unit.Now(), nil)
		if s.unit.Level(spec.Signal(c)) != level {
			return next - f.Now, true
		}
	}
}
