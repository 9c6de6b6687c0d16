package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/sample"
)

func TestCheckSample(t *testing.T) {
	status, stdout, stderr := hearthbench(t, "check", "--iut", "sample")
	require.Equal(t, holds, status, stdout+stderr)
	require.Contains(t, stdout, "conformant, exactly")
}

func TestCheckModule(t *testing.T) {
	file := filepath.Join(t.TempDir(), "unit.wasm")
	require.NoError(t, os.WriteFile(file, sample.Module, 0o644))
	status, stdout, stderr := hearthbench(t, "check", "--iut", "wasm:"+file, "--only", "BST")
	require.Equal(t, holds, status, stdout+stderr)

	require.NoError(t, os.WriteFile(file, sample.Module[:len(sample.Module)/2], 0o644))
	for target, want := range map[string]string{
		"wasm:":              "names no file",
		"wasm:no-such-file":  "no-such-file",
		"wasm:" + file:       "the module ends in the middle",
		"wasm:wasm_test.go":  "it is no WebAssembly module",
		"sample:periods=two": "'sample' has no options",
	} {
		status, _, stderr := hearthbench(t, "check", "--iut", target)
		require.Equal(t, couldNotRun, status, stderr)
		require.Contains(t, stderr, want)
		require.Contains(t, stderr, target)
	}
}
