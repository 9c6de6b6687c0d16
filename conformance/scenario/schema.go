package scenario

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"errors"
	"regexp"
	"slices"
	"strings"
	"sync"

	"example.org/hearthbench/conformance/wire"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/santhosh-tekuri/jsonschema/v6/kind"
)

// Schema is the JSON Schema (2020-12) of a scenario file, which is YAML.
//
//go:embed scenario.schema.json
var Schema []byte

const schemaName = "scenario.schema.json"

var compiled = sync.OnceValue(func() *jsonschema.Schema {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema))
	if err != nil {
		panic(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource(schemaName, doc); err != nil {
		panic(err)
	}
	return c.MustCompile(schemaName)
})

// schemaNode is what messages need of the schema: the keys there are, and what each should be.
type schemaNode struct {
	Description string                 `json:"description"`
	Properties  map[string]*schemaNode `json:"properties"`
	Items       *schemaNode            `json:"items"`
	Ref         string                 `json:"$ref"`
	Defs        map[string]*schemaNode `json:"$defs"`
}

var schemaText = sync.OnceValue(func() *schemaNode {
	var s schemaNode
	if err := json.Unmarshal(Schema, &s); err != nil {
		panic(err)
	}
	return &s
})

// checkSchema reports everything in which the file departs from the schema.
func (r *reader) checkSchema(root *node) {
	err := compiled().Validate(root.value())
	var invalid *jsonschema.ValidationError
	if errors.As(err, &invalid) {
		r.schemaErrors(root, invalid)
	}
}

func (r *reader) schemaErrors(root *node, e *jsonschema.ValidationError) {
	for _, cause := range e.Causes {
		r.schemaErrors(root, cause)
	}
	if len(e.Causes) > 0 {
		return
	}
	n, s, name := root, schemaText(), "the scenario"
	for _, token := range e.InstanceLocation {
		if n.form == aList {
			n, s, name = n.items[index(token)], s.Items, itemNames[name]
		} else {
			n, s, name = n.get(token), s.Properties[token], token
		}
		if def, ok := schemaText().Defs[strings.TrimPrefix(s.Ref, "#/$defs/")]; ok && s.Description == "" {
			s = def
		}
	}
	switch k := e.ErrorKind.(type) {
	case *kind.AdditionalProperties:
		for _, key := range k.Properties {
			r.unknownKey(n.entry(key), s, name)
		}
	case *kind.Required:
		for _, key := range k.Missing {
			r.fail(n.line, n.column, "%s lacks %s; add it: %s", name, key, s.Properties[key].Description)
		}
	default:
		r.fail(n.line, n.column, "%s is %s; it should be %s", name, n.brief(), s.Description)
	}
}

// itemNames are what messages call an item of a list.
var itemNames = map[string]string{"given": "the line", "steps": "the step"}

func (r *reader) unknownKey(e *entry, s *schemaNode, name string) {
	keys := make([]string, 0, len(s.Properties))
	for key := range s.Properties {
		keys = append(keys, key)
	}
	switch near := nearest(e.key, keys); {
	case name == "unit" && slices.Contains(wire.OptionNames(), e.key):
		r.fail(e.line, e.column, "%s is a tolerance of a board; the emulator is exact, so leave it out", e.key)
	case !word.MatchString(e.key):
		r.fail(e.line, e.column, "unknown key %s; a line that has a comma of its own stands in quotes", quote(e.key))
	case near != "":
		r.fail(e.line, e.column, "unknown key %s; is %s meant?", quote(e.key), near)
	default:
		r.fail(e.line, e.column, "unknown key %s; %s is %s", quote(e.key), name, s.Description)
	}
}

// word matches what could be meant as a key.
var word = regexp.MustCompile(`^[A-Za-z_-]+$`)

// brief says what stands where something else should.
func (n *node) brief() string {
	switch n.form {
	case aMapping:
		return "a mapping"
	case aList:
		return "a list"
	case aNull:
		return "empty"
	case aNumber:
		return "the number " + quote(n.text)
	default:
		return quote(n.text)
	}
}

func index(digits string) int {
	i := 0
	for _, d := range []byte(digits) {
		i = 10*i + int(d-'0')
	}
	return i
}
