package scenario

import (
	"encoding/json"
	"io"
	"time"

	"example.org/hearthbench/conformance/explain"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// traceJSON is the trace for machines. Field names stay; more may come. Times are ISO 8601 with the true local offset.
type traceJSON struct {
	Format  int               `json:"format"` // 1
	Title   string            `json:"title"`
	Unit    map[string]string `json:"unit"` // ICS options; of what is fitted, the fitted value
	Start   string            `json:"start"`
	Until   string            `json:"until"`
	Given   []string          `json:"given"`
	Initial map[string]any    `json:"initial"` // signal to level, after what is given
	Trace   []any             `json:"trace"`   // of inputJSON and changeJSON
	Holds   bool              `json:"holds"`   // every expectation was met
	Limits  []limitJSON       `json:"limits"`
	Safety  string            `json:"safety"`
}

// whenJSON begins both kinds of entry.
type whenJSON struct {
	At      uint64 `json:"at"`      // seconds since the start
	Local   string `json:"local"`   // true local time
	Display string `json:"display"` // the unit's own reading as YYYY-MM-DD hh:mm:ss, "unset" or "no power"
}

type inputJSON struct {
	whenJSON
	Number   int    `json:"number"`
	Input    string `json:"input"`
	Reply    string `json:"reply"`
	Why      string `json:"why,omitempty"`
	Clause   string `json:"clause,omitempty"`
	Expected string `json:"expected,omitempty"`
}

type changeJSON struct {
	whenJSON
	Signal string `json:"signal"`
	Level  any    `json:"level"`          // 0 or 1; for the alert a word
	Clause string `json:"clause"`         // that settles the level
	Cause  string `json:"cause"`          // what brought the change: see explain.CauseWord
	Slot   uint8  `json:"slot,omitempty"` // with cause period
	Why    string `json:"why"`
}

type limitJSON struct {
	Stage         string         `json:"stage"`
	MinutesAnHour map[string]int `json:"minutes_an_hour"` // of the channels that are limited
	Words         string         `json:"words"`
}

// WriteJSON writes the trace for machines.
func (t *Trace) WriteJSON(w io.Writer) error {
	s := t.Scenario
	j := traceJSON{
		Format: 1, Title: s.Title, Unit: unitValues(&s.ICS), Start: s.At(0).Format(time.RFC3339), Until: s.At(s.Until).Format(time.RFC3339),
		Given: []string{}, Initial: map[string]any{}, Trace: []any{}, Holds: t.Holds(), Limits: []limitJSON{}, Safety: safetyNote,
	}
	for _, l := range s.Given {
		j.Given = append(j.Given, l.Text)
	}
	for sig, level := range t.Initial {
		j.Initial[wire.SignalWord(spec.Signal(sig))] = levelValue(spec.Signal(sig), level)
	}
	for i := range t.Entries {
		j.Trace = append(j.Trace, t.Entries[i].json())
	}
	for _, l := range t.Limits {
		limit := limitJSON{Stage: wire.StageWord(l.Stage), MinutesAnHour: map[string]int{}, Words: l.words()}
		for c, a := range l.Allowances {
			if a != spec.NoAllowance {
				limit.MinutesAnHour[wire.ChannelWord(spec.Channel(c))] = int(a)
			}
		}
		j.Limits = append(j.Limits, limit)
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(j)
}

func (e *Entry) json() any {
	when := whenJSON{At: e.At, Local: e.Local.Format(time.RFC3339), Display: e.Display.String()}
	if d := e.Input; d != nil {
		j := inputJSON{
			whenJSON: when, Number: d.Number, Input: d.Step.Text, Reply: wire.OutcomeWord(d.Reply.Outcome), Why: e.Why, Clause: d.Clause,
		}
		if d.Step.Expect.Stated {
			j.Expected = wire.OutcomeWord(d.Step.Expect.Outcome)
		}
		return j
	}
	c := &e.Change
	return changeJSON{
		whenJSON: when, Signal: wire.SignalWord(c.Signal), Level: levelValue(c.Signal, c.Level), Clause: c.By.String(),
		Cause: explain.CauseWord(c.Cause), Slot: c.Slot, Why: e.Why,
	}
}

func levelValue(sig spec.Signal, level spec.Level) any {
	if sig == spec.SigAlert {
		return wire.LevelWord(sig, level)
	}
	return int(level)
}

func unitValues(ics *spec.ICS) map[string]string {
	values := map[string]string{}
	for o, value := range fittedValues(ics) {
		values[wire.FitOptionWord(spec.FitOption(o))] = wire.FitValueWord(spec.FitOption(o), value)
	}
	for _, name := range optionNames() {
		values[name] = wire.Option(*ics, name)
	}
	return values
}
