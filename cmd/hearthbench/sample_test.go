package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/testtool"
)

const firmware = "../../testdata/firmware"

// buildSample builds the sample firmware with macros of its config.h or wrong_builds.h set.
func buildSample(tb testing.TB, defines ...string) string {
	tb.Helper()
	cc := testtool.Need(tb, "gcc", "gcc")
	output := filepath.Join(tb.TempDir(), "unit")
	build := exec.Command("sh", append([]string{filepath.Join(firmware, "build.sh"), output}, defines...)...)
	build.Env = append(os.Environ(), "CC="+cc)
	text, err := build.CombinedOutput()
	require.NoError(tb, err, string(text))
	return output
}

// hearthbench runs one command line.
func hearthbench(tb testing.TB, args ...string) (status int, stdout, stderr string) {
	tb.Helper()
	var out, errs bytes.Buffer
	status = run(context.Background(), args, &out, &errs)
	return status, out.String(), errs.String()
}

// The sample was written from the published pages alone, by somebody who had not seen this program. Its builds between them
// make every choice that the ICS offers.
func TestSampleFirmwareConforms(t *testing.T) {
	choices := []string{
		"-DOVERRIDE_ON_MODE_CHANGE_KEPT=1", "-DOVERRIDE_END_PROGRAMMED=1", "-DSECOND_BOOST_EXTENDS=1", "-DBOOST_IN_HOLIDAY_ALLOWED=1",
		"-DCLOCK_AFTER_RESET_UNSET=1", "-DTHROUGH_CUT_KEPT=1", "-DPAST_MIDNIGHT_WRAP=1", "-DBAD_VALUE_CLAMPED=1",
	}
	for name, defines := range map[string][]string{
		"as it comes":            nil,
		"every choice, resumes":  append([]string{"-DLOST_CLOCK_RESUMES=1"}, choices...),
		"every choice, restarts": append([]string{"-DLOST_CLOCK_RESTARTS=1", "-DZONE=60", "-DCYCLE_FITTED=CYCLE_5_2"}, choices...),
		"heating only":           {"-DCHANNELS_FITTED=CHANNELS_CH", "-DSUMMER_TIME=0", "-DPERIODS=1"},
		"hot water only":         {"-DCHANNELS_FITTED=CHANNELS_HW", "-DPERIODS=3", "-DZONE=-60"},
		"gravity and shared":     {"-DCOUPLING_FITTED=COUPLING_GRAVITY", "-DTIMING_FITTED=TIMING_SHARED", "-DCYCLE_FITTED=CYCLE_24H", "-DRESERVE=0", "-DBOOST_STEP=30"},
		"plain":                  {"-DLOCK=0", "-DHOLIDAY=0", "-DBOOST_LONGEST=0"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			status, stdout, stderr := hearthbench(t, "check", "--iut", "exec:"+buildSample(t, defines...))
			require.Equal(t, holds, status, stdout+stderr)
			require.Contains(t, stdout, "conformant, exactly")
		})
	}
}

// Every mistake in wrong_builds.txt is caught, and the report names its clause family.
func TestWrongBuildsAreCaught(t *testing.T) {
	list, err := os.ReadFile(filepath.Join(firmware, "wrong_builds.txt"))
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(list)), "\n")
	require.GreaterOrEqual(t, len(lines), 12)
	for _, line := range lines {
		fields := strings.Split(line, "\t")
		require.Len(t, fields, 3, line)
		name, family := fields[0], fields[1]
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			unit := buildSample(t, "-DBUG_"+name)
			status, stdout, stderr := hearthbench(t, "check", "--iut", "exec:"+unit, "--format", "json")
			require.Equal(t, doesNotHold, status, stderr)
			var report struct {
				Conformant bool
				Verdict    string
			}
			require.NoError(t, json.Unmarshal([]byte(stdout), &report))
			require.False(t, report.Conformant)
			require.Contains(t, report.Verdict, family)
		})
	}
}
