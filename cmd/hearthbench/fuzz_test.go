package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/testtool"
)

var allWrongBuilds = flag.Bool("fuzz-all", false, "let TestFuzzWrongBuilds try every wrong build of the sample")

// fuzzed runs one command line of the verb by itself.
func fuzzed(tb testing.TB, args ...string) (status int, stdout, stderr string) {
	tb.Helper()
	var out, errs bytes.Buffer
	c := newFuzz()
	c.SilenceErrors, c.SilenceUsage = true, true
	c.SetArgs(args)
	c.SetOut(&out)
	c.SetErr(&errs)
	switch err := c.ExecuteContext(context.Background()); err {
	case nil:
		return holds, out.String(), errs.String()
	case errDoesNotHold:
		return doesNotHold, out.String(), errs.String()
	default:
		return couldNotRun, out.String(), errs.String() + err.Error()
	}
}

// wrongModule builds a wrong build of the sample as a WebAssembly module.
func wrongModule(tb testing.TB, bug string) string {
	tb.Helper()
	testtool.Need(tb, "wasm-ld", "lld")
	cc := testtool.Need(tb, "clang", "clang")
	output := filepath.Join(tb.TempDir(), "unit.wasm")
	build := exec.Command("sh", filepath.Join(firmware, "wasm", "build-wasm.sh"), output, "-DBUG_"+bug)
	build.Env = append(os.Environ(), "CC="+cc, "CFLAGS=")
	text, err := build.CombinedOutput()
	require.NoError(tb, err, string(text))
	return output
}

func TestFuzzFindsNothingInTheSample(t *testing.T) {
	status, stdout, stderr := fuzzed(t, "--iut", "sample", "--seed", "1", "--steps", "20000")
	require.Equal(t, holds, status, stdout+stderr)
	require.Contains(t, stdout, "seed 1, shard 1/1")
	require.Contains(t, stdout, "nothing found")
}

// Each mistake of wrong_builds.txt is found, and the vector that shows it fails on the build and passes on the sample as it should be.
func TestFuzzWrongBuilds(t *testing.T) {
	list, err := os.ReadFile(filepath.Join(firmware, "wrong_builds.txt"))
	require.NoError(t, err)
	some := map[string]bool{"OFF_A_MINUTE_LATE": true, "OVERRIDE_ENDS_AT_MIDNIGHT": true, "HEATING_FIRST": true}
	for _, line := range strings.Split(strings.TrimSpace(string(list)), "\n") {
		bug, _, _ := strings.Cut(line, "\t")
		steps := "10000000"
		if !*allWrongBuilds {
			if steps = "30000"; !some[bug] {
				continue
			}
		}
		t.Run(bug, func(t *testing.T) {
			unit, out := wrongModule(t, bug), t.TempDir()
			status, stdout, stderr := fuzzed(t, "--iut", "wasm:"+unit, "--steps", steps, "--for", "60s", "--timeout", "1s", "--out", out)
			require.Equal(t, doesNotHold, status, stdout+stderr)
			files, err := filepath.Glob(filepath.Join(out, "fuzz-*.json"))
			require.NoError(t, err)
			require.NotEmpty(t, files)
			for _, file := range files {
				require.Contains(t, stdout, file)
				status, text, stderr := hearthbench(t, "check", "--iut", "wasm:"+unit, "--timeout", "1s", "--vectors", file)
				require.Equal(t, doesNotHold, status, text+stderr)
				status, text, stderr = hearthbench(t, "check", "--iut", "sample", "--vectors", file)
				require.Equal(t, holds, status, text+stderr)
			}
			if *allWrongBuilds {
				t.Log(strings.TrimSpace(stdout[strings.LastIndex(stdout, "\nseed "):]))
			}
		})
	}
}

// A child process is fuzzed as a module is, and the same seed gives the same bytes.
func TestFuzzChildProcess(t *testing.T) {
	unit := buildSample(t, "-DBUG_REFUSED_BOOST_ENDS_OVERRIDE")
	args := []string{"--iut", "exec:" + unit, "--seed", "5", "--steps", "5000", "--format", "json"}
	status, first, stderr := fuzzed(t, args...)
	require.Equal(t, doesNotHold, status, first+stderr)
	_, second, _ := fuzzed(t, args...)
	require.Equal(t, first, second)
	var told struct {
		Seed   uint64
		Steps  uint64
		Causes []struct{ Name, Clause string }
		Files  map[string]json.RawMessage
	}
	require.NoError(t, json.Unmarshal([]byte(first), &told))
	require.EqualValues(t, 5, told.Seed)
	require.GreaterOrEqual(t, told.Steps, uint64(5000))
	require.NotEmpty(t, told.Causes)
	for _, c := range told.Causes {
		require.Contains(t, told.Files, c.Name)
	}
}

// Shards find things of their own, a corpus persists, and merge unites them.
func TestFuzzShardsAndMerge(t *testing.T) {
	unit, root := wrongModule(t, "SAME_MODE_CANCELS"), t.TempDir()
	var folders []string
	for _, shard := range []string{"1/2", "2/2"} {
		out := filepath.Join(root, shard[:1])
		folders = append(folders, out)
		status, stdout, stderr := fuzzed(t, "--iut", "wasm:"+unit, "--shard", shard, "--steps", "20000", "--out", out, "--corpus", filepath.Join(out, "corpus"))
		require.Equal(t, doesNotHold, status, stdout+stderr)
		require.Contains(t, stdout, "shard "+shard)
	}
	all := filepath.Join(root, "all")
	status, stdout, stderr := fuzzed(t, append([]string{"merge", "--out", all}, folders...)...)
	require.Equal(t, doesNotHold, status, stdout+stderr)
	require.Contains(t, stdout, "2 campaigns")
	status, stdout, stderr = hearthbench(t, "check", "--iut", "wasm:"+unit, "--vectors", all)
	require.Equal(t, doesNotHold, status, stdout+stderr)
	require.Contains(t, stdout, "GEN/fuzz-")
	// The corpus of both makes a third campaign begin with what they have reached.
	status, stdout, _ = fuzzed(t, "--iut", "wasm:"+unit, "--steps", "1", "--corpus", filepath.Join(all, "corpus"))
	require.Equal(t, doesNotHold, status, stdout)
}

func TestFuzzErrors(t *testing.T) {
	bad := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(bad, "script-1.txt"), []byte("new\nmode ch tabel\n"), 0o644))
	for _, c := range []struct {
		want string
		args []string
	}{
		{"--iut is needed", nil},
		{"--shard 3/2: it is i/n with i from 1 to n", []string{"--iut", "sample", "--shard", "3/2"}},
		{"--shard x: it is i/n", []string{"--iut", "sample", "--shard", "x"}},
		{"--format xml: it is text or json", []string{"--iut", "sample", "--format", "xml"}},
		{"--for -1s", []string{"--iut", "sample", "--for", "-1s"}},
		{"--timeout 0s", []string{"--iut", "sample", "--timeout", "0s"}},
		{"--patience -2", []string{"--iut", "sample", "--patience", "-2"}},
		{"script-1.txt: line 2: word 3 of 'mode ch tabel'", []string{"--iut", "sample", "--corpus", bad}},
		{"--out is needed", []string{"merge", bad}},
		{"there is no file *.campaign", []string{"merge", "--out", t.TempDir(), bad}},
	} {
		status, stdout, stderr := fuzzed(t, c.args...)
		require.Equal(t, couldNotRun, status, "%v: %s", c.args, stdout)
		require.Contains(t, stderr, c.want)
	}
}
