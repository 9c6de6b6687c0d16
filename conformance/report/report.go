// Package report tells what came of putting vectors to an implementation: to a person, and to machines as JSON, TAP and
// JUnit XML.
package report

import (
	"cmp"
	"regexp"
	"slices"
	"time"

	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/emulator/spec"
)

// Report is one run: what was tested, with which vectors, when, and what came of it.
type Report struct {
	IUT      string
	ICS      spec.ICS
	Page     *suite.Page
	Checksum string // of the published vectors
	When     time.Time
	// Planned is how many vectors were to be put to the unit: more than there are results if the run was interrupted. 0 stands for
	// as many.
	Planned int
	Results []*runner.Result
}

// complete reports whether every vector that was planned has a result.
func (r *Report) complete() bool { return len(r.Results) >= r.Planned }

var statedCredential = regexp.MustCompile(`\bcredential=[0-9]*`)

// target returns what was tested, without a credential that its name may state.
func (r *Report) target() string { return statedCredential.ReplaceAllString(r.IUT, "credential=…") }

// Counts is how often each verdict was given.
type Counts struct {
	Pass            int `json:"pass"`
	WithinTolerance int `json:"withinTolerance"` // of the passes
	Fail            int `json:"fail"`
	Inconclusive    int `json:"inconclusive"`
	NotApplicable   int `json:"notApplicable"`
}

func (c *Counts) add(r *runner.Result) {
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
		c.add(result)
	}
	return c
}

// Conformant reports whether the unit passed every vector that its ICS calls for, and there was one. After an interrupted run it did
// not.
func (r *Report) Conformant() bool {
	c := r.Counts()
	return r.complete() && c.Pass > 0 && c.Fail == 0 && c.Inconclusive == 0
}

// familyOf returns the family in which a result counts: that of the vector's first clause, or the generated ones'.
func familyOf(r *runner.Result) string { return r.Vector.Family() }

// byFamily counts the verdicts in each family that has any, in the page's order, and last those of the generated vectors.
func (r *Report) byFamily() (families []suite.Family, counts []Counts) {
	for _, f := range append(slices.Clone(r.Page.Families), suite.Family{ID: suite.Generated, Name: "generated"}) {
		var c Counts
		for _, result := range r.Results {
			if familyOf(result) == f.ID {
				c.add(result)
			}
		}
		if c != (Counts{}) {
			families, counts = append(families, f), append(counts, c)
		}
	}
	return families, counts
}

// FailingFamilies returns the families in which a vector failed or was inconclusive, in the page's order.
func (r *Report) FailingFamilies() []string {
	var ids []string
	families, counts := r.byFamily()
	for i, c := range counts {
		if c.Fail+c.Inconclusive > 0 {
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
// Generated vectors list whatever their inputs bear on, so they count only where no other vector failed.
func (r *Report) MostBroken() []Broken {
	onlyGenerated := !slices.ContainsFunc(r.Results, func(result *runner.Result) bool {
		return result.Verdict == runner.Fail && !result.Vector.IsGenerated()
	})
	count := map[string]*Broken{}
	for _, result := range r.Results {
		if result.Verdict == runner.NotApplicable || result.Vector.IsGenerated() && !onlyGenerated {
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
