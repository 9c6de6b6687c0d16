package faults

import (
	"slices"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

type day = [spec.MaxPeriods]spec.Period

func wraps(s *spec.ICS) { s.Wrap = true }

var tableFaults = []Fault{
	{
		ID: "TAB/off-minute-is-on", Family: "TAB",
		Words:   "A period is on while the minute is <= its off, so it ends a minute late.",
		make:    readsTable(eachPeriod(func(p *spec.Period) { p.Off = min(p.Off+1, spec.MinutesPerDay) })),
		Witness: witness("0 power on", "0 clock 2026-01-14 09:00", "0"),
	},
	{
		ID: "TAB/on-minute-is-off", Family: "TAB",
		Words:   "A period is on while the minute is > its on, so it begins a minute late.",
		make:    readsTable(eachPeriod(func(p *spec.Period) { p.On++ })),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "0"),
	},
	{
		ID: "TAB/a-second-late", Family: "TAB",
		Words: "The table is looked at before the second is counted, so each switching comes a second late.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			if f.ClockSet {
				f.UTC--
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-14 07:00", "1"),
	},
	{
		ID: "TAB/afternoons-are-mornings", Family: "TAB",
		Words: "The keypad is a twelve hour one, and an entry of 12:00 to 12:59 is stored as 00:00 to 00:59.",
		make: changed(spec.SetPeriod, func(_ *emulator.Facts, in *spec.Input) {
			for _, t := range [...]*uint16{&in.Period.On, &in.Period.Off} {
				if *t >= 12*60 && *t < 13*60 {
					*t -= 12 * 60
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 12:00", "0 period hw wed 1 12:00 12:30", "0"),
	},
	{
		ID: "TAB/equal-is-the-whole-day", Family: "TAB",
		Words: "From a time round to the same time is 24 hours; only 00:00 to 00:00 counts as empty.",
		make: readsTable(func(d *day) {
			for i, p := range d {
				if p.On == p.Off && p.On > 0 {
					d[i] = spec.Period{On: 0, Off: spec.MinutesPerDay}
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 period hw wed 3 06:30 06:30", "0"),
	},
	{
		ID: "TAB/equal-is-a-minute", Family: "TAB",
		Words: "The on is looked for first and the off only from the next minute, so equal times give a minute of heat.",
		make: readsTable(func(d *day) {
			for i, p := range d {
				if p.On == p.Off && p.On > 0 {
					d[i].Off++
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 period hw wed 3 06:00 06:00", "0"),
	},
	{
		ID: "TAB/midnight-means-unused", Family: "TAB",
		Words: "A slot whose on is 00:00 is one that nobody has filled in.",
		make: readsTable(func(d *day) {
			for i, p := range d {
				if p.On == 0 {
					d[i].Off = 0
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 00:00", "0 period hw wed 3 00:00 01:00", "0"),
	},
	{
		ID: "TAB/inactive-times-end-an-override", Family: "TAB",
		Words: "A switched-off period still has its times in the list of events, and they end an override.",
		make: plain(minutely(func(was, now *emulator.Facts) {
			minute := uint16(secondOfDay(now) / calendar.Minute)
			eachChannel(was, now, func(was, ch *emulator.ChannelFacts) {
				for _, p := range ch.Table[calendar.Weekday(today(now))] {
					if p.On == p.Off && p.On == minute && minute > 0 {
						ch.Override = false
					}
				}
			})
		})),
		Witness: witness("0 power on", "0 clock 2026-01-14 09:59", "0 period hw wed 3 10:00 10:00", "0 override hw", "60"),
	},
	{
		ID: "TAB/24-00-is-00-00", Family: "TAB",
		Words: "The off goes through the hour counter, which turns 24 into 0, and then it lies before its on.",
		make: changed(spec.SetPeriod, func(_ *emulator.Facts, in *spec.Input) {
			in.Period.Off %= spec.MinutesPerDay
		}),
		Witness: witness("0 power on", "0 period hw mon 1 06:00 24:00", "0"),
	},
	{
		ID: "TAB/24-00-is-23-59", Family: "TAB",
		Words: "An off of 24:00 is stored as 23:59, the last minute that a day has.",
		make: changed(spec.SetPeriod, func(_ *emulator.Facts, in *spec.Input) {
			in.Period.Off = min(in.Period.Off, spec.MinutesPerDay-1)
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 period hw wed 2 16:00 24:00", "0"),
	},
	{
		ID: "TAB/takes-an-on-of-24-00", Family: "TAB",
		Words: "On and off have the same check, so an on of 24:00 is taken: I have it for 00:00.",
		make: changed(spec.SetPeriod, func(_ *emulator.Facts, in *spec.Input) {
			in.Period.On %= spec.MinutesPerDay
		}),
		Witness: witness("0 power on", "0 period hw mon 1 24:00 24:00", "0"),
	},
	{
		ID: "TAB/any-off-opens", Family: "TAB",
		Words:   "Each on closes the relay and each off opens it, whichever period it belongs to.",
		make:    readsTable(lastEventWins),
		Witness: witness("0 power on", "0 clock 2026-01-14 09:00", "0 period hw wed 3 08:00 10:00", "0"),
	},
	{
		ID: "TAB/latest-on-decides", Family: "TAB",
		Words: "I look for the period that began last and ask only that one.",
		make: readsTable(func(d *day) {
			for i, p := range d {
				for _, q := range d {
					if p.On < p.Off && q.On < q.Off && q.On > p.On {
						d[i].Off = min(d[i].Off, q.On)
					}
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 period hw wed 3 07:15 07:45", "0"),
	},
	{
		ID: "TAB/drops-out-at-a-touch", Family: "TAB",
		Words: "Where one period's off is another's on the off comes first in my loop, and the relay drops out and pulls in again.",
		make: func() hooks {
			return hooks{wait: untilMinute, glitch: func(was, now *emulator.Facts, levels *[spec.NumSignals]spec.Level) {
				minute := uint16(secondOfDay(now) / calendar.Minute)
				if !now.ClockSet || secondOfDay(now)%calendar.Minute != 0 || was.Now == now.Now {
					return
				}
				for c, ch := range now.Channels {
					if touch(&ch.Table[calendar.Weekday(today(now))], minute) && ch.Mode == spec.Table && ch.BoostLeft == 0 && !ch.Override {
						levels[c] = 0
					}
				}
			}}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 08:59", "0 period hw wed 3 09:00 10:00", "60"),
	},
	{
		ID: "TAB/midnight-ends-every-period", Family: "TAB",
		Words: "At midnight the state starts afresh from the new day's table, so an override over a touch at 24:00 is gone.",
		make: midnight(func(now *emulator.Facts) {
			yesterday, day := calendar.Weekday(today(now)-1), calendar.Weekday(today(now))
			for c := range now.Channels {
				ch := &now.Channels[c]
				toMidnight := slices.ContainsFunc(ch.Table[yesterday][:], func(p spec.Period) bool { return p.Off == spec.MinutesPerDay })
				fromMidnight := slices.ContainsFunc(ch.Table[day][:], func(p spec.Period) bool { return p.On == 0 && p.Off > 0 })
				if toMidnight && fromMidnight {
					ch.Override = false
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 period hw wed 2 23:00 24:00", "0 period hw thu 2 00:00 01:00", "0 override hw", "60"),
	},
	{
		ID: "TAB/wraps-unasked", Family: "TAB",
		Words:   "An off before its on is the next day's, though the leaflet says that it is refused.",
		make:    actsAs(wraps),
		Witness: witness("0 power on", "0 period hw mon 1 22:00 06:00", "0"),
	},
	{
		ID: "TAB/off-before-on-is-turned-round", Family: "TAB",
		Words: "An off before its on must be a slip, so I exchange the two.",
		make: changed(spec.SetPeriod, func(_ *emulator.Facts, in *spec.Input) {
			if p := &in.Period; p.Off < p.On && p.On < spec.MinutesPerDay {
				p.On, p.Off = p.Off, p.On
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 12:00", "0 period hw wed 1 22:00 06:00", "0"),
	},
	{
		ID: "TAB/no-wrap", Family: "TAB", claims: wraps,
		Words:   "The editor that was written for the smaller model refuses an off before its on.",
		make:    actsAs(func(s *spec.ICS) { s.Wrap = false }),
		Witness: witness("0 power on", "0 period hw mon 1 22:00 06:00", "0"),
	},
	{
		ID: "TAB/tail-on-its-own-morning", Family: "TAB", claims: wraps,
		Words: "A period over midnight is on after its on or before its off, all on one day.",
		make: readsTable(func(d *day) {
			for i, p := range d {
				if p.Off >= p.On {
					continue
				}
				d[i].Off = spec.MinutesPerDay
				if free := slices.IndexFunc(d[:], func(p spec.Period) bool { return p.On == p.Off }); free >= 0 {
					d[free] = spec.Period{On: 0, Off: p.Off}
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 05:00", "0 period hw wed 1 22:00 06:00", "0"),
	},
	{
		ID: "TAB/sundays-tail-is-lost", Family: "TAB", claims: wraps,
		Words: "Yesterday of Monday is row -1 of the table, so Sunday's tail goes nowhere.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			each(func(c spec.Channel) { cutTails(&f.Channels[c].Table[6]) })
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-12 05:00", "0 period hw sun 1 22:00 06:00", "0"),
	},
	{
		ID: "TAB/fridays-tail-is-lost", Family: "TAB", claims: wraps,
		Words: "A tail runs into the next day only if that has the same table, so with 5/2 Friday night ends at midnight.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			if f.Fitted.Cycle == spec.Cycle52 {
				each(func(c spec.Channel) { cutTails(&f.Channels[c].Table[4]) })
			}
		}}),
		Witness: witness("0 fit cycle 5/2", "0 power on", "0 clock 2026-01-17 05:00", "0 period hw weekdays 1 22:00 06:00", "0"),
	},
	{
		ID: "TAB/tail-needs-its-evening", Family: "TAB", claims: wraps,
		Words: "A period over midnight is remembered at midnight; a clock set into its tail knows nothing of it.",
		make: func() hooks {
			set := -1 // the date on which the clock was set
			return hooks{
				after: accepted(spec.SetClock, func(_, now *emulator.Facts, _ spec.Input) { set = today(now) }),
				believes: func(f *emulator.Facts) {
					if f.ClockSet && today(f) == set {
						each(func(c spec.Channel) { cutTails(&f.Channels[c].Table[calendar.Weekday(set-1)]) })
					}
				},
			}
		},
		Witness: witness("0 power on", "0 clock 2026-01-14 05:00", "0 period hw tue 1 22:00 06:00", "0"),
	},
	{
		ID: "TAB/24h-edit-is-mondays", Family: "TAB",
		Words: "With 24h only the first row is edited, but the lookup still goes by the weekday.",
		make: after(spec.SetPeriod, func(was, now *emulator.Facts, in spec.Input) {
			if in.Day == spec.All {
				each(func(c spec.Channel) { copy(now.Channels[c].Table[1:], was.Channels[c].Table[1:]) })
			}
		}),
		Witness: witness("0 fit cycle 24h", "0 power on", "0 clock 2026-01-14 08:00", "0 period hw all 1 00:00 00:00", "0"),
	},
	{
		ID: "TAB/sunday-is-a-weekday", Family: "TAB",
		Words: "Sunday is day 0, and a weekday is one below 5... and Friday is 5.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			if f.Fitted.Cycle == spec.Cycle52 {
				each(func(c spec.Channel) {
					t := &f.Channels[c].Table
					t[4], t[6] = t[5], t[0]
				})
			}
		}}),
		Witness: witness("0 fit cycle 5/2", "0 power on", "0 clock 2026-01-18 09:00", "0"),
	},
	{
		ID: "TAB/weekend-edit-is-saturdays", Family: "TAB",
		Words: "The loop over the weekend's days stops one short, and Sunday keeps its old periods.",
		make: after(spec.SetPeriod, func(was, now *emulator.Facts, in spec.Input) {
			if in.Day == spec.Weekend {
				each(func(c spec.Channel) { now.Channels[c].Table[6] = was.Channels[c].Table[6] })
			}
		}),
		Witness: witness("0 fit cycle 5/2", "0 power on", "0 clock 2026-01-18 08:00", "0 period hw weekend 1 00:00 00:00", "0"),
	},
	{
		ID: "TAB/week-begins-on-sunday", Family: "TAB",
		Words: "The clock numbers its days from Sunday and the tables from Monday.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			if f.Fitted.Cycle == spec.Cycle7Day {
				turnWeek(f, 1)
			}
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-16 09:00", "0"),
	},
	{
		ID: "TAB/monday-is-every-weekday", Family: "TAB",
		Words: "The editor of the 5/2 model is left in: what is entered for Monday is copied on to Friday.",
		make: after(spec.SetPeriod, func(_, now *emulator.Facts, in spec.Input) {
			if in.Day == spec.Mon {
				each(func(c spec.Channel) {
					t := &now.Channels[c].Table
					for d := 1; d < 5; d++ {
						t[d][in.Slot-1] = t[0][in.Slot-1]
					}
				})
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 period hw mon 1 00:00 00:00", "0"),
	},
	{
		ID: "TAB/edit-of-one-is-of-both", Family: "TAB",
		Words: "One table is kept for both channels even with timing separate.",
		make: after(spec.SetPeriod, func(_, now *emulator.Facts, in spec.Input) {
			if in.Table != spec.BothTables {
				now.Channels[spec.CH].Table = now.Channels[in.Table].Table
				now.Channels[spec.HW].Table = now.Channels[in.Table].Table
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 period hw wed 1 00:00 00:00", "0"),
	},
	{
		ID: "TAB/heatings-edit-is-hot-waters", Family: "TAB",
		Words: "The index of the table is left at 0, so an edit of heating's lands in hot water's.",
		make: changed(spec.SetPeriod, func(_ *emulator.Facts, in *spec.Input) {
			if in.Table == spec.CHTable {
				in.Table = spec.HWTable
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 period ch wed 1 00:00 00:00", "0"),
	},
	{
		ID: "TAB/shared-edit-reaches-hot-water-only", Family: "TAB",
		Words: "With one table for both, heating goes on with a copy that was taken at power-on.",
		make: after(spec.SetPeriod, func(was, now *emulator.Facts, in spec.Input) {
			if in.Table == spec.BothTables {
				now.Channels[spec.CH] = was.Channels[spec.CH]
			}
		}),
		Witness: witness("0 fit timing shared", "0 power on", "0 clock 2026-01-14 08:00", "0 period both wed 1 00:00 00:00", "0"),
	},
	{
		ID: "TAB/edit-waits-for-the-minute", Family: "TAB",
		Words:   "An edit is stored at once, but the relays follow when the minute turns.",
		make:    waitsForMinute(spec.SetPeriod),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 period hw wed 1 00:00 00:00", "0"),
	},
	{
		ID: "TAB/edit-waits-for-a-switching", Family: "TAB",
		Words:   "An edit changes what will switch, not what has switched: a period deleted while it runs runs on.",
		make:    waitsForSwitching(ofKind(spec.SetPeriod)),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 period hw wed 1 00:00 00:00", "60"),
	},
	{
		ID: "TAB/edit-in-two-steps", Family: "TAB",
		Words: "The off is written first and acted upon, and then the on.",
		make: instead(spec.SetPeriod, func(now *emulator.Facts, in spec.Input) []spec.Input {
			first := in
			if in.Slot >= 1 && in.Slot <= spec.MaxPeriods {
				c := spec.Channel(in.Table)
				if in.Table == spec.BothTables {
					c = spec.HW
				}
				first.Period.On = now.Channels[c].Table[firstDay(in.Day)][in.Slot-1].On
			}
			return []spec.Input{first, in}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 period hw wed 1 10:30 11:00", "0"),
	},
	{
		ID: "TAB/stops-at-an-empty-slot", Family: "TAB",
		Words: "The search ends at the first inactive slot.",
		make: readsTable(func(d *day) {
			if empty := slices.IndexFunc(d[:], func(p spec.Period) bool { return p.On == p.Off }); empty >= 0 {
				clear(d[empty:])
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 16:00", "0 period hw wed 1 00:00 00:00", "0"),
	},
	{
		ID: "TAB/takes-slots-for-sorted", Family: "TAB",
		Words: "The search stops at the first slot whose on is still to come, as if they stood in order.",
		make: readsTable(func(d *day) {
			latest := uint16(0)
			for i, p := range d {
				if p.On != p.Off {
					latest = max(latest, p.On)
					if d[i].On = latest; p.On < p.Off {
						d[i].On = min(latest, p.Off)
					}
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 period hw wed 3 06:00 06:30", "0"),
	},
	{
		ID: "TAB/last-slot-refused", Family: "TAB",
		Words:   "Slots count from 0 in the code and from 1 on the display, and the check has < for <=.",
		make:    refuses(spec.SetPeriod, func(_, _ *emulator.Facts, in spec.Input) bool { return in.Slot == spec.MaxPeriods }),
		Witness: witness("0 power on", "0 period hw mon 6 06:00 07:00", "0"),
	},
	{
		ID: "TAB/slot-beyond-is-tomorrows", Family: "TAB",
		Words: "The slot is an unchecked index, and one beyond the day's last is the next day's first.",
		make: changed(spec.SetPeriod, func(_ *emulator.Facts, in *spec.Input) {
			if in.Slot == spec.MaxPeriods+1 && in.Day < spec.Sun {
				in.Day, in.Slot = in.Day+1, 1
			}
		}),
		Witness: witness("0 power on", "0 period hw mon 7 06:00 07:00", "0"),
	},
	{
		ID: "TAB/weekdays-in-a-7day-cycle", Family: "TAB",
		Words: "The name of a group of days works with every cycle: five edits in one.",
		make: instead(spec.SetPeriod, func(now *emulator.Facts, in spec.Input) []spec.Input {
			if now.Fitted.Cycle != spec.Cycle7Day || in.Day != spec.Weekdays {
				return []spec.Input{in}
			}
			edits := make([]spec.Input, 5)
			for d := range edits {
				edits[d] = in
				edits[d].Day = spec.Day(d)
			}
			return edits
		}),
		Witness: witness("0 power on", "0 period hw weekdays 1 06:00 07:00", "0"),
	},
	{
		ID: "TAB/both-with-separate-timing", Family: "TAB",
		Words: "An edit of both tables is taken with timing separate as well, and made in each.",
		make: instead(spec.SetPeriod, func(now *emulator.Facts, in spec.Input) []spec.Input {
			if now.Fitted.Timing == spec.Shared || now.Fitted.Channels != spec.BothChannels || in.Table != spec.BothTables {
				return []spec.Input{in}
			}
			hw, ch := in, in
			hw.Table, ch.Table = spec.HWTable, spec.CHTable
			return []spec.Input{hw, ch}
		}),
		Witness: witness("0 power on", "0 period both mon 1 06:00 07:00", "0"),
	},
	{
		ID: "TAB/weekend-defaults-as-weekdays", Family: "TAB",
		Words: "The default table is one day's, copied to all seven.",
		make: defaults(func(f *emulator.Facts) {
			each(func(c spec.Channel) {
				t := &f.Channels[c].Table
				t[5], t[6] = t[0], t[0]
			})
		}),
		Witness: witness("0 power on", "0 clock 2026-01-17 09:00", "0"),
	},
	{
		ID: "TAB/24h-defaults-as-weekend", Family: "TAB",
		Words: "With 24h the default is taken from the last row, which is Sunday's.",
		make: defaults(func(f *emulator.Facts) {
			if f.Fitted.Cycle == spec.Cycle24h {
				eachDay(f, func(c *emulator.ChannelFacts, d int) { c.Table[d] = day{{On: 7 * 60, Off: 23 * 60}} })
			}
		}),
		Witness: witness("0 fit cycle 24h", "0 power on", "0 clock 2026-01-14 09:00", "0"),
	},
	{
		ID: "TAB/one-period-default-ends-at-nine", Family: "TAB", claims: func(s *spec.ICS) { s.Periods = 1 },
		Words: "With one period a day the default is the first of the two, and the evening is missing.",
		make: defaults(func(f *emulator.Facts) {
			for d := range 5 {
				each(func(c spec.Channel) { f.Channels[c].Table[d] = day{{On: 7 * 60, Off: 9 * 60}} })
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 09:00", "0"),
	},
	{
		ID: "TAB/sunday-midnight-ends-every-period", Family: "TAB",
		Words: "The week's table is a line, not a ring: what touches at its end is two periods, and an override over it is gone.",
		make: midnight(func(now *emulator.Facts) {
			for c := range now.Channels {
				ch := &now.Channels[c]
				toMidnight := slices.ContainsFunc(ch.Table[6][:], func(p spec.Period) bool { return p.Off == spec.MinutesPerDay || p.Off < p.On })
				fromMidnight := slices.ContainsFunc(ch.Table[0][:], func(p spec.Period) bool { return p.On == 0 && p.Off > 0 })
				if calendar.Weekday(today(now)) == 0 && toMidnight && (fromMidnight || now.Fitted.Cycle == spec.Cycle24h) {
					ch.Override = false
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-18 22:00", "0 period hw sun 1 07:00 24:00", "0 period hw mon 3 00:00 01:00", "0 override hw", "7200"),
	},
	{
		ID: "TAB/one-period-24h-default-ends-at-nine", Family: "TAB",
		claims: func(s *spec.ICS) { s.Periods, s.Fitted.Cycle = 1, spec.Cycle24h },
		Words:  "With 24h the default is Monday's first period, with one period a day too.",
		make: defaults(func(f *emulator.Facts) {
			if f.Fitted.Cycle == spec.Cycle24h {
				eachDay(f, func(c *emulator.ChannelFacts, d int) { c.Table[d] = day{{On: 7 * 60, Off: 9 * 60}} })
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 09:00", "0"),
	},
	{
		ID: "TAB/address-in-a-byte", Family: "TAB",
		Words: "A period's address, four bytes a slot, is worked out in a byte: heating's from Thursday's fifth slot on lie over hot water's.",
		make: after(spec.SetPeriod, func(was, now *emulator.Facts, in spec.Input) {
			for d := firstDay(in.Day); d < 7 && in.Table != spec.HWTable; d++ {
				slot := int(in.Slot - 1)
				if address := ((7+d)*spec.MaxPeriods + slot) - 64; address >= 0 && now.Channels[spec.CH].Table[d][slot] == in.Period {
					now.Channels[spec.HW].Table[address/spec.MaxPeriods][address%spec.MaxPeriods] = in.Period
				}
				if in.Day <= spec.Sun || in.Day == spec.Weekdays && d == 4 {
					break
				}
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-12 08:00", "0 period ch thu 5 00:00 00:00", "0"),
	},
}

// eachPeriod changes every active period of a day.
func eachPeriod(f func(p *spec.Period)) func(*day) {
	return func(d *day) {
		for i := range d {
			if d[i].On != d[i].Off {
				f(&d[i])
			}
		}
	}
}

// lastEventWins makes of a day's periods what comes out if the last on or off decides; an on wins over an off at the same time.
func lastEventWins(d *day) {
	ends := map[uint16]bool{}
	for _, p := range d {
		if p.On < p.Off {
			ends[p.Off] = true
		}
	}
	for i, p := range d {
		for off := range ends {
			if p.On < off && p.On < p.Off {
				d[i].Off = min(d[i].Off, off)
			}
		}
	}
}

// touch reports whether one of a day's periods ends where another begins.
func touch(d *day, minute uint16) bool {
	on, off := false, false
	for _, p := range d {
		on = on || p.On == minute && p.On != p.Off
		off = off || p.Off == minute && p.On != p.Off
	}
	return on && off
}

// cutTails has a day's periods end at midnight at the latest.
func cutTails(d *day) {
	for i, p := range d {
		if p.Off < p.On {
			d[i].Off = spec.MinutesPerDay
		}
	}
}

// firstDay returns the row of the first day that an edit covers.
func firstDay(d spec.Day) int {
	switch d {
	case spec.Weekdays, spec.All:
		return 0
	case spec.Weekend:
		return 5
	default:
		return int(d)
	}
}

// defaults is a unit with other default tables: f changes the right ones.
func defaults(f func(now *emulator.Facts)) func() hooks {
	return with(func(s *scratch) hooks {
		fresh := false
		return hooks{after: func(was, now *emulator.Facts, in spec.Input, r *spec.Reply) {
			fits := now.Fitted
			fits.Coupling = was.Fitted.Coupling
			if in.Kind == spec.Reset && r.Outcome == spec.Accepted || in.Kind == spec.PowerOn && (!fresh || fits != was.Fitted) {
				f(now)
			}
			fresh = fresh || in.Kind == spec.PowerOn
		}}
	})
}
