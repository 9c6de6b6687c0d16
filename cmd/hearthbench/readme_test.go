package main

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// readmeBlock returns the indented lines that follow a mark in the README, without their indent.
func readmeBlock(t *testing.T, mark, indent string) string {
	t.Helper()
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	_, rest, found := strings.Cut(string(text), "<!-- "+mark+" -->\n")
	require.True(t, found, mark)
	var lines []string
	for _, line := range strings.Split(rest, "\n") {
		if line != "" && !strings.HasPrefix(line, indent) {
			break
		}
		lines = append(lines, strings.TrimPrefix(line, indent))
	}
	return strings.TrimSpace(strings.Join(lines, "\n"))
}

// What the README shows is what the program prints.
func TestReadmeShowsRealOutput(t *testing.T) {
	tidy := func(text string) string {
		lines := strings.Split(text, "\n")
		for i := range lines {
			lines[i] = strings.TrimRight(lines[i], " ")
		}
		return strings.TrimSpace(strings.Join(lines, "\n"))
	}
	t.Run("emulate", func(t *testing.T) {
		t.Setenv("COLUMNS", "96")
		status, stdout, stderr := hearthbench(t, "emulate", "../../testdata/scenarios/gravity.yaml")
		require.Equal(t, holds, status, stderr)
		require.Equal(t, tidy(stdout), readmeBlock(t, "emulate", "    "))
	})
	t.Run("replay", func(t *testing.T) {
		status, stdout, stderr := hearthbench(t, "replay", "../../testdata/complaints/off-at-four.yaml", "--width", "100")
		require.Equal(t, holds, status, stderr)
		_, causes, found := strings.Cut(stdout, "\nCAUSES")
		require.True(t, found)
		causes, _, _ = strings.Cut("CAUSES"+causes, "\n\nThis models")
		require.Equal(t, tidy(causes), readmeBlock(t, "replay", "    "))
	})
	t.Run("failure", func(t *testing.T) {
		unit := buildSample(t, "-DBUG_OVERRIDE_ENDS_AT_MIDNIGHT")
		status, stdout, stderr := hearthbench(t, "check", "--iut", "exec:"+unit, "--only", "OVR-1/last-second-of-the-day")
		require.Equal(t, doesNotHold, status, stderr)
		failure, _, _ := strings.Cut(stdout, "\nfamily")
		require.Equal(t, tidy(failure), readmeBlock(t, "failure", "        "))
	})
}
