package capture_test

import (
	"bytes"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/scenario"
	"example.org/hearthbench/conformance/vcd"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// wear is what lies between a unit that keeps to its clauses and a recording of its contacts.
type wear struct {
	seed   uint64
	lead   time.Duration // from the first sample to the scenario's start
	drift  float64       // parts per million by which the unit's clock is slow against the recorder's
	jitter time.Duration // each change comes up to so much early or late, evenly spread
	tail   time.Duration // for which the recorder goes on after the scenario's end
	bounce time.Duration // contacts bounce up to so long, with one to four further pulses
}

// raw is a change of a contact as a recorder sees it.
type raw struct {
	at     time.Duration
	signal spec.Signal
	level  spec.Level
}

// record returns what a recorder sees of a trace's relays, sounder and alert: the levels at its first sample, and every edge in order.
func (w *wear) record(trace *scenario.Trace) (edges []raw, end time.Duration) {
	random := rand.New(rand.NewPCG(w.seed, 0))
	place := func(second uint64) time.Duration {
		return w.lead + time.Duration(float64(second)*(1+w.drift/1e6)*1e9).Round(time.Microsecond)
	}
	for _, c := range settled(trace) {
		at := place(c.At)
		if w.jitter > 0 {
			at += time.Duration(random.Int64N(2*int64(w.jitter))) - w.jitter
		}
		at = max(at, 0).Round(time.Microsecond)
		edges = append(edges, raw{at, c.Signal, c.Level})
		if w.bounce == 0 || c.Signal == spec.SigAlert {
			continue
		}
		pulses := 2 * (1 + random.IntN(4))
		var times []time.Duration
		for len(times) < pulses {
			t := at + time.Duration(1+random.Int64N(int64(w.bounce/time.Microsecond)-1))*time.Microsecond
			if !slices.Contains(times, t) {
				times = append(times, t)
			}
		}
		slices.Sort(times)
		level := c.Level
		for _, t := range times {
			level = 1 - level
			edges = append(edges, raw{t, c.Signal, level})
		}
	}
	slices.SortStableFunc(edges, func(a, b raw) int { return int(a.at - b.at) })
	return edges, place(trace.Scenario.Until) + w.tail
}

// settled returns a trace's changes without those that another of the same second takes back, which contacts cannot show.
func settled(trace *scenario.Trace) []spec.Change {
	var changes []spec.Change
	for i := range trace.Entries {
		e := &trace.Entries[i]
		if e.Input != nil {
			continue
		}
		last := slices.IndexFunc(changes, func(c spec.Change) bool { return c.Signal == e.Change.Signal && c.At == e.Change.At })
		if last >= 0 && e.Change.Signal != spec.SigAlert {
			changes = slices.Delete(changes, last, last+1)
			continue
		}
		changes = append(changes, e.Change)
	}
	return changes
}

// column is how a recorder names a signal.
type column struct {
	name     string
	signal   spec.Signal
	inverted bool
}

func (c *column) bits(level spec.Level) string {
	switch {
	case c.signal == spec.SigAlert:
		return fmt.Sprintf("%02b", level)
	case c.inverted:
		level = 1 - level
	}
	return fmt.Sprint(level)
}

// asVCD writes what a recorder saw as a logic analyser does, in microseconds.
func asVCD(t require.TestingT, trace *scenario.Trace, w *wear, columns []column) []byte {
	h := &vcd.Header{Version: "invented capture", Timescale: -6}
	for i, c := range columns {
		v := vcd.Var{Scope: []string{"capture"}, Kind: "wire", Width: 1, Name: c.name, Signal: i}
		if c.signal == spec.SigAlert {
			v.Width = 2
		}
		h.Vars = append(h.Vars, v)
	}
	var out bytes.Buffer
	file, err := vcd.NewWriter(&out, h)
	require.NoError(t, err)
	edges, end := w.record(trace)
	file.At(0)
	file.Begin(vcd.Vars)
	for i, c := range columns {
		file.Change(i, c.bits(trace.Initial[c.signal]))
	}
	file.End()
	for _, e := range edges {
		for i, c := range columns {
			if c.signal == e.signal {
				file.At(uint64(e.at / time.Microsecond))
				file.Change(i, c.bits(e.level))
			}
		}
	}
	if last := uint64(end / time.Microsecond); len(edges) == 0 || edges[len(edges)-1].at < end {
		file.At(last)
	}
	require.NoError(t, file.Flush())
	return out.Bytes()
}

// asCSV writes what a recorder saw as a table with a row for each change, from a date on.
func asCSV(trace *scenario.Trace, w *wear, columns []column, from time.Time) []byte {
	var out bytes.Buffer
	out.WriteString("time")
	levels := make([]string, len(columns))
	for i, c := range columns {
		out.WriteString("," + c.name)
		levels[i] = c.bits(trace.Initial[c.signal])
	}
	out.WriteByte('\n')
	row := func(at time.Duration) {
		fmt.Fprintf(&out, "%s,%s\n", from.Add(at).Format("2006-01-02T15:04:05.000000Z07:00"), strings.Join(levels, ","))
	}
	row(0)
	edges, end := w.record(trace)
	for _, e := range edges {
		for i, c := range columns {
			if c.signal == e.signal {
				levels[i] = c.bits(e.level)
				row(e.at)
			}
		}
	}
	if len(edges) == 0 || edges[len(edges)-1].at < end {
		row(end)
	}
	return out.Bytes()
}

func load(t require.TestingT, file string) *scenario.Trace {
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	s, err := scenario.Parse(file, data)
	require.NoError(t, err)
	return s.Run()
}

const (
	scenarios = "../../testdata/scenarios/"
	captures  = "../../testdata/captures/"
)

var update = flag.Bool("update", false, "write the generated captures anew; then make the faulty ones from them again, as their README says")

// The captures that testdata/captures/README.md calls generated are what this file makes.
func TestGeneratedCaptures(t *testing.T) {
	override, gravity := load(t, scenarios+"override.yaml"), load(t, scenarios+"gravity.yaml")
	for name, data := range map[string][]byte{
		"override.vcd": asVCD(t, override, &wear{seed: 1, lead: 90 * time.Second, drift: 80, jitter: 40 * time.Millisecond, bounce: 12 * time.Millisecond},
			[]column{{"D0", spec.SigHW, true}, {"D1", spec.SigCH, false}}),
		"gravity.csv": asCSV(gravity, &wear{seed: 2, drift: -35, jitter: 250 * time.Millisecond, bounce: 8 * time.Millisecond},
			[]column{{wire.SignalWord(spec.SigHW), spec.SigHW, false}, {wire.SignalWord(spec.SigCH), spec.SigCH, false}}, gravity.Scenario.At(0)),
	} {
		if *update {
			require.NoError(t, os.WriteFile(captures+name, data, 0o644))
		}
		want, err := os.ReadFile(captures + name)
		require.NoError(t, err, "run the test with -update")
		assert.Equal(t, string(want), string(data), name)
	}
}
