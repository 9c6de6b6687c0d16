package faults

import (
	"slices"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/spec"
)

var modeFaults = []Fault{
	{
		ID: "MOD/off-finishes-the-period", Family: "MOD",
		Words: "Off inhibits the next on; the period under way runs to its end.",
		make: with(func(s *scratch) hooks {
			var from [spec.NumChannels]spec.Mode // while a period runs on: the mode in which it began
			return hooks{
				after: accepted(spec.SetMode, func(was, now *emulator.Facts, in spec.Input) {
					from[in.Channel] = spec.Off
					if in.Mode == spec.Off && was.Channels[in.Channel].Mode != spec.Always {
						from[in.Channel] = was.Channels[in.Channel].Mode
					}
				}),
				believes: func(f *emulator.Facts) {
					each(func(c spec.Channel) {
						g := *f
						g.Channels[c].Mode = from[c]
						if f.Channels[c].Mode == spec.Off && s.scheduled(g, c) == 1 {
							f.Channels[c].Mode = from[c]
						} else {
							from[c] = spec.Off
						}
					})
				},
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 mode hw off", "0"),
	},
	{
		ID: "MOD/table-waits-for-a-switching", Family: "MOD",
		Words:   "Back in table the relay stays as it is until the next on or off.",
		make:    waitsForSwitching(func(_ *emulator.Facts, in spec.Input) bool { return in.Kind == spec.SetMode && in.Mode == spec.Table }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode hw always", "0 mode hw table", "0"),
	},
	{
		ID: "MOD/table-is-span", Family: "MOD",
		Words: "The two middle positions of the slider are wired the other way round in table: it runs as span.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			each(func(c spec.Channel) {
				if f.Channels[c].Mode == spec.Table {
					f.Channels[c].Mode = spec.Span
				}
			})
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0"),
	},
	{
		ID: "MOD/span-from-slot-one", Family: "MOD",
		Words: "Span is from the on of the first slot to the off of the last one in use, in the order in which they were entered.",
		make: readsSpan(func(active []spec.Period) spec.Period {
			if len(active) == 0 {
				return spec.Period{}
			}
			p := spec.Period{On: active[0].On, Off: active[len(active)-1].Off}
			p.Off = max(p.Off, p.On)
			return p
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 mode hw span", "0 period hw wed 3 06:00 06:30", "0"),
	},
	{
		ID: "MOD/span-counts-empty-slots", Family: "MOD",
		Words: "The earliest on is looked for in every slot, and an unused one has 00:00.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			eachDay(f, func(c *emulator.ChannelFacts, d int) {
				unused := slices.Contains(c.Table[d][:], spec.Period{})
				i := slices.IndexFunc(c.Table[d][:], func(p spec.Period) bool { return p.On != p.Off })
				if c.Mode == spec.Span && unused && i >= 0 {
					c.Table[d][i].On = 0
				}
			})
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-14 06:00", "0 mode hw span", "0"),
	},
	{
		ID: "MOD/span-ends-with-the-latest-on", Family: "MOD",
		Words: "The last off is taken from the period that begins last.",
		make: readsSpan(func(active []spec.Period) (p spec.Period) {
			if len(active) == 0 {
				return p
			}
			byOn := func(a, b spec.Period) int { return int(a.On) - int(b.On) }
			return spec.Period{On: slices.MinFunc(active, byOn).On, Off: slices.MaxFunc(active, byOn).Off}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 22:00", "0 mode hw span", "0 period hw wed 3 20:00 21:00", "0"),
	},
	{
		ID: "MOD/span-of-nothing-is-all-day", Family: "MOD",
		Words: "With no active period first on and last off keep what they start from, 00:00 and 24:00.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			eachDay(f, func(c *emulator.ChannelFacts, d int) {
				if c.Mode == spec.Span && !slices.ContainsFunc(c.Table[d][:], func(p spec.Period) bool { return p.On != p.Off }) {
					c.Table[d][0] = spec.Period{On: 0, Off: spec.MinutesPerDay}
				}
			})
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-14 08:00", "0 mode hw span", "0 period hw wed 1 00:00 00:00", "0 period hw wed 2 00:00 00:00", "0"),
	},
	{
		ID: "MOD/span-takes-a-wrapped-off-for-early", Family: "MOD", claims: wraps,
		Words: "The last off is the greatest by the clock, and one past midnight is a small number.",
		make: readsSpan(func(active []spec.Period) (p spec.Period) {
			for i, q := range active {
				if i == 0 {
					p = q
				}
				p = spec.Period{On: min(p.On, q.On), Off: max(p.Off, q.Off)}
			}
			return p
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode hw span", "0 period hw wed 2 22:00 06:00", "0"),
	},
	{
		ID: "MOD/always-is-until-midnight", Family: "MOD",
		Words: "Always was made for one day, and midnight puts the mode back to table.",
		make: midnight(func(now *emulator.Facts) {
			each(func(c spec.Channel) {
				if now.Channels[c].Mode == spec.Always {
					now.Channels[c].Mode = spec.Table
				}
			})
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 23:59", "0 mode hw always", "60"),
	},
	{
		ID: "MOD/shared-table-shared-mode", Family: "MOD",
		Words: "With one table for both there is one mode for both.",
		make: instead(spec.SetMode, func(now *emulator.Facts, in spec.Input) []spec.Input {
			second := in
			second.Channel = other(in.Channel)
			if now.Fitted.Timing == spec.Separate {
				return []spec.Input{in}
			}
			return []spec.Input{in, second}
		}),
		Witness: witness("0 fit timing shared", "0 power on", "0 mode hw always", "0"),
	},
	{
		ID: "MOD/change-cancels-the-others-override", Family: "MOD",
		Words: "A change of mode clears the overrides, both of them.",
		make: after(spec.SetMode, func(was, now *emulator.Facts, in spec.Input) {
			if was.Channels[in.Channel].Mode != in.Mode {
				now.Channels[other(in.Channel)].Override = false
			}
		}),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 mode ch off", "0"),
	},
	{
		ID: "MOD/change-cancels-the-others-boost", Family: "MOD",
		Words: "The boost counters are an array, and a change of mode clears the whole of it.",
		make: after(spec.SetMode, func(was, now *emulator.Facts, in spec.Input) {
			if was.Channels[in.Channel].Mode != in.Mode {
				now.Channels[other(in.Channel)].BoostLeft = 0
			}
		}),
		Witness: witness("0 power on", "0 boost hw 60", "0 mode ch off", "0"),
	},
	{
		ID: "MOD/waits-for-the-minute", Family: "MOD",
		Words:   "Modes are read when the minute turns.",
		make:    waitsForMinute(spec.SetMode),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 mode hw always", "0"),
	},
	{
		ID: "MOD/same-mode-cancels-override", Family: "MOD",
		Words:   "Any press of the mode key clears the override, whether or not the mode changes.",
		make:    after(spec.SetMode, func(_, now *emulator.Facts, in spec.Input) { now.Channels[in.Channel].Override = false }),
		Witness: witness("0 power on", "0 clock 2026-01-14 10:00", "0 override hw", "0 mode hw table", "0"),
	},
	{
		ID: "MOD/same-mode-cancels-boost", Family: "MOD",
		Words:   "Any press of the mode key stops the boost, whether or not the mode changes.",
		make:    after(spec.SetMode, func(_, now *emulator.Facts, in spec.Input) { now.Channels[in.Channel].BoostLeft = 0 }),
		Witness: witness("0 power on", "0 boost hw 60", "0 mode hw table", "0"),
	},
	{
		ID: "MOD/sundays-span-ends-with-the-week", Family: "MOD", claims: wraps,
		Words: "A span past midnight runs into the next row of the table, and after Sunday's there is none.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			each(func(c spec.Channel) {
				if f.Channels[c].Mode == spec.Span {
					cutTails(&f.Channels[c].Table[6])
				}
			})
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-12 05:00", "0 mode hw span", "0 period hw sun 2 22:00 06:00", "0"),
	},
	{
		ID: "MOD/no-span-today-no-tail", Family: "MOD", claims: wraps,
		Words: "A day without an active period is answered with 0 before yesterday's span is looked at.",
		make: plain(hooks{believes: func(f *emulator.Facts) {
			active := func(p spec.Period) bool { return p.On != p.Off }
			each(func(c spec.Channel) {
				t := &f.Channels[c].Table
				for d := range t {
					if f.Channels[c].Mode == spec.Span && !slices.ContainsFunc(t[(d+1)%7][:], active) {
						cutTails(&t[d])
					}
				}
			})
		}}),
		Witness: witness("0 power on", "0 clock 2026-01-17 05:00", "0 mode hw span", "0 period hw fri 2 22:00 06:00", "0 period hw sat 1 00:00 00:00", "0"),
	},
}
