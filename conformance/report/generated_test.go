package report

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
)

// Generated vectors have a row of their own, the last, and are heard on what is broken only where no other vector failed.
func TestGeneratedVectors(t *testing.T) {
	result := func(v runner.Verdict, id string, clauses ...string) *runner.Result {
		return &runner.Result{Vector: &suite.Vector{ID: id, Clauses: clauses}, Verdict: v, Exact: true}
	}
	r := &Report{Page: page(t), Results: []*runner.Result{
		result(runner.Pass, "OVR-1/one", "OVR-1"), result(runner.Fail, "GEN/x-1", "MOD-1", "OVR-2"), result(runner.Pass, "GEN/x-2", "OVR-2"),
		result(runner.NotApplicable, "GEN/x-3", "OVR-2"),
	}}
	var b bytes.Buffer
	r.Summary(&b)
	assert.Contains(t, b.String(), "GEN generated       1       1             0               1\nall                 2       1             0               1\n")
	assert.Equal(t, []string{"GEN"}, r.FailingFamilies())
	assert.Equal(t, []Broken{{"MOD-1", 1, 1}, {"OVR-2", 1, 2}}, r.MostBroken())

	r.Results = append(r.Results, result(runner.Fail, "MOD-2/two", "MOD-2"))
	assert.Equal(t, []Broken{{"MOD-2", 1, 1}}, r.MostBroken())
	assert.Equal(t, []string{"MOD", "GEN"}, r.FailingFamilies())
}
