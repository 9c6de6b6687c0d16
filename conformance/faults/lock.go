package faults

import (
	"strings"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// arms changes the lock's facts after an accepted arming.
func arms(f func(was, now *emulator.LockFacts)) func() hooks {
	return after(spec.LockArm, func(was, now *emulator.Facts, _ spec.Input) { f(&was.Lock, &now.Lock) })
}

// reads changes the terms of an arming before they are looked at.
func reads(f func(t *spec.LockTerms)) func() hooks {
	return changed(spec.LockArm, func(_ *emulator.Facts, in *spec.Input) { f(&in.Terms) })
}

// mistakesTerms takes an allowance, of any stage and channel, for another.
func mistakesTerms(f func(a uint8) uint8) func() hooks {
	return reads(func(t *spec.LockTerms) {
		for c := range t.Notice {
			t.Notice[c], t.Restricted[c] = f(t.Notice[c]), f(t.Restricted[c])
		}
	})
}

// limits is a unit whose permits follow from other facts; the alert shows what is so.
func limits(f func(now *emulator.Facts)) func() hooks {
	return plain(hooks{believes: f, show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
		if now.Powered {
			levels[spec.SigAlert] = spec.Level(now.Lock.Stage)
		}
	}})
}

// freed are the permits of a channel for which the lock is not asked.
func freed(l *emulator.LockFacts, c int) {
	l.Terms.Notice[c], l.Terms.Restricted[c] = spec.NoAllowance, spec.NoAllowance
}

// counts changes the count after time has passed; the stage follows.
func counts(f func(was, now *emulator.Facts)) func() hooks {
	return plain(hooks{passed: func(was, now *emulator.Facts) {
		if was.Lock.Stage != spec.Dormant {
			f(was, now)
		}
	}})
}

// opens compares the credential by another rule.
func opens(alike func(given, set string) bool) func() hooks {
	return with(func(s *scratch) hooks {
		return hooks{input: func(_ *emulator.Facts, in spec.Input) []spec.Input {
			if (in.Kind == spec.LockArm || in.Kind == spec.LockRemove) && alike(in.Credential, s.ics.Credential) {
				in.Credential = s.ics.Credential
			}
			return []spec.Input{in}
		}}
	})
}

// sounds works the sounder by another rule.
func sounds(wait func(now *emulator.Facts) uint64, f func(s *scratch, now *emulator.Facts, right bool) bool) func() hooks {
	return with(func(s *scratch) hooks {
		return hooks{
			wait: func(now *emulator.Facts) uint64 {
				if now.Lock.Terms.Sounders == 0 || now.Lock.Stage < spec.Notice {
					return noWait
				}
				return wait(now)
			},
			show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				if now.Powered && now.Lock.Stage >= spec.Notice {
					on := f(s, now, levels[spec.SigSounder] == 1)
					levels[spec.SigSounder] = 0
					if on {
						levels[spec.SigSounder] = 1
					}
				}
			},
		}
	})
}

func noStops(*emulator.Facts) uint64 { return noWait }

var lockFaults = []Fault{
	{
		ID: "LCK/reset-clears", Family: "LCK",
		Words:   "Reset clears the whole of the settings memory, the lock with it.",
		make:    after(spec.Reset, func(_, now *emulator.Facts, _ spec.Input) { now.Lock = emulator.LockFacts{} }),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 reset", "0"),
	},
	{
		ID: "LCK/reset-restarts-count", Family: "LCK",
		Words: "Reset loads the countdown anew from the days stated.",
		make: after(spec.Reset, func(_, now *emulator.Facts, _ spec.Input) {
			now.Lock.Counted = 0
			recount(&now.Lock)
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "1 reset", "86400"),
	},
	{
		ID: "LCK/reset-restarts-window", Family: "LCK",
		Words:   "Reset restarts the permit's hour together with the modes and tables.",
		make:    after(spec.Reset, func(_, now *emulator.Facts, _ spec.Input) { now.Lock.InStage = 0 }),
		Witness: witness("0 power on", "0 clock 2026-01-14 16:00", "0 lock arm 246810 1 1 10 10 10 10 none", "600 reset", "600"),
	},
	{
		ID: "LCK/reset-clears-sounder", Family: "LCK",
		Words:   "The sounder times stand with the tables and go with them in a reset.",
		make:    after(spec.Reset, func(_, now *emulator.Facts, _ spec.Input) { now.Lock.Terms.Sounders = 0 }),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 lock arm 246810 1 1 none none none none 00:00", "0 reset", "0"),
	},
	{
		ID: "LCK/reset-arms", Family: "LCK",
		Words: "Reset writes the lock's default record, whose stage is counting, though nobody has armed it.",
		make: after(spec.Reset, func(_, now *emulator.Facts, _ spec.Input) {
			if now.Lock.Stage == spec.Dormant {
				none := [spec.NumChannels]uint8{spec.NoAllowance, spec.NoAllowance}
				now.Lock = emulator.LockFacts{Stage: spec.Counting, Terms: spec.LockTerms{Days: 365, Notice: none, Restricted: none}}
			}
		}),
		Witness: witness("0 power on", "0 reset", "0"),
	},
	{
		ID: "LCK/mains-only", Family: "LCK",
		Words: "The counter is not run while the unit sleeps on its reserve.",
		make: counts(func(was, now *emulator.Facts) {
			if !was.Powered {
				now.Lock = was.Lock
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 power off", "2 power on", "86400"),
	},
	{
		ID: "LCK/counts-past-reserve", Family: "LCK",
		Words: "The lock counts by the board's own timer, past the end of the reserve.",
		make: func() hooks {
			return hooks{after: returned(func(was, now *emulator.Facts) {
				if was.ClockStopped {
					now.Lock.Counted += was.Now - was.Stopped
					recount(&now.Lock)
				}
			})}
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 power off", "86400 power on", "86400"),
	},
	{
		ID: "LCK/loses-the-cut-past-reserve", Family: "LCK",
		Words: "The count is saved when power is lost, so a cut past the reserve goes back to there.",
		make: func() hooks {
			var saved emulator.LockFacts
			h := hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				lost(func(was, _ *emulator.Facts) { saved = was.Lock })(was, now, in, r)
				returned(func(was, now *emulator.Facts) {
					if was.ClockStopped {
						now.Lock = saved
					}
				})(was, now, in, r)
			}}
			return h
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 power off", "28800 power on", "86401"),
	},
	{
		ID: "LCK/reserves-last-second", Family: "LCK",
		Words: "The second in which the reserve runs out is not counted, nor is what is due in it.",
		make: counts(func(was, now *emulator.Facts) {
			if !was.ClockStopped && now.ClockStopped {
				now.Lock = was.Lock
				now.Lock.Counted += now.Now - was.Now - 1
				recount(&now.Lock)
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "57600 power off", "86400 power on", "86400"),
	},
	{
		ID: "LCK/saved-by-the-hour", Family: "LCK",
		Words: "The count is saved once an hour, and each cut goes back to what was saved.",
		make: func() hooks {
			return hooks{after: lost(func(_, now *emulator.Facts) {
				now.Lock.Counted -= now.Lock.Counted % calendar.Hour
				recount(&now.Lock)
			})}
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "2 power off", "2 power on", "86400"),
	},
	{
		ID: "LCK/cut-costs-a-minute", Family: "LCK",
		Words: "Each cut loses the minute that was under way, though the grain claimed is a second.",
		make: func() hooks {
			return hooks{after: lost(func(_, now *emulator.Facts) {
				now.Lock.Counted -= now.Lock.Counted % calendar.Minute
				recount(&now.Lock)
			})}
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 1 10 10 10 10 none", "0 mode ch always", "59 power off", "59 power on", "600"),
	},
	{
		ID: "LCK/cut-adds-a-minute", Family: "LCK",
		Words: "A cut is rounded up to whole minutes when it is added to the count, one of no time too.",
		make: func() hooks {
			return hooks{after: returned(func(_, now *emulator.Facts) {
				now.Lock.Counted += calendar.Minute - 1 - (now.Lock.Counted+calendar.Minute-1)%calendar.Minute
				recount(&now.Lock)
			})}
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "86341 power off", "86341 power on", "86341"),
	},
	{
		ID: "LCK/cut-starts-a-window", Family: "LCK",
		Words: "A fresh window starts when power returns, so a flick of the switch buys another one.",
		make: func() hooks {
			return hooks{after: returned(func(_, now *emulator.Facts) { now.Lock.InStage = 0 })}
		},
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 10 none", "600 power off", "600 power on", "600"),
	},
	{
		ID: "LCK/lost-clock-starts-a-window", Family: "LCK",
		Words: "The window is kept on the reserve alone: a cut past it starts a fresh one.",
		make: func() hooks {
			return hooks{after: returned(func(was, now *emulator.Facts) {
				if was.ClockStopped {
					now.Lock.InStage = 0
				}
			})}
		},
		claims:  func(s *spec.ICS) { s.Reserve = 0 },
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 10 none", "600 power off", "601 power on", "601"),
	},
	{
		ID: "LCK/window-on-the-clocks-hour", Family: "LCK",
		Words: "The window opens on the display's hour, not on the hour of the stage.",
		make: limits(func(now *emulator.Facts) {
			if now.ClockSet {
				now.Lock.InStage += uint64(reading(now)%calendar.Hour) + calendar.Hour - now.Lock.InStage%calendar.Hour
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:10", "0 lock arm 246810 1 1 10 10 10 10 none", "0"),
	},
	{
		ID: "LCK/window-from-the-call", Family: "LCK",
		Words: "The allowance runs from the moment of the call, for as many minutes, once an hour.",
		make: func() hooks {
			var since [spec.NumChannels]uint64
			var calling [spec.NumChannels]bool
			return hooks{
				wait: func(now *emulator.Facts) uint64 {
					if now.Lock.Stage < spec.Notice {
						return noWait
					}
					return calendar.Minute - now.Lock.InStage%calendar.Minute
				},
				after: func(was, now *emulator.Facts, in spec.Input, _ *spec.Reply) {
					for c := range calling {
						on := now.Channels[c].BoostLeft > 0
						if on && !calling[c] {
							since[c] = now.Lock.InStage
						}
						calling[c] = on
					}
				},
				believes: func(now *emulator.Facts) {
					for c := range calling {
						if calling[c] && now.Channels[c].BoostLeft > 0 && now.Lock.InStage-since[c] < allowance(&now.Lock, spec.Channel(c)) {
							freed(&now.Lock, c)
						}
					}
				},
			}
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 1 10 10 10 10 none", "1 boost ch 60", "600"),
	},
	{
		ID: "LCK/window-a-second-long", Family: "LCK",
		Words: "The end of the window is compared with <=, so the permit is open for a second too long.",
		make: limits(func(now *emulator.Facts) {
			for c := range now.Channels {
				if now.Lock.InStage%calendar.Hour == allowance(&now.Lock, spec.Channel(c)) {
					now.Lock.InStage--
					return
				}
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 10 none", "600"),
	},
	{
		ID: "LCK/window-opens-a-second-late", Family: "LCK",
		Words: "The hour is compared with > instead of >=, so every window but the first opens a second late.",
		make: limits(func(now *emulator.Facts) {
			if now.Lock.InStage > 0 && now.Lock.InStage%calendar.Hour == 0 {
				now.Lock.InStage--
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 10 none", "3600"),
	},
	{
		ID: "LCK/window-at-the-hours-end", Family: "LCK",
		Words: "The permit is shut first and open for the last minutes of each hour.",
		make: limits(func(now *emulator.Facts) {
			for c := range now.Channels {
				if a := allowance(&now.Lock, spec.Channel(c)); a < calendar.Hour {
					now.Lock.InStage += a
					return
				}
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 10 none", "0"),
	},
	{
		ID: "LCK/window-once-in-two-hours", Family: "LCK",
		Words: "The window is let through every other hour, because the flag 'used' is cleared by the hour's edge and set again by it.",
		make: limits(func(now *emulator.Facts) {
			if l := &now.Lock; l.InStage/calendar.Hour%2 == 1 {
				l.InStage = calendar.Hour - calendar.Minute
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 10 none", "3600"),
	},
	{
		ID: "LCK/one-allowance", Family: "LCK",
		Words: "There is one permit for both channels, heating's.",
		make: reads(func(t *spec.LockTerms) {
			t.Notice[spec.HW], t.Restricted[spec.HW] = t.Notice[spec.CH], t.Restricted[spec.CH]
		}),
		Witness: witness("0 power on", "0 mode hw always", "0 lock arm 246810 1 1 none 10 none 10 none", "600"),
	},
	{
		ID: "LCK/columns-by-channel", Family: "LCK",
		Words: "The four allowances are read channel by channel instead of stage by stage.",
		make: reads(func(t *spec.LockTerms) {
			t.Notice[spec.CH], t.Restricted[spec.HW] = t.Restricted[spec.HW], t.Notice[spec.CH]
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none none none", "600"),
	},
	{
		ID: "LCK/heating-first", Family: "LCK",
		Words: "The allowances are read heating first.",
		make: reads(func(t *spec.LockTerms) {
			t.Notice[0], t.Notice[1] = t.Notice[1], t.Notice[0]
			t.Restricted[0], t.Restricted[1] = t.Restricted[1], t.Restricted[0]
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none none none", "600"),
	},
	{
		ID: "LCK/stages-swapped", Family: "LCK",
		Words:   "The allowances of notice and restricted are stored the wrong way round.",
		make:    reads(func(t *spec.LockTerms) { t.Notice, t.Restricted = t.Restricted, t.Notice }),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none none none", "600"),
	},
	{
		ID: "LCK/stricter-of-both", Family: "LCK",
		Words: "Restricted keeps notice's allowance where that is stricter.",
		make: reads(func(t *spec.LockTerms) {
			for c := range t.Notice {
				t.Restricted[c] = min(t.Notice[c], t.Restricted[c])
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 20 none", "87000"),
	},
	{
		ID: "LCK/notice-goes-on", Family: "LCK",
		Words: "Restricted goes on with notice's allowance for the hour that was under way.",
		make: limits(func(now *emulator.Facts) {
			if l := &now.Lock; l.Stage == spec.Restricted && l.InStage < calendar.Hour && l.Terms.NoticeDays > 0 {
				l.Terms.Restricted = l.Terms.Notice
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 20 none 10 none", "87000"),
	},
	{
		ID: "LCK/none-is-nothing", Family: "LCK",
		Words: "No allowance is stored as 0 and read as no heat at all.",
		make: arms(func(_, now *emulator.LockFacts) {
			for c := range now.Terms.Notice {
				for _, a := range []*uint8{&now.Terms.Notice[c], &now.Terms.Restricted[c]} {
					if *a == spec.NoAllowance {
						*a = 0
					}
				}
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none none none none none", "0"),
	},
	{
		ID: "LCK/hot-water-takes-heatings", Family: "LCK",
		Words: "Hot water has heating's allowance where it is given none.",
		make: reads(func(t *spec.LockTerms) {
			for _, a := range []*[spec.NumChannels]uint8{&t.Notice, &t.Restricted} {
				if a[spec.HW] == spec.NoAllowance {
					a[spec.HW] = a[spec.CH]
				}
			}
		}),
		Witness: witness("0 power on", "0 mode hw always", "0 lock arm 246810 1 1 none 10 none 10 none", "600"),
	},
	{
		ID: "LCK/none-keeps-the-old", Family: "LCK",
		Words: "In re-arming, 'none' leaves the allowance that was there.",
		make: arms(func(was, now *emulator.LockFacts) {
			if was.Stage == spec.Dormant {
				return
			}
			for c := range now.Terms.Notice {
				if now.Terms.Notice[c] == spec.NoAllowance {
					now.Terms.Notice[c] = was.Terms.Notice[c]
				}
				if now.Terms.Restricted[c] == spec.NoAllowance {
					now.Terms.Restricted[c] = was.Terms.Restricted[c]
				}
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 10 none", "0 lock arm 246810 1 1 none none none none none", "600"),
	},
	{
		ID: "LCK/sounder-none-keeps-the-old", Family: "LCK",
		Words: "In re-arming without sounder times the old list is not cleared.",
		make: arms(func(was, now *emulator.LockFacts) {
			if now.Terms.Sounders == 0 {
				now.Terms.Sounder, now.Terms.Sounders = was.Terms.Sounder, was.Terms.Sounders
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 lock arm 246810 1 1 none none none none 00:00",
			"0 lock arm 246810 1 1 none none none none none", "0"),
	},
	{
		ID: "LCK/sixty-is-fifty-nine", Family: "LCK",
		Words: "The window's last minute is kept as 0 to 59, so an allowance of 60 shuts for a minute an hour.",
		make: mistakesTerms(func(a uint8) uint8 {
			if a == 60 {
				return 59
			}
			return a
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 60 none 60 none", "3540"),
	},
	{
		ID: "LCK/fifty-nine-is-sixty", Family: "LCK",
		Words: "An allowance of 59 is taken for the full hour.",
		make: mistakesTerms(func(a uint8) uint8 {
			if a == 59 {
				return 60
			}
			return a
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 59 none 60 none", "3540"),
	},
	{
		ID: "LCK/allowance-in-fives", Family: "LCK",
		Words: "Allowances are kept in steps of five minutes.",
		make: mistakesTerms(func(a uint8) uint8 {
			if a > 10 && a < 60 {
				return a - a%5
			}
			return a
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 14 none none none", "600"),
	},
	{
		ID: "LCK/limits-while-counting", Family: "LCK",
		Words: "Notice's allowance limits as soon as the lock is armed.",
		make: limits(func(now *emulator.Facts) {
			if now.Lock.Stage == spec.Counting {
				now.Lock.Stage, now.Lock.Terms.Sounders = spec.Notice, 0
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 0 none 10 none none none", "600"),
	},
	{
		ID: "LCK/sounds-while-counting", Family: "LCK",
		Words: "The sounder sounds as soon as the lock is armed.",
		make: limits(func(now *emulator.Facts) {
			if now.Lock.Stage == spec.Counting {
				now.Lock.Stage, now.Lock.Terms.Notice = spec.Notice, [spec.NumChannels]uint8{spec.NoAllowance, spec.NoAllowance}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 lock arm 246810 1 0 none none none none 00:00", "0"),
	},
	{
		ID: "LCK/notice-counted-forward", Family: "LCK",
		Words: "The notice days are counted forward from arming, not back from the end.",
		make: reads(func(t *spec.LockTerms) {
			if t.NoticeDays > 0 && t.NoticeDays < t.Days {
				t.NoticeDays = t.Days - t.NoticeDays
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 3 1 none none none none none", "86400"),
	},
	{
		ID: "LCK/notice-a-day-late", Family: "LCK",
		Words: "Notice begins when fewer than the notice days are left, a day late.",
		make: reads(func(t *spec.LockTerms) {
			if t.NoticeDays > 0 {
				t.NoticeDays--
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none none none none none", "0"),
	},
	{
		ID: "LCK/no-notice-is-a-day", Family: "LCK",
		Words: "Restricted can only follow notice, so without notice days the last day is in notice.",
		make: reads(func(t *spec.LockTerms) {
			if t.NoticeDays == 0 && t.Days > 0 {
				t.NoticeDays = 1
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0"),
	},
	{
		ID: "LCK/restricted-a-day-late", Family: "LCK",
		Words: "Restricted begins when the days left are below nought, a day late.",
		make: reads(func(t *spec.LockTerms) {
			if t.Days > 0 && t.Days < spec.MaxLockDays && t.NoticeDays <= t.Days {
				t.Days++
				t.NoticeDays++
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none none none none none", "86400"),
	},
	{
		ID: "LCK/days-from-midnight", Family: "LCK",
		Words: "The day of arming counts in full, from its midnight.",
		make: after(spec.LockArm, func(_, now *emulator.Facts, _ spec.Input) {
			if now.ClockSet {
				now.Lock.Counted += uint64(secondOfDay(now))
				recount(&now.Lock)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 lock arm 246810 1 0 none none none none none", "60"),
	},
	{
		ID: "LCK/days-in-a-byte", Family: "LCK",
		Words: "The days and the notice days are kept in a byte each.",
		make: reads(func(t *spec.LockTerms) {
			if t.Days <= spec.MaxLockDays && t.Days%256 >= max(1, t.NoticeDays%256) {
				t.Days %= 256
				t.NoticeDays %= 256
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 257 0 none none none none none", "86400"),
	},
	{
		ID: "LCK/loads-anew", Family: "LCK",
		Words: "A day after the count has run out it is below nought, and is loaded anew.",
		make: func() hooks {
			return hooks{
				wait: func(now *emulator.Facts) uint64 {
					if now.Lock.Stage != spec.Restricted || now.ClockStopped || now.Lock.InStage >= calendar.Day {
						return noWait
					}
					return calendar.Day - now.Lock.InStage
				},
				passed: func(_, now *emulator.Facts) {
					if now.Lock.Stage == spec.Restricted && now.Lock.InStage == calendar.Day {
						now.Lock.Counted = 0
						recount(&now.Lock)
					}
				},
			}
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "172800"),
	},
	{
		ID: "LCK/hours-in-a-byte", Family: "LCK",
		Words: "The hours of the count are kept in a byte that sticks at 255, so a lock of eleven days or more never ends.",
		make: counts(func(was, now *emulator.Facts) {
			if was.Lock.Stage < spec.Restricted && now.Lock.Counted >= 256*calendar.Hour {
				now.Lock = was.Lock
				now.Lock.Counted = min(was.Lock.Counted+now.Now-was.Now, 256*calendar.Hour-1)
				now.Lock.InStage += now.Lock.Counted - was.Lock.Counted
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 11 0 none none none none none", "950400"),
	},
	{
		ID: "LCK/end-is-a-date", Family: "LCK",
		Words: "The end is stored as a date and time, so setting the clock moves it.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if was.ClockSet {
				now.Lock.Counted = uint64(max(0, int64(now.Lock.Counted)+now.UTC-was.UTC))
				recount(&now.Lock)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 lock arm 246810 1 0 none none none none none", "0 clock 2026-01-15 00:00", "0"),
	},
	{
		ID: "LCK/day-of-summer-time", Family: "LCK",
		Words: "The count goes by the display, so the days on which summer time begins or ends have 23 or 25 hours.",
		make: counts(func(was, now *emulator.Facts) {
			if changedSummerTime(was, now) {
				now.Lock.Counted += uint64(reading(now) - reading(was) - (now.UTC - was.UTC))
				recount(&now.Lock)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-03-29 00:59", "0 lock arm 246810 1 0 none none none none none", "82800"),
	},
	{
		ID: "LCK/stands-with-clock-unset", Family: "LCK",
		Words: "The count needs the date, so with the clock unset it stands still.",
		make: counts(func(was, now *emulator.Facts) {
			if !was.ClockSet {
				now.Lock = was.Lock
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "86400"),
	},
	{
		ID: "LCK/stands-in-a-holiday", Family: "LCK",
		Words: "The count is stopped while a holiday runs.",
		make: counts(func(was, now *emulator.Facts) {
			if was.Holiday.On {
				now.Lock = was.Lock
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 holiday 1", "0 lock arm 246810 1 0 none none none none none", "86400"),
	},
	{
		ID: "LCK/stands-in-off", Family: "LCK",
		Words: "With both channels off the unit sleeps, and the count stands still.",
		make: counts(func(was, now *emulator.Facts) {
			if was.Channels[spec.HW].Mode == spec.Off && was.Channels[spec.CH].Mode == spec.Off {
				now.Lock = was.Lock
			}
		}),
		Witness: witness("0 power on", "0 mode hw off", "0 mode ch off", "0 lock arm 246810 1 0 none none none none none", "86400"),
	},
	{
		ID: "LCK/boost-goes-past", Family: "LCK",
		Words: "A boost goes past the lock.",
		make: limits(func(now *emulator.Facts) {
			for c := range now.Channels {
				if now.Channels[c].BoostLeft > 0 {
					freed(&now.Lock, c)
				}
			}
		}),
		Witness: witness("0 power on", "0 boost ch 60", "0 lock arm 246810 1 1 none 10 none 10 none", "600"),
	},
	{
		ID: "LCK/override-goes-past", Family: "LCK",
		Words: "An override goes past the lock.",
		make: limits(func(now *emulator.Facts) {
			for c := range now.Channels {
				if now.Channels[c].Override {
					freed(&now.Lock, c)
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 lock arm 246810 1 1 none 10 none 10 none", "600"),
	},
	{
		ID: "LCK/always-goes-past", Family: "LCK",
		Words: "Mode always closes the relay without asking for the permit.",
		make: limits(func(now *emulator.Facts) {
			for c := range now.Channels {
				if now.Channels[c].Mode == spec.Always {
					freed(&now.Lock, c)
				}
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 10 none", "600"),
	},
	{
		ID: "LCK/permit-calls", Family: "LCK",
		Words: "The relay of a limited channel is driven by the permit alone.",
		make: limits(func(now *emulator.Facts) {
			for c := range now.Channels {
				if allowance(&now.Lock, spec.Channel(c)) < calendar.Hour {
					now.Channels[c] = emulator.ChannelFacts{Mode: spec.Always}
					now.Holiday = emulator.HolidayFacts{}
				}
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none 10 none 10 none", "0"),
	},
	{
		ID: "LCK/override-refused-while-shut", Family: "LCK",
		Words: "The override key is dead while the permit is shut.",
		make: refuses(spec.Override, func(was, _ *emulator.Facts, in spec.Input) bool {
			return !permits(&was.Lock, in.Channel)
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 lock arm 246810 1 1 none 10 none 10 none", "600 override ch", "600"),
	},
	{
		ID: "LCK/boost-refused-while-shut", Family: "LCK",
		Words: "The boost key is dead while the permit is shut.",
		make: refuses(spec.Boost, func(was, _ *emulator.Facts, in spec.Input) bool {
			return !permits(&was.Lock, in.Channel)
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none 10 none 10 none", "600 boost ch 60", "600"),
	},
	{
		ID: "LCK/override-of-the-shut-relay", Family: "LCK",
		Words: "Override turns round the relay that the permit holds open: in a period that is no override at all.",
		make: with(func(s *scratch) hooks {
			return hooks{after: accepted(spec.Override, func(was, now *emulator.Facts, in spec.Input) {
				ch := &now.Channels[in.Channel]
				if ch.Override && !permits(&was.Lock, in.Channel) && s.scheduled(*now, in.Channel) == 1 {
					ch.Override = false
				}
			})}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 lock arm 246810 1 1 none 10 none 10 none", "600 override ch", "3600"),
	},
	{
		ID: "LCK/boost-waits-while-shut", Family: "LCK",
		Words: "A boost counts only the minutes for which the permit lets it call.",
		make: counts(func(was, now *emulator.Facts) {
			for c := range now.Channels {
				if !permits(&was.Lock, spec.Channel(c)) {
					now.Channels[c].BoostLeft = was.Channels[c].BoostLeft
				}
			}
		}),
		Witness: witness("0 power on", "0 boost ch 60", "0 lock arm 246810 1 1 none 10 none 10 none", "3600"),
	},
	{
		ID: "LCK/shut-permit-ends-override", Family: "LCK",
		Words: "The shutting of the permit is an off like any other and ends the override.",
		make: counts(func(was, now *emulator.Facts) {
			for c := range now.Channels {
				if permits(&was.Lock, spec.Channel(c)) && !permits(&now.Lock, spec.Channel(c)) {
					now.Channels[c].Override = false
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 05:00", "0 override ch", "0 lock arm 246810 1 1 none 10 none 10 none", "3600"),
	},
	{
		ID: "LCK/three-wrong-lock-out", Family: "LCK",
		Words: "After three wrong credentials running the right one is refused too.",
		make: func() hooks {
			tries := 0
			return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				switch {
				case in.Kind != spec.LockArm && in.Kind != spec.LockRemove || r.Outcome == spec.Unsupported:
				case r.Refusal == spec.WrongCredential:
					tries++
				case tries >= 3:
					undo(was, now, r)
				case r.Outcome == spec.Accepted:
					tries = 0
				}
			}}
		},
		Witness: witness("0 power on", "0 lock remove 0000", "0 lock remove 0000", "0 lock remove 0000", "0 lock arm 246810 1 0 none none none none none", "0"),
	},
	{
		ID: "LCK/any-credential-removes", Family: "LCK",
		Words: "The credential is asked for in arming only.",
		make: with(func(s *scratch) hooks {
			return hooks{input: func(_ *emulator.Facts, in spec.Input) []spec.Input {
				if in.Kind == spec.LockRemove {
					in.Credential = s.ics.Credential
				}
				return []spec.Input{in}
			}}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 lock remove 0000", "0"),
	},
	{
		ID: "LCK/any-credential-re-arms", Family: "LCK",
		Words: "Whoever arms a lock that is armed has shown the credential before, so it is not asked for again.",
		make: with(func(s *scratch) hooks {
			return hooks{input: func(now *emulator.Facts, in spec.Input) []spec.Input {
				if in.Kind == spec.LockArm && now.Lock.Stage != spec.Dormant {
					in.Credential = s.ics.Credential
				}
				return []spec.Input{in}
			}}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 lock arm 0000 1 1 none none none none none", "0"),
	},
	{
		ID: "LCK/first-four-digits", Family: "LCK",
		Words:   "Only the first four digits of the credential are compared.",
		make:    opens(func(given, set string) bool { return strings.HasPrefix(given, set[:4]) }),
		Witness: witness("0 power on", "0 lock arm 246800 1 0 none none none none none", "0"),
	},
	{
		ID: "LCK/beginning-of-the-credential", Family: "LCK",
		Words:   "The credential is compared as far as it has been typed, so its first digits are enough.",
		make:    opens(func(given, set string) bool { return strings.HasPrefix(set, given) }),
		Witness: witness("0 power on", "0 lock arm 2468 1 0 none none none none none", "0"),
	},
	{
		ID: "LCK/more-than-the-credential", Family: "LCK",
		Words:   "The credential is compared as far as the stored one goes, so digits after it do not matter.",
		make:    opens(func(given, set string) bool { return strings.HasPrefix(given, set) }),
		Witness: witness("0 power on", "0 lock arm 2468100 1 0 none none none none none", "0"),
	},
	{
		ID: "LCK/credential-as-a-number", Family: "LCK",
		Words:   "The credential is compared as a number, so noughts before it do not matter.",
		make:    opens(func(given, set string) bool { return strings.TrimLeft(given, "0") == strings.TrimLeft(set, "0") }),
		Witness: witness("0 power on", "0 lock arm 0246810 1 0 none none none none none", "0"),
	},
	{
		ID: "LCK/removal-of-nothing", Family: "LCK",
		Words:   "Removing a lock that is dormant is accepted.",
		make:    accepts(spec.LockRemove, spec.LockDormant, func(*emulator.Facts, spec.Input) bool { return true }),
		Witness: witness("0 power on", "0 lock remove 246810", "0"),
	},
	{
		ID: "LCK/removal-hides", Family: "LCK",
		Words: "Removal clears the alert and leaves the countdown running, so the next stage comes all the same.",
		make: func() hooks {
			hidden := spec.Dormant
			return hooks{
				after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
					if r.Outcome == spec.Accepted && in.Kind == spec.LockArm {
						hidden = spec.Dormant
					}
					if r.Outcome == spec.Accepted && in.Kind == spec.LockRemove && was.Lock.Stage == spec.Counting {
						now.Lock, hidden = was.Lock, spec.Counting
					}
				},
				show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
					if now.Lock.Stage == hidden {
						levels[spec.SigAlert] = 0
					}
				},
			}
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 lock remove 246810", "86400"),
	},
	{
		ID: "LCK/removal-leaves-permits", Family: "LCK",
		Words: "Removal lifts a shut permit only where its next window would have opened.",
		make: func() hooks {
			var left emulator.LockFacts
			since := uint64(0)
			return hooks{
				after: func(was, _ *emulator.Facts, in spec.Input, r *spec.Reply) {
					if r.Outcome == spec.Accepted && (in.Kind == spec.LockRemove || in.Kind == spec.LockArm) {
						left, since = emulator.LockFacts{}, was.Now
						if in.Kind == spec.LockRemove {
							left = was.Lock
						}
					}
				},
				believes: func(now *emulator.Facts) {
					l := left
					l.InStage += now.Now - since
					if l.InStage/calendar.Hour == left.InStage/calendar.Hour && left.Stage >= spec.Notice {
						l.Terms.Sounders = 0
						now.Lock = l
					}
				},
				show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
					if now.Powered {
						levels[spec.SigAlert] = spec.Level(now.Lock.Stage)
					}
				},
			}
		},
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 10 none", "600 lock remove 246810", "600"),
	},
	{
		ID: "LCK/re-arming-keeps-window", Family: "LCK",
		Words: "From notice to notice no change of stage is seen, and the old window goes on.",
		make: arms(func(was, now *emulator.LockFacts) {
			if was.Stage == now.Stage {
				now.InStage = was.InStage
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none 10 none 10 none", "600 lock arm 246810 1 1 none 10 none 10 none", "600"),
	},
	{
		ID: "LCK/same-terms-do-nothing", Family: "LCK",
		Words: "Arming with the terms that are in force is taken for what is already set, and the old count goes on.",
		make: arms(func(was, now *emulator.LockFacts) {
			if was.Stage != spec.Dormant && was.Terms == now.Terms {
				*now = *was
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "1 lock arm 246810 1 0 none none none none none", "86400"),
	},
	{
		ID: "LCK/re-arming-keeps-count", Family: "LCK",
		Words: "Re-arming states new days, but the count goes on from where it was.",
		make: arms(func(was, now *emulator.LockFacts) {
			if was.Stage != spec.Dormant {
				now.Counted = was.Counted
				recount(now)
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 2 0 none none none none none", "86400 lock arm 246810 1 0 none none none none none", "86400"),
	},
	{
		ID: "LCK/arming-ends-boost", Family: "LCK",
		Words:   "Arming clears every temporary state, a boost for one.",
		make:    after(spec.LockArm, func(_, now *emulator.Facts, _ spec.Input) { dropBoosts(now) }),
		Witness: witness("0 power on", "0 boost ch 60", "0 lock arm 246810 1 0 none none none none none", "0"),
	},
	{
		ID: "LCK/arming-ends-override", Family: "LCK",
		Words:   "Arming evaluates the outputs from the tables, and the override is gone.",
		make:    after(spec.LockArm, func(_, now *emulator.Facts, _ spec.Input) { dropOverrides(now) }),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 lock arm 246810 1 0 none none none none none", "0"),
	},
	{
		ID: "LCK/refused-arming-restarts", Family: "LCK",
		Words: "The count is started afresh before the terms are checked, and does not go back.",
		make: plain(hooks{after: refused(spec.LockArm, func(_, now *emulator.Facts, _ spec.Input, r *spec.Reply) {
			if r.Refusal == spec.BadTerms {
				now.Lock.Counted = 0
				recount(&now.Lock)
			}
		})}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "1 lock arm 246810 0 0 none none none none none", "86400"),
	},
	{
		ID: "LCK/refused-arming-stores", Family: "LCK",
		Words: "The allowances are stored one by one as they are read, up to the bad one.",
		make: plain(hooks{after: refused(spec.LockArm, func(_, now *emulator.Facts, in spec.Input, r *spec.Reply) {
			if r.Refusal != spec.BadTerms || now.Lock.Stage == spec.Dormant || in.Terms.Days < 1 || in.Terms.Days > spec.MaxLockDays {
				return
			}
			from, to := in.Terms, &now.Lock.Terms
			for _, a := range []struct {
				from uint8
				to   *uint8
			}{
				{from.Notice[0], &to.Notice[0]}, {from.Notice[1], &to.Notice[1]},
				{from.Restricted[0], &to.Restricted[0]}, {from.Restricted[1], &to.Restricted[1]},
			} {
				if !goodAllowance(a.from) {
					return
				}
				*a.to = a.from
			}
		})}),
		Witness: witness("0 power on", "0 mode ch always", "0 lock arm 246810 1 1 none none none none none",
			"0 lock arm 246810 1 1 none 10 none 9 none", "600"),
	},
	{
		ID: "LCK/no-days-accepted", Family: "LCK",
		Words: "0 days are accepted, and the lock is restricted at once.",
		make: accepts(spec.LockArm, spec.BadTerms, func(now *emulator.Facts, in spec.Input) bool {
			if in.Terms.Days != 0 || in.Terms.NoticeDays != 0 {
				return false
			}
			now.Lock = emulator.LockFacts{Stage: spec.Restricted, Terms: in.Terms}
			return true
		}),
		Witness: witness("0 power on", "0 lock arm 246810 0 0 none none none none none", "0"),
	},
	{
		ID: "LCK/longest-refused", Family: "LCK",
		Words:   "The days are compared with < 999, so the longest lock is refused.",
		make:    refuses(spec.LockArm, func(_, _ *emulator.Facts, in spec.Input) bool { return in.Terms.Days == spec.MaxLockDays }),
		Witness: witness("0 power on", "0 lock arm 246810 999 0 none none none none none", "0"),
	},
	{
		ID: "LCK/all-notice-refused", Family: "LCK",
		Words:   "As many notice days as days are refused.",
		make:    refuses(spec.LockArm, func(_, _ *emulator.Facts, in spec.Input) bool { return in.Terms.Days == in.Terms.NoticeDays }),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none none none none none", "0"),
	},
	{
		ID: "LCK/more-notice-than-days", Family: "LCK",
		Words: "More notice days than days are taken for as many.",
		make: reads(func(t *spec.LockTerms) {
			t.NoticeDays = min(t.NoticeDays, t.Days)
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 2 none none none none none", "0"),
	},
	{
		ID: "LCK/thousand-days", Family: "LCK",
		Words:   "There is no upper bound on the days: a thousand are taken for the longest.",
		make:    reads(func(t *spec.LockTerms) { t.Days = min(t.Days, spec.MaxLockDays) }),
		Witness: witness("0 power on", "0 lock arm 246810 1000 0 none none none none none", "0"),
	},
	{
		ID: "LCK/nine-minutes", Family: "LCK",
		Words:   "An allowance of less than 10 minutes is taken for 10.",
		make:    mistakesTerms(func(a uint8) uint8 { return max(a, spec.MinAllowance) }),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none 9 none 10 none", "0"),
	},
	{
		ID: "LCK/sixty-one-minutes", Family: "LCK",
		Words: "An allowance of more than 60 minutes is taken for none.",
		make: mistakesTerms(func(a uint8) uint8 {
			if a > spec.MaxAllowance {
				return spec.NoAllowance
			}
			return a
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none 61 none 10 none", "0"),
	},
	{
		ID: "LCK/unused-allowances-unchecked", Family: "LCK",
		Words: "Without notice days nobody looks at the allowances of notice, and a bad one passes.",
		make: reads(func(t *spec.LockTerms) {
			if t.NoticeDays == 0 {
				t.Notice = [spec.NumChannels]uint8{spec.NoAllowance, spec.NoAllowance}
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 9 none none none none", "0"),
	},
	{
		ID: "LCK/lowest-allowance-refused", Family: "LCK",
		Words: "The allowance is compared with > 10, so the least that the clause allows is refused.",
		make: refuses(spec.LockArm, func(_, _ *emulator.Facts, in spec.Input) bool {
			t := in.Terms
			return min(t.Notice[0], t.Notice[1], t.Restricted[0], t.Restricted[1]) == spec.MinAllowance
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none 10 none none none", "0"),
	},
	{
		ID: "LCK/fifth-sounder-time", Family: "LCK",
		Words:   "A fifth sounder time is dropped in silence.",
		make:    reads(func(t *spec.LockTerms) { t.Sounders = min(t.Sounders, spec.MaxSounderTimes) }),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none none none none 07:00,08:00,09:00,10:00,11:00", "0"),
	},
	{
		ID: "LCK/sounder-at-24-00", Family: "LCK",
		Words: "A sounder time of 24:00 is taken for 00:00.",
		make: reads(func(t *spec.LockTerms) {
			for i := range t.Sounder {
				t.Sounder[i] %= spec.MinutesPerDay
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none none none none 24:00", "0"),
	},
	{
		ID: "LCK/sounder-not-at-midnight", Family: "LCK",
		Words: "A sounder time of 00:00 is read as an empty place in the list.",
		make: sounds(noStops, func(_ *scratch, now *emulator.Facts, right bool) bool {
			return right && secondOfDay(now) >= calendar.Minute
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 lock arm 246810 1 1 none none none none 00:00", "0"),
	},
	{
		ID: "LCK/last-sounder-time", Family: "LCK",
		Words:   "The list of sounder times is walked with < instead of <=, so a fourth one is never reached.",
		make:    arms(func(_, now *emulator.LockFacts) { now.Terms.Sounders = min(now.Terms.Sounders, spec.MaxSounderTimes-1) }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 lock arm 246810 1 1 none none none none 04:00,05:00,06:00,07:00", "0"),
	},
	{
		ID: "LCK/sounder-twice-a-day", Family: "LCK",
		Words: "The sounder compares hours of twelve, so it sounds in the other half of the day too.",
		make: sounds(untilMinute, func(s *scratch, now *emulator.Facts, right bool) bool {
			half := *now
			half.UTC += calendar.Day / 2
			return right || now.ClockSet && s.levels(half)[spec.SigSounder] == 1
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 19:00", "0 lock arm 246810 1 1 none none none none 07:00", "0"),
	},
	{
		ID: "LCK/sounder-with-clock-unset", Family: "LCK",
		Words: "The flashing 00:00 of an unset clock counts as midnight, and the sounder goes on and on.",
		make: sounds(noStops, func(_ *scratch, now *emulator.Facts, right bool) bool {
			for _, m := range now.Lock.Terms.Sounder[:now.Lock.Terms.Sounders] {
				right = right || m == 0 && !now.ClockSet
			}
			return right
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none none none none 00:00", "0"),
	},
	{
		ID: "LCK/sounder-once-in-autumn", Family: "LCK",
		Words: "A sounder time that has sounded is ticked off for the day, so it is silent in the hour that comes again.",
		make: sounds(noStops, func(_ *scratch, now *emulator.Facts, right bool) bool {
			return right && (calendar.SummerTime(now.UTC) || !calendar.SummerTime(now.UTC-calendar.Hour))
		}),
		Witness: witness("0 power on", "0 clock 2026-10-25 01:59", "0 lock arm 246810 1 1 none none none none 01:00", "60"),
	},
	{
		ID: "LCK/sounder-with-the-minutes-change", Family: "LCK",
		Words: "The sounder is started by the change of the minute alone: a stage that begins within the minute is silent.",
		make: func() hooks {
			on := false
			return sounds(noStops, func(_ *scratch, now *emulator.Facts, right bool) bool {
				on = right && (on || secondOfDay(now)%calendar.Minute == 0)
				return on
			})()
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "1 lock arm 246810 1 1 none none none none 07:00", "1"),
	},
	{
		ID: "LCK/stage-over-re-arming", Family: "LCK",
		Words: "The stage that was due is written after the keys of its second, over a fresh arming.",
		make: func() hooks {
			due := uint64(noWait)
			return hooks{
				passed: func(was, now *emulator.Facts) {
					if was.Lock.Stage != now.Lock.Stage {
						due = now.Now
					}
				},
				after: accepted(spec.LockArm, func(was, now *emulator.Facts, _ spec.Input) {
					if due == now.Now && was.Lock.Stage == spec.Restricted {
						now.Lock.Counted = uint64(now.Lock.Terms.Days) * calendar.Day
						recount(&now.Lock)
					}
				}),
			}
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "86400 lock arm 246810 1 0 none none none none none", "86400"),
	},
}

// goodAllowance reports whether clause LCK-5 allows an allowance.
func goodAllowance(a uint8) bool {
	return a == spec.NoAllowance || a >= spec.MinAllowance && a <= spec.MaxAllowance
}
