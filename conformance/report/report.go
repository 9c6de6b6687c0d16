// Package report tells what came of putting vectors to an implementation: to a person as text and as a page, and to machines as JSON, TAP
// and JUnit XML.
package report

import (
	"cmp"
	"regexp"
	"slices"
	"time"

	"example.org/hearthbench/conformance/known"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/emulator/spec"
)

// Report is one run: what was tested, with which vectors, when, and what came of it. A run draws no random numbers: the same unit and the
// same vectors give the same report, but for when it was made and how long it took.
type Report struct {
	IUT         string // what was tested, in the words of the command
	Description string // what the unit or its link says of itself; "" if that is no more than IUT says
	ICS         spec.ICS
	Page        *suite.Page
	Source      string // where the vectors are from: a path, or "" for the published set
	Checksum    string // of the published vectors, or of what was read from the path
	Tool        string // the version of the program that made the report
	When        time.Time
	Took        time.Duration
	// Planned is how many vectors were to be put to the unit: more than there are results if the run was interrupted. 0 stands for
	// as many.
	Planned int
	Results []*runner.Result
	// Known lists the failures that are known, nil if there is no such list; Complaints says what is wrong with it.
	Known      *known.List
	Complaints []known.Complaint
}

// complete reports whether every vector that was planned has a result.
func (r *Report) complete() bool { return len(r.Results) >= r.Planned }

var statedCredential = regexp.MustCompile(`\bcredential=[0-9]*`)

// Name returns what was tested, without a credential that it may state.
func (r *Report) Name() string { return withoutCredential(r.IUT) }

func withoutCredential(text string) string {
	return statedCredential.ReplaceAllString(text, "credential=…")
}

// Counts is how often each verdict was given.
type Counts struct {
	Pass            int `json:"pass"`
	WithinTolerance int `json:"withinTolerance"` // of the passes
	Fail            int `json:"fail"`
	Inconclusive    int `json:"inconclusive"`
	NotApplicable   int `json:"notApplicable"`
	Known           int `json:"known"` // of the failures and the inconclusive
}

// new is how many vectors did not pass that are not known to.
func (c *Counts) new() int { return c.Fail + c.Inconclusive - c.Known }

func (c *Counts) add(r *runner.Result, known bool) {
	if known {
		c.Known++
	}
	switch r.Verdict {
	case runner.Pass:
		c.Pass++
		if !r.Exact {
			c.WithinTolerance++
		}
	case runner.Fail:
		c.Fail++
	case runner.Inconclusive:
		c.Inconclusive++
	case runner.NotApplicable:
		c.NotApplicable++
	}
}

// Counts counts the verdicts.
func (r *Report) Counts() (c Counts) {
	for _, result := range r.Results {
		c.add(result, r.known(result))
	}
	return c
}

// Conformant reports whether the unit passed every vector that its ICS calls for, and there was one. After an interrupted run it did
// not.
func (r *Report) Conformant() bool {
	c := r.Counts()
	return r.complete() && c.Pass > 0 && c.Fail == 0 && c.Inconclusive == 0
}

// Holds reports whether a run answers that all is as it should be: the unit conforms but for failures that are known, and none of those
// that are listed passes.
func (r *Report) Holds() bool {
	c := r.Counts()
	return r.complete() && c.Pass+c.Known > 0 && c.new() == 0 && r.stale() == 0
}

// stale is how many entries of the list of known failures have come to pass.
func (r *Report) stale() (n int) {
	for i := range r.Complaints {
		if r.Complaints[i].Kind == known.Passes {
			n++
		}
	}
	return n
}

// known reports whether a vector did not pass, as the list of known failures has it.
func (r *Report) known(result *runner.Result) bool { return r.Known.Excuse(result) != nil }

// IsNew reports whether a vector did not pass that is not known to fail.
func (r *Report) IsNew(result *runner.Result) bool {
	return (result.Verdict == runner.Fail || result.Verdict == runner.Inconclusive) && !r.known(result)
}

// familyOf returns the family in which a result counts: that of the vector's first clause, or the generated ones'.
func familyOf(r *runner.Result) string { return r.Vector.Family() }

// byFamily counts the verdicts in each family that has any, in the page's order, and last those of the generated vectors.
func (r *Report) byFamily() (families []suite.Family, counts []Counts) {
	for _, f := range append(slices.Clone(r.Page.Families), suite.Family{ID: suite.Generated, Name: "generated"}) {
		var c Counts
		for _, result := range r.Results {
			if familyOf(result) == f.ID {
				c.add(result, r.known(result))
			}
		}
		if c != (Counts{}) {
			families, counts = append(families, f), append(counts, c)
		}
	}
	return families, counts
}

// FailingFamilies returns the families in which a vector that is not known to fail failed or was inconclusive, in the page's order.
func (r *Report) FailingFamilies() []string {
	var ids []string
	families, counts := r.byFamily()
	for i, c := range counts {
		if c.new() > 0 {
			ids = append(ids, families[i].ID)
		}
	}
	return ids
}

// Broken is a clause with the vectors that list it.
type Broken struct {
	Clause     string `json:"clause"`
	Failed     int    `json:"failed"`
	Applicable int    `json:"applicable"` // of those that the unit's ICS calls for
}

// maxBroken is how many clauses MostBroken names: enough to see a mistake behind hundreds of failures.
const maxBroken = 5

// MostBroken returns the clauses most likely broken, the likeliest first. With no failure there are none.
//
// A clause is suspect by the share of its vectors that failed and by its share of all failures: the order is that of the
// geometric mean of the two, which in the localisation of faults from test results is Ochiai's coefficient (Abreu, Zoeteweij and van Gemund,
// 'On the Accuracy of Spectrum-based Fault Localization', TAICPART 2007; from memory). How well it leads is measured: see package kill.
//
// Generated vectors list whatever their inputs bear on, so they count only where no other vector failed. A failure that is known counts
// neither way: it would point at what everybody knows.
func (r *Report) MostBroken() []Broken {
	onlyGenerated := !slices.ContainsFunc(r.Results, func(result *runner.Result) bool {
		return result.Verdict == runner.Fail && !result.Vector.IsGenerated() && !r.known(result)
	})
	count := map[string]*Broken{}
	for _, result := range r.Results {
		if result.Verdict == runner.NotApplicable || result.Vector.IsGenerated() && !onlyGenerated || r.known(result) {
			continue
		}
		for _, id := range result.Vector.Clauses {
			b := count[id]
			if b == nil {
				b = &Broken{Clause: id}
				count[id] = b
			}
			b.Applicable++
			if result.Verdict == runner.Fail {
				b.Failed++
			}
		}
	}
	list := []Broken{}
	for _, f := range r.Page.Families {
		for _, c := range f.Clauses {
			if b := count[c.ID]; b != nil && b.Failed > 0 {
				list = append(list, *b)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Broken) int {
		// failed/√(applicable × all failures), squared and without what all have in common
		return cmp.Compare(b.Failed*b.Failed*a.Applicable, a.Failed*a.Failed*b.Applicable)
	})
	return list[:min(len(list), maxBroken)]
}

// clauses returns the clauses to show for a failure: the vector's own, then what else the departure touches: the one that settles the
// expected level, and the one on order.
func clauses(page *suite.Page, r *runner.Result) []*suite.Clause {
	ids := slices.Clone(r.Vector.Clauses)
	if d := r.Departure; d != nil {
		if d.Kind == runner.WrongOrder {
			ids = append(ids, orderClause)
		}
		if d.Expected != nil {
			ids = append(ids, d.Expected.By.String())
		}
	}
	var list []*suite.Clause
	for i, id := range ids {
		if c := page.Clause(id); c != nil && !slices.Contains(ids[:i], id) {
			list = append(list, c)
		}
	}
	return list
}

const orderClause = "OUT-3"
