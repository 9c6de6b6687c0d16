package faults

import (
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

var clockFaults = []Fault{
	{
		ID: "CLK/gains-a-second-at-midnight", Family: "CLK",
		Words:   "The midnight routine ends with a tick of its own, on top of the interrupt's.",
		make:    midnight(func(now *emulator.Facts) { moveClock(now, 1) }),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "25260"),
	},
	{
		ID: "CLK/loses-a-second-at-each-input", Family: "CLK",
		Words: "I mask the timer interrupt while I handle a key, and the tick that falls due is lost.",
		make: plain(hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
			if was.ClockSet && now.ClockSet && now.Powered && was.Powered && in.Kind != spec.SetClock && r.Outcome == spec.Accepted {
				moveClock(now, -1)
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:59", "0 mode ch table", "60"),
	},
	{
		ID: "CLK/no-leap-day", Family: "CLK",
		Words: "February has 28 days in my month table, and nothing looks at the year.",
		make: midnight(func(now *emulator.Facts) {
			if _, month, day := calendar.Date(today(now)); month == 2 && day == 29 {
				moveClock(now, calendar.Day)
			}
		}),
		Witness: witness("0 power on", "0 clock 2004-02-28 23:59", "32460"),
	},
	{
		ID: "CLK/every-month-has-31-days", Family: "CLK",
		Words: "The day counter rolls over at 31 whatever the month, so April's 30th comes twice.",
		make: func() hooks {
			repeated := 0
			return midnight(func(now *emulator.Facts) {
				_, month, day := calendar.Date(today(now))
				if short := month == 5 || month == 7 || month == 10 || month == 12; short && day == 1 && repeated != today(now) {
					repeated = today(now)
					moveClock(now, -calendar.Day)
				}
			})()
		},
		Witness: witness("0 power on", "0 clock 2027-04-30 23:59", "32460"),
	},
	{
		ID: "CLK/century-rolls-over", Family: "CLK",
		Words: "The chip has two digits for the year, and after 99 comes 2000.",
		make: midnight(func(now *emulator.Facts) {
			if today(now) == calendar.Days(2100, 1, 1) {
				moveClock(now, -int64(calendar.Days(2100, 1, 1))*calendar.Day)
			}
		}),
		Witness: witness("0 power on", "0 clock 2099-12-31 23:59", "32460"),
	},
	{
		ID: "CLK/set-keeps-the-seconds", Family: "CLK",
		Words: "Setting the clock writes date, hour and minute; the seconds run on.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if was.ClockSet {
				moveClock(now, was.UTC%calendar.Minute-now.UTC%calendar.Minute)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "30 clock 2026-01-14 08:59", "60"),
	},
	{
		ID: "CLK/set-to-the-minute-shown-is-no-set", Family: "CLK",
		Words: "If date, hour and minute are what the display shows I return early, and the seconds run on.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if was.ClockSet && was.UTC/calendar.Minute == now.UTC/calendar.Minute {
				now.UTC = was.UTC
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:59", "30 clock 2026-01-14 08:59", "60"),
	},
	{
		ID: "CLK/set-leaves-the-weekday", Family: "CLK",
		Words: "The weekday is a counter of its own that only midnight moves; setting the date leaves it where it was.",
		make: func() hooks {
			ahead := 0 // by how many days the weekday shown is ahead of the date's
			return hooks{
				after: accepted(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
					shown := 0
					if was.ClockSet {
						shown = calendar.Weekday(today(was)) + ahead
					}
					ahead = shown - calendar.Weekday(today(now))
				}),
				believes: func(f *emulator.Facts) { turnWeek(f, ahead) },
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-17 09:00", "0"),
	},
	{
		ID: "CLK/leap-year-from-its-january", Family: "CLK",
		Words: "My weekday formula adds the leap day for the whole of a leap year, January and February too.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			if year, month, _ := calendar.Date(today(f)); f.ClockSet && month <= 2 && calendar.Valid(year, 2, 29) {
				turnWeek(f, 1)
			}
		}}),
		Witness: witness("0 power on", "0 clock 2028-01-07 09:00", "0"),
	},
	{
		ID: "CLK/set-shows-with-the-next-minute", Family: "CLK",
		Words:   "After a set I wait for the minute to turn before I look at the table.",
		make:    waitsForMinute(spec.SetClock),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0"),
	},
	{
		ID: "CLK/set-waits-for-a-switching", Family: "CLK",
		Words:   "Only an on or an off moves a relay, and a clock set into a period has passed the on by.",
		make:    waitsForSwitching(func(was *emulator.Facts, in spec.Input) bool { return in.Kind == spec.SetClock && was.ClockSet }),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 clock 2026-01-14 08:00", "0"),
	},
	{
		ID: "CLK/takes-30-february", Family: "CLK",
		Words: "Any day up to 31 is taken, and the calendar routine carries it into the next month.",
		make: changed(spec.SetClock, func(_ *emulator.Facts, in *spec.Input) {
			d := in.Date
			if d.Month >= 1 && d.Month <= 12 && d.Day <= 31 && d.Day >= 29 {
				_, month, day := calendar.Date(calendar.Days(int(d.Year), int(d.Month), int(d.Day)))
				in.Date.Month, in.Date.Day = uint8(month), uint8(day)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-02-30 08:00", "0"),
	},
	{
		ID: "CLK/takes-24-00", Family: "CLK",
		Words: "The clock uses the table's check of a time, which lets 24:00 through: it becomes 00:00 of that date.",
		make: changed(spec.SetClock, func(_ *emulator.Facts, in *spec.Input) {
			in.Minute %= spec.MinutesPerDay
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 24:00", "0"),
	},
	{
		ID: "CLK/two-digits-of-the-year", Family: "CLK",
		Words: "Only the last two digits of the year are looked at, so 1999 is 2099.",
		make: changed(spec.SetClock, func(_ *emulator.Facts, in *spec.Input) {
			in.Date.Year = 2000 + in.Date.Year%100
		}),
		Witness: witness("0 power on", "0 clock 1999-12-31 08:00", "0"),
	},
	{
		ID: "CLK/last-year-is-2098", Family: "CLK",
		Words:   "The check of the year is < 99 where it should be <= 99.",
		make:    refuses(spec.SetClock, func(_, _ *emulator.Facts, in spec.Input) bool { return in.Date.Year == spec.LastYear }),
		Witness: witness("0 power on", "0 clock 2099-01-01 08:00", "0"),
	},
	{
		ID: "CLK/refused-set-clears-the-seconds", Family: "CLK",
		Words: "I stop the clock and clear the seconds before I check the date.",
		make: plain(hooks{after: refused(spec.SetClock, func(_, now *emulator.Facts, _ spec.Input, _ *spec.Reply) {
			if now.ClockSet {
				moveClock(now, -(now.UTC % calendar.Minute))
			}
		})}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:59", "30 clock 2026-02-30 08:00", "60"),
	},
	{
		ID: "CLK/refused-set-unsets", Family: "CLK",
		Words: "A bad date leaves the clock stopped, as if it had never been set.",
		make: plain(hooks{after: refused(spec.SetClock, func(_, now *emulator.Facts, _ spec.Input, _ *spec.Reply) {
			now.ClockSet, now.UTC, now.Holiday = false, 0, emulator.HolidayFacts{}
			dropOverrides(now)
		})}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 clock 2026-02-30 08:00", "0"),
	},
	{
		ID: "CLK/fourth-sunday-in-march", Family: "CLK",
		Words: "I took the fourth Sunday of March for the last.",
		make: ownSummerTime(func(utc int64) bool {
			year, _, _ := calendar.Date(calendar.DayOf(utc))
			return calendar.SummerTime(utc) || calendar.SummerTime(utc+calendar.Week) && utc >= fourthSunday(year, 3)
		}),
		Witness: witness("0 power on", "0 clock 2030-03-24 00:59", "18060"),
	},
	{
		ID: "CLK/fourth-sunday-in-october", Family: "CLK",
		Words: "October's change is found by its number, the fourth Sunday, and some years have five.",
		make: ownSummerTime(func(utc int64) bool {
			year, _, _ := calendar.Date(calendar.DayOf(utc))
			return calendar.SummerTime(utc) && utc < fourthSunday(year, 10)
		}),
		Witness: witness("0 power on", "0 clock 2027-10-24 01:59", "18060"),
	},
	{
		ID: "CLK/autumn-change-at-one-on-the-display", Family: "CLK",
		Words:   "Both changes come when the display comes to 01:00, so in October the hour from midnight is the one that comes twice.",
		make:    ownSummerTime(func(utc int64) bool { return calendar.SummerTime(utc) && calendar.SummerTime(utc+calendar.Hour) }),
		Witness: witness("0 power on", "0 clock 2026-10-25 00:59", "0 period hw sun 1 00:30 03:00", "60"),
	},
	{
		ID: "CLK/spring-change-an-hour-late", Family: "CLK",
		Words:   "The spring change waits for the display to come to 02:00, and skips to 03:00.",
		make:    ownSummerTime(func(utc int64) bool { return calendar.SummerTime(utc) && calendar.SummerTime(utc-calendar.Hour) }),
		Witness: witness("0 power on", "0 clock 2026-03-29 00:59", "0 period hw sun 1 02:00 03:00", "60"),
	},
	{
		ID: "CLK/no-change-in-a-cut", Family: "CLK",
		Words: "The change is made by the main loop, which sleeps without mains, and nobody makes up for it.",
		make: summerTimeKept(func(f *emulator.Facts, summer bool, utc int64) bool {
			if !f.Powered {
				return summer
			}
			return passedChange(summer, utc)
		}),
		Witness: witness("0 power on", "0 clock 2026-03-29 00:59", "0 power off", "60 power on", "18060"),
	},
	{
		ID: "CLK/change-made-once-a-year", Family: "CLK",
		Words: "A flag says that this year's change has been made, and setting the clock back does not clear it.",
		make: func() hooks {
			made := 0
			return summerTimeKept(func(_ *emulator.Facts, summer bool, utc int64) bool {
				year, month, _ := calendar.Date(calendar.DayOf(utc))
				if key := 100*year + month; passedChange(summer, utc) != summer && key != made {
					made = key
					return !summer
				}
				return summer
			})()
		},
		Witness: witness("0 power on", "0 clock 2026-03-29 00:59", "60 clock 2026-03-29 00:59", "18120"),
	},
	{
		ID: "CLK/off-in-the-skipped-hour-is-lost", Family: "CLK",
		Words: "An off is carried out when the clock reads it, and in the skipped hour it never does.",
		make: with(func(s *scratch) hooks {
			var stuck [spec.NumChannels]bool
			return hooks{
				passed: func(was, now *emulator.Facts) {
					each(func(c spec.Channel) {
						switch fell := s.scheduled(*now, c) < s.scheduled(*was, c); {
						case changedSummerTime(was, now) && calendar.SummerTime(now.UTC):
							stuck[c] = fell
						case fell || s.scheduled(*now, c) == 1:
							stuck[c] = false
						}
					})
				},
				after: func(_, now *emulator.Facts, _ spec.Input, _ *spec.Reply) { stuck = [spec.NumChannels]bool{} },
				believes: func(f *emulator.Facts) {
					each(func(c spec.Channel) {
						if stuck[c] {
							f.Channels[c].Mode = spec.Always
						}
					})
				},
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-03-29 00:59", "0 period hw sun 1 00:30 01:30", "60"),
	},
	{
		ID: "CLK/second-hour-stands-still", Family: "CLK",
		Words: "In the hour that comes twice the table is marked as worked off, and waits for 02:00.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			if f.ClockSet && !calendar.SummerTime(f.UTC) && calendar.SummerTime(f.UTC-calendar.Hour) {
				f.UTC = calendar.NextChange(f.UTC-calendar.Hour) - 1
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-10-25 01:59", "0 period hw sun 1 01:30 02:30", "60"),
	},
	{
		ID: "CLK/zone-not-in-the-change", Family: "CLK",
		Words:  "The change is made at 01:00 standard time in every zone.",
		claims: func(s *spec.ICS) { s.Zone = 60 }, make: actsAs(func(s *spec.ICS) { s.Zone = 0 }),
		Witness: witness("0 power on", "0 clock 2026-03-29 01:30", "0"),
	},
	{
		ID: "CLK/zone-sign-wrong", Family: "CLK",
		Words:  "The zone's offset is added where it should be taken away.",
		claims: func(s *spec.ICS) { s.Zone = 60 }, make: actsAs(func(s *spec.ICS) { s.Zone = -60 }),
		Witness: witness("0 power on", "0 clock 2026-03-29 00:30", "0"),
	},
	{
		ID: "CLK/repeated-reading-is-its-second", Family: "CLK",
		Words: "A clock set into the hour that comes twice is taken for standard time.",
		make: after(spec.SetClock, func(_, now *emulator.Facts, _ spec.Input) {
			if calendar.SummerTime(now.UTC) && !calendar.SummerTime(now.UTC+calendar.Hour) {
				moveClock(now, calendar.Hour)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-10-25 01:00", "21600"),
	},
	{
		ID: "CLK/repeated-hour-has-its-end-in-it", Family: "CLK",
		Words: "I test for the repeated hour with <=, so a clock set to 02:00 goes back to 01:00.",
		make: after(spec.SetClock, func(_, now *emulator.Facts, _ spec.Input) {
			if utc := now.UTC; calendar.SummerTime(utc-calendar.Hour-1) && !calendar.SummerTime(utc-calendar.Hour) {
				moveClock(now, -calendar.Hour)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-10-25 02:00", "18000"),
	},
	{
		ID: "CLK/skipped-reading-moves-on", Family: "CLK",
		Words: "A reading that never happens is taken and put on an hour.",
		make: changed(spec.SetClock, func(_ *emulator.Facts, in *spec.Input) {
			if r := readingOf(*in); in.Minute < spec.MinutesPerDay && skipped(r) {
				in.Minute += 60
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-03-29 01:00", "0"),
	},
	{
		ID: "CLK/skipped-hour-has-its-end-in-it", Family: "CLK",
		Words: "The hour that never happens is 01:00 to 02:00 with 02:00 in it, so 02:00 cannot be set.",
		make: refuses(spec.SetClock, func(_, _ *emulator.Facts, in spec.Input) bool {
			return skipped(readingOf(in)-1) && !skipped(readingOf(in))
		}),
		Witness: witness("0 power on", "0 clock 2026-03-29 02:00", "0"),
	},
	{
		ID: "CLK/set-over-a-change-makes-it", Family: "CLK",
		Words: "Summer or winter is a flag, and when it no longer suits the date after a set I move the hour as well.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if changedSummerTime(was, now) {
				by := int64(calendar.Hour)
				if calendar.SummerTime(was.UTC) {
					by = -by
				}
				moveClock(now, by)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 09:00", "0 clock 2026-06-10 06:00", "0"),
	},
	{
		ID: "CLK/unset-clock-runs-from-midnight", Family: "CLK",
		Words: "An unset clock counts from 00:00 unseen, and the table looks at the count.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			if !f.ClockSet {
				f.ClockSet, f.UTC = true, int64(f.Now)
			}
		}}),
		Witness: witness("0 power on", "25200"),
	},
	{
		ID: "CLK/full-table-before-the-clock", Family: "CLK",
		Words: "A table without a switching point is answered before I ask whether the clock is set.",
		make: with(func(s *scratch) hooks {
			return hooks{believes: func(f *emulator.Facts) {
				each(func(c spec.Channel) {
					g := *f
					g.ClockSet = true
					if _, ok := s.untilSwitching(g, c); !f.ClockSet && !ok && s.scheduled(g, c) == 1 {
						f.Channels[c].Mode = spec.Always
					}
				})
			}}
		}),
		Witness: witness("0 fit cycle 24h", "0 power on", "0 period hw all 1 00:00 24:00", "0"),
	},
	{
		ID: "CLK/override-with-the-clock-unset", Family: "CLK",
		Words: "Override turns the level over without asking whether there is a time at which it could end.",
		make: accepts(spec.Override, spec.ClockUnset, func(now *emulator.Facts, in spec.Input) bool {
			now.Channels[in.Channel].Override = true
			return true
		}),
		Witness: witness("0 power on", "0 override hw", "0"),
	},
	{
		ID: "CLK/holiday-waits-for-the-clock", Family: "CLK",
		Words: "A holiday entered with the clock unset is kept, and begins when the clock is set.",
		make: func() hooks {
			days := 0
			return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				switch {
				case in.Kind == spec.Holiday && r.Refusal == spec.ClockUnset && in.Amount >= 1 && in.Amount <= spec.MaxHolidayDays:
					days = int(in.Amount)
				case in.Kind == spec.SetClock && now.ClockSet && days > 0:
					now.Holiday = emulator.HolidayFacts{On: true, EndDate: today(now) + days, Days: days}
					days = 0
				case in.Kind == spec.HolidayCancel || in.Kind == spec.Reset || in.Kind == spec.PowerOff:
					days = 0
				}
			}}
		},
		Witness: witness("0 power on", "0 holiday 1", "0 clock 2026-01-14 08:00", "0"),
	},
	{
		ID: "CLK/always-waits-for-the-clock", Family: "CLK",
		Words: "With the clock unset every mode asks for 0.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			if !f.ClockSet {
				each(func(c spec.Channel) { f.Channels[c].Mode = spec.Off })
			}
		}}),
		Witness: witness("0 power on", "0 mode hw always", "0"),
	},
	{
		ID: "CLK/no-edits-before-the-clock", Family: "CLK",
		Words:   "The menu for the periods opens only when the clock has been set.",
		make:    refuses(spec.SetPeriod, func(was, _ *emulator.Facts, _ spec.Input) bool { return !was.ClockSet }),
		Witness: witness("0 power on", "0 period hw mon 1 06:00 07:00", "0"),
	},
	{
		ID: "CLK/first-set-loads-the-defaults", Family: "CLK",
		Words: "Setting the clock for the first time is taken for commissioning, and loads the default tables.",
		make: with(func(s *scratch) hooks {
			return hooks{after: accepted(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
				if !was.ClockSet {
					defaults := s.defaults(now.Fitted)
					each(func(c spec.Channel) { now.Channels[c].Table = defaults[c].Table })
				}
			})}
		}),
		Witness: witness("0 power on", "0 period hw wed 1 00:00 00:00", "0 clock 2026-01-14 08:00", "0"),
	},
	{
		ID: "CLK/first-set-only-starts-the-clock", Family: "CLK",
		Words:   "Setting an unset clock starts it; the relays follow from the first on or off that it then reads.",
		make:    waitsForSwitching(func(was *emulator.Facts, in spec.Input) bool { return in.Kind == spec.SetClock && !was.ClockSet }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:30", "60"),
	},
	{
		ID: "CLK/summer-time-where-there-is-none", Family: "CLK",
		Words:  "Summer time is built in, and there is no way to turn it off though the leaflet says so.",
		claims: func(s *spec.ICS) { s.SummerTime = false }, make: actsAs(func(s *spec.ICS) { s.SummerTime = true }),
		Witness: witness("0 power on", "0 clock 2026-03-29 01:00", "0"),
	},
	{
		ID: "CLK/no-summer-time", Family: "CLK",
		Words:   "The flag for automatic summer time is never read.",
		make:    actsAs(func(s *spec.ICS) { s.SummerTime = false }),
		Witness: witness("0 power on", "0 clock 2026-10-25 01:59", "18060"),
	},
	{
		ID: "CLK/september-has-31-days", Family: "CLK",
		Words: "One of the twelve numbers in the month table is mistyped: September has 31.",
		make: func() hooks {
			repeated := 0
			return midnight(func(now *emulator.Facts) {
				if _, month, day := calendar.Date(today(now)); month == 10 && day == 1 && repeated != today(now) {
					repeated = today(now)
					moveClock(now, -calendar.Day)
				}
			})()
		},
		Witness: witness("0 power on", "0 clock 2022-09-30 23:59", "32460"),
	},
	{
		ID: "CLK/august-has-30-days", Family: "CLK",
		Words: "I took every second month to have 30 days, and July and August are both long.",
		make: midnight(func(now *emulator.Facts) {
			if _, month, day := calendar.Date(today(now)); month == 8 && day == 31 {
				moveClock(now, calendar.Day)
			}
		}),
		Witness: witness("0 power on", "0 clock 2025-08-30 23:59", "32460"),
	},
	{
		ID: "CLK/takes-31-september", Family: "CLK",
		Words: "The month table that checks a set has 31 for September.",
		make: changed(spec.SetClock, func(_ *emulator.Facts, in *spec.Input) {
			if in.Date.Month == 9 && in.Date.Day == 31 {
				in.Date.Month, in.Date.Day = 10, 1
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-09-31 08:00", "0"),
	},
	{
		ID: "CLK/2100-is-a-leap-year", Family: "CLK",
		Words: "Every fourth year is a leap year, and so 2100 is one: its 29 February comes between Sunday the 28th and Monday the 1st, a second Monday.",
		make: func() hooks {
			done := false
			return midnight(func(now *emulator.Facts) {
				if today(now) == calendar.Days(2100, 3, 2) && !done {
					done = true
					moveClock(now, -calendar.Day)
				}
			})()
		},
		Witness: witness("0 power on", "0 clock 2099-12-31 23:59", "5562060"),
	},
	{
		ID: "CLK/milliseconds-overflow", Family: "CLK",
		Words: "The seconds are made from a 32-bit counter of milliseconds, and in its overflow after 49 days one is lost.",
		make: plain(hooks{
			wait: func(now *emulator.Facts) uint64 {
				if now.Now < millisecondsOverflow {
					return millisecondsOverflow - now.Now
				}
				return noWait
			},
			passed: func(_, now *emulator.Facts) {
				if now.Now == millisecondsOverflow && now.ClockSet && !now.ClockStopped {
					moveClock(now, -1)
				}
			},
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 21:00", "4356000"),
	},
	{
		ID: "CLK/summer-time-until-2037", Family: "CLK",
		Words: "The dates of the changes are a table, and it ends with 2037.",
		make: ownSummerTime(func(utc int64) bool {
			year, _, _ := calendar.Date(calendar.DayOf(utc))
			return calendar.SummerTime(utc) && year <= 2037
		}),
		Witness: witness("0 power on", "0 clock 2038-03-28 01:00", "0"),
	},
	{
		ID: "CLK/last-sunday-from-the-26th", Family: "CLK",
		Words: "The last Sunday of March is looked for from the 26th on, and where it is the 25th the change comes with 1 April.",
		make: ownSummerTime(func(utc int64) bool {
			year, month, day := calendar.Date(calendar.DayOf(utc))
			missed := calendar.Weekday(calendar.Days(year, 3, 25)) == 6 && month == 3 && day >= 25
			return calendar.SummerTime(utc) && !missed
		}),
		Witness: witness("0 power on", "0 clock 2029-03-25 01:00", "0"),
	},
	{
		ID: "CLK/zone-in-whole-hours", Family: "CLK",
		Words:  "The zone is kept in hours, and 5 h 45 min becomes 5 h.",
		claims: func(s *spec.ICS) { s.Zone = 345 }, make: actsAs(func(s *spec.ICS) { s.Zone = 300 }),
		Witness: witness("0 power on", "0 clock 2026-03-29 06:30", "0"),
	},
}

// millisecondsOverflow is the elapsed second in which a 32-bit counter of milliseconds overflows.
const millisecondsOverflow = 1<<32/1000 + 1

// turnWeek has each day look at the table of so many days later.
func turnWeek(f *emulator.Facts, days int) {
	if days%7 == 0 {
		return
	}
	each(func(c spec.Channel) {
		table := f.Channels[c].Table
		for d := range table {
			f.Channels[c].Table[d] = table[((d+days)%7+7)%7]
		}
	})
}

// skipped reports whether a reading never happens in zone 0.
func skipped(reading int64) bool {
	return calendar.SummerTime(reading) && !calendar.SummerTime(reading-calendar.Hour)
}

// fourthSunday returns 01:00 UTC on the fourth Sunday of a month.
func fourthSunday(year, month int) int64 {
	first := calendar.Days(year, month, 1)
	return int64(first+6-calendar.Weekday(first)+21)*calendar.Day + calendar.Hour
}

// ownSummerTime is a unit in zone 0 with a rule of its own for when summer time is in force. The rule changes at whole hours.
func ownSummerTime(rule func(utc int64) bool) func() hooks {
	return summerTime(
		func(_ *emulator.Facts, _ bool, utc int64) bool { return rule(utc) },
		rule,
	)
}

// summerTimeKept is a unit in zone 0 that remembers whether summer time is in force, and changes that by a rule of its own while the clock
// runs. It sets its clock as it should.
func summerTimeKept(rule func(f *emulator.Facts, summer bool, utc int64) bool) func() hooks {
	return summerTime(rule, calendar.SummerTime)
}

// passedChange is the rule of a unit that does nothing but at the very instant of a change.
func passedChange(summer bool, utc int64) bool {
	if calendar.SummerTime(utc) != calendar.SummerTime(utc-1) {
		return calendar.SummerTime(utc)
	}
	return summer
}

func summerTime(running func(f *emulator.Facts, summer bool, utc int64) bool, set func(utc int64) bool) func() hooks {
	return func() hooks {
		ics := spec.FullICS()
		ics.SummerTime = false
		s := scratch{unit: oracle.Emulator(ics).(*emulator.Unit)}
		// The real unit has no summer time: what it takes for UTC is the reading.
		summer := false
		utc := func(f *emulator.Facts) int64 {
			if summer {
				return f.UTC - calendar.Hour
			}
			return f.UTC
		}
		return hooks{
			design: func(ics *spec.ICS) { ics.SummerTime = false },
			wait:   func(f *emulator.Facts) uint64 { return uint64(calendar.Hour - f.UTC%calendar.Hour) },
			passed: func(_, now *emulator.Facts) {
				if !now.ClockSet || now.ClockStopped || now.UTC%calendar.Hour != 0 || running(now, summer, utc(now)) == summer {
					return
				}
				by := int64(calendar.Hour)
				if summer {
					by = -by
				}
				summer = !summer
				before := *now
				before.UTC--
				now.UTC += by
				if now.Holiday.EndDate <= calendar.DayOf(now.UTC) {
					now.Holiday = emulator.HolidayFacts{}
				}
				each(func(c spec.Channel) {
					if s.scheduled(before, c) != s.scheduled(*now, c) {
						now.Channels[c].Override = false
					}
				})
			},
			after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				if in.Kind != spec.SetClock || r.Outcome != spec.Accepted {
					return
				}
				switch {
				case set(now.UTC - calendar.Hour):
					summer = true
				case set(now.UTC):
					undo(was, now, r)
				default:
					summer = false
				}
			},
		}
	}
}
