package faults

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

func clamped(s *spec.ICS)     { s.Clamp = true }
func unclamped(s *spec.ICS)   { s.Clamp = false }
func heatingOnly(s *spec.ICS) { s.Fitted.Channels = spec.OnlyCH }
func noBoost(s *spec.ICS)     { s.BoostLongest = 0 }
func noHoliday(s *spec.ICS)   { s.Holiday = false }

// spoils changes the facts after a refused input of a kind.
func spoils(kind spec.Kind, f func(now *emulator.Facts)) func() hooks {
	return plain(hooks{after: refused(kind, func(_, now *emulator.Facts, _ spec.Input, _ *spec.Reply) { f(now) })})
}

// setsTheSame changes the facts after an accepted input of a kind that has changed nothing.
func setsTheSame(kind spec.Kind, f func(now *emulator.Facts)) func() hooks {
	return after(kind, func(was, now *emulator.Facts, _ spec.Input) {
		if *was == *now {
			f(now)
		}
	})
}

// clampsBoost takes a bad length of boost for another.
func clampsBoost(f func(minutes, step, longest uint32) uint32) func() hooks {
	return with(func(s *scratch) hooks {
		return changed(spec.Boost, func(_ *emulator.Facts, in *spec.Input) {
			if step, longest := uint32(s.ics.BoostStep), uint32(s.ics.BoostLongest); in.Amount > longest || in.Amount%step != 0 {
				in.Amount = f(in.Amount, step, longest)
			}
		})()
	})
}

// clampsPeriod changes a period's times before they are looked at.
func clampsPeriod(f func(p *spec.Period)) func() hooks {
	return changed(spec.SetPeriod, func(_ *emulator.Facts, in *spec.Input) { f(&in.Period) })
}

// answers gives an input that the unit does not support another answer, and does f for it.
func answers(outcome spec.Outcome, which func(was *emulator.Facts, in spec.Input) bool, f func(s *scratch, now *emulator.Facts, in spec.Input)) func() hooks {
	return with(func(s *scratch) hooks {
		return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
			if r.Outcome == spec.Unsupported && which(was, in) {
				*r = spec.Reply{Outcome: outcome}
				if f != nil {
					f(s, now, in)
				}
			}
		}}
	})
}

func isKind(kind spec.Kind) func(*emulator.Facts, spec.Input) bool {
	return func(_ *emulator.Facts, in spec.Input) bool { return in.Kind == kind }
}

var inputFaults = []Fault{
	{
		ID: "INP/refused-clock-clears-seconds", Family: "INP",
		Words: "Setting the clock clears the seconds before the date is checked.",
		make: spoils(spec.SetClock, func(now *emulator.Facts) {
			if now.ClockSet {
				moveClock(now, -(now.UTC % calendar.Minute))
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "1 clock 2026-02-30 06:59", "60"),
	},
	{
		ID: "INP/refused-clock-ends-override", Family: "INP",
		Words:   "The clock menu cancels an override as it is entered.",
		make:    spoils(spec.SetClock, dropOverrides),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 clock 2026-02-30 06:59", "0"),
	},
	{
		ID: "INP/refused-clock-unsets", Family: "INP",
		Words:   "A date that cannot be leaves the clock unset.",
		make:    spoils(spec.SetClock, unsetClock),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 clock 2026-02-30 07:00", "0"),
	},
	{
		ID: "INP/refused-boost-ends-boost", Family: "INP",
		Words:   "The running boost is ended before the new one's length is checked.",
		make:    spoils(spec.Boost, dropBoosts),
		Witness: witness("0 power on", "0 boost ch 60", "0 boost ch 1", "0"),
	},
	{
		ID: "INP/refused-boost-ends-override", Family: "INP",
		Words:   "The override is cleared before the boost is checked.",
		make:    spoils(spec.Boost, dropOverrides),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 boost ch 1", "0"),
	},
	{
		ID: "INP/refused-boost-waits", Family: "INP",
		Words: "A boost that a holiday refuses is kept for its end.",
		make: func() hooks {
			var waiting [spec.NumChannels]uint32
			give := func(was, now *emulator.Facts) {
				for c := range waiting {
					if was.Holiday.On && !now.Holiday.On && now.Powered {
						now.Channels[c].BoostLeft = max(now.Channels[c].BoostLeft, uint64(waiting[c])*calendar.Minute)
					}
					if !now.Holiday.On {
						waiting[c] = 0
					}
				}
			}
			return hooks{
				after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
					if in.Kind == spec.Boost && r.Refusal == spec.InHoliday {
						waiting[in.Channel] = min(in.Amount, spec.MaxBoostMinutes)
					}
					give(was, now)
				},
				passed: give,
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 holiday 1", "0 boost ch 60", "0 holiday cancel", "0"),
	},
	{
		ID: "INP/refused-override-waits", Family: "INP",
		Words: "The override's flag is set first and hidden while the mode is off, so it shows when the mode changes.",
		make: func() hooks {
			var waiting [spec.NumChannels]bool
			return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				switch {
				case in.Kind == spec.Override && r.Refusal == spec.NoSwitchingPoint:
					waiting[in.Channel] = true
				case in.Kind == spec.SetMode && r.Outcome == spec.Accepted:
					now.Channels[in.Channel].Override = now.Channels[in.Channel].Override || waiting[in.Channel] && in.Mode == spec.Table
					waiting[in.Channel] = false
				}
			}}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 mode ch off", "0 override ch", "0 mode ch table", "0"),
	},
	{
		ID: "INP/refused-override-ends-holiday", Family: "INP",
		Words:   "Any key ends the holiday, before it is found that the key does nothing.",
		make:    spoils(spec.Override, func(now *emulator.Facts) { now.Holiday = emulator.HolidayFacts{} }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 1", "0 override ch", "0"),
	},
	{
		ID: "INP/refused-holiday-ends-holiday", Family: "INP",
		Words:   "The running holiday is ended before the new one's days are checked.",
		make:    spoils(spec.Holiday, func(now *emulator.Facts) { now.Holiday = emulator.HolidayFacts{} }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 1", "0 holiday 100", "0"),
	},
	{
		ID: "INP/refused-holiday-ends-boost", Family: "INP",
		Words: "Boost and override are cancelled before the holiday's days are checked.",
		make: spoils(spec.Holiday, func(now *emulator.Facts) {
			dropBoosts(now)
			dropOverrides(now)
		}),
		Witness: witness("0 power on", "0 boost ch 60", "0 holiday 100", "0"),
	},
	{
		ID: "INP/refused-edit-ends-override", Family: "INP",
		Words:   "The edit menu cancels an override as it is entered.",
		make:    spoils(spec.SetPeriod, dropOverrides),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 period ch wed 3 13:00 12:00", "0"),
	},
	{
		ID: "INP/refused-edit-stores-the-on", Family: "INP",
		Words: "The on is stored before the off is checked.",
		make: plain(hooks{after: refused(spec.SetPeriod, func(_, now *emulator.Facts, in spec.Input, r *spec.Reply) {
			if r.Refusal == spec.BadPeriod && in.Table != spec.BothTables && in.Day <= spec.Sun && in.Period.On < spec.MinutesPerDay {
				p := &now.Channels[in.Table].Table[in.Day][in.Slot-1]
				if in.Period.On < p.Off {
					p.On = in.Period.On
				}
			}
		})}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 period ch wed 1 06:00 05:00", "0"),
	},
	{
		ID: "INP/refused-lock-key-ends-boost", Family: "INP",
		Words: "A wrong credential restarts the unit, and boost and override are gone.",
		make: spoils(spec.LockArm, func(now *emulator.Facts) {
			dropBoosts(now)
			dropOverrides(now)
		}),
		Witness: witness("0 power on", "0 boost ch 60", "0 lock arm 0000 1 0 none none none none none", "0"),
	},
	{
		ID: "INP/other-cycles-day", Family: "INP",
		Words: "An edit for every day is carried out day by day on a unit with seven tables.",
		make: with(func(s *scratch) hooks {
			return hooks{after: refused(spec.SetPeriod, func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				if in.Day != spec.All || was.Fitted.Cycle != spec.Cycle7Day {
					return
				}
				for d := spec.Mon; d <= spec.Sun; d++ {
					in.Day = d
					*r = s.do(now, in)
				}
			})}
		}),
		Witness: witness("0 power on", "0 period ch all 1 07:00 09:00", "0"),
	},
	{
		ID: "INP/same-clock-ends-override", Family: "INP",
		Words:   "Setting the clock to what it shows ends the override, as any setting might.",
		make:    setsTheSame(spec.SetClock, dropOverrides),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 clock 2026-01-14 06:00", "0"),
	},
	{
		ID: "INP/same-clock-prolongs-holiday", Family: "INP",
		Words: "Setting the clock reckons the holiday's end afresh from the date, even to what it shows.",
		make: setsTheSame(spec.SetClock, func(now *emulator.Facts) {
			if now.Holiday.On {
				now.Holiday.EndDate = today(now) + now.Holiday.Days
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 16:00", "0 holiday 2", "86400 clock 2026-01-15 16:00", "201600"),
	},
	{
		ID: "INP/same-edit-ends-override", Family: "INP",
		Words:   "Each edit restarts the schedule and clears the override, one that changes nothing too.",
		make:    setsTheSame(spec.SetPeriod, dropOverrides),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 period ch wed 1 07:00 09:00", "0"),
	},
	{
		ID: "INP/same-edit-ends-boost", Family: "INP",
		Words:   "Each edit restarts the outputs from the table, one that changes nothing too, and the boost is gone.",
		make:    setsTheSame(spec.SetPeriod, dropBoosts),
		Witness: witness("0 power on", "0 boost ch 60", "0 period ch wed 1 07:00 09:00", "0"),
	},
	{
		ID: "INP/same-holiday-ends-boost", Family: "INP", claims: func(s *spec.ICS) { s.BoostInHoliday = true },
		Words:   "Each holiday input is a new start, one that changes nothing too, and the boost is gone.",
		make:    setsTheSame(spec.Holiday, dropBoosts),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 holiday 1", "0 boost ch 60", "0 holiday 1", "0"),
	},
	{
		ID: "INP/cancel-of-nothing-ends-override", Family: "INP",
		Words:   "The code that begins and ends a holiday clears the override, with no holiday to end too.",
		make:    setsTheSame(spec.HolidayCancel, dropOverrides),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 holiday cancel", "0"),
	},
	{
		ID: "INP/second-of-two-is-the-same", Family: "INP",
		Words: "In the hour that comes again, setting the clock to the reading that it shows is taken for no change.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if was.ClockSet && reading(was) == reading(now) {
				*now = *was
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-10-25 01:59", "0 period ch sun 1 02:00 03:00", "60 clock 2026-10-25 01:00", "3660"),
	},
	{
		ID: "INP/refused-clamps", Family: "INP", claims: unclamped,
		Words:   "Bad values are said to be refused, and are clamped.",
		make:    actsAs(clamped),
		Witness: witness("0 power on", "0 boost ch 61", "0"),
	},
	{
		ID: "INP/clamped-refuses", Family: "INP", claims: clamped,
		Words:   "Bad values are said to be clamped, and are refused.",
		make:    actsAs(unclamped),
		Witness: witness("0 power on", "0 boost ch 61", "0"),
	},
	{
		ID: "INP/boost-rounded-up", Family: "INP", claims: clamped,
		Words: "A boost of no whole steps is rounded up.",
		make: clampsBoost(func(minutes, step, longest uint32) uint32 {
			return min(longest, (minutes+step-1)/step*step)
		}),
		Witness: witness("0 power on", "0 boost ch 61", "3600"),
	},
	{
		ID: "INP/boost-to-the-nearest", Family: "INP", claims: clamped,
		Words: "A boost of no whole steps is rounded to the nearest.",
		make: clampsBoost(func(minutes, step, longest uint32) uint32 {
			return min(longest, max(1, (minutes+step/2)/step)*step)
		}),
		Witness: witness("0 power on", "0 boost ch 119", "3600"),
	},
	{
		ID: "INP/boost-too-long-is-one-step", Family: "INP", claims: clamped,
		Words: "A boost that is too long is taken for the shortest.",
		make: clampsBoost(func(minutes, step, longest uint32) uint32 {
			if minutes > longest {
				return step
			}
			return minutes
		}),
		Witness: witness("0 power on", "0 boost ch 181", "3600"),
	},
	{
		ID: "INP/boost-too-short-cancels", Family: "INP", claims: clamped,
		Words: "A boost shorter than a step is rounded down to 0, and cancels.",
		make: clampsBoost(func(minutes, step, _ uint32) uint32 {
			if minutes < step {
				return 0
			}
			return minutes
		}),
		Witness: witness("0 power on", "0 boost ch 1", "0"),
	},
	{
		ID: "INP/boost-of-0-is-a-step", Family: "INP", claims: clamped,
		Words: "A boost of 0 is clamped to one step, so a boost cannot be cancelled.",
		make: with(func(s *scratch) hooks {
			return changed(spec.Boost, func(_ *emulator.Facts, in *spec.Input) { in.Amount = max(in.Amount, uint32(s.ics.BoostStep)) })()
		}),
		Witness: witness("0 power on", "0 boost ch 0", "0"),
	},
	{
		ID: "INP/boost-in-a-byte", Family: "INP", claims: clamped,
		Words:   "The minutes of a boost are kept in a byte before they are clamped.",
		make:    changed(spec.Boost, func(_ *emulator.Facts, in *spec.Input) { in.Amount %= 256 }),
		Witness: witness("0 power on", "0 boost ch 256", "0"),
	},
	{
		ID: "INP/holiday-of-0-cancels", Family: "INP", claims: clamped,
		Words: "A holiday of 0 days is taken for a cancel.",
		make: changed(spec.Holiday, func(_ *emulator.Facts, in *spec.Input) {
			if in.Amount == 0 {
				in.Kind = spec.HolidayCancel
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 0", "0"),
	},
	{
		ID: "INP/holiday-in-two-digits", Family: "INP", claims: clamped,
		Words:   "The days of a holiday are kept in two digits before they are clamped.",
		make:    changed(spec.Holiday, func(_ *emulator.Facts, in *spec.Input) { in.Amount %= 100 }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 100", "86400"),
	},
	{
		ID: "INP/on-of-24-00-is-midnight", Family: "INP", claims: clamped,
		Words:   "An on of 24:00 is stored as 00:00.",
		make:    clampsPeriod(func(p *spec.Period) { p.On %= spec.MinutesPerDay }),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 period ch wed 1 24:00 01:00", "0"),
	},
	{
		ID: "INP/on-of-24-00-twice", Family: "INP", claims: clamped,
		Words: "24:00 to 24:00 is found to be equal before it is clamped, and is inactive.",
		make: clampsPeriod(func(p *spec.Period) {
			if p.On == p.Off {
				*p = spec.Period{}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 period ch wed 1 24:00 24:00", "0"),
	},
	{
		ID: "INP/off-before-on-swapped", Family: "INP", claims: clamped,
		Words: "An off before its on is taken for two times in the wrong order, and they are swapped.",
		make: clampsPeriod(func(p *spec.Period) {
			if p.Off < p.On && p.On < spec.MinutesPerDay {
				p.On, p.Off = p.Off, p.On
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 05:00", "0 period ch wed 1 06:00 05:00", "0"),
	},
	{
		ID: "INP/off-before-on-inactive", Family: "INP", claims: clamped,
		Words:   "An off before its on is moved to the on, and the period is inactive.",
		make:    clampsPeriod(func(p *spec.Period) { p.Off = max(p.Off, min(p.On, spec.MinutesPerDay-1)) }),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 period ch wed 1 06:00 05:00", "0"),
	},
	{
		ID: "INP/off-clamped-though-it-may-wrap", Family: "INP", claims: func(s *spec.ICS) { clamped(s); s.Wrap = true },
		Words: "An off before its on is clamped to 24:00 before anybody asks whether the unit wraps.",
		make: clampsPeriod(func(p *spec.Period) {
			if p.Off < p.On {
				p.Off = spec.MinutesPerDay
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 period ch wed 1 22:00 06:00", "60"),
	},
	{
		ID: "INP/bad-on-takes-its-off-along", Family: "INP", claims: func(s *spec.ICS) { clamped(s); s.Wrap = true },
		Words: "With an on of 24:00 the off is clamped as well, though it may wrap.",
		make: clampsPeriod(func(p *spec.Period) {
			if p.On == spec.MinutesPerDay {
				p.Off = spec.MinutesPerDay
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 period ch wed 1 24:00 06:00", "60"),
	},
	{
		ID: "INP/clock-clamped", Family: "INP", claims: clamped,
		Words: "A time of 24:00 is clamped to 23:59 when the clock is set.",
		make: changed(spec.SetClock, func(_ *emulator.Facts, in *spec.Input) {
			in.Minute = min(in.Minute, spec.MinutesPerDay-1)
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 24:00", "0"),
	},
	{
		ID: "INP/date-clamped", Family: "INP", claims: clamped,
		Words: "A day that the month does not have is clamped to its last.",
		make: changed(spec.SetClock, func(_ *emulator.Facts, in *spec.Input) {
			for d := &in.Date; d.Day > 28 && d.Month >= 1 && d.Month <= 12 && d.Day <= 31 && !calendar.Valid(int(d.Year), int(d.Month), int(d.Day)); {
				d.Day--
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-02-30 00:00", "0"),
	},
	{
		ID: "INP/year-clamped", Family: "INP", claims: clamped,
		Words: "A date after 2099 is clamped to the last day of it.",
		make: changed(spec.SetClock, func(_ *emulator.Facts, in *spec.Input) {
			if in.Date.Year > spec.LastYear {
				in.Date = spec.Date{Year: spec.LastYear, Month: 12, Day: 31}
			}
		}),
		Witness: witness("0 power on", "0 clock 2100-01-01 00:00", "0"),
	},
	{
		ID: "INP/skipped-reading-clamped", Family: "INP", claims: clamped,
		Words: "A reading that never happens is moved to the next that does.",
		make: with(func(s *scratch) hooks {
			return changed(spec.SetClock, func(now *emulator.Facts, in *spec.Input) {
				for f := *now; s.do(&f, *in).Refusal == spec.SkippedReading; {
					in.Minute++
				}
			})()
		}),
		Witness: witness("0 power on", "0 clock 2026-03-29 01:59", "0"),
	},
	{
		ID: "INP/slot-clamped", Family: "INP", claims: func(s *spec.ICS) { clamped(s); s.Periods = 2 },
		Words: "An edit of a slot beyond the last overwrites the last.",
		make: with(func(s *scratch) hooks {
			return changed(spec.SetPeriod, func(_ *emulator.Facts, in *spec.Input) { in.Slot = min(in.Slot, s.ics.Periods) })()
		}),
		Witness: witness("0 power on", "0 period ch wed 3 07:00 09:00", "0"),
	},
	{
		ID: "INP/lock-days-clamped", Family: "INP", claims: clamped,
		Words:   "The lock's days run through the clamping that boost and holiday have.",
		make:    reads(func(t *spec.LockTerms) { t.Days = min(max(t.Days, 1), spec.MaxLockDays) }),
		Witness: witness("0 power on", "0 lock arm 246810 0 0 none none none none none", "0"),
	},
	{
		ID: "INP/allowance-clamped", Family: "INP", claims: clamped,
		Words: "The lock's allowances run through the clamping that boost and holiday have.",
		make: mistakesTerms(func(a uint8) uint8 {
			if a == spec.NoAllowance {
				return a
			}
			return min(max(a, spec.MinAllowance), spec.MaxAllowance)
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none 9 none 10 none", "0"),
	},
	{
		ID: "INP/notice-days-clamped", Family: "INP", claims: clamped,
		Words:   "More notice days than days are clamped to as many.",
		make:    reads(func(t *spec.LockTerms) { t.NoticeDays = min(t.NoticeDays, t.Days) }),
		Witness: witness("0 power on", "0 lock arm 246810 1 2 none none none none none", "0"),
	},
	{
		ID: "INP/clamped-past-the-holiday", Family: "INP", claims: clamped,
		Words: "A boost whose length had to be clamped is let past the question whether a holiday runs.",
		make: with(func(s *scratch) hooks {
			return accepts(spec.Boost, spec.InHoliday, func(now *emulator.Facts, in spec.Input) bool {
				if in.Amount <= uint32(s.ics.BoostLongest) {
					return false
				}
				now.Channels[in.Channel].BoostLeft = uint64(s.ics.BoostLongest) * calendar.Minute
				return true
			})()
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 holiday 1", "0 boost ch 181", "0"),
	},
	{
		ID: "INP/only-channel-takes-all", Family: "INP", claims: heatingOnly,
		Words: "A unit with one channel applies an input to it, whichever it names.",
		make: answers(spec.Accepted, func(_ *emulator.Facts, in spec.Input) bool {
			return in.Kind == spec.SetMode || in.Kind == spec.Boost || in.Kind == spec.Override
		},
			func(s *scratch, now *emulator.Facts, in spec.Input) {
				in.Channel = other(in.Channel)
				s.do(now, in)
			}),
		Witness: witness("0 power on", "0 boost hw 60", "0"),
	},
	{
		ID: "INP/other-channel-refused", Family: "INP", claims: heatingOnly,
		Words:   "An input to the channel that is not there is answered with refused.",
		make:    answers(spec.Refused, isKind(spec.SetMode), nil),
		Witness: witness("0 mode hw off", "0"),
	},
	{
		ID: "INP/other-channels-table-stored", Family: "INP", claims: heatingOnly,
		Words:   "An edit of the table of the channel that is not there is accepted, as nothing shows it.",
		make:    answers(spec.Accepted, isKind(spec.SetPeriod), nil),
		Witness: witness("0 power on", "0 period hw wed 1 07:00 09:00", "0"),
	},
	{
		ID: "INP/second-relay-driven", Family: "INP", claims: func(s *spec.ICS) { heatingOnly(s); gravity(s) },
		Words: "On a unit with heating alone the coupling still drives the other relay, if the switch says gravity.",
		make: plain(hooks{show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
			if now.Back.Coupling == spec.Gravity {
				levels[spec.SigHW] |= levels[spec.SigCH]
			}
		}}),
		Witness: witness("0 power on", "0 boost ch 60", "0"),
	},
	{
		ID: "INP/single-channel-shared", Family: "INP", claims: func(s *spec.ICS) { heatingOnly(s); s.Fitted.Timing = spec.Shared },
		Words: "A unit with one channel refuses its own table if the switch says shared.",
		make: refuses(spec.SetPeriod, func(was, _ *emulator.Facts, in spec.Input) bool {
			return was.Back.Timing == spec.Shared && in.Table != spec.BothTables
		}),
		Witness: witness("0 power on", "0 period ch wed 1 07:00 09:00", "0"),
	},
	{
		ID: "INP/channels-counted-at-once", Family: "INP",
		Words: "A channel that is taken away at the back is unsupported at once, before power returns.",
		make: plain(hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
			if (in.Kind == spec.SetMode || in.Kind == spec.Boost || in.Kind == spec.Override) && !now.Back.Channels.Has(in.Channel) {
				r.Outcome = spec.Unsupported
			}
		}}),
		Witness: witness("0 fit channels ch", "0 mode hw off", "0"),
	},
	{
		ID: "INP/no-boost-of-0", Family: "INP", claims: noBoost,
		Words:   "On a unit without boost, 0 minutes cancel nothing and are accepted.",
		make:    answers(spec.Accepted, func(_ *emulator.Facts, in spec.Input) bool { return in.Kind == spec.Boost && in.Amount == 0 }, nil),
		Witness: witness("0 boost ch 0", "0"),
	},
	{
		ID: "INP/no-boost-refused", Family: "INP", claims: noBoost,
		Words:   "On a unit without boost any length is too long, and is refused.",
		make:    answers(spec.Refused, func(_ *emulator.Facts, in spec.Input) bool { return in.Kind == spec.Boost && in.Amount > 0 }, nil),
		Witness: witness("0 boost ch 1", "0"),
	},
	{
		ID: "INP/no-boost-ends-override", Family: "INP", claims: noBoost,
		Words: "The boost key ends an override, on a unit without boost too.",
		make: answers(spec.Unsupported, isKind(spec.Boost), func(_ *scratch, now *emulator.Facts, in spec.Input) {
			now.Channels[in.Channel].Override = false
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 boost ch 1", "0"),
	},
	{
		ID: "INP/no-holiday-checked-first", Family: "INP", claims: noHoliday,
		Words: "On a unit without a holiday the days are checked first, and bad ones are refused.",
		make: answers(spec.Refused, func(_ *emulator.Facts, in spec.Input) bool {
			return in.Kind == spec.Holiday && (in.Amount < 1 || in.Amount > 99)
		}, nil),
		Witness: witness("0 holiday 0", "0"),
	},
	{
		ID: "INP/no-holiday-clock-first", Family: "INP", claims: noHoliday,
		Words: "On a unit without a holiday an unset clock is found first, and the holiday is refused.",
		make: answers(spec.Refused, func(was *emulator.Facts, in spec.Input) bool {
			return in.Kind == spec.Holiday && was.Powered && !was.ClockSet
		}, nil),
		Witness: witness("0 power on", "0 holiday 1", "0"),
	},
	{
		ID: "INP/no-holiday-cancelled", Family: "INP", claims: noHoliday,
		Words:   "Cancelling is accepted by a unit without a holiday, since there is none.",
		make:    answers(spec.Accepted, isKind(spec.HolidayCancel), nil),
		Witness: witness("0 holiday cancel", "0"),
	},
	{
		ID: "INP/lock-behind-a-menu", Family: "INP", claims: func(s *spec.ICS) { s.Lock = false },
		Words:   "The lock is left out of the menu only, and the credential of the factory arms it.",
		make:    actsAs(func(s *spec.ICS) { s.Lock = true }),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0"),
	},
	{
		ID: "INP/no-lock-refused", Family: "INP", claims: func(s *spec.ICS) { s.Lock = false },
		Words: "A unit without a lock finds every credential wrong, and refuses.",
		make: answers(spec.Refused, func(_ *emulator.Facts, in spec.Input) bool {
			return in.Kind == spec.LockArm || in.Kind == spec.LockRemove
		}, nil),
		Witness: witness("0 lock remove 246810", "0"),
	},
}
