//go:build unix

package report

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A symbolic link stays one, and what is no file, such as a pipe, is written to rather than replaced.
func TestOutputThroughLinksAndPipes(t *testing.T) {
	folder := t.TempDir()
	file, link, pipe := filepath.Join(folder, "file"), filepath.Join(folder, "link"), filepath.Join(folder, "pipe")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	require.NoError(t, os.Symlink("file", link))
	o, err := NewOutput(link)
	require.NoError(t, err)
	require.NoError(t, o.Write(text("through")))
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, "through", string(data))
	target, err := os.Readlink(link)
	require.NoError(t, err)
	assert.Equal(t, "file", target)

	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	o, err = NewOutput(pipe)
	require.NoError(t, err)
	// Open at both ends from the start, so that nobody waits for the other.
	reader, err := os.OpenFile(pipe, os.O_RDWR, 0)
	require.NoError(t, err)
	defer reader.Close()
	require.NoError(t, o.Write(text("away")))
	info, err := os.Lstat(pipe)
	require.NoError(t, err)
	require.NotZero(t, info.Mode()&os.ModeNamedPipe)
	got := make([]byte, 4)
	_, err = reader.Read(got)
	require.NoError(t, err)
	assert.Equal(t, "away", string(got))
}
