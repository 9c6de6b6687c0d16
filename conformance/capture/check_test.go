package capture_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/capture"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/scenario"
	"example.org/hearthbench/emulator/spec"
)

// standard are the options that the command has if nothing is said.
func standard() capture.Options {
	return capture.Options{Tolerance: capture.DefaultTolerance, Drift: capture.DefaultDrift}
}

func open(t require.TestingT, name string, data []byte, pairs ...string) *capture.Recording {
	m, err := capture.ParseMapping(pairs)
	require.NoError(t, err)
	r, err := capture.Open(name, bytes.NewReader(data), &m, capture.DefaultBounce)
	require.NoError(t, err)
	return r
}

func check(t require.TestingT, r *capture.Recording, trace *scenario.Trace, o capture.Options) *capture.Result {
	res, err := capture.Check(r, trace, o)
	require.NoError(t, err)
	return res
}

func text(t require.TestingT, res *capture.Result) string {
	var b strings.Builder
	require.NoError(t, res.WriteText(&b))
	return b.String()
}

// The samples, each with what testdata/captures/README.md says of it.
func TestSamples(t *testing.T) {
	override, gravity := load(t, scenarios+"override.yaml"), load(t, scenarios+"gravity.yaml")
	sample := func(name string, trace *scenario.Trace, change func(*capture.Options), pairs ...string) *capture.Result {
		data, err := os.ReadFile(captures + name)
		require.NoError(t, err)
		o := standard()
		change(&o)
		return check(t, open(t, name, data, pairs...), trace, o)
	}
	wires := []string{"hw=!D0", "ch=D1"}
	lead := func(o *capture.Options) { o.Start = 90 * time.Second }
	auto := func(o *capture.Options) { o.Align = true }
	first := func(*capture.Options) {}

	for _, start := range []func(*capture.Options){lead, auto} {
		res := sample("override.vcd", override, start, wires...)
		require.Equal(t, runner.Pass, res.Verdict, text(t, res))
		assert.False(t, res.Exact, "the drift of two days is 12 s")
		assert.Equal(t, 8, res.Signals[spec.SigCH].Matched)
		assert.InDelta(t, -80, res.Gain.Value, 2)
		assert.InDelta(t, 90, res.Start, 0.1)
		ch := res.Recording.Lines[spec.CH]
		assert.Equal(t, 8, ch.Bounce.Count)
		assert.InDelta(t, 11.8e-3, ch.Bounce.Longest.Seconds(), 0.1e-3)
		assert.Zero(t, ch.Bounce.Glitches)
	}

	outlived := sample("override-outlived.vcd", override, lead, wires...)
	require.Equal(t, runner.Fail, outlived.Verdict)
	d := outlived.Departure
	assert.Equal(t, capture.Missing, d.Kind)
	assert.Equal(t, spec.SigCH, d.Signal)
	assert.InDelta(t, 12*3600, d.At, 0.01, "17:00 is 12 h after 05:00")
	assert.Equal(t, "period 2 begins (MOD-2)", d.Change.Why)
	out := text(t, outlived)
	assert.Contains(t, out, "departs   Wed 2026-01-14 17:00:00  The heating relay should close by MOD-2; it did not.")
	assert.Contains(t, out, "expected  the heating relay closes at Wed 2026-01-14 17:00:00: period 2 begins (MOD-2)")
	// 05:00, 06:30, 08:00, then 17:00: open, closed, open, and closed only in the row of what was expected.
	assert.Contains(t, out, "ch expected _________#########_________#########_________")
	assert.Contains(t, out, "ch observed _________#########___________________________")
	assert.InDelta(t, -80, outlived.Gain.Value, 5, "the fault does not move the estimate")

	gap := sample("override-gap.vcd", override, lead, wires...)
	require.Equal(t, runner.Inconclusive, gap.Verdict)
	assert.Nil(t, gap.Departure)
	require.Len(t, gap.Missing, 2)
	// From 40 000 s to 50 000 s, less the lead: 05:00 and 39 910 s is 16:05:10.
	assert.Contains(t, gap.Missing[1], "ch is not known from Wed 2026-01-14 16:05:0")
	assert.Contains(t, gap.Missing[1], "2h46m40s")

	csv := sample("gravity.csv", gravity, first)
	require.Equal(t, runner.Pass, csv.Verdict, text(t, csv))
	assert.InDelta(t, 35, csv.Gain.Value, csv.Gain.Uncertainty)
	swapped := sample("gravity-swapped.csv", gravity, first)
	require.Equal(t, runner.Fail, swapped.Verdict)
	assert.Equal(t, []string{"The channels look swapped: nothing departs with --map 'hw=ch,ch=hw'."}, swapped.Hints)
	require.Equal(t, runner.Pass, sample("gravity-swapped.csv", gravity, first, "hw=ch", "ch=hw").Verdict)
	inverted := sample("override.vcd", override, lead, "hw=D0", "ch=D1")
	require.Equal(t, runner.Fail, inverted.Verdict)
	assert.Equal(t, capture.WrongLevel, inverted.Departure.Kind)
	assert.Equal(t, []string{"capture.D0 looks inverted: nothing departs with --map 'hw=!capture.D0'."}, inverted.Hints)
	early := sample("override.vcd", override, first, wires...)
	require.Equal(t, runner.Fail, early.Verdict)
	require.Len(t, early.Hints, 1)
	assert.Contains(t, early.Hints[0], "The scenario seems to start 90.0")
	alone := sample("override.vcd", override, lead, "ch=D1")
	require.Equal(t, runner.Inconclusive, alone.Verdict)
	assert.Equal(t, []string{"hw is not in the recording, or not mapped: nothing is known of it"}, alone.Missing)
	only := sample("override.vcd", override, func(o *capture.Options) { lead(o); o.Signals = []spec.Signal{spec.SigCH} }, "ch=D1")
	require.Equal(t, runner.Pass, only.Verdict)
	assert.Contains(t, only.VerdictWords(), "pass, within tolerance: ch ")
}

func TestJSON(t *testing.T) {
	data, err := os.ReadFile(captures + "override-outlived.vcd")
	require.NoError(t, err)
	o := standard()
	o.Start = 90 * time.Second
	res := check(t, open(t, "a.vcd", data, "hw=!D0", "ch=D1"), load(t, scenarios+"override.yaml"), o)
	var b bytes.Buffer
	require.NoError(t, res.WriteJSON(&b))
	var j struct {
		Verdict   string
		Departure struct {
			Kind, Signal string
			At           float64
			Expected     struct {
				At     int
				Level  int
				Clause string
			}
		}
		Signals []struct {
			Signal, Column    string
			Inverted          bool
			Expected, Matched int
			Bounces           int
		}
		Drift struct{ Value, Uncertainty float64 } `json:"drift_ppm"`
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &j))
	assert.Equal(t, "fail", j.Verdict)
	assert.Equal(t, "missing", j.Departure.Kind)
	assert.Equal(t, "ch", j.Departure.Signal)
	assert.Equal(t, 43200, j.Departure.Expected.At)
	assert.Equal(t, "MOD-2", j.Departure.Expected.Clause)
	require.Len(t, j.Signals, 2)
	assert.True(t, j.Signals[0].Inverted)
	assert.Equal(t, 6, j.Signals[1].Matched)
	assert.Equal(t, 8, j.Signals[1].Expected)
	assert.InDelta(t, -80, j.Drift.Value, 5)
}

// What emulate writes is what the scenario asks for, exactly: seven scenarios, one with a pulse that contacts cannot show.
func TestWhatEmulateWritesPasses(t *testing.T) {
	for _, name := range names() {
		trace := load(t, scenarios+name)
		var b bytes.Buffer
		require.NoError(t, capture.WriteTrace(&b, trace))
		res := check(t, open(t, "trace.vcd", b.Bytes()), trace, standard())
		require.Equal(t, runner.Pass, res.Verdict, "%s\n%s", name, text(t, res))
		assert.True(t, res.Exact, name)
		for sig := range res.Signals {
			if m := &res.Signals[sig]; m.Asked {
				assert.Zero(t, m.Largest)
			}
		}
	}
}

func names() []string {
	return []string{"autumn-night.yaml", "boost.yaml", "gravity.yaml", "holiday.yaml", "lock.yaml", "override.yaml", "power-cut.yaml"}
}

var both = []column{{"hw", spec.SigHW, false}, {"ch", spec.SigCH, true}, {"alert", spec.SigAlert, false}, {"sounder", spec.SigSounder, false}}

// A capture of a unit that keeps to its scenario passes, whatever bounce, drift and jitter within what is allowed lie between, whether the start is stated
// or found, and what is estimated is near what was put in.
func TestWornRecordingsPass(t *testing.T) {
	traces := map[string]*scenario.Trace{}
	for _, name := range names() {
		traces[name] = load(t, scenarios+name)
	}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom(names()).Draw(t, "scenario")
		trace := traces[name]
		w := &wear{
			seed:   rapid.Uint64().Draw(t, "seed"),
			lead:   time.Duration(rapid.IntRange(10, 5000).Draw(t, "lead")) * time.Second,
			drift:  rapid.Float64Range(-199, 199).Draw(t, "drift"),
			jitter: time.Duration(rapid.IntRange(0, 1900).Draw(t, "jitter")) * time.Millisecond,
			bounce: time.Duration(rapid.IntRange(0, 30).Draw(t, "bounce")) * time.Millisecond,
			tail:   time.Minute, // by more than the start that is found can be off
		}
		if name == "lock.yaml" {
			w.jitter = min(w.jitter, 450*time.Millisecond) // it has two changes a second apart
		}
		r := open(t, "worn.vcd", asVCD(t, trace, w, both), "ch=!ch")
		o := standard()
		o.Start = w.lead
		if o.Align = rapid.Bool().Draw(t, "align"); o.Align {
			o.Start = 0
		}
		res := check(t, r, trace, o)
		if res.Verdict != runner.Pass {
			t.Fatalf("%v\n%s", res.Verdict, text(t, res))
		}
		var clocked []float64
		matched, changes := 0, 0
		for sig := range res.Signals {
			matched += res.Signals[sig].Matched
		}
		for _, c := range settled(trace) {
			changes++
			if c.Cause != spec.CauseInput {
				clocked = append(clocked, float64(c.At))
			}
		}
		if matched != changes {
			t.Fatalf("%d of %d changes matched\n%s", matched, changes, text(t, res))
		}
		if w.bounce > 0 {
			bounced := 0
			for _, line := range r.Lines[:2] {
				bounced += line.Bounce.Count
				if line.Bounce.Longest > w.bounce || line.Bounce.Glitches > 0 {
					t.Fatalf("%+v", line.Bounce)
				}
			}
			relays := slices.DeleteFunc(settled(trace), func(c spec.Change) bool { return c.Signal > spec.SigCH })
			if bounced != len(relays) {
				t.Fatalf("%d of %d bounced", bounced, len(relays))
			}
		}
		if !res.Gain.Known {
			t.Fatalf("no drift from %d changes", len(clocked))
		}
		// The median of values that are off by at most so much each is off by at most the median of that.
		var bounds []float64
		jitter := w.jitter.Seconds() + 2e-6
		for i := range clocked {
			for k := range i {
				if clocked[i] > clocked[k] {
					bounds = append(bounds, 2*jitter/(clocked[i]-clocked[k]))
				}
			}
		}
		slices.Sort(bounds)
		bound := bounds[len(bounds)/2] * 1e6
		gain := 1e6 * (1/(1+w.drift/1e6) - 1)
		if math.Abs(res.Gain.Value-gain) > bound+0.01 {
			t.Fatalf("estimated %v ppm for %v, bound %v", res.Gain.Value, gain, bound)
		}
		start := res.Start + res.Offset.Value
		if o.Align {
			start = res.Start
		}
		if last := clocked[len(clocked)-1]; !o.Align && math.Abs(start-w.lead.Seconds()) > jitter+bound/1e6*last+0.001 {
			t.Fatalf("estimated a start of %v for %v", start, w.lead)
		} else if math.Abs(start-w.lead.Seconds()) > 2+2*jitter+(bound+res.Limit)/1e6*last {
			t.Fatalf("found a start of %v for %v", start, w.lead)
		}
	})
}

// moved records a scenario with one change somewhere else.
func moved(t require.TestingT, trace *scenario.Trace, which int, by time.Duration) []byte {
	other := *trace
	other.Entries = slices.Clone(trace.Entries)
	changes := 0
	w := &wear{lead: 10 * time.Minute}
	for i := range other.Entries {
		if other.Entries[i].Input != nil {
			continue
		}
		if changes == which {
			edges := asVCD(t, trace, w, both)
			at := w.lead + time.Duration(other.Entries[i].Change.At)*time.Second
			old, moved := fmt.Sprintf("#%d\n", at.Microseconds()), fmt.Sprintf("#%d\n", (at+by).Microseconds())
			require.Equal(t, 1, strings.Count(string(edges), old))
			return []byte(strings.Replace(string(edges), old, moved, 1))
		}
		changes++
	}
	t.FailNow()
	return nil
}

// To the microsecond: where no drift is allowed, a change that is as far off as the tolerance lets it be passes, and a little farther fails, there.
func TestShiftedChanges(t *testing.T) {
	trace := load(t, scenarios+"override.yaml")
	changes := settled(trace)
	rapid.Check(t, func(t *rapid.T) {
		which := rapid.IntRange(0, len(changes)-1).Draw(t, "change")
		tolerance := time.Duration(rapid.IntRange(1, 60000).Draw(t, "tolerance")) * time.Millisecond
		sign := time.Duration(rapid.SampledFrom([]int{-1, 1}).Draw(t, "sign"))
		o := capture.Options{Start: 10 * time.Minute, Tolerance: tolerance}
		inside := check(t, open(t, "a.vcd", moved(t, trace, which, sign*tolerance), "ch=!ch"), trace, o)
		if inside.Verdict != runner.Pass || inside.Exact != (tolerance < time.Second) {
			t.Fatalf("exact %v\n%s", inside.Exact, text(t, inside))
		}
		outside := check(t, open(t, "a.vcd", moved(t, trace, which, sign*(tolerance+10*time.Microsecond)), "ch=!ch"), trace, o)
		if outside.Verdict != runner.Fail {
			t.Fatal(text(t, outside))
		}
		d := outside.Departure
		kind := capture.Late
		if sign < 0 {
			kind = capture.Unexpected
		}
		if d.Kind != kind || d.Change == nil || d.Change.Change != changes[which] {
			t.Fatalf("%+v\n%s", d, text(t, outside))
		}
	})
}

// With drift allowed, one change that is farther off than drift can explain fails, among any drift, jitter and bounce.
func TestShiftsAmongWearFail(t *testing.T) {
	trace := load(t, scenarios+"override.yaml")
	rapid.Check(t, func(t *rapid.T) {
		changes := settled(trace)
		which := rapid.IntRange(0, len(changes)-1).Draw(t, "change")
		copied := *trace
		copied.Entries = slices.Clone(trace.Entries)
		by := rapid.IntRange(100, 1500).Draw(t, "by") // 4 s, and 400 ppm of 43 h, are 66 s
		for i := range copied.Entries {
			if e := &copied.Entries[i]; e.Input == nil && e.Change == changes[which] {
				e.Change.At = uint64(int(e.Change.At) + by*rapid.SampledFrom([]int{-1, 1}).Draw(t, "sign"))
			}
		}
		w := &wear{
			seed: rapid.Uint64().Draw(t, "seed"), lead: time.Hour, drift: rapid.Float64Range(-200, 200).Draw(t, "drift"),
			jitter: time.Duration(rapid.IntRange(0, 1900).Draw(t, "jitter")) * time.Millisecond, bounce: 30 * time.Millisecond,
		}
		o := standard()
		o.Start = w.lead
		res := check(t, open(t, "a.vcd", asVCD(t, &copied, w, both), "ch=!ch"), trace, o)
		if res.Verdict != runner.Fail {
			t.Fatal(text(t, res))
		}
	})
}

// The tolerances of the ICS count as the clauses' page says.
func TestTheICSTolerances(t *testing.T) {
	const head = "title: x\nstart: 2026-01-14 05:00\nuntil: +20:00:00\ngiven: [mode hw off, \"table ch every 06:30-09:00 17:00-22:00\"]\n"
	run := func(claims, steps string) (*scenario.Trace, capture.Options) {
		s, err := scenario.Parse("x.yaml", []byte(head+steps))
		require.NoError(t, err)
		ics, err := capture.ParseTolerances(strings.Split(claims, ","))
		require.NoError(t, err)
		return s.Run(), capture.Options{ICS: ics, Start: 10 * time.Minute, Tolerance: 100 * time.Millisecond}
	}
	none := "late-power-on=0"
	cut := "steps:\n- {at: +02:00:00, do: power off}\n- {at: +00:10:00, do: power on}\n"
	boost := "steps:\n- {at: +05:00:00, do: boost ch 60}\n"
	for _, c := range []struct {
		name, claims, steps string
		change              int
		early, late         float64 // s allowed beyond the tolerance
	}{
		{"none", none, "", 0, 0, 0},
		{"late-scan", none + ",late-scan=30", "", 1, 0, 30},
		{"stagger", none + ",stagger=3,late-scan=2", "", 1, 0, 5},
		{"an override is not scanned", none + ",late-scan=30", "steps:\n- {at: +02:00:00, do: override ch}\n", 1, 0, 0},
		{"boost-rate", none + ",boost-rate=1000", boost, 3, 3.6, 3.6},
		{"a boost's begin is no boost's end", none + ",boost-rate=1000", boost, 2, 0, 0},
		{"late-power-on", "late-power-on=5", cut, 2, 0, 5},
		{"a loss of power is not late", "late-power-on=5,late-scan=9", cut, 1, 0, 0},
		{"late-power-on is for soon after", "late-power-on=5", cut, 3, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			trace, o := run(c.claims, c.steps)
			at := func(by float64) *capture.Result {
				return check(t, open(t, "a.vcd", moved(t, trace, c.change, time.Duration(by*1e9)), "ch=!ch"), trace, o)
			}
			for by, want := range map[float64]runner.Verdict{
				c.late + 0.09: runner.Pass, c.late + 0.11: runner.Fail, -c.early - 0.09: runner.Pass, -c.early - 0.11: runner.Fail,
			} {
				res := at(by)
				require.Equal(t, want, res.Verdict, "%v\n%s", by, text(t, res))
			}
		})
	}
	// The clock's rate is drift: 100 ppm of a day is 7 s, on all changes alike.
	slow := &wear{drift: 100}
	for rate, want := range map[int]runner.Verdict{0: runner.Fail, 95: runner.Fail, 105: runner.Pass} {
		trace, o := run(fmt.Sprintf("%s,clock-rate=%d", none, rate), "")
		o.Start, o.Tolerance = 0, 10*time.Millisecond
		res := check(t, open(t, "a.vcd", asVCD(t, trace, slow, both), "ch=!ch"), trace, o)
		require.Equal(t, want, res.Verdict, text(t, res))
	}
}

// Whatever is cut out of a recording that passes, the verdict is inconclusive: never a pass, and never a failure of the unit.
func TestWhatIsMissing(t *testing.T) {
	trace := load(t, scenarios+"gravity.yaml")
	columns := both[:2]
	whole := strings.Split(string(asCSV(trace, &wear{}, []column{{"hw", spec.SigHW, false}, {"ch", spec.SigCH, false}}, trace.Scenario.At(0))), "\n")
	require.Len(t, columns, 2)
	require.Equal(t, runner.Pass, check(t, open(t, "a.csv", []byte(strings.Join(whole, "\n"))), trace, standard()).Verdict)
	last := len(whole) - 2 // after it there is an empty line
	stamp := func(row int) string {
		text, _, _ := strings.Cut(whole[row], ",")
		return text
	}
	for from := 1; from <= last; from++ {
		for to := from; to <= last; to++ {
			// Rows from to to lose their levels.
			rows := slices.Clone(whole)
			for i := from; i <= to; i++ {
				rows[i] = stamp(i) + ",," + rows[i][len(rows[i])-1:]
			}
			res := check(t, open(t, "a.csv", []byte(strings.Join(rows, "\n"))), trace, standard())
			if from == last || to < last && stamp(from) == stamp(to+1) {
				require.Equal(t, runner.Pass, res.Verdict, "no time is missing")
				continue
			}
			require.Equal(t, runner.Inconclusive, res.Verdict, "%d to %d\n%s", from, to, text(t, res))
			require.NotEmpty(t, res.Missing)
			require.Contains(t, res.Missing[0], "hw ")
		}
		// The recording ends early, or begins late.
		if from < last {
			res := check(t, open(t, "a.csv", []byte(strings.Join(whole[:from+1], "\n"))), trace, standard())
			require.Equal(t, runner.Inconclusive, res.Verdict, text(t, res))
		}
		if from > 1 {
			o := standard()
			first, err := time.Parse(time.RFC3339Nano, stamp(from))
			require.NoError(t, err)
			o.Start = trace.Scenario.At(0).Sub(first)
			res := check(t, open(t, "a.csv", []byte(strings.Join(append([]string{whole[0]}, whole[from:]...), "\n"))), trace, o)
			require.Equal(t, runner.Inconclusive, res.Verdict, text(t, res))
		}
	}
}

// A level that is wrong after a gap is a departure, though nobody saw how it came about.
func TestWrongLevelAfterAGap(t *testing.T) {
	trace := load(t, scenarios+"override.yaml")
	const rows = "time,hw,ch\n0,0,0\n5400,0,1\n10800,0,0\n20000,0,\n30000,0,1\n43200,0,1\n61200,0,0\n154800,0,0\n"
	res := check(t, open(t, "a.csv", []byte(rows)), trace, standard())
	require.Equal(t, runner.Fail, res.Verdict)
	assert.Equal(t, capture.WrongLevel, res.Departure.Kind)
	assert.InDelta(t, 30000, res.Departure.At, 1e-9)
	assert.Contains(t, text(t, res), "The heating relay is closed here; it should be open.")
	assert.Contains(t, text(t, res), "open since Wed 2026-01-14 08:00:00: override to 0 (OVR-1)")
	assert.Contains(t, text(t, res), "ch no data")
}

func TestPulsesAndGlitches(t *testing.T) {
	trace := load(t, scenarios+"override.yaml")
	rows := func(extra string) string {
		return "time,hw,ch\n0,0,0\n5400,0,1\n10800,0,0\n" + extra + "43200,0,1\n61200,0,0\n91800,0,1\n100800,0,0\n104400,0,1\n147600,0,0\n154800,0,0\n"
	}
	res := check(t, open(t, "a.csv", []byte(rows(""))), trace, standard())
	require.Equal(t, runner.Pass, res.Verdict)
	require.True(t, res.Exact)
	// Too short for a relay: told, and no exact pass.
	res = check(t, open(t, "a.csv", []byte(rows("20000,0,1\n20000.049,0,0\n"))), trace, standard())
	require.Equal(t, runner.Pass, res.Verdict)
	assert.False(t, res.Exact)
	assert.Equal(t, 1, res.Recording.Lines[spec.CH].Bounce.Glitches)
	assert.Contains(t, text(t, res), "1, up to 49ms")
	// A pulse.
	res = check(t, open(t, "a.csv", []byte(rows("20000,0,1\n20000.051,0,0\n"))), trace, standard())
	require.Equal(t, runner.Fail, res.Verdict)
	assert.Equal(t, capture.Unexpected, res.Departure.Kind)
	assert.InDelta(t, 20000, res.Departure.At, 1e-6)
	// One within the window of a change is none the less one too many.
	res = check(t, open(t, "a.csv", []byte(rows("10800.5,0,1\n10801,0,0\n"))), trace, standard())
	require.Equal(t, runner.Fail, res.Verdict)
	assert.InDelta(t, 10800.5, res.Departure.At, 1e-6)
}

func TestStartsThatCannotBeTold(t *testing.T) {
	s, err := scenario.Parse("x.yaml", []byte("title: x\nstart: 2026-01-14 05:00\nuntil: +24:00:00\ngiven: [mode hw off, \"table ch every 06:30-09:00\"]\n"))
	require.NoError(t, err)
	trace := s.Run()
	o := standard()
	o.Align = true
	// Three days alike.
	res := check(t, open(t, "a.csv", []byte("time,hw,ch\n0,0,0\n5400,0,1\n14400,0,0\n91800,0,1\n100800,0,0\n178200,0,1\n187200,0,0\n260000,0,0\n")), trace, o)
	require.Equal(t, runner.Inconclusive, res.Verdict)
	assert.Contains(t, res.Missing[0], "the start cannot be told")
	res = check(t, open(t, "a.csv", []byte("time,hw,ch\n0,0,0\n100000,0,0\n")), trace, o)
	require.Equal(t, runner.Inconclusive, res.Verdict)
	assert.Contains(t, res.Missing[0], "the start cannot be found")
	assert.NotPanics(t, func() { text(t, res) })
}

func TestScenariosThatDoNotHold(t *testing.T) {
	s, err := scenario.Parse("x.yaml", []byte("title: x\nstart: 2026-01-14 05:00\nuntil: +04:00:00\nsteps:\n- {at: +01:00:00, do: override ch, expect: refused}\n"))
	require.NoError(t, err)
	_, err = capture.Check(open(t, "a.csv", []byte("time,hw,ch\n0,0,0\n")), s.Run(), standard())
	assert.ErrorContains(t, err, "the scenario itself does not hold: step 1 expects refused, which by the clauses is accepted")
	s, err = scenario.Parse("x.yaml", []byte("title: x\nunit: {channels: ch}\nstart: 2026-01-14 05:00\nuntil: +04:00:00\n"))
	require.NoError(t, err)
	o := standard()
	o.Signals = []spec.Signal{spec.SigHW}
	_, err = capture.Check(open(t, "a.csv", []byte("time,hw,ch\n0,0,0\n")), s.Run(), o)
	assert.ErrorContains(t, err, "has no hw relay")
}

// Half a year with clocks far apart: 200 ppm of it are nearly an hour, more than from a change to the next.
func TestLongRecordings(t *testing.T) {
	s, err := scenario.Parse("x.yaml", []byte("title: x\nstart: 2026-01-01 05:00\nuntil: 2026-07-01 05:00\ngiven: [\"table both every 06:30-07:00 17:00-17:15\", \"table hw sat 08:00-10:00\"]\n"))
	require.NoError(t, err)
	trace := s.Run()
	for _, drift := range []float64{-190, 3, 190} {
		w := &wear{seed: 5, lead: 10 * time.Hour, drift: drift, jitter: 500 * time.Millisecond, bounce: 20 * time.Millisecond}
		r := open(t, "a.vcd", asVCD(t, trace, w, both), "ch=!ch")
		for _, o := range []capture.Options{{Start: w.lead}, {Align: true}} {
			o.Tolerance, o.Drift = capture.DefaultTolerance, capture.DefaultDrift
			res := check(t, r, trace, o)
			require.Equal(t, runner.Pass, res.Verdict, text(t, res))
			assert.InDelta(t, -drift, res.Gain.Value, 0.05)
			assert.Less(t, res.Gain.Uncertainty, 0.1)
			assert.InDelta(t, w.lead.Seconds(), res.Start, 1)
		}
	}
}

// A unit that loses 100 ppm, and whose clock is set right after two days: from then it loses afresh.
func TestClockSetOnTheWay(t *testing.T) {
	s, err := scenario.Parse("x.yaml", []byte("title: x\nstart: 2026-01-14 05:00\nuntil: +96:00:00\nsteps:\n- {at: 2026-01-16 12:00, do: clock 2026-01-16 12:00}\n"))
	require.NoError(t, err)
	trace := s.Run()
	rows := func(set uint64) []byte {
		var b strings.Builder
		b.WriteString("time,hw,ch\n0,0,0\n")
		levels := [2]spec.Level{}
		for _, c := range settled(trace) {
			ran := c.At
			if c.At > set {
				ran -= set
			}
			levels[c.Signal] = c.Level
			fmt.Fprintf(&b, "%.6f,%d,%d\n", float64(c.At)+100e-6*float64(ran), levels[0], levels[1])
		}
		fmt.Fprintf(&b, "%d,%d,%d\n", trace.Scenario.Until+60, levels[0], levels[1])
		return []byte(b.String())
	}
	const set = 55 * 3600
	res := check(t, open(t, "a.csv", rows(set)), trace, standard())
	require.Equal(t, runner.Pass, res.Verdict, text(t, res))
	// Set right when nobody did: a clock that jumps.
	res = check(t, open(t, "a.csv", rows(30*3600)), trace, standard())
	require.Equal(t, runner.Fail, res.Verdict, text(t, res))
}

// The start of a scenario can lie before the first sample; then the beginning is missing.
func TestStartBeforeTheFirstSample(t *testing.T) {
	trace := load(t, scenarios+"override.yaml")
	rows := []byte("time,hw,ch\n0,0,0\n23200,0,1\n41200,0,0\n71800,0,1\n80800,0,0\n84400,0,1\n127600,0,0\n134800,0,0\n") // from 20 000 s on
	for _, o := range []capture.Options{{Start: -20000 * time.Second}, {Align: true}} {
		o.Tolerance = capture.DefaultTolerance
		res := check(t, open(t, "a.csv", rows), trace, o)
		require.Equal(t, runner.Inconclusive, res.Verdict, text(t, res))
		assert.InDelta(t, -20000, res.Start, 1e-6)
		require.Len(t, res.Missing, 2)
		assert.Contains(t, res.Missing[1], "ch is not known from Wed 2026-01-14 05:00:00 to Wed 2026-01-14 10:33:20 (5h33m20s)")
		assert.Equal(t, 6, res.Signals[spec.SigCH].Matched)
	}
}
