package faults

import (
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

func gravity(s *spec.ICS) { s.Fitted.Coupling = spec.Gravity }

// uncoupled is a gravity unit that leaves hot water's relay to hot water's own call while the condition holds.
func uncoupled(while func(s *scratch, now *emulator.Facts) bool) func() hooks {
	return with(func(s *scratch) hooks {
		return hooks{show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
			if now.Fitted.Coupling == spec.Gravity && while(s, now) {
				levels[spec.SigHW] = s.calls(now)[spec.SigHW]
			}
		}}
	})
}

// heatingMoves is for what a firmware does to hot water in the second in which heating's relay closes or opens.
func heatingMoves(to spec.Level, f func(now *emulator.Facts)) func() hooks {
	moves := func(was, now *emulator.Facts) {
		if now.Fitted.Coupling == spec.Gravity && was.Shown[spec.SigCH] != to && now.Shown[spec.SigCH] == to && now.Powered {
			f(now)
		}
	}
	return func() hooks {
		return hooks{after: func(was, now *emulator.Facts, _ spec.Input, _ *spec.Reply) { moves(was, now) }, passed: moves}
	}
}

// overHeating is for a hot-water override on a gravity unit while the heating relay is closed.
func overHeating(f func(s *scratch, was, now *emulator.Facts, r *spec.Reply)) func() hooks {
	return with(func(s *scratch) hooks {
		return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
			if in.Kind == spec.Override && in.Channel == spec.HW && was.Fitted.Coupling == spec.Gravity && was.Shown[spec.SigCH] == 1 {
				f(s, was, now, r)
			}
		}}
	})
}

var couplingFaults = []Fault{
	{
		ID: "CPL/never", Family: "CPL", claims: gravity,
		Words:   "The gravity switch is read and stored, and nothing looks at it.",
		make:    uncoupled(func(*scratch, *emulator.Facts) bool { return true }),
		Witness: witness("0 power on", "0 mode hw off", "0 clock 2026-01-14 07:00", "0"),
	},
	{
		ID: "CPL/whatever-is-fitted", Family: "CPL",
		Words: "The gravity link is compiled in, whatever the switch at the back says.",
		make: func() hooks {
			return hooks{show: func(_ *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				levels[spec.SigHW] |= levels[spec.SigCH]
			}}
		},
		Witness: witness("0 power on", "0 boost ch 60", "0"),
	},
	{
		ID: "CPL/not-under-boost", Family: "CPL", claims: gravity,
		Words:   "Hot water follows heating's schedule and override, but the boost drives heating's relay on a path of its own.",
		make:    uncoupled(func(_ *scratch, now *emulator.Facts) bool { return now.Channels[spec.CH].BoostLeft > 0 }),
		Witness: witness("0 power on", "0 boost ch 60", "0"),
	},
	{
		ID: "CPL/not-under-override", Family: "CPL", claims: gravity,
		Words:   "The override writes heating's relay after the coupling has been worked out.",
		make:    uncoupled(func(_ *scratch, now *emulator.Facts) bool { return now.Channels[spec.CH].Override }),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0"),
	},
	{
		ID: "CPL/not-in-always", Family: "CPL", claims: gravity,
		Words:   "The coupling hangs on the table's events, and mode always has none.",
		make:    uncoupled(func(_ *scratch, now *emulator.Facts) bool { return now.Channels[spec.CH].Mode == spec.Always }),
		Witness: witness("0 power on", "0 mode ch always", "0"),
	},
	{
		ID: "CPL/not-in-span", Family: "CPL", claims: gravity,
		Words: "In the gap that span bridges, hot water goes by the table.",
		make: uncoupled(func(s *scratch, now *emulator.Facts) bool {
			f := *now
			f.Channels[spec.CH].Mode = spec.Table
			return now.Channels[spec.CH].Mode == spec.Span && s.scheduled(f, spec.CH) == 0
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 12:00", "0 mode ch span", "0"),
	},
	{
		ID: "CPL/hot-water-off-means-off", Family: "CPL", claims: gravity,
		Words:   "Mode off is taken to be the user's last word: heating brings hot water on in every mode but that.",
		make:    uncoupled(func(_ *scratch, now *emulator.Facts) bool { return now.Channels[spec.HW].Mode == spec.Off }),
		Witness: witness("0 power on", "0 mode hw off", "0 boost ch 60", "0"),
	},
	{
		ID: "CPL/hot-water-override-wins", Family: "CPL", claims: gravity,
		Words: "A hot-water override opens the relay under heating's call.",
		make: uncoupled(func(_ *scratch, now *emulator.Facts) bool {
			return now.Channels[spec.HW].Override
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 override hw", "0"),
	},
	{
		ID: "CPL/not-with-clock-unset", Family: "CPL", claims: gravity,
		Words:   "With the clock unset the main loop skips everything but the boosted channel.",
		make:    uncoupled(func(_ *scratch, now *emulator.Facts) bool { return !now.ClockSet }),
		Witness: witness("0 power on", "0 mode ch always", "0"),
	},
	{
		ID: "CPL/not-in-holiday", Family: "CPL", claims: func(s *spec.ICS) { gravity(s); s.BoostInHoliday = true },
		Words:   "The holiday holds hot water's relay open after the coupling has been worked out, so a heating boost in it pumps cold water.",
		make:    uncoupled(func(_ *scratch, now *emulator.Facts) bool { return now.Holiday.On }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 holiday 1", "0 boost ch 60", "0"),
	},
	{
		ID: "CPL/lost-in-a-cut", Family: "CPL", claims: gravity,
		Words: "On return each relay is restored from its own channel's call, and hot water stays so until heating next moves.",
		make: func() hooks {
			alone := false
			h := uncoupled(func(_ *scratch, now *emulator.Facts) bool {
				alone = alone && now.Powered && now.Shown[spec.SigCH] == 1
				return alone
			})()
			h.after = returned(func(was, now *emulator.Facts) { alone = was.ClockSet && now.Shown[spec.SigCH] == 1 })
			return h
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode ch always", "0 power off", "0 power on", "0"),
	},
	{
		ID: "CPL/schedules-not-relays", Family: "CPL", claims: gravity,
		Words: "The schedules are coupled, not the relays: an override to 0 of heating leaves the boiler firing.",
		make: with(func(s *scratch) hooks {
			return hooks{show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				if now.Fitted.Coupling == spec.Gravity && now.Powered && now.Channels[spec.CH].Override && s.scheduled(*now, spec.CH) == 1 {
					levels[spec.SigHW] = 1
				}
			}}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 mode hw off", "0 override ch", "0"),
	},
	{
		ID: "CPL/demand-not-relay", Family: "CPL", claims: gravity,
		Words: "Hot water is coupled to heating's demand, so it fires the boiler though heating's permit is shut.",
		make: with(func(s *scratch) hooks {
			return hooks{show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				free := *now
				free.Lock = emulator.LockFacts{}
				if now.Fitted.Coupling == spec.Gravity && s.calls(&free)[spec.SigCH] == 1 {
					levels[spec.SigHW] = 1
				}
			}}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 10 10 10 10 none", "0 mode ch always", "600"),
	},
	{
		ID: "CPL/permit-after-coupling", Family: "CPL", claims: gravity,
		Words: "Hot water's permit is ANDed with the finished relay, the coupling included.",
		make: uncoupled(func(_ *scratch, now *emulator.Facts) bool {
			return !permits(&now.Lock, spec.HW)
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 10 none 10 10 none", "0 mode ch always", "600"),
	},
	{
		ID: "CPL/permit-bridged", Family: "CPL",
		Words: "The permits were written for gravity units, so with a lock in force heating's relay brings hot water on any unit.",
		make: func() hooks {
			return hooks{show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				if now.Lock.Stage >= spec.Notice {
					levels[spec.SigHW] |= levels[spec.SigCH]
				}
			}}
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none none none none none", "0 mode ch always", "0"),
	},
	{
		ID: "CPL/one-permit", Family: "CPL", claims: gravity,
		Words: "On a gravity unit the boiler has one permit, heating's, and hot water is cut off with it.",
		make: with(func(s *scratch) hooks {
			return hooks{show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				if now.Fitted.Coupling == spec.Gravity && !permits(&now.Lock, spec.CH) {
					levels[spec.SigHW] = 0
				}
			}}
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 1 none 10 none 10 none", "0 mode hw always", "600"),
	},
	{
		ID: "CPL/both-ways", Family: "CPL", claims: gravity,
		Words: "One relay image serves both channels, so hot water brings heating too.",
		make: func() hooks {
			return hooks{show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				if now.Fitted.Coupling == spec.Gravity {
					levels[spec.SigCH] = levels[spec.SigHW]
				}
			}}
		},
		Witness: witness("0 power on", "0 boost hw 60", "0"),
	},
	{
		ID: "CPL/heating-latches", Family: "CPL", claims: gravity,
		Words: "Hot water's relay is fed back into heating, so heating stays closed until hot water opens.",
		make: func() hooks {
			latched := false
			return hooks{show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				latched = now.Fitted.Coupling == spec.Gravity && levels[spec.SigHW] == 1 && (latched || levels[spec.SigCH] == 1)
				if latched {
					levels[spec.SigCH] = 1
				}
			}}
		},
		Witness: witness("0 power on", "0 mode hw always", "0 boost ch 60", "0 boost ch 0", "0"),
	},
	{
		ID: "CPL/hot-water-edges", Family: "CPL", claims: gravity,
		Words: "The hot-water relay is written on hot water's own on and off, so its off opens it under heating's call.",
		make: with(func(s *scratch) hooks {
			var call spec.Level
			opened := false
			return hooks{show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				was := call
				call = s.calls(now)[spec.SigHW]
				opened = levels[spec.SigCH] == 1 && call == 0 && (opened || was == 1) && now.Fitted.Coupling == spec.Gravity
				if opened {
					levels[spec.SigHW] = 0
				}
			}}
		}),
		Witness: witness("0 power on", "0 mode ch always", "0 boost hw 60", "0 boost hw 0", "0"),
	},
	{
		ID: "CPL/hot-water-held", Family: "CPL",
		Words: "On independent channels too, a hot-water relay that is closed stays so until heating opens.",
		make: func() hooks {
			held := false
			return hooks{show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				held = levels[spec.SigCH] == 1 && (held || levels[spec.SigHW] == 1)
				if held {
					levels[spec.SigHW] = 1
				}
			}}
		},
		Witness: witness("0 power on", "0 mode ch always", "0 boost hw 60", "0 boost hw 0", "0"),
	},
	{
		ID: "CPL/with-the-minutes-scan", Family: "CPL", claims: gravity,
		Words: "The coupling is looked at with the minute's table scan, so hot water closes up to 59 s after heating.",
		make: with(func(s *scratch) hooks {
			seen := false
			return hooks{
				wait: untilMinute,
				show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
					seen = levels[spec.SigCH] == 1 && (seen || !now.ClockSet || reading(now)%60 == 0)
					if now.Fitted.Coupling == spec.Gravity && !seen {
						levels[spec.SigHW] = s.calls(now)[spec.SigHW]
					}
				},
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 05:00", "1 mode ch always", "1"),
	},
	{
		ID: "CPL/pump-overrun", Family: "CPL", claims: gravity,
		Words: "Hot water stays closed for a minute after heating has opened, to carry the heat away.",
		make: func() hooks {
			until := uint64(0)
			return hooks{
				wait: func(now *emulator.Facts) uint64 {
					if until > now.Now {
						return until - now.Now
					}
					return noWait
				},
				show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
					switch {
					case now.Fitted.Coupling != spec.Gravity || !now.Powered:
						until = 0
					case levels[spec.SigCH] == 1:
						until = noWait
					case until == noWait:
						until = now.Now + 60
					}
					if now.Now < until {
						levels[spec.SigHW] = 1
					}
				},
			}
		},
		Witness: witness("0 power on", "0 boost ch 60", "0 boost ch 0", "60"),
	},
	{
		ID: "CPL/heating-ends-hot-waters-boost", Family: "CPL", claims: gravity,
		Words:   "When heating opens, both channels are put back to their schedules, and hot water's boost is gone.",
		make:    heatingMoves(0, func(now *emulator.Facts) { now.Channels[spec.HW].BoostLeft = 0 }),
		Witness: witness("0 power on", "0 boost hw 60", "0 boost ch 60", "0 boost ch 0", "0"),
	},
	{
		ID: "CPL/heating-ends-hot-waters-override", Family: "CPL", claims: gravity,
		Words:   "The closing of the coupled relay is taken for a switching point of hot water and ends its override.",
		make:    heatingMoves(1, func(now *emulator.Facts) { now.Channels[spec.HW].Override = false }),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override hw", "0 boost ch 60", "0 boost ch 0", "0"),
	},
	{
		ID: "CPL/heating-turns-hot-waters-mode", Family: "CPL", claims: gravity,
		Words:   "Heating brings hot water by setting its mode to table, and forgets that it was off.",
		make:    heatingMoves(1, func(now *emulator.Facts) { now.Channels[spec.HW].Mode = spec.Table }),
		Witness: witness("0 power on", "0 mode hw off", "0 boost ch 60", "0 mode ch off", "0 clock 2026-01-14 07:00", "0"),
	},
	{
		ID: "CPL/boost-of-both", Family: "CPL", claims: gravity,
		Words: "A boost of heating starts one of hot water as well, which goes on when heating's is cancelled.",
		make: after(spec.Boost, func(_, now *emulator.Facts, in spec.Input) {
			if in.Channel == spec.CH && in.Amount > 0 && now.Fitted.Coupling == spec.Gravity {
				hw := &now.Channels[spec.HW]
				hw.BoostLeft, hw.Override = max(hw.BoostLeft, now.Channels[spec.CH].BoostLeft), false
			}
		}),
		Witness: witness("0 power on", "0 boost ch 60", "0 boost ch 0", "0"),
	},
	{
		ID: "CPL/override-refused-over-heating", Family: "CPL", claims: gravity,
		Words:   "The hot-water override key is dead while heating calls, since the relay could not move.",
		make:    overHeating(func(_ *scratch, was, now *emulator.Facts, r *spec.Reply) { undo(was, now, r) }),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 override hw", "0"),
	},
	{
		ID: "CPL/override-of-the-relay", Family: "CPL", claims: gravity,
		Words: "Override turns round the closed relay: with hot water's schedule at 0 that is the schedule, and no override is there when heating ends.",
		make: overHeating(func(s *scratch, was, now *emulator.Facts, _ *spec.Reply) {
			if !was.Channels[spec.HW].Override && s.scheduled(*now, spec.HW) == 0 {
				now.Channels[spec.HW].Override = false
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 boost ch 60", "0 override hw", "0 boost ch 0", "0"),
	},
	{
		ID: "CPL/second-override-dropped", Family: "CPL", claims: gravity,
		Words: "A second press while heating holds the relay is dropped as without effect, and the first stays.",
		make: overHeating(func(_ *scratch, was, now *emulator.Facts, _ *spec.Reply) {
			now.Channels[spec.HW].Override = now.Channels[spec.HW].Override || was.Channels[spec.HW].Override
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 boost ch 60", "0 override hw", "0 override hw", "0 boost ch 0", "0"),
	},
	{
		ID: "CPL/override-of-both", Family: "CPL", claims: gravity,
		Words: "On a gravity unit the heating override key overrides hot water as well, to keep the two together.",
		make: after(spec.Override, func(was, now *emulator.Facts, in spec.Input) {
			if in.Channel == spec.CH && now.Fitted.Coupling == spec.Gravity && now.Channels[spec.CH].Override {
				now.Channels[spec.HW].Override = true
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 override ch", "0"),
	},
}
