package fuzz

import (
	"bytes"
	"encoding/json"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// The types below are a vector file as schema.json has it.
type (
	fileJSON struct {
		Format  int          `json:"format"`
		Family  string       `json:"family"`
		About   []string     `json:"about"`
		Vectors []vectorJSON `json:"vectors"`
	}
	vectorJSON struct {
		ID      string            `json:"id"`
		Clauses []string          `json:"clauses"`
		Purpose string            `json:"purpose"`
		Catches string            `json:"catches"`
		Needs   map[string]any    `json:"needs,omitempty"`
		Fit     map[string]string `json:"fit,omitempty"`
		Start   string            `json:"start"`
		Clock   string            `json:"clock,omitempty"`
		Steps   []stepJSON        `json:"steps,omitempty"`
		Until   string            `json:"until"`
		Initial map[string]any    `json:"initial,omitempty"`
		Trace   []changeJSON      `json:"trace"`
	}
	stepJSON struct {
		At    string `json:"at"`
		Do    string `json:"do"`
		Reply string `json:"reply,omitempty"`
	}
	changeJSON struct {
		At      string `json:"at"`
		HW      any    `json:"hw,omitempty"`
		CH      any    `json:"ch,omitempty"`
		Alert   any    `json:"alert,omitempty"`
		Sounder any    `json:"sounder,omitempty"`
		By      string `json:"by"`
	}
	boundsJSON struct {
		Min *int `json:"min,omitempty"`
		Max *int `json:"max,omitempty"`
	}
)

// encode returns a vector file with one generated vector.
func encode(about []string, v *suite.Vector) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(fileJSON{Format: 1, Family: suite.Generated, About: about, Vectors: []vectorJSON{vectorOf(v)}})
	return b.Bytes(), err
}

func vectorOf(v *suite.Vector) vectorJSON {
	at := func(second uint64) string { return v.At(second).Format("2006-01-02T15:04:05-07:00") }
	j := vectorJSON{
		ID: v.ID, Clauses: v.Clauses, Purpose: v.Purpose, Catches: v.Catches, Start: at(0), Until: at(v.Until),
		Needs: map[string]any{}, Fit: map[string]string{}, Initial: map[string]any{}, Trace: []changeJSON{},
	}
	if v.ClockUnset {
		j.Clock = "unset"
	}
	for i := range v.Needs {
		n := &v.Needs[i]
		switch {
		case len(n.Words) == 1:
			j.Needs[n.Option] = n.Words[0]
		case n.Min == n.Max:
			j.Needs[n.Option] = n.Min
		default:
			j.Needs[n.Option] = boundsJSON{Min: &n.Min}
		}
	}
	for _, in := range v.Fit {
		j.Fit[wire.FitOptionWord(in.FitOption)] = wire.FitValueWord(in.FitOption, in.FitValue)
	}
	for _, s := range v.Steps {
		step := stepJSON{At: at(s.At), Do: s.Do}
		if s.Want != spec.Accepted {
			step.Reply = wire.OutcomeWord(s.Want)
		}
		j.Steps = append(j.Steps, step)
	}
	for s, level := range v.Initial {
		if level != 0 {
			j.Initial[wire.SignalWord(spec.Signal(s))] = levelJSON(spec.Signal(s), level)
		}
	}
	for _, c := range v.Trace {
		k := changeJSON{At: at(c.At), By: c.By.String()}
		*[...]*any{spec.SigHW: &k.HW, spec.SigCH: &k.CH, spec.SigAlert: &k.Alert, spec.SigSounder: &k.Sounder}[c.Signal] = levelJSON(c.Signal, c.Level)
		j.Trace = append(j.Trace, k)
	}
	return j
}

func levelJSON(s spec.Signal, l spec.Level) any {
	if s == spec.SigAlert {
		return wire.LevelWord(s, l)
	}
	return int(l)
}
