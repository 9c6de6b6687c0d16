package report

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/joshdk/go-junit"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// testPage has clauses short enough to see where lines break.
const testPage = `### MOD: modes

**MOD-1** Off asks for 0.

**MOD-2** Table asks for what its table asks.

### OVR: override

**OVR-1** An override makes the demand NOT *s*, at once.

**OVR-2** [` + "`override-end`=`change`" + `] An override ends at the next instant at which *s* changes because time has passed, and the channel follows its schedule from then.

### LCK: interval lock

**LCK-1** Dormant until armed.

### OUT: outputs

**OUT-1** Each output changes in its second.

**OUT-2** Net changes only.

**OUT-3** Hot water closes first.
`

func page(t testing.TB) *suite.Page {
	t.Helper()
	p, err := suite.ReadPage(testPage)
	require.NoError(t, err)
	return p
}

func at(second uint64, s spec.Signal, level spec.Level, by spec.Clause) spec.Change {
	return spec.Change{At: second, Signal: s, Level: level, By: by}
}

const (
	hw      = spec.SigHW
	ch      = spec.SigCH
	alert   = spec.SigAlert
	sounder = spec.SigSounder
)

// overrideVector begins at 05:00, so that 06:30 is second 5400, 08:00 is 10800, 17:00 is 43200 and 22:00 is 61200.
func overrideVector() *suite.Vector {
	return &suite.Vector{
		ID: "OVR-2/ends", File: "ovr.json", Clauses: []string{"OVR-2", "OVR-1"},
		Purpose: "An override to 0 given in a period ends with the period.",
		Catches: "An override kept until it is pressed again: heating never comes back.",
		Start:   time.Date(2026, 1, 14, 5, 0, 0, 0, time.UTC),
		Given:   []string{"mode hw off", "table both every 06:30-09:00 17:00-22:00"},
		Steps:   []suite.Step{{At: 10800, Do: "override ch"}, {At: 64000, Do: "override ch", Want: spec.Refused}},
		Until:   64800,
		Trace: []spec.Change{
			at(5400, ch, 1, spec.ClauseTable), at(10800, ch, 0, spec.ClauseOverride), at(43200, ch, 1, spec.ClauseTable), at(61200, ch, 0, spec.ClauseTable),
		},
	}
}

// failed returns the result of a vector on a full unit that departed.
func failed(t testing.TB, v *suite.Vector, d *runner.Departure, observed ...spec.Change) *runner.Result {
	t.Helper()
	full := spec.FullICS()
	b, err := v.Bind(&full)
	require.NoError(t, err)
	return &runner.Result{Vector: v, Verdict: runner.Fail, Bound: b, Departure: d, Initial: b.Initial, Observed: observed}
}

func failure(t testing.TB, r *runner.Result) string {
	t.Helper()
	var b strings.Builder
	Failure(&b, page(t), r)
	return b.String()
}

// The text has everything from the verdict to the drawing. Only the first step stands before the departure at 17:00; the vector's
// clauses come first, then MOD-2, which asks for the change that did not come. In the drawing the override's second and the table's have a
// column each, and so have the start and the second step at 22:46:40; hot water rests throughout; heating is observed to rest from
// 08:00 on. The clause's first line, up to "passed,", has just the 110 characters that a line may have.
func TestFailure(t *testing.T) {
	v := overrideVector()
	r := failed(t, v, &runner.Departure{At: 43200, Kind: runner.Missing, Expected: &v.Trace[2]}, v.Trace[:2]...)
	want := `FAIL  OVR-2/ends
  purpose   An override to 0 given in a period ends with the period.
  catches   An override kept until it is pressed again: heating never comes back.
  clause    OVR-2 [override-end=change] An override ends at the next instant at which *s* changes because time has passed,
            and the channel follows its schedule from then.
            OVR-1 An override makes the demand NOT *s*, at once.
            MOD-2 Table asks for what its table asks.
  given     power on; clock 2026-01-14 05:00; mode hw off; table both every 06:30-09:00 17:00-22:00
  steps     Wed 2026-01-14 08:00:00  override ch  (accepted)
  departs   Wed 2026-01-14 17:00:00  The heating relay should close by MOD-2; it did not.

                05:00:00 06:30:00 08:00:00 17:00:00 22:00:00 22:46:40
    hw expected ______________________________________________________
    hw observed ______________________________________________________
    ch expected _________#########_________#########__________________
    ch observed _________#########____________________________________
                                           ^ here
    # closed or sounding, _ not, * changes more than once in that second

`
	assert.Equal(t, want, failure(t, r))
}

// A wrong reply needs no drawing; the steps go up to the one that was answered wrongly.
func TestFailureOfAReply(t *testing.T) {
	v := overrideVector()
	r := failed(t, v, &runner.Departure{At: 64000, Kind: runner.WrongReply, Step: 1, Reply: spec.Accepted}, v.Trace...)
	text := failure(t, r)
	assert.Contains(t, text, `
  steps     Wed 2026-01-14 08:00:00  override ch  (accepted)
            Wed 2026-01-14 22:46:40  override ch  (refused)
  departs   Wed 2026-01-14 22:46:40  'override ch' was accepted; it should be refused.

`)
	assert.NotContains(t, text, "observed")
}

func TestFailureOfAnInconclusiveVector(t *testing.T) {
	v := overrideVector()
	r := failed(t, v, nil)
	r.Verdict, r.Why = runner.Inconclusive, "no answer in time to 'reset'"
	r.Trouble = &iut.Trouble{Ending: iut.Ending{Stderr: []string{"assertion failed", "core dumped"}}}
	text := failure(t, r)
	assert.True(t, strings.HasPrefix(text, "INCONCLUSIVE  OVR-2/ends\n"))
	assert.True(t, strings.HasSuffix(text, "\n  why       no answer in time to 'reset'\n  stderr    assertion failed\n            core dumped\n\n"), text)
	assert.NotContains(t, text, "departs")
}

// A wrong order shows OUT-3, whichever clauses the vector lists, and the alert and the sounder where they play a part.
func TestFailureShowsWhatPlaysAPart(t *testing.T) {
	v := overrideVector()
	v.Trace = []spec.Change{at(5400, hw, 1, spec.ClauseTable), at(5400, ch, 1, spec.ClauseTable)}
	text := failure(t, failed(t, v, &runner.Departure{At: 5400, Kind: runner.WrongOrder, Expected: &v.Trace[0], Observed: &v.Trace[1]}, v.Trace[1], v.Trace[0]))
	assert.Contains(t, text, "            OUT-3 Hot water closes first.\n")
	assert.Contains(t, text, "06:30:00  The hot-water relay should close first in this second; the heating relay came first\n            (OUT-3).\n")
	assert.NotContains(t, text, "alert expected")
	assert.NotContains(t, text, "sounder expected")

	v.Clauses = append(v.Clauses, "OUT-3")
	text = failure(t, failed(t, v, &runner.Departure{At: 5400, Kind: runner.WrongOrder, Expected: &v.Trace[0], Observed: &v.Trace[1]}, v.Trace[1], v.Trace[0]))
	assert.Equal(t, 1, strings.Count(text, "Hot water closes first."))

	r := failed(t, overrideVector(), &runner.Departure{At: 7000, Kind: runner.Unexpected, Observed: &spec.Change{At: 7000, Signal: alert, Level: 2}}, at(7000, alert, 2, 0))
	r.Initial[sounder] = 1
	text = failure(t, r)
	assert.Contains(t, text, "alert observed")
	assert.Contains(t, text, "sounder observed ####")
	assert.Contains(t, text, "06:56:40  The alert changes to 'notice'; it should not. It does not change again.\n")
}

func TestDepartureInWords(t *testing.T) {
	v := overrideVector()
	v.Given = append(v.Given, "lock remove {wrong}") // never run here
	v.Steps = append(v.Steps, suite.Step{At: 64001, Do: "lock arm {credential} 30 7 20 20 20 20 none"}, suite.Step{At: 64002, Do: "lock remove {wrong}", Want: spec.Refused})
	full := spec.FullICS()
	b, err := v.Bind(&full)
	require.NoError(t, err)
	change := func(second uint64, s spec.Signal, level spec.Level, by spec.Clause) *spec.Change {
		return &spec.Change{At: second, Signal: s, Level: level, By: by}
	}
	cases := []struct {
		d    runner.Departure
		want string
	}{
		{runner.Departure{Kind: runner.WrongReply, Step: 0, Reply: spec.Refused}, "'override ch' was refused; it should be accepted."},
		{runner.Departure{Kind: runner.WrongReply, Step: 1, Reply: spec.Accepted}, "'override ch' was accepted; it should be refused."},
		{runner.Departure{Kind: runner.ClaimMissing, Step: 1, Reply: spec.Unsupported}, "'override ch' was unsupported, though the unit's ICS says that it has what this is for."},
		{runner.Departure{Kind: runner.WrongReply, Step: 2, Reply: spec.Refused}, "'lock arm {credential} 30 7 20 20 20 20 none' was refused; it should be accepted."},
		{runner.Departure{Kind: runner.WrongReply, Step: 3, Reply: spec.Accepted}, "'lock remove {wrong}' was accepted; it should be refused."},
		{runner.Departure{Kind: runner.ClaimMissing, Step: 3}, "'lock remove {wrong}' was unsupported, though the unit's ICS says that it has what this is for."},
		{runner.Departure{Kind: runner.WrongStart, Observed: change(0, hw, 0, 0), Expected: change(0, hw, 1, 0)}, "After the given inputs the hot-water relay is open; it should be closed."},
		{runner.Departure{Kind: runner.WrongStart, Observed: change(0, alert, 2, 0), Expected: change(0, alert, 1, 0)}, "After the given inputs the alert is 'notice'; it should be 'counting'."},
		{runner.Departure{Kind: runner.WrongStart, Observed: change(0, sounder, 1, 0), Expected: change(0, sounder, 0, 0)}, "After the given inputs the sounder is sounding; it should be silent."},
		{runner.Departure{Kind: runner.Missing, Expected: change(0, ch, 0, spec.ClauseOverride)}, "The heating relay should open by OVR-1; it did not."},
		{runner.Departure{Kind: runner.Missing, Expected: change(0, sounder, 1, spec.ClauseSounder)}, "The sounder should sound by LCK-18; it did not."},
		{runner.Departure{Kind: runner.Missing, Expected: change(0, sounder, 0, spec.ClausePower)}, "The sounder should fall silent by PWR-1; it did not."},
		{runner.Departure{Kind: runner.Missing, Expected: change(0, alert, 3, spec.ClauseRestrict)}, "The alert should change to 'restricted' by LCK-4; it did not."},
		{runner.Departure{Kind: runner.Late, Expected: change(5400, hw, 1, spec.ClauseTable), Observed: change(5401, hw, 1, 0)},
			"The hot-water relay should close by MOD-2; it did so only at Wed 2026-01-14 06:30:01."},
		{runner.Departure{Kind: runner.WrongOrder, Expected: change(0, ch, 0, spec.ClauseTable), Observed: change(0, hw, 0, 0)},
			"The heating relay should open first in this second; the hot-water relay came first (OUT-3)."},
		{runner.Departure{Kind: runner.Unexpected, Observed: change(100, hw, 1, 0)}, "The hot-water relay closes; it should not. It does not change again."},
		{runner.Departure{Kind: runner.Unexpected, Observed: change(100, hw, 0, 0), Expected: change(5400, hw, 0, spec.ClauseTable)},
			"The hot-water relay opens; it should not. It next changes at Wed 2026-01-14 06:30:00, by MOD-2."},
		{runner.Departure{Kind: runner.Unexpected, Observed: change(100, sounder, 1, 0)}, "The sounder sounds; it should not. It does not change again."},
		{runner.Departure{Kind: runner.Unexpected, Observed: change(100, sounder, 0, 0)}, "The sounder falls silent; it should not. It does not change again."},
		// A device in this process may show a level that there is not.
		{runner.Departure{Kind: runner.Unexpected, Observed: change(100, hw, 7, 0)}, "The hot-water relay closes; it should not. It does not change again."},
		{runner.Departure{Kind: runner.Unexpected, Observed: change(100, alert, 7, 0)}, "The alert changes to '(7)'; it should not. It does not change again."},
	}
	for _, c := range cases {
		assert.Equal(t, c.want, Departure(&c.d, b))
	}
}

const checksum = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"

// results is a report with one result of each kind, and one more pass that is within tolerance.
func results(t testing.TB) *Report {
	t.Helper()
	v := overrideVector()
	named := func(id string, clauses ...string) *suite.Vector {
		other := *v
		other.ID, other.Clauses = id, clauses
		return &other
	}
	broken := failed(t, named("OVR-2/broken", "OVR-2", "OVR-1"), &runner.Departure{At: 43200, Kind: runner.Missing, Expected: &v.Trace[2]}, v.Trace[:2]...)
	hung := failed(t, named("MOD-1/hung", "MOD-1"), nil)
	hung.Verdict, hung.Why, hung.Trouble = runner.Inconclusive, "no answer in time to 'reset'", &iut.Trouble{Ending: iut.Ending{Stderr: []string{"assertion failed"}}}
	return &Report{
		IUT: "exec:./unit", Description: "./unit", ICS: spec.FullICS(), Page: page(t), Checksum: checksum, Tool: "v1.2.3",
		When: time.Date(2026, 6, 10, 12, 0, 0, 0, time.FixedZone("", 3600)), Took: 1234567 * time.Microsecond,
		Results: []*runner.Result{
			hung,
			{Vector: named("MOD-2/good", "MOD-2", "OVR-1"), Verdict: runner.Pass, Exact: true},
			broken,
			{Vector: named("OVR-1/near", "OVR-1"), Verdict: runner.Pass},
			{Vector: named("LCK-1/no-lock", "LCK-1"), Verdict: runner.NotApplicable, Why: "needs lock yes"},
		},
	}
}

// Of MOD one hung and one passed; of OVR one failed and one passed. OVR-2 is listed by one vector, which failed; OVR-1 by three that
// apply, of which one failed. The text of OVR-2 is cut before the word that would go beyond 80 characters.
func TestSummary(t *testing.T) {
	var b strings.Builder
	results(t).Summary(&b)
	assert.Equal(t, `family               pass    fail  inconclusive  not applicable
MOD modes               1       0             1               0
OVR override            1       1             0               0
LCK interval lock       0       0             0               1
all                     2       1             1               1

most broken: of the vectors that list the clause, and that the unit's ICS calls for, how many failed
  OVR-2      1 of 1     An override ends at the next instant at which *s* changes because time has …
  OVR-1      1 of 3     An override makes the demand NOT *s*, at once.

IUT      exec:./unit
vectors  5, checksum 0123456789ab
verdict  not conformant: MOD, OVR

The vectors test time control only: no safety control, no temperature, no wiring.
`, b.String())
}

func TestVerdictOnTheWhole(t *testing.T) {
	all := results(t).Results
	hung, exact, broken, near, not := all[0], all[1], all[2], all[3], all[4]
	cases := []struct {
		results    []*runner.Result
		planned    int
		conformant bool
		want       string
	}{
		{[]*runner.Result{exact, not}, 0, true, "conformant, exactly"},
		{[]*runner.Result{exact, near}, 2, true, "conformant, within tolerance: 1 vector needed what the ICS allows"},
		{[]*runner.Result{near, near}, 2, true, "conformant, within tolerance: 2 vectors needed what the ICS allows"},
		{[]*runner.Result{exact, hung}, 0, false, "not conformant: MOD"},
		{[]*runner.Result{exact, broken}, 0, false, "not conformant: OVR"},
		{[]*runner.Result{not}, 0, false, "none: the unit's ICS calls for none of these vectors"},
		{nil, 0, false, "none: the unit's ICS calls for none of these vectors"},
		// After an interruption nothing good can be said, though what is bad stays so.
		{[]*runner.Result{exact}, 2, false, "none: the run ended after 1 of 2 vectors"},
		{nil, 1, false, "none: the run ended after 0 of 1 vector"},
		{[]*runner.Result{broken}, 9, false, "not conformant: OVR; the run ended after 1 of 9 vectors"},
	}
	for _, c := range cases {
		r := results(t)
		r.Results, r.Planned = c.results, c.planned
		counts := r.Counts()
		assert.Equal(t, c.want, r.verdict(&counts))
		assert.Equal(t, c.conformant, r.Conformant(), c.want)
	}
}

func TestMostBroken(t *testing.T) {
	r := results(t)
	r.Results = nil
	add := func(verdict runner.Verdict, times int, clauses ...string) {
		for range times {
			r.Results = append(r.Results, &runner.Result{Verdict: verdict, Vector: &suite.Vector{Clauses: clauses}})
		}
	}
	assert.Empty(t, r.MostBroken())
	assert.NotNil(t, r.MostBroken(), "JSON has an empty list, not null")
	add(runner.Pass, 3, "MOD-1")
	add(runner.Inconclusive, 1, "MOD-1")
	add(runner.NotApplicable, 3, "OVR-1")
	assert.Empty(t, r.MostBroken(), "nothing failed")
	// Beside each: failures squared over the vectors that apply, by which the clauses are ordered.
	add(runner.Fail, 2, "OVR-1")  // 2 of 2: 2; those that do not apply do not count
	add(runner.Fail, 3, "OVR-2")  // 3 of 3: 3
	add(runner.Fail, 1, "MOD-1")  // 1 of 5: 0.2
	add(runner.Pass, 1, "MOD-2")  // 2 of 3, with the next: 1.3
	add(runner.Fail, 2, "MOD-2")  //
	add(runner.Fail, 2, "OUT-1")  // 2 of 3 too: the page's order decides
	add(runner.Pass, 1, "OUT-1")  //
	add(runner.Fail, 10, "OUT-2") // 10 of 40: 2.5
	add(runner.Pass, 30, "OUT-2")
	assert.Equal(t, []Broken{
		{"OVR-2", 3, 3}, {"OUT-2", 10, 40}, {"OVR-1", 2, 2}, {"MOD-2", 2, 3}, {"OUT-1", 2, 3},
	}, r.MostBroken(), "and MOD-1 is one too many to name")
}

// A unit that takes no override fails vectors of many clauses, but those on the override lead.
func TestMostBrokenLeadsToTheMistake(t *testing.T) {
	s, err := suite.Load(vectors.Files)
	require.NoError(t, err)
	r := &Report{ICS: spec.FullICS(), Page: s.Page}
	unit := iut.InProcess("wrong", r.ICS, func(ics spec.ICS) wire.Device { return &forgetsOverride{Device: oracle.Emulator(ics)} })
	require.NoError(t, runner.Run(context.Background(), unit, s.Vectors, func(result *runner.Result) { r.Results = append(r.Results, result) }))
	broken := r.MostBroken()
	require.Len(t, broken, maxBroken)
	for _, b := range broken {
		assert.Contains(t, s.Page.Clause(b.Clause).Text, "override", b.Clause)
	}
}

type forgetsOverride struct{ wire.Device }

func (d *forgetsOverride) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	if in.Kind == spec.Override {
		return spec.Reply{}, changes
	}
	return d.Device.Do(in, changes)
}

func TestFailingFamilies(t *testing.T) {
	assert.Equal(t, []string{"MOD", "OVR"}, results(t).FailingFamilies())
}

// The names of fields are what other programs rely on.
func TestJSON(t *testing.T) {
	r := results(t)
	r.IUT = "emulator:credential=246810,periods=3"
	var b bytes.Buffer
	require.NoError(t, r.JSON(&b))
	require.True(t, json.Valid(b.Bytes()))
	assert.NotContains(t, b.String(), r.ICS.Credential)

	var have map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &have))
	ics := have["ics"].(map[string]any)
	assert.Equal(t, "both,hw,ch both", ics["channels"])
	assert.Equal(t, "6", ics["periods"])
	assert.NotContains(t, ics, "credential")
	assert.Len(t, ics, len(wire.OptionNames())-1+4, "every other option, and the four of what is fitted")
	delete(have, "ics")
	var want map[string]any
	require.NoError(t, json.Unmarshal([]byte(`{
		"format": 1, "iut": "emulator:credential=…,periods=3", "description": "./unit", "when": "2026-06-10T11:00:00Z", "seconds": 1.235,
		"tool": {"name": "hearthbench", "version": "v1.2.3"},
		"vectors": {"source": "published", "format": 1, "protocol": 1, "planned": 5, "count": 5, "sha256": "`+checksum+`"},
		"complete": true, "conformant": false, "holds": false, "verdict": "not conformant: MOD, OVR",
		"counts": {"pass": 2, "withinTolerance": 1, "fail": 1, "inconclusive": 1, "notApplicable": 1, "known": 0},
		"families": [
			{"id": "MOD", "name": "modes", "pass": 1, "withinTolerance": 0, "fail": 0, "inconclusive": 1, "notApplicable": 0, "known": 0},
			{"id": "OVR", "name": "override", "pass": 1, "withinTolerance": 1, "fail": 1, "inconclusive": 0, "notApplicable": 0, "known": 0},
			{"id": "LCK", "name": "interval lock", "pass": 0, "withinTolerance": 0, "fail": 0, "inconclusive": 0, "notApplicable": 1, "known": 0}
		],
		"safety": "The vectors test time control only: no safety control, no temperature, no wiring.",
		"mostBroken": [{"clause": "OVR-2", "failed": 1, "applicable": 1}, {"clause": "OVR-1", "failed": 1, "applicable": 3}],
		"results": [
			{"id": "MOD-1/hung", "clauses": ["MOD-1"], "verdict": "inconclusive", "exact": false, "why": "no answer in time to 'reset'", "stderr": ["assertion failed"]},
			{"id": "MOD-2/good", "clauses": ["MOD-2", "OVR-1"], "verdict": "pass", "exact": true},
			{"id": "OVR-2/broken", "clauses": ["OVR-2", "OVR-1"], "verdict": "fail", "exact": false,
				"departure": {"at": "2026-01-14T17:00:00Z", "second": 43200, "kind": "missing", "text": "The heating relay should close by MOD-2; it did not.",
					"expected": {"second": 43200, "signal": "ch", "level": 1, "clause": "MOD-2"}}},
			{"id": "OVR-1/near", "clauses": ["OVR-1"], "verdict": "pass", "exact": false},
			{"id": "LCK-1/no-lock", "clauses": ["LCK-1"], "verdict": "not applicable", "exact": false, "why": "needs lock yes"}
		]
	}`), &want))
	assert.Empty(t, cmp.Diff(want, have))

	r.Results, r.Planned = nil, 3
	b.Reset()
	require.NoError(t, r.JSON(&b))
	require.NoError(t, json.Unmarshal(b.Bytes(), &have))
	assert.Equal(t, false, have["complete"])
	for _, list := range []string{"families", "mostBroken", "results"} {
		assert.Equal(t, []any{}, have[list], list)
	}
}

// No report has the unit's credential, nor the wrong one that gives it away, whatever goes wrong with an input of the lock.
func TestNoReportHasTheCredential(t *testing.T) {
	v := overrideVector()
	v.Given = []string{"mode hw off", "mode ch off", "lock arm {credential} 30 7 20 20 20 20 none"}
	v.Steps = []suite.Step{{At: 100, Do: "lock remove {wrong}", Want: spec.Refused}}
	v.Trace, v.Initial = nil, [spec.NumSignals]spec.Level{alert: 1}
	for _, wrong := range []spec.Kind{spec.LockArm, spec.LockRemove, spec.Reset} {
		ics := spec.FullICS()
		unit := iut.InProcess("wrong", ics, func(ics spec.ICS) wire.Device { return &wrongLock{Device: oracle.Emulator(ics), kind: wrong} })
		r := &Report{IUT: "exec:./unit", ICS: ics, Page: page(t), Checksum: "0"}
		require.NoError(t, runner.Run(context.Background(), unit, []*suite.Vector{v}, func(result *runner.Result) { r.Results = append(r.Results, result) }))
		for _, write := range []func(*Report, *bytes.Buffer) error{
			func(r *Report, b *bytes.Buffer) error { return r.JSON(b) },
			func(r *Report, b *bytes.Buffer) error { return r.TAP(b) },
			func(r *Report, b *bytes.Buffer) error { return r.JUnit(b) },
			func(r *Report, b *bytes.Buffer) error { return r.HTML(b) },
			func(r *Report, b *bytes.Buffer) error { Failure(b, r.Page, r.Results[0]); r.Summary(b); return nil },
		} {
			var b bytes.Buffer
			if r.Results[0].Verdict == runner.Pass {
				continue
			}
			require.NoError(t, write(r, &b))
			assert.NotContains(t, b.String(), "246810")
			assert.NotContains(t, b.String(), "246811")
			assert.Contains(t, b.String(), "OVR-2/ends")
		}
		if want := map[spec.Kind]runner.Verdict{spec.LockArm: runner.Inconclusive, spec.LockRemove: runner.Fail, spec.Reset: runner.Pass}[wrong]; want != r.Results[0].Verdict {
			t.Errorf("%v: %v, want %v", wrong, r.Results[0].Verdict, want)
		}
	}
}

// wrongLock is unsupported where it has a lock, for one kind of input.
type wrongLock struct {
	wire.Device
	kind spec.Kind
}

func (d *wrongLock) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	if in.Kind == d.kind {
		return spec.Reply{Outcome: spec.Unsupported}, changes
	}
	return d.Device.Do(in, changes)
}

func TestTAP(t *testing.T) {
	var b strings.Builder
	r := results(t)
	r.Results[1].Vector.ID = "MOD-2/good # TODO"
	require.NoError(t, r.TAP(&b))
	var plain []string
	for _, line := range strings.Split(b.String(), "\n") {
		if !strings.HasPrefix(line, "#") {
			plain = append(plain, line)
		}
	}
	assert.Equal(t, []string{
		"TAP version 13", "1..5", "not ok 1 - MOD-1/hung", `ok 2 - MOD-2/good \# TODO`, "not ok 3 - OVR-2/broken", "ok 4 - OVR-1/near",
		"ok 5 - LCK-1/no-lock # SKIP not applicable: needs lock yes", "",
	}, plain)
	assert.Contains(t, b.String(), "not ok 1 - MOD-1/hung\n# INCONCLUSIVE  MOD-1/hung\n#   purpose   An override to 0")
	assert.Contains(t, b.String(), "\n#   departs   Wed 2026-01-14 17:00:00  The heating relay should close by MOD-2; it did not.\n#\n")

	r.Results, r.Planned = r.Results[1:2], 3
	b.Reset()
	require.NoError(t, r.TAP(&b))
	assert.Equal(t, "TAP version 13\n1..3\nok 1 - MOD-2/good \\# TODO\nBail out! the run ended after 1 of 3 vectors\n", b.String())
}

// Perl's prove reads the reports and comes to the same verdicts.
func TestProveReadsTAP(t *testing.T) {
	prove := testtool.Need(t, "prove", "perl")
	all := results(t).Results
	cases := []struct {
		name    string
		results []*runner.Result
		planned int
		status  int
		says    string
	}{
		{"all good", []*runner.Result{all[1], all[3]}, 0, 0, "Result: PASS"},
		{"one skipped", []*runner.Result{all[1], all[4]}, 0, 0, "ok 2 - LCK-1/no-lock # SKIP not applicable: needs lock yes ok All tests successful."},
		{"one failed", []*runner.Result{all[1], all[2]}, 0, 1, "Failed test:  2"},
		{"one inconclusive", all[:2], 0, 1, "Failed test:  1"},
		{"interrupted", all[1:2], 2, 1, "Bailout called.  Further testing stopped:  the run ended after 1 of 2 vectors"},
	}
	for i, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := results(t)
			r.Results, r.Planned = c.results, c.planned
			var b bytes.Buffer
			require.NoError(t, r.TAP(&b))
			file := filepath.Join(t.TempDir(), fmt.Sprintf("report%d.tap", i))
			require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
			out, err := exec.Command(prove, "--norc", "--verbose", "--exec", "cat", file).CombinedOutput()
			status := 0
			var exit *exec.ExitError
			if errors.As(err, &exit) {
				status, err = 1, nil
			}
			require.NoError(t, err)
			assert.Equal(t, c.status, status, "%s", out)
			assert.Contains(t, strings.Join(strings.Fields(string(out)), " "), strings.Join(strings.Fields(c.says), " "))
		})
	}
}

// A library that others read JUnit XML with finds the same verdicts.
func TestJUnit(t *testing.T) {
	r := results(t)
	var b bytes.Buffer
	require.NoError(t, r.JUnit(&b))
	suites, err := junit.Ingest(b.Bytes())
	require.NoError(t, err)
	require.Len(t, suites, 1)
	s := suites[0]
	assert.Equal(t, "hearthbench: exec:./unit", s.Name)
	assert.Equal(t, junit.Totals{Tests: 5, Passed: 2, Skipped: 1, Failed: 1, Error: 1}, s.Totals)
	assert.Equal(t, "2026-06-10T11:00:00", s.Properties["timestamp"])
	for name, want := range map[string]string{"tests": "5", "failures": "1", "errors": "1", "skipped": "1", "time": "1.235"} {
		assert.Equal(t, want, s.Properties[name], name)
	}
	require.Len(t, s.Tests, 5)
	for i, want := range []struct {
		name, class string
		status      junit.Status
		message     string
	}{
		{"MOD-1/hung", "MOD", junit.StatusError, "no answer in time to 'reset'"},
		{"MOD-2/good", "MOD", junit.StatusPassed, ""},
		{"OVR-2/broken", "OVR", junit.StatusFailed, "The heating relay should close by MOD-2; it did not."},
		{"OVR-1/near", "OVR", junit.StatusPassed, ""},
		{"LCK-1/no-lock", "LCK", junit.StatusSkipped, "needs lock yes"},
	} {
		have := s.Tests[i]
		assert.Equal(t, want.name, have.Name)
		assert.Equal(t, want.class, have.Classname)
		assert.Equal(t, want.status, have.Status)
		assert.Equal(t, want.message, have.Message)
	}
	assert.Contains(t, s.Tests[2].Error.Error(), "ch observed _________#########____", "the drawing keeps its spaces")

	r.Results, r.Planned = r.Results[1:2], 3
	b.Reset()
	require.NoError(t, r.JUnit(&b))
	suites, err = junit.Ingest(b.Bytes())
	require.NoError(t, err)
	assert.Equal(t, junit.Totals{Tests: 2, Passed: 1, Error: 1}, suites[0].Totals)
	assert.Equal(t, "the run ended after 1 of 3 vectors", suites[0].Tests[1].Message)
}

// XML has no place for some characters, escaped or not; a unit's stderr may have any.
func TestJUnitTakesAnyCharacter(t *testing.T) {
	r := results(t)
	hung := r.Results[0]
	hung.Why = "\x00\x1b[31m <&>\"' \ufffe \xff ]]> é"
	hung.Trouble = &iut.Trouble{Ending: iut.Ending{Stderr: []string{"\x07ding </failure>"}}}
	r.IUT = "exec:./unit <\x01\">"
	var b bytes.Buffer
	require.NoError(t, r.JUnit(&b))
	suites, err := junit.Ingest(b.Bytes())
	require.NoError(t, err)
	const no = "\ufffd"
	assert.Equal(t, "hearthbench: exec:./unit <"+no+"\">", suites[0].Name)
	assert.Equal(t, no+no+"[31m <&>\"' "+no+" "+no+" ]]> é", suites[0].Tests[0].Message)
	assert.Contains(t, suites[0].Tests[0].Error.Error(), no+"ding </failure>")
	assert.Equal(t, 5, suites[0].Totals.Tests)
}

// A writer that fails is reported by every format.
func TestWriteErrors(t *testing.T) {
	r := results(t)
	assert.ErrorIs(t, r.JSON(full{}), errFull)
	assert.ErrorIs(t, r.TAP(full{}), errFull)
	assert.ErrorIs(t, r.JUnit(full{}), errFull)
	assert.ErrorIs(t, r.HTML(full{}), errFull)
}

var errFull = errors.New("no space left")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestWrap(t *testing.T) {
	assert.Equal(t, []string{""}, wrap("", 10))
	assert.Equal(t, []string{"one  two", "three"}, wrap(" one  two\nthree ", 8))
	assert.Equal(t, []string{"one", "two", "three"}, wrap("one  two\tthree", 7))
	assert.Equal(t, []string{"one", "two", "three"}, wrap("one two three", 6))
	assert.Equal(t, []string{"a", "word-too-long", "b"}, wrap("a word-too-long b", 5))
}
