package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEmulateExitStatus(t *testing.T) {
	t.Setenv("COLUMNS", "")
	folder := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(folder, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	const head = "title: x\nstart: 2026-01-14 05:00\nuntil: +04:00:00\n"
	const step = "steps:\n- {at: +01:00:00, do: override ch, expect: %}\n"
	good := write("good.yaml", head+strings.ReplaceAll(step, "%", "accepted"))
	unmet := write("unmet.yaml", head+strings.ReplaceAll(step, "%", "refused"))
	bad := write("bad.yaml", head+"steps:\n- {at: +01:00:00, do: overide ch}\n")
	for _, c := range []struct {
		args           []string
		status         int
		stdout, stderr string
	}{
		{[]string{good}, holds, "override to 1 (OVR-1)", ""},
		{[]string{"--format", "json", good}, holds, `"clause": "OVR-1"`, ""},
		{[]string{unmet}, doesNotHold, "expects refused, and was accepted", ""},
		{[]string{"--format", "json", unmet}, doesNotHold, `"holds": false`, ""},
		{[]string{bad}, couldNotRun, "", bad + ":5:23: unknown input 'overide'; is override meant?"},
		{[]string{filepath.Join(folder, "none.yaml")}, couldNotRun, "", "none.yaml"},
		{[]string{folder}, couldNotRun, "", "reading the scenario"},
		{[]string{"--format", "xml", good}, couldNotRun, "", "--format xml: it is table, json or vcd"},
		{[]string{}, couldNotRun, "", "accepts 1 arg(s)"},
	} {
		var stdout, stderr bytes.Buffer
		assert.Equal(t, c.status, run(context.Background(), append([]string{"emulate"}, c.args...), &stdout, &stderr), c.args)
		assert.Contains(t, stdout.String(), c.stdout)
		assert.Contains(t, stderr.String(), c.stderr)
		if c.stderr == "" {
			assert.Empty(t, stderr.String())
		} else {
			assert.Empty(t, stdout.String())
		}
	}
}

func TestEmulateReadsStandardInput(t *testing.T) {
	t.Setenv("COLUMNS", "61")
	c := newEmulate()
	var stdout bytes.Buffer
	c.SetIn(strings.NewReader("title: from a pipe\nstart: 2026-01-14 05:00\nuntil: +24:00:00\n"))
	c.SetOut(&stdout)
	c.SetArgs([]string{"-"})
	require.NoError(t, c.Execute())
	assert.Contains(t, stdout.String(), "from a pipe")
	assert.Contains(t, stdout.String(), "a column is 30 min") // 1441 min are 49 columns, which is what 61 leave
}

func TestEmulateSaysWhereStandardInputIsWrong(t *testing.T) {
	c := newEmulate()
	c.SetIn(strings.NewReader("titel: x\n"))
	c.SetOut(&bytes.Buffer{})
	c.SilenceUsage, c.SilenceErrors = true, true
	c.SetArgs([]string{"-"})
	require.ErrorContains(t, c.Execute(), "standard input:1:1: unknown key 'titel'; is title meant?")
}
