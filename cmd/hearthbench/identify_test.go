package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/identify"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// identified runs the verb by itself.
func identified(t *testing.T, in string, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	c := newIdentify()
	c.SilenceUsage, c.SilenceErrors = true, true
	c.SetArgs(args)
	c.SetIn(strings.NewReader(in))
	c.SetOut(&out)
	c.SetErr(&errs)
	err := c.ExecuteContext(t.Context())
	switch {
	case err == nil:
		return holds, out.String(), errs.String()
	case errors.Is(err, errDoesNotHold):
		return doesNotHold, out.String(), errs.String()
	default:
		fmt.Fprintf(&errs, "hearthbench: %v\n", err)
		return couldNotRun, out.String(), errs.String()
	}
}

func TestIdentifySample(t *testing.T) {
	file := filepath.Join(t.TempDir(), "unit.ics")
	status, out, errs := identified(t, "", "--iut", "sample", "--credential", "246810", "--compare", "--out", file)
	require.Equal(t, holds, status, errs)
	require.Contains(t, out, "ics channels both,hw,ch both\n")
	require.Contains(t, out, "the unit's own statement agrees\n")
	require.Regexp(t, `\n6\d yes-or-no questions and 4 controls; all units that can be told apart are 2\^64\.1\n`, out)
	require.Regexp(t, `confirmed by \d{3,} vectors\n`, out)

	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	ics, err := wire.ReadICS(file, f)
	require.NoError(t, err)
	require.Equal(t, "246810", ics.Credential)
	require.EqualValues(t, 480, ics.Reserve)

	// Without the credential nothing that check could read comes of it, and nothing is tried.
	status, out, errs = identified(t, "", "--iut", "sample", "--steps")
	require.Equal(t, couldNotRun, status)
	require.Contains(t, errs, "hearthbench: not settled: credential\n")
	require.Contains(t, out, "# not settled: credential any: the unit's credential has to be known")
	require.NotContains(t, out, "lock arm")
}

func TestIdentifyAsJSON(t *testing.T) {
	type result struct {
		Fits, Settled bool
		Questions     int
		ICS           []string
		Idle          []struct{ Options []string }
	}
	status, one, errs := identified(t, "", "--iut", "emulator:lost-clock=resumes,boost-longest=60,lock=no,credential=1234", "--format", "json", "--confirm=false")
	require.Equal(t, holds, status, errs)
	var r result
	require.NoError(t, json.Unmarshal([]byte(one), &r))
	require.True(t, r.Fits && r.Settled)
	require.Contains(t, r.ICS, "ics lost-clock resumes")
	require.Contains(t, r.ICS, "ics boost-longest 60")
	require.Equal(t, []string{"second-boost"}, r.Idle[0].Options)
	_, two, _ := identified(t, "", "--iut", "emulator:lost-clock=resumes,boost-longest=60,lock=no,credential=1234", "--format", "json", "--confirm=false")
	require.Equal(t, one, two)
}

// Of wrong builds some depart on the way, some are caught by the vectors, and none is settled.
func TestIdentifyWrongBuilds(t *testing.T) {
	for bug, words := range map[string]string{
		"RESERVE_A_SECOND_LONG":     "  at      control 2, ",
		"OVERRIDE_ENDS_AT_MIDNIGHT": "vectors that such a unit has to pass; the first is\n\n",
		"HEATING_FIRST":             "  clause  OUT-3\n",
	} {
		out := filepath.Join(t.TempDir(), "unit.ics")
		status, text, errs := identified(t, "", "--iut", "exec:"+buildSample(t, "-DBUG_"+bug), "--credential", "246810", "--out", out)
		require.Equal(t, doesNotHold, status, "%s: %s%s", bug, text, errs)
		require.Contains(t, text, "fits no ICS: ", bug)
		require.Contains(t, text, words, bug)
		require.NoFileExists(t, out)
	}
}

func TestIdentifyByHand(t *testing.T) {
	// Someone tired: empty lines, a word that is no answer, back at the start and after a slip, can't, and then no more answers.
	status, out, errs := identified(t, "b\n\nyse\nn\nb\ny\nc\n", "--by-hand")
	require.Equal(t, couldNotRun, status)
	require.Contains(t, out, "   This is the first question.\n")
	require.Equal(t, 2, strings.Count(out, "Please answer y, n, c, b or q."))
	require.Contains(t, out, "no more answers: stopped")
	require.Contains(t, out, "# not settled: ")
	require.Contains(t, errs, "hearthbench: not settled: ")
	require.Less(t, strings.Index(out, "Before you begin"), strings.Index(out, "1. "))

	// To the end: the conversation goes to standard error where JSON goes to standard output.
	status, out, errs = identified(t, strings.Repeat("y\nn\n", 60), "--by-hand", "--format", "json")
	require.Equal(t, couldNotRun, status)
	require.True(t, json.Valid([]byte(out)), out)
	require.Contains(t, errs, "Set the clock to 08:00 on Wednesday 21 January 2026.")
	require.NotContains(t, errs, "no more answers")
}

func TestIdentifyPlan(t *testing.T) {
	status, out, errs := identified(t, "", "--plan", "--given", "cycle=7day", "--longest", "10m")
	require.Equal(t, holds, status, errs)
	require.Contains(t, out, "This plan is for a unit whose front is: cycle=7day, channels=both, timing=separate, ")
	require.NotContains(t, out, "Wait 15 min")
	require.Contains(t, out, "second-boost replaces or extends stays open: what would tell takes more than 10m0s")
}

func TestIdentifyMistakes(t *testing.T) {
	for _, test := range []struct {
		args  []string
		words string
	}{
		{nil, "--iut, --by-hand or --plan is needed"},
		{[]string{"--iut", "emulator", "--plan"}, "none of the others can be"},
		{[]string{"--iut", "emulater"}, "'emulater' is no kind of implementation"},
		{[]string{"--iut", "emulator", "--credential", "12"}, "--credential: credential '12': it should be 4 to 8 digits"},
		{[]string{"--iut", "emulator", "--claim", "late=2"}, "TOLERANCE is late-power-on, late-scan"},
		{[]string{"--iut", "emulator", "--claim", "late-scan=soon"}, "--claim late-scan=soon: "},
		{[]string{"--iut", "emulator", "--given", "periods"}, "--given periods: it should be OPTION=VALUE"},
		{[]string{"--iut", "emulator", "--given", "periods=9"}, "--given periods=9: "},
		{[]string{"--iut", "emulator", "--given", "periods=3", "--given", "periods=4"}, "periods has been given before"},
		{[]string{"--iut", "emulator", "--format", "yaml"}, "--format yaml: it is text or json"},
		{[]string{"--iut", "emulator", "--longest", "-1h"}, "--longest -1h0m0s: it should be whole seconds"},
		{[]string{"--iut", "emulator", "--timeout", "0"}, "--timeout 0s: it should be more than 0"},
		{[]string{"--iut", "emulator", "--out", ""}, "--out : no file is named"},
		{[]string{"--iut", "emulator", "--out", "/nowhere/unit.ics"}, "there is no folder /nowhere"},
		{[]string{"--by-hand", "--credential", "1234"}, "--credential goes with --iut"},
		{[]string{"--plan", "--format", "json"}, "--plan is text on standard output"},
		{[]string{"--plan", "--given", "boost-longest=90"}, "boost-step=60 does not hold"},
		{[]string{"--plan", "extra"}, "unknown command"},
	} {
		status, out, errs := identified(t, "", test.args...)
		require.Equal(t, couldNotRun, status, test.args)
		require.Contains(t, errs, test.words, test.args)
		require.Empty(t, out, test.args)
	}
}

// An interruption does not wait for the next line.
func TestIdentifyByHandInterrupted(t *testing.T) {
	never, end := io.Pipe()
	defer end.Close()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := interview(ctx, identify.NewHand(identify.HandSpace(handWait), handWait), never, io.Discard)
	require.ErrorContains(t, err, "interrupted after 0 answers")
}

// What identify writes, check reads in place of the unit's own statement, and a wrong one does not hold.
func TestCheckTakesAStatementFromAFile(t *testing.T) {
	folder := t.TempDir()
	write := func(name, change, to string) string {
		ics := spec.FullICS()
		text := string(wire.AppendICS(nil, ics))
		require.Contains(t, text, change)
		path := filepath.Join(folder, name)
		require.NoError(t, os.WriteFile(path, []byte(strings.Replace(text, change, to, 1)), 0o600))
		return path
	}
	status, stdout, stderr := hearthbench(t, "check", "--iut", "emulator", "--only", "BST", "--statement", write("right.ics", "ics reserve 480", "ics reserve 480"))
	require.Equal(t, holds, status, stdout+stderr)
	status, stdout, _ = hearthbench(t, "check", "--iut", "emulator", "--only", "BST", "--statement", write("wrong.ics", "ics second-boost replaces", "ics second-boost extends"))
	require.Equal(t, doesNotHold, status)
	require.Contains(t, stdout, "BST-4")
	status, _, stderr = hearthbench(t, "check", "--iut", "emulator", "--statement", write("open.ics", "ics reserve 480", "ics reserve ?"))
	require.Equal(t, couldNotRun, status)
	require.Contains(t, stderr, "open.ics")
	status, _, stderr = hearthbench(t, "check", "--iut", "emulator", "--statement", filepath.Join(folder, "none.ics"))
	require.Equal(t, couldNotRun, status)
	require.Contains(t, stderr, "--statement")
}

// What identify writes is taken by export and check alike, its comments too, and both say the same of what is wrong in it.
func TestWhatIdentifyWritesIsTaken(t *testing.T) {
	folder := t.TempDir()
	file := filepath.Join(folder, "unit.ics")
	const target = "emulator:boost-longest=0,lock=no,reserve=480"
	status, out, errs := identified(t, "", "--iut", target, "--confirm=false", "--out", file)
	require.Equal(t, holds, status, errs)
	require.Contains(t, out, "# makes no difference: ", "the file has comments, or this tests nothing")
	tables := []string{"--vectors", "../../vectors/hand/mod.json"}
	read, _ := exportC(t, filepath.Join(folder, "read.h"), append(tables, "--ics", file)...)
	asked, _ := exportC(t, filepath.Join(folder, "asked.h"), append(tables, "--iut", target)...)
	require.Equal(t, tableID.FindAllString(asked, -1), tableID.FindAllString(read, -1))
	status, stdout, stderr := hearthbench(t, append(tables, "check", "--iut", target, "--statement", file)...)
	require.Equal(t, holds, status, stdout+stderr)

	text, err := os.ReadFile(file)
	require.NoError(t, err)
	bad := filepath.Join(folder, "bad.ics")
	require.NoError(t, os.WriteFile(bad, []byte("# mine\n"+strings.Replace(string(text), "ics reserve 480", "ics reserve ?", 1)), 0o600))
	_, _, exported := hearthbench(t, "vectors", "export", "--format", "c", "--out", filepath.Join(folder, "bad.h"), "--ics", bad)
	_, _, checked := hearthbench(t, "check", "--iut", target, "--statement", bad)
	_, exported, _ = strings.Cut(exported, "--ics: ")
	_, checked, _ = strings.Cut(checked, "--statement: ")
	require.Regexp(t, `^`+regexp.QuoteMeta(bad)+`:\d+: .*reserve is a number`, exported)
	require.Equal(t, exported, checked)
}
