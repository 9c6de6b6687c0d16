package document

import (
	"bytes"
	"encoding/json"
	"errors"
	"regexp"
	"strings"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/santhosh-tekuri/jsonschema/v6/kind"
)

// Format is a kind of file. Make one for each, and keep it: it compiles its schema once.
type Format struct {
	Noun   string // what messages call such a file, such as scenario
	Schema []byte // JSON Schema 2020-12. Its descriptions are worded so that 'it should be ...' can stand before them
	// Items are what messages call an item of the list under a key.
	Items map[string]string
	// Hint says more of an unknown key than that it is unknown, where there is more to say; "" elsewhere. It may be nil. Parent is the
	// key under which it stands.
	Hint func(parent, key string) string

	once     sync.Once
	compiled *jsonschema.Schema
	words    Schema
}

// Schema is what messages need of a schema: the keys there are, and what each should be.
type Schema struct {
	Description string             `json:"description"`
	Properties  map[string]*Schema `json:"properties"`
	Items       *Schema            `json:"items"`
	Ref         string             `json:"$ref"`
	Defs        map[string]*Schema `json:"$defs"`
}

func (f *Format) prepare() {
	f.once.Do(func() {
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(f.Schema))
		if err != nil {
			panic(err)
		}
		name := f.Noun + ".schema.json"
		c := jsonschema.NewCompiler()
		if err := c.AddResource(name, doc); err != nil {
			panic(err)
		}
		f.compiled = c.MustCompile(name)
		if err := json.Unmarshal(f.Schema, &f.words); err != nil {
			panic(err)
		}
	})
}

func (f *Format) text() *Schema {
	f.prepare()
	return &f.words
}

// Property returns what the schema says of a top-level key, or nil.
func (f *Format) Property(key string) *Schema { return f.text().Properties[key] }

// Describe returns what the schema says should stand under a key of a key, such as unit, coupling.
func (f *Format) Describe(path ...string) string {
	s := f.text()
	for _, key := range path {
		s = f.resolve(s.Properties[key])
	}
	return s.Description
}

// Read reads a file; the name is for messages. The tree is nil if the file is no YAML, is no mapping, or departs from the schema: then
// [Reader.Err] has all of that. What the schema cannot say is for the caller to add.
func (f *Format) Read(name string, data []byte) (*Reader, *Node) {
	r := &Reader{name: name, format: f}
	root := r.readTree(data)
	if root == nil || r.Failed() {
		return r, nil
	}
	if root.Form != Mapping {
		r.FailAt(root, "the file holds %s; a %s is %s", root.brief(), f.Noun, f.text().Description)
		return r, nil
	}
	r.checkSchema(root)
	if r.Failed() {
		return r, nil
	}
	return r, root
}

// checkSchema reports everything in which the file departs from the schema.
func (r *Reader) checkSchema(root *Node) {
	r.format.prepare()
	err := r.format.compiled.Validate(root.Value())
	var invalid *jsonschema.ValidationError
	if errors.As(err, &invalid) {
		r.schemaErrors(root, invalid)
	}
}

func (r *Reader) schemaErrors(root *Node, e *jsonschema.ValidationError) {
	for _, cause := range e.Causes {
		r.schemaErrors(root, cause)
	}
	if len(e.Causes) > 0 {
		return
	}
	n, s, name, key := root, r.format.text(), "the "+r.format.Noun, ""
	for _, token := range e.InstanceLocation {
		if n.Form == List {
			n, s, name = n.Items[index(token)], s.Items, r.format.Items[key]
		} else {
			n, s, name, key = n.Get(token), s.Properties[token], token, token
		}
		s = r.format.resolve(s)
	}
	switch k := e.ErrorKind.(type) {
	case *kind.AdditionalProperties:
		for _, unknown := range k.Properties {
			r.unknownKey(n.Entry(unknown), s, name)
		}
	case *kind.Required:
		for _, missing := range k.Missing {
			r.FailAt(n, "%s lacks %s; add it: %s", name, missing, r.format.resolve(s.Properties[missing]).Description)
		}
	default:
		r.FailAt(n, "%s is %s; it should be %s", name, n.brief(), s.Description)
	}
}

// resolve follows a reference. What the place itself says goes before what it refers to.
func (f *Format) resolve(s *Schema) *Schema {
	def := f.words.Defs[strings.TrimPrefix(s.Ref, "#/$defs/")]
	if def == nil {
		return s
	}
	whole := *def
	if s.Description != "" {
		whole.Description = s.Description
	}
	return &whole
}

func (r *Reader) unknownKey(e *Entry, s *Schema, name string) {
	keys := make([]string, 0, len(s.Properties))
	for key := range s.Properties {
		keys = append(keys, key)
	}
	hint := ""
	if r.format.Hint != nil {
		hint = r.format.Hint(name, e.Key)
	}
	switch near := Nearest(e.Key, keys); {
	case hint != "":
		r.Fail(e.Line, e.Column, "%s", hint)
	case !word.MatchString(e.Key):
		r.Fail(e.Line, e.Column, "unknown key %s; a line that has a comma of its own stands in quotes", Quote(e.Key))
	case near != "":
		r.Fail(e.Line, e.Column, "unknown key %s; is %s meant?", Quote(e.Key), near)
	default:
		r.Fail(e.Line, e.Column, "unknown key %s; %s is %s", Quote(e.Key), name, s.Description)
	}
}

// word matches what could be meant as a key.
var word = regexp.MustCompile(`^[A-Za-z_-]+$`)

// brief says what stands where something else should.
func (n *Node) brief() string {
	switch n.Form {
	case Mapping:
		return "a mapping"
	case List:
		return "a list"
	case Null:
		return "empty"
	case Number:
		return "the number " + Quote(n.Text)
	default:
		return Quote(n.Text)
	}
}

func index(digits string) int {
	i := 0
	for _, d := range []byte(digits) {
		i = 10*i + int(d-'0')
	}
	return i
}
