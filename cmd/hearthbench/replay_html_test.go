package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
)

// The page is the whole of what is written: it begins and ends as a page does, with safety before the causes.
func TestReplayAsAPage(t *testing.T) {
	out, err := replayVerb(t, "", "--format", "html", "../../testdata/complaints/only-hot-water.yaml")
	require.NoError(t, err, "a cause is named")
	assert.True(t, strings.HasPrefix(out, "<!DOCTYPE html>\n"))
	assert.True(t, strings.HasSuffix(out, "</html>\n"))
	safety, causes := strings.Index(out, `<h2 id="safety">`), strings.Index(out, "the heating valve is stuck open")
	assert.True(t, 0 < safety && safety < causes, "%d %d", safety, causes)
	assert.NotContains(t, out, "../../testdata", "only the file's name")
}

// Without a diagnosis there is a page all the same.
func TestReplayAsAPageWithoutADiagnosis(t *testing.T) {
	c, err := complaint.Parse("f.yaml", []byte(quietHouse))
	require.NoError(t, err)
	r, err := replay.NewReport(c)
	require.NoError(t, err)
	var b strings.Builder
	require.NoError(t, writeAccountPage(&b, &account{Replay: r}, 0))
	assert.Contains(t, b.String(), "No causes were looked for")
}
