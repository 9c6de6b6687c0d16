package kill_test

import (
	"context"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/faults"
	"example.org/hearthbench/conformance/kill"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/vectors"
)

// What is published of the matrix is what the matrix is; every fault is caught; the report leads to nearly all; each clause has a fault of
// its family that a vector which lists it catches, so that no clause's rule can go missing unseen; and no vector repeats another without a
// reason.
func TestPublishedMatrix(t *testing.T) {
	if testing.Short() {
		t.Skip("puts every fault to every vector")
	}
	set, err := suite.Load(vectors.Files)
	require.NoError(t, err)
	m, err := kill.Compute(context.Background(), set, slices.Concat(faults.Catalogue(), faults.Doubles()), func(int) {})
	require.NoError(t, err)
	for _, f := range m.Uncaught() {
		t.Errorf("no vector catches %s: %s", f.ID, f.Words)
	}
	totals := m.Totals()
	require.GreaterOrEqual(t, totals.Faults, 150)
	require.GreaterOrEqual(t, totals.Leads*100, totals.Caught*95, totals.String())

	for _, group := range m.Twins() {
		for _, v := range group[1:] {
			if v.Kept == "" {
				t.Errorf("%s lists the clauses and catches the faults that %s does: say in 'kept' why it stays, or take it out", v.ID, group[0].ID)
			}
		}
	}

	guarded := map[string]bool{}
	for i := range m.Rows {
		row := &m.Rows[i]
		for _, v := range row.By {
			for _, id := range v.Clauses {
				if suite.FamilyOf(id) == row.Fault.Family {
					guarded[id] = true
				}
			}
		}
	}
	for _, f := range set.Page.Families {
		for _, c := range f.Clauses {
			if !guarded[c.ID] {
				t.Errorf("no fault of family %s is caught by a vector that lists %s", f.ID, c.ID)
			}
		}
	}

	for name, text := range map[string]string{kill.KillsFile: m.KillsPage(), kill.TraceFile: m.TracePage()} {
		published, err := fs.ReadFile(vectors.Files, name)
		require.NoError(t, err)
		if string(published) != text {
			have, want := strings.Split(string(published), "\n"), strings.Split(text, "\n")
			i := 0
			for i < min(len(have), len(want)) && have[i] == want[i] {
				i++
			}
			t.Errorf("%s is not what the matrix is, from line %d on: 'hearthbench vectors matrix --write vectors' writes it anew", name, i+1)
		}
	}
}

// The matrix can fail: a set without the vectors of a family leaves faults of it uncaught.
func TestMatrixShowsAGap(t *testing.T) {
	set, err := suite.Load(vectors.Files)
	require.NoError(t, err)
	set.Vectors = slices.DeleteFunc(set.Vectors, func(v *suite.Vector) bool {
		return slices.ContainsFunc(v.Clauses, func(id string) bool { return suite.FamilyOf(id) == "LCK" })
	})
	catalogue := slices.DeleteFunc(faults.Catalogue(), func(f faults.Fault) bool { return f.Family != "LCK" })
	m, err := kill.Compute(context.Background(), set, catalogue[:10], func(int) {})
	require.NoError(t, err)
	require.NotEmpty(t, m.Uncaught())
	require.Contains(t, m.KillsPage(), "**none**")
}
