package emulator

import (
	"math/bits"

	"example.org/hearthbench/emulator/spec"
)

// causes gathers what happened in a second, for the changes it brings about.
type causes struct {
	bits  [spec.NumChannels]uint16 // 1<<cause
	slot  [spec.NumChannels]uint8
	panel spec.Cause
}

func (d *causes) add(c spec.Channel, cause spec.Cause) { d.bits[c] |= 1 << cause }

func (d *causes) addAll(cause spec.Cause) {
	d.add(spec.HW, cause)
	d.add(spec.CH, cause)
}

// byInput is for changes that the input under way brings about.
var byInput = causes{bits: [spec.NumChannels]uint16{1 << spec.CauseInput, 1 << spec.CauseInput}, panel: spec.CauseInput}

// of returns the most telling cause for a channel: the first in the order of the constants.
func (d *causes) of(c spec.Channel) spec.Cause {
	if d.bits[c] == 0 {
		return spec.NoCause
	}
	return spec.Cause(bits.TrailingZeros16(d.bits[c]))
}

// demand returns what the channel asks for, and the clause that says so: the formula's d.
func (u *Unit) demand(c spec.Channel) (spec.Level, spec.Clause) {
	ch := &u.channels[c]
	switch {
	case ch.boostEnd != never:
		return 1, spec.ClauseBoost
	case u.inHoliday():
		return 0, spec.ClauseHoliday
	case ch.override:
		return 1 - ch.level, spec.ClauseOverride
	case !u.clock.set && (ch.mode == spec.Table || ch.mode == spec.Span):
		return 0, spec.ClauseUnset
	default:
		return ch.level, modeClauses[ch.mode]
	}
}

var modeClauses = [...]spec.Clause{
	spec.Off: spec.ClauseOff, spec.Table: spec.ClauseTable, spec.Span: spec.ClauseSpan, spec.Always: spec.ClauseAlways,
}

// call returns the channel's own call for its relay, coupling apart, and the clause that settles it.
func (u *Unit) call(c spec.Channel) (spec.Level, spec.Clause) {
	if !u.power.on || !u.fitted.Channels.Has(c) {
		return 0, spec.ClausePower
	}
	level, by := u.demand(c)
	if level == 1 && !u.lock.permits(c) {
		return 0, spec.ClausePermit
	}
	return level, by
}

// permits reports whether the channel may call now.
func (l *lock) permits(c spec.Channel) bool { return l.stage < spec.Notice || l.open[c] }

// showRelays brings the relays in line with the formula and appends what changes. Hot water closes before, and opens after, any
// change of heating (OUT-3).
func (u *Unit) showRelays(changes []spec.Change, due *causes) []spec.Change {
	hw, hwBy := u.call(spec.HW)
	ch, chBy := u.call(spec.CH)
	from := spec.HW
	if hw == 0 && ch == 1 && u.fitted.Coupling == spec.Gravity {
		hw, hwBy = 1, spec.ClauseCoupling // CPL-1
		from = spec.CH
	}
	if hw > u.shown[spec.SigHW] {
		changes = u.show(changes, spec.SigHW, hw, hwBy, due.of(from), due.slot[from])
	}
	if ch != u.shown[spec.SigCH] {
		changes = u.show(changes, spec.SigCH, ch, chBy, due.of(spec.CH), due.slot[spec.CH])
	}
	if hw < u.shown[spec.SigHW] {
		// It may have been held by the coupling alone, and then heating's cause is its own.
		if due.bits[spec.HW] == 0 {
			from = spec.CH
		}
		changes = u.show(changes, spec.SigHW, hw, hwBy, due.of(from), due.slot[from])
	}
	return changes
}

var stageClauses = [...]spec.Clause{
	spec.Dormant: spec.ClauseDormant, spec.Counting: spec.ClauseCounting, spec.Notice: spec.ClauseNotice, spec.Restricted: spec.ClauseRestrict,
}

// showPanel does the same for alert and sounder.
func (u *Unit) showPanel(changes []spec.Change, due *causes) []spec.Change {
	alert, alertBy := spec.Level(u.lock.stage), stageClauses[u.lock.stage]
	sounder, sounderBy := spec.Level(0), spec.ClauseSounder
	switch {
	case !u.power.on:
		alert, alertBy, sounderBy = spec.Level(spec.Dormant), spec.ClausePower, spec.ClausePower
	case u.sounding():
		sounder = 1
	}
	if alert != u.shown[spec.SigAlert] {
		changes = u.show(changes, spec.SigAlert, alert, alertBy, due.panel, 0)
	}
	if sounder != u.shown[spec.SigSounder] {
		cause := due.panel
		if cause == spec.NoCause {
			cause = spec.CauseSounder
		}
		changes = u.show(changes, spec.SigSounder, sounder, sounderBy, cause, 0)
	}
	return changes
}

func (u *Unit) show(changes []spec.Change, s spec.Signal, level spec.Level, by spec.Clause, cause spec.Cause, slot uint8) []spec.Change {
	u.shown[s] = level
	if cause != spec.CausePeriod {
		slot = 0
	}
	changes = append(changes, spec.Change{})
	c := &changes[len(changes)-1]
	c.At, c.Signal, c.Level, c.By, c.Cause, c.Slot = u.now, s, level, by, cause, slot
	return changes
}
