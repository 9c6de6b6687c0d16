package generate

import (
	"fmt"
	"time"

	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// builder gathers machines. Everything it is given is constant, so an error is a mistake in this package.
type builder struct {
	machines []*machine
	err      error
}

// Many worlds begin on a Wednesday in winter, at an hour that the tables name.
const wednesday = "2026-01-14T"

// add begins a machine: its name, what it is about, the options in which its unit is not the full one with the defaults, the bench's
// start and the given inputs.
func (b *builder) add(name, about, start string, options []string, given ...string) *machine {
	w, err := newWorld(start, options, given...)
	if err != nil && b.err == nil {
		b.err = fmt.Errorf("machine %s: %w", name, err)
	}
	m := &machine{world: w, name: name, about: about}
	if b.err == nil {
		m.clock = w.timeOfDay
	}
	b.machines = append(b.machines, m)
	return m
}

// alphabet makes the alphabet of the wait and some lines.
func (m *machine) alphabet(lines ...string) *machine {
	m.letters = []letter{wait}
	for _, text := range lines {
		l := line(text)
		if text == powerOn {
			l.name, l.settles = "power on, and a wait", true
		}
		m.letters = append(m.letters, l)
	}
	return m
}

// powerOn is followed by a wait where it returns power: a board's outputs may be late then, and what comes and goes meanwhile
// need not show.
const powerOn = "power on"

// also adds a letter of several lines.
func (m *machine) also(name string, apart uint64, lines ...string) *machine {
	m.letters = append(m.letters, letter{name: name, lines: lines, apart: apart, settles: lines[len(lines)-1] == powerOn})
	return m
}

// to makes waits last until some readings.
func (m *machine) to(readings ...string) *machine {
	m.waits, m.rule = toReading(readings...)
	return m
}

// timeless is for a world whose clock is left unset, so that no time of day matters, with waits of its own.
func (m *machine) timeless(rule string, waits func(*emulator.Unit) uint64) *machine {
	m.unset, m.clock = true, noClock
	m.waits, m.rule = waits, rule
	return m
}

// allow sets the number of extra states.
func (m *machine) allow(extra int) *machine {
	m.extra = extra
	return m
}

// machines returns all of them, in the order of their files' names.
func machines() ([]*machine, error) {
	var b builder
	b.overrides()
	b.boosts()
	b.holidays()
	b.couplings()
	b.locks()
	b.cuts()
	b.resets()
	b.nights()
	return b.machines, b.err
}

func (b *builder) overrides() {
	b.add("override", "Override and the four modes of one channel, on a table with a gap that `span` bridges.", wednesday+"07:29:00Z", nil,
		"mode hw off", "table both every 07:00-09:00 12:00-13:00").
		alphabet("override ch", "mode ch off", "mode ch table", "mode ch span", "mode ch always").to("07:30", "09:00", "12:00")

	b.add("override-kept", "Override and changes of mode that keep it where the level stays.", wednesday+"07:29:00Z",
		[]string{"override-on-mode-change=kept"}, "mode ch off", "table both every 07:00-09:00 12:00-13:00").
		alphabet("override hw", "mode hw table", "mode hw span", "mode hw off").to("07:30", "09:00", "12:00")

	b.add("override-programmed", "Override that ends at the next programmed time, on periods that touch.", wednesday+"07:29:00Z",
		[]string{"override-end=programmed"}, "mode hw off", "table both every 07:00-09:00 09:00-10:00").
		alphabet("override ch", "mode ch table", "mode ch span").to("07:30", "09:00", "10:00")

	b.add("override-second", "Override in the second before, and in the second of, a switching point.", wednesday+"06:58:00Z", nil,
		"mode ch off", "table both every 07:00-09:00").
		alphabet("override hw").to("06:59", "06:59:59", "07:00", "08:59:59", "09:00").allow(1)

	b.add("edits", "Override and edits that move its end, or take every end away.", wednesday+"07:29:00Z", []string{"timing=separate"},
		"mode ch off", "table hw every 07:00-09:00").
		alphabet("override hw", "period hw every 1 07:00 09:00", "period hw every 1 07:00 08:00", "period hw every 1 00:00 00:00").to("07:30", "08:00", "09:00")

	b.add("span", "Mode `span`, override, and a second period that comes and goes.", wednesday+"07:29:00Z", []string{"timing=separate"},
		"mode hw off", "mode ch span", "table ch every 07:00-09:00 12:00-13:00").
		alphabet("override ch", "period ch every 2 12:00 13:00", "period ch every 2 00:00 00:00").to("07:30", "09:00", "12:00", "13:00")

	b.add("wrap", "Periods past midnight in `table` and `span`, with override.", wednesday+"22:29:00Z",
		[]string{"past-midnight=wrap"}, "mode ch off", "table both every 07:00-09:00 22:00-02:00").
		alphabet("override hw", "mode hw table", "mode hw span").to("22:30", "00:00", "02:00", "07:00", "09:00")

	b.add("wrap-edits", "A period past midnight that is edited while yesterday's runs out, the clock set into it, and override.", wednesday+"22:29:00Z",
		[]string{"past-midnight=wrap", "timing=separate"}, "mode hw off", "table ch every 22:00-02:00").
		alphabet("override ch", "period ch every 1 22:00 02:00", "period ch every 1 22:00 24:00", "clock 2026-01-15 00:00").to("22:30", "00:00", "02:00")
}

func (b *builder) boosts() {
	b.add("boost", "Boost, override and mode of one channel, with boosts that end in a period, out of it and over its ends.", wednesday+"06:29:00Z", nil,
		"mode ch off", "table both every 07:00-09:00").
		alphabet("boost hw 60", "boost hw 0", "override hw", "mode hw off", "mode hw table").to("06:30", "07:00", "08:30")

	b.add("boost-replaces", "Boosts that replace each other, with nothing else under way.", wednesday+"12:00:00Z", nil, "mode hw off", "mode ch off").
		alphabet("boost ch 60", "boost ch 120", "boost ch 0", "override ch").timeless("30 min", every(30*calendar.Minute)).allow(1)

	b.add("boost-extends", "Boosts that extend each other up to the longest, with nothing else under way.", wednesday+"12:00:00Z",
		[]string{"second-boost=extends"}, "mode hw off", "mode ch off").
		alphabet("boost hw 60", "boost hw 120", "override hw").timeless("30 min", every(30*calendar.Minute)).allow(1)
}

func every(seconds uint64) func(*emulator.Unit) uint64 {
	return func(*emulator.Unit) uint64 { return seconds }
}

func (b *builder) holidays() {
	for _, choice := range [...]string{"refused", "allowed"} {
		b.add("holiday-"+choice, "Holiday, boost and override, with boost in a holiday "+choice+", on a table that is on about midnight.", wednesday+"22:29:00Z",
			[]string{"boost-in-holiday=" + choice}, "mode hw off", "table both every 00:00-01:00 22:00-24:00").
			alphabet("holiday 1", "holiday cancel", "boost ch 60", "override ch").to("22:30", "23:30", "00:00", "01:00")
	}
	b.add("holiday-again", "A holiday that another replaces, modes under it, and a cut of no length.", wednesday+"11:59:00Z", nil,
		"mode ch off", "mode hw always").
		alphabet("holiday 1", "holiday 2", "mode hw off", "mode hw always").also("cut, and a wait", 0, "power off", powerOn).to("12:00", "00:00")
}

func (b *builder) couplings() {
	for _, coupling := range [...]string{"gravity", "independent"} {
		b.add(coupling, "Override and boost of both channels with coupling `"+coupling+"`, on one table for both.", wednesday+"07:29:00Z",
			[]string{"coupling=" + coupling, "timing=shared"}, "table both every 07:00-09:00").
			alphabet("override hw", "override ch", "boost hw 60", "boost ch 60").to("07:30", "09:00")
	}
	b.add("gravity-modes", "Modes of both channels with coupling `gravity`, hot water from 07:00 to 09:00 and heating from 08:00 to 10:00.", wednesday+"07:29:00Z",
		[]string{"coupling=gravity", "timing=separate"}, "table hw every 07:00-09:00", "table ch every 08:00-10:00").
		alphabet("mode hw off", "mode hw table", "mode ch off", "mode ch table").to("07:30", "08:00", "09:00", "10:00")

	b.add("gravity-permits", "Permits of both channels with coupling `gravity`: hot water is let call for 10 minutes of each hour, heating for 20.", wednesday+"12:00:00Z",
		[]string{"coupling=gravity"}, "mode hw off", "mode ch off", "lock arm {credential} 1 0 none none 10 20 none").
		alphabet("mode hw always", "mode hw off", "mode ch always", "mode ch off").
		timeless("until the stage is restricted, and from then until 10, 20 and 60 minutes into its hour", toPermit(0, 10*calendar.Minute, 20*calendar.Minute))
}

// toPermit makes waits last until some seconds of the hour since the stage `restricted` began, or until it begins.
func toPermit(edges ...uint64) func(*emulator.Unit) uint64 {
	return func(u *emulator.Unit) uint64 {
		l := u.Facts().Lock
		switch l.Stage {
		case spec.Restricted:
			left := uint64(calendar.Hour)
			for _, edge := range edges {
				left = min(left, (edge+calendar.Hour-l.InStage%calendar.Hour-1)%calendar.Hour+1)
			}
			return left
		case spec.Dormant:
			return idle
		default:
			return uint64(l.Terms.Days)*calendar.Day - l.Counted
		}
	}
}

func (b *builder) locks() {
	b.add("lock", "The lock's stages and permits, re-arming, removal, reset and a cut of no length, on a unit with its clock unset.", wednesday+"12:00:00Z", nil,
		"mode hw off", "mode ch always").
		alphabet("lock arm {credential} 1 0 none none none 20 none", "lock arm {credential} 1 1 none 30 none 20 none", "lock remove {credential}",
			"lock remove {wrong}").
		also("reset, mode ch always", 0, "reset", "mode ch always").also("cut, and a wait", 0, "power off", powerOn).
		timeless("until a minute before the stage ends, until it ends, and until a permit shuts or, in restricted, opens", throughStages)

	m := b.add("lock-cuts", "Cuts that the reserve outlasts, and cuts that outlast it, while the lock counts and while it limits.", wednesday+"12:00:00Z",
		[]string{"reserve=480"}, "mode hw off", "mode ch always", "lock arm {credential} 1 0 none none none 20 none").
		alphabet("power off", powerOn)
	m.timeless("until the lock has counted another 8 hours; in restricted until the permit next changes, and without power until the reserve has run out", eightHours).allow(1)
}

// throughStages makes waits last until the instants that matter in a lock of one day.
func throughStages(u *emulator.Unit) uint64 {
	l := u.Facts().Lock
	end := uint64(l.Terms.Days) * calendar.Day
	switch {
	case l.Stage == spec.Restricted:
		return toPermit(0, 20*calendar.Minute)(u)
	case l.Stage == spec.Dormant:
		return idle
	case l.Stage == spec.Notice && l.InStage < 30*calendar.Minute:
		return 30*calendar.Minute - l.InStage
	case l.Counted < end-calendar.Minute:
		return end - calendar.Minute - l.Counted
	default:
		return end - l.Counted
	}
}

// eightHours is the full unit's reserve.
func eightHours(u *emulator.Unit) uint64 {
	f := u.Facts()
	switch {
	case f.ReserveLeft > 0:
		return f.ReserveLeft
	case f.ClockStopped:
		return idle
	case f.Lock.Stage == spec.Restricted:
		return toPermit(0, 20*calendar.Minute)(u)
	default:
		return 8*calendar.Hour - f.Lock.Counted%(8*calendar.Hour)
	}
}

func (b *builder) cuts() {
	for _, lost := range [...]string{"unset", "resumes", "restarts"} {
		for _, through := range [...]string{"dropped", "kept"} {
			b.add("cut-"+lost+"-"+through,
				"Cuts shorter and longer than the reserve over switching points, with override "+through+" through a cut, and a lost clock that "+map[string]string{
					"unset": "is unset", "resumes": "resumes", "restarts": "restarts"}[lost]+".",
				"2026-01-13T23:59:00Z", []string{"lost-clock=" + lost, "through-cut=" + through, "reserve=480"}, "mode hw off", "table both every 08:00-16:00").
				alphabet("power off", powerOn, "override ch", "clock 2026-01-14 08:00").to("00:00", "08:00", "16:00")
		}
	}
	b.add("cut-second", "Cuts of the reserve's length and of one second less, about a switching point.", wednesday+"07:58:00Z",
		[]string{"reserve=480"}, "mode ch off", "table both every 08:00-18:00").
		alphabet("power off", powerOn, "clock 2026-01-14 07:59").to("07:59:59", "08:00", "15:59:59", "16:00")

	for _, through := range [...]string{"dropped", "kept"} {
		m := b.add("cut-boost-"+through, "Boosts "+through+" through a cut, within the reserve and past it, on a unit with its clock unset.", wednesday+"12:00:00Z",
			[]string{"through-cut=" + through, "reserve=480"}, "mode hw off", "mode ch off").
			alphabet("power off", powerOn, "boost ch 120", "boost ch 60")
		m.timeless("until whole hours are left of a boost, or 1 h where none runs, or without power and boost until the reserve has run out", boostOrReserve)
	}
}

func boostOrReserve(u *emulator.Unit) uint64 {
	f := u.Facts()
	left := f.Channels[spec.CH].BoostLeft
	if f.ReserveLeft > 0 && left == 0 {
		return f.ReserveLeft
	}
	if part := left % calendar.Hour; part > 0 {
		return withinReserve(u, part)
	}
	return withinReserve(u, calendar.Hour)
}

func (b *builder) resets() {
	b.add("reset", "Reset among override, boost and mode, on the default tables.", wednesday+"07:29:00Z", []string{"cycle=24h"}).
		alphabet("reset", "override ch", "boost ch 60", "mode ch off").to("07:30", "08:30", "09:00")

	b.add("reset-unset", "Reset that unsets the clock, setting it, override, and an edited table.", wednesday+"07:29:00Z",
		[]string{"clock-after-reset=unset", "cycle=24h", "timing=separate"}, "mode hw off").
		alphabet("reset", "clock 2026-01-14 07:30", "override ch", "period ch every 1 07:00 08:00").to("07:30", "08:00")

	m := b.add("clock", "A clock that is unset, set and lost, with override, modes and dates that are refused.", wednesday+"12:00:00Z",
		[]string{"reserve=480"}, "mode hw off", "table both every 07:00-09:00").
		alphabet("clock 2026-01-14 07:00", "clock 2026-01-14 09:00", "clock 2026-02-29 08:00", "override ch", "mode ch always", "mode ch table").
		also("cut of 8 h, and a wait", 8*calendar.Hour, "power off", powerOn).to("07:00", "08:00", "09:00")
	m.unset = true
}

func (b *builder) nights() {
	spring := b.add("spring", "The night on which summer time begins: override, boost and clock sets over a gap that the change takes away.", "2026-03-29T00:44:00Z",
		[]string{"summer-time=automatic"}, "mode hw off", "table both every 00:30-01:30 02:00-03:00").
		alphabet("override ch", "boost ch 60", "clock 2026-03-29 00:45", "clock 2026-03-29 01:30")
	b.through(spring, "2026-03-29T00:45:00Z", "2026-03-29T01:00:00Z", "2026-03-29T01:45:00Z", "2026-03-29T02:00:00Z")

	skipped := b.add("spring-skipped", "The night on which summer time begins: a period of which nothing is left, and override.", "2026-03-29T00:29:00Z",
		[]string{"summer-time=automatic"}, "mode ch off", "table both every 01:00-02:00").
		alphabet("override hw", "clock 2026-03-29 00:30", "clock 2026-03-29 02:00")
	b.through(skipped, "2026-03-29T00:30:00Z", "2026-03-29T00:59:59Z", "2026-03-29T01:00:00Z", "2026-03-29T01:30:00Z")

	autumn := b.add("autumn", "The night on which summer time ends: override, boost and clock sets about a period that comes twice.", "2026-10-24T23:59:00+01:00",
		[]string{"summer-time=automatic"}, "mode hw off", "table both every 01:30-02:00").
		alphabet("override ch", "boost ch 60", "clock 2026-10-25 01:30")
	b.through(autumn, "2026-10-24T23:00:00Z", "2026-10-25T00:30:00Z", "2026-10-25T01:00:00Z", "2026-10-25T01:30:00Z", "2026-10-25T02:00:00Z")
}

// through makes waits of a night last until some instants of UTC, in order, and from the last of them a day.
func (b *builder) through(m *machine, instants ...string) {
	epoch := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).Unix()
	var marks []int64
	for _, text := range instants {
		at, err := time.Parse(time.RFC3339, text)
		if err != nil && b.err == nil {
			b.err = fmt.Errorf("machine %s: %w", m.name, err)
		}
		marks = append(marks, at.Unix()-epoch)
	}
	last := marks[len(marks)-1]
	m.waits = func(u *emulator.Unit) uint64 {
		now := u.Facts().UTC
		for _, mark := range marks {
			if mark > now {
				return uint64(mark - now)
			}
		}
		return calendar.Day
	}
	m.rule = fmt.Sprintf("until the next of %s by UTC, and from the last of them a day", orList(instants))
	m.clock = func(f *emulator.Facts) (int64, string) {
		utc := f.UTC
		if utc > last { // the days that follow are alike
			utc = last + (utc-last)%calendar.Day
		}
		text := clockText(calendar.SecondOfDay(m.reading(utc)))
		if calendar.SummerTime(utc) {
			text += " summer time"
		} else {
			text += " standard time"
		}
		return utc, text
	}
}
