package report

import (
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"time"

	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
)

type jsonReport struct {
	Format     int               `json:"format"`
	IUT        string            `json:"iut"`
	ICS        map[string]string `json:"ics"`
	When       string            `json:"when"`
	Vectors    jsonVectors       `json:"vectors"`
	Complete   bool              `json:"complete"`
	Conformant bool              `json:"conformant"`
	Verdict    string            `json:"verdict"`
	Counts     Counts            `json:"counts"`
	Families   []jsonFamily      `json:"families"`
	MostBroken []Broken          `json:"mostBroken"`
	Results    []jsonResult      `json:"results"`
}

type jsonVectors struct {
	Count    int    `json:"count"`
	Checksum string `json:"sha256"`
}

type jsonFamily struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Counts
}

type jsonResult struct {
	ID        string         `json:"id"`
	Clauses   []string       `json:"clauses"`
	Verdict   string         `json:"verdict"`
	Exact     bool           `json:"exact"`
	Why       string         `json:"why,omitempty"`
	Departure *jsonDeparture `json:"departure,omitempty"`
}

type jsonDeparture struct {
	At   string `json:"at"`
	Text string `json:"text"`
}

// JSON writes the report as one JSON object.
func (r *Report) JSON(w io.Writer) error {
	c := r.Counts()
	out := jsonReport{
		Format: 1, IUT: r.target(), ICS: map[string]string{}, When: r.When.UTC().Format(time.RFC3339),
		Vectors:  jsonVectors{Count: len(r.Results), Checksum: r.Checksum},
		Complete: r.complete(), Conformant: r.Conformant(), Verdict: r.verdict(&c), Counts: c,
		Families: []jsonFamily{}, MostBroken: r.MostBroken(), Results: []jsonResult{},
	}
	// Whoever reads a report needs no credential of the unit.
	for _, line := range strings.Split(strings.TrimSpace(string(wire.AppendICS(nil, r.ICS))), "\n") {
		words := strings.SplitN(line, " ", 3)
		if words[1] != "credential" {
			out.ICS[words[1]] = words[2]
		}
	}
	families, counts := r.byFamily()
	for i, f := range families {
		out.Families = append(out.Families, jsonFamily{ID: f.ID, Name: f.Name, Counts: counts[i]})
	}
	for _, result := range r.Results {
		j := jsonResult{ID: result.Vector.ID, Clauses: result.Vector.Clauses, Verdict: result.Verdict.String(), Exact: result.Exact, Why: result.Why}
		if d := result.Departure; d != nil {
			j.Departure = &jsonDeparture{At: result.Vector.At(d.At).Format(time.RFC3339), Text: Departure(d, result.Bound)}
		}
		out.Results = append(out.Results, j)
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(out)
}

// TAP writes the report in the Test Anything Protocol, version 13. A vector that does not apply is a skip; one that is
// inconclusive is not ok. An interrupted run bails out.
func (r *Report) TAP(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "TAP version 13\n1..%d\n", max(r.Planned, len(r.Results)))
	for i, result := range r.Results {
		id := strings.ReplaceAll(result.Vector.ID, "#", `\#`)
		switch result.Verdict {
		case runner.Pass:
			fmt.Fprintf(&b, "ok %d - %s\n", i+1, id)
		case runner.NotApplicable:
			fmt.Fprintf(&b, "ok %d - %s # SKIP not applicable: %s\n", i+1, id, result.Why)
		default:
			fmt.Fprintf(&b, "not ok %d - %s\n", i+1, id)
			for _, line := range strings.Split(failureText(r.Page, result), "\n") {
				b.WriteString(strings.TrimRight("# "+line, " ") + "\n")
			}
		}
	}
	if !r.complete() {
		fmt.Fprintf(&b, "Bail out! %s\n", r.interruption())
	}
	_, err := io.WriteString(w, b.String())
	return err
}

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

// JUnit writes the report as JUnit XML: a failure is a failure, an inconclusive vector an error, one that does not apply skipped. The
// interruption of a run is an error too.
func (r *Report) JUnit(w io.Writer) error {
	c := r.Counts()
	s := junitSuite{
		Name: "hearthbench: " + r.target(), Tests: len(r.Results), Failures: c.Fail, Errors: c.Inconclusive, Skipped: c.NotApplicable,
		When: r.When.UTC().Format("2006-01-02T15:04:05"),
	}
	for _, result := range r.Results {
		j := junitCase{Class: familyOf(result), Name: result.Vector.ID}
		switch result.Verdict {
		case runner.Fail:
			j.Failure = &junitMessage{Message: Departure(result.Departure, result.Bound), Text: failureText(r.Page, result)}
		case runner.Inconclusive:
			j.Error = &junitMessage{Message: result.Why, Text: failureText(r.Page, result)}
		case runner.NotApplicable:
			j.Skipped = &junitMessage{Message: result.Why}
		}
		s.Cases = append(s.Cases, j)
	}
	if !r.complete() {
		s.Tests, s.Errors = s.Tests+1, s.Errors+1
		s.Cases = append(s.Cases, junitCase{Class: "run", Name: "interrupted", Error: &junitMessage{Message: r.interruption()}})
	}
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
