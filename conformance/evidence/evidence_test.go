package evidence_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/evidence"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/vectors"
)

// testsIn returns the tests of a folder, by name, with their comments.
func testsIn(t *testing.T, folder string) map[string]string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("../..", filepath.FromSlash(folder), "*_test.go"))
	require.NoError(t, err)
	tests := map[string]string{}
	for _, file := range files {
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ParseComments|parser.SkipObjectResolution)
		require.NoError(t, err)
		for _, d := range parsed.Decls {
			if f, ok := d.(*ast.FuncDecl); ok && f.Recv == nil && strings.HasPrefix(f.Name.Name, "Test") {
				tests[f.Name.Name] = f.Doc.Text()
			}
		}
	}
	return tests
}

// The table and the tests are of one mind: every check has its test, every test of this package but this one its check, and every clause
// is in BEHAVIOUR.md.
func TestChecksAndTestsMatch(t *testing.T) {
	text, err := fs.ReadFile(vectors.Files, "BEHAVIOUR.md")
	require.NoError(t, err)
	page, err := suite.ReadPage(string(text))
	require.NoError(t, err)

	const here = "conformance/evidence"
	folders := map[string]map[string]string{here: testsIn(t, here)}
	listed := map[string]bool{}
	for _, c := range evidence.Checks {
		name := c.Package + "." + c.Test
		assert.False(t, listed[name], "%s stands twice", name)
		listed[name] = true
		assert.NotEmpty(t, c.What, name)
		assert.NotEmpty(t, c.Against, name)
		if folders[c.Package] == nil {
			folders[c.Package] = testsIn(t, c.Package)
		}
		comment, ok := folders[c.Package][c.Test]
		assert.True(t, ok, "there is no %s", name)
		// The label of a weak source stands at the test as well, where readers look first.
		for _, label := range []string{evidence.CommonPractice, "from memory"} {
			if c.Package == here && strings.Contains(c.Against, label) {
				assert.Contains(t, strings.ToLower(comment), label, name)
			}
		}
		seen := map[string]bool{}
		for _, id := range c.Clauses {
			assert.NotNil(t, page.Clause(id), "%s: there is no clause %s", name, id)
			assert.False(t, seen[id], "%s: clause %s stands twice", name, id)
			seen[id] = true
		}
	}
	for test := range folders[here] {
		assert.True(t, listed[here+"."+test] || test == "TestChecksAndTestsMatch", "%s is missing in Checks", test)
	}
}
