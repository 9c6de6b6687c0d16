package tolerance

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

const (
	hw      = spec.SigHW
	alert   = spec.SigAlert
	sounder = spec.SigSounder
)

// step is an input at a second, as the protocol words it.
type step struct {
	at   uint64
	line string
}

func rules(t assert.TestingT, ics spec.ICS, claims spec.Tolerances, steps ...step) *Rules {
	r := New(&ics, claims)
	for _, s := range append([]step{{0, "power on"}, {0, "clock 2026-01-14 05:00"}}, steps...) {
		in, err := wire.ParseInput(s.line)
		assert.NoError(t, err)
		r.Did(s.at, &in)
	}
	return r
}

// claims are tolerances of which none is a multiple of another, so that a sum says what is in it.
var claims = spec.Tolerances{LatePowerOn: 2, LateScan: 30, Stagger: 500, BoostRate: 1000, ClockRate: 10_000, LockGrain: 7000}

// Every number is derived from the table of tolerances in BEHAVIOUR.md.
func TestAllow(t *testing.T) {
	table, input := spec.CausePeriod, spec.CauseInput
	for _, c := range []struct {
		name   string
		unit   func(*spec.ICS)
		steps  []step
		change spec.Change
		want   Allowance
		drift  uint64
	}{
		{"table", nil, nil, spec.Change{At: 5400, Signal: hw, Level: 1, By: spec.ClauseTable}, Allowance{Late: 530, Running: 5400, Civil: true}, 54},
		{"sounder is no relay", nil, nil, spec.Change{At: 5401, Signal: sounder, By: spec.ClauseSounder}, Allowance{Late: 30, Running: 5401, Civil: true}, 55},
		{"since the clock was set", nil, []step{{5000, "clock 2026-01-14 08:00"}}, spec.Change{At: 5400, By: spec.ClauseTable}, Allowance{Late: 530, Running: 400, Civil: true}, 4},
		{"with an input in the second, that may have brought it", nil, []step{{5400, "holiday cancel"}}, spec.Change{At: 5400, By: spec.ClauseTable}, Allowance{Late: 530, Running: 5400}, 54},
		{"a known cause is the only one", nil, nil, spec.Change{At: 5400, By: spec.ClauseTable, Cause: table}, Allowance{Late: 530, Running: 5400, Civil: true}, 54},
		{"brought by an input, but the table says what", nil, []step{{5400, "mode hw table"}}, spec.Change{At: 5400, By: spec.ClauseTable, Cause: input}, Allowance{Late: 530}, 0},

		{"mode off", nil, []step{{700, "mode hw off"}}, spec.Change{At: 700, By: spec.ClauseOff}, Allowance{Late: 500}, 0},
		{"mode always", nil, []step{{700, "mode hw always"}}, spec.Change{At: 700, Level: 1, By: spec.ClauseAlways}, Allowance{Late: 500}, 0},
		{"the other channel's mode", nil, []step{{700, "mode ch off"}}, spec.Change{At: 700, By: spec.ClauseOff}, Allowance{Late: 530, Running: 700}, 7},
		{"another second's mode", nil, []step{{699, "mode hw off"}}, spec.Change{At: 700, By: spec.ClauseOff}, Allowance{Late: 530, Running: 700}, 7},
		{"override", nil, []step{{700, "override hw"}}, spec.Change{At: 700, By: spec.ClauseOverride}, Allowance{Late: 500}, 0},
		{"boost", nil, []step{{700, "boost hw 60"}}, spec.Change{At: 700, By: spec.ClauseBoost}, Allowance{Late: 500}, 0},
		{"a boost that is cancelled", nil, []step{{600, "boost hw 60"}, {700, "boost hw 0"}}, spec.Change{At: 700, By: spec.ClauseOff}, Allowance{Late: 530, Running: 700}, 7},
		{"the same, known", nil, []step{{600, "boost hw 60"}, {700, "boost hw 0"}}, spec.Change{At: 700, By: spec.ClauseOff, Cause: input}, Allowance{Late: 500}, 0},
		{"holiday", nil, []step{{700, "holiday 3"}}, spec.Change{At: 700, By: spec.ClauseHoliday}, Allowance{Late: 500}, 0},
		{"alert, armed", nil, []step{{700, "lock arm 1111 30 0 none none none none none"}}, spec.Change{At: 700, Signal: alert, By: spec.ClauseCounting}, Allowance{}, 0},
		{"mode with a lock, whose permit may open in that second", nil, []step{{600, "lock arm 1111 30 0 none none none none none"}, {700, "mode hw always"}},
			spec.Change{At: 700, By: spec.ClauseAlways}, Allowance{Late: 530, Running: 700}, 7},
		{"mode before there is a lock", nil, []step{{700, "mode hw always"}, {800, "lock arm 1111 30 0 none none none none none"}},
			spec.Change{At: 700, By: spec.ClauseAlways}, Allowance{Late: 500}, 0},

		// Two cuts since, of which each may cost 7000 s; what may have run longest is the clock, set at 0, or the lock, armed at 100.
		{"lock", nil, []step{{100, "lock arm 1111 30 0 none none none none none"}, {200, "power off"}, {210, "power on"}, {300, "power off"}, {310, "power on"}},
			spec.Change{At: 900, Signal: alert, By: spec.ClauseNotice}, Allowance{Late: 14030, Running: 900}, 9},
		{"the same, known", nil, []step{{100, "lock arm 1111 30 0 none none none none none"}, {200, "power off"}, {210, "power on"}},
			spec.Change{At: 900, Signal: alert, By: spec.ClauseNotice, Cause: spec.CauseStage}, Allowance{Late: 7030, Running: 800}, 8},

		// An hour at 1000 parts per million is 3.6 s, and 5000 s at 10 000 are 50 s.
		{"a boost's end", nil, []step{{1400, "boost hw 60"}}, spec.Change{At: 5000, By: spec.ClauseTable}, Allowance{Late: 530, Running: 5000, Boost: 3600}, 54},
		{"the same, known", nil, []step{{1400, "boost hw 60"}}, spec.Change{At: 5000, By: spec.ClauseTable, Cause: spec.CauseBoostEnd}, Allowance{Late: 530, Boost: 3600}, 4},
		{"known to be none", nil, []step{{1400, "boost hw 60"}}, spec.Change{At: 5000, By: spec.ClauseTable, Cause: table}, Allowance{Late: 530, Running: 5000, Civil: true}, 50},
		{"one that was replaced", nil, []step{{1400, "boost hw 60"}, {1500, "boost hw 120"}}, spec.Change{At: 5000, By: spec.ClauseTable}, Allowance{Late: 530, Running: 5000, Civil: true}, 50},
		{"one on the other channel replaces none", nil, []step{{1400, "boost hw 60"}, {1500, "boost ch 120"}}, spec.Change{At: 5000, By: spec.ClauseTable}, Allowance{Late: 530, Running: 5000, Boost: 3600}, 54},
		// 1000 to 1000 + 3600, extended at 2000 by an hour: 8200.
		{"extended", func(ics *spec.ICS) { ics.BoostExtends = true }, []step{{1000, "boost hw 60"}, {2000, "boost hw 60"}},
			spec.Change{At: 8200, By: spec.ClauseTable, Cause: spec.CauseBoostEnd}, Allowance{Late: 530, Boost: 7200}, 8},
		// Three hours, extended at once by three more: the longest counts from then, 1000 + 100 + 10800.
		{"extended to the longest", func(ics *spec.ICS) { ics.BoostExtends = true }, []step{{1000, "boost hw 180"}, {1100, "boost hw 180"}},
			spec.Change{At: 11900, By: spec.ClauseTable, Cause: spec.CauseBoostEnd}, Allowance{Late: 530, Boost: 10900}, 11},
		{"extended, but it had been cancelled", func(ics *spec.ICS) { ics.BoostExtends = true }, []step{{1000, "boost hw 60"}, {1500, "boost hw 0"}, {2000, "boost hw 60"}},
			spec.Change{At: 5600, By: spec.ClauseTable, Cause: spec.CauseBoostEnd}, Allowance{Late: 530, Boost: 3600}, 4},
		// 130 minutes are two steps of an hour, and 500 minutes the longest.
		{"clamped to whole steps", func(ics *spec.ICS) { ics.Clamp = true }, []step{{1000, "boost hw 130"}},
			spec.Change{At: 8200, By: spec.ClauseTable, Cause: spec.CauseBoostEnd}, Allowance{Late: 530, Boost: 7200}, 8},
		{"clamped to the longest", func(ics *spec.ICS) { ics.Clamp = true }, []step{{1000, "boost hw 500"}},
			spec.Change{At: 11800, By: spec.ClauseTable, Cause: spec.CauseBoostEnd}, Allowance{Late: 530, Boost: 10800}, 11},
		{"clamped to one step", func(ics *spec.ICS) { ics.Clamp = true }, []step{{1000, "boost hw 7"}},
			spec.Change{At: 4600, By: spec.ClauseTable, Cause: spec.CauseBoostEnd}, Allowance{Late: 530, Boost: 3600}, 4},

		{"a loss of power", nil, []step{{700, "power off"}}, spec.Change{At: 700, By: spec.ClausePower}, Allowance{Late: 500}, 0},
		{"a loss of power, sounder", nil, []step{{700, "power off"}}, spec.Change{At: 700, Signal: sounder, By: spec.ClausePower}, Allowance{}, 0},
		// Ready at 702, and then looked at within 30 s.
		{"after power returned", nil, []step{{600, "power off"}, {700, "power on"}, {701, "mode hw always"}}, spec.Change{At: 701, By: spec.ClauseAlways}, Allowance{Late: 531}, 0},
		{"when it is ready", nil, []step{{600, "power off"}, {700, "power on"}, {702, "mode hw always"}}, spec.Change{At: 702, By: spec.ClauseAlways}, Allowance{Late: 500}, 0},
		{"power returns to a unit that has it", nil, []step{{700, "power on"}, {701, "mode hw always"}}, spec.Change{At: 701, By: spec.ClauseAlways}, Allowance{Late: 500}, 0},
		{"in the second of a cut of no length", nil, []step{{700, "power off"}, {700, "power on"}, {701, "mode hw always"}}, spec.Change{At: 701, By: spec.ClauseAlways}, Allowance{Late: 531}, 0},
		{"a change in the second of a cut, before it", nil, []step{{699, "power off"}, {699, "power on"}, {700, "mode hw always"}, {700, "power off"}}, spec.Change{At: 700, By: spec.ClauseAlways}, Allowance{Late: 531}, 0},
		{"without power nothing is late", nil, []step{{700, "power off"}}, spec.Change{At: 701, Signal: sounder, By: spec.ClausePower}, Allowance{}, 0},

		// A reserve of 480 minutes; the first power-on is no end of a reserve.
		{"a clock that restarts", func(ics *spec.ICS) { ics.LostClock = spec.LostRestarts }, []step{{1000, "power off"}, {29_800, "power on"}},
			spec.Change{At: 30_000, By: spec.ClauseTable, Cause: table}, Allowance{Late: 530, Running: 200, Civil: true}, 2},
		{"one that was not lost", func(ics *spec.ICS) { ics.LostClock = spec.LostRestarts }, []step{{1001, "power off"}, {29_800, "power on"}},
			spec.Change{At: 30_000, By: spec.ClauseTable, Cause: table}, Allowance{Late: 530, Running: 30_000, Civil: true}, 300},
	} {
		t.Run(c.name, func(t *testing.T) {
			ics := spec.FullICS()
			if c.unit != nil {
				c.unit(&ics)
			}
			r := rules(t, ics, claims, c.steps...)
			a := r.Allow(&c.change)
			assert.Equal(t, c.want, a)
			assert.Equal(t, c.drift, r.Drift(a))
		})
	}
}

// The seconds of the last boosts are what counts: many that extend each other make no more ends than there are boosts.
func TestManyBoosts(t *testing.T) {
	ics := spec.FullICS()
	ics.BoostExtends = true
	r := rules(t, ics, claims)
	for i := range uint64(500) {
		r.Did(i, &spec.Input{Kind: spec.Boost, Amount: 60})
	}
	assert.Len(t, r.boosts, 500)
}
