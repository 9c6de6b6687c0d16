package verify

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/vectors"
)

// Generated vectors count for no clause, and stand in the index as numbers.
func TestGeneratedVectorsAreCountedApart(t *testing.T) {
	const text = `{"format": 1, "family": "GEN", "about": ["What it is.", "More."], "vectors": [
{"id":"GEN/some-1","clauses":["RST-7"],"purpose":"Something to try.","catches":"Something to catch.","start":"2026-01-14T05:00:00+00:00","until":"2026-01-14T05:00:00+00:00","trace":[]},
{"id":"GEN/some-2","clauses":["RST-7"],"purpose":"Something to try.","catches":"Something to catch.","start":"2026-01-14T05:00:00+00:00","until":"2026-01-14T05:00:00+00:00","trace":[]}
]}`
	require.NoError(t, Schema(vectors.Files, "some.json", []byte(text)))
	s, err := suite.New(vectors.Files)
	require.NoError(t, err)
	require.NoError(t, s.Add("some.json", []byte(text)))
	var words []string
	for _, err := range Coverage(s) {
		words = append(words, err.Error())
	}
	assert.Contains(t, words, "clause RST-7 is listed by 0 vectors; each needs 3")
	index := IndexText(s)
	assert.True(t, strings.HasSuffix(index, "\n## GEN: generated\n\nVectors in each file of `generated`, whose head says more.\n\n- `some.json`, 2: What it is.\n"), index)
	assert.NotContains(t, index, "GEN/some")
	for _, c := range [...]struct{ old, new, want string }{
		{`"GEN/some-1"`, `"GEN/some"`, "does not match pattern"},
		{`"What it is."`, `""`, "minLength"},
	} {
		assert.ErrorContains(t, Schema(vectors.Files, "some.json", []byte(strings.Replace(text, c.old, c.new, 1))), c.want)
	}
}

// A generated file is checked and sealed as a hand-derived one is.
func TestGeneratedFilesAreSealed(t *testing.T) {
	files := published(t)
	const name = "generated/lock.json"
	files[name] = &fstest.MapFile{Data: []byte(strings.Replace(string(files[name].Data), `"purpose"`, `"porpoise"`, 1))}
	errs := Files(files)
	require.Len(t, errs, 2, "the schema and the checksum")
	assert.ErrorContains(t, errs[0], name+": vector 1 (GEN/lock-1)")
	assert.ErrorContains(t, errs[1], name)
}
