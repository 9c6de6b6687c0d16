package faults

import (
	"slices"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Doubles returns the double faults: pairs of mistakes of which one hides the other on the sequences that come to mind first, as
// happens where a mistake has been tuned away instead of found.
func Doubles() []Fault { return doubleFaults }

// halves are mistakes that are here for what hides them.
var halves = []Fault{
	{
		ID: "BST/a-minute-short", Family: "BST",
		Words: "The boost's first minute is counted as gone when it begins.",
		make: after(spec.Boost, func(_, now *emulator.Facts, in spec.Input) {
			if in.Amount > 0 {
				now.Channels[in.Channel].BoostLeft -= calendar.Minute
			}
		}),
		Witness: witness("0 power on", "0 boost ch 60", "3540"),
	},
	{
		ID: "OUT/boost-opens-a-minute-late", Family: "OUT",
		Words: "A relay that a boost has closed is held for a minute more when the boost is over.",
		make: func() hooks {
			var boosted [spec.NumChannels]bool
			var until [spec.NumChannels]uint64
			return hooks{
				wait: func(now *emulator.Facts) uint64 {
					wait := noWait
					for _, at := range until {
						if at > now.Now {
							wait = min(wait, at-now.Now)
						}
					}
					return wait
				},
				show: func(now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
					for c := range until {
						on := now.Channels[c].BoostLeft > 0
						if boosted[c] && !on {
							until[c] = now.Now + calendar.Minute
						}
						boosted[c] = on
						if now.Now < until[c] && now.Powered {
							levels[c] = 1
						}
					}
				},
			}
		},
		Witness: witness("0 power on", "0 boost ch 60", "3600"),
	},
	{
		ID: "LCK/adds-the-cut", Family: "LCK",
		Words: "When power returns the whole length of the cut is added to the count.",
		make: overCut(func(before, _, now *emulator.Facts) {
			now.Lock.Counted += now.Now - before.Now
			recount(&now.Lock)
		}),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 power off", "1 power on", "86399"),
	},
	{
		ID: "LCK/reset-loads-saved-count", Family: "LCK",
		Words: "Reset reads the count back from memory, where it is saved once an hour.",
		make: func() hooks {
			var saved uint64
			return hooks{
				wait: func(now *emulator.Facts) uint64 {
					if now.Lock.Stage == spec.Dormant || now.ClockStopped {
						return noWait
					}
					return calendar.Hour - now.Lock.Counted%calendar.Hour
				},
				passed: func(_, now *emulator.Facts) {
					if now.Lock.Counted%calendar.Hour == 0 {
						saved = now.Lock.Counted
					}
				},
				after: func(_, now *emulator.Facts, in spec.Input, r *spec.Reply) {
					switch {
					case r.Outcome != spec.Accepted:
					case in.Kind == spec.LockArm:
						saved = 0
					case in.Kind == spec.Reset:
						now.Lock.Counted = saved
						recount(&now.Lock)
					}
				},
			}
		},
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "1 reset", "86400"),
	},
	{
		ID: "PWR/loss-counted-twice", Family: "PWR",
		Words: "The second in which power is lost is counted by the mains and by the reserve.",
		make: loses(func(_, now *emulator.Facts) {
			if now.ClockSet {
				moveClock(now, 1)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 power off", "0 power on", "59"),
	},
	{
		ID: "CLK/set-a-minute-fast", Family: "CLK",
		Words: "Setting the clock starts it at the end of the minute that was set.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if was.UTC != now.UTC || !was.ClockSet {
				moveClock(now, calendar.Minute)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0"),
	},
	{
		ID: "CLK/set-a-second-fast", Family: "CLK",
		Words: "Setting the clock starts it at second 01.",
		make: after(spec.SetClock, func(was, now *emulator.Facts, _ spec.Input) {
			if was.UTC != now.UTC || !was.ClockSet {
				moveClock(now, 1)
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "59"),
	},
	{
		ID: "TAB/on-and-off-a-minute-late", Family: "TAB",
		Words: "The table's times are compared with > instead of >=, in minutes.",
		make: readsTable(func(day *[spec.MaxPeriods]spec.Period) {
			for i, p := range day {
				if p.On != p.Off {
					day[i] = spec.Period{On: min(p.On+1, spec.MinutesPerDay-1), Off: min(p.Off+1, spec.MinutesPerDay)}
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0"),
	},
	{
		ID: "TAB/tomorrows-row", Family: "TAB",
		Words: "The rows of the week's table are read with days counted from Sunday, so each day has tomorrow's.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			for c := range f.Channels {
				table := f.Channels[c].Table
				for d := range table {
					f.Channels[c].Table[d] = table[(d+1)%7]
				}
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-16 09:00", "0"),
	},
	{
		ID: "TAB/edits-tomorrows-row", Family: "TAB",
		Words: "Edits are stored in the rows of the week's table with days counted from Sunday, each in tomorrow's.",
		make: changed(spec.SetPeriod, func(_ *emulator.Facts, in *spec.Input) {
			if in.Day <= spec.Sun {
				in.Day = (in.Day + 1) % 7
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 period ch wed 1 00:00 00:00", "0"),
	},
	{
		ID: "HOL/days-from-one", Family: "HOL",
		Words: "The days of a holiday are kept as the number of the last, counted from today as 1, and 1 is added to them.",
		make: changed(spec.Holiday, func(_ *emulator.Facts, in *spec.Input) {
			if in.Amount > 0 && in.Amount < spec.MaxHolidayDays {
				in.Amount++
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 1", "86400"),
	},
	{
		ID: "HOL/ends-the-day-before", Family: "HOL",
		Words: "A holiday ends at the beginning of its last day.",
		make: after(spec.Holiday, func(_, now *emulator.Facts, _ spec.Input) {
			if now.Holiday.EndDate--; now.Holiday.EndDate <= today(now) {
				now.Holiday = emulator.HolidayFacts{}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0 holiday 1", "0"),
	},
}

// single returns a single fault: one of the catalogue or one of the halves.
func single(id string) Fault {
	all := slices.Concat(couplingFaults, lockFaults, powerFaults, resetFaults, outputFaults, inputFaults, halves)
	i := slices.IndexFunc(all, func(f Fault) bool { return f.ID == id })
	if i < 0 {
		panic("no single fault is called " + id)
	}
	return all[i]
}

// pair makes the hooks of two single faults: the second acts on what the first has made of things.
func pair(a, b string) func() hooks {
	return func() hooks {
		x, y := single(a), single(b)
		return both(x.make(), y.make())
	}
}

var doubleFaults = []Fault{
	{
		ID: "BST/short-and-held", Family: "BST",
		Words:   "The boost is a minute short, and somebody has made up for it by holding the relay for a minute.",
		make:    pair("BST/a-minute-short", "OUT/boost-opens-a-minute-late"),
		Witness: witness("0 power on", "0 boost ch 60", "0 boost ch 0", "0"),
	},
	{
		ID: "CPL/boosted-instead-of-coupled", Family: "CPL", claims: gravity,
		Words:   "A boost of heating is not coupled, but starts one of hot water.",
		make:    pair("CPL/not-under-boost", "CPL/boost-of-both"),
		Witness: witness("0 power on", "0 boost ch 60", "0 boost hw 0", "0"),
	},
	{
		ID: "CPL/overridden-instead-of-coupled", Family: "CPL", claims: gravity,
		Words:   "An override of heating is not coupled, but overrides hot water as well.",
		make:    pair("CPL/not-under-override", "CPL/override-of-both"),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 override ch", "0 override hw", "0"),
	},
	{
		ID: "CPL/mode-turned-instead-of-coupled", Family: "CPL", claims: gravity,
		Words:   "Hot water in mode off is not coupled, but heating's relay turns its mode to table.",
		make:    pair("CPL/hot-water-off-means-off", "CPL/heating-turns-hot-waters-mode"),
		Witness: witness("0 power on", "0 boost ch 60", "0 mode hw off", "0"),
	},
	{
		ID: "LCK/mains-and-the-cut-added", Family: "LCK",
		Words:   "The count stands on the reserve, and the length of the cut is added when power returns, however long.",
		make:    pair("LCK/mains-only", "LCK/adds-the-cut"),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "0 power off", "86400 power on", "86400"),
	},
	{
		ID: "LCK/reset-restores-the-hour", Family: "LCK",
		Words:   "Reset restarts the count, and then reads it back as it was saved at the last full hour.",
		make:    pair("LCK/reset-restarts-count", "LCK/reset-loads-saved-count"),
		Witness: witness("0 power on", "0 lock arm 246810 1 0 none none none none none", "1 reset", "86400"),
	},
	{
		ID: "LCK/reset-and-the-clocks-hour", Family: "LCK",
		Words:   "Reset restarts the window, which goes by the display's hour all the same.",
		make:    pair("LCK/reset-restarts-window", "LCK/window-on-the-clocks-hour"),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:10", "0 lock arm 246810 1 1 10 10 10 10 none", "0"),
	},
	{
		ID: "PWR/long-reserve-on-the-minute", Family: "PWR",
		Words:   "The reserve lasts a second too long, and loses the seconds of the minute in which power went.",
		make:    pair("PWR/reserve-a-second-long", "PWR/reserve-on-the-minute"),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 power off", "28800 power on", "28800"),
	},
	{
		ID: "PWR/second-lost-and-found", Family: "PWR",
		Words:   "The second of the return is not counted, and that of the loss twice.",
		make:    pair("PWR/clock-a-second-late", "PWR/loss-counted-twice"),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:59", "0 power off", "0 power on", "59"),
	},
	{
		ID: "PWR/boost-kept-to-the-start-up", Family: "PWR",
		Words:   "A loss of power leaves the boost counting, and the start-up code, which every 'power on' runs, drops it.",
		make:    pair("PWR/keeps-boost", "PWR/on-restarts"),
		Witness: witness("0 power on", "0 boost ch 60", "0 power on", "0"),
	},
	{
		ID: "CLK/fast-clock-late-table", Family: "CLK",
		Words:   "The clock is set a minute fast, and the table's times come a minute late.",
		make:    pair("CLK/set-a-minute-fast", "TAB/on-and-off-a-minute-late"),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 mode ch always", "0 holiday 1", "60"),
	},
	{
		ID: "OUT/fast-clock-late-relays", Family: "OUT",
		Words:   "The clock is set a second fast, to make up for outputs that follow the clocks a second late.",
		make:    pair("CLK/set-a-second-fast", "OUT/clocks-a-second-late"),
		Witness: witness("0 power on", "0 boost ch 60", "3600"),
	},
	{
		ID: "TAB/days-from-sunday-twice", Family: "TAB",
		Words:   "The week's table is read and written with days counted from Sunday, and the default is stored from Monday.",
		make:    pair("TAB/tomorrows-row", "TAB/edits-tomorrows-row"),
		Witness: witness("0 power on", "0 clock 2026-01-16 09:00", "0"),
	},
	{
		ID: "HOL/day-added-and-taken", Family: "HOL",
		Words:   "A holiday is given a day too many and ends a day early, and setting the clock back prolongs it.",
		make:    pair("HOL/days-from-one", "HOL/ends-the-day-before"),
		Witness: witness("0 power on", "0 clock 2026-01-15 00:00", "0 mode ch always", "0 holiday 1", "0 clock 2026-01-14 00:00", "86400"),
	},
}
