package capture

import (
	"encoding/json"
	"io"
	"math"
	"time"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// resultJSON is the result for machines. Field names stay; more may come. Times are in seconds unless their name says otherwise.
type resultJSON struct {
	Format    int            `json:"format"` // 1
	Verdict   string         `json:"verdict"`
	Exact     bool           `json:"exact"`
	Words     string         `json:"words"`
	Capture   captureJSON    `json:"capture"`
	Scenario  scenarioJSON   `json:"scenario"`
	Start     float64        `json:"start"` // after the first sample
	Aligned   bool           `json:"aligned"`
	Tolerance float64        `json:"tolerance"`
	DriftMax  float64        `json:"drift_limit_ppm"`
	Drift     *estimateJSON  `json:"drift_ppm"` // null if it could not be estimated; positive: the unit gains
	DriftUsed float64        `json:"drift_used_ppm"`
	Offset    *estimateJSON  `json:"offset"`
	Fitted    int            `json:"fitted_changes"`
	Signals   []signalJSON   `json:"signals"`
	Departure *departureJSON `json:"departure"` // the first, or null
	Missing   []string       `json:"missing"`
	Hints     []string       `json:"hints"`
	Safety    string         `json:"safety"`
}

type captureJSON struct {
	File       string  `json:"file"`
	Format     string  `json:"format"`
	Columns    int     `json:"columns"`
	Length     float64 `json:"length"`
	Resolution float64 `json:"resolution"`
	Sampled    bool    `json:"sampled"`
	Origin     string  `json:"origin,omitempty"`
}

type scenarioJSON struct {
	File  string `json:"file"`
	Title string `json:"title"`
	Start string `json:"start"`
	Until string `json:"until"`
}

type estimateJSON struct {
	Value       float64 `json:"value"`
	Uncertainty float64 `json:"uncertainty"` // half width of the 95 % interval
}

type signalJSON struct {
	Signal        string  `json:"signal"`
	Column        string  `json:"column"` // "" if not mapped
	Inverted      bool    `json:"inverted"`
	Expected      int     `json:"expected"`
	Matched       int     `json:"matched"`
	Largest       float64 `json:"largest_deviation"`
	Bounces       int     `json:"bounces"`
	LongestBounce float64 `json:"longest_bounce"`
	Glitches      int     `json:"glitches"`
	LongestGlitch float64 `json:"longest_glitch"`
}

type departureJSON struct {
	Kind     string    `json:"kind"`
	Signal   string    `json:"signal"`
	At       float64   `json:"at"` // second of the scenario
	Local    string    `json:"local"`
	Words    string    `json:"words"`
	Expected *wantJSON `json:"expected"`       // the change that should have come, or comes next; null if there is none
	Since    *wantJSON `json:"since"`          // the change that settled the level expected here; null if there is none
	Seen     *float64  `json:"seen,omitempty"` // of a late change
	Level    any       `json:"level"`          // that was seen
}

type wantJSON struct {
	At     uint64 `json:"at"`
	Level  any    `json:"level"`
	Clause string `json:"clause"`
	Why    string `json:"why"`
}

// WriteJSON writes the result for machines.
func (res *Result) WriteJSON(w io.Writer) error {
	r, s := res.Recording, res.Trace.Scenario
	j := resultJSON{
		Format: 1, Verdict: res.Verdict.String(), Exact: res.Exact, Words: res.VerdictWords(),
		Capture:  captureJSON{File: r.File, Format: r.Format, Columns: r.Columns, Length: r.Length.Seconds(), Resolution: r.Resolution.Seconds(), Sampled: r.Sampled},
		Scenario: scenarioJSON{s.File, s.Title, s.At(0).Format(time.RFC3339), s.At(s.Until).Format(time.RFC3339)},
		Start:    tidy(res.Start), Aligned: res.Options.Align, Tolerance: res.Options.Tolerance.Seconds(), DriftMax: res.Limit,
		Drift: res.Gain.json(), DriftUsed: tidy(res.Used), Offset: res.Offset.json(), Fitted: res.Fitted,
		Signals: []signalJSON{}, Missing: append([]string{}, res.Missing...), Hints: append([]string{}, res.Hints...), Safety: SafetyNote,
	}
	if !r.Origin.IsZero() {
		j.Capture.Origin = r.Origin.Format(time.RFC3339Nano)
	}
	for sig := range res.Signals {
		m := &res.Signals[sig]
		if !m.Asked {
			continue
		}
		one := signalJSON{Signal: wire.SignalWord(spec.Signal(sig)), Expected: m.Expected, Matched: m.Matched, Largest: tidy(m.Largest)}
		if line := r.Lines[sig]; line != nil {
			b := &line.Bounce
			one.Column, one.Inverted = line.Name, line.Inverted
			one.Bounces, one.LongestBounce = b.Count, b.Longest.Seconds()
			one.Glitches, one.LongestGlitch = b.Glitches, b.LongestGlitch.Seconds()
		}
		j.Signals = append(j.Signals, one)
	}
	if d := res.Departure; d != nil {
		j.Departure = &departureJSON{
			Kind: d.Kind.String(), Signal: wire.SignalWord(d.Signal), At: tidy(d.At), Local: s.At(uint64(max(0, d.At))).Format(time.RFC3339),
			Words: res.DepartureWords(), Level: levelValue(d.Signal, d.Level),
		}
		if d.Change != nil {
			c := &d.Change.Change
			j.Departure.Expected = &wantJSON{c.At, levelValue(c.Signal, c.Level), c.By.String(), d.Change.Why}
		}
		if d.Since != nil {
			c := &d.Since.Change
			j.Departure.Since = &wantJSON{c.At, levelValue(c.Signal, c.Level), c.By.String(), d.Since.Why}
		}
		if d.Kind == Late {
			seen := tidy(d.Seen)
			j.Departure.Seen = &seen
		}
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(j)
}

func (e Estimate) json() *estimateJSON {
	if !e.Known {
		return nil
	}
	return &estimateJSON{tidy(e.Value), tidy(e.Uncertainty)}
}

// tidy rounds to a microsecond, or a millionth of what else it is.
func tidy(v float64) float64 { return math.Round(v*1e6) / 1e6 }

func levelValue(sig spec.Signal, level spec.Level) any {
	if sig == spec.SigAlert {
		return wire.LevelWord(sig, level)
	}
	return int(level)
}
