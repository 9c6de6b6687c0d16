package report

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/known"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

func compiledSchema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	require.NoError(t, c.AddResource("report.schema.json", doc))
	s, err := c.Compile("report.schema.json")
	require.NoError(t, err)
	return s
}

// written returns a report as JSON, decoded, once it has been found to follow the schema.
func written(t testing.TB, r *Report) map[string]any {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, r.JSON(&b))
	doc, err := jsonschema.UnmarshalJSON(&b)
	require.NoError(t, err)
	require.NoError(t, compiledSchema(t).Validate(doc))
	return doc.(map[string]any)
}

// real puts hand-derived vectors to a unit.
func real(t testing.TB, s *suite.Suite, vectors []*suite.Vector, make func(spec.ICS) wire.Device) *Report {
	t.Helper()
	ics := spec.FullICS()
	ics.OverrideProgrammed = true // so that some vectors do not apply
	r := &Report{
		IUT: "emulator:override-end=programmed", Description: "emulator", ICS: ics, Page: s.Page, Checksum: checksum, Tool: "unknown",
		When: time.Date(2026, 6, 10, 12, 0, 0, 0, time.UTC), Took: 2500 * time.Millisecond, Planned: len(vectors),
	}
	require.NoError(t, runner.Run(context.Background(), iut.InProcess("unit", ics, make), vectors, func(result *runner.Result) { r.Results = append(r.Results, result) }))
	return r
}

func published(t testing.TB) (s *suite.Suite, hand []*suite.Vector) {
	t.Helper()
	s, err := suite.Load(vectors.Files)
	require.NoError(t, err)
	for _, v := range s.Vectors {
		if !v.IsGenerated() {
			hand = append(hand, v)
		}
	}
	return s, hand
}

// crashes is the emulator, which panics when it is reset and forgets overrides.
type crashes struct{ wire.Device }

func (d *crashes) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	switch in.Kind {
	case spec.Reset:
		panic("reset")
	case spec.Override:
		return spec.Reply{}, changes
	}
	return d.Device.Do(in, changes)
}

// Real reports follow the schema: of a unit that conforms, of one that fails and crashes, with and without known failures, interrupted, and
// of nothing at all.
func TestReportsFollowTheSchema(t *testing.T) {
	s, hand := published(t)
	good := real(t, s, hand, func(ics spec.ICS) wire.Device { return oracle.Emulator(ics) })
	doc := written(t, good)
	assert.Equal(t, true, doc["conformant"])
	assert.Equal(t, "2.5", fmt.Sprint(doc["seconds"]))

	bad := real(t, s, hand, func(ics spec.ICS) wire.Device { return &crashes{oracle.Emulator(ics)} })
	doc = written(t, bad)
	c := bad.Counts()
	require.Greater(t, c.Fail, 20)
	require.Greater(t, c.Inconclusive, 10)
	require.Greater(t, c.NotApplicable, 10)
	assert.Len(t, doc["mostBroken"], maxBroken)

	bad.Known = &known.List{Name: "known.txt", Entries: []known.Entry{
		{Line: 1, Pattern: "OVR-*/*", Reason: "issue 1"}, {Line: 2, Pattern: "CLK-1/gone", Reason: "x"}, {Line: 3, Pattern: "TAB-1/*", Reason: "y"},
	}}
	bad.Complaints = bad.Known.Review(hand, bad.Results)
	require.NotEmpty(t, bad.Complaints)
	doc = written(t, bad)
	assert.NotEmpty(t, doc["known"].(map[string]any)["complaints"])
	assert.Greater(t, bad.Counts().Known, 10)

	bad.Results = bad.Results[:40]
	assert.Equal(t, false, written(t, bad)["complete"])
	bad.Results, bad.Source = nil, "mine.json"
	assert.Equal(t, "mine.json", written(t, bad)["vectors"].(map[string]any)["source"])

	all := results(t)
	v := overrideVector()
	for kind := range departureKinds {
		d := &runner.Departure{Kind: runner.DepartureKind(kind), Expected: &spec.Change{Signal: alert, Level: 3, By: spec.ClauseRestrict}, Observed: &spec.Change{Signal: sounder, Level: 1}}
		all.Results = append(all.Results, failed(t, v, d))
	}
	written(t, all)
}

// What a report has, the schema describes; what the schema turns down is no report.
func TestSchemaFitsTheReports(t *testing.T) {
	var schema map[string]any
	require.NoError(t, json.Unmarshal(Schema, &schema))
	s, hand := published(t)
	r := real(t, s, hand, func(ics spec.ICS) wire.Device { return &crashes{oracle.Emulator(ics)} })
	r.Known = &known.List{Name: "known.txt", Entries: []known.Entry{{Line: 1, Pattern: "OVR-*/*", Reason: "issue 1"}}}
	r.Complaints = []known.Complaint{{List: "known.txt", Entry: &r.Known.Entries[0]}}
	v := overrideVector()
	r.Results = append(r.Results, failed(t, v, &runner.Departure{Kind: runner.WrongReply, Expected: &v.Trace[0], Observed: &v.Trace[0]}))
	doc := written(t, r)
	seen := map[string]bool{}
	described(t, schema, schema, "", doc, seen)
	for _, path := range []string{".results.departure.input.expected", ".results.stderr", ".results.known", ".known.complaints.kind", ".families.pass"} {
		assert.True(t, seen[path], path)
	}

	validator := compiledSchema(t)
	for name, change := range map[string]func(doc map[string]any){
		"another format":            func(doc map[string]any) { doc["format"] = 2 },
		"no tool":                   func(doc map[string]any) { delete(doc, "tool") },
		"the credential":            func(doc map[string]any) { doc["ics"].(map[string]any)["credential"] = "246810" },
		"no checksum":               func(doc map[string]any) { doc["vectors"].(map[string]any)["sha256"] = "" },
		"a local time":              func(doc map[string]any) { doc["when"] = "2026-06-10T12:00:00+01:00" },
		"no time":                   func(doc map[string]any) { doc["when"] = "noonZ" },
		"a failure without reason":  func(doc map[string]any) { delete(first(doc, "fail"), "departure") },
		"a pass with a departure":   func(doc map[string]any) { first(doc, "pass")["departure"] = first(doc, "fail")["departure"] },
		"a known pass":              func(doc map[string]any) { first(doc, "pass")["known"] = "x" },
		"inconclusive without why":  func(doc map[string]any) { delete(first(doc, "inconclusive"), "why") },
		"a verdict that is none":    func(doc map[string]any) { first(doc, "pass")["verdict"] = "passed" },
		"a clause that is none":     func(doc map[string]any) { first(doc, "pass")["clauses"] = []any{"clause 1"} },
		"counts that are less":      func(doc map[string]any) { doc["counts"].(map[string]any)["fail"] = -1 },
		"a family without counts":   func(doc map[string]any) { delete(doc["families"].([]any)[0].(map[string]any), "pass") },
		"a departure without words": func(doc map[string]any) { first(doc, "fail")["departure"].(map[string]any)["text"] = "" },
	} {
		doc := written(t, r)
		change(doc)
		assert.Error(t, validator.Validate(doc), name)
	}
}

// first returns the first result with a verdict.
func first(doc map[string]any, verdict string) map[string]any {
	for _, result := range doc["results"].([]any) {
		if r := result.(map[string]any); r["verdict"] == verdict {
			return r
		}
	}
	panic(verdict)
}

// described fails the test if the schema says nothing of a field.
func described(t *testing.T, root, schema map[string]any, path string, value any, seen map[string]bool) {
	seen[path] = true
	var properties []map[string]any
	var items map[string]any
	for s := schema; s != nil; {
		if p, ok := s["properties"].(map[string]any); ok {
			properties = append(properties, p)
		}
		if i, ok := s["items"].(map[string]any); ok {
			items = i
		}
		if p, ok := s["additionalProperties"].(map[string]any); ok && value != nil {
			open := map[string]any{}
			for name := range value.(map[string]any) {
				open[name] = p
			}
			properties = append(properties, open)
		}
		ref, ok := s["$ref"].(string)
		if !ok {
			break
		}
		s = root["$defs"].(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
	}
	switch value := value.(type) {
	case map[string]any:
		for name, v := range value {
			found := false
			for _, p := range properties {
				if s, ok := p[name].(map[string]any); ok && !found {
					found = true
					described(t, root, s, path+"."+name, v, seen)
				}
			}
			assert.True(t, found, "the schema says nothing of %s.%s", path, name)
		}
	case []any:
		for _, v := range value {
			described(t, root, items, path, v, seen)
		}
	}
}
