package complaint

import (
	_ "embed"
	"fmt"
	"io/fs"
	"slices"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/wire"
)

// Schema is the JSON Schema (2020-12) of a complaint file, which is YAML.
//
//go:embed complaint.schema.json
var Schema []byte

// Template is a complaint file with comments, ready to be filled in. It parses as it stands.
//
//go:embed template.yaml
var Template []byte

// MaxSize is the most bytes that a complaint file may have.
const MaxSize = document.MaxSize

// Error is one thing that is wrong with a complaint file.
type Error = document.Error

// Errors are all that is wrong with a complaint file, in its order. There is at least one.
type Errors = document.Errors

var fileFormat = &document.Format{
	Noun:   "complaint",
	Schema: Schema,
	Items: map[string]string{
		"settings": "the setting", "done": "the act", "changed": "the change", "sensed": "the observation", "means": "the observation",
		"logs": "the log",
	},
	Hint: func(parent, key string) string {
		switch {
		case parent == "unit" && slices.Contains(wire.OptionNames(), key):
			return key + " is a tolerance of a board; the emulator is exact, so leave it out"
		case parent == "the complaint" && key == "until":
			return "a complaint ends when it was asked; say asked"
		case parent == "columns":
			return loggable(key)
		}
		return ""
	},
}

// loggable says what a log may be of, where a key is none of that.
func loggable(key string) string {
	if near := document.Nearest(key, slices.Clone(logWords)); near != "" {
		return fmt.Sprintf("unknown thing %s; is %s meant?", document.Quote(key), near)
	}
	return fmt.Sprintf("unknown thing %s; a log is of %s", document.Quote(key), orList(logWords))
}

// reader reads one file.
type reader struct {
	*document.Reader
	c       *Complaint
	folder  fs.FS // of the file; nil for none
	whens   []pending
	pending []*pendingLog
}
