package runner_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

var ctx = context.Background()

const (
	hw      = spec.SigHW
	ch      = spec.SigCH
	alert   = spec.SigAlert
	sounder = spec.SigSounder
)

func TestVerdictWords(t *testing.T) {
	assert.Equal(t, "pass fail inconclusive not applicable",
		fmt.Sprint(runner.Pass, " ", runner.Fail, " ", runner.Inconclusive, " ", runner.NotApplicable))
}

func TestExactPass(t *testing.T) {
	v := vector(at(5400, hw, 1, spec.ClauseTable), at(5400, ch, 1, spec.ClauseTable), at(9000, ch, 0, spec.ClauseTable))
	v.Initial[alert] = spec.Level(spec.Counting)
	v.Given = []string{"lock arm {credential} 30 7 none none none none none"}
	observed := append([]spec.Change{at(0, hw, 1, 0), at(0, hw, 0, 0), at(0, alert, 1, 0)}, v.Trace...)
	r := play(t, exact(), v, observed...)
	assert.Equal(t, runner.Pass, r.Verdict)
	assert.True(t, r.Exact, "what happens in second 0 up to the last given input is no part of the trace")
	assert.Nil(t, r.Departure)
	assert.Nil(t, r.Bound)
	assert.Empty(t, r.Why)
}

func TestDepartures(t *testing.T) {
	base := vector(at(5400, hw, 1, spec.ClauseTable), at(5400, ch, 1, spec.ClauseTable), at(9000, ch, 0, spec.ClauseTable), at(9000, hw, 0, spec.ClauseTable))
	base.Steps = []suite.Step{{At: 600, Do: "override hw", Want: spec.Refused}, {At: 700, Do: "reset"}, {At: 800, Do: "holiday 100", Want: spec.Unsupported}}
	good := map[string]spec.Reply{"override hw": {Outcome: spec.Refused}, "holiday 100": {Outcome: spec.Unsupported}}
	replies := func(line string, o spec.Outcome) map[string]spec.Reply {
		all := map[string]spec.Reply{line: {Outcome: o}}
		for l, r := range good {
			if l != line {
				all[l] = r
			}
		}
		return all
	}
	e := base.Trace
	lit := at(0, hw, 1, 0)
	cases := []struct {
		name     string
		replies  map[string]spec.Reply
		observed []spec.Change
		want     runner.Departure
	}{
		{"accepted for refused", replies("override hw", spec.Accepted), e, runner.Departure{At: 600, Kind: runner.WrongReply, Step: 0, Reply: spec.Accepted}},
		{"refused for accepted", replies("reset", spec.Refused), e, runner.Departure{At: 700, Kind: runner.WrongReply, Step: 1, Reply: spec.Refused}},
		{"unsupported for accepted", replies("reset", spec.Unsupported), e, runner.Departure{At: 700, Kind: runner.ClaimMissing, Step: 1, Reply: spec.Unsupported}},
		{"unsupported for refused", replies("override hw", spec.Unsupported), e, runner.Departure{At: 600, Kind: runner.ClaimMissing, Step: 0, Reply: spec.Unsupported}},
		{"refused for unsupported", replies("holiday 100", spec.Refused), e, runner.Departure{At: 800, Kind: runner.WrongReply, Step: 2, Reply: spec.Refused}},
		{"nothing comes", good, nil, runner.Departure{At: 5400, Kind: runner.Missing, Expected: &e[0]}},
		{"heating does not come", good, []spec.Change{e[0], e[3]}, runner.Departure{At: 5400, Kind: runner.Missing, Expected: &e[1]}},
		{"hot water stays", good, e[:3], runner.Departure{At: 9000, Kind: runner.Missing, Expected: &e[3]}},
		{"late by a second", good, []spec.Change{e[0], at(5401, ch, 1, 0), e[2], e[3]},
			runner.Departure{At: 5400, Kind: runner.Late, Expected: &e[1], Observed: &spec.Change{At: 5401, Signal: ch, Level: 1}}},
		{"early by a second", good, []spec.Change{at(5399, hw, 1, 0), e[1], e[2], e[3]},
			runner.Departure{At: 5399, Kind: runner.Unexpected, Expected: &e[0], Observed: &spec.Change{At: 5399, Signal: hw, Level: 1}}},
		{"a change too many", good, append(slices.Clone(e), at(9001, ch, 1, 0)),
			runner.Departure{At: 9001, Kind: runner.Unexpected, Observed: &spec.Change{At: 9001, Signal: ch, Level: 1}}},
		{"a glitch", good, []spec.Change{e[0], e[1], at(7000, hw, 0, 0), at(7000, hw, 1, 0), e[2], e[3]},
			runner.Departure{At: 7000, Kind: runner.Unexpected, Expected: &e[3], Observed: &spec.Change{At: 7000, Signal: hw}}},
		{"a signal that should not move", good, []spec.Change{at(5000, alert, 2, 0), e[0], e[1], e[2], e[3]},
			runner.Departure{At: 5000, Kind: runner.Unexpected, Observed: &spec.Change{At: 5000, Signal: alert, Level: 2}}},
		{"the first of two", good, []spec.Change{e[0], e[1], at(8000, hw, 0, 0), at(9002, ch, 0, 0)},
			runner.Departure{At: 8000, Kind: runner.Unexpected, Expected: &e[3], Observed: &spec.Change{At: 8000, Signal: hw}}},
		{"heating before hot water", good, []spec.Change{e[1], e[0], e[2], e[3]}, runner.Departure{At: 5400, Kind: runner.WrongOrder, Expected: &e[0], Observed: &spec.Change{At: 5400, Signal: ch, Level: 1}}},
		{"hot water before heating", good, []spec.Change{e[0], e[1], e[3], e[2]}, runner.Departure{At: 9000, Kind: runner.WrongOrder, Expected: &e[2], Observed: &spec.Change{At: 9000, Signal: hw}}},
		{"wrong order before a wrong change", good, []spec.Change{e[1], e[0], at(8000, ch, 0, 0), e[3]},
			runner.Departure{At: 5400, Kind: runner.WrongOrder, Expected: &e[0], Observed: &spec.Change{At: 5400, Signal: ch, Level: 1}}},
		{"wrong at the start", good, append([]spec.Change{lit}, e[1:]...), runner.Departure{Kind: runner.WrongStart, Expected: &spec.Change{Signal: hw}, Observed: &lit}},
		{"wrong at the start, right a second later", good, append([]spec.Change{lit, at(1, hw, 0, 0)}, e...),
			runner.Departure{Kind: runner.WrongStart, Expected: &spec.Change{Signal: hw}, Observed: &lit}},
		{"the reply before the change that it explains", replies("reset", spec.Refused), append([]spec.Change{at(700, ch, 1, 0), at(701, ch, 0, 0)}, e...),
			runner.Departure{At: 700, Kind: runner.WrongReply, Step: 1, Reply: spec.Refused}},
		{"the change before a later reply", replies("reset", spec.Refused), append([]spec.Change{at(699, ch, 1, 0), at(701, ch, 0, 0)}, e...),
			runner.Departure{At: 699, Kind: runner.Unexpected, Expected: &e[1], Observed: &spec.Change{At: 699, Signal: ch, Level: 1}}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := run(t, playing(exact(), c.replies, c.observed...), base)
			assert.Equal(t, runner.Fail, r.Verdict)
			assert.False(t, r.Exact)
			want := c.want
			if o := want.Observed; o != nil { // an in-process unit's changes keep what else is known of them
				for _, seen := range c.observed {
					if seen.At == o.At && seen.Signal == o.Signal && seen.Level == o.Level && want.Kind != runner.WrongStart {
						want.Observed = &seen
					}
				}
			}
			assert.Empty(t, cmp.Diff(&want, r.Departure))
		})
	}
}

func TestWrongStartComesBeforeAReplyOfThatSecond(t *testing.T) {
	v := vector()
	v.Steps = []suite.Step{{Do: "reset"}}
	r := run(t, playing(exact(), map[string]spec.Reply{"reset": {Outcome: spec.Refused}}, at(0, hw, 1, 0)), v)
	assert.Equal(t, runner.WrongStart, r.Departure.Kind)
}

// What a result holds outlives the run: the unit's buffers are used again for the next vector.
func TestResultsOutliveTheRun(t *testing.T) {
	first := vector(at(100, hw, 1, spec.ClauseTable))
	second := vector(at(200, ch, 1, spec.ClauseTable))
	unit := playing(exact(), nil, at(50, alert, 1, 0), at(300, ch, 1, 0))
	var results []*runner.Result
	require.NoError(t, runner.Run(ctx, unit, []*suite.Vector{first, second, first}, func(r *runner.Result) { results = append(results, r) }))
	for _, r := range results {
		assert.Equal(t, []spec.Change{at(50, alert, 1, 0), at(300, ch, 1, 0)}, r.Observed)
		assert.Equal(t, at(50, alert, 1, 0), *r.Departure.Observed)
	}
}

func TestInconclusive(t *testing.T) {
	v := vector()
	v.Given = []string{"mode hw off", "lock arm {credential} 30 7 none none none none none", "lock remove {wrong}"}
	v.Fit = []spec.Input{{Kind: spec.Fit, FitOption: spec.FitCoupling, FitValue: uint8(spec.Gravity)}}
	cases := []struct {
		line  string
		reply spec.Reply
		want  string
	}{
		{"mode hw off", spec.Reply{Outcome: spec.Refused, Refusal: spec.NoPower}, "the unit answered 'refused: no power' to 'mode hw off', without which the test cannot begin"},
		{"mode hw off", spec.Reply{Outcome: spec.Unsupported}, "the unit answered 'unsupported' to 'mode hw off', without which the test cannot begin"},
		{"fit coupling gravity", spec.Reply{Outcome: spec.Refused}, "the unit answered 'refused' to 'fit coupling gravity', without which the test cannot begin"},
		{"power on", spec.Reply{Outcome: spec.Refused}, "the unit answered 'refused' to 'power on', without which the test cannot begin"},
		{"clock 2026-01-14 05:00", spec.Reply{Outcome: spec.Refused}, "the unit answered 'refused' to 'clock 2026-01-14 05:00', without which the test cannot begin"},
		// Nobody needs the credential to read a verdict.
		{"lock arm 246810 30 7 none none none none none", spec.Reply{Outcome: spec.Refused}, "the unit answered 'refused' to 'lock arm {credential} 30 7 none none none none none', without which the test cannot begin"},
		{"lock remove 246811", spec.Reply{Outcome: spec.Refused}, "the unit answered 'refused' to 'lock remove {wrong}', without which the test cannot begin"},
	}
	for _, c := range cases {
		r := run(t, playing(exact(), map[string]spec.Reply{c.line: c.reply}), v)
		assert.Equal(t, runner.Inconclusive, r.Verdict)
		assert.Equal(t, c.want, r.Why)
		assert.Nil(t, r.Departure)
		assert.Nil(t, r.Trouble)
	}
}

func TestTroubleIsInconclusive(t *testing.T) {
	v := vector()
	v.Steps = []suite.Step{{At: 100, Do: "lock remove {credential}", Want: spec.Refused}}
	// The player shows a level that the signal has already, in answer to the lock input: that breaks the protocol.
	r := play(t, exact(), v, at(100, hw, 1, 0), at(100, hw, 1, 0))
	assert.Equal(t, runner.Inconclusive, r.Verdict)
	require.NotNil(t, r.Trouble)
	assert.Equal(t, iut.Nonsense, r.Trouble.Kind)
	assert.Contains(t, r.Why, "the protocol was broken to 'go 100'")
	assert.Nil(t, r.Departure)

	r = run(t, wrapped(exact(), func(d wire.Device) wire.Device { return &panics{Device: d} }), v)
	assert.Equal(t, runner.Inconclusive, r.Verdict)
	assert.Contains(t, r.Why, "the implementation ended to 'lock remove {credential}' (request 5 of the script): panic: out of order")
}

// panics panics at an input of the lock.
type panics struct{ wire.Device }

func (d *panics) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	if in.Kind == spec.LockRemove {
		panic("out of order")
	}
	return d.Device.Do(in, changes)
}

func TestRunTellsInOrder(t *testing.T) {
	applies := vector()
	not := vector()
	not.Needs = []suite.Need{{Option: "holiday", Words: []string{"no"}}}
	all := []*suite.Vector{not, applies, not, not, applies, applies, not}
	var told []*suite.Vector
	var verdicts []runner.Verdict
	require.NoError(t, runner.Run(ctx, playing(exact(), nil), all, func(r *runner.Result) {
		told, verdicts = append(told, r.Vector), append(verdicts, r.Verdict)
		if r.Verdict == runner.NotApplicable {
			assert.Equal(t, "needs holiday no", r.Why)
			assert.Nil(t, r.Bound)
			assert.False(t, r.Exact)
		}
	}))
	assert.Equal(t, all, told)
	n, p := runner.NotApplicable, runner.Pass
	assert.Equal(t, []runner.Verdict{n, p, n, n, p, p, n}, verdicts)

	require.NoError(t, runner.Run(ctx, playing(exact(), nil), []*suite.Vector{not}, func(*runner.Result) {}), "none applies")
	require.NoError(t, runner.Run(ctx, playing(exact(), nil), nil, func(*runner.Result) { t.Error("there is nothing to tell") }))
}

func TestRunEnds(t *testing.T) {
	bad := vector()
	bad.Given = []string{"mode hw of"}
	err := runner.Run(ctx, playing(exact(), nil), []*suite.Vector{vector(), bad}, func(*runner.Result) { t.Error("told too much") })
	require.EqualError(t, err, "out.json: OUT-1/x: given 1: word 3 of 'mode hw of': mode is off, table, span or always")

	ended, cancel := context.WithCancelCause(ctx)
	told := 0
	stop := errors.New("enough")
	err = runner.Run(ended, playing(exact(), nil), []*suite.Vector{vector(), vector(), vector()}, func(*runner.Result) {
		if told++; told == 2 {
			cancel(stop)
		}
	})
	require.ErrorIs(t, err, stop)
	assert.Equal(t, 2, told)
}

// Each case moves one change of a vector as far as a tolerance allows, which passes, but not exactly, and a second further, which fails.
func TestTolerancesAtTheirEdge(t *testing.T) {
	day := vector(at(5400, hw, 1, spec.ClauseTable), at(14400, hw, 0, spec.ClauseTable))
	night := vector(at(5400, sounder, 1, spec.ClauseSounder), at(5460, sounder, 0, spec.ClauseSounder))
	boost := vector(at(1000, hw, 1, spec.ClauseBoost), at(4600, hw, 0, spec.ClauseOff), at(5400, ch, 1, spec.ClauseTable))
	boost.Steps = []suite.Step{{At: 1000, Do: "boost hw 60"}}
	twice := vector(at(1000, hw, 1, spec.ClauseBoost), at(8200, hw, 0, spec.ClauseOff))
	twice.Steps = []suite.Step{{At: 1000, Do: "boost hw 60"}, {At: 2000, Do: "boost hw 60"}}
	extends := func(ics *spec.ICS) { ics.BoostExtends = true }
	cut := vector(at(100, hw, 1, spec.ClauseTable), at(200, hw, 0, spec.ClausePower), at(300, hw, 1, spec.ClauseTable), at(9000, hw, 0, spec.ClauseTable))
	cut.Steps = []suite.Step{{At: 200, Do: "power off"}, {At: 300, Do: "power on"}}
	locked := vector(at(86400, alert, 2, spec.ClauseNotice), at(90000, hw, 0, spec.ClausePermit), at(93600, hw, 1, spec.ClauseAlways))
	locked.Given = []string{"lock arm {credential} 2 1 60 60 60 60 none", "mode hw always"}
	locked.Initial = [spec.NumSignals]spec.Level{hw: 1, alert: 1}
	locked.Steps = []suite.Step{{At: 1000, Do: "power off"}, {At: 1000, Do: "power on"}, {At: 5000, Do: "power off"}, {At: 5000, Do: "power on"},
		{At: 90000, Do: "power off"}, {At: 90000, Do: "power on"}}
	pressed := vector(at(700, hw, 1, spec.ClauseAlways), at(800, hw, 0, spec.ClauseOff), at(900, hw, 1, spec.ClauseOverride), at(950, hw, 0, spec.ClauseHoliday))
	pressed.Steps = []suite.Step{{At: 700, Do: "mode hw always"}, {At: 800, Do: "mode hw off"}, {At: 900, Do: "override hw"}, {At: 950, Do: "holiday 3"}}
	edited := vector(at(700, hw, 1, spec.ClauseTable))
	edited.Steps = []suite.Step{{At: 700, Do: "mode hw table"}}

	lateScan := func(s uint16) func(*spec.Tolerances) { return func(t *spec.Tolerances) { t.LateScan = s } }
	stagger := func(s uint16) func(*spec.Tolerances) { return func(t *spec.Tolerances) { t.Stagger = s } }
	powerOn := func(s uint16) func(*spec.Tolerances) { return func(t *spec.Tolerances) { t.LatePowerOn = s } }
	clockRate := func(ppm uint32) func(*spec.Tolerances) { return func(t *spec.Tolerances) { t.ClockRate = ppm } }
	boostRate := func(ppm uint32) func(*spec.Tolerances) { return func(t *spec.Tolerances) { t.BoostRate = ppm } }
	grain := func(s uint16) func(*spec.Tolerances) { return func(t *spec.Tolerances) { t.LockGrain = s } }
	type tolerances = []func(*spec.Tolerances)
	cases := []struct {
		name        string
		v           *suite.Vector
		change      int // index of the change that is moved
		tol         tolerances
		early, late uint64
		unit        func(*spec.ICS)
	}{
		{name: "none", v: day},
		{name: "late-scan", v: day, tol: tolerances{lateScan(30)}, late: 30},
		{name: "late-scan, second change", v: day, change: 1, tol: tolerances{lateScan(30)}, late: 30},
		{name: "late-scan, sounder", v: night, tol: tolerances{lateScan(30)}, late: 30},
		{name: "stagger", v: day, tol: tolerances{stagger(3)}, late: 3},
		{name: "stagger is of relays", v: night, tol: tolerances{stagger(3)}},
		{name: "stagger and late-scan", v: day, tol: tolerances{stagger(3), lateScan(30)}, late: 33},
		{name: "late-power-on, hours later", v: day, tol: tolerances{powerOn(30)}},
		// 5400 s at 1000 parts per million are 5.4 s, and 14400 s are 14.4 s; both are rounded up.
		{name: "clock-rate", v: day, tol: tolerances{clockRate(1000)}, early: 6, late: 6},
		{name: "clock-rate, second change", v: day, change: 1, tol: tolerances{clockRate(1000)}, early: 15, late: 15},
		{name: "clock-rate and late-scan", v: day, tol: tolerances{clockRate(1000), lateScan(10)}, early: 6, late: 16},
		{name: "clock-rate, sounder", v: night, tol: tolerances{clockRate(1000)}, early: 6, late: 6},
		// 60 minutes at 1000 parts per million are 3.6 s.
		{name: "boost-rate", v: boost, change: 1, tol: tolerances{boostRate(1000)}, early: 4, late: 4},
		{name: "boost-rate is not of a boost's beginning", v: boost, change: 0, tol: tolerances{boostRate(1000)}},
		{name: "boost-rate is not of the table", v: boost, change: 2, tol: tolerances{boostRate(1000)}},
		{name: "boost-rate without a boost", v: day, tol: tolerances{boostRate(1000)}},
		// Begun at 1000 and extended by an hour: 7200 s in all.
		{name: "boost-rate of one that was extended", v: twice, change: 1, tol: tolerances{boostRate(1000)}, early: 8, late: 8, unit: extends},
		{name: "lock-grain, two cuts before", v: locked, change: 0, tol: tolerances{grain(3)}, late: 6},
		{name: "lock-grain, three cuts before", v: locked, change: 2, tol: tolerances{grain(3)}, late: 9},
		{name: "lock-grain without a lock", v: cut, change: 3, tol: tolerances{grain(3)}},
		{name: "late-power-on", v: cut, change: 2, tol: tolerances{powerOn(2)}, late: 2},
		{name: "late-power-on and late-scan", v: cut, change: 2, tol: tolerances{powerOn(2), lateScan(5)}, late: 7},
		{name: "late-power-on is not of what comes before", v: cut, change: 0, tol: tolerances{powerOn(2)}},
		{name: "a loss of power is never late", v: cut, change: 1, tol: tolerances{powerOn(2), lateScan(5), clockRate(10000), boostRate(10000), grain(3)}},
		{name: "a loss of power, stagger", v: cut, change: 1, tol: tolerances{stagger(1)}, late: 1},
		{name: "mode always is never late", v: pressed, change: 0, tol: tolerances{lateScan(5), clockRate(10000)}},
		{name: "mode off is never late", v: pressed, change: 1, tol: tolerances{lateScan(5), clockRate(10000)}},
		{name: "override is never late", v: pressed, change: 2, tol: tolerances{lateScan(5), clockRate(10000)}},
		{name: "holiday is never late", v: pressed, change: 3, tol: tolerances{lateScan(5), clockRate(10000)}},
		{name: "boost is never late", v: boost, tol: tolerances{lateScan(5), clockRate(10000)}},
		{name: "a return to the table may be", v: edited, tol: tolerances{lateScan(5)}, late: 5},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			ics := exact(c.tol...)
			if c.unit != nil {
				c.unit(&ics)
			}
			moved := func(by int64) *runner.Result {
				observed := slices.Clone(c.v.Trace)
				observed[c.change].At = uint64(int64(observed[c.change].At) + by)
				slices.SortStableFunc(observed, func(a, b spec.Change) int { return int(int64(a.At) - int64(b.At)) })
				return play(t, ics, c.v, append(starting(c.v), observed...)...)
			}
			r := moved(0)
			require.Equal(t, runner.Pass, r.Verdict, "%+v", r)
			assert.True(t, r.Exact)
			for by := -int64(c.early); by <= int64(c.late); by++ {
				if by == 0 {
					continue
				}
				r := moved(by)
				assert.Equal(t, runner.Pass, r.Verdict, "%+d", by)
				assert.False(t, r.Exact, "%+d", by)
			}
			r = moved(int64(c.late) + 1)
			require.Equal(t, runner.Fail, r.Verdict)
			assert.Equal(t, runner.Late, r.Departure.Kind)
			assert.Equal(t, c.v.Trace[c.change], *r.Departure.Expected)
			r = moved(-int64(c.early) - 1)
			require.Equal(t, runner.Fail, r.Verdict)
			assert.Equal(t, runner.Unexpected, r.Departure.Kind)
			assert.Equal(t, c.v.Trace[c.change].At-c.early-1, r.Departure.At)
		})
	}
}

// starting returns the changes of second 0 that lead to the initial levels.
func starting(v *suite.Vector) []spec.Change {
	var changes []spec.Change
	for s, level := range v.Initial {
		if level != 0 {
			changes = append(changes, at(0, spec.Signal(s), level, 0))
		}
	}
	return changes
}

func TestLateAfterTheFirstPowerOn(t *testing.T) {
	v := vector(at(7200, hw, 0, spec.ClauseTable))
	v.Initial = [spec.NumSignals]spec.Level{hw: 1, ch: 1, alert: 1}
	v.Given = []string{"lock arm {credential} 30 7 none none none none none"}
	start, end := []spec.Change{at(0, alert, 1, 0)}, v.Trace[0]
	two := func(t *spec.Tolerances) { t.LatePowerOn = 2 }
	cases := []struct {
		name    string
		ics     spec.ICS
		changes []spec.Change
		want    runner.Verdict
	}{
		{"both in time", exact(two), []spec.Change{at(2, hw, 1, 0), at(2, ch, 1, 0), end}, runner.Pass},
		{"one at once, one in time", exact(two), []spec.Change{at(0, hw, 1, 0), at(1, ch, 1, 0), end}, runner.Pass},
		{"the second too late", exact(two), []spec.Change{at(2, hw, 1, 0), at(3, ch, 1, 0), end}, runner.Fail},
		{"no tolerance", exact(), []spec.Change{at(0, hw, 1, 0), at(1, ch, 1, 0), end}, runner.Fail},
		{"never", exact(two), []spec.Change{at(2, hw, 1, 0), end}, runner.Fail},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := play(t, c.ics, v, append(slices.Clone(start), c.changes...)...)
			require.Equal(t, c.want, r.Verdict, "%+v", r.Departure)
			assert.False(t, r.Exact)
			if c.want == runner.Fail {
				assert.Empty(t, cmp.Diff(&runner.Departure{Kind: runner.WrongStart, Expected: &spec.Change{Signal: ch, Level: 1}, Observed: &spec.Change{Signal: ch}}, r.Departure))
			}
		})
	}

	// A level that is there only as long as the unit may take to show it need not show.
	brief := vector(at(2, hw, 0, spec.ClauseOff))
	brief.Initial[hw] = 1
	brief.Steps = []suite.Step{{At: 2, Do: "mode hw off"}}
	assert.Equal(t, runner.Pass, play(t, exact(two), brief).Verdict)
	brief.Trace[0].At, brief.Steps[0].At = 3, 3
	assert.Equal(t, runner.Fail, play(t, exact(two), brief).Verdict)
	// An input soon after the return of power is as late as that.
	early := vector(at(1, hw, 1, spec.ClauseAlways))
	early.Steps = []suite.Step{{At: 1, Do: "mode hw always"}}
	assert.Equal(t, runner.Pass, play(t, exact(two), early, at(2, hw, 1, 0)).Verdict)
	assert.Equal(t, runner.Fail, play(t, exact(two), early, at(3, hw, 1, 0)).Verdict)
}

func TestPulsesThatNeedNotShow(t *testing.T) {
	scan := func(s uint16) func(*spec.Tolerances) { return func(t *spec.Tolerances) { t.LateScan = s } }
	pulse := vector(at(1000, hw, 1, spec.ClauseTable), at(1060, hw, 0, spec.ClauseTable), at(5000, ch, 1, spec.ClauseTable))
	shown := pulse.Trace[2]
	r := play(t, exact(scan(60)), pulse, shown)
	assert.Equal(t, runner.Pass, r.Verdict, "a pulse as long as the lateness may be missing")
	assert.False(t, r.Exact)
	r = play(t, exact(scan(59)), pulse, shown)
	require.Equal(t, runner.Fail, r.Verdict)
	assert.Equal(t, &runner.Departure{At: 1000, Kind: runner.Missing, Expected: &pulse.Trace[0]}, r.Departure)
	assert.Equal(t, runner.Fail, play(t, exact(scan(60)), pulse, pulse.Trace[0], shown).Verdict, "half a pulse is none")
	assert.Equal(t, runner.Pass, play(t, exact(scan(60)), pulse, at(1060, hw, 1, 0), at(1100, hw, 0, 0), shown).Verdict)

	gap := vector(at(1000, hw, 1, spec.ClauseTable), at(2000, hw, 0, spec.ClauseTable), at(2030, hw, 1, spec.ClauseTable), at(3000, hw, 0, spec.ClauseTable))
	assert.Equal(t, runner.Pass, play(t, exact(scan(30)), gap, gap.Trace[0], gap.Trace[3]).Verdict, "nor need a gap show")
	assert.Equal(t, runner.Fail, play(t, exact(scan(29)), gap, gap.Trace[0], gap.Trace[3]).Verdict)

	// A clock that is slow makes both edges late, so a pulse stays: 86400 s at 1000 parts per million are 87 s.
	slow := func(t *spec.Tolerances) { t.ClockRate = 1000 }
	far := vector(at(86400, hw, 1, spec.ClauseTable), at(86460, hw, 0, spec.ClauseTable))
	assert.Equal(t, runner.Fail, play(t, exact(slow), far).Verdict)
	assert.Equal(t, runner.Pass, play(t, exact(slow), far, at(86480, hw, 1, 0), at(86540, hw, 0, 0)).Verdict)
	// One edge by the clock and one by a key is another matter.
	far.Trace[1].By = spec.ClauseOff
	far.Steps = []suite.Step{{At: 86460, Do: "mode hw off"}}
	assert.Equal(t, runner.Pass, play(t, exact(slow), far).Verdict)

	// Power that is gone again before the unit was ready; in the same second, and with the lateness to the second.
	for length, want := range map[uint64]runner.Verdict{0: runner.Pass, 1: runner.Pass, 2: runner.Pass, 3: runner.Fail} {
		flicker := vector(at(500, hw, 1, spec.ClauseTable), at(500+length, hw, 0, spec.ClausePower), at(900, hw, 1, spec.ClauseTable))
		flicker.Steps = []suite.Step{{At: 100, Do: "power off"}, {At: 500, Do: "power on"}, {At: 500 + length, Do: "power off"}, {At: 900, Do: "power on"}}
		two := exact(func(t *spec.Tolerances) { t.LatePowerOn = 2 })
		assert.Equal(t, want, play(t, two, flicker, at(902, hw, 1, 0)).Verdict, "%d s of power", length)
		assert.Equal(t, runner.Pass, play(t, two, flicker, flicker.Trace...).Verdict)
	}
}

func TestChangesThatMayComeAfterTheEnd(t *testing.T) {
	scan := exact(func(t *spec.Tolerances) { t.LateScan = 30 })
	v := vector(at(1000, hw, 1, spec.ClauseTable))
	v.Until = 1029
	assert.Equal(t, runner.Pass, play(t, scan, v).Verdict)
	assert.Equal(t, runner.Pass, play(t, scan, v, at(1029, hw, 1, 0)).Verdict)
	v.Until = 1030
	r := play(t, scan, v)
	require.Equal(t, runner.Fail, r.Verdict, "in the last second the change must have come")
	assert.Equal(t, runner.Missing, r.Departure.Kind)
	// Two changes before the end, of which the unit comes to show one, or none.
	v.Trace = append(v.Trace, at(1010, hw, 0, spec.ClauseTable))
	v.Until = 1029
	assert.Equal(t, runner.Pass, play(t, scan, v).Verdict)
	assert.Equal(t, runner.Pass, play(t, scan, v, at(1020, hw, 1, 0)).Verdict)
}

func TestOrder(t *testing.T) {
	v := vector(at(1000, hw, 1, spec.ClauseCoupling), at(1000, ch, 1, spec.ClauseTable), at(1000, alert, 2, spec.ClauseNotice), at(1000, sounder, 1, spec.ClauseSounder))
	scan := func(s uint16) func(*spec.Tolerances) { return func(t *spec.Tolerances) { t.LateScan = s } }
	stagger := func(s uint16) func(*spec.Tolerances) { return func(t *spec.Tolerances) { t.Stagger = s } }
	e := v.Trace
	r := play(t, exact(), v, e[0], e[1], e[3], e[2])
	require.Equal(t, runner.Fail, r.Verdict)
	assert.Equal(t, &runner.Departure{At: 1000, Kind: runner.WrongOrder, Expected: &e[2], Observed: &e[3]}, r.Departure)

	// Late by what is allowed, the order is still that of OUT-3.
	assert.Equal(t, runner.Pass, play(t, exact(scan(9)), v, at(1009, hw, 1, 0), at(1009, ch, 1, 0), at(1009, alert, 2, 0), at(1009, sounder, 1, 0)).Verdict)
	r = play(t, exact(scan(9)), v, at(1009, ch, 1, 0), at(1009, hw, 1, 0), at(1009, alert, 2, 0), at(1009, sounder, 1, 0))
	require.Equal(t, runner.Fail, r.Verdict)
	assert.Equal(t, runner.WrongOrder, r.Departure.Kind)
	assert.Equal(t, e[0], *r.Departure.Expected)

	// Relays that may change apart may change in any order, but hot water follows heating within the stagger.
	assert.Equal(t, runner.Pass, play(t, exact(stagger(2)), v, e[1], e[2], e[3], at(1002, hw, 1, 0)).Verdict)
	assert.Equal(t, runner.Fail, play(t, exact(stagger(2)), v, e[1], e[2], e[3], at(1003, hw, 1, 0)).Verdict)
	assert.Equal(t, runner.Pass, play(t, exact(stagger(2), scan(9)), v, at(1005, ch, 1, 0), at(1007, hw, 1, 0), at(1007, alert, 2, 0), at(1007, sounder, 1, 0)).Verdict)
	r = play(t, exact(stagger(2), scan(9)), v, at(1005, ch, 1, 0), at(1008, hw, 1, 0), at(1008, alert, 2, 0), at(1008, sounder, 1, 0))
	require.Equal(t, runner.Fail, r.Verdict)
	assert.Equal(t, runner.Late, r.Departure.Kind)
	assert.Equal(t, e[0], *r.Departure.Expected)

	// One late change excuses no later wrong order.
	long := vector(at(1000, hw, 1, spec.ClauseTable), at(2000, hw, 0, spec.ClauseTable), at(3000, hw, 1, spec.ClauseTable), at(3000, ch, 1, spec.ClauseTable))
	r = play(t, exact(scan(9)), long, at(1001, hw, 1, 0), long.Trace[1], long.Trace[3], long.Trace[2])
	require.Equal(t, runner.Fail, r.Verdict)
	assert.Equal(t, runner.WrongOrder, r.Departure.Kind)
}

// Of a trace of the clock, whatever each change is late by within the tolerances passes, and a second more of any of them fails.
func TestShiftsWithinAndBeyondTolerances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ics := exact(func(tol *spec.Tolerances) {
			tol.LateScan = uint16(rapid.IntRange(0, 90).Draw(t, "late-scan"))
			tol.Stagger = uint16(rapid.IntRange(0, 5).Draw(t, "stagger"))
			tol.ClockRate = uint32(rapid.IntRange(0, 500).Draw(t, "clock-rate"))
		})
		v := vector()
		now := uint64(0)
		level := [2]spec.Level{}
		for range rapid.IntRange(1, 12).Draw(t, "changes") {
			// Farther apart than any of the tolerances reaches.
			now += uint64(rapid.IntRange(600, 12000).Draw(t, "gap"))
			s := rapid.SampledFrom([]spec.Signal{hw, ch}).Draw(t, "signal")
			level[s] = 1 - level[s]
			v.Trace = append(v.Trace, at(now, s, level[s], spec.ClauseTable))
		}
		v.Until = now + 1000
		bounds := func(c spec.Change) (early, late int) {
			drift := (int(c.At)*int(ics.Tolerances.ClockRate) + 999_999) / 1_000_000
			return drift, drift + int(ics.Tolerances.LateScan) + int(ics.Tolerances.Stagger)
		}
		observed := slices.Clone(v.Trace)
		moved := false
		for i := range observed {
			early, late := bounds(observed[i])
			by := rapid.IntRange(-early, late).Draw(t, "shift")
			moved = moved || by != 0
			observed[i].At = uint64(int(observed[i].At) + by)
		}
		r := run(t, playing(ics, nil, observed...), v)
		if r.Verdict != runner.Pass || r.Exact == moved {
			t.Fatalf("%v, exact %v, %+v", r.Verdict, r.Exact, r.Departure)
		}
		i := rapid.IntRange(0, len(observed)-1).Draw(t, "beyond")
		early, late := bounds(v.Trace[i])
		by := rapid.SampledFrom([]int{-early - 1, late + 1}).Draw(t, "by")
		observed[i].At = uint64(int(v.Trace[i].At) + by)
		r = run(t, playing(ics, nil, observed...), v)
		if r.Verdict != runner.Fail || *r.Departure.Expected != v.Trace[i] || *r.Departure.Observed != observed[i] {
			t.Fatalf("%v, %+v", r.Verdict, r.Departure)
		}
	})
}

func published(t *testing.T) []*suite.Vector {
	t.Helper()
	s, err := suite.Load(vectors.Files)
	require.NoError(t, err)
	return s.Vectors
}

func count(t *testing.T, unit iut.IUT, all []*suite.Vector) (n [4]int, exact int) {
	t.Helper()
	require.NoError(t, runner.Run(ctx, unit, all, func(r *runner.Result) {
		n[r.Verdict]++
		if r.Exact {
			exact++
		}
	}))
	return n, exact
}

func TestTheEmulatorPassesExactly(t *testing.T) {
	all := published(t)
	for _, channels := range []spec.Channels{spec.BothChannels, spec.OnlyCH} {
		ics := spec.FullICS()
		ics.Fitted.Channels = channels
		n, exact := count(t, wrapped(ics, func(d wire.Device) wire.Device { return d }), all)
		assert.Zero(t, n[runner.Fail])
		assert.Zero(t, n[runner.Inconclusive])
		assert.Greater(t, n[runner.Pass], 200)
		assert.Equal(t, n[runner.Pass], exact)
	}
}

// A board that lies late by n seconds passes, within tolerance, if it claims n, and fails if it claims less.
func TestALateBoard(t *testing.T) {
	const n = 7
	var quiet []*suite.Vector // with which nothing is done after the start, so that lateness brings no other consequences
	for _, v := range published(t) {
		if len(v.Steps) == 0 && len(v.Trace) > 0 && v.Trace[len(v.Trace)-1].At+n <= v.Until {
			quiet = append(quiet, v)
		}
	}
	board := func(claimed uint16) iut.IUT {
		return wrapped(exact(func(t *spec.Tolerances) { t.LateScan = claimed }), func(d wire.Device) wire.Device { return &late{Device: d, seconds: n} })
	}
	claims, exactly := count(t, board(n), quiet)
	assert.Greater(t, claims[runner.Pass], 20)
	assert.Zero(t, claims[runner.Fail])
	assert.Zero(t, exactly)
	short, _ := count(t, board(n-1), quiet)
	assert.Equal(t, claims[runner.Pass], short[runner.Fail])
}

// A board whose outputs follow two seconds after every return of power passes the whole set if it claims that.
func TestABoardThatIsSlowAtPowerOn(t *testing.T) {
	all := published(t)
	board := func(claimed uint16) iut.IUT {
		return wrapped(exact(func(t *spec.Tolerances) { t.LatePowerOn = claimed }), func(d wire.Device) wire.Device { return &slow{Device: d, delay: 2} })
	}
	require.NoError(t, runner.Run(ctx, board(2), all, func(r *runner.Result) {
		if r.Verdict == runner.Fail || r.Verdict == runner.Inconclusive {
			t.Errorf("%s: %s %+v %v", r.Vector.ID, r.Why, r.Departure, r.Observed)
		}
	}))
	claims, exactly := count(t, board(2), all)
	assert.Greater(t, claims[runner.Pass], exactly, "some are within tolerance")
	short, _ := count(t, board(1), all)
	assert.Equal(t, claims[runner.Pass]-exactly, short[runner.Fail])
}

// A unit that is wrong in one rule fails vectors that use it, most of them in that rule's family, and no others.
func TestAWrongUnit(t *testing.T) {
	all := published(t)
	failed := map[string]int{}
	unit := wrapped(spec.FullICS(), func(d wire.Device) wire.Device { return &forgetsOverride{Device: d} })
	require.NoError(t, runner.Run(ctx, unit, all, func(r *runner.Result) {
		require.NotEqual(t, runner.Inconclusive, r.Verdict)
		if r.Verdict == runner.Fail {
			failed[suite.FamilyOf(r.Vector.ID)]++
			assert.True(t, slices.ContainsFunc(r.Bound.Steps, func(s suite.BoundStep) bool { return s.Input.Kind == spec.Override }) ||
				slices.ContainsFunc(r.Bound.Given, func(in spec.Input) bool { return in.Kind == spec.Override }), r.Vector.ID)
		}
	}))
	for family, n := range failed {
		assert.True(t, family == "OVR" || family == suite.Generated || n < failed["OVR"], "%v", failed)
	}
	assert.Greater(t, failed["OVR"], 30)
}

// forgetsOverride accepts every override, and does nothing.
type forgetsOverride struct{ wire.Device }

func (d *forgetsOverride) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	if in.Kind == spec.Override {
		return spec.Reply{}, changes
	}
	return d.Device.Do(in, changes)
}

// A board whose outputs follow two seconds after power returns shows of two cuts in one second the first loss and the last return.
func TestTwoCutsInOneSecond(t *testing.T) {
	v := vector(at(100, hw, 0, spec.ClausePower), at(100, hw, 1, spec.ClauseAlways), at(100, hw, 0, spec.ClausePower), at(100, hw, 1, spec.ClauseAlways))
	v.Given = []string{"mode hw always", "mode ch off"}
	v.Initial[hw] = 1
	v.Steps = []suite.Step{{At: 100, Do: "power off"}, {At: 100, Do: "power on"}, {At: 100, Do: "power off"}, {At: 100, Do: "power on"}}
	board := func(claimed uint16, delay uint64) iut.IUT {
		return wrapped(exact(func(t *spec.Tolerances) { t.LatePowerOn = claimed }), func(d wire.Device) wire.Device { return &slow{Device: d, delay: delay} })
	}
	r := run(t, board(2, 2), v)
	require.Equal(t, runner.Pass, r.Verdict, "%+v", r.Departure)
	assert.False(t, r.Exact)
	// The start is as late.
	assert.Equal(t, runner.WrongStart, run(t, board(1, 2), v).Departure.Kind)
	exactly := run(t, board(2, 0), v)
	assert.True(t, exactly.Exact)
	late := play(t, exact(func(t *spec.Tolerances) { t.LatePowerOn = 2 }), v, at(0, hw, 1, 0), at(100, hw, 0, 0), at(103, hw, 1, 0))
	require.Equal(t, runner.Fail, late.Verdict)
	assert.Equal(t, &runner.Departure{At: 100, Kind: runner.Late, Expected: &v.Trace[3], Observed: &spec.Change{At: 103, Signal: hw, Level: 1}}, late.Departure)
}

// What the clocks close in the second of a cut comes before the cut: that a board may be late after power has returned does not excuse it.
func TestAClosingBeforeACutOfItsSecond(t *testing.T) {
	v := vector(at(100, hw, 1, spec.ClauseTable), at(100, hw, 0, spec.ClausePower), at(100, hw, 1, spec.ClauseTable))
	v.Steps = []suite.Step{{At: 100, Do: "power off"}, {At: 100, Do: "power on"}}
	late := exact(func(t *spec.Tolerances) { t.LatePowerOn = 2 })
	assert.Equal(t, runner.Pass, play(t, late, v, at(100, hw, 1, 0), at(100, hw, 0, 0), at(101, hw, 1, 0)).Verdict)
	r := play(t, late, v, at(101, hw, 1, 0))
	require.Equal(t, runner.Fail, r.Verdict)
	assert.Equal(t, &v.Trace[0], r.Departure.Expected)
	scan := exact(func(t *spec.Tolerances) { t.LatePowerOn, t.LateScan = 2, 1 })
	assert.Equal(t, runner.Pass, play(t, scan, v, at(101, hw, 1, 0)).Verdict, "a board that had not looked yet")
}

// A board that looks at the table once a minute has not seen it close at 100 when 'off' comes at 110, and 'always' closes the relay in its
// own second.
func TestInputsWithinTheScanOfASwitchingPoint(t *testing.T) {
	v := vector(at(100, hw, 1, spec.ClauseTable), at(110, hw, 0, spec.ClauseOff), at(120, hw, 1, spec.ClauseAlways))
	v.Steps = []suite.Step{{At: 110, Do: "mode hw off"}, {At: 120, Do: "mode hw always"}}
	minute := exact(func(t *spec.Tolerances) { t.LateScan = 60 })
	for name, c := range map[string]struct {
		observed []spec.Change
		want     runner.Verdict
	}{
		"not seen":             {[]spec.Change{at(120, hw, 1, 0)}, runner.Pass},
		"seen":                 {[]spec.Change{at(105, hw, 1, 0), at(110, hw, 0, 0), at(120, hw, 1, 0)}, runner.Pass},
		"an input is not late": {[]spec.Change{at(121, hw, 1, 0)}, runner.Fail},
		"half seen":            {[]spec.Change{at(105, hw, 1, 0), at(120, hw, 0, 0)}, runner.Fail},
	} {
		r := play(t, minute, v, c.observed...)
		assert.Equal(t, c.want, r.Verdict, name)
		assert.False(t, r.Exact, name)
	}
}
