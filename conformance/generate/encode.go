package generate

import (
	"bytes"
	"encoding/json"
	"fmt"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// The types below are a vector as its line has it: schema.json says what each key is.
type (
	lineJSON struct {
		ID         string            `json:"id"`
		Clauses    []string          `json:"clauses"`
		Purpose    string            `json:"purpose"`
		Catches    string            `json:"catches"`
		Derivation string            `json:"derivation,omitempty"`
		Needs      map[string]any    `json:"needs,omitempty"`
		Fit        map[string]string `json:"fit,omitempty"`
		Start      string            `json:"start"`
		Clock      string            `json:"clock,omitempty"`
		Given      []string          `json:"given,omitempty"`
		Steps      []stepJSON        `json:"steps,omitempty"`
		Until      string            `json:"until"`
		Initial    map[string]any    `json:"initial,omitempty"`
		Trace      []json.RawMessage `json:"trace"`
	}
	stepJSON struct {
		At    string `json:"at"`
		Do    string `json:"do"`
		Reply string `json:"reply,omitempty"`
	}
	boundsJSON struct {
		Min *int `json:"min,omitempty"`
		Max *int `json:"max,omitempty"`
	}
)

// file returns a vector file: what it says of itself, and a line for each vector.
func file(about []string, vectors []*suite.Vector) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("{\"format\": 1, \"family\": \"GEN\", \"about\": [\n")
	for i, text := range about {
		line, err := marshal(text)
		if err != nil {
			return nil, err
		}
		b.Write(line)
		b.WriteString(separator(i, len(about)))
	}
	b.WriteString("], \"vectors\": [\n")
	for i, v := range vectors {
		line, err := marshal(encode(v))
		if err != nil {
			return nil, err
		}
		b.Write(line)
		b.WriteString(separator(i, len(vectors)))
	}
	b.WriteString("]}\n")
	return b.Bytes(), nil
}

func separator(i, n int) string {
	if i < n-1 {
		return ",\n"
	}
	return "\n"
}

// marshal is json.Marshal, but for signs such as > that need no escape here.
func marshal(value any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(value); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

func encode(v *suite.Vector) lineJSON {
	at := func(second uint64) string { return v.At(second).Format("2006-01-02T15:04:05-07:00") }
	j := lineJSON{
		ID: v.ID, Clauses: v.Clauses, Purpose: v.Purpose, Catches: v.Catches, Derivation: v.Derivation, Start: at(0), Given: v.Given,
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
		step := stepJSON{At: at(s.At), Do: s.Do}
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

func needJSON(n *suite.Need) any {
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
	if n.Min > -noBound-1 {
		b.Min = &n.Min
	}
	if n.Max < noBound {
		b.Max = &n.Max
	}
	return b
}
