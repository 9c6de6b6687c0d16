package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestCheckOnTheEmulator(t *testing.T) {
	status, stdout, stderr := hearthbench(t, "check", "--iut", "emulator")
	require.Equal(t, holds, status, stderr)
	require.Contains(t, stdout, "verdict  conformant, exactly")

	status, stdout, _ = hearthbench(t, "check", "--iut", "emulator:override-end=programmed,cycle=5/2", "--only", "OVR-16", "--format", "json")
	require.Equal(t, holds, status)
	var report struct {
		Conformant bool
		Counts     struct{ Pass int }
	}
	require.NoError(t, json.Unmarshal([]byte(stdout), &report))
	require.True(t, report.Conformant)
	require.Greater(t, report.Counts.Pass, 5)
}

// A unit that claims one choice and makes another is not conformant, in the exit status and in JSON.
func TestCheckOfAVectorThatFails(t *testing.T) {
	data, err := os.ReadFile("../../vectors/hand/ovr.json")
	require.NoError(t, err)
	var file map[string]any
	require.NoError(t, json.Unmarshal(data, &file))
	all := file["vectors"].([]any)
	first := all[0].(map[string]any)
	first["trace"] = []any{}
	file["vectors"] = []any{first}
	changed, err := json.Marshal(file)
	require.NoError(t, err)
	mine := filepath.Join(t.TempDir(), "mine.json")
	require.NoError(t, os.WriteFile(mine, changed, 0o644))
	status, stdout, _ := hearthbench(t, "check", "--iut", "emulator", "--vectors", mine)
	require.Equal(t, doesNotHold, status)
	require.Contains(t, stdout, "FAIL  "+first["id"].(string))
	require.Contains(t, stdout, "^ here")
	require.NotContains(t, stdout, "more did not pass")
	many := slices.Clone(all[:40])
	for i := range many {
		many[i].(map[string]any)["trace"] = []any{}
	}
	file["vectors"] = many
	changed, err = json.Marshal(file)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(mine, changed, 0o644))
	_, short, _ := hearthbench(t, "check", "--iut", "emulator", "--vectors", mine)
	_, long, _ := hearthbench(t, "check", "--iut", "emulator", "--vectors", mine, "--all")
	require.Equal(t, shownFailures, strings.Count(short, "FAIL  "))
	require.Contains(t, short, fmt.Sprintf("%d more did not pass", strings.Count(long, "FAIL  ")-shownFailures))
	require.Greater(t, strings.Count(long, "FAIL  "), shownFailures)
	status, stdout, _ = hearthbench(t, "check", "--iut", "emulator", "--vectors", mine, "--format", "json")
	require.Equal(t, doesNotHold, status)
	require.Contains(t, stdout, `"conformant": false`)
}

// What a tired person gets wrong: each is told what to do, and the exit status is 2.
func TestMistakesOnTheCommandLine(t *testing.T) {
	broken := filepath.Join(t.TempDir(), "broken.json")
	require.NoError(t, os.WriteFile(broken, []byte(`{"format": 1,`), 0o644))
	full := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(full, "mine.txt"), []byte("mine"), 0o644))
	for _, c := range []struct{ args, want string }{
		{"check", "--iut is needed"},
		{"check --iut", "needs an argument"},
		{"check --iut parallel", "'parallel' is no kind of implementation"},
		{"check --iut serial", "no port is named"},
		{"check --iut serial:/dev/no-such-port", "there is no such port"},
		{"check --iut serial:/dev/null", "it is no serial port"},
		{"check --iut serial:/dev/ttyS0@96k", "baud rate '96k' is no whole number from 300 to 4000000"},
		{"check --iut serial:/dev/ttyS0@9600,ahead=0", "ahead=0: "},
		{"check --iut tcp:localhost", "is not HOST:PORT"},
		{"check --iut tcp:localhost:0", "port '0' is no number from 1 to 65535"},
		{"check --iut exec:", "names no command"},
		{"check --iut exec:./no-such-unit", "no-such-unit"},
		{"check --iut exec:true", "hello"},
		{"check --iut emulator:cycle=8day", "cycle"},
		{"check --iut emulator:boost-longest=90", "boost-longest"},
		{"check --iut emulator:lateness", "OPTION=VALUE"},
		{"check --iut emulator --format yaml", "it is text, json, tap or junit"},
		{"check --iut emulator --only OVR-99", "no vector has that"},
		{"check --iut emulator --only [", "syntax error in pattern"},
		{"check --iut emulator --timeout 0s", "more than 0"},
		{"check --iut emulator --timeout soon", "invalid"},
		{"check --iut emulator --vectors no-such-file.json", "no-such-file.json"},
		{"check --iut emulator --vectors " + broken, "broken.json"},
		{"check --iut emulator:lock=no,holiday=no --only LCK-13/each-hour", "no vector has that"},
		{"check --iut emulator:lock=no --only LCK-4", "nothing was tested"},
		{"check emulator", "unknown command"},
		{"chekc --iut emulator", "unknown command"},
		{"vectors", "say which"},
		{"vectors show", "requires at least 1 arg"},
		{"vectors show OVR-0", "no vector has that"},
		{"vectors list OVR-", "no vector has that"},
		{"vectors verify --dir no-such-folder", "no-such-folder"},
		{"vectors export " + full, "is not empty"},
		{"emulate", "accepts 1 arg"},
		{"emulate no-such-file.yaml", "no-such-file.yaml"},
	} {
		t.Run(c.args, func(t *testing.T) {
			status, stdout, stderr := hearthbench(t, strings.Fields(c.args)...)
			require.Equal(t, couldNotRun, status, stdout)
			require.Contains(t, stderr, c.want)
			require.True(t, strings.HasPrefix(stderr, "hearthbench: "), stderr)
		})
	}
	left, err := os.ReadDir(full)
	require.NoError(t, err)
	require.Len(t, left, 1, "nothing half-written")
}

func TestExportedSetVerifies(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "set")
	status, _, stderr := hearthbench(t, "vectors", "export", folder)
	require.Equal(t, holds, status, stderr)

	// A changed file no longer has its checksum.
	page := filepath.Join(folder, "ADAPTER.md")
	text, err := os.ReadFile(page)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(page, append(text, '\n'), 0o644))
	status, stdout, _ := hearthbench(t, "vectors", "verify", "--dir", folder)
	require.Equal(t, doesNotHold, status)
	require.Contains(t, stdout, "ADAPTER.md")
	require.Contains(t, stdout, "1 faults")

	// Sealing takes it as it is now.
	status, _, stderr = hearthbench(t, "vectors", "seal", folder)
	require.Equal(t, holds, status, stderr)
	status, stdout, _ = hearthbench(t, "vectors", "verify", "--dir", folder)
	require.Equal(t, holds, status, stdout)
}

func TestListAndShow(t *testing.T) {
	status, stdout, _ := hearthbench(t, "vectors", "list", "OVR-11")
	require.Equal(t, holds, status)
	require.Contains(t, stdout, "OVR-1/last-second-of-the-day")
	status, stdout, _ = hearthbench(t, "vectors", "show", "OVR-1/last-second-of-the-day")
	require.Equal(t, holds, status)
	require.Contains(t, stdout, "catches")
	require.Contains(t, stdout, "Thu 2026-01-22 23:59:59  override hw  (accepted)")
}

// An interrupted run says how far it came, and is no verdict.
func TestInterruptedCheck(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var out, errs strings.Builder
	require.Equal(t, couldNotRun, run(ctx, []string{"check", "--iut", "emulator"}, &out, &errs))
	require.Contains(t, errs.String(), "interrupted after")
	require.NotContains(t, out.String(), "verdict  conformant")
}
