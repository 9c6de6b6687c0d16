package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/replay"
)

// replayVerb runs the verb alone and returns what it wrote and how it ended.
func replayVerb(t *testing.T, stdin string, args ...string) (out string, err error) {
	t.Helper()
	t.Setenv("COLUMNS", "100")
	c := newReplay()
	c.SilenceUsage, c.SilenceErrors = true, true
	var b bytes.Buffer
	c.SetIn(strings.NewReader(stdin))
	c.SetOut(&b)
	c.SetErr(&b)
	c.SetArgs(args)
	err = c.ExecuteContext(t.Context())
	return b.String(), err
}

const quietHouse = `title: Curlew House - nothing is amiss
asked: 2026-11-04 18:00
safety: no
settings: [mode ch table, "table ch every 06:30-08:30"]
sensed: [{what: ch relay, becomes: on, when: 2026-11-04 06:30, who: integrator}]
`

func TestReplayASample(t *testing.T) {
	out, err := replayVerb(t, "", "../../testdata/complaints/only-hot-water.yaml")
	require.NoError(t, err, "a cause is named")
	title, departs, caution := strings.Index(out, "Heron House"), strings.Index(out, "\ndeparts "), strings.Index(out, "This models time control")
	assert.True(t, 0 == title && title < departs && departs < caution, "%d %d %d", title, departs, caution)
	assert.Contains(t, out, "the hot-water relay closed because period 1 begins (MOD-2)")
}

func TestReplayFromStandardInput(t *testing.T) {
	out, err := replayVerb(t, quietHouse, "-")
	require.NoError(t, err)
	assert.Contains(t, out, "The replay departs from nothing that was said.")
}

func TestReplayAsJSON(t *testing.T) {
	out, err := replayVerb(t, quietHouse, "--format", "json", "-")
	require.NoError(t, err)
	var j struct {
		Replay struct {
			File       string
			Statements []struct{ Verdict string }
		}
		Diagnosis map[string]any
	}
	require.NoError(t, json.Unmarshal([]byte(out), &j))
	assert.Equal(t, "standard input", j.Replay.File)
	require.Len(t, j.Replay.Statements, 3)
	assert.Equal(t, "agrees", j.Replay.Statements[0].Verdict)
	assert.NotEmpty(t, j.Diagnosis)
}

func TestReplayIsRepeatable(t *testing.T) {
	first, err := replayVerb(t, quietHouse, "-")
	require.NoError(t, err)
	again, err := replayVerb(t, quietHouse, "-")
	require.NoError(t, err)
	assert.Equal(t, first, again)
}

func TestReplayOfABadFile(t *testing.T) {
	_, err := replayVerb(t, strings.Replace(quietHouse, "06:30-08:30", "06:30-8:30", 1), "-")
	require.ErrorContains(t, err, "the complaint cannot be replayed:\nstandard input:4:43: '06:30-8:30' is not a period such as 06:30-08:30")
	assert.False(t, errors.Is(err, errDoesNotHold), "exit status 2")
	_, err = replayVerb(t, "", filepath.Join(t.TempDir(), "none.yaml"))
	require.ErrorIs(t, err, os.ErrNotExist)
	_, err = replayVerb(t, quietHouse, "--format", "xml", "-")
	require.ErrorContains(t, err, "--format xml: it is ")
	_, err = replayVerb(t, quietHouse, "--width", "-3", "-")
	require.ErrorContains(t, err, "--width -3: it is a number of columns")
	_, err = replayVerb(t, "")
	require.Error(t, err, "no file")
}

// A log is found from the folder of the complaint on, wherever the command runs, and what is in it is told with its place.
func TestReplayWithLogs(t *testing.T) {
	out, err := replayVerb(t, "", "../../testdata/complaints/boiler-log-by-the-hour.yaml", "--width", "140")
	require.NoError(t, err, "a cause is named")
	assert.Contains(t, out, "\nlogs      1 logs/finch-boiler.csv, Wed 2026-11-04 00:00:00 to Thu 2026-11-05 19:58:00: boiler call (column call, ")
	assert.Regexp(t, `\n  departs     log 1 \(logs/finch-boiler\.csv\), flame: \d+ of 58 statements\n`, out)
	assert.Contains(t, out, "the interval lock is in its stage 'restricted'")

	data, err := os.ReadFile("../../testdata/complaints/boiler-log-by-the-hour.yaml")
	require.NoError(t, err)
	_, err = replayVerb(t, string(data), "-")
	require.ErrorContains(t, err, "standard input:18:11: this complaint comes without a folder, so its logs cannot be found")
	assert.False(t, errors.Is(err, errDoesNotHold), "exit status 2")

	// A link that leads out of the folder leads nowhere.
	folder := t.TempDir()
	file := filepath.Join(folder, "house", "f.yaml")
	require.NoError(t, os.MkdirAll(filepath.Join(folder, "house"), 0o755))
	require.NoError(t, os.WriteFile(file, []byte(quietHouse+"logs: [{file: relay.csv, columns: {ch relay: K1}}]\n"), 0o600))
	_, err = replayVerb(t, "", file)
	require.ErrorContains(t, err, "f.yaml:6:15: there is no 'relay.csv' in the folder of the complaint")
	require.NoError(t, os.WriteFile(filepath.Join(folder, "relay.csv"), []byte("time,K1\n2026-11-04T06:00:00,0\n2026-11-04T06:30:01,1\n"), 0o600))
	if os.Symlink(filepath.Join(folder, "relay.csv"), filepath.Join(folder, "house", "relay.csv")) == nil {
		_, err = replayVerb(t, "", file)
		require.ErrorContains(t, err, "f.yaml:6:15: the log cannot be read: ")
	}
	require.NoError(t, os.Rename(filepath.Join(folder, "relay.csv"), filepath.Join(folder, "house", "relay.csv")))
	out, err = replayVerb(t, "", file)
	require.NoError(t, err)
	assert.Contains(t, out, "The replay departs from nothing that was said.")
}

// The status is that of the account alone where nothing is diagnosed, and 0 where a cause is named.
func TestReplayStatus(t *testing.T) {
	accountOf := func(file string) *account {
		c, err := complaint.Parse("f.yaml", []byte(file))
		require.NoError(t, err)
		r, err := replay.NewReport(c)
		require.NoError(t, err)
		return &account{Replay: r}
	}
	assert.NoError(t, accountOf(quietHouse).status())
	departs := accountOf(strings.Replace(quietHouse, "2026-11-04 06:30", "2026-11-04 05:00", 1))
	assert.ErrorIs(t, departs.status(), errDoesNotHold)
	departs.Diagnosis = &answer{}
	assert.ErrorIs(t, departs.status(), errDoesNotHold)
	departs.Diagnosis.Named = true
	assert.NoError(t, departs.status())
}

func TestNewComplaint(t *testing.T) {
	out, err := replayVerb(t, "", "--new")
	require.NoError(t, err)
	_, err = complaint.Parse("template", []byte(out))
	require.NoError(t, err)

	file := filepath.Join(t.TempDir(), "new.yaml")
	_, err = replayVerb(t, "", "--new", file)
	require.NoError(t, err)
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, out, string(data))

	require.NoError(t, os.WriteFile(file, []byte("mine"), 0o600))
	_, err = replayVerb(t, "", "--new", file)
	require.ErrorContains(t, err, "is there already, and nothing is overwritten")
	data, err = os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(data))

	_, err = replayVerb(t, "", "--new", filepath.Join(t.TempDir(), "no", "such.yaml"))
	require.ErrorContains(t, err, "writing the template")
	_, err = replayVerb(t, "", "--new", "a", "b")
	require.Error(t, err)
}
