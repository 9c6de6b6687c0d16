package faults

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// late shows what changes the signals later: by is how many seconds, and signals which of them. What an input changes is late where
// inputs is set, what the clocks change where it is not. The loss of power shows at once.
func late(inputs bool, by func(now *emulator.Facts) uint64, signals ...spec.Signal) func() hooks {
	return func() hooks {
		var held [spec.NumSignals]spec.Level
		byInput, pending := false, false
		due := uint64(0)
		return hooks{
			after:  func(_, _ *emulator.Facts, _ spec.Input, _ *spec.Reply) { byInput = true },
			passed: func(_, _ *emulator.Facts) { byInput = false },
			wait: func(now *emulator.Facts) uint64 {
				if !pending {
					return noWait
				}
				return due - min(due, now.Now)
			},
			show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				moved := false
				for _, s := range signals {
					moved = moved || levels[s] != held[s]
				}
				if moved && !pending && byInput == inputs && now.Powered {
					pending, due = true, now.Now+by(now)
				}
				pending = pending && moved && now.Now < due && now.Powered
				if pending {
					for _, s := range signals {
						levels[s] = held[s]
					}
				}
				held = *levels
			},
		}
	}
}

func aSecond(*emulator.Facts) uint64 { return 1 }

// toTick returns the seconds to the next tick of a minute timer that runs from new.
func toTick(now *emulator.Facts) uint64 {
	return (calendar.Minute - now.Now%calendar.Minute) % calendar.Minute
}

// pulses shows a channel's relay the other way for an instant, where it is seen to be the same before and after.
func pulses(wait func(*emulator.Facts) uint64, where func(s *scratch, was, now *emulator.Facts, c spec.Channel) bool) func() hooks {
	return with(func(s *scratch) hooks {
		return hooks{wait: wait, glitch: func(was, now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
			for c := spec.HW; c <= spec.CH; c++ {
				if now.Powered && was.Now < now.Now && was.Shown[c] == now.Shown[c] && where(s, was, now, c) {
					levels[c] = 1 - levels[c]
				}
			}
		}}
	})
}

// pulsesOn shows the closed relay of the input's channel open for an instant, after an accepted input of a kind.
func pulsesOn(kind spec.Kind, where func(s *scratch, was, now *emulator.Facts, c spec.Channel) bool) func() hooks {
	return with(func(s *scratch) hooks {
		var pulse [spec.NumChannels]bool
		return hooks{
			after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				for c := range pulse {
					pulse[c] = in.Kind == kind && r.Outcome == spec.Accepted && was.Shown[c] == now.Shown[c] && where(s, was, now, spec.Channel(c))
				}
			},
			glitch: func(_, _ *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				for c := range pulse {
					if pulse[c] {
						levels[c] = 1 - levels[c]
					}
					pulse[c] = false
				}
			},
		}
	})
}

// ordered shows the changes of a second in an order of its own.
func ordered(by [spec.NumSignals]spec.Signal) func() hooks {
	return plain(hooks{order: func(_, _ *[spec.NumSignals]spec.Level, order *[spec.NumSignals]spec.Signal) { *order = by }})
}

var outputFaults = []Fault{
	{
		ID: "OUT/clocks-a-second-late", Family: "OUT",
		Words:   "The table is looked at before the second is counted, so what the clocks bring shows a second late.",
		make:    late(false, aSecond, spec.SigHW, spec.SigCH),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "60"),
	},
	{
		ID: "OUT/minute-timer-of-its-own", Family: "OUT",
		Words:   "The table is scanned on a minute timer that runs from power-on, not on the display's minute.",
		make:    late(false, toTick, spec.SigHW, spec.SigCH),
		Witness: witness("0 power on", "1 clock 2026-01-14 06:59", "61"),
	},
	{
		ID: "OUT/lock-once-a-minute", Family: "OUT",
		Words:   "The lock is looked at once a minute, so the alert is late by up to 59 s.",
		make:    late(false, toTick, spec.SigAlert),
		Witness: witness("0 power on", "1 lock arm 246810 1 0 none none none none none", "86401"),
	},
	{
		ID: "OUT/inputs-a-second-late", Family: "OUT",
		Words:   "Keys are queued and carried out with the next second's tick.",
		make:    late(true, aSecond, spec.SigHW, spec.SigCH),
		Witness: witness("0 power on", "0 boost ch 60", "0"),
	},
	{
		ID: "OUT/inputs-with-the-next-minute", Family: "OUT",
		Words:   "A key sets a flag, and the outputs follow with the next minute.",
		make:    late(true, toMinute, spec.SigHW, spec.SigCH),
		Witness: witness("0 power on", "0 clock 2026-01-14 05:00", "0 boost ch 60", "1"),
	},
	{
		ID: "OUT/arming-with-the-next-hour", Family: "OUT",
		Words: "The alert is worked out once an hour, so arming shows up to an hour late.",
		make: late(true, func(now *emulator.Facts) uint64 {
			return calendar.Hour - now.Now%calendar.Hour
		}, spec.SigAlert),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0"),
	},
	{
		ID: "OUT/relays-one-after-the-other", Family: "OUT",
		Words: "Two relays that move together are worked a second apart, though the statement claims no stagger.",
		make: func() hooks {
			var held spec.Level
			var shownHW spec.Level
			until := uint64(0)
			return hooks{
				wait: func(now *emulator.Facts) uint64 {
					if until <= now.Now {
						return noWait
					}
					return until - now.Now
				},
				show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
					if levels[spec.SigHW] != shownHW && levels[spec.SigCH] != held && now.Powered {
						until = now.Now + 1
					}
					if now.Now < until && now.Powered {
						levels[spec.SigCH] = held
					}
					held, shownHW = levels[spec.SigCH], levels[spec.SigHW]
				},
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0"),
	},
	{
		ID: "OUT/one-minute-missed", Family: "OUT",
		Words: "A period of one minute is over before the scan has seen its on.",
		make: readsTable(func(day *[spec.MaxPeriods]spec.Period) {
			for i, p := range day {
				if p.Off == p.On+1 {
					day[i] = spec.Period{}
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 period ch wed 1 06:00 06:01", "0"),
	},
	{
		ID: "OUT/minutes-in-two-bytes", Family: "OUT",
		Words: "The minutes since the last key are counted in two bytes, and after 45 days without one the outputs stand still.",
		make: func() hooks {
			last := uint64(0)
			var held [spec.NumSignals]spec.Level
			return hooks{
				after: func(_, now *emulator.Facts, _ spec.Input, _ *spec.Reply) { last = now.Now },
				show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
					if now.Now-last >= 1<<16*calendar.Minute {
						*levels = held
					}
					held = *levels
				},
			}
		},
		Witness: witness("0 power on", "0 lock arm 246810 46 0 none none none none none", "3974400"),
	},
	{
		ID: "OUT/drops-out-where-periods-touch", Family: "OUT",
		Words: "The off is carried out before the on of the same minute, so the relay drops out where periods touch.",
		make: pulses(untilMinute, func(_ *scratch, _, now *emulator.Facts, c spec.Channel) bool {
			second := secondOfDay(now)
			if now.Shown[c] == 0 || !now.ClockSet || second%calendar.Minute != 0 || now.Channels[c].Mode != spec.Table {
				return false
			}
			minute := uint16(second / calendar.Minute)
			table := &now.Channels[c].Table
			day := calendar.Weekday(today(now))
			ends, begins := false, false
			for i, p := range table[day] {
				ends = ends || p.On < p.Off && p.Off == minute
				begins = begins || p.On != p.Off && p.On == minute
				ends = ends || minute == 0 && table[(day+6)%7][i].Off == spec.MinutesPerDay
			}
			return ends && begins
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:59", "0 period ch wed 3 09:00 10:00", "60"),
	},
	{
		ID: "OUT/drops-out-at-midnight", Family: "OUT",
		Words: "At midnight the outputs are worked out anew, and a closed relay drops out for an instant.",
		make: pulses(func(now *emulator.Facts) uint64 {
			if !now.ClockSet {
				return noWait
			}
			return untilMidnight(now)
		}, func(_ *scratch, _, now *emulator.Facts, c spec.Channel) bool {
			return now.ClockSet && secondOfDay(now) == 0 && now.Shown[c] == 1
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 mode ch always", "60"),
	},
	{
		ID: "OUT/drops-out-between-boost-and-period", Family: "OUT",
		Words: "The boost ends in one handler and the period begins in another, and the relay drops out between them.",
		make: pulses(nil, func(s *scratch, was, now *emulator.Facts, c spec.Channel) bool {
			return now.Shown[c] == 1 && was.Channels[c].BoostLeft > 0 && now.Channels[c].BoostLeft == 0 && s.scheduled(*was, c) == 0
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 boost ch 60", "3600"),
	},
	{
		ID: "OUT/pulse-at-an-overrides-end", Family: "OUT",
		Words: "The override is cancelled before the new level is worked out, and the old one shows for an instant.",
		make: pulses(nil, func(_ *scratch, was, now *emulator.Facts, c spec.Channel) bool {
			return was.Channels[c].Override && !now.Channels[c].Override
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 override ch", "60"),
	},
	{
		ID: "OUT/pulse-at-a-windows-edge", Family: "OUT",
		Words: "The window opens before the boost that ends in its second has ended, and the relay closes for an instant.",
		make: pulses(nil, func(_ *scratch, was, now *emulator.Facts, c spec.Channel) bool {
			return now.Shown[c] == 0 && !permits(&was.Lock, c) && permits(&now.Lock, c) && was.Channels[c].BoostLeft > 0
		}),
		Witness: witness("0 power on", "0 boost ch 60", "0 lock arm 246810 1 1 none 10 none 10 none", "3600"),
	},
	{
		ID: "OUT/pulse-at-a-holidays-end", Family: "OUT",
		Words: "The holiday ends before the midnight scan, so a period that ends at 24:00 shows for an instant.",
		make: pulses(nil, func(s *scratch, was, now *emulator.Facts, c spec.Channel) bool {
			return now.Shown[c] == 0 && was.Holiday.On && !now.Holiday.On && s.scheduled(*was, c) == 1
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 period ch wed 3 23:00 24:00", "0 holiday 1", "60"),
	},
	{
		ID: "OUT/winds-the-clock", Family: "OUT",
		Words: "A clock that is set forward is wound through the time between, with every on and off on the way.",
		make: pulsesOn(spec.SetClock, func(s *scratch, was, now *emulator.Facts, c spec.Channel) bool {
			if !was.ClockSet || now.UTC <= was.UTC || was.Channels[c].Override || was.Channels[c].BoostLeft > 0 || was.Holiday.On {
				return false
			}
			wait, ok := s.untilSwitching(*was, c)
			return ok && wait < uint64(now.UTC-was.UTC)
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 clock 2026-01-14 12:00", "0"),
	},
	{
		ID: "OUT/mode-key-drops-out", Family: "OUT",
		Words: "Each mode key opens the relay first and lets the new mode close it again.",
		make: pulsesOn(spec.SetMode, func(_ *scratch, was, now *emulator.Facts, c spec.Channel) bool {
			return now.Shown[c] == 1 && was.Channels[c].Mode != now.Channels[c].Mode
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 mode ch always", "0"),
	},
	{
		ID: "OUT/edit-drops-out", Family: "OUT",
		Words: "Each edit clears the outputs before the new table is read.",
		make: pulsesOn(spec.SetPeriod, func(_ *scratch, was, now *emulator.Facts, c spec.Channel) bool {
			return now.Shown[c] == 1 && was.Channels[c].Table != now.Channels[c].Table
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 period ch wed 3 12:00 13:00", "0"),
	},
	{
		ID: "OUT/second-boost-drops-out", Family: "OUT",
		Words: "A second boost ends the first before it begins.",
		make: pulsesOn(spec.Boost, func(_ *scratch, was, now *emulator.Facts, c spec.Channel) bool {
			return now.Shown[c] == 1 && was.Channels[c].BoostLeft > 0 && was.Channels[c].BoostLeft != now.Channels[c].BoostLeft
		}),
		Witness: witness("0 power on", "0 boost ch 60", "1 boost ch 60", "1"),
	},
	{
		ID: "OUT/heating-first", Family: "OUT",
		Words:   "The heating relay is always worked before the hot-water relay.",
		make:    ordered([spec.NumSignals]spec.Signal{spec.SigCH, spec.SigHW, spec.SigAlert, spec.SigSounder}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0"),
	},
	{
		ID: "OUT/hot-water-first", Family: "OUT",
		Words:   "The hot-water relay is always worked before the heating relay, when it opens too.",
		make:    ordered([spec.NumSignals]spec.Signal{spec.SigHW, spec.SigCH, spec.SigAlert, spec.SigSounder}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 period hw wed 1 00:00 07:00", "60"),
	},
	{
		ID: "OUT/alert-first", Family: "OUT",
		Words: "The alert changes first, and the relays are worked out from it.",
		make: plain(hooks{order: func(_, _ *[spec.NumSignals]spec.Level, order *[spec.NumSignals]spec.Signal) {
			order[0], order[1], order[2] = order[2], order[0], order[1]
		}}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 10 none", "600 lock remove 246810", "600"),
	},
	{
		ID: "OUT/sounder-before-alert", Family: "OUT",
		Words: "The sounder is worked before the alert.",
		make: plain(hooks{order: func(_, _ *[spec.NumSignals]spec.Level, order *[spec.NumSignals]spec.Signal) {
			order[2], order[3] = order[3], order[2]
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 lock arm 246810 1 1 none none none none 07:00", "0"),
	},
	{
		ID: "OUT/opens-before-it-closes", Family: "OUT",
		Words: "Whatever the channel, relays are opened before others are closed.",
		make: plain(hooks{order: func(from, to *[spec.NumSignals]spec.Level, order *[spec.NumSignals]spec.Signal) {
			if hw, ch := spec.SigHW, spec.SigCH; to[hw] > from[hw] && to[ch] < from[ch] {
				order[0], order[1] = ch, hw
			} else if to[hw] < from[hw] && to[ch] > from[ch] {
				order[0], order[1] = hw, ch
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 period ch wed 1 00:00 07:00", "60"),
	},
	{
		ID: "OUT/closes-before-it-opens", Family: "OUT",
		Words: "Whatever the channel, relays are closed before others are opened, and else hot water comes first.",
		make: plain(hooks{order: func(from, to *[spec.NumSignals]spec.Level, order *[spec.NumSignals]spec.Signal) {
			if hw, ch := spec.SigHW, spec.SigCH; to[hw] < from[hw] && to[ch] < from[ch] {
				order[0], order[1] = hw, ch
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 power off", "0"),
	},
	{
		ID: "OUT/same-key-in-a-second", Family: "OUT",
		Words: "A key pressed twice within a second is taken for a bounce.",
		make: func() hooks {
			var last spec.Input
			at := noWait
			return hooks{input: func(now *emulator.Facts, in spec.Input) []spec.Input {
				bounce := now.Now == at && in == last && now.Powered && in.Kind != spec.PowerOff
				last, at = in, now.Now
				if bounce {
					return nil
				}
				return []spec.Input{in}
			}}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 override ch", "0"),
	},
	{
		ID: "OUT/override-before-the-clock", Family: "OUT",
		Words: "Keys are handled before the clock, so an override in the second of an on or off ends in that second.",
		make: with(func(s *scratch) hooks {
			edge := [spec.NumChannels]uint64{noWait, noWait}
			return hooks{
				passed: func(was, now *emulator.Facts) {
					for c := range edge {
						if s.scheduled(*was, spec.Channel(c)) != s.scheduled(*now, spec.Channel(c)) {
							edge[c] = now.Now
						}
					}
				},
				after: accepted(spec.Override, func(was, now *emulator.Facts, in spec.Input) {
					if edge[in.Channel] == was.Now {
						now.Channels[in.Channel].Override = false
					}
				}),
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "60 override ch", "60"),
	},
	{
		ID: "OUT/boost-before-the-holidays-end", Family: "OUT",
		Words: "Keys are handled before the clock, so a boost in the second in which a holiday ends is refused.",
		make: func() hooks {
			ended := noWait
			return hooks{
				passed: func(was, now *emulator.Facts) {
					if was.Holiday.On && !now.Holiday.On {
						ended = now.Now
					}
				},
				after: refusing(spec.Boost, func(was, _ *emulator.Facts, _ spec.Input) bool { return was.Now == ended }),
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 holiday 1", "60 boost ch 60", "60"),
	},
	{
		ID: "OUT/inputs-against-the-seconds-start", Family: "OUT",
		Words: "Whether an input is refused is asked of the state at the second's start, so a boost is refused in the second in which the holiday is cancelled.",
		make: func() hooks {
			var start emulator.Facts
			note := func(was *emulator.Facts) {
				if start.Now != was.Now {
					start = *was
				}
			}
			return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				note(was)
				if in.Kind == spec.Boost && start.Holiday.On && r.Outcome == spec.Accepted && in.Amount > 0 {
					undo(was, now, r)
				}
			}}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 1", "1 holiday cancel", "1 boost ch 60", "1"),
	},
}
