package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/generate"
)

// That the files are the published ones is tested in package generate, where they are made.
func TestGeneratedFilesReplaceThoseOfBefore(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "generated")
	require.NoError(t, writeGenerated(folder, []generate.File{{Name: "one.json", Data: []byte("1")}, {Name: "two.json", Data: []byte("2")}}))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "notes.txt"), nil, 0o600))
	require.NoError(t, writeGenerated(folder, []generate.File{{Name: "two.json", Data: []byte("22")}}))
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Len(t, entries, 2)
	require.Equal(t, "notes.txt", entries[0].Name())
	data, err := os.ReadFile(filepath.Join(folder, "two.json"))
	require.NoError(t, err)
	require.Equal(t, "22", string(data))
}

func TestGenerateWantsACopyOfThePublishedFiles(t *testing.T) {
	folder := t.TempDir()
	status, _, stderr := hearthbench(t, "vectors", "generate", folder)
	require.Equal(t, couldNotRun, status)
	require.Contains(t, stderr, folder+" is no copy of the published files")
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Empty(t, entries)
}
