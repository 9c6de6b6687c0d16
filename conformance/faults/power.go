package faults

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// returns changes the facts when power has returned.
func returns(f func(was, now *emulator.Facts)) func() hooks {
	return plain(hooks{after: returned(f)})
}

// loses changes the facts when power has been lost.
func loses(f func(was, now *emulator.Facts)) func() hooks {
	return plain(hooks{after: lost(f)})
}

// overCut changes the facts when power has returned after a cut; before is how things were when it began.
func overCut(f func(before, was, now *emulator.Facts)) func() hooks {
	return func() hooks {
		var before emulator.Facts
		begins := lost(func(was, _ *emulator.Facts) { before = *was })
		ends := returned(func(was, now *emulator.Facts) {
			if before.Powered {
				f(&before, was, now)
			}
		})
		return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
			begins(was, now, in, r)
			ends(was, now, in, r)
		}}
	}
}

// inTheDark lets the front of the unit work on the reserve.
func inTheDark(which func(in spec.Input) bool) func() hooks {
	return with(func(s *scratch) hooks {
		return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
			if r.Refusal != spec.NoPower || was.ClockStopped || !which(in) {
				return
			}
			now.Powered = true
			*r = s.do(now, in)
			now.Powered, now.ReserveLeft, now.Shown = false, was.ReserveLeft, was.Shown
		}}
	})
}

// refits is for the return of power to find the back changed, by the clause that says what counts as that.
func refits(f func(was, now *emulator.Facts)) func() hooks {
	return returns(func(was, now *emulator.Facts) {
		a, b := was.Fitted, now.Fitted
		a.Coupling = b.Coupling
		if a != b {
			f(was, now)
		}
	})
}

// anew gives the channels what they have after the first power-on.
func anew(s *scratch, now *emulator.Facts) { now.Channels = s.defaults(now.Fitted) }

func unsetClock(f *emulator.Facts) {
	f.ClockSet, f.UTC, f.Holiday = false, 0, emulator.HolidayFacts{}
	dropOverrides(f)
}

// startClock makes an unset clock run from a reading of standard time.
func startClock(f *emulator.Facts, reading int64) { f.ClockSet, f.UTC = true, reading }

var newYear2001 = int64(calendar.Days(2001, 1, 1)) * calendar.Day

func resumes(s *spec.ICS)  { s.LostClock = spec.LostResumes }
func restarts(s *spec.ICS) { s.LostClock = spec.LostRestarts }
func unsets(s *spec.ICS)   { s.LostClock = spec.LostUnset }
func kept(s *spec.ICS)     { s.KeptThroughCut = true }
func dropped(s *spec.ICS)  { s.KeptThroughCut = false }

var powerFaults = []Fault{
	{
		ID: "PWR/alert-in-the-dark", Family: "PWR",
		Words: "The alert is fed from the reserve and shows the stage without mains.",
		make: func() hooks {
			return hooks{show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				if !now.ClockStopped {
					levels[spec.SigAlert] = spec.Level(now.Lock.Stage)
				}
			}}
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 power off", "0"),
	},
	{
		ID: "PWR/sounder-in-the-dark", Family: "PWR",
		Words: "The sounder is fed from the reserve and sounds without mains.",
		make: with(func(s *scratch) hooks {
			return hooks{
				wait: func(now *emulator.Facts) uint64 {
					if now.Powered || now.Lock.Stage < spec.Notice {
						return noWait
					}
					return untilMinute(now)
				},
				show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
					lit := *now
					lit.Powered = true
					if !now.Powered && !now.ClockStopped {
						levels[spec.SigSounder] = s.levels(lit)[spec.SigSounder]
					}
				},
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 lock arm 246810 1 1 none none none none 07:00", "0 power off", "0"),
	},
	{
		ID: "PWR/relays-open-late", Family: "PWR",
		Words: "The loss of power is seen by a poll once a second, so the relays hold until the next one.",
		make: func() hooks {
			var held [spec.NumSignals]spec.Level
			at := noWait
			return hooks{
				after: lost(func(was, _ *emulator.Facts) { held, at = was.Shown, was.Now }),
				wait: func(now *emulator.Facts) uint64 {
					if now.Now == at {
						return 1
					}
					return noWait
				},
				show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
					if now.Now == at && !now.Powered {
						*levels = held
					}
				},
			}
		},
		Witness: witness("0 power on", "0 boost ch 60", "0 power off", "0"),
	},
	{
		ID: "PWR/relays-as-they-were", Family: "PWR",
		Words: "On return the relays are put back as they were when power was lost, until they are next to move.",
		make: func() hooks {
			var saved, right [spec.NumSignals]spec.Level
			holding := false
			remember := lost(func(was, _ *emulator.Facts) { saved = was.Shown })
			restore := returned(func(was, now *emulator.Facts) { holding, right = !was.ClockStopped, now.Shown })
			return hooks{
				after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
					remember(was, now, in, r)
					restore(was, now, in, r)
				},
				show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
					holding = holding && now.Powered && now.Shown[spec.SigHW] == right[spec.SigHW] && now.Shown[spec.SigCH] == right[spec.SigCH]
					if holding {
						copy(levels[:spec.SigAlert], saved[:])
					}
				},
			}
		},
		Witness: witness("0 power on", "0 boost ch 60", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/waits-for-an-edge", Family: "PWR",
		Words: "After a cut the relays stay open until the next on or off is due.",
		make: waitsForSwitching(func(was *emulator.Facts, in spec.Input) bool {
			return in.Kind == spec.PowerOn && !was.Powered && !was.ClockStopped
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/keys-in-the-dark", Family: "PWR",
		Words:   "The keys are read while the unit runs on its reserve.",
		make:    inTheDark(func(spec.Input) bool { return true }),
		Witness: witness("0 power on", "0 power off", "1 mode ch always", "1"),
	},
	{
		ID: "PWR/reset-in-the-dark", Family: "PWR",
		Words:   "The reset key is wired to the processor, which runs on the reserve.",
		make:    inTheDark(func(in spec.Input) bool { return in.Kind == spec.Reset }),
		Witness: witness("0 power on", "0 power off", "0 reset", "0"),
	},
	{
		ID: "PWR/lock-in-the-dark", Family: "PWR",
		Words:   "The lock runs on the reserve, and takes its credential there as well.",
		make:    inTheDark(func(in spec.Input) bool { return in.Kind == spec.LockArm || in.Kind == spec.LockRemove }),
		Witness: witness("0 power on", "0 power off", "0 lock arm 246810 1 0 none none none none none", "0"),
	},
	{
		ID: "PWR/clock-in-the-dark", Family: "PWR",
		Words:   "The display is lit by the reserve, and the clock can be set by it.",
		make:    inTheDark(func(in spec.Input) bool { return in.Kind == spec.SetClock }),
		Witness: witness("0 power on", "0 power off", "0 clock 2026-01-14 07:00", "0"),
	},
	{
		ID: "PWR/answers-accepted-in-the-dark", Family: "PWR",
		Words: "Without power every key is answered with accepted, and nothing is done.",
		make: plain(hooks{after: func(_, _ *emulator.Facts, _ spec.Input, r *spec.Reply) {
			if r.Refusal == spec.NoPower {
				*r = spec.Reply{}
			}
		}}),
		Witness: witness("0 reset", "0"),
	},
	{
		ID: "PWR/unsupported-in-the-dark", Family: "PWR",
		Words: "Without power everything is refused, before anybody asks what the unit has.",
		make: plain(hooks{after: func(was, _ *emulator.Facts, in spec.Input, r *spec.Reply) {
			if !was.Powered && in.Kind != spec.Fit && r.Outcome == spec.Unsupported {
				r.Outcome = spec.Refused
			}
		}}),
		claims:  func(s *spec.ICS) { s.Holiday = false },
		Witness: witness("0 holiday 1", "0"),
	},
	{
		ID: "PWR/key-held-through-the-loss", Family: "PWR",
		Words: "A key pressed in the second in which power is lost still goes through.",
		make: func() hooks {
			at := noWait
			h := inTheDark(func(spec.Input) bool { return true })()
			dark := h.after
			mark := lost(func(was, _ *emulator.Facts) { at = was.Now })
			h.after = func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				mark(was, now, in, r)
				if now.Now == at {
					dark(was, now, in, r)
				}
			}
			return h
		},
		Witness: witness("0 power on", "0 power off", "0 mode hw always", "0"),
	},
	{
		ID: "PWR/keeps-both", Family: "PWR",
		Words:   "Override and boost go on through a cut, though the statement says that they are dropped.",
		make:    actsAs(kept),
		Witness: witness("0 power on", "0 boost ch 60", "0 power off", "2 power on", "2"),
	},
	{
		ID: "PWR/drops-both", Family: "PWR", claims: kept,
		Words:   "Override and boost are dropped in a cut, though the statement says that they are kept.",
		make:    actsAs(dropped),
		Witness: witness("0 power on", "0 boost ch 60", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/keeps-boost", Family: "PWR",
		Words:   "A loss of power drops the override but leaves the boost counting.",
		make:    loses(keepBoosts),
		Witness: witness("0 power on", "0 boost hw 60", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/keeps-override", Family: "PWR",
		Words:   "A loss of power drops the boost but leaves the override's flag.",
		make:    loses(keepOverrides),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/keeps-heatings", Family: "PWR",
		Words: "Only the first channel's temporary state is dropped in a cut.",
		make: loses(func(was, now *emulator.Facts) {
			now.Channels[spec.CH].Override, now.Channels[spec.CH].BoostLeft = was.Channels[spec.CH].Override, was.Channels[spec.CH].BoostLeft
		}),
		Witness: witness("0 power on", "0 boost ch 60", "0 boost hw 60", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/keeps-both-in-a-short-cut", Family: "PWR",
		Words: "In a cut of less than 2 s the processor does not restart, and override and boost go on.",
		make: overCut(func(before, was, now *emulator.Facts) {
			if gone := now.Now - before.Now; gone < 2 {
				keepOverrides(before, now)
				for c := range now.Channels {
					if left := before.Channels[c].BoostLeft; left > gone {
						now.Channels[c].BoostLeft = left - gone
					}
				}
			}
		}),
		Witness: witness("0 power on", "0 boost ch 60", "0 power off", "1 power on", "1"),
	},
	{
		ID: "PWR/keeps-both-in-a-cut-of-no-time", Family: "PWR",
		Words: "The supply is looked at once a second, so a cut that is over within one cancels nothing.",
		make: overCut(func(before, _, now *emulator.Facts) {
			if now.Now == before.Now {
				keepOverrides(before, now)
				keepBoosts(before, now)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/boost-stands-in-the-dark", Family: "PWR", claims: kept,
		Words: "The boost's timer stands in a cut, and the rest is given afterwards.",
		make: plain(hooks{passed: func(was, now *emulator.Facts) {
			if !was.Powered && !now.ClockStopped {
				keepBoosts(was, now)
			}
		}}),
		Witness: witness("0 power on", "0 boost ch 60", "0 power off", "1 power on", "3600"),
	},
	{
		ID: "PWR/boost-past-the-reserve", Family: "PWR", claims: func(s *spec.ICS) { kept(s); s.Reserve = 0 },
		Words: "A boost outlives a cut past the reserve with what was left when it ran out.",
		make: func() hooks {
			h := overCut(func(before, was, now *emulator.Facts) {
				if was.ClockStopped {
					for c := range now.Channels {
						if left, gone := before.Channels[c].BoostLeft, was.Stopped-before.Now; left > gone {
							now.Channels[c].BoostLeft = left - gone
						}
					}
				}
			})
			return h()
		},
		Witness: witness("0 power on", "0 boost ch 60", "0 power off", "1 power on", "1"),
	},
	{
		ID: "PWR/override-past-the-reserve", Family: "PWR", claims: func(s *spec.ICS) { kept(s); resumes(s) },
		Words: "A lost clock that goes on where it stopped is no lost clock to the override.",
		make: overCut(func(before, was, now *emulator.Facts) {
			if was.ClockStopped && now.ClockSet {
				keepOverrides(before, now)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override ch", "0 power off", "28800 power on", "28800"),
	},
	{
		ID: "PWR/override-turned-in-the-dark", Family: "PWR", claims: kept,
		Words: "The flag 'turned round' is kept over a cut in which the schedule changes, and turns round the new level.",
		make: plain(hooks{passed: func(was, now *emulator.Facts) {
			if !was.Powered && !now.ClockStopped {
				keepOverrides(was, now)
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 override ch", "0 power off", "60 power on", "60"),
	},
	{
		ID: "PWR/override-compared-over-the-cut", Family: "PWR", claims: kept,
		Words: "Only the schedule before and after the cut is compared, so an override outlives one over a whole period.",
		make: with(func(s *scratch) hooks {
			return overCut(func(before, was, now *emulator.Facts) {
				for c := range now.Channels {
					ch := spec.Channel(c)
					if before.Channels[c].Override && !was.ClockStopped && s.scheduled(*before, ch) == s.scheduled(*now, ch) {
						now.Channels[c].Override = true
					}
				}
			})()
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 override ch", "0 power off", "7260 power on", "7260"),
	},
	{
		ID: "PWR/modes-lost", Family: "PWR",
		Words: "The modes are in memory that a cut clears.",
		make: returns(func(_, now *emulator.Facts) {
			for c := range now.Channels {
				now.Channels[c].Mode = spec.Table
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/tables-lost", Family: "PWR",
		Words: "The tables are in memory that a cut clears to the default.",
		make: with(func(s *scratch) hooks {
			return returns(func(_, now *emulator.Facts) {
				fresh := s.defaults(now.Fitted)
				eachChannel(now, &emulator.Facts{Channels: fresh}, func(now, fresh *emulator.ChannelFacts) { now.Table = fresh.Table })
			})()
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 period ch wed 1 00:00 00:00", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/lost-clock-is-a-first-power-on", Family: "PWR", claims: func(s *spec.ICS) { s.Reserve = 0 },
		Words: "A lost clock is taken for a first power-on, and the defaults are loaded.",
		make: with(func(s *scratch) hooks {
			return returns(func(was, now *emulator.Facts) {
				if was.ClockStopped {
					anew(s, now)
				}
			})()
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/lost-clock-removes-the-lock", Family: "PWR", claims: func(s *spec.ICS) { s.Reserve = 0 },
		Words: "With the clock the lock is lost too: a long cut removes it.",
		make: returns(func(was, now *emulator.Facts) {
			if was.ClockStopped {
				now.Lock = emulator.LockFacts{}
			}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/holiday-lost", Family: "PWR",
		Words:   "A cut ends the holiday together with override and boost.",
		make:    loses(func(_, now *emulator.Facts) { now.Holiday = emulator.HolidayFacts{} }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 1", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/clock-a-second-late", Family: "PWR",
		Words: "The second in which power returns is not counted.",
		make: overCut(func(before, was, now *emulator.Facts) {
			if now.ClockSet && !was.ClockStopped && now.Now > before.Now {
				moveClock(now, -1)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 power off", "60 power on", "60"),
	},
	{
		ID: "PWR/seconds-cleared", Family: "PWR",
		Words: "The reserve keeps hours and minutes, and on return the seconds start at 00.",
		make: returns(func(_, now *emulator.Facts) {
			if now.ClockSet {
				moveClock(now, -(now.UTC % calendar.Minute))
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "59 power off", "59 power on", "60"),
	},
	{
		ID: "PWR/day-not-kept", Family: "PWR",
		Words: "The reserve keeps the time of day and not the date: a cut over midnight comes back to the day before.",
		make: overCut(func(before, _, now *emulator.Facts) {
			if before.ClockSet && now.ClockSet && today(now) > today(before) {
				moveClock(now, -int64(today(now)-today(before))*calendar.Day)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-16 23:59", "0 period ch sat 1 00:00 24:00", "0 power off", "60 power on", "60"),
	},
	{
		ID: "PWR/summer-time-missed-in-the-dark", Family: "PWR",
		Words: "A change of summer time is made only if the unit has power at it.",
		make: overCut(func(before, _, now *emulator.Facts) {
			if !changedSummerTime(before, now) {
				return
			}
			f := *now
			moveClock(&f, reading(before)-before.UTC-(reading(now)-now.UTC))
			if !changedSummerTime(&f, now) {
				*now = f
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-03-29 00:59", "0 period ch sun 1 03:00 04:00", "0 power off", "3660 power on", "3660"),
	},
	{
		ID: "PWR/reserve-a-second-long", Family: "PWR",
		Words:   "The end of the reserve is compared with > instead of >=, so a cut of just its length keeps the clock.",
		make:    loses(func(_, now *emulator.Facts) { now.ReserveLeft++ }),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 power off", "28800 power on", "28800"),
	},
	{
		ID: "PWR/reserve-a-second-short", Family: "PWR",
		Words: "The reserve runs out a second early.",
		make: loses(func(_, now *emulator.Facts) {
			now.ReserveLeft = max(now.ReserveLeft, 1) - 1
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 power off", "28799 power on", "28799"),
	},
	{
		ID: "PWR/reserve-a-minute-long", Family: "PWR",
		Words:   "The reserve is counted in whole minutes of the cut, so it lasts one longer.",
		make:    loses(func(_, now *emulator.Facts) { now.ReserveLeft += calendar.Minute }),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 power off", "28801 power on", "28801"),
	},
	{
		ID: "PWR/reserve-on-the-minute", Family: "PWR",
		Words: "The reserve is counted down on the minute, so it is short by the seconds already gone when power was lost.",
		make: loses(func(_, now *emulator.Facts) {
			if now.ClockSet && now.ReserveLeft > 0 {
				now.ReserveLeft -= uint64(reading(now) % calendar.Minute)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "59 power off", "28800 power on", "28800"),
	},
	{
		ID: "PWR/no-reserve-no-limit", Family: "PWR", claims: func(s *spec.ICS) { s.Reserve = 0 },
		Words: "A reserve of 0 is taken for one without a limit.",
		make: loses(func(_, now *emulator.Facts) {
			if now.ReserveLeft == 0 {
				now.ReserveLeft = 1 << 40
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 power off", "60 power on", "60"),
	},
	{
		ID: "PWR/no-reserve-but-a-second", Family: "PWR", claims: func(s *spec.ICS) { s.Reserve = 0 },
		Words: "Without a reserve the clock is lost only if a second has passed without power.",
		make: loses(func(_, now *emulator.Facts) {
			now.ReserveLeft = max(now.ReserveLeft, 1)
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/cuts-add-up", Family: "PWR",
		Words: "Cuts add up until the clock is lost.",
		make: func() hooks {
			used, began := uint64(0), uint64(0)
			drain := lost(func(was, now *emulator.Facts) {
				began = was.Now
				now.ReserveLeft -= min(used, now.ReserveLeft)
			})
			charge := returned(func(was, now *emulator.Facts) {
				used += now.Now - began
				if was.ClockStopped {
					used = 0
				}
			})
			return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				drain(was, now, in, r)
				charge(was, now, in, r)
			}}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 power off", "14400 power on", "57600 power off", "72000 power on", "72000"),
	},
	{
		ID: "PWR/recharges-in-real-time", Family: "PWR",
		Words: "The reserve recharges by as long as power was there.",
		make: func() hooks {
			left, since := noWait, uint64(0)
			drain := lost(func(was, now *emulator.Facts) {
				now.ReserveLeft = min(now.ReserveLeft, left+was.Now-since)
			})
			charge := returned(func(was, now *emulator.Facts) {
				left, since = was.ReserveLeft, now.Now
				if was.ClockStopped {
					left = noWait
				}
			})
			return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				drain(was, now, in, r)
				charge(was, now, in, r)
			}}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 power off", "14400 power on", "14400 power off", "28800 power on", "28800"),
	},
	{
		ID: "PWR/unset-resumes", Family: "PWR", claims: func(s *spec.ICS) { unsets(s); s.Reserve = 0 },
		Words:   "A lost clock is said to be unset, and goes on from where it stopped.",
		make:    actsAs(resumes),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 power off", "1 power on", "1"),
	},
	{
		ID: "PWR/unset-restarts", Family: "PWR", claims: unsets,
		Words:   "A lost clock is said to be unset, and runs from Monday 00:00.",
		make:    actsAs(restarts),
		Witness: witness("0 power on", "25200"),
	},
	{
		ID: "PWR/resumes-unset", Family: "PWR", claims: func(s *spec.ICS) { resumes(s); s.Reserve = 0 },
		Words:   "A lost clock is said to go on from where it stopped, and is unset.",
		make:    actsAs(unsets),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/resumes-restarts", Family: "PWR", claims: func(s *spec.ICS) { resumes(s); s.Reserve = 0 },
		Words:   "A lost clock is said to go on from where it stopped, and restarts on Monday 00:00.",
		make:    actsAs(restarts),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 power off", "0 power on", "25200"),
	},
	{
		ID: "PWR/restarts-unset", Family: "PWR", claims: func(s *spec.ICS) { restarts(s); s.Reserve = 0 },
		Words:   "A lost clock is said to restart, and is unset.",
		make:    actsAs(unsets),
		Witness: witness("0 power on", "25200"),
	},
	{
		ID: "PWR/restarts-resumes", Family: "PWR", claims: func(s *spec.ICS) { restarts(s); s.Reserve = 0 },
		Words:   "A lost clock is said to restart, and goes on from where it stopped.",
		make:    actsAs(resumes),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/resumes-from-the-loss", Family: "PWR", claims: resumes,
		Words: "The clock goes on from the reading at the loss of power, as if there were no reserve.",
		make: overCut(func(before, was, now *emulator.Facts) {
			if was.ClockStopped && now.ClockSet {
				moveClock(now, before.UTC-now.UTC)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 power off", "28800 power on", "28800"),
	},
	{
		ID: "PWR/resumes-on-the-hour", Family: "PWR", claims: func(s *spec.ICS) { resumes(s); s.Reserve = 0 },
		Words: "The clock is saved once an hour and goes on from there.",
		make: returns(func(was, now *emulator.Facts) {
			if was.ClockStopped && now.ClockSet {
				moveClock(now, -(now.UTC % calendar.Hour))
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 power off", "0 power on", "60"),
	},
	{
		ID: "PWR/resumes-what-was-unset", Family: "PWR", claims: func(s *spec.ICS) { resumes(s); s.Reserve = 0 },
		Words: "A clock that was never set goes on as well, from whatever stood in its registers.",
		make: overCut(func(_, was, now *emulator.Facts) {
			if was.ClockStopped && !now.ClockSet {
				startClock(now, newYear2001)
			}
		}),
		Witness: witness("0 power on", "0 power off", "0 power on", "25200"),
	},
	{
		ID: "PWR/restarts-only-after-a-loss", Family: "PWR", claims: restarts,
		Words: "A clock that is lost restarts, but at the first power-on it waits to be set.",
		make: func() hooks {
			first := true
			return hooks{after: returned(func(_, now *emulator.Facts) {
				if first {
					unsetClock(now)
				}
				first = false
			})}
		},
		Witness: witness("0 power on", "25200"),
	},
	{
		ID: "PWR/restarts-at-noon", Family: "PWR", claims: restarts,
		Words: "The clock restarts at 12:00.",
		make: returns(func(was, now *emulator.Facts) {
			if was.ClockStopped {
				moveClock(now, calendar.Day/2)
			}
		}),
		Witness: witness("0 power on", "14400"),
	},
	{
		ID: "PWR/restarts-on-a-sunday", Family: "PWR", claims: restarts,
		Words: "The clock restarts on the chip's first day of the week, a Sunday.",
		make: returns(func(was, now *emulator.Facts) {
			if was.ClockStopped {
				moveClock(now, -calendar.Day)
			}
		}),
		Witness: witness("0 power on", "32400"),
	},
	{
		ID: "PWR/restarts-on-the-same-weekday", Family: "PWR", claims: restarts,
		Words: "The clock restarts at 00:00 and keeps the day of the week.",
		make: overCut(func(before, was, now *emulator.Facts) {
			if was.ClockStopped && before.ClockSet {
				moveClock(now, int64(calendar.Weekday(today(before)))*calendar.Day)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-18 00:00", "0 power off", "28800 power on", "61200"),
	},
	{
		ID: "PWR/restarts-within-the-reserve", Family: "PWR", claims: func(s *spec.ICS) { restarts(s); s.ResetUnsetsClock = true },
		Words: "Any return of power that finds the clock unset restarts it, though the reserve has not run out.",
		make: returns(func(_, now *emulator.Facts) {
			if !now.ClockSet {
				startClock(now, newYear2001)
			}
		}),
		Witness: witness("0 power on", "0 reset", "0 power off", "0 power on", "25200"),
	},
	{
		ID: "PWR/on-restarts", Family: "PWR",
		Words: "Each 'power on' runs the start-up code, with power too, and drops override and boost.",
		make: after(spec.PowerOn, func(_, now *emulator.Facts, _ spec.Input) {
			dropOverrides(now)
			dropBoosts(now)
		}),
		Witness: witness("0 power on", "0 boost ch 60", "0 power on", "0"),
	},
	{
		ID: "PWR/on-toggles", Family: "PWR",
		Words: "'Power on' toggles the supply.",
		make: plain(hooks{input: func(now *emulator.Facts, in spec.Input) []spec.Input {
			if in.Kind == spec.PowerOn && now.Powered {
				in.Kind = spec.PowerOff
			}
			return []spec.Input{in}
		}}),
		Witness: witness("0 power on", "0 mode ch always", "0 power on", "0"),
	},
	{
		ID: "PWR/on-refused", Family: "PWR",
		Words:   "'Power on' is refused where there is power.",
		make:    refuses(spec.PowerOn, func(was, _ *emulator.Facts, _ spec.Input) bool { return was.Powered }),
		Witness: witness("0 power on", "0 power on", "0"),
	},
	{
		ID: "PWR/off-accepted-twice", Family: "PWR",
		Words:   "A loss of power is accepted where there is none.",
		make:    accepts(spec.PowerOff, spec.NoPower, func(*emulator.Facts, spec.Input) bool { return true }),
		Witness: witness("0 power off", "0"),
	},
	{
		ID: "PWR/off-twice-begins-anew", Family: "PWR",
		Words: "A second loss of power is refused, but notes a new beginning of the cut.",
		make: with(func(s *scratch) hooks {
			return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				if in.Kind == spec.PowerOff && r.Refusal == spec.NoPower && !was.ClockStopped {
					now.ReserveLeft = uint64(s.ics.Reserve) * calendar.Minute
				}
			}}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 power off", "1 power off", "28800 power on", "28800"),
	},
	{
		ID: "PWR/fit-with-power", Family: "PWR",
		Words: "The switches at the back are read all the time.",
		make: with(func(s *scratch) hooks {
			return accepts(spec.Fit, spec.PowerPresent, func(now *emulator.Facts, in spec.Input) bool {
				now.Back, _ = s.ics.Fit(now.Back, in.FitOption, in.FitValue)
				now.Fitted = now.Back.Effective()
				return true
			})()
		}),
		Witness: witness("0 power on", "0 fit coupling gravity", "0"),
	},
	{
		ID: "PWR/fit-stored-though-refused", Family: "PWR",
		Words: "A change at the back with power is refused, but stored, and read at the next return.",
		make: with(func(s *scratch) hooks {
			return hooks{after: refused(spec.Fit, func(_, now *emulator.Facts, in spec.Input, _ *spec.Reply) {
				now.Back, _ = s.ics.Fit(now.Back, in.FitOption, in.FitValue)
			})}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 fit cycle 24h", "0 power off", "0 power on", "0"),
	},
	{
		ID: "PWR/fit-what-is-fitted", Family: "PWR",
		Words: "With power a change at the back to what is fitted is accepted, since it sets what is set.",
		make: with(func(s *scratch) hooks {
			return accepts(spec.Fit, spec.PowerPresent, func(now *emulator.Facts, in spec.Input) bool {
				back, _ := s.ics.Fit(now.Back, in.FitOption, in.FitValue)
				return back == now.Back
			})()
		}),
		Witness: witness("0 power on", "0 fit cycle 7day", "0"),
	},
	{
		ID: "PWR/fit-unlisted-refused", Family: "PWR", claims: func(s *spec.ICS) { s.Supported.Coupling = 1 << spec.Independent },
		Words: "A position that the switch does not have is answered with refused.",
		make: plain(hooks{after: func(_, _ *emulator.Facts, in spec.Input, r *spec.Reply) {
			if in.Kind == spec.Fit && r.Outcome == spec.Unsupported {
				r.Outcome = spec.Refused
			}
		}}),
		Witness: witness("0 fit coupling gravity", "0"),
	},
	{
		ID: "PWR/fit-unlisted-refused-with-power", Family: "PWR", claims: func(s *spec.ICS) { s.Supported.Coupling = 1 << spec.Independent },
		Words: "With power the switches at the back are refused before anybody looks at which position was asked for.",
		make: plain(hooks{after: func(was, _ *emulator.Facts, in spec.Input, r *spec.Reply) {
			if in.Kind == spec.Fit && r.Outcome == spec.Unsupported && was.Powered {
				r.Outcome = spec.Refused
			}
		}}),
		Witness: witness("0 power on", "0 fit coupling gravity", "0"),
	},
	{
		ID: "PWR/fitted-once", Family: "PWR",
		Words: "The back is read at the first power-on only.",
		make: overCut(func(before, was, now *emulator.Facts) {
			if was.Fitted != now.Fitted {
				now.Fitted = was.Fitted
				now.Channels = was.Channels
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 power off", "0 fit cycle 24h", "0 power on", "0"),
	},
	{
		ID: "PWR/fit-there-and-back", Family: "PWR",
		Words: "Any movement at the back is noted, so the defaults come though nothing is other than it was.",
		make: with(func(s *scratch) hooks {
			moved := false
			move := accepted(spec.Fit, func(was, now *emulator.Facts, in spec.Input) {
				a, b := was.Back, now.Back
				a.Coupling = b.Coupling
				moved = moved || a != b
			})
			read := returned(func(_, now *emulator.Facts) {
				if moved {
					anew(s, now)
				}
				moved = false
			})
			return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
				move(was, now, in, r)
				read(was, now, in, r)
			}}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 power off", "0 fit cycle 24h", "0 fit cycle 7day", "0 power on", "0"),
	},
	{
		ID: "PWR/coupling-brings-defaults", Family: "PWR",
		Words: "Any switch moved at the back, the coupling's too, brings the default tables and modes.",
		make: with(func(s *scratch) hooks {
			return returns(func(was, now *emulator.Facts) {
				if was.Fitted != now.Fitted {
					anew(s, now)
				}
			})()
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 power off", "0 fit coupling gravity", "0 power on", "0"),
	},
	{
		ID: "PWR/idle-switch-brings-defaults", Family: "PWR", claims: func(s *spec.ICS) { s.Fitted.Channels = spec.OnlyCH },
		Words: "The switches are compared as they stand: the timing's, which a single channel does not heed, brings the defaults.",
		make: with(func(s *scratch) hooks {
			timing := spec.Separate
			return returns(func(_, now *emulator.Facts) {
				if now.Fitted.Channels != spec.BothChannels && now.Back.Timing != timing {
					anew(s, now)
				}
				timing = now.Back.Timing
			})()
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 power off", "0 fit timing shared", "0 power on", "0"),
	},
	{
		ID: "PWR/new-cycle-keeps-tables", Family: "PWR",
		Words: "With a new cycle the old tables are read by the new one's layout.",
		make: refits(func(was, now *emulator.Facts) {
			if was.Fitted.Cycle != now.Fitted.Cycle {
				eachChannel(was, now, func(was, now *emulator.ChannelFacts) { now.Table = was.Table })
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 period ch wed 1 00:00 00:00", "0 power off", "0 fit cycle 5/2", "0 power on", "0"),
	},
	{
		ID: "PWR/new-timing-keeps-tables", Family: "PWR",
		Words: "Shared timing takes over the tables that separate timing had.",
		make: refits(func(was, now *emulator.Facts) {
			if was.Fitted.Timing != now.Fitted.Timing {
				eachChannel(was, now, func(was, now *emulator.ChannelFacts) { now.Table = was.Table })
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 period ch wed 1 00:00 00:00", "0 power off", "0 fit timing shared", "0 power on", "0"),
	},
	{
		ID: "PWR/new-channels-keep-tables", Family: "PWR",
		Words: "The channel that stays keeps its table and mode when the other is taken away or added.",
		make: refits(func(was, now *emulator.Facts) {
			if was.Fitted.Channels != now.Fitted.Channels {
				eachChannel(was, now, func(was, now *emulator.ChannelFacts) { now.Table, now.Mode = was.Table, was.Mode })
			}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 power off", "0 fit channels ch", "0 power on", "0"),
	},
	{
		ID: "PWR/refit-keeps-modes", Family: "PWR",
		Words: "A change at the back loads the default tables and keeps the modes.",
		make: refits(func(was, now *emulator.Facts) {
			eachChannel(was, now, func(was, now *emulator.ChannelFacts) { now.Mode = was.Mode })
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 power off", "0 fit timing shared", "0 power on", "0"),
	},
	{
		ID: "PWR/refit-keeps-boost", Family: "PWR", claims: kept,
		Words:   "Where a boost outlives a cut, it outlives a change at the back too.",
		make:    refits(keepBoosts),
		Witness: witness("0 power on", "0 boost ch 60", "0 power off", "0 fit cycle 24h", "0 power on", "0"),
	},
	{
		ID: "PWR/refit-keeps-override", Family: "PWR", claims: kept,
		Words: "Where an override outlives a cut, it outlives a change at the back that leaves the level as it was.",
		make: with(func(s *scratch) hooks {
			return refits(func(was, now *emulator.Facts) {
				for c := range now.Channels {
					ch := spec.Channel(c)
					now.Channels[c].Override = was.Channels[c].Override && s.scheduled(*was, ch) == s.scheduled(*now, ch)
				}
			})()
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 power off", "0 fit cycle 24h", "0 power on", "0"),
	},
	{
		ID: "PWR/refit-removes-lock", Family: "PWR",
		Words:   "A change at the back clears all memory, the lock's too.",
		make:    refits(func(_, now *emulator.Facts) { now.Lock = emulator.LockFacts{} }),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 power off", "0 fit cycle 24h", "0 power on", "0"),
	},
	{
		ID: "PWR/refit-ends-holiday", Family: "PWR",
		Words:   "A change at the back ends the holiday with override and boost.",
		make:    refits(func(_, now *emulator.Facts) { now.Holiday = emulator.HolidayFacts{} }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 1", "0 power off", "0 fit cycle 24h", "0 power on", "0"),
	},
	{
		ID: "PWR/refit-unsets-clock", Family: "PWR",
		Words:   "A change at the back is a first power-on to the clock.",
		make:    refits(func(_, now *emulator.Facts) { unsetClock(now) }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 power off", "0 fit cycle 24h", "0 power on", "0"),
	},
	{
		ID: "PWR/factory-modes-off", Family: "PWR",
		Words: "The unit leaves the factory with both modes off.",
		make: func() hooks {
			first := true
			return hooks{after: returned(func(_, now *emulator.Facts) {
				for c := range now.Channels {
					if first {
						now.Channels[c].Mode = spec.Off
					}
				}
				first = false
			})}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0"),
	},
}
