package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	captures  = "../../testdata/captures/"
	scenarios = "../../testdata/scenarios/"
)

func TestCheckOfCaptures(t *testing.T) {
	override := []string{"--scenario", scenarios + "override.yaml", "--map", "hw=!D0,ch=D1"}
	for _, c := range []struct {
		args   []string
		status int
		want   string
	}{
		{append(override, "--capture", captures+"override.vcd", "--start", "1m30s"), holds, "verdict   pass, within tolerance"},
		{append(override, "--capture", captures+"override.vcd", "--start", "AUTO"), holds, "(found by alignment)"},
		{append(override, "--capture", captures+"override.vcd", "--start", "1m30s", "--drift", "60"), doesNotHold, "more than the 60 ppm allowed"},
		{append(override, "--capture", captures+"override.vcd", "--start", "1m30s", "--drift", "60", "--ics", "clock-rate=30"), holds, "drift up to 90 ppm"},
		{append(override, "--capture", captures+"override.vcd", "--start", "1m30s", "--bounce", "5ms"), doesNotHold, "verdict   fail"},
		{append(override, "--capture", captures+"override.vcd"), doesNotHold, "perhaps   The scenario seems to start 90.0"},
		{append(override, "--capture", captures+"override-outlived.vcd", "--start", "1m30s"), doesNotHold, "The heating relay should close by MOD-2; it did not."},
		{append(override, "--capture", captures+"override-gap.vcd", "--start", "1m30s"), doesNotHold, "verdict   inconclusive"},
		{[]string{"--scenario", scenarios + "gravity.yaml", "--capture", captures + "gravity.csv"}, holds, "verdict   pass"},
		{[]string{"--scenario", scenarios + "gravity.yaml", "--capture", captures + "gravity.csv", "--start", "2026-02-02T05:00:00Z"}, holds, "verdict   pass"},
		{[]string{"--scenario", scenarios + "gravity.yaml", "--capture", captures + "gravity.csv", "--tolerance", "100ms", "--drift", "0"}, doesNotHold, "verdict   fail"},
		{[]string{"--scenario", scenarios + "gravity.yaml", "--capture", captures + "gravity-swapped.csv"}, doesNotHold, "The channels look swapped"},
		{[]string{"--scenario", scenarios + "gravity.yaml", "--capture", captures + "gravity-swapped.csv", "--map", "hw=ch", "--map", "ch=hw"}, holds, "verdict   pass"},
		{[]string{"--scenario", scenarios + "override.yaml", "--capture", captures + "override.vcd", "--map", "ch=D1", "--start", "1m30s"}, doesNotHold, "hw is not in the recording, or not mapped"},
		{[]string{"--scenario", scenarios + "override.yaml", "--capture", captures + "override.vcd", "--map", "ch=D1", "--start", "1m30s", "--signals", "ch"}, holds, "pass, within tolerance: ch "},
	} {
		status, stdout, stderr := hearthbench(t, append([]string{"check"}, c.args...)...)
		require.Equal(t, c.status, status, "%v\n%s%s", c.args, stdout, stderr)
		assert.Contains(t, stdout, c.want, c.args)
		assert.Contains(t, stdout, "Never connect a logic analyser or logger to mains.")
		assert.Empty(t, stderr)
	}
	status, stdout, _ := hearthbench(t, append([]string{"check", "--format", "json", "--capture", captures + "override-outlived.vcd", "--start", "90s"}, override...)...)
	require.Equal(t, doesNotHold, status)
	var j struct {
		Verdict   string
		Departure struct{ Expected struct{ Clause string } }
	}
	require.NoError(t, json.Unmarshal([]byte(stdout), &j))
	assert.Equal(t, "fail", j.Verdict)
	assert.Equal(t, "MOD-2", j.Departure.Expected.Clause)
}

// What emulate writes as VCD passes the check of the scenario that it came from, and no other.
func TestEmulatedCaptures(t *testing.T) {
	file := filepath.Join(t.TempDir(), "boost.vcd")
	status, stdout, stderr := hearthbench(t, "emulate", "--format", "vcd", scenarios+"boost.yaml")
	require.Equal(t, holds, status, stderr)
	require.NoError(t, os.WriteFile(file, []byte(stdout), 0o600))
	status, stdout, _ = hearthbench(t, "check", "--capture", file, "--scenario", scenarios+"boost.yaml")
	require.Equal(t, holds, status, stdout)
	assert.Contains(t, stdout, "verdict   pass, exactly")
	status, stdout, _ = hearthbench(t, "check", "--capture", file, "--scenario", scenarios+"gravity.yaml")
	require.Equal(t, doesNotHold, status, stdout)
}

func TestMistakesWithCaptures(t *testing.T) {
	folder := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(folder, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	bad := write("bad.vcd", "$timescale 1 s $end\n$var wire 1 ! hw $end\n$enddefinitions $end\n#5\n#4\n")
	unmet := write("unmet.yaml", "title: x\nstart: 2026-01-14 05:00\nuntil: +04:00:00\nsteps:\n- {at: +01:00:00, do: override ch, expect: refused}\n")
	good := " --capture " + captures + "override.vcd --scenario " + scenarios + "override.yaml"
	for _, c := range []struct{ args, want string }{
		{"--capture a.vcd", "--scenario FILE is needed"},
		{"--scenario a.yaml", "--scenario goes with --capture FILE, which is missing"},
		{"--iut emulator --map hw=D0", "--map goes with --capture FILE"},
		{"--iut emulator --drift 5", "--drift goes with --capture FILE"},
		{"--iut emulator" + good, "--iut does not go with --capture"},
		{"--only OVR" + good, "--only does not go with --capture"},
		{"--format tap" + good, "with --capture it is text or json"},
		{"--tolerance -1s" + good, "it should be 0 or more"},
		{"--bounce 2s" + good, "it should be from 0 to 1s"},
		{"--drift NaN" + good, "it should be from 0 to 10000 parts per million"},
		{"--map hw" + good, "--map: 'hw' is not SIGNAL=COLUMN"},
		{"--map hw=D7" + good, "there is no column D7 for hw; there are capture.D0, capture.D1"},
		{good, "no column is called hw, ch, alert or sounder"},
		{"--signals hw,heat" + good, "--signals: "},
		{"--ics late=5" + good, "--ics: 'late' is no tolerance"},
		{"--map hw=D0 --start soon" + good, "--start soon: it is a time after the first sample"},
		{"--map hw=D0 --start 2026-01-14T05:00:00Z" + good, "the capture has no dates"},
		{"--capture no-such.vcd --scenario " + scenarios + "override.yaml", "no-such.vcd"},
		{"--capture x.vcd --scenario no-such.yaml", "no-such.yaml"},
		{"--capture " + bad + " --scenario " + scenarios + "override.yaml", bad + ":5: time goes back, from #5 to #4"},
		{"--capture " + captures + "gravity.csv --scenario " + unmet, "the scenario itself does not hold: step 1"},
	} {
		status, stdout, stderr := hearthbench(t, append([]string{"check"}, strings.Fields(c.args)...)...)
		require.Equal(t, couldNotRun, status, "%s\n%s", c.args, stdout)
		assert.Contains(t, stderr, c.want, c.args)
		assert.Empty(t, stdout, c.args)
	}
}
