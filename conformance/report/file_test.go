package report

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func names(t *testing.T, folder string) (list []string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	for _, e := range entries {
		list = append(list, e.Name())
	}
	return list
}

func text(s string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
}

// A file is there when it is whole, and not before; one that was there keeps its mode, and after an error its text.
func TestOutput(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "report.json")
	o, err := NewOutput(path)
	require.NoError(t, err)
	assert.Empty(t, names(t, folder), "finding out leaves nothing")
	require.NoError(t, o.Write(func(w io.Writer) error {
		_, err := os.Stat(path)
		assert.ErrorIs(t, err, os.ErrNotExist)
		return text("one")(w)
	}))
	require.NoError(t, os.Chmod(path, 0o640))

	o, err = NewOutput(path)
	require.NoError(t, err)
	require.NoError(t, o.Write(text("two")))
	errHalf := errors.New("half-way")
	assert.ErrorIs(t, o.Write(func(w io.Writer) error { return errors.Join(text("thr")(w), errHalf) }), errHalf)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "two", string(data))
	assert.Equal(t, []string{"report.json"}, names(t, folder))
	if runtime.GOOS != "windows" {
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o640), info.Mode())
	}
}

// What cannot be written is found out at once, with what to do.
func TestOutputErrors(t *testing.T) {
	folder := t.TempDir()
	file := filepath.Join(folder, "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	for path, want := range map[string]string{
		"":                               "no file is named",
		folder:                           "it is a folder; name a file in it",
		filepath.Join(folder, "no", "x"): "there is no folder " + filepath.Join(folder, "no") + "; make it first",
		filepath.Join(file, "x"):         "not a directory",
	} {
		if runtime.GOOS == "windows" && path == filepath.Join(file, "x") {
			continue
		}
		_, err := NewOutput(path)
		assert.ErrorContains(t, err, want)
	}
	if os.Geteuid() > 0 {
		require.NoError(t, os.Chmod(folder, 0o500))
		_, err := NewOutput(filepath.Join(folder, "x"))
		assert.ErrorContains(t, err, "no file can be made in "+folder+": permission denied")
		require.NoError(t, os.Chmod(folder, 0o700))
	}
}
