package suite

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/vectors"
)

const generatedFile = `{"format": 1, "family": "GEN", "about": ["One.", "Two."], "vectors": [
{"id":"GEN/a-b-1","clauses":["MOD-2","OVR-1"],"purpose":"p","catches":"c","start":"2026-01-14T05:00:00+00:00","until":"2026-01-14T05:00:00+00:00","trace":[]}
]}
`

// A generated vector's id names no clause, so its family is not that of its first.
func TestGeneratedVectors(t *testing.T) {
	behaviour, err := vectors.Files.ReadFile("BEHAVIOUR.md")
	require.NoError(t, err)
	s, err := Load(fstest.MapFS{
		"BEHAVIOUR.md": {Data: behaviour}, "generated/a-b.json": {Data: []byte(generatedFile)}, "hand/ovr.json": {Data: []byte(goodFile)},
	})
	require.NoError(t, err)
	require.Len(t, s.Vectors, 2)
	hand, v := s.Vectors[0], s.Vectors[1]
	assert.Equal(t, "OVR", hand.Family())
	assert.False(t, hand.IsGenerated())
	assert.Nil(t, hand.About)
	assert.Equal(t, "GEN/a-b-1", v.ID, "the hand-derived ones come first")
	assert.True(t, v.IsGenerated())
	assert.Equal(t, Generated, v.Family())
	assert.Equal(t, []string{"One.", "Two."}, v.About)
	assert.Equal(t, "a-b.json", v.File)

	_, err = Load(fstest.MapFS{
		"BEHAVIOUR.md": {Data: behaviour}, "generated/bst.json": {Data: []byte(`{"format": 1, "family": "GEN", "vectors": [` + handDerived + `]}`)},
		"hand/ovr.json": {Data: []byte(goodFile)},
	})
	require.ErrorContains(t, err, `it belongs in the file of family OVR; this file's family is "GEN"`)
}

const handDerived = `{"id":"OVR-2/x","clauses":["OVR-2"],"purpose":"p","catches":"c","start":"2026-01-14T05:00:00+00:00","until":"2026-01-14T05:00:00+00:00","trace":[]}`
