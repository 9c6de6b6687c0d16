// Package verify checks that the published set is what it says it is: that its files match schema and checksums, that every
// clause has its vectors, and that both models give every trace, on every unit whose ICS calls for it.
package verify

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"golang.org/x/text/language"
	"golang.org/x/text/message"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// MinVectors is how many vectors list each clause at least: a plain case, a boundary, and a meeting with another feature.
const MinVectors = 3

// Schema checks one vector file against schema.json.
func Schema(files fs.FS, name string, data []byte) error {
	schema, err := compile(files)
	if err != nil {
		return err
	}
	return validate(schema, name, data)
}

func compile(files fs.FS) (*jsonschema.Schema, error) {
	text, err := fs.ReadFile(files, "schema.json")
	if err != nil {
		return nil, err
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return nil, fmt.Errorf("schema.json: %w", err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("schema.json", doc); err != nil {
		return nil, fmt.Errorf("schema.json: %w", err)
	}
	return c.Compile("schema.json")
}

func validate(schema *jsonschema.Schema, name string, data []byte) error {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if err := schema.Validate(doc); err != nil {
		var v *jsonschema.ValidationError
		if errors.As(err, &v) {
			return fmt.Errorf("%s: %s", name, strings.Join(plainly(doc, v), "\n"+name+": "))
		}
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// plainly words the innermost findings of a validation, each with its place. Of alternatives, none of which fits, it says what is
// wrong with each.
func plainly(doc any, v *jsonschema.ValidationError) []string {
	if len(v.Causes) == 0 {
		text := v.ErrorKind.LocalizedString(message.NewPrinter(language.English))
		return []string{location(doc, v.InstanceLocation) + text}
	}
	var list []string
	for _, cause := range v.Causes {
		list = append(list, plainly(doc, cause)...)
	}
	return list
}

// location words a place in a vector file: a JSON pointer, within its vector if it is in one.
func location(doc any, path []string) string {
	if len(path) == 0 {
		return ""
	}
	place := "/" + strings.Join(path, "/")
	if len(path) > 1 && path[0] == "vectors" {
		n, _ := strconv.Atoi(path[1])
		file, _ := doc.(map[string]any)
		list, _ := file["vectors"].([]any)
		if n < len(list) {
			vector, _ := list[n].(map[string]any)
			id, _ := vector["id"].(string)
			place = fmt.Sprintf("vector %d (%s), /%s", n+1, id, strings.Join(path[2:], "/"))
		}
	}
	return place + ": "
}

// Files checks every vector file against the schema, and every published file against SHA256SUMS.
func Files(files fs.FS) []error {
	schema, err := compile(files)
	if err != nil {
		return []error{err}
	}
	var errs []error
	names, err := vectorFiles(files)
	if err != nil {
		return []error{err}
	}
	for _, name := range names {
		data, err := fs.ReadFile(files, name)
		if err == nil {
			err = validate(schema, name, data)
		}
		if err != nil {
			errs = append(errs, err)
		}
	}
	published, err := fs.ReadFile(files, SumsFile)
	if err != nil {
		return append(errs, err)
	}
	sums, err := Sums(files)
	if err != nil {
		return append(errs, err)
	}
	if d := firstDifference(string(published), sums); d != "" {
		errs = append(errs, fmt.Errorf("%s: %s; 'hearthbench vectors seal' writes it anew, after the change has been read", SumsFile, d))
	}
	return errs
}

// vectorFiles lists the published vector files.
func vectorFiles(files fs.FS) ([]string, error) {
	hand, err := fs.Glob(files, "hand/*.json")
	if err != nil {
		return nil, err
	}
	generated, err := fs.Glob(files, "generated/*.json")
	return append(hand, generated...), err
}

// SumsFile holds the checksums of what is published.
const SumsFile = "SHA256SUMS"

// Sums returns the text of SHA256SUMS: a line a file, as sha256sum writes and reads it.
func Sums(files fs.FS) (string, error) {
	names := []string{"ADAPTER.md", "BEHAVIOUR.md", "VECTORS.md", "INDEX.md", "KILLS.md", "TRACE.md", "schema.json"}
	vectors, err := vectorFiles(files)
	if err != nil {
		return "", err
	}
	names = append(names, vectors...)
	slices.Sort(names)
	var b strings.Builder
	for _, name := range names {
		data, err := fs.ReadFile(files, name)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&b, "%x  %s\n", sha256.Sum256(data), name)
	}
	return b.String(), nil
}

// firstDifference words the first line in which a text is not what it should be, or returns "".
func firstDifference(have, want string) string {
	h, w := strings.Split(have, "\n"), strings.Split(want, "\n")
	for i := range max(len(h), len(w)) {
		switch {
		case i < len(h) && i < len(w) && h[i] == w[i]:
			continue
		case i >= len(w):
			return fmt.Sprintf("line %d, %q, should not be there", i+1, h[i])
		case i >= len(h):
			return fmt.Sprintf("line %d is missing; it should be %q", i+1, w[i])
		}
		wanted, there := slices.Contains(w[i:], h[i]), slices.Contains(h[i:], w[i])
		switch {
		case there && !wanted:
			return fmt.Sprintf("line %d, %q, should not be there", i+1, h[i])
		case wanted && !there:
			return fmt.Sprintf("line %d is missing; it should be %q", i+1, w[i])
		default:
			return fmt.Sprintf("line %d is %q; it should be %q", i+1, h[i], w[i])
		}
	}
	return ""
}

// Coverage reports the clauses that too few hand-derived vectors list.
func Coverage(s *suite.Suite) []error {
	count := map[string]int{}
	for _, v := range s.Vectors {
		if v.IsGenerated() {
			continue
		}
		for _, id := range v.Clauses {
			count[id]++
		}
	}
	var errs []error
	for _, f := range s.Page.Families {
		for _, c := range f.Clauses {
			if count[c.ID] < MinVectors {
				errs = append(errs, fmt.Errorf("clause %s is listed by %d vectors; each needs %d", c.ID, count[c.ID], MinVectors))
			}
		}
	}
	return errs
}

// Vector checks that both models give the vector's trace and replies: the emulator on every unit of a spread over all ICS options
// that the vector's needs leave open, the second model on one.
func Vector(v *suite.Vector) error {
	applied := 0
	for _, ics := range units(v) {
		if ok, _ := v.Applies(&ics); !ok || ics.Validate() != nil {
			continue
		}
		b, err := v.Bind(&ics)
		if err != nil {
			return fmt.Errorf("%s: %w", v.ID, err)
		}
		if err := check(b, oracle.Play(b, v.Until, oracle.Emulator(ics))); err != nil {
			return fmt.Errorf("%s: the emulator %w%s", v.ID, err, unlike(applied, &ics))
		}
		if applied == 0 {
			if err := check(b, oracle.Play(b, v.Until, oracle.SecondModel(ics))); err != nil {
				return fmt.Errorf("%s: the second model %w", v.ID, err)
			}
		}
		applied++
	}
	if applied == 0 {
		return fmt.Errorf("%s: no unit meets its needs", v.ID)
	}
	return nil
}

// unlike says on which unit a vector fails that holds on the plainest one: an option is missing from its needs.
func unlike(applied int, ics *spec.ICS) string {
	if applied == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("\n  though it holds on other units; an option is missing from 'needs' or 'fit'. This unit has")
	full := spec.FullICS()
	for o := spec.FitChannels; o <= spec.FitCoupling; o++ {
		name := wire.FitOptionWord(o)
		if value := wire.Option(*ics, name); value != wire.Option(full, name) {
			_, fitted, _ := strings.Cut(value, " ")
			fmt.Fprintf(&b, " %s=%s", name, fitted)
		}
	}
	for _, name := range wire.OptionNames() {
		if value := wire.Option(*ics, name); value != wire.Option(full, name) {
			fmt.Fprintf(&b, " %s=%s", name, value)
		}
	}
	return b.String()
}

// check compares what a model did with what the vector expects.
func check(b *suite.Bound, r oracle.Run) error {
	v := b.Vector
	for i, reply := range r.Given {
		if reply.Outcome != spec.Accepted {
			inputs := append(slices.Clone(b.Fits), b.Given...)
			return fmt.Errorf("does not accept given input '%s': %s (%s)", wire.AppendInput(nil, inputs[i]), wire.OutcomeWord(reply.Outcome),
				wire.RefusalWords(reply.Refusal))
		}
	}
	for i, reply := range r.Replies {
		if step := b.Steps[i]; reply.Outcome != step.Want {
			return fmt.Errorf("answers step %d ('%s' at %s) with %s (%s), not %s", step.Step+1, wire.AppendInput(nil, step.Input),
				stamp(v, step.At), wire.OutcomeWord(reply.Outcome), wire.RefusalWords(reply.Refusal), wire.OutcomeWord(step.Want))
		}
	}
	for s := range r.Initial {
		if r.Initial[s] != b.Initial[s] {
			sig := spec.Signal(s)
			return fmt.Errorf("begins with %s %s, not %s", wire.SignalWord(sig), wire.LevelWord(sig, r.Initial[s]), wire.LevelWord(sig, b.Initial[s]))
		}
	}
	for i := range max(len(r.Changes), len(b.Trace)) {
		switch {
		case i >= len(r.Changes):
			return fmt.Errorf("does not show trace entry %s", change(v, b.Trace[i]))
		case i >= len(b.Trace):
			return fmt.Errorf("shows %s, which the trace has not", change(v, r.Changes[i]))
		}
		have, want := r.Changes[i], b.Trace[i]
		have.Cause, have.Slot = spec.NoCause, 0
		if have != want {
			return fmt.Errorf("shows %s where the trace has %s", change(v, have), change(v, want))
		}
	}
	return nil
}

func stamp(v *suite.Vector, second uint64) string {
	return v.At(second).Format("2006-01-02T15:04:05-07:00")
}

func change(v *suite.Vector, c spec.Change) string {
	return fmt.Sprintf("'%s %s %s by %s'", stamp(v, c.At), wire.SignalWord(c.Signal), wire.LevelWord(c.Signal, c.Level), c.By)
}
