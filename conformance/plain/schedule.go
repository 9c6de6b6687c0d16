package plain

import (
	"time"

	"example.org/hearthbench/emulator/spec"
)

// scheduled returns s: what mode and table alone ask of a channel at a reading.
func (u *Unit) scheduled(c spec.Channel, now time.Time) spec.Level {
	if !u.clockSet {
		if u.channel[c].mode == spec.Always {
			return 1 // CLK-12
		}
		return 0 // CLK-11
	}
	if u.asks(c, weekday(now), minute(now)) {
		return 1
	}
	return 0
}

// asks reports whether a channel's mode and table ask for 1 at a minute of a day of the week.
func (u *Unit) asks(c spec.Channel, today spec.Day, minute int) bool {
	ch := &u.channel[c]
	yesterday := (today + 6) % 7
	switch ch.mode {
	case spec.Table: // MOD-2
		for _, p := range ch.table[today] {
			if active(p) && int(p.On) <= minute && minute < end(p) { // TAB-1, TAB-4
				return true
			}
		}
		for _, p := range ch.table[yesterday] {
			if active(p) && minute+spec.MinutesPerDay < end(p) { // TAB-7, TAB-8
				return true
			}
		}
		return false
	case spec.Span: // MOD-3, MOD-5
		if first, last, ok := span(&ch.table[today]); ok && first <= minute && minute < last {
			return true
		}
		_, last, ok := span(&ch.table[yesterday])
		return ok && minute+spec.MinutesPerDay < last
	case spec.Always: // MOD-6
		return true
	default: // MOD-1
		return false
	}
}

// active is TAB-2.
func active(p spec.Period) bool { return p.On != p.Off }

// end returns the off of an active period in minutes from the midnight at which the period's own day begins (TAB-7, MOD-5).
func end(p spec.Period) int {
	if p.Off < p.On {
		return int(p.Off) + spec.MinutesPerDay
	}
	return int(p.Off)
}

// span returns the earliest on and the latest off among a day's active periods (MOD-3), if it has any (MOD-4).
func span(slots *[spec.MaxPeriods]spec.Period) (first, last int, ok bool) {
	for _, p := range slots {
		if !active(p) {
			continue
		}
		if !ok || int(p.On) < first {
			first = int(p.On)
		}
		if !ok || end(p) > last {
			last = end(p)
		}
		ok = true
	}
	return first, last, ok
}

// programmed reports whether a minute of a day of the week is a programmed time of a channel: an on or an off of an active
// period, in mode span only the first on and the last off of a day. An off at the end of the day or past it is read on the
// day after.
func (u *Unit) programmed(c spec.Channel, today spec.Day, minute int) bool {
	ch := &u.channel[c]
	yesterday := (today + 6) % 7
	switch ch.mode {
	case spec.Table:
		for _, p := range ch.table[today] {
			if active(p) && (minute == int(p.On) || minute == end(p)) {
				return true
			}
		}
		for _, p := range ch.table[yesterday] {
			if active(p) && minute+spec.MinutesPerDay == end(p) {
				return true
			}
		}
		return false
	case spec.Span:
		if first, last, ok := span(&ch.table[today]); ok && (minute == first || minute == last) {
			return true
		}
		_, last, ok := span(&ch.table[yesterday])
		return ok && minute+spec.MinutesPerDay == last
	default:
		return false
	}
}

// overrideCanEnd reports whether an override of a channel would ever end as time passes, by looking at every minute of the
// week (OVR-9, OVR-17).
func (u *Unit) overrideCanEnd(c spec.Channel) bool {
	if mode := u.channel[c].mode; !u.clockSet || mode == spec.Off || mode == spec.Always {
		return false
	}
	for _, d := range days {
		for m := range spec.MinutesPerDay {
			if u.ics.OverrideProgrammed {
				if u.programmed(c, d, m) {
					return true
				}
			} else if u.asks(c, d, m) != u.asks(c, spec.Mon, 0) {
				return true
			}
		}
	}
	return false
}
