// Package scenario reads what a unit is, how it is set up and what is done to it when, from a file that a person writes; lets the
// emulator do it; and gives the trace, with the reason of every change, as a table with a drawing and as JSON.
//
// A scenario is YAML:
//
//	title: Heating on a short day
//	unit: {coupling: gravity, periods: 3}      # ICS options; what is left out is as in spec.FullICS
//	start: 2026-01-14 05:00                    # local time; the unit's clock is set to it
//	given: [mode hw off, "table ch every 06:30-09:00 17:00-22:00"]
//	steps:
//	  - {at: 2026-01-14 08:00, do: override ch}
//	  - {at: +01:30:00, do: boost ch 60}       # after the step before
//	  - {at: 2026-01-14 12:00:30, do: override hw, expect: refused}
//	until: 2026-01-15 05:00
//
// Lines are those of vectors/ADAPTER.md with the words of vectors/VECTORS.md that stand for what differs from unit to unit, and
// "boost CHANNEL cancel" for a boost of 0 minutes. Local times are true ones, in the unit's zone and with summer time if the unit has
// that: they do not move when the unit's clock is set. Of a reading that comes twice the first is meant, unless an offset follows it.
//
// What could not be meant is an error with its place. So is a value that the unit would turn down, unless the step expects that; an
// input that the unit refuses because of the state it is in is none, and shows in the trace with its reason. Every given input must be
// accepted.
package scenario
