package fuzz

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
)

func TestCorpus(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "corpus")
	none, err := ReadCorpus(folder)
	require.NoError(t, err)
	require.Empty(t, none)
	c := run(t, faulty(fault(t, "CPL/never")), Options{Seed: 1, Steps: 2000, Patience: Jumping})
	require.NotEmpty(t, c.Corpus())
	require.NoError(t, WriteCorpus(folder, c.Corpus()))
	require.NoError(t, WriteCorpus(folder, c.Corpus()), "what is there already is left")
	read, err := ReadCorpus(folder)
	require.NoError(t, err)
	assert.ElementsMatch(t, c.Corpus(), read)
}

func TestCorpusErrors(t *testing.T) {
	for text, want := range map[string]string{
		"new\nmode ch tabel\n": "line 2: word 3 of 'mode ch tabel'",
		"new\ngo 1 h\n":        "line 2: \"go 1 h\" is not 'go SECONDS'",
		"power on\n":           "new",
	} {
		folder := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(folder, "script-1.txt"), []byte(text), 0o644))
		_, err := ReadCorpus(folder)
		require.ErrorContains(t, err, want)
		require.ErrorContains(t, err, "script-1.txt")
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte("new\npower on\nclock 2026-01-14 06:00\ngo 60\n"))
	f.Add([]byte("new\nlock arm 246810 1 1 none 10 none 20 07:00,08:00\n"))
	f.Add([]byte("new\nnew\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		script, err := Parse(text)
		if err != nil {
			return
		}
		again, err := Parse(Format(script))
		require.NoError(t, err)
		require.Equal(t, script, again)
		require.NoError(t, iut.CheckScripts([]iut.Script{script}))
	})
}

func TestMerge(t *testing.T) {
	root := t.TempDir()
	var folders []string
	names := map[string]bool{}
	for shard := range 2 {
		folder := filepath.Join(root, string(rune('a'+shard)))
		require.NoError(t, os.Mkdir(folder, 0o755))
		folders = append(folders, folder)
		c := run(t, faulty(fault(t, "BST/a-second-long")), Options{Seed: 1, Shard: shard, Steps: 5000, Patience: Jumping})
		require.NotEmpty(t, c.Findings())
		for _, f := range c.Findings() {
			data, err := f.File()
			require.NoError(t, err)
			require.NoError(t, WriteFile(folder, f.Name(), data))
			names[f.Name()] = true
		}
		s := c.Summarize("unit", 2)
		require.NoError(t, s.Write(folder))
		require.NoError(t, WriteCorpus(filepath.Join(folder, CorpusFolder), c.Corpus()))
	}
	target := filepath.Join(root, "all")
	m, err := Merge(target, folders)
	require.NoError(t, err)
	assert.Len(t, m.Summaries, 2)
	assert.NotEmpty(t, m.Causes)
	for _, c := range m.Causes {
		assert.True(t, names[c.Name])
		assert.FileExists(t, filepath.Join(target, c.Name+".json"))
	}
	scripts, err := ReadCorpus(filepath.Join(target, CorpusFolder))
	require.NoError(t, err)
	assert.Len(t, scripts, m.Scripts)
	again, err := Merge(target, []string{target, folders[1]})
	require.NoError(t, err)
	assert.Equal(t, m, again, "what is merged already stays")
	_, err = Merge(target, []string{t.TempDir()})
	require.ErrorContains(t, err, "there is no file *.campaign")
	_, err = Merge(target, []string{filepath.Join(root, "none")})
	require.Error(t, err)
}
