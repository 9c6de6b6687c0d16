package emulator

import (
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

const (
	minutesPerDay  = spec.MinutesPerDay
	minutesPerWeek = 7 * minutesPerDay
)

// week is a channel's table: a row for each day from Monday, whatever the cycle.
type week [7][spec.MaxPeriods]spec.Period

// daysOf returns the days that an edit of the day's table covers, first and last (TAB-9 to TAB-11).
func daysOf(d spec.Day) (first, last int) {
	switch d {
	case spec.All:
		return 0, 6
	case spec.Weekdays:
		return 0, 4
	case spec.Weekend:
		return 5, 6
	default:
		return int(d), int(d)
	}
}

// defaultWeek returns the default table (TAB-18).
func defaultWeek(cycle spec.Cycle, periods uint8) (w week) {
	const (
		seven   = 7 * 60
		nine    = 9 * 60
		sixteen = 16 * 60
		late    = 23 * 60
	)
	for d := range w {
		if weekend := d >= 5 && cycle != spec.Cycle24h; weekend || periods == 1 {
			w[d][0] = spec.Period{On: seven, Off: late}
		} else {
			w[d][0] = spec.Period{On: seven, Off: nine}
			w[d][1] = spec.Period{On: sixteen, Off: late}
		}
	}
	return w
}

// fallback is a default table and its plan, which takes longest to make.
type fallback struct {
	table week
	plan  plan
}

// fallbacks are all of them, by cycle: for units with one period a day, and with more.
var fallbacks = func() (all [2][spec.Cycle7Day + 1]fallback) {
	for i := range all {
		for cycle := range all[i] {
			d := &all[i][cycle]
			d.table = defaultWeek(spec.Cycle(cycle), uint8(i+1))
			d.plan.make(spec.Table, &d.table)
		}
	}
	return all
}()

// span is a stretch of the week in minutes, half-open, with the slots whose on and off bound it. It may run past the week's end.
type span struct {
	from, to         uint16
	fromSlot, toSlot uint8
}

// asked returns the stretches for which a day's periods ask in the mode, as minutes of the week from Monday 00:00, possibly past
// its end: a period that wraps belongs to the day on which it begins (TAB-7).
func (w *week) asked(mode spec.Mode, day int, spans *[spec.MaxPeriods]span) int {
	n := 0
	for slot, p := range w[day] {
		if p.On == p.Off {
			continue // inactive (TAB-2)
		}
		s := span{from: p.On, to: p.Off, fromSlot: uint8(slot + 1), toSlot: uint8(slot + 1)}
		if s.to < s.from {
			s.to += minutesPerDay
		}
		if mode == spec.Span && n == 1 {
			spans[0].include(s) // first on to last off (MOD-3, MOD-5)
			continue
		}
		spans[n] = s
		n++
	}
	for i := range n {
		spans[i].from += uint16(day) * minutesPerDay
		spans[i].to += uint16(day) * minutesPerDay
	}
	return n
}

func (s *span) include(t span) {
	if t.from < s.from {
		s.from, s.fromSlot = t.from, t.fromSlot
	}
	if t.to > s.to {
		s.to, s.toSlot = t.to, t.toSlot
	}
}

// maxSpans is the most stretches of a week: every slot of every day, and one cut in two at the week's end.
const maxSpans = 7*spec.MaxPeriods + 1

// plan is a week's switching points for one mode, worked out when the mode or the table changes so that going to the next
// one costs an addition. Without any, the level is constant.
type plan struct {
	points   [2 * maxSpans]point
	n        uint8
	constant spec.Level // the level if there is no point
	any      bool       // there is an active period
}

// point is a switching point: the minute of the week, what the level becomes, and the slot whose on or off it is.
type point struct {
	minute uint16
	level  spec.Level
	slot   uint8
}

// make works out the union of what the days ask for (TAB-4, TAB-5).
func (p *plan) make(mode spec.Mode, w *week) {
	*p = plan{}
	switch mode {
	case spec.Off:
		return
	case spec.Always:
		p.constant = 1
		return
	}
	// The week is a circle: a stretch past its end comes back at its start.
	var spans [maxSpans + spec.MaxPeriods]span
	n := 0
	var day [spec.MaxPeriods]span
	for d := range w {
		for _, s := range day[:w.asked(mode, d, &day)] {
			if s.to > minutesPerWeek {
				n = insert(&spans, n, span{to: s.to - minutesPerWeek, toSlot: s.toSlot, fromSlot: s.fromSlot})
				s.to = minutesPerWeek
			}
			n = insert(&spans, n, s)
		}
	}
	if n == 0 {
		return
	}
	p.any = true
	merged := 0
	for _, s := range spans[1:n] {
		if last := &spans[merged]; s.from <= last.to {
			if s.to > last.to {
				last.to, last.toSlot = s.to, s.toSlot
			}
			continue
		}
		merged++
		spans[merged] = s
	}
	union := spans[:merged+1]
	first, last := union[0], &union[merged]
	if first.from == 0 && last.to == minutesPerWeek {
		if merged == 0 {
			p.constant = 1 // the table is full
			return
		}
		// What ends with the week goes on in its first stretch.
		last.to, last.toSlot = first.to, first.toSlot
		union = union[1:]
	}
	for _, s := range union {
		p.add(point{minute: s.from, level: 1, slot: s.fromSlot})
		p.add(point{minute: s.to % minutesPerWeek, level: 0, slot: s.toSlot})
	}
}

// insert puts a stretch in its place by its start.
func insert(spans *[maxSpans + spec.MaxPeriods]span, n int, s span) int {
	i := n
	for ; i > 0 && spans[i-1].from > s.from; i-- {
		spans[i] = spans[i-1]
	}
	spans[i] = s
	return n + 1
}

// add puts a point in its place by its minute.
func (p *plan) add(q point) {
	i := p.n
	for ; i > 0 && p.points[i-1].minute > q.minute; i-- {
		p.points[i] = p.points[i-1]
	}
	p.points[i] = q
	p.n++
}

// at returns the level at a second of the week, which point comes next, and in how many seconds.
func (p *plan) at(second int64) (level spec.Level, next uint8, wait uint64) {
	for beyond := p.n; next < beyond; {
		if middle := (next + beyond) / 2; int64(p.points[middle].minute)*calendar.Minute <= second {
			next = middle + 1
		} else {
			beyond = middle
		}
	}
	before := next - 1
	if next == 0 {
		before = p.n - 1
	}
	level = p.points[before].level
	if next == p.n {
		next = 0
	}
	wait = uint64(int64(p.points[next].minute)*calendar.Minute - second)
	if int64(wait) <= 0 {
		wait += calendar.Week
	}
	return level, next, wait
}

// step passes the switching point that is due, and returns the slot whose on or off it is. Since s changes, an override ends (OVR-2).
func (u *Unit) step(c spec.Channel) (slot uint8) {
	ch, plan := &u.channels[c], &u.plans[c]
	p := plan.points[ch.cursor]
	ch.level = p.level
	ch.override = false
	ch.cursor++
	if ch.cursor == plan.n {
		ch.cursor = 0
	}
	wait := int64(plan.points[ch.cursor].minute) - int64(p.minute)
	if wait <= 0 {
		wait += minutesPerWeek
	}
	ch.next += uint64(wait) * calendar.Minute
	return p.slot
}

// follow brings a channel's scheduled level and next switching point up to date after the clock, the mode or the table has
// changed. An override ends if s is not what it was (OVR-3 to OVR-5).
func (u *Unit) follow(c spec.Channel) {
	ch, plan := &u.channels[c], &u.plans[c]
	before := ch.level
	ch.next = never
	switch {
	case !u.clock.set && ch.mode != spec.Always:
		ch.level = 0 // CLK-11
	case !u.clock.set || plan.n == 0:
		ch.level = plan.constant
	default:
		var wait uint64
		ch.level, ch.cursor, wait = plan.at(u.clock.secondOfWeek(u.now))
		ch.next = u.now + wait
	}
	if ch.level != before {
		ch.override = false
	}
}

// remake makes a channel's plan anew for a mode, which becomes the channel's.
func (u *Unit) remake(c spec.Channel, mode spec.Mode) {
	u.channels[c].mode = mode
	u.plans[c].make(mode, &u.tables[c])
	u.edits++
}

// replan is for a change of mode or table.
func (u *Unit) replan(c spec.Channel) {
	ch := &u.channels[c]
	u.remake(c, ch.mode)
	u.follow(c)
	if !u.canEndOverride(c) {
		ch.override = false // OVR-10, OVR-17
	}
}

// canEndOverride reports whether an override could end by itself: whether there is a switching point, or a programmed time, ahead
// (OVR-9, OVR-17).
func (u *Unit) canEndOverride(c spec.Channel) bool {
	if !u.clock.set {
		return false
	}
	if u.ics.OverrideProgrammed {
		return u.plans[c].any
	}
	return u.plans[c].n > 0
}

// eachProgrammed calls f with every programmed time of the week: its minute, from 0 to minutesPerWeek-1, and slot.
func (u *Unit) eachProgrammed(c spec.Channel, f func(minute uint16, slot uint8)) {
	mode := u.channels[c].mode
	if mode != spec.Table && mode != spec.Span {
		return
	}
	var day [spec.MaxPeriods]span
	for d := range u.tables[c] {
		for _, s := range day[:u.tables[c].asked(mode, d, &day)] {
			f(s.from, s.fromSlot)
			f(s.to%minutesPerWeek, s.toSlot)
		}
	}
}

// nextProgrammed returns the seconds from a second of the week to the next programmed time after it. There must be one.
func (u *Unit) nextProgrammed(c spec.Channel, second int64) uint64 {
	wait := int64(calendar.Week)
	u.eachProgrammed(c, func(minute uint16, _ uint8) {
		w := int64(minute)*calendar.Minute - second
		if w <= 0 {
			w += calendar.Week
		}
		wait = min(wait, w)
	})
	return uint64(wait)
}

func (u *Unit) isProgrammed(c spec.Channel, minute uint16) bool {
	return u.programmedSlot(c, minute) != 0
}

// programmedSlot returns the slot with a programmed time at the minute of the week, or 0.
func (u *Unit) programmedSlot(c spec.Channel, minute uint16) (slot uint8) {
	u.eachProgrammed(c, func(m uint16, s uint8) {
		if m == minute {
			slot = s
		}
	})
	return slot
}

// setMode is the input of that name.
func (u *Unit) setMode(c spec.Channel, mode spec.Mode) {
	ch := &u.channels[c]
	if mode == ch.mode {
		return // MOD-9
	}
	scheduled := func(m spec.Mode) bool { return m == spec.Table || m == spec.Span }
	if !u.ics.OverrideKept || !scheduled(ch.mode) || !scheduled(mode) {
		ch.override = false // OVR-7; else follow ends it if s changes (OVR-8)
	}
	ch.boostEnd = never // BST-7
	ch.mode = mode
	u.replan(c)
}

// setPeriod is the input of that name.
func (u *Unit) setPeriod(table spec.TableID, day spec.Day, slot uint8, p spec.Period) spec.Refusal {
	if (u.fitted.Timing == spec.Shared) != (table == spec.BothTables) || !day.In(u.fitted.Cycle) {
		return spec.NoSuchTable
	}
	if slot < 1 || slot > u.ics.Periods {
		return spec.NoSuchSlot
	}
	p, ok := u.goodPeriod(p)
	if !ok {
		return spec.BadPeriod
	}
	first, last := daysOf(day)
	for c := range u.channels {
		if table != spec.BothTables && int(table) != c {
			continue
		}
		changed := false
		for d := first; d <= last; d++ {
			at := &u.tables[c][d][slot-1]
			changed = changed || *at != p
			*at = p
		}
		if changed {
			u.replan(spec.Channel(c))
		}
	}
	return spec.NoRefusal
}

// goodPeriod returns the period as the unit takes it, or false if it is a bad value that is not clamped (TAB-3, TAB-6, INP-4).
func (u *Unit) goodPeriod(p spec.Period) (spec.Period, bool) {
	q := p
	q.On = min(q.On, minutesPerDay-1)
	q.Off = min(q.Off, minutesPerDay)
	if q.Off < q.On && !u.ics.Wrap {
		q.Off = minutesPerDay
	}
	return q, q == p || u.ics.Clamp
}
