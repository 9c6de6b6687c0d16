// Package complaint reads an account of a heating control that does not do what its household expects: what is known of the unit and
// of the installation, the settings as found, what was done, what changed, and what was sensed, each with its time, its source and
// how sure that source is.
//
// A complaint is YAML:
//
//	title: Plover House - heating comes on an hour late since October
//	asked: 2026-11-04 18:10                                  # when the account was taken; "as found" is found then
//	safety: no                                               # the five questions that come first; no: all were answered no
//	unit: {cycle: 7day, coupling: not known, periods: {is: 3, source: said}}
//	installation: {plan: two valves, room-thermostat: 20.5}
//	settings: [mode ch table, "table ch every 06:30-08:30 17:00-22:00", clock wed 17:10]
//	done:
//	  - {when: 2026-11-02 about 18:00, do: override ch}
//	  - {when: 2026-10-30 14:00-16:30, do: power cut}
//	changed:
//	  - {what: clocks, when: 2026-10-25}
//	sensed:
//	  - {what: radiators, is: cold, when: every day 06:45-07:25 since 2026-10-26}
//	  - {what: ch relay, becomes: on, when: 2026-11-04 07:30, who: integrator}
//	  - {what: click, never: heard, when: 2026-11-04 06:15-06:45, sure: unsure}
//	logs:
//	  - {file: logs/boiler.csv, columns: {flame: F, ch relay: "!D1"}, begins: 2026-11-03 06:00, clock-out: 90 s fast}
//	wanted: warm when we get up
//
// Times are the household's own, as on a telephone. One time is a moment; 06:30-07:30 is all of that time; between 17:00 and 19:00, and a
// part of the day such as evening, are some moment in it. About widens either end by a quarter of an hour; else people are off by up to
// five minutes (who writes the account: two), logs by seconds. A reading that comes twice is its first, unless an offset follows.
//
// A log is a CSV or VCD file in the folder of the complaint or below it, as package recording reads them. Each change of a column that is named
// becomes an observation, and so does each stretch at one level, as if a line of sensed had it with who: log; contact bounce is none, and what was
// not recorded says nothing. Times without an offset are the household's; those without a date need begins, which is right to two minutes, or
// with seconds to seconds. What lies before from or after asked does not count.
//
// Everything that could not be meant is an error with its line and column. What a person may well have done and a unit turns down, such as
// an override in mode off, is none: the replay shows it.
package complaint
