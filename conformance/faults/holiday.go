package faults

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

func boostInHoliday(s *spec.ICS) { s.BoostInHoliday = true }

var holidayFaults = []Fault{
	{
		ID: "HOL/24-hours-a-day", Family: "HOL",
		Words:   "A holiday is a countdown of days of 24 hours from the press.",
		make:    endsBySeconds(func(_ *emulator.Facts, days int) uint64 { return uint64(days) * calendar.Day }),
		Witness: witness("0 power on", "0 clock 2026-01-14 12:00", "0 mode hw always", "0 holiday 1", "86400"),
	},
	{
		ID: "HOL/days-of-86400-seconds", Family: "HOL",
		Words:   "The end is so many times 86 400 seconds after the midnight before, also when summer time begins or ends on the way.",
		make:    endsBySeconds(func(f *emulator.Facts, days int) uint64 { return uint64(days)*calendar.Day - uint64(secondOfDay(f)) }),
		Witness: witness("0 power on", "0 clock 2026-03-29 00:59", "0 mode hw always", "0 holiday 1", "79260"),
	},
	{
		ID: "HOL/today-not-counted", Family: "HOL",
		Words:   "The first day of a holiday is tomorrow, so it is a day too long.",
		make:    endMoved(func(*emulator.Facts) int { return 1 }),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 mode hw always", "0 holiday 1", "60"),
	},
	{
		ID: "HOL/last-day-is-the-return", Family: "HOL",
		Words:   "The last day is the one of the return, so it is a day too short and one day is none.",
		make:    endMoved(func(*emulator.Facts) int { return -1 }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode ch always", "0 holiday 1", "0"),
	},
	{
		ID: "HOL/ends-a-minute-late", Family: "HOL",
		Words: "The date is compared when the minute turns, before the date itself has turned.",
		make: func() hooks {
			var ended uint64
			return hooks{
				passed: func(was, now *emulator.Facts) {
					if was.Holiday.On && !now.Holiday.On {
						ended = now.Now
					}
				},
				after: func(_, now *emulator.Facts, _ spec.Input, _ *spec.Reply) { ended = 0 },
				wait: func(now *emulator.Facts) uint64 {
					if ended == 0 {
						return noWait
					}
					return ended + calendar.Minute - min(now.Now, ended+calendar.Minute-1)
				},
				believes: func(f *emulator.Facts) {
					if ended > 0 && f.Now < ended+calendar.Minute {
						f.Holiday = emulator.HolidayFacts{On: true, EndDate: today(f) + 1, Days: 1}
					}
				},
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 mode hw always", "0 holiday 1", "120"),
	},
	{
		ID: "HOL/heating-only", Family: "HOL",
		Words: "A holiday is for the heating; hot water goes on as ever.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			if f.Holiday.On {
				f.Holiday = emulator.HolidayFacts{}
				f.Channels[spec.CH].Mode = spec.Off
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 holiday 1", "0"),
	},
	{
		ID: "HOL/day-of-the-year", Family: "HOL",
		Words: "The end is a day of the year, and one past the last is never reached.",
		make: endMoved(func(now *emulator.Facts) int {
			begun, _, _ := calendar.Date(today(now))
			if ends, _, _ := calendar.Date(now.Holiday.EndDate); ends != begun {
				return 365
			}
			return 0
		}),
		Witness: witness("0 power on", "0 clock 2026-12-31 23:59", "0 mode hw always", "0 holiday 1", "60"),
	},
	{
		ID: "HOL/leap-day-not-counted", Family: "HOL",
		Words: "The end is worked out with a February of 28 days, so 29 February comes on top.",
		make: endMoved(func(now *emulator.Facts) int {
			for d := today(now); d < now.Holiday.EndDate; d++ {
				if _, month, day := calendar.Date(d); month == 2 && day == 29 {
					return 1
				}
			}
			return 0
		}),
		Witness: witness("0 power on", "0 clock 2028-02-29 23:59", "0 mode hw always", "0 holiday 1", "60"),
	},
	{
		ID: "HOL/waits-for-a-midnight-that-is-skipped", Family: "HOL", claims: func(s *spec.ICS) { s.Zone = -60 },
		Words: "The end is the reading 00:00:00, and where summer time skips that it is the next one.",
		make: endMoved(func(now *emulator.Facts) int {
			if midnight := int64(now.Holiday.EndDate)*calendar.Day + calendar.Hour; skipped(midnight) {
				return 1
			}
			return 0
		}),
		Witness: witness("0 power on", "0 clock 2026-03-28 23:59", "0 mode hw always", "0 holiday 1", "60"),
	},
	{
		ID: "HOL/none-cancels", Family: "HOL",
		Words: "A holiday of 0 days is how I cancel one, so 0 is accepted.",
		make: instead(spec.Holiday, func(now *emulator.Facts, in spec.Input) []spec.Input {
			if in.Amount == 0 && now.ClockSet {
				in = spec.Input{Kind: spec.HolidayCancel}
			}
			return []spec.Input{in}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 0", "0"),
	},
	{
		ID: "HOL/takes-a-hundred", Family: "HOL",
		Words: "The days are 1 to 99 on the display, and the check has <= 100.",
		make: accepts(spec.Holiday, spec.BadHoliday, func(now *emulator.Facts, in spec.Input) bool {
			if in.Amount != 100 {
				return false
			}
			now.Holiday = emulator.HolidayFacts{On: true, EndDate: today(now) + 100, Days: 100}
			dropOverrides(now)
			dropBoosts(now)
			return true
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 100", "0"),
	},
	{
		ID: "HOL/refuses-99", Family: "HOL",
		Words:   "The check has < 99 for <= 99.",
		make:    refuses(spec.Holiday, func(_, _ *emulator.Facts, in spec.Input) bool { return in.Amount == 99 }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 99", "0"),
	},
	{
		ID: "HOL/refused-one-ends-it", Family: "HOL",
		Words: "The old holiday is cleared before the number of days is checked.",
		make: plain(hooks{after: refused(spec.Holiday, func(_, now *emulator.Facts, _ spec.Input, _ *spec.Reply) {
			now.Holiday = emulator.HolidayFacts{}
		})}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 holiday 1", "0 holiday 100", "0"),
	},
	{
		ID: "HOL/override-comes-back", Family: "HOL",
		Words: "The holiday lies on top of the override, which is there again after it.",
		make: with(func(s *scratch) hooks {
			var under [spec.NumChannels]bool
			var level [spec.NumChannels]spec.Level
			over := func(was, now *emulator.Facts) {
				each(func(c spec.Channel) {
					if now.Holiday.On {
						if !was.Holiday.On {
							under[c], level[c] = was.Channels[c].Override, s.scheduled(*now, c)
						}
						under[c] = under[c] && s.scheduled(*now, c) == level[c]
					} else if under[c] {
						now.Channels[c].Override = s.scheduled(*now, c) == level[c]
						under[c] = false
					}
				})
			}
			return hooks{after: func(was, now *emulator.Facts, _ spec.Input, _ *spec.Reply) { over(was, now) }, passed: over}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 holiday 1", "0 holiday cancel", "0"),
	},
	{
		ID: "HOL/boost-runs-on-under-it", Family: "HOL",
		Words: "The boost's counter runs on under the holiday, and what is left of it comes out after it.",
		make: func() hooks {
			var end [spec.NumChannels]uint64
			over := func(was, now *emulator.Facts) {
				each(func(c spec.Channel) {
					switch {
					case now.Holiday.On && !was.Holiday.On:
						end[c] = 0
						if left := was.Channels[c].BoostLeft; left > 0 {
							end[c] = was.Now + left
						}
					case !now.Holiday.On && end[c] > now.Now:
						now.Channels[c].BoostLeft = end[c] - now.Now
						fallthrough
					case !now.Holiday.On:
						end[c] = 0
					}
				})
			}
			return hooks{after: func(was, now *emulator.Facts, _ spec.Input, _ *spec.Reply) { over(was, now) }, passed: over}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 boost hw 60", "0 holiday 1", "0 holiday cancel", "0"),
	},
	{
		ID: "HOL/boost-allowed-unasked", Family: "HOL",
		Words:   "A boost is taken in a holiday, though the leaflet says that it is refused.",
		make:    actsAs(boostInHoliday),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 boost hw 60", "0"),
	},
	{
		ID: "HOL/override-taken-and-masked", Family: "HOL",
		Words: "An override in a holiday is accepted and waits underneath.",
		make: accepts(spec.Override, spec.InHoliday, func(now *emulator.Facts, in spec.Input) bool {
			now.Channels[in.Channel].Override = true
			return true
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 override hw", "0"),
	},
	{
		ID: "HOL/keys-before-its-end", Family: "HOL",
		Words: "The keys are handled before the clock, so in the second in which a holiday ends override and boost are still refused.",
		make: func() hooks {
			ended := noWait
			late := func(_, now *emulator.Facts, in spec.Input) bool {
				return now.Now == ended && (in.Kind == spec.Override || in.Amount > 0)
			}
			return hooks{
				passed: func(was, now *emulator.Facts) {
					if was.Holiday.On && !now.Holiday.On {
						ended = now.Now
					}
				},
				after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
					refusing(spec.Override, late)(was, now, in, r)
					refusing(spec.Boost, late)(was, now, in, r)
				},
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 holiday 1", "60 override hw", "60"),
	},
	{
		ID: "HOL/boost-ends-the-holiday", Family: "HOL", claims: boostInHoliday,
		Words: "Whoever boosts is at home, and the holiday is cancelled.",
		make: after(spec.Boost, func(_, now *emulator.Facts, in spec.Input) {
			if in.Amount > 0 {
				now.Holiday = emulator.HolidayFacts{}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 holiday 1", "0 boost hw 60", "0"),
	},
	{
		ID: "HOL/boost-refused-unasked", Family: "HOL", claims: boostInHoliday,
		Words:   "The boost key is dead in a holiday, though the leaflet says that it works.",
		make:    actsAs(func(s *spec.ICS) { s.BoostInHoliday = false }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 boost hw 60", "0"),
	},
	{
		ID: "HOL/end-stops-a-boost", Family: "HOL", claims: boostInHoliday,
		Words: "The end of a holiday clears override and boost as its start did.",
		make: plain(hooks{passed: func(was, now *emulator.Facts) {
			if was.Holiday.On && !now.Holiday.On {
				dropBoosts(now)
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 holiday 1", "0 boost hw 60", "60"),
	},
	{
		ID: "HOL/cancel-stops-a-boost", Family: "HOL", claims: boostInHoliday,
		Words:   "Cancelling a holiday puts everything back to the table, and a boost with it.",
		make:    after(spec.HolidayCancel, func(_, now *emulator.Facts, _ spec.Input) { dropBoosts(now) }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 boost hw 60", "0 holiday cancel", "0"),
	},
	{
		ID: "HOL/override-cannot-stop-a-boost", Family: "HOL", claims: boostInHoliday,
		Words:   "Override is refused in a holiday before anyone looks for a boost.",
		make:    refuses(spec.Override, func(was, _ *emulator.Facts, _ spec.Input) bool { return was.Holiday.On }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 boost hw 60", "0 override hw", "0"),
	},
	{
		ID: "HOL/mode-change-ends-it", Family: "HOL",
		Words: "A change of mode means that somebody is at home, and ends the holiday.",
		make: after(spec.SetMode, func(was, now *emulator.Facts, in spec.Input) {
			if was.Channels[in.Channel].Mode != in.Mode {
				now.Holiday = emulator.HolidayFacts{}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 mode hw always", "0"),
	},
	{
		ID: "HOL/modes-locked", Family: "HOL",
		Words:   "In a holiday the mode key is locked.",
		make:    refuses(spec.SetMode, func(was, _ *emulator.Facts, _ spec.Input) bool { return was.Holiday.On }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 mode hw off", "0"),
	},
	{
		ID: "HOL/tables-locked", Family: "HOL",
		Words:   "In a holiday the tables are locked.",
		make:    refuses(spec.SetPeriod, func(was, _ *emulator.Facts, _ spec.Input) bool { return was.Holiday.On }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 period hw mon 1 06:00 07:00", "0"),
	},
	{
		ID: "HOL/old-modes-come-back", Family: "HOL",
		Words: "The modes are saved when a holiday starts and put back when it ends.",
		make: func() hooks {
			var saved [spec.NumChannels]spec.Mode
			over := func(was, now *emulator.Facts) {
				each(func(c spec.Channel) {
					switch {
					case now.Holiday.On && !was.Holiday.On:
						saved[c] = now.Channels[c].Mode
					case was.Holiday.On && !now.Holiday.On:
						now.Channels[c].Mode = saved[c]
					}
				})
			}
			return hooks{passed: over, after: func(was, now *emulator.Facts, in spec.Input, _ *spec.Reply) {
				if in.Kind != spec.Reset {
					over(was, now)
				}
			}}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 mode hw always", "0 holiday cancel", "0"),
	},
	{
		ID: "HOL/cancel-is-from-midnight", Family: "HOL",
		Words: "A cancelled holiday ends with the day.",
		make: after(spec.HolidayCancel, func(was, now *emulator.Facts, _ spec.Input) {
			if was.Holiday.On {
				now.Holiday = was.Holiday
				now.Holiday.EndDate = today(now) + 1
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 holiday 2", "0 holiday cancel", "0"),
	},
	{
		ID: "HOL/cancel-waits-for-a-switching", Family: "HOL",
		Words:   "When a holiday is cancelled the relays wait for the next on or off.",
		make:    waitsForSwitching(ofKind(spec.HolidayCancel)),
		Witness: witness("0 power on", "0 clock 2026-01-14 15:00", "0 mode hw always", "0 holiday 2", "0 holiday cancel", "3600"),
	},
	{
		ID: "HOL/cancel-refused-where-there-is-none", Family: "HOL",
		Words:   "Cancelling finds no holiday and is refused.",
		make:    refuses(spec.HolidayCancel, func(was, _ *emulator.Facts, _ spec.Input) bool { return !was.Holiday.On }),
		Witness: witness("0 power on", "0 holiday cancel", "0"),
	},
	{
		ID: "HOL/cancel-clears-override-and-boost", Family: "HOL",
		Words: "Cancelling clears override and boost even if there is no holiday.",
		make: after(spec.HolidayCancel, func(_, now *emulator.Facts, _ spec.Input) {
			dropOverrides(now)
			dropBoosts(now)
		}),
		Witness: witness("0 power on", "0 boost hw 60", "0 holiday cancel", "0"),
	},
	{
		ID: "HOL/second-adds-to-the-first", Family: "HOL",
		Words: "A second holiday is added to the end of the first.",
		make: replaced(func(was, now *emulator.Facts) {
			now.Holiday.EndDate = was.Holiday.EndDate + now.Holiday.Days
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 mode hw always", "0 holiday 1", "0 holiday 1", "60"),
	},
	{
		ID: "HOL/later-end-is-kept", Family: "HOL",
		Words: "Of two holidays the later end counts.",
		make: replaced(func(was, now *emulator.Facts) {
			now.Holiday.EndDate = max(was.Holiday.EndDate, now.Holiday.EndDate)
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 mode hw always", "0 holiday 2", "0 holiday 1", "60"),
	},
	{
		ID: "HOL/same-length-is-the-same", Family: "HOL",
		Words: "The same number of days is what is already set, on whatever day it is given again.",
		make: replaced(func(was, now *emulator.Facts) {
			if was.Holiday.Days == now.Holiday.Days {
				now.Holiday = was.Holiday
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 mode hw always", "0 holiday 2", "60 holiday 2", "86460"),
	},
	{
		ID: "HOL/second-refused", Family: "HOL",
		Words:   "While a holiday runs another is refused; it has to be cancelled first.",
		make:    refuses(spec.Holiday, func(was, _ *emulator.Facts, _ spec.Input) bool { return was.Holiday.On }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 holiday 1", "0"),
	},
	{
		ID: "HOL/second-leaves-a-boost", Family: "HOL", claims: boostInHoliday,
		Words:   "Only the change into a holiday cancels the boost, and a second one is no change.",
		make:    replaced(keepBoosts),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 boost hw 60", "0 holiday 2", "0"),
	},
	{
		ID: "HOL/same-again-cancels-a-boost", Family: "HOL", claims: boostInHoliday,
		Words:   "Every start of a holiday cancels the boosts, the same one over again too.",
		make:    after(spec.Holiday, func(_, now *emulator.Facts, _ spec.Input) { dropBoosts(now) }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 boost hw 60", "0 holiday 1", "0"),
	},
	{
		ID: "HOL/comes-again-with-its-dates", Family: "HOL",
		Words: "A holiday is two dates, and it is on whenever the clock lies between them.",
		make: func() hooks {
			var kept emulator.HolidayFacts
			begun := 0
			return hooks{
				after: func(was, now *emulator.Facts, in spec.Input, _ *spec.Reply) {
					switch {
					case in.Kind == spec.Holiday && now.Holiday.On:
						kept, begun = now.Holiday, today(now)
					case in.Kind == spec.SetClock && !now.Holiday.On && kept.On && today(now) >= begun && today(now) < kept.EndDate:
						now.Holiday = kept
					case in.Kind != spec.SetClock && was.Holiday.On && !now.Holiday.On:
						kept.On = false
					}
				},
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 holiday 1", "0 clock 2026-01-15 08:00", "0 clock 2026-01-14 08:00", "0"),
	},
	{
		ID: "HOL/only-midnight-ends-it", Family: "HOL",
		Words:   "The midnight routine looks for the end of a holiday, so one that a set clock has passed waits for the next midnight.",
		make:    setPast(func(_ *emulator.Facts, _ emulator.HolidayFacts) bool { return true }),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 holiday 1", "0 clock 2026-01-15 08:00", "0"),
	},
	{
		ID: "HOL/set-to-the-very-end-leaves-it", Family: "HOL",
		Words: "After a set the reading is compared with the end by >, not by >=.",
		make: setPast(func(now *emulator.Facts, h emulator.HolidayFacts) bool {
			return reading(now) == int64(h.EndDate)*calendar.Day
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode hw always", "0 holiday 1", "0 clock 2026-01-15 00:00", "0"),
	},
	{
		ID: "HOL/set-to-its-last-day-ends-it", Family: "HOL",
		Words: "After a set the date is compared with the holiday's last day by >=.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if now.Holiday.On && now.Holiday.EndDate == today(now)+1 && today(was) != today(now) {
				now.Holiday = emulator.HolidayFacts{}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 holiday 2", "0 clock 2026-01-15 08:00", "0"),
	},
	{
		ID: "HOL/set-back-prolongs-it", Family: "HOL",
		Words: "The end is a date and stays one, though the clock has been set back a week.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if now.Holiday.On {
				now.Holiday.EndDate = was.Holiday.EndDate
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode hw always", "0 holiday 1", "0 clock 2026-01-12 23:59", "60"),
	},
	{
		ID: "HOL/set-counts-it-anew", Family: "HOL",
		Words: "Setting the clock counts the days of a holiday anew from the new date.",
		make: after(spec.SetClock, func(_, now *emulator.Facts, _ spec.Input) {
			if now.Holiday.On {
				now.Holiday.EndDate = today(now) + now.Holiday.Days
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode hw always", "0 holiday 2", "0 clock 2026-01-15 23:59", "60"),
	},
	{
		ID: "HOL/outlives-a-lost-clock", Family: "HOL", claims: func(s *spec.ICS) { s.LostClock = spec.LostResumes },
		Words: "The holiday is in the permanent memory with the tables, and goes on where the clock does.",
		make: func() hooks {
			var kept emulator.HolidayFacts
			return hooks{after: func(was, now *emulator.Facts, in spec.Input, _ *spec.Reply) {
				switch {
				case in.Kind == spec.PowerOff:
					kept = now.Holiday
				case in.Kind == spec.PowerOn && was.ClockStopped && now.ClockSet && kept.EndDate > today(now):
					now.Holiday = kept
				}
			}}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 holiday 9", "0 power off", "28801 power on", "28801"),
	},
	{
		ID: "HOL/waits-for-the-clock-to-be-set-again", Family: "HOL",
		Words: "A lost clock only suspends the holiday, and setting it to one of its dates brings it back.",
		make: func() hooks {
			var kept emulator.HolidayFacts
			return hooks{after: func(was, now *emulator.Facts, in spec.Input, _ *spec.Reply) {
				switch {
				case in.Kind == spec.PowerOff:
					kept = now.Holiday
				case in.Kind == spec.SetClock && !was.ClockSet && now.ClockSet && kept.EndDate > today(now):
					now.Holiday = kept
				}
			}}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 holiday 9", "0 power off", "28800 power on", "28800 clock 2026-01-14 16:00", "28800"),
	},
	{
		ID: "HOL/lost-in-a-cut", Family: "HOL",
		Words:   "The holiday stands in memory that mains holds, and every cut ends it.",
		make:    plain(hooks{after: lost(func(_, now *emulator.Facts) { now.Holiday = emulator.HolidayFacts{} })}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 holiday 1", "0 power off", "0 power on", "0"),
	},
	{
		ID: "HOL/end-in-a-cut-is-missed", Family: "HOL",
		Words: "Nobody handles midnight without mains, so a holiday whose end has passed goes on till the next.",
		make: func() hooks {
			missed := false
			return hooks{
				passed: func(was, now *emulator.Facts) {
					missed = missed || !now.Powered && !now.ClockStopped && was.Holiday.On && !now.Holiday.On
				},
				after: func(_, now *emulator.Facts, in spec.Input, _ *spec.Reply) {
					if missed && in.Kind == spec.PowerOn && now.ClockSet {
						now.Holiday = emulator.HolidayFacts{On: true, EndDate: today(now) + 1, Days: 1}
					}
					missed = missed && !now.Powered
				},
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 mode hw always", "0 holiday 1", "0 power off", "60 power on", "60"),
	},
	{
		ID: "HOL/days-in-a-byte", Family: "HOL",
		Words:   "The days are read into a byte before they are checked, so 257 is 1.",
		make:    changed(spec.Holiday, func(_ *emulator.Facts, in *spec.Input) { in.Amount %= 256 }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 257", "0"),
	},
	{
		ID: "HOL/set-back-counts-what-was-left", Family: "HOL",
		Words: "When the clock is set back, the days that were left are counted from the new date.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if now.Holiday.On && today(now) < today(was) {
				now.Holiday.EndDate = today(now) + was.Holiday.EndDate - today(was)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 mode hw always", "0 holiday 2", "60 clock 2026-01-13 23:59", "120"),
	},
	{
		ID: "HOL/same-again-by-its-first-end", Family: "HOL", claims: boostInHoliday,
		Words: "Whether it is the same again is asked of the end that was entered, not of the one that a set clock has left.",
		make: func() hooks {
			entered := 0
			return hooks{after: accepted(spec.Holiday, func(was, now *emulator.Facts, _ spec.Input) {
				if was.Holiday == now.Holiday && entered != now.Holiday.EndDate {
					dropBoosts(now)
				}
				entered = now.Holiday.EndDate
			})}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 clock 2026-01-13 10:00", "0 boost hw 60", "0 holiday 1", "0"),
	},
	{
		ID: "HOL/begun-in-the-second-hour-lasts-a-day-more", Family: "HOL", claims: func(s *spec.ICS) { s.Zone = -90 },
		Words: "The end was read before the hour came again, so a holiday begun in its second pass waits for the next midnight.",
		make: endMoved(func(now *emulator.Facts) int {
			standard := int64(now.Holiday.EndDate)*calendar.Day + 90*calendar.Minute
			if !calendar.SummerTime(now.UTC) && calendar.SummerTime(standard-calendar.Hour) {
				return 1
			}
			return 0
		}),
		Witness: witness("0 power on", "0 clock 2026-10-25 00:29", "0 mode hw always", "60 holiday 1", "1860"),
	},
	{
		ID: "HOL/any-boost-lets-override-in", Family: "HOL", claims: boostInHoliday,
		Words: "In a holiday override looks whether a boost runs on either channel, and finding one only on the other it is accepted and lost.",
		make: accepts(spec.Override, spec.InHoliday, func(now *emulator.Facts, in spec.Input) bool {
			return now.Channels[other(in.Channel)].BoostLeft > 0
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 boost ch 60", "0 override hw", "0"),
	},
	{
		ID: "HOL/set-past-its-end-stops-a-boost", Family: "HOL", claims: boostInHoliday,
		Words: "A holiday that a set clock ends is cancelled, and what was begun in it goes with it.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if was.Holiday.On && !now.Holiday.On {
				dropBoosts(now)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 boost hw 60", "0 clock 2026-01-15 10:00", "0"),
	},
	{
		ID: "HOL/refused-one-cancels", Family: "HOL",
		Words: "Override and boost are cleared before the number of days is checked.",
		make: plain(hooks{after: refused(spec.Holiday, func(_, now *emulator.Facts, _ spec.Input, _ *spec.Reply) {
			dropOverrides(now)
			dropBoosts(now)
		})}),
		Witness: witness("0 power on", "0 boost hw 60", "0 holiday 100", "0"),
	},
	{
		ID: "HOL/set-forgets-the-days", Family: "HOL",
		Words: "A set that bounds the end stores it with the days that are left, and the next set counts with those.",
		make: after(spec.SetClock, func(_, now *emulator.Facts, _ spec.Input) {
			if now.Holiday.On {
				now.Holiday.Days = now.Holiday.EndDate - today(now)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode hw always", "0 holiday 2", "0 clock 2026-01-15 10:00", "0 clock 2026-01-14 23:59", "60"),
	},
}

// endMoved is for a holiday that ends so many days late.
func endMoved(by func(now *emulator.Facts) int) func() hooks {
	return after(spec.Holiday, func(was, now *emulator.Facts, _ spec.Input) {
		if now.Holiday == was.Holiday {
			return
		}
		if now.Holiday.EndDate += by(now); now.Holiday.EndDate <= today(now) {
			now.Holiday = emulator.HolidayFacts{}
		}
	})
}

// endsBySeconds is for a holiday that ends so many elapsed seconds after its start.
func endsBySeconds(length func(now *emulator.Facts, days int) uint64) func() hooks {
	return func() hooks {
		var end uint64
		return hooks{
			after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				switch {
				case !now.Holiday.On:
					end = 0
				case in.Kind == spec.Holiday && r.Outcome == spec.Accepted:
					now.Holiday.EndDate += 2 // so that it does not come first
					if now.Holiday != was.Holiday {
						end = now.Now + length(now, now.Holiday.Days)
					}
				}
			},
			wait: func(now *emulator.Facts) uint64 {
				if end <= now.Now {
					return noWait
				}
				return end - now.Now
			},
			passed: func(_, now *emulator.Facts) {
				if end > 0 && now.Now >= end && !now.ClockStopped {
					now.Holiday = emulator.HolidayFacts{}
				}
				if !now.Holiday.On {
					end = 0
				}
			},
		}
	}
}

// replaced changes the facts after a holiday has replaced another.
func replaced(f func(was, now *emulator.Facts)) func() hooks {
	return after(spec.Holiday, func(was, now *emulator.Facts, _ spec.Input) {
		if was.Holiday.On {
			f(was, now)
		}
	})
}

// setPast is for a holiday that goes on till midnight though the clock has been set at or past its end.
func setPast(when func(now *emulator.Facts, h emulator.HolidayFacts) bool) func() hooks {
	return after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
		if was.Holiday.On && !now.Holiday.On && when(now, was.Holiday) {
			now.Holiday = was.Holiday
			now.Holiday.EndDate = today(now) + 1
		}
	})
}
