package faults

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

func programmed(s *spec.ICS)   { s.OverrideProgrammed = true }
func overrideKept(s *spec.ICS) { s.OverrideKept = true }

var overrideFaults = []Fault{
	{
		ID: "OVR/waits-for-the-minute", Family: "OVR",
		Words:   "The key sets a flag that the table routine reads when the minute turns.",
		make:    waitsForMinute(spec.Override),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0"),
	},
	{
		ID: "OVR/only-ever-on", Family: "OVR",
		Words: "Override is heat now: in a period it is accepted and does nothing.",
		make: with(func(s *scratch) hooks {
			return hooks{after: accepted(spec.Override, func(_, now *emulator.Facts, in spec.Input) {
				if s.scheduled(*now, in.Channel) == 1 {
					now.Channels[in.Channel].Override = false
				}
			})}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 override hw", "0"),
	},
	{
		ID: "OVR/latched", Family: "OVR",
		Words:   "The level is latched until the key is pressed again; no switching point clears it.",
		make:    levelKept(func(*scratch, *emulator.Facts, spec.Channel) uint64 { return noWait }),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 override hw", "7260"),
	},
	{
		ID: "OVR/end-stored-at-the-press", Family: "OVR",
		Words: "The end is worked out at the press and stored; an edit does not move it.",
		make: levelKept(func(s *scratch, now *emulator.Facts, c spec.Channel) uint64 {
			wait, _ := s.untilSwitching(*now, c)
			return now.Now + wait
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 override hw", "0 period hw wed 1 07:00 10:00", "3600"),
	},
	{
		ID: "OVR/ends-a-minute-early", Family: "OVR",
		Words: "The end is looked up for the minute that comes next, and so is a minute early.",
		make: with(func(s *scratch) hooks {
			return minutely(func(was, now *emulator.Facts) {
				next := *now
				next.UTC += calendar.Minute
				each(func(c spec.Channel) {
					if s.scheduled(next, c) != s.scheduled(*now, c) {
						now.Channels[c].Override = false
					}
				})
			})
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 15:58", "0 override hw", "60"),
	},
	{
		ID: "OVR/marked-for-a-minute-more", Family: "OVR",
		Words: "The mark is cleared in the minute after the end, and a press until then only cancels what has ended.",
		make: func() hooks {
			var ended [spec.NumChannels]uint64
			return hooks{
				passed: func(was, now *emulator.Facts) {
					each(func(c spec.Channel) {
						if was.Channels[c].Override && !now.Channels[c].Override {
							ended[c] = now.Now
						}
					})
				},
				after: accepted(spec.Override, func(was, now *emulator.Facts, in spec.Input) {
					if e := ended[in.Channel]; e > 0 && now.Now < e+calendar.Minute && now.Channels[in.Channel].Override {
						now.Channels[in.Channel].Override = false
						ended[in.Channel] = 0
					}
				}),
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 override hw", "60 override hw", "60"),
	},
	{
		ID: "OVR/edit-always-ends-it", Family: "OVR",
		Words: "An edit makes the list of events anew, and the override is dropped with the old one.",
		make: after(spec.SetPeriod, func(was, now *emulator.Facts, _ spec.Input) {
			eachChannel(was, now, func(was, now *emulator.ChannelFacts) { now.Override = now.Override && was.Table == now.Table })
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 period hw mon 1 06:00 07:00", "0"),
	},
	{
		ID: "OVR/edit-turns-it-over", Family: "OVR",
		Words:   "Override is stored as 'the other way round', and an edit that changes the level turns the override over with it.",
		make:    keepsFlag(spec.SetPeriod, func(_, _ *emulator.Facts, _ spec.Input) bool { return true }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 period hw wed 3 10:00 11:00", "0"),
	},
	{
		ID: "OVR/clock-set-always-ends-it", Family: "OVR",
		Words:   "Setting the clock clears every override.",
		make:    after(spec.SetClock, func(_, now *emulator.Facts, _ spec.Input) { dropOverrides(now) }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 clock 2026-01-14 11:00", "0"),
	},
	{
		ID: "OVR/clock-set-over-a-point-ends-it", Family: "OVR",
		Words: "A set forward plays through the switching points that it passes, and the first one ends the override.",
		make: with(func(s *scratch) hooks {
			return hooks{after: accepted(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
				each(func(c spec.Channel) {
					wait, ok := s.untilSwitching(*was, c)
					if was.ClockSet && ok && was.UTC+int64(wait) <= now.UTC {
						now.Channels[c].Override = false
					}
				})
			})}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 override hw", "0 clock 2026-01-14 17:00", "0"),
	},
	{
		ID: "OVR/clock-set-turns-it-over", Family: "OVR",
		Words:   "A set clock gives a new level, and the override is still there to turn it over.",
		make:    keepsFlag(spec.SetClock, func(_, _ *emulator.Facts, _ spec.Input) bool { return true }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 clock 2026-01-14 17:00", "0"),
	},
	{
		ID: "OVR/summer-time-always-ends-it", Family: "OVR",
		Words: "A change of summer time goes through the routine that sets the clock, and that clears the overrides.",
		make: plain(hooks{passed: func(was, now *emulator.Facts) {
			if changedSummerTime(was, now) {
				dropOverrides(now)
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-03-29 00:59", "0 override hw", "60"),
	},
	{
		ID: "OVR/summer-time-turns-it-over", Family: "OVR",
		Words: "No event brings the change of level at the hour that is skipped, so the override is not ended and turns the new level over.",
		make: plain(hooks{passed: func(was, now *emulator.Facts) {
			if changedSummerTime(was, now) {
				keepOverrides(was, now)
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-03-29 00:59", "0 period hw sun 1 00:30 01:30", "0 override hw", "60"),
	},
	{
		ID: "OVR/second-press-does-nothing", Family: "OVR",
		Words: "Pressed again it finds the override on and sets it on once more.",
		make: after(spec.Override, func(was, now *emulator.Facts, in spec.Input) {
			ch := &now.Channels[in.Channel]
			ch.Override = ch.Override || was.Channels[in.Channel].Override
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 override hw", "0"),
	},
	{
		ID: "OVR/kept-between-table-and-span", Family: "OVR",
		Words:   "From table to span the level is the same, so I saw no need to cancel.",
		make:    actsAs(overrideKept),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 override hw", "0 mode hw span", "0"),
	},
	{
		ID: "OVR/kept-there-and-back", Family: "OVR",
		Words: "A change of mode is looked at once a second, and one that has been taken back by then is none.",
		make: func() hooks {
			at := noWait // the second of the first change
			var first [spec.NumChannels]emulator.ChannelFacts
			return hooks{after: accepted(spec.SetMode, func(was, now *emulator.Facts, in spec.Input) {
				if at != now.Now {
					at, first = now.Now, was.Channels
				}
				if f := first[in.Channel]; f.Mode == in.Mode && f.Table == now.Channels[in.Channel].Table && f.Override {
					now.Channels[in.Channel].Override = true
				}
			})}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 mode hw off", "0 mode hw table", "0"),
	},
	{
		ID: "OVR/mode-change-leaves-it-set", Family: "OVR",
		Words: "The mode key never heard of the override, which turns over whatever the new mode asks for.",
		make: keepsFlag(spec.SetMode, func(was, now *emulator.Facts, in spec.Input) bool {
			return was.Channels[in.Channel].Mode != now.Channels[in.Channel].Mode
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 mode hw always", "0"),
	},
	{
		ID: "OVR/cancelled-between-table-and-span", Family: "OVR", claims: overrideKept,
		Words:   "Every change of mode cancels it, though the leaflet says that table to span does not.",
		make:    actsAs(func(s *spec.ICS) { s.OverrideKept = false }),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 override hw", "0 mode hw span", "0"),
	},
	{
		ID: "OVR/kept-into-off", Family: "OVR", claims: overrideKept,
		Words: "The override is kept on any change of mode that leaves the level as it was, into off as well.",
		make: keepsFlag(spec.SetMode, func(_, now *emulator.Facts, in spec.Input) bool {
			return now.Channels[in.Channel].Mode == spec.Off
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 mode hw off", "0"),
	},
	{
		ID: "OVR/kept-though-the-level-changes", Family: "OVR", claims: overrideKept,
		Words: "From table to span the override is kept without a look at the level, which may have become what it asks for.",
		make: keepsFlag(spec.SetMode, func(was, now *emulator.Facts, in spec.Input) bool {
			scheduled := func(m spec.Mode) bool { return m == spec.Table || m == spec.Span }
			return scheduled(was.Channels[in.Channel].Mode) && scheduled(now.Channels[in.Channel].Mode)
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 mode hw span", "0"),
	},
	{
		ID: "OVR/taken-in-always", Family: "OVR",
		Words:   "In always the override opens the relay, for good.",
		make:    taken(func(f *emulator.Facts, c spec.Channel) bool { return f.Channels[c].Mode == spec.Always }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode hw always", "0 override hw", "0"),
	},
	{
		ID: "OVR/taken-in-off", Family: "OVR",
		Words:   "In off the override closes the relay, for good.",
		make:    taken(func(f *emulator.Facts, c spec.Channel) bool { return f.Channels[c].Mode == spec.Off }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode hw off", "0 override hw", "0"),
	},
	{
		ID: "OVR/taken-with-no-end-in-sight", Family: "OVR",
		Words: "Only the mode is asked whether an override can be given, not the table.",
		make: taken(func(f *emulator.Facts, c spec.Channel) bool {
			return f.Channels[c].Mode == spec.Table || f.Channels[c].Mode == spec.Span
		}),
		Witness: witness("0 fit cycle 24h", "0 power on", "0 clock 2026-01-14 10:00", "0 period hw all 1 00:00 00:00", "0 period hw all 2 00:00 00:00", "0 override hw", "0"),
	},
	{
		ID: "OVR/refused-after-the-days-last", Family: "OVR",
		Words: "The next switching point is looked for in today's table, and with none left the key is refused.",
		make: with(func(s *scratch) hooks {
			return hooks{after: refusing(spec.Override, func(_, now *emulator.Facts, in spec.Input) bool {
				wait, ok := s.untilSwitching(*now, in.Channel)
				return now.Channels[in.Channel].Override && (!ok || wait > untilMidnight(now))
			})}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:30", "0 override hw", "0"),
	},
	{
		ID: "OVR/outlives-the-last-period", Family: "OVR",
		Words: "The table is asked for an end at the press; that its last period has gone since is not noticed.",
		make: with(func(s *scratch) hooks {
			return hooks{after: accepted(spec.SetPeriod, func(was, now *emulator.Facts, _ spec.Input) {
				each(func(c spec.Channel) {
					if was.Channels[c].Override && s.scheduled(*was, c) == s.scheduled(*now, c) {
						now.Channels[c].Override = true
					}
				})
			})}
		}),
		Witness: witness("0 fit cycle 24h", "0 power on", "0 clock 2026-01-14 10:00", "0 period hw all 1 00:00 00:00", "0 override hw", "0 period hw all 2 00:00 00:00", "0"),
	},
	{
		ID: "OVR/ends-at-midnight", Family: "OVR",
		Words:   "The midnight housekeeping clears the override flags.",
		make:    midnight(dropOverrides),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 override hw", "60"),
	},
	{
		ID: "OVR/ends-with-the-week", Family: "OVR",
		Words: "The week's events are a list, and at its end the override is dropped.",
		make: midnight(func(now *emulator.Facts) {
			if calendar.Weekday(today(now)) == 0 {
				dropOverrides(now)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-18 23:59", "0 override hw", "60"),
	},
	{
		ID: "OVR/twelve-hours-at-most", Family: "OVR",
		Words: "So that nobody leaves it on, an override runs out after twelve hours.",
		make: func() hooks {
			var given [spec.NumChannels]uint64
			return hooks{
				after: accepted(spec.Override, func(_, now *emulator.Facts, in spec.Input) { given[in.Channel] = now.Now }),
				wait: func(now *emulator.Facts) uint64 {
					wait := noWait
					each(func(c spec.Channel) {
						if now.Channels[c].Override {
							wait = min(wait, given[c]+12*calendar.Hour-now.Now)
						}
					})
					return wait
				},
				passed: func(_, now *emulator.Facts) {
					each(func(c spec.Channel) {
						if now.Now >= given[c]+12*calendar.Hour {
							now.Channels[c].Override = false
						}
					})
				},
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode hw span", "0 override hw", "43200"),
	},
	{
		ID: "OVR/of-both-with-a-shared-table", Family: "OVR",
		Words: "With one table for both, the override key works both channels.",
		make: after(spec.Override, func(was, now *emulator.Facts, in spec.Input) {
			if now.Fitted.Timing == spec.Shared {
				now.Channels[other(in.Channel)].Override = now.Channels[in.Channel].Override
			}
		}),
		Witness: witness("0 fit timing shared", "0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0"),
	},
	{
		ID: "OVR/ends-with-the-other-channels-level", Family: "OVR",
		Words: "The switching routine clears the override before it looks at whose point it is.",
		make: with(func(s *scratch) hooks {
			return hooks{passed: func(was, now *emulator.Facts) {
				each(func(c spec.Channel) {
					if s.scheduled(*was, c) != s.scheduled(*now, c) {
						now.Channels[other(c)].Override = false
					}
				})
			}}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 09:59", "0 period ch wed 3 10:00 11:00", "0 override hw", "60"),
	},
	{
		ID: "OVR/boost-becomes-an-override", Family: "OVR",
		Words: "Override in a boost stops the boost and goes on to give the override.",
		make: with(func(s *scratch) hooks {
			return hooks{after: accepted(spec.Override, func(was, now *emulator.Facts, in spec.Input) {
				if was.Channels[in.Channel].BoostLeft > 0 {
					now.Channels[in.Channel].BoostLeft = 0
					s.do(now, in)
				}
			})}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 boost hw 60", "0 override hw", "0"),
	},
	{
		ID: "OVR/refused-in-a-boost-too", Family: "OVR",
		Words: "The mode, the clock and the table are checked first, so in off the key cannot stop a boost.",
		make: with(func(s *scratch) hooks {
			return hooks{after: refusing(spec.Override, func(was, _ *emulator.Facts, in spec.Input) bool {
				f := *was
				f.Channels[in.Channel].BoostLeft = 0
				return was.Channels[in.Channel].BoostLeft > 0 && s.do(&f, in).Outcome == spec.Refused
			})}
		}),
		Witness: witness("0 power on", "0 boost hw 60", "0 override hw", "0"),
	},
	{
		ID: "OVR/swallowed-as-a-boost-ends", Family: "OVR",
		Words: "The key is handled before the timer in that second, and stops a boost that is over anyway.",
		make: func() hooks {
			var ended [spec.NumChannels]uint64
			return hooks{
				passed: func(was, now *emulator.Facts) {
					each(func(c spec.Channel) {
						if was.Channels[c].BoostLeft > 0 && now.Channels[c].BoostLeft == 0 {
							ended[c] = now.Now
						}
					})
				},
				after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
					if in.Kind == spec.Override && r.Outcome != spec.Unsupported && was.Powered && ended[in.Channel] == now.Now && now.Now > 0 {
						ended[in.Channel] = 0
						*now, *r = *was, spec.Reply{}
					}
				},
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 boost hw 60", "3600 override hw", "3600"),
	},
	{
		ID: "OVR/opposite-of-a-shut-relay", Family: "OVR",
		Words: "Override is the opposite of the relay: while the permit is shut in a period it asks for what the table asks.",
		make: with(func(s *scratch) hooks {
			return hooks{after: accepted(spec.Override, func(was, now *emulator.Facts, in spec.Input) {
				open := was.Shown[in.Channel] == 0 && now.Fitted.Coupling == spec.Independent
				if ch := &now.Channels[in.Channel]; ch.Override && open && s.scheduled(*now, in.Channel) == 1 {
					ch.Override = false
				}
			})}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 lock arm 246810 1 1 10 none none none none", "600 override hw", "3600"),
	},
	{
		ID: "OVR/ends-at-every-programmed-time", Family: "OVR",
		Words:   "The override ends at the next on or off in the table, whether or not the level changes there.",
		make:    actsAs(programmed),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:59", "0 period hw wed 3 08:00 10:00", "0 override hw", "60"),
	},
	{
		ID: "OVR/programmed-times-inside-do-not-end-it", Family: "OVR", claims: programmed,
		Words:   "The ons and offs are worked into one list of changes, and those within the union are gone from it.",
		make:    actsAs(func(s *spec.ICS) { s.OverrideProgrammed = false }),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:59", "0 period hw wed 3 08:00 10:00", "0 override hw", "60"),
	},
	{
		ID: "OVR/set-to-a-programmed-time-leaves-it", Family: "OVR", claims: programmed,
		Words: "A programmed time counts when the minute turns to it; a clock set to one does not turn.",
		make: with(func(s *scratch) hooks {
			return hooks{after: accepted(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
				each(func(c spec.Channel) {
					if was.Channels[c].Override && s.scheduled(*was, c) == s.scheduled(*now, c) {
						now.Channels[c].Override = true
					}
				})
			})}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:30", "0 period hw wed 3 08:00 10:00", "0 override hw", "0 clock 2026-01-14 09:00", "0"),
	},
	{
		ID: "OVR/edit-to-this-minute-ends-it", Family: "OVR", claims: programmed,
		Words: "An override ends while the minute is a programmed one, also when an edit has just made it so.",
		make: after(spec.SetPeriod, func(was, now *emulator.Facts, in spec.Input) {
			minute := uint16(secondOfDay(now) / calendar.Minute)
			eachChannel(was, now, func(was, now *emulator.ChannelFacts) {
				if was.Table != now.Table && in.Period.On != in.Period.Off && (in.Period.On == minute || in.Period.Off == minute) {
					now.Override = false
				}
			})
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 override hw", "0 period hw wed 3 08:00 08:30", "0"),
	},
	{
		ID: "OVR/ends-inside-a-span", Family: "OVR", claims: programmed,
		Words: "Every on and off in the table ends an override, in span those between the first and the last too.",
		make: plain(minutely(func(was, now *emulator.Facts) {
			minute := uint16(secondOfDay(now) / calendar.Minute)
			eachChannel(was, now, func(_, ch *emulator.ChannelFacts) {
				for _, p := range ch.Table[calendar.Weekday(today(now))] {
					if ch.Mode == spec.Span && p.On != p.Off && (p.On == minute || p.Off == minute) {
						ch.Override = false
					}
				}
			})
		})),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:59", "0 mode hw span", "0 override hw", "60"),
	},
	{
		ID: "OVR/refused-with-a-table-full-by-touching", Family: "OVR", claims: programmed,
		Words: "A level that never changes means a refusal, though the table has times that would end the override.",
		make: with(func(s *scratch) hooks {
			return hooks{after: refusing(spec.Override, func(_, now *emulator.Facts, in spec.Input) bool {
				_, ok := s.untilSwitching(*now, in.Channel)
				return now.Channels[in.Channel].Override && !ok
			})}
		}),
		Witness: witness("0 fit cycle 24h", "0 power on", "0 clock 2026-01-14 10:00", "0 period hw all 1 00:00 12:00", "0 period hw all 2 12:00 24:00", "0 override hw", "0"),
	},
	{
		ID: "OVR/mode-change-makes-this-minute-one", Family: "OVR", claims: func(s *spec.ICS) { s.OverrideProgrammed, s.OverrideKept = true, true },
		Words: "An override ends while the minute is a programmed one, also when span has become table and has made it so.",
		make: after(spec.SetMode, func(was, now *emulator.Facts, in spec.Input) {
			minute, ch := uint16(secondOfDay(now)/calendar.Minute), &now.Channels[in.Channel]
			for _, p := range ch.Table[calendar.Weekday(today(now))] {
				if ch.Mode == spec.Table && was.Channels[in.Channel].Mode == spec.Span && p.On != p.Off && (p.On == minute || p.Off == minute) {
					ch.Override = false
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 16:00", "0 mode hw span", "0 override hw", "0 mode hw table", "0"),
	},
	{
		ID: "OVR/only-programmed-times-end-it", Family: "OVR", claims: programmed,
		Words:   "An override ends when a programmed time is read and not otherwise: a clock set past the on leaves it to turn the new level over.",
		make:    keepsFlag(spec.SetClock, func(_, _ *emulator.Facts, _ spec.Input) bool { return true }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 clock 2026-01-14 17:00", "0"),
	},
	{
		ID: "OVR/only-programmed-times-end-it-not-edits", Family: "OVR", claims: programmed,
		Words:   "An edit that changes the level leaves the override, whose end is the next programmed time, and so turns it over.",
		make:    keepsFlag(spec.SetPeriod, func(_, _ *emulator.Facts, _ spec.Input) bool { return true }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 period hw wed 3 09:30 11:00", "0"),
	},
	{
		ID: "OVR/same-reading-is-read-again", Family: "OVR", claims: programmed,
		Words: "Setting the clock to what it shows counts as reading it, and at a programmed time that ends an override given in that second.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			minute := uint16(secondOfDay(now) / calendar.Minute)
			eachChannel(was, now, func(_, ch *emulator.ChannelFacts) {
				for _, p := range ch.Table[calendar.Weekday(today(now))] {
					if was.UTC == now.UTC && p.On != p.Off && (p.On == minute || p.Off == minute) {
						ch.Override = false
					}
				}
			})
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 16:00", "0 override hw", "0 clock 2026-01-14 16:00", "0"),
	},
	{
		ID: "OVR/refused-clock-set-ends-it", Family: "OVR",
		Words:   "The clock menu clears the overrides when it is entered, and a date that is then refused does not bring them back.",
		make:    plain(hooks{after: refused(spec.SetClock, func(_, now *emulator.Facts, _ spec.Input, _ *spec.Reply) { dropOverrides(now) })}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 clock 2026-02-30 10:00", "0"),
	},
	{
		ID: "OVR/edit-of-the-same-ends-it", Family: "OVR",
		Words: "An edit that enters what is there already is an edit, and ends the override.",
		make: after(spec.SetPeriod, func(was, now *emulator.Facts, in spec.Input) {
			each(func(c spec.Channel) {
				if was.Channels[c].Table == now.Channels[c].Table && (in.Table == spec.BothTables || spec.Channel(in.Table) == c) {
					now.Channels[c].Override = false
				}
			})
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 period hw wed 1 07:00 09:00", "0"),
	},
	{
		ID: "OVR/set-back-ends-it", Family: "OVR",
		Words: "A clock that goes back would bring the same time twice, so the overrides go with it.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if now.UTC < was.UTC {
				dropOverrides(now)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 11:00", "0 override hw", "0 clock 2026-01-14 10:00", "0"),
	},
	{
		ID: "OVR/set-to-another-date-ends-it", Family: "OVR",
		Words: "Only a set within the day leaves the override; another date means another table.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if was.ClockSet && today(was) != today(now) {
				dropOverrides(now)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 clock 2026-01-15 10:00", "0"),
	},
	{
		ID: "OVR/autumn-ends-it", Family: "OVR",
		Words: "When the hour goes back all that began in it is taken back, an override too.",
		make: plain(hooks{passed: func(was, now *emulator.Facts) {
			if changedSummerTime(was, now) && !calendar.SummerTime(now.UTC) {
				dropOverrides(now)
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-10-25 01:59", "0 override hw", "60"),
	},
	{
		ID: "OVR/wrapped-span-ends-by-the-clock", Family: "OVR", claims: func(s *spec.ICS) { s.OverrideProgrammed, s.Wrap = true, true },
		Words: "The last off of a span, which ends an override, is the greatest by the clock also where another lies past midnight.",
		make: plain(minutely(func(was, now *emulator.Facts) {
			minute := uint16(secondOfDay(now) / calendar.Minute)
			eachChannel(was, now, func(_, ch *emulator.ChannelFacts) {
				last := uint16(0)
				for _, p := range ch.Table[calendar.Weekday(today(now))] {
					if p.On != p.Off {
						last = max(last, p.Off)
					}
				}
				if ch.Mode == spec.Span && minute == last {
					ch.Override = false
				}
			})
		})),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:59", "0 mode hw span", "0 period hw wed 2 22:00 06:00", "0 override hw", "60"),
	},
}

// keepsFlag is for an override that an input should end and that turns over the new level instead.
func keepsFlag(kind spec.Kind, when func(was, now *emulator.Facts, in spec.Input) bool) func() hooks {
	return after(kind, func(was, now *emulator.Facts, in spec.Input) {
		if when(was, now, in) && now.ClockSet {
			keepOverrides(was, now)
		}
	})
}

// taken is for an override that is given though it can never end.
func taken(when func(f *emulator.Facts, c spec.Channel) bool) func() hooks {
	return accepts(spec.Override, spec.NoSwitchingPoint, func(now *emulator.Facts, in spec.Input) bool {
		if !when(now, in.Channel) {
			return false
		}
		now.Channels[in.Channel].Override = true
		return true
	})
}

// levelKept is for an override whose level is stored and kept until a second that is known at the press, whatever the scheduled level does.
func levelKept(until func(s *scratch, now *emulator.Facts, c spec.Channel) uint64) func() hooks {
	return with(func(s *scratch) hooks {
		var end [spec.NumChannels]uint64
		var level [spec.NumChannels]spec.Level
		keep := func(now *emulator.Facts, c spec.Channel) {
			if now.Now >= end[c] {
				end[c] = 0
				now.Channels[c].Override = false
			} else {
				now.Channels[c].Override = s.scheduled(*now, c) != level[c]
			}
		}
		return hooks{
			after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				each(func(c spec.Channel) {
					switch mine := in.Channel == c; {
					case in.Kind == spec.Override && mine && r.Outcome == spec.Accepted:
						running := end[c] > 0
						if end[c] = 0; running || !now.Channels[c].Override {
							now.Channels[c].Override = false
							return
						}
						end[c], level[c] = until(s, now, c), 1-s.scheduled(*now, c)
					case in.Kind == spec.SetPeriod && end[c] > 0:
						keep(now, c)
					case was.Channels[c].Override && !now.Channels[c].Override:
						end[c] = 0
					}
				})
			},
			wait: func(now *emulator.Facts) uint64 {
				wait := noWait
				for _, e := range end {
					if e > now.Now {
						wait = min(wait, e-now.Now)
					}
				}
				return wait
			},
			passed: func(_, now *emulator.Facts) {
				each(func(c spec.Channel) {
					if end[c] > 0 {
						keep(now, c)
					}
				})
			},
		}
	})
}
