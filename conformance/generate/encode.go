package generate

import (
	"bytes"
	"encoding/json"

	"example.org/hearthbench/conformance/suite"
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
		line, err := marshal(v.JSON())
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
