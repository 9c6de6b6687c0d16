package faults

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// resets changes the facts after a reset.
func resets(f func(was, now *emulator.Facts)) func() hooks {
	return after(spec.Reset, func(was, now *emulator.Facts, _ spec.Input) { f(was, now) })
}

// resetsFitted is for a reset that puts what is fitted back to what the factory fitted.
func resetsFitted(f func(fitted *spec.Fitted, factory spec.Fitted)) func() hooks {
	return with(func(s *scratch) hooks {
		return resets(func(_, now *emulator.Facts) {
			f(&now.Back, s.ics.Fitted)
			if fitted := now.Back.Effective(); fitted != now.Fitted {
				now.Fitted = fitted
				anew(s, now)
			}
		})()
	})
}

func resetUnsets(s *spec.ICS) { s.ResetUnsetsClock = true }
func resetKeeps(s *spec.ICS)  { s.ResetUnsetsClock = false }

var resetFaults = []Fault{
	{
		ID: "RST/today-only", Family: "RST",
		Words: "Reset restores the day that the display shows, and the other days keep their edits.",
		make: resets(func(was, now *emulator.Facts) {
			if !was.ClockSet {
				return
			}
			for c := range now.Channels {
				day := calendar.Weekday(today(was))
				fresh := now.Channels[c].Table[day]
				now.Channels[c].Table = was.Channels[c].Table
				now.Channels[c].Table[day] = fresh
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 period ch thu 1 00:00 01:00", "0 reset", "60"),
	},
	{
		ID: "RST/monday-every-day", Family: "RST",
		Words: "Reset copies Monday's default to every day.",
		make: resets(func(_, now *emulator.Facts) {
			eachDay(now, func(c *emulator.ChannelFacts, day int) { c.Table[day] = c.Table[0] })
		}),
		Witness: witness("0 power on", "0 clock 2026-01-17 10:00", "0 reset", "0"),
	},
	{
		ID: "RST/weekend-kept", Family: "RST",
		Words: "The loop over the days stops at Friday, so the weekend keeps its edits.",
		make: resets(func(was, now *emulator.Facts) {
			for c := range now.Channels {
				copy(now.Channels[c].Table[5:], was.Channels[c].Table[5:])
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-17 07:00", "0 period ch sat 1 00:00 00:00", "0 reset", "0"),
	},
	{
		ID: "RST/first-two-slots", Family: "RST",
		Words: "The two default periods are written over the first two slots, and further slots stay.",
		make: resets(func(was, now *emulator.Facts) {
			for c := range now.Channels {
				for d := range now.Channels[c].Table {
					copy(now.Channels[c].Table[d][2:], was.Channels[c].Table[d][2:])
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 period ch wed 3 10:00 11:00", "0 reset", "0"),
	},
	{
		ID: "RST/hot-waters-table-only", Family: "RST",
		Words:   "Only the first channel's table is restored.",
		make:    resets(func(was, now *emulator.Facts) { now.Channels[spec.CH].Table = was.Channels[spec.CH].Table }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 period ch wed 1 00:00 00:00", "0 reset", "0"),
	},
	{
		ID: "RST/shared-table-half", Family: "RST", claims: func(s *spec.ICS) { s.Fitted.Timing = spec.Shared },
		Words:   "The shared table is kept once a channel, and reset restores hot water's copy.",
		make:    resets(func(was, now *emulator.Facts) { now.Channels[spec.CH].Table = was.Channels[spec.CH].Table }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 period both wed 1 00:00 00:00", "0 reset", "0"),
	},
	{
		ID: "RST/first-of-the-two", Family: "RST", claims: func(s *spec.ICS) { s.Periods = 1 },
		Words: "With one period a day reset puts the first of the weekday's two into it.",
		make: resets(func(_, now *emulator.Facts) {
			eachDay(now, func(c *emulator.ChannelFacts, day int) {
				if day < 5 {
					c.Table[day][0].Off = 9 * 60
				}
			})
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 09:00", "0 reset", "0"),
	},
	{
		ID: "RST/weekends-default-for-all", Family: "RST", claims: func(s *spec.ICS) { s.Fitted.Cycle = spec.Cycle24h },
		Words: "The default is picked by the date of the reset: on a weekend the only table gets the weekend's.",
		make: resets(func(_, now *emulator.Facts) {
			if now.ClockSet && calendar.Weekday(today(now)) >= 5 {
				eachDay(now, func(c *emulator.ChannelFacts, day int) {
					c.Table[day] = [spec.MaxPeriods]spec.Period{{On: 7 * 60, Off: 23 * 60}}
				})
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-17 09:00", "0 reset", "0"),
	},
	{
		ID: "RST/tail-stays", Family: "RST", claims: func(s *spec.ICS) { s.Wrap = true },
		Words: "The tail of last night's period is a flag of its own, which reset does not clear.",
		make: func() hooks {
			var until [spec.NumChannels]uint64
			return hooks{
				after: accepted(spec.Reset, func(was, _ *emulator.Facts, _ spec.Input) {
					until = [spec.NumChannels]uint64{}
					for c := range until {
						if !was.ClockSet || was.Channels[c].Mode != spec.Table {
							continue
						}
						for _, p := range was.Channels[c].Table[(calendar.Weekday(today(was))+6)%7] {
							if left := int64(p.Off)*calendar.Minute - secondOfDay(was); p.Off < p.On && left > 0 {
								until[c] = max(until[c], was.Now+uint64(left))
							}
						}
					}
				}),
				believes: func(now *emulator.Facts) {
					for c := range until {
						if until[c] > now.Now && now.ClockSet && now.Channels[c].BoostLeft == 0 {
							now.Channels[c].BoostLeft = until[c] - now.Now
						}
					}
				},
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 period ch tue 3 23:00 01:00", "0 reset", "0"),
	},
	{
		ID: "RST/modes-kept", Family: "RST",
		Words: "Reset restores the tables and leaves the modes.",
		make: resets(func(was, now *emulator.Facts) {
			eachChannel(was, now, func(was, now *emulator.ChannelFacts) { now.Mode = was.Mode })
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 reset", "0"),
	},
	{
		ID: "RST/span-kept", Family: "RST",
		Words: "A mode is set back only where it is off or always: span is a table too.",
		make: resets(func(was, now *emulator.Facts) {
			eachChannel(was, now, func(was, now *emulator.ChannelFacts) {
				if was.Mode == spec.Span {
					now.Mode = was.Mode
				}
			})
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 09:00", "0 mode ch span", "0 reset", "0"),
	},
	{
		ID: "RST/heatings-mode-kept", Family: "RST",
		Words:   "Only hot water's mode is set back.",
		make:    resets(func(was, now *emulator.Facts) { now.Channels[spec.CH].Mode = was.Channels[spec.CH].Mode }),
		Witness: witness("0 power on", "0 mode hw always", "0 mode ch always", "0 reset", "0"),
	},
	{
		ID: "RST/modes-off", Family: "RST",
		Words: "Reset sets both modes to off, to be safe.",
		make: resets(func(_, now *emulator.Facts) {
			for c := range now.Channels {
				now.Channels[c].Mode = spec.Off
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 reset", "0"),
	},
	{
		ID: "RST/boosts-kept", Family: "RST",
		Words:   "A boost runs on through a reset.",
		make:    resets(keepBoosts),
		Witness: witness("0 power on", "0 boost hw 60", "0 reset", "0"),
	},
	{
		ID: "RST/heatings-boost-kept", Family: "RST",
		Words:   "The boost of the channel that the display shows is cancelled, the other's is not.",
		make:    resets(func(was, now *emulator.Facts) { now.Channels[spec.CH].BoostLeft = was.Channels[spec.CH].BoostLeft }),
		Witness: witness("0 power on", "0 boost hw 60", "0 boost ch 60", "0 reset", "0"),
	},
	{
		ID: "RST/override-kept-with-its-level", Family: "RST",
		Words: "Reset ends an override only where it changes the scheduled level.",
		make: with(func(s *scratch) hooks {
			return resets(func(was, now *emulator.Facts) {
				for c := range now.Channels {
					ch := spec.Channel(c)
					now.Channels[c].Override = was.Channels[c].Override && now.ClockSet && s.scheduled(*was, ch) == s.scheduled(*now, ch)
				}
			})()
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 reset", "0"),
	},
	{
		ID: "RST/holiday-kept", Family: "RST",
		Words: "The holiday's end date stays in memory through a reset.",
		make: resets(func(was, now *emulator.Facts) {
			if now.ClockSet {
				now.Holiday = was.Holiday
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 1", "0 reset", "0"),
	},
	{
		ID: "RST/holiday-comes-back", Family: "RST", claims: resetUnsets,
		Words: "The holiday's end date stays in memory, and the holiday goes on as soon as the clock is set again.",
		make: func() hooks {
			var saved emulator.HolidayFacts
			keep := accepted(spec.Reset, func(was, _ *emulator.Facts, _ spec.Input) { saved = was.Holiday })
			give := accepted(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
				if !was.ClockSet && saved.On && today(now) < saved.EndDate {
					now.Holiday = saved
				}
				saved = emulator.HolidayFacts{}
			})
			return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				keep(was, now, in, r)
				give(was, now, in, r)
			}}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 1", "0 reset", "0 clock 2026-01-14 07:00", "0"),
	},
	{
		ID: "RST/seconds-cleared", Family: "RST",
		Words: "Reset starts the second counter of the clock afresh.",
		make: resets(func(_, now *emulator.Facts) {
			if now.ClockSet {
				moveClock(now, -(now.UTC % calendar.Minute))
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "1 reset", "60"),
	},
	{
		ID: "RST/monday", Family: "RST",
		Words: "Reset keeps the time of day and sets the day to Monday.",
		make: resets(func(_, now *emulator.Facts) {
			if now.ClockSet {
				moveClock(now, -int64(calendar.Weekday(today(now)))*calendar.Day)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 09:00", "0 reset", "0 period ch mon 3 09:00 10:00", "0"),
	},
	{
		ID: "RST/unset-starts", Family: "RST",
		Words: "Reset starts an unset clock at midnight.",
		make: resets(func(_, now *emulator.Facts) {
			if !now.ClockSet {
				startClock(now, newYear2001)
			}
		}),
		Witness: witness("0 power on", "0 reset", "25200"),
	},
	{
		ID: "RST/kept-unsets", Family: "RST", claims: resetKeeps,
		Words:   "The clock is said to outlive a reset, and is unset by it.",
		make:    actsAs(resetUnsets),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 reset", "0 mode ch table", "0"),
	},
	{
		ID: "RST/unset-keeps", Family: "RST", claims: resetUnsets,
		Words:   "The clock is said to be unset by a reset, and shows dashes, but runs on beneath them.",
		make:    actsAs(resetKeeps),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 reset", "0"),
	},
	{
		ID: "RST/coupling-of-the-factory", Family: "RST",
		Words:   "Reset loads the factory's coupling.",
		make:    resetsFitted(func(fitted *spec.Fitted, factory spec.Fitted) { fitted.Coupling = factory.Coupling }),
		Witness: witness("0 fit coupling gravity", "0 power on", "0 reset", "0 boost ch 60", "0"),
	},
	{
		ID: "RST/cycle-of-the-factory", Family: "RST",
		Words:   "Reset loads the factory's cycle.",
		make:    resetsFitted(func(fitted *spec.Fitted, factory spec.Fitted) { fitted.Cycle = factory.Cycle }),
		Witness: witness("0 fit cycle 24h", "0 power on", "0 reset", "0 period ch all 1 07:00 09:00", "0"),
	},
	{
		ID: "RST/timing-of-the-factory", Family: "RST",
		Words:   "Reset allocates a table for each channel, whatever is fitted.",
		make:    resetsFitted(func(fitted *spec.Fitted, factory spec.Fitted) { fitted.Timing = factory.Timing }),
		Witness: witness("0 fit timing shared", "0 power on", "0 reset", "0 period both wed 1 07:00 09:00", "0"),
	},
	{
		ID: "RST/channels-of-the-factory", Family: "RST",
		Words:   "Reset restores both channels to a unit on which one is fitted.",
		make:    resetsFitted(func(fitted *spec.Fitted, factory spec.Fitted) { fitted.Channels = factory.Channels }),
		Witness: witness("0 fit channels ch", "0 power on", "0 reset", "0 boost hw 60", "0"),
	},
	{
		ID: "RST/with-the-next-minute", Family: "RST",
		Words: "The reset key sets a flag that the minute's scan acts on.",
		make: with(func(s *scratch) hooks {
			due := noWait
			return hooks{
				input: func(now *emulator.Facts, in spec.Input) []spec.Input {
					if in.Kind != spec.Reset || !now.Powered {
						return []spec.Input{in}
					}
					due = now.Now + toMinute(now)
					return nil
				},
				wait: func(now *emulator.Facts) uint64 { return due - min(due, now.Now) },
				passed: func(_, now *emulator.Facts) {
					if now.Now == due {
						s.do(now, spec.Input{Kind: spec.Reset})
						due = noWait
					}
				},
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 reset", "0"),
	},
	{
		ID: "RST/waits-for-an-edge", Family: "RST",
		Words:   "The relays stay as they were until the restored table's next on or off.",
		make:    waitsForSwitching(ofKind(spec.Reset)),
		Witness: witness("0 power on", "0 mode ch always", "0 reset", "60"),
	},
	{
		ID: "RST/relays-drop-out", Family: "RST",
		Words: "Reset restarts the outputs: relays that stay closed drop out for an instant.",
		make: func() hooks {
			fresh := false
			return hooks{
				after: func(_, _ *emulator.Facts, in spec.Input, r *spec.Reply) {
					fresh = in.Kind == spec.Reset && r.Outcome == spec.Accepted
				},
				glitch: func(_, _ *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
					if fresh {
						levels[spec.SigHW], levels[spec.SigCH] = 0, 0
					}
					fresh = false
				},
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 reset", "0"),
	},
	{
		ID: "RST/once-a-minute", Family: "RST",
		Words: "A second reset within a minute is taken for a bounce of the key.",
		make: func() hooks {
			last := noWait
			return hooks{input: func(now *emulator.Facts, in spec.Input) []spec.Input {
				if in.Kind != spec.Reset || !now.Powered {
					return []spec.Input{in}
				}
				if last <= now.Now && now.Now < last+calendar.Minute {
					return nil
				}
				last = now.Now
				return []spec.Input{in}
			}}
		},
		Witness: witness("0 power on", "0 reset", "0 mode ch always", "0 reset", "0"),
	},
	{
		ID: "RST/twice-removes-the-lock", Family: "RST",
		Words: "Two resets in a second are the service engineer's code that clears everything, the lock too.",
		make: func() hooks {
			last := noWait
			return resets(func(was, now *emulator.Facts) {
				if last == was.Now {
					now.Lock = emulator.LockFacts{}
				}
				last = was.Now
			})()
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 reset", "0 reset", "0"),
	},
	{
		ID: "RST/refused-with-clock-unset", Family: "RST",
		Words:   "With the clock unset the reset key does nothing: there is no time to start from.",
		make:    refuses(spec.Reset, func(was, _ *emulator.Facts, _ spec.Input) bool { return !was.ClockSet }),
		Witness: witness("0 power on", "0 reset", "0"),
	},
	{
		ID: "RST/refused-in-a-holiday", Family: "RST",
		Words:   "In a holiday the keys are locked, the reset key too.",
		make:    refuses(spec.Reset, func(was, _ *emulator.Facts, _ spec.Input) bool { return was.Holiday.On }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 1", "0 reset", "0"),
	},
	{
		ID: "RST/refused-while-restricted", Family: "RST",
		Words:   "In restricted the reset key asks for the credential, and is refused without it.",
		make:    refuses(spec.Reset, func(was, _ *emulator.Facts, _ spec.Input) bool { return was.Lock.Stage == spec.Restricted }),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "86400 reset", "86400"),
	},
}
