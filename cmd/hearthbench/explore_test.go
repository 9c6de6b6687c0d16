package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/sample"
)

func TestExplore(t *testing.T) {
	status, out, errs := explored(t, "--iut", "sample", "--inputs", "override", "--horizon", "30m")
	require.Equal(t, holds, status, errs)
	require.Contains(t, out, "holds: every state within the bounds was seen, and every step from it")
	require.Contains(t, out, "that the firmware answers and changes as the emulator does, to the second")
	require.Contains(t, out, "  given      power on; clock 2026-11-16 06:00; table both every 06:10-06:20 06:40-07:20\n  inputs     override hw; override ch\n")
	require.Contains(t, out, "  horizon    30m0s of the clock from the start")

	// No time, so that the same bounds give the same bytes whatever the machine.
	_, one, _ := explored(t, "--iut", "emulator:summer-time=none", "--inputs", "mode,override", "--format", "json", "--jobs", "1")
	status, two, errs := explored(t, "--iut", "emulator:summer-time=none", "--inputs", "mode,override", "--format", "json", "--jobs", "2")
	require.Equal(t, holds, status, errs)
	require.Equal(t, one, two)
	var result struct {
		Holds  bool
		States int
		Inputs []string
	}
	require.NoError(t, json.Unmarshal([]byte(two), &result))
	require.True(t, result.Holds)
	require.Greater(t, result.States, 500)
	require.Len(t, result.Inputs, 10)
}

// A firmware's departure is told as a vector, which fails on the firmware and passes on the right one.
func TestExploreWritesAVector(t *testing.T) {
	target := "wasm:" + wrongModule(t, "CUT_KEEPS_BOOST=1")
	bounds := []string{"--iut", target, "--inputs", "boost,power", "--horizon", "30m"}
	folder := filepath.Join(t.TempDir(), "found")
	status, out, errs := explored(t, append(bounds, "--out", folder)...)
	require.Equal(t, doesNotHold, status, errs)
	files, err := filepath.Glob(filepath.Join(folder, "*.json"))
	require.NoError(t, err)
	require.Len(t, files, 1)
	require.Contains(t, out, "vector       "+files[0]+", confirmed on the unit")
	require.Contains(t, out, "again        hearthbench check --iut "+target+" --vectors "+files[0])
	vector, err := os.ReadFile(files[0])
	require.NoError(t, err)
	require.Contains(t, string(vector), "Found by 'hearthbench explore'")

	for iut, want := range map[string]int{target: doesNotHold, "sample": holds} {
		var checked, errs bytes.Buffer
		status := run(t.Context(), []string{"check", "--iut", iut, "--vectors", folder}, &checked, &errs)
		require.Equal(t, want, status, errs.String())
	}

	// Without a folder it is part of what is told, the same each time.
	status, one, errs := explored(t, append(bounds, "--format", "json")...)
	require.Equal(t, doesNotHold, status, errs)
	_, two, _ := explored(t, append(bounds, "--format", "json", "--jobs", "1")...)
	require.Equal(t, one, two)
	var result struct {
		Counterexample struct {
			Vector json.RawMessage
			File   string
		}
	}
	require.NoError(t, json.Unmarshal([]byte(one), &result))
	require.JSONEq(t, string(vector), string(result.Counterexample.Vector))
	require.Empty(t, result.Counterexample.File)

	notAFolder := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(notAFolder, nil, 0o600))
	status, _, errs = explored(t, append(bounds, "--out", notAFolder)...)
	require.Equal(t, couldNotRun, status)
	require.Contains(t, errs, "--out: ")
}

func TestExploreMistakes(t *testing.T) {
	broken := filepath.Join(t.TempDir(), "broken.wasm")
	require.NoError(t, os.WriteFile(broken, sample.Module[:100], 0o600))
	for _, test := range []struct {
		args  []string
		words string
	}{
		{nil, "--iut is needed"},
		{[]string{"--iut", "exec:./unit"}, "only the emulator and WebAssembly modules"},
		{[]string{"--iut", "wasm:nowhere.wasm"}, "nowhere.wasm"},
		{[]string{"--iut", "wasm:" + broken}, "ends in the middle"},
		{[]string{"--iut", "emulator", "--inputs", "overrides"}, "'overrides' is no group of inputs; there are mode, override"},
		{[]string{"--iut", "emulator", "--input", "overide ch"}, "--input: 'overide ch'"},
		{[]string{"--iut", "emulator", "--given", "holiday 200"}, "'holiday 200' is not"},
		{[]string{"--iut", "emulator", "--horizon", "-5m"}, "--horizon"},
		{[]string{"--iut", "emulator", "--jobs", "0"}, "--jobs 0"},
		{[]string{"--iut", "emulator", "--states", "100000000"}, "at most 50000000"},
		{[]string{"--iut", "emulator", "--format", "xml"}, "it is text or json"},
		{[]string{"--iut", "emulator", "--states", "50"}, "not settled: there are more than 50 states; fewer inputs"},
	} {
		status, _, errs := explored(t, test.args...)
		require.Equal(t, couldNotRun, status, test.words)
		require.Contains(t, errs, test.words)
	}
}

// explored runs the verb.
func explored(t *testing.T, args ...string) (status int, stdout, stderr string) {
	var out, errs bytes.Buffer
	status = run(t.Context(), append([]string{"explore"}, args...), &out, &errs)
	return status, out.String(), errs.String()
}
