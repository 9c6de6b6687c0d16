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

// makePlan works out the union of what the days ask for (TAB-4, TAB-5).
func makePlan(mode spec.Mode, w *week) (p plan) {
	switch mode {
	case spec.Off:
		return plan{}
	case spec.Always:
		return plan{constant: 1}
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
		return plan{}
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
			return p
		}
		// What ends with the week goes on in its first stretch.
		last.to, last.toSlot = first.to, first.toSlot
		union = union[1:]
	}
	for _, s := range union {
		p.add(point{minute: s.from, level: 1, slot: s.fromSlot})
		p.add(point{minute: s.to % minutesPerWeek, level: 0, slot: s.toSlot})
	}
	return p
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
	for next < p.n && int64(p.points[next].minute)*calendar.Minute <= second {
		next++
	}
	level = p.points[(next+p.n-1)%p.n].level
	next %= p.n
	wait = uint64(int64(p.points[next].minute)*calendar.Minute - second)
	if int64(wait) <= 0 {
		wait += calendar.Week
	}
	return level, next, wait
}

// step passes the switching point that is due, and returns the slot whose on or off it is. Since s changes, an override ends (OVR-2).
func (ch *channel) step() (slot uint8) {
	p := ch.plan.points[ch.cursor]
	ch.level = p.level
	ch.override = false
	ch.cursor++
	if ch.cursor == ch.plan.n {
		ch.cursor = 0
	}
	wait := int64(ch.plan.points[ch.cursor].minute) - int64(p.minute)
	if wait <= 0 {
		wait += minutesPerWeek
	}
	ch.next += uint64(wait) * calendar.Minute
	return p.slot
}

// follow brings a channel's scheduled level and next switching point up to date after the clock, the mode or the table has
// changed. An override ends if s is not what it was (OVR-3 to OVR-5).
func (u *Unit) follow(c spec.Channel) {
	ch := &u.channels[c]
	before := ch.level
	ch.next = never
	switch {
	case !u.clock.set && ch.mode != spec.Always:
		ch.level = 0 // CLK-11
	case !u.clock.set || ch.plan.n == 0:
		ch.level = ch.plan.constant
	default:
		var wait uint64
		ch.level, ch.cursor, wait = ch.plan.at(u.clock.secondOfWeek(u.now))
		ch.next = u.now + wait
	}
	if ch.level != before {
		ch.override = false
	}
}

// replan is for a change of mode or table.
func (u *Unit) replan(c spec.Channel) {
	ch := &u.channels[c]
	ch.plan = makePlan(ch.mode, &ch.table)
	u.follow(c)
	if !u.canEndOverride(ch) {
		ch.override = false // OVR-10, OVR-17
	}
}

// canEndOverride reports whether an override could end by itself: whether there is a switching point, or a programmed time, ahead
// (OVR-9, OVR-17).
func (u *Unit) canEndOverride(ch *channel) bool {
	if !u.clock.set {
		return false
	}
	if u.ics.OverrideProgrammed {
		return ch.plan.any
	}
	return ch.plan.n > 0
}

// eachProgrammed calls f with every programmed time of the week: its minute, from 0 to minutesPerWeek-1, and slot.
func (ch *channel) eachProgrammed(f func(minute uint16, slot uint8)) {
	if ch.mode != spec.Table && ch.mode != spec.Span {
		return
	}
	var day [spec.MaxPeriods]span
	for d := range ch.table {
		for _, s := range day[:ch.table.asked(ch.mode, d, &day)] {
			f(s.from, s.fromSlot)
			f(s.to%minutesPerWeek, s.toSlot)
		}
	}
}

// nextProgrammed returns the seconds from a second of the week to the next programmed time after it. There must be one.
func (ch *channel) nextProgrammed(second int64) uint64 {
	wait := int64(calendar.Week)
	ch.eachProgrammed(func(minute uint16, _ uint8) {
		w := int64(minute)*calendar.Minute - second
		if w <= 0 {
			w += calendar.Week
		}
		wait = min(wait, w)
	})
	return uint64(wait)
}

func (ch *channel) isProgrammed(minute uint16) bool { return ch.programmedSlot(minute) != 0 }

// programmedSlot returns the slot with a programmed time at the minute of the week, or 0.
func (ch *channel) programmedSlot(minute uint16) (slot uint8) {
	ch.eachProgrammed(func(m uint16, s uint8) {
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
			at := &u.channels[c].table[d][slot-1]
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
