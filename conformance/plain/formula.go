package plain

import (
	"time"

	"example.org/hearthbench/emulator/spec"
)

// show writes down every signal whose level by the formula is not the one shown.
func (u *Unit) show(now time.Time) {
	levels, reasons := u.formula(now)
	record := func(s spec.Signal) {
		if levels[s] != u.shown[s] {
			u.shown[s] = levels[s]
			u.changes = append(u.changes, spec.Change{At: u.elapsed, Signal: s, Level: levels[s], By: reasons[s]})
		}
	}
	// OUT-3: hot water closes before, and opens after, any change of heating.
	if levels[spec.SigHW] == 1 {
		record(spec.SigHW)
		record(spec.SigCH)
	} else {
		record(spec.SigCH)
		record(spec.SigHW)
	}
	record(spec.SigAlert)
	record(spec.SigSounder)
}

// formula returns every signal's level and the reason of it: "The formula" of BEHAVIOUR.md.
func (u *Unit) formula(now time.Time) (levels [spec.NumSignals]spec.Level, reasons [spec.NumSignals]spec.Clause) {
	if !u.power {
		for s := range reasons {
			reasons[s] = spec.ClausePower // PWR-1
		}
		return levels, reasons
	}

	for _, c := range channels {
		if u.fitted.Channels.Has(c) {
			levels[c], reasons[c] = u.ownCall(c)
		}
	}
	gravity := u.fitted.Coupling == spec.Gravity
	if gravity && levels[spec.SigCH] == 1 && levels[spec.SigHW] == 0 {
		levels[spec.SigHW], reasons[spec.SigHW] = 1, spec.ClauseCoupling // CPL-1
	}

	stage, _ := u.stage()
	levels[spec.SigAlert] = spec.Level(stage)
	switch stage {
	case spec.Dormant:
		reasons[spec.SigAlert] = spec.ClauseDormant
	case spec.Counting:
		reasons[spec.SigAlert] = spec.ClauseCounting
	case spec.Notice:
		reasons[spec.SigAlert] = spec.ClauseNotice
	case spec.Restricted:
		reasons[spec.SigAlert] = spec.ClauseRestrict
	}

	if u.sounds(now) {
		levels[spec.SigSounder] = 1
	}
	reasons[spec.SigSounder] = spec.ClauseSounder
	return levels, reasons
}

// ownCall returns d AND permit of a channel, with the reason.
func (u *Unit) ownCall(c spec.Channel) (spec.Level, spec.Clause) {
	d, why := u.demand(c)
	if d == 1 && !u.permit(c) {
		return 0, spec.ClausePermit // LCK-13, LCK-14
	}
	return d, why
}

// demand returns d of a channel: boost ? 1 : holiday ? 0 : override ? its level : s.
func (u *Unit) demand(c spec.Channel) (spec.Level, spec.Clause) {
	ch := &u.channel[c]
	switch {
	case ch.boostLeft > 0:
		return 1, spec.ClauseBoost
	case u.holiday:
		return 0, spec.ClauseHoliday
	case ch.overridden:
		return ch.override, spec.ClauseOverride
	}
	switch {
	case ch.mode == spec.Off:
		return ch.s, spec.ClauseOff
	case ch.mode == spec.Always:
		return ch.s, spec.ClauseAlways
	case !u.clockSet:
		return ch.s, spec.ClauseUnset
	case ch.mode == spec.Table:
		return ch.s, spec.ClauseTable
	default:
		return ch.s, spec.ClauseSpan
	}
}
