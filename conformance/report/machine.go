package report

import (
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"time"

	"example.org/hearthbench/conformance/known"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// jsonReport is the report for machines: see report.schema.json, which says what each field is. Field names stay; more may come.
type jsonReport struct {
	Format      int               `json:"format"`
	Tool        jsonTool          `json:"tool"`
	IUT         string            `json:"iut"`
	Description string            `json:"description"`
	ICS         map[string]string `json:"ics"`
	When        string            `json:"when"`
	Seconds     float64           `json:"seconds"`
	Vectors     jsonVectors       `json:"vectors"`
	Complete    bool              `json:"complete"`
	Conformant  bool              `json:"conformant"`
	Holds       bool              `json:"holds"`
	Verdict     string            `json:"verdict"`
	Counts      Counts            `json:"counts"`
	Families    []jsonFamily      `json:"families"`
	MostBroken  []Broken          `json:"mostBroken"`
	Known       *jsonKnown        `json:"known,omitempty"`
	Results     []jsonResult      `json:"results"`
	Safety      string            `json:"safety"`
}

type jsonTool struct {
	Name    string `json:"name"`
	Version string `json:"version"`
}

type jsonVectors struct {
	Source   string `json:"source"`
	Format   int    `json:"format"`
	Protocol int    `json:"protocol"`
	Planned  int    `json:"planned"`
	Count    int    `json:"count"`
	Checksum string `json:"sha256"`
}

type jsonFamily struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Counts
}

type jsonKnown struct {
	File       string          `json:"file"`
	Complaints []jsonComplaint `json:"complaints"`
}

type jsonComplaint struct {
	Line  int    `json:"line"`
	Entry string `json:"entry"`
	Kind  string `json:"kind"`
	Text  string `json:"text"`
}

var complaintKinds = [...]string{known.Passes: "passes", known.NoSuchVector: "no such vector", known.NotApplicable: "not applicable"}

type jsonResult struct {
	ID        string         `json:"id"`
	Clauses   []string       `json:"clauses"`
	Verdict   string         `json:"verdict"`
	Exact     bool           `json:"exact"`
	Known     string         `json:"known,omitempty"`
	Why       string         `json:"why,omitempty"`
	Stderr    []string       `json:"stderr,omitempty"`
	Departure *jsonDeparture `json:"departure,omitempty"`
}

type jsonDeparture struct {
	At       string      `json:"at"`
	Second   uint64      `json:"second"`
	Kind     string      `json:"kind"`
	Text     string      `json:"text"`
	Expected *jsonChange `json:"expected,omitempty"`
	Observed *jsonChange `json:"observed,omitempty"`
	Input    *jsonInput  `json:"input,omitempty"`
}

type jsonChange struct {
	Second uint64 `json:"second"`
	Signal string `json:"signal"`
	Level  any    `json:"level"`
	Clause string `json:"clause,omitempty"`
}

type jsonInput struct {
	Input    string `json:"input"`
	Expected string `json:"expected"`
	Observed string `json:"observed"`
}

var departureKinds = [...]string{
	runner.WrongReply: "wrong reply", runner.WrongStart: "wrong start", runner.Missing: "missing", runner.Unexpected: "unexpected", runner.Late: "late",
	runner.WrongOrder: "wrong order", runner.ClaimMissing: "claim missing",
}

const (
	toolName = "hearthbench"
	// vectorFormat is the format of vector files that package suite reads.
	vectorFormat = 1
)

// safetyNote is what every report ends with.
const safetyNote = "The vectors test time control only: no safety control, no temperature, no wiring."

// JSON writes the report as one JSON object, which follows [Schema].
func (r *Report) JSON(w io.Writer) error {
	c := r.Counts()
	out := jsonReport{
		Format: 1, Tool: jsonTool{toolName, r.Tool}, IUT: r.Name(), Description: withoutCredential(r.Description), ICS: map[string]string{},
		When: r.When.UTC().Format(time.RFC3339), Seconds: float64(r.Took.Round(time.Millisecond).Milliseconds()) / 1000,
		Vectors: jsonVectors{
			Source: r.source(), Format: vectorFormat, Protocol: wire.Version, Planned: max(r.Planned, len(r.Results)), Count: len(r.Results), Checksum: r.Checksum,
		},
		Complete: r.complete(), Conformant: r.Conformant(), Holds: r.Holds(), Verdict: r.verdict(&c), Counts: c,
		Families: []jsonFamily{}, MostBroken: r.MostBroken(), Results: []jsonResult{}, Safety: safetyNote,
	}
	for _, o := range r.options() {
		out.ICS[o.Name] = o.Value
	}
	families, counts := r.byFamily()
	for i, f := range families {
		out.Families = append(out.Families, jsonFamily{ID: f.ID, Name: f.Name, Counts: counts[i]})
	}
	if r.Known != nil {
		out.Known = &jsonKnown{File: r.Known.Name, Complaints: []jsonComplaint{}}
		for i := range r.Complaints {
			c := &r.Complaints[i]
			out.Known.Complaints = append(out.Known.Complaints, jsonComplaint{c.Entry.Line, c.Entry.Pattern, complaintKinds[c.Kind], c.Text()})
		}
	}
	for _, result := range r.Results {
		out.Results = append(out.Results, r.jsonResult(result))
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(out)
}

func (r *Report) jsonResult(result *runner.Result) jsonResult {
	j := jsonResult{
		ID: result.Vector.ID, Clauses: result.Vector.Clauses, Verdict: result.Verdict.String(), Exact: result.Exact, Why: result.Why, Stderr: stderrOf(result),
	}
	if e := r.Known.Excuse(result); e != nil {
		j.Known = e.Reason
	}
	d := result.Departure
	if d == nil {
		return j
	}
	j.Departure = &jsonDeparture{
		At: result.Vector.At(d.At).Format(time.RFC3339), Second: d.At, Kind: departureKinds[d.Kind], Text: Departure(d, result.Bound),
		Expected: jsonOf(d.Expected), Observed: jsonOf(d.Observed),
	}
	if d.Kind == runner.WrongReply || d.Kind == runner.ClaimMissing {
		j.Departure.Input = &jsonInput{inputText(result.Bound, d.Step), wire.OutcomeWord(result.Bound.Steps[d.Step].Want), wire.OutcomeWord(d.Reply)}
	}
	return j
}

func jsonOf(c *spec.Change) *jsonChange {
	if c == nil {
		return nil
	}
	j := &jsonChange{Second: c.At, Signal: wire.SignalWord(c.Signal), Level: int(c.Level), Clause: c.By.String()}
	if c.Signal == spec.SigAlert {
		j.Level = wire.LevelWord(c.Signal, c.Level)
	}
	return j
}

// stderrOf returns the last lines that the unit wrote for people before the trouble that made a vector inconclusive.
func stderrOf(r *runner.Result) []string {
	if r.Trouble == nil {
		return nil
	}
	return r.Trouble.Ending.Stderr
}

// source says where the vectors are from.
func (r *Report) source() string {
	if r.Source == "" {
		return "published"
	}
	return r.Source
}

// option is one line of the conformance statement.
type option struct{ Name, Value string }

// options returns every option of the conformance statement but the credential, which no reader of a report needs.
func (r *Report) options() []option {
	var list []option
	for _, line := range strings.Split(strings.TrimSpace(string(wire.AppendICS(nil, r.ICS))), "\n") {
		words := strings.SplitN(line, " ", 3)
		if words[1] != "credential" {
			list = append(list, option{words[1], words[2]})
		}
	}
	return list
}

// TAP writes the report in the Test Anything Protocol, version 13. A vector that does not apply is a skip; one that is
// inconclusive is not ok; one that is known not to pass is not ok and to do, which readers do not count against the run. Each entry of the
// list of known failures that has come to pass has a line of its own after those of the vectors, and is not ok. An interrupted run bails out.
func (r *Report) TAP(w io.Writer) error {
	var b strings.Builder
	vectors := max(r.Planned, len(r.Results))
	fmt.Fprintf(&b, "TAP version 13\n1..%d\n", vectors+r.stale())
	for i, result := range r.Results {
		id := tapText(result.Vector.ID)
		switch result.Verdict {
		case runner.Pass:
			fmt.Fprintf(&b, "ok %d - %s\n", i+1, id)
		case runner.NotApplicable:
			fmt.Fprintf(&b, "ok %d - %s # SKIP not applicable: %s\n", i+1, id, result.Why)
		default:
			todo := ""
			if e := r.Known.Excuse(result); e != nil {
				todo = " # TODO known: " + tapText(e.Reason)
			}
			fmt.Fprintf(&b, "not ok %d - %s%s\n", i+1, id, todo)
			for _, line := range strings.Split(failureText(r.Page, result), "\n") {
				b.WriteString(strings.TrimRight("# "+line, " ") + "\n")
			}
		}
	}
	n := vectors
	for i := range r.Complaints {
		c := &r.Complaints[i]
		if c.Kind != known.Passes {
			fmt.Fprintf(&b, "# %s: %s\n", c.Place(), c.Text())
			continue
		}
		n++
		fmt.Fprintf(&b, "not ok %d - known failures: %s: %s\n", n, tapText(c.Place()), tapText(c.Text()))
	}
	if !r.complete() {
		fmt.Fprintf(&b, "Bail out! %s\n", r.interruption())
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// tapText is a text in which nothing is a directive.
func tapText(text string) string { return strings.ReplaceAll(text, "#", `\#`) }

func failureText(page *suite.Page, r *runner.Result) string {
	var b strings.Builder
	Failure(&b, page, r)
	return strings.TrimRight(b.String(), "\n")
}

type junitSuite struct {
	XMLName  xml.Name    `xml:"testsuite"`
	Name     string      `xml:"name,attr"`
	Tests    int         `xml:"tests,attr"`
	Failures int         `xml:"failures,attr"`
	Errors   int         `xml:"errors,attr"`
	Skipped  int         `xml:"skipped,attr"`
	Time     string      `xml:"time,attr"` // s
	When     string      `xml:"timestamp,attr"`
	Cases    []junitCase `xml:"testcase"`
}

type junitCase struct {
	Class   string        `xml:"classname,attr"`
	Name    string        `xml:"name,attr"`
	Failure *junitMessage `xml:"failure,omitempty"`
	Error   *junitMessage `xml:"error,omitempty"`
	Skipped *junitMessage `xml:"skipped,omitempty"`
}

type junitMessage struct {
	Message string `xml:"message,attr"`
	Text    string `xml:",chardata"`
}

// JUnit writes the report as JUnit XML: a failure is a failure, an inconclusive vector an error, one that does not apply skipped. One that is
// known not to pass is skipped too, with what happened: the format has no word for an expected failure, and this one says neither that it
// passed nor that the run did not. Each entry of the list of known failures that has come to pass is a failure of its own, and the interruption
// of a run an error.
func (r *Report) JUnit(w io.Writer) error {
	s := junitSuite{
		Name: "hearthbench: " + r.Name(), Time: fmt.Sprintf("%.3f", r.Took.Seconds()), When: r.When.UTC().Format("2006-01-02T15:04:05"),
	}
	for _, result := range r.Results {
		j := junitCase{Class: familyOf(result), Name: result.Vector.ID}
		e := r.Known.Excuse(result)
		switch {
		case e != nil:
			s.Skipped++
			j.Skipped = &junitMessage{Message: "known: " + e.Reason, Text: failureText(r.Page, result)}
		case result.Verdict == runner.Fail:
			s.Failures++
			j.Failure = &junitMessage{Message: Departure(result.Departure, result.Bound), Text: failureText(r.Page, result)}
		case result.Verdict == runner.Inconclusive:
			s.Errors++
			j.Error = &junitMessage{Message: result.Why, Text: failureText(r.Page, result)}
		case result.Verdict == runner.NotApplicable:
			s.Skipped++
			j.Skipped = &junitMessage{Message: result.Why}
		}
		s.Cases = append(s.Cases, j)
	}
	for i := range r.Complaints {
		if c := &r.Complaints[i]; c.Kind == known.Passes {
			s.Failures++
			s.Cases = append(s.Cases, junitCase{Class: "known failures", Name: c.Place(), Failure: &junitMessage{Message: c.Text()}})
		}
	}
	if !r.complete() {
		s.Errors++
		s.Cases = append(s.Cases, junitCase{Class: "run", Name: "interrupted", Error: &junitMessage{Message: r.interruption()}})
	}
	s.Tests = len(s.Cases)
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	e := xml.NewEncoder(w)
	e.Indent("", "  ")
	if err := e.Encode(s); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}
