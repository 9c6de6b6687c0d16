package suite

import (
	"encoding/json"
	"fmt"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// The types below are a vector as it is written; as it is read, what is left out has to be told from what is not.
type (
	writtenJSON struct {
		ID         string            `json:"id"`
		Clauses    []string          `json:"clauses"`
		Purpose    string            `json:"purpose"`
		Catches    string            `json:"catches"`
		Derivation string            `json:"derivation,omitempty"`
		Kept       string            `json:"kept,omitempty"`
		Needs      map[string]any    `json:"needs,omitempty"`
		Fit        map[string]string `json:"fit,omitempty"`
		Start      string            `json:"start"`
		Clock      string            `json:"clock,omitempty"`
		Given      []string          `json:"given,omitempty"`
		Steps      []writtenStepJSON `json:"steps,omitempty"`
		Until      string            `json:"until"`
		Initial    map[string]any    `json:"initial,omitempty"`
		Trace      []json.RawMessage `json:"trace"`
	}
	writtenStepJSON struct {
		At    string `json:"at"`
		Do    string `json:"do"`
		Reply string `json:"reply,omitempty"`
	}
	boundsJSON struct {
		Min *int `json:"min,omitempty"`
		Max *int `json:"max,omitempty"`
	}
)

// JSON returns the vector as json.Marshal, in whatever form, makes it an item of a vector file.
func (v *Vector) JSON() any {
	at := func(second uint64) string { return v.At(second).Format("2006-01-02T15:04:05-07:00") }
	j := writtenJSON{
		ID: v.ID, Clauses: v.Clauses, Purpose: v.Purpose, Catches: v.Catches, Derivation: v.Derivation, Kept: v.Kept, Start: at(0), Given: v.Given,
		Until: at(v.Until), Needs: map[string]any{}, Fit: map[string]string{}, Initial: map[string]any{}, Trace: []json.RawMessage{},
	}
	if v.ClockUnset {
		j.Clock = "unset"
	}
	for i := range v.Needs {
		n := &v.Needs[i]
		j.Needs[n.Option] = needJSON(n)
	}
	for _, in := range v.Fit {
		j.Fit[wire.FitOptionWord(in.FitOption)] = wire.FitValueWord(in.FitOption, in.FitValue)
	}
	for _, s := range v.Steps {
		step := writtenStepJSON{At: at(s.At), Do: s.Do}
		if s.Want != spec.Accepted {
			step.Reply = wire.OutcomeWord(s.Want)
		}
		j.Steps = append(j.Steps, step)
	}
	for s, level := range v.Initial {
		if level != 0 {
			j.Initial[wire.SignalWord(spec.Signal(s))] = json.RawMessage(levelJSON(spec.Signal(s), level))
		}
	}
	for _, c := range v.Trace {
		j.Trace = append(j.Trace, json.RawMessage(fmt.Sprintf(`{"at":%q,%q:%s,"by":%q}`, at(c.At), wire.SignalWord(c.Signal), levelJSON(c.Signal, c.Level), c.By)))
	}
	return j
}

func levelJSON(s spec.Signal, l spec.Level) string {
	if s == spec.SigAlert {
		return `"` + wire.LevelWord(s, l) + `"`
	}
	return wire.LevelWord(s, l)
}

func needJSON(n *Need) any {
	switch {
	case n.Boosts != nil:
		return n.Boosts
	case len(n.Words) == 1:
		return n.Words[0]
	case n.Words != nil:
		return n.Words
	case n.Min == n.Max:
		return n.Min
	}
	var b boundsJSON
	if n.Min > unbounded.Min {
		b.Min = &n.Min
	}
	if n.Max < unbounded.Max {
		b.Max = &n.Max
	}
	return b
}
