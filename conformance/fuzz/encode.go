package fuzz

import (
	"bytes"
	"encoding/json"

	"example.org/hearthbench/conformance/suite"
)

// fileJSON is a vector file as schema.json has it.
type fileJSON struct {
	Format  int      `json:"format"`
	Family  string   `json:"family"`
	About   []string `json:"about"`
	Vectors []any    `json:"vectors"`
}

// encode returns a vector file with one generated vector.
func encode(about []string, v *suite.Vector) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(fileJSON{Format: 1, Family: suite.Generated, About: about, Vectors: []any{v.JSON()}})
	return b.Bytes(), err
}
