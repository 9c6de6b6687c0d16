package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/joshdk/go-junit"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/known"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/testtool"
)

// listing gives a report a list of known failures.
func listing(t testing.TB, r *Report, lines ...string) *Report {
	t.Helper()
	list, err := known.Parse("known.txt", []byte(strings.Join(lines, "\n")))
	require.NoError(t, err)
	set := []*suite.Vector{}
	for _, result := range r.Results {
		set = append(set, result.Vector)
	}
	r.Known, r.Complaints = list, list.Review(set, r.Results)
	return r
}

const both = "MOD-1/hung # issue 7: hangs\nOVR-2/broken # issue #8"

// A list decides the verdict on the whole. The results are one hang, two passes, a failure and one that does not apply.
func TestVerdictWithKnownFailures(t *testing.T) {
	for _, c := range []struct {
		list    string
		planned int
		holds   bool
		verdict string
	}{
		{"# nothing", 0, false, "not conformant: MOD, OVR"},
		{both, 0, true, "nothing new, but not conformant: 2 known failures"},
		{"*/x # y", 0, false, ""},
		{"MOD-1/hung # 7", 0, false, "not conformant: OVR; besides, 1 known failure"},
		{both + "\nOVR-1/near # 9", 0, false, "nothing new, but not conformant: 2 known failures; what is listed as known in one place now passes"},
		{both + "\nOVR-1/near # 9\nMOD-2/* # 10", 0, false, "nothing new, but not conformant: 2 known failures; what is listed as known in 2 places now passes"},
		{both + "\nLCK-1/no-lock # 9\nLCK-9/none # 10", 0, true, "nothing new, but not conformant: 2 known failures"},
		{both, 9, false, "none: the run ended after 5 of 9 vectors"},
		{"MOD-1/hung # 7", 9, false, "not conformant: OVR; besides, 1 known failure; the run ended after 5 of 9 vectors"},
	} {
		if c.verdict == "" {
			_, err := known.Parse("known.txt", []byte(c.list))
			require.Error(t, err, "a pattern for everything is none")
			continue
		}
		r := listing(t, results(t), c.list)
		r.Planned = c.planned
		counts := r.Counts()
		assert.Equal(t, c.verdict, r.verdict(&counts))
		assert.Equal(t, c.holds, r.Holds(), c.verdict)
		assert.False(t, r.Conformant(), "a known failure is one")
	}
	r := results(t)
	assert.False(t, r.Holds())
	r.Results = r.Results[1:2]
	assert.True(t, r.Holds(), "without a list it is conformance")
	r.Results = nil
	assert.False(t, r.Holds())
}

// Known failures do not lead to a clause, and the summary counts them and has what is wrong with the list.
func TestSummaryWithKnownFailures(t *testing.T) {
	var b strings.Builder
	listing(t, results(t), both, "OVR-1/near # 9", "CLK-1/gone # 10", "LCK-1/no-lock # 11").Summary(&b)
	assert.NotContains(t, b.String(), "most broken")
	assert.Contains(t, b.String(), `
IUT      exec:./unit
vectors  5, checksum 0123456789ab
known    2 failures, not shown: listed in known.txt
         known.txt:3: OVR-1/near now passes: remove it
         known.txt:4: no vector is called CLK-1/gone: remove or mend it; 'hearthbench vectors list' shows them
         known.txt:5: the unit's ICS does not call for LCK-1/no-lock: the entry does nothing for it
verdict  nothing new, but not conformant: 2 known failures; what is listed as known in one place now passes
`)
}

// A known failure is to do, and what is known of it follows; an entry that passes has a line beyond the vectors'.
func TestTAPWithKnownFailures(t *testing.T) {
	var b strings.Builder
	require.NoError(t, listing(t, results(t), both, "OVR-1/near # 9", "CLK-1/gone # 10").TAP(&b))
	var plain []string
	for _, line := range strings.Split(b.String(), "\n") {
		if !strings.HasPrefix(line, "# ") && line != "#" {
			plain = append(plain, line)
		}
	}
	assert.Equal(t, []string{
		"TAP version 13", "1..6", "not ok 1 - MOD-1/hung # TODO known: issue 7: hangs", "ok 2 - MOD-2/good", `not ok 3 - OVR-2/broken # TODO known: issue \#8`, "ok 4 - OVR-1/near",
		"ok 5 - LCK-1/no-lock # SKIP not applicable: needs lock yes", "not ok 6 - known failures: known.txt:3: OVR-1/near now passes: remove it", "",
	}, plain)
	assert.Contains(t, b.String(), "# known.txt:4: no vector is called CLK-1/gone")
}

// Perl's prove passes a run whose failures are known, and not one whose list is out of date.
func TestProveReadsKnownFailures(t *testing.T) {
	prove := testtool.Need(t, "prove", "perl")
	for i, c := range []struct {
		list   string
		passes bool
		says   string
	}{
		{both, true, "Result: PASS"},
		{"MOD-1/hung # 7", false, "Failed test: 3"},
		{both + "\nOVR-1/near # 9", false, "Failed test: 6"},
	} {
		var b bytes.Buffer
		require.NoError(t, listing(t, results(t), c.list).TAP(&b))
		file := filepath.Join(t.TempDir(), fmt.Sprintf("report%d.tap", i))
		require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
		out, err := exec.Command(prove, "--norc", "--verbose", "--exec", "cat", file).CombinedOutput()
		assert.Equal(t, c.passes, err == nil, "%s", out)
		assert.Contains(t, strings.Join(strings.Fields(string(out)), " "), c.says)
	}
}

func TestJUnitWithKnownFailures(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, listing(t, results(t), both, "OVR-1/near # 9", "CLK-1/gone # 10").JUnit(&b))
	suites, err := junit.Ingest(b.Bytes())
	require.NoError(t, err)
	s := suites[0]
	assert.Equal(t, junit.Totals{Tests: 6, Passed: 2, Skipped: 3, Failed: 1}, s.Totals)
	for name, want := range map[string]string{"tests": "6", "failures": "1", "errors": "0", "skipped": "3"} {
		assert.Equal(t, want, s.Properties[name], name)
	}
	assert.Equal(t, "known: issue 7: hangs", s.Tests[0].Message)
	assert.Equal(t, junit.StatusSkipped, s.Tests[2].Status)
	assert.Contains(t, b.String(), "The heating relay should close by MOD-2; it did not.", "what happened is told still")
	assert.Equal(t, []string{"known failures", "known.txt:3", "OVR-1/near now passes: remove it"}, []string{s.Tests[5].Classname, s.Tests[5].Name, s.Tests[5].Message})
}

// In JSON each known failure has its reason, and the list's file and complaints stand at the top.
func TestJSONWithKnownFailures(t *testing.T) {
	doc := written(t, listing(t, results(t), both, "OVR-1/near # 9"))
	assert.Equal(t, "issue 7: hangs", first(doc, runner.Inconclusive.String())["known"])
	assert.NotContains(t, first(doc, runner.Pass.String()), "known")
	assert.Equal(t, map[string]any{"file": "known.txt", "complaints": []any{
		map[string]any{"line": json.Number("3"), "entry": "OVR-1/near", "kind": "passes", "text": "OVR-1/near now passes: remove it"},
	}}, doc["known"])
	assert.Equal(t, false, doc["holds"])
	assert.Equal(t, json.Number("2"), doc["counts"].(map[string]any)["known"])
	assert.Equal(t, true, written(t, listing(t, results(t), both))["holds"])
}
