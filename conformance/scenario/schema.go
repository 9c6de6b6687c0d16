package scenario

import (
	_ "embed"
	"slices"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/wire"
)

// Schema is the JSON Schema (2020-12) of a scenario file, which is YAML.
//
//go:embed scenario.schema.json
var Schema []byte

var fileFormat = &document.Format{
	Noun:   "scenario",
	Schema: Schema,
	Items:  map[string]string{"given": "the line", "steps": "the step"},
	Hint: func(parent, key string) string {
		if parent == "unit" && slices.Contains(wire.OptionNames(), key) {
			return key + " is a tolerance of a board; the emulator is exact, so leave it out"
		}
		return ""
	},
}
