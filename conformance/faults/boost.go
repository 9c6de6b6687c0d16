package faults

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

func extends(s *spec.ICS) { s.BoostExtends = true }

var boostFaults = []Fault{
	{
		ID: "BST/a-second-long", Family: "BST",
		Words:   "The counter is loaded with the seconds and tested after it has gone below zero.",
		make:    lengthened(func(_, _ *emulator.Facts) int64 { return 1 }),
		Witness: witness("0 power on", "0 boost hw 60", "3600"),
	},
	{
		ID: "BST/a-second-short", Family: "BST",
		Words:   "The tick of the second in which the key is pressed is counted off at once.",
		make:    lengthened(func(_, _ *emulator.Facts) int64 { return -1 }),
		Witness: witness("0 power on", "0 boost hw 60", "3599"),
	},
	{
		ID: "BST/counts-whole-minutes", Family: "BST",
		Words:   "The boost counts minutes as they turn, so the rest of the minute of the press comes on top.",
		make:    lengthened(func(_, now *emulator.Facts) int64 { return int64(toMinute(now)) % calendar.Minute }),
		Witness: witness("0 power on", "30 boost hw 60", "3630"),
	},
	{
		ID: "BST/waits-for-the-minute", Family: "BST",
		Words:   "The relay follows the boost when the minute turns.",
		make:    waitsForMinute(spec.Boost),
		Witness: witness("0 power on", "0 boost hw 60", "0"),
	},
	{
		ID: "BST/end-opens-the-relay", Family: "BST",
		Words:   "At its end I open the relay, and the table closes it with the next on.",
		make:    leftBehind(func(spec.Level) spec.Mode { return spec.Off }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 boost hw 60", "3600"),
	},
	{
		ID: "BST/end-restores-the-relay", Family: "BST",
		Words: "The relay is put back to what it was when the boost began, until the table's next event.",
		make: leftBehind(func(before spec.Level) spec.Mode {
			if before == 1 {
				return spec.Always
			}
			return spec.Off
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:59", "0 boost hw 60", "3600"),
	},
	{
		ID: "BST/extends-unasked", Family: "BST",
		Words:   "Each press adds to what is left, though the leaflet says that it starts anew.",
		make:    actsAs(extends),
		Witness: witness("0 power on", "0 boost hw 60", "0 boost hw 60", "3600"),
	},
	{
		ID: "BST/longer-of-the-two", Family: "BST",
		Words: "A second boost cannot shorten the first: the later end is kept.",
		make: after(spec.Boost, func(was, now *emulator.Facts, in spec.Input) {
			if left := &now.Channels[in.Channel].BoostLeft; *left > 0 {
				*left = max(*left, was.Channels[in.Channel].BoostLeft)
			}
		}),
		Witness: witness("0 power on", "0 boost hw 120", "0 boost hw 60", "3600"),
	},
	{
		ID: "BST/second-one-ignored", Family: "BST",
		Words: "While a boost runs the key does nothing but 0.",
		make: after(spec.Boost, func(was, now *emulator.Facts, in spec.Input) {
			if left := was.Channels[in.Channel].BoostLeft; left > 0 && in.Amount > 0 {
				now.Channels[in.Channel].BoostLeft = left
			}
		}),
		Witness: witness("0 power on", "0 boost hw 60", "60 boost hw 60", "3600"),
	},
	{
		ID: "BST/replaces-unasked", Family: "BST", claims: extends,
		Words:   "A second press loads the counter afresh, though the leaflet says that it adds.",
		make:    actsAs(func(s *spec.ICS) { s.BoostExtends = false }),
		Witness: witness("0 power on", "0 boost hw 60", "0 boost hw 60", "3600"),
	},
	{
		ID: "BST/extends-past-the-longest", Family: "BST", claims: extends,
		Words:   "Each press is checked against the longest, the sum is not.",
		make:    extended(func(left, length uint64) uint64 { return left + length }),
		Witness: witness("0 power on", "0 boost hw 180", "0 boost hw 60", "10800"),
	},
	{
		ID: "BST/no-extension-past-the-longest", Family: "BST", claims: extends,
		Words: "A press that would carry the end past the longest boost changes nothing.",
		make: extended(func(left, length uint64) uint64 {
			if left+length > 180*calendar.Minute {
				return left
			}
			return left + length
		}),
		Witness: witness("0 power on", "0 boost hw 180", "60 boost hw 60", "10800"),
	},
	{
		ID: "BST/extends-at-most-to-the-longest-in-all", Family: "BST", claims: extends,
		Words: "The cap is on all the minutes asked for since the first press, not on what is still to come.",
		make: func() hooks {
			var total [spec.NumChannels]uint64
			return hooks{after: accepted(spec.Boost, func(was, now *emulator.Facts, in spec.Input) {
				left, length := was.Channels[in.Channel].BoostLeft, uint64(in.Amount)*calendar.Minute
				if left == 0 {
					total[in.Channel] = 0
				}
				if length = min(length, 180*calendar.Minute-total[in.Channel]); in.Amount > 0 {
					now.Channels[in.Channel].BoostLeft = left + length
					total[in.Channel] += length
				}
			})}
		},
		Witness: witness("0 power on", "0 boost hw 180", "3600 boost hw 60", "10800"),
	},
	{
		ID: "BST/override-comes-back", Family: "BST",
		Words: "The boost lies on top of the override, which is there again when it ends.",
		make: with(func(s *scratch) hooks {
			var under [spec.NumChannels]bool
			var level [spec.NumChannels]spec.Level
			return hooks{
				after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
					each(func(c spec.Channel) {
						switch {
						case in.Kind == spec.Boost && in.Channel == c && was.Channels[c].Override && !now.Channels[c].Override:
							under[c], level[c] = true, s.scheduled(*now, c)
						case now.Channels[c].BoostLeft == 0:
							under[c] = false
						}
					})
				},
				passed: func(was, now *emulator.Facts) {
					each(func(c spec.Channel) {
						under[c] = under[c] && s.scheduled(*now, c) == level[c]
						if under[c] && now.Channels[c].BoostLeft == 0 {
							now.Channels[c].Override = true
							under[c] = false
						}
					})
				},
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 boost hw 60", "3600"),
	},
	{
		ID: "BST/leaves-the-override-running", Family: "BST",
		Words: "A boost does not touch the override, so one to 0 still holds the relay open.",
		make: with(func(s *scratch) hooks {
			return hooks{after: accepted(spec.Boost, func(was, now *emulator.Facts, in spec.Input) {
				if was.Channels[in.Channel].Override && s.scheduled(*now, in.Channel) == 1 {
					now.Channels[in.Channel] = was.Channels[in.Channel]
				}
			})}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 override hw", "0 boost hw 60", "0"),
	},
	{
		ID: "BST/not-in-off", Family: "BST",
		Words: "Off means off, and the boost key is dead in it.",
		make: refuses(spec.Boost, func(was, _ *emulator.Facts, in spec.Input) bool {
			return in.Amount > 0 && was.Channels[in.Channel].Mode == spec.Off
		}),
		Witness: witness("0 power on", "0 mode hw off", "0 boost hw 60", "0"),
	},
	{
		ID: "BST/not-with-the-clock-unset", Family: "BST",
		Words:   "The end is a time of day, so without a clock there is no boost.",
		make:    refuses(spec.Boost, func(was, _ *emulator.Facts, in spec.Input) bool { return in.Amount > 0 && !was.ClockSet }),
		Witness: witness("0 power on", "0 boost hw 60", "0"),
	},
	{
		ID: "BST/mode-change-leaves-it", Family: "BST",
		Words:   "A change of mode applies when the boost has run out.",
		make:    after(spec.SetMode, func(was, now *emulator.Facts, _ spec.Input) { keepBoosts(was, now) }),
		Witness: witness("0 power on", "0 boost hw 60", "0 mode hw off", "0"),
	},
	{
		ID: "BST/kept-there-and-back", Family: "BST",
		Words: "A mode that is changed and changed back within the second has not changed, and the boost is still in its cell.",
		make: func() hooks {
			at := noWait // the second of the first change
			var first [spec.NumChannels]emulator.ChannelFacts
			return hooks{after: accepted(spec.SetMode, func(was, now *emulator.Facts, in spec.Input) {
				if at != now.Now {
					at, first = now.Now, was.Channels
				}
				if f := first[in.Channel]; f.Mode == in.Mode {
					now.Channels[in.Channel].BoostLeft = f.BoostLeft
				}
			})}
		},
		Witness: witness("0 power on", "0 boost hw 60", "0 mode hw off", "0 mode hw table", "0"),
	},
	{
		ID: "BST/end-is-a-time-of-day", Family: "BST",
		Words: "The end is stored as a reading, and a clock that is set takes it nearer or farther.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			eachChannel(was, now, func(_, ch *emulator.ChannelFacts) {
				if was.ClockSet && ch.BoostLeft > 0 {
					ch.BoostLeft = uint64(max(0, int64(ch.BoostLeft)-(reading(now)-reading(was))))
				}
			})
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 boost hw 60", "0 clock 2026-01-14 11:00", "0"),
	},
	{
		ID: "BST/summer-time-moves-the-end", Family: "BST",
		Words: "The boost is counted in the hours that the display shows, and the spring change is one of them.",
		make: plain(hooks{passed: func(was, now *emulator.Facts) {
			eachChannel(was, now, func(_, ch *emulator.ChannelFacts) {
				switch {
				case !changedSummerTime(was, now) || ch.BoostLeft == 0:
				case calendar.SummerTime(now.UTC):
					ch.BoostLeft -= min(ch.BoostLeft, calendar.Hour)
				default:
					ch.BoostLeft += calendar.Hour
				}
			})
		}}),
		Witness: witness("0 power on", "0 clock 2026-03-29 00:59", "0 boost hw 60", "60"),
	},
	{
		ID: "BST/ends-at-midnight", Family: "BST",
		Words:   "The midnight routine stops what runs.",
		make:    midnight(dropBoosts),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 boost hw 60", "60"),
	},
	{
		ID: "BST/takes-what-is-no-whole-step", Family: "BST",
		Words: "The step is for the key's convenience, and the check of the length knows only the longest.",
		make: accepts(spec.Boost, spec.BadBoost, func(now *emulator.Facts, in spec.Input) bool {
			if in.Amount > 180 {
				return false
			}
			now.Channels[in.Channel].BoostLeft = uint64(in.Amount) * calendar.Minute
			now.Channels[in.Channel].Override = false
			return true
		}),
		Witness: witness("0 power on", "0 boost hw 61", "0"),
	},
	{
		ID: "BST/one-step-past-the-longest", Family: "BST",
		Words: "The check has > longest where the count of steps already starts at 0, so one more step is let through.",
		make: accepts(spec.Boost, spec.BadBoost, func(now *emulator.Facts, in spec.Input) bool {
			if in.Amount != 180+60 {
				return false
			}
			now.Channels[in.Channel].BoostLeft = uint64(in.Amount) * calendar.Minute
			now.Channels[in.Channel].Override = false
			return true
		}),
		Witness: witness("0 power on", "0 boost hw 240", "0"),
	},
	{
		ID: "BST/longest-refused", Family: "BST",
		Words:   "The longest boost is refused: < for <=.",
		make:    refuses(spec.Boost, func(_, _ *emulator.Facts, in spec.Input) bool { return in.Amount == 180 }),
		Witness: witness("0 power on", "0 boost hw 180", "0"),
	},
	{
		ID: "BST/refused-one-stops-it", Family: "BST",
		Words: "The counter is cleared before the new length is checked.",
		make: plain(hooks{after: refused(spec.Boost, func(_, now *emulator.Facts, in spec.Input, _ *spec.Reply) {
			now.Channels[in.Channel].BoostLeft = 0
		})}),
		Witness: witness("0 power on", "0 boost hw 60", "0 boost hw 61", "0"),
	},
	{
		ID: "BST/zero-refused", Family: "BST",
		Words:   "0 is no whole number of steps above none, so it is refused.",
		make:    refuses(spec.Boost, func(_, _ *emulator.Facts, in spec.Input) bool { return in.Amount == 0 }),
		Witness: witness("0 power on", "0 boost hw 60", "0 boost hw 0", "0"),
	},
	{
		ID: "BST/zero-refused-where-none-runs", Family: "BST",
		Words: "Cancelling finds nothing to cancel, and says so with a refusal.",
		make: refuses(spec.Boost, func(was, _ *emulator.Facts, in spec.Input) bool {
			return in.Amount == 0 && was.Channels[in.Channel].BoostLeft == 0
		}),
		Witness: witness("0 power on", "0 boost ch 0", "0"),
	},
	{
		ID: "BST/zero-cancels-an-override", Family: "BST",
		Words: "A boost cancels the override before anyone asks how long it is to be.",
		make: after(spec.Boost, func(_, now *emulator.Facts, in spec.Input) {
			now.Channels[in.Channel].Override = false
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 boost hw 0", "0"),
	},
	{
		ID: "BST/zero-refused-in-a-holiday", Family: "BST",
		Words:   "In a holiday every press of the boost key is refused.",
		make:    refuses(spec.Boost, func(was, _ *emulator.Facts, in spec.Input) bool { return was.Holiday.On && in.Amount == 0 }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 boost hw 0", "0"),
	},
	{
		ID: "BST/cancels-the-others-override", Family: "BST",
		Words: "The override flags are one byte, and a boost clears it.",
		make: after(spec.Boost, func(_, now *emulator.Facts, in spec.Input) {
			if in.Amount > 0 {
				dropOverrides(now)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 boost ch 60", "0"),
	},
	{
		ID: "BST/one-counter", Family: "BST",
		Words: "There is one counter, and a second channel's boost loads it for both.",
		make: after(spec.Boost, func(was, now *emulator.Facts, in spec.Input) {
			if now.Channels[other(in.Channel)].BoostLeft > 0 && in.Amount > 0 {
				now.Channels[other(in.Channel)].BoostLeft = now.Channels[in.Channel].BoostLeft
			}
		}),
		Witness: witness("0 power on", "0 boost hw 120", "0 boost ch 60", "3600"),
	},
	{
		ID: "BST/zero-is-for-both", Family: "BST",
		Words: "0 stops the boost, whosever it is.",
		make: after(spec.Boost, func(_, now *emulator.Facts, in spec.Input) {
			if in.Amount == 0 {
				dropBoosts(now)
			}
		}),
		Witness: witness("0 power on", "0 boost hw 60", "0 boost ch 0", "0"),
	},
	{
		ID: "BST/ends-at-an-off", Family: "BST",
		Words: "An off opens the relay and stops whatever held it.",
		make: with(func(s *scratch) hooks {
			return hooks{passed: func(was, now *emulator.Facts) {
				each(func(c spec.Channel) {
					if s.scheduled(*was, c) == 1 && s.scheduled(*now, c) == 0 {
						now.Channels[c].BoostLeft = 0
					}
				})
			}}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:59", "0 boost hw 60", "60"),
	},
	{
		ID: "BST/goes-on-from-an-on", Family: "BST",
		Words: "An on in a boost turns it into the table's call, and the boost has ended.",
		make: with(func(s *scratch) hooks {
			return hooks{passed: func(was, now *emulator.Facts) {
				each(func(c spec.Channel) {
					if s.scheduled(*was, c) == 0 && s.scheduled(*now, c) == 1 {
						now.Channels[c].BoostLeft = 0
					}
				})
			}}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 period hw wed 1 07:00 07:01", "0 boost hw 60", "120"),
	},
	{
		ID: "BST/edit-ends-it", Family: "BST",
		Words: "An edit of the table clears what runs on its channel, the boost with the override.",
		make: after(spec.SetPeriod, func(was, now *emulator.Facts, _ spec.Input) {
			eachChannel(was, now, func(was, now *emulator.ChannelFacts) {
				if was.Table != now.Table {
					now.BoostLeft = 0
				}
			})
		}),
		Witness: witness("0 power on", "0 boost hw 60", "0 period hw mon 1 06:00 07:00", "0"),
	},
	{
		ID: "BST/minutes-in-a-byte", Family: "BST",
		Words:   "The minutes are read into a byte before they are checked, so 316 is 60.",
		make:    changed(spec.Boost, func(_ *emulator.Facts, in *spec.Input) { in.Amount %= 256 }),
		Witness: witness("0 power on", "0 boost hw 316", "0"),
	},
	{
		ID: "BST/seconds-in-two-bytes", Family: "BST", claims: func(s *spec.ICS) { s.BoostLongest = 1440 },
		Words: "The counter of seconds has 16 bits, and a boost of more than 18 hours is cut by 65 536 seconds.",
		make: after(spec.Boost, func(_, now *emulator.Facts, in spec.Input) {
			now.Channels[in.Channel].BoostLeft %= 1 << 16
		}),
		Witness: witness("0 power on", "0 boost hw 1140", "2864"),
	},
	{
		ID: "BST/first-set-stops-it", Family: "BST",
		Words: "Setting an unset clock starts the unit over, without a boost.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if !was.ClockSet {
				dropBoosts(now)
			}
		}),
		Witness: witness("0 power on", "0 boost hw 60", "0 clock 2026-01-14 10:00", "0"),
	},
	{
		ID: "BST/summer-set-shifts-the-end", Family: "BST",
		Words: "The end is kept in local time, and a set from winter into summer moves it by the hour between them.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			eachChannel(was, now, func(_, ch *emulator.ChannelFacts) {
				if changedSummerTime(was, now) && calendar.SummerTime(now.UTC) {
					ch.BoostLeft -= min(ch.BoostLeft, calendar.Hour)
				}
			})
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 boost hw 60", "0 clock 2026-06-10 10:00", "0"),
	},
}

// lengthened is for a boost that is so many seconds too long.
func lengthened(by func(was, now *emulator.Facts) int64) func() hooks {
	return after(spec.Boost, func(was, now *emulator.Facts, in spec.Input) {
		if in.Amount > 0 {
			now.Channels[in.Channel].BoostLeft += uint64(by(was, now))
		}
	})
}

// extended is for a second boost by another rule, from what was left and its own length in seconds.
func extended(f func(left, length uint64) uint64) func() hooks {
	return after(spec.Boost, func(was, now *emulator.Facts, in spec.Input) {
		if left := was.Channels[in.Channel].BoostLeft; left > 0 && in.Amount > 0 {
			now.Channels[in.Channel].BoostLeft = f(left, uint64(in.Amount)*calendar.Minute)
		}
	})
}

// leftBehind is for a relay that does not follow the schedule when a boost ends, until that next changes or another input comes; mode says
// what it does, from the relay before the boost.
func leftBehind(mode func(before spec.Level) spec.Mode) func() hooks {
	return with(func(s *scratch) hooks {
		var before, level [spec.NumChannels]spec.Level
		var left [spec.NumChannels]bool
		return hooks{
			after: func(was, now *emulator.Facts, in spec.Input, _ *spec.Reply) {
				each(func(c spec.Channel) {
					left[c] = false
					if was.Channels[c].BoostLeft == 0 {
						before[c] = was.Shown[c]
					}
				})
			},
			passed: func(was, now *emulator.Facts) {
				each(func(c spec.Channel) {
					if was.Channels[c].BoostLeft > 0 && now.Channels[c].BoostLeft == 0 && now.Powered {
						left[c], level[c] = true, s.scheduled(*now, c)
					}
					left[c] = left[c] && s.scheduled(*now, c) == level[c]
				})
			},
			believes: func(f *emulator.Facts) {
				each(func(c spec.Channel) {
					if left[c] {
						f.Channels[c].Mode = mode(before[c])
					}
				})
			},
		}
	})
}
