package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/testtool"
)

// cortexM3 builds the sample for a Cortex-M3 and returns the target that runs it in QEMU.
func cortexM3(tb testing.TB, defines ...string) string {
	tb.Helper()
	cc := testtool.Need(tb, "arm-none-eabi-gcc", "gcc-arm-none-eabi")
	qemu := testtool.Need(tb, "qemu-system-arm", "qemu-system-arm")
	unit := filepath.Join(tb.TempDir(), "unit.elf")
	build := exec.Command("sh", append([]string{filepath.Join(firmware, "cortex-m3", "build-arm.sh"), unit}, defines...)...)
	build.Env = append(os.Environ(), "CC="+cc)
	text, err := build.CombinedOutput()
	require.NoError(tb, err, string(text))
	return "exec:'" + qemu + "' -M mps2-an385 -nographic -monitor none -serial stdio -no-reboot -kernel '" + unit + "'"
}

// The sample on a Cortex-M3 conforms, in QEMU. A byte costs QEMU so much that the whole set would take some minutes: here it
// is a part spread evenly over it, one in 32 vectors, and with CI=true one in 12.
func TestCortexM3Conforms(t *testing.T) {
	target := cortexM3(t)
	set, _, err := loadVectors("")
	require.NoError(t, err)
	stride := 32
	if os.Getenv("CI") == "true" {
		stride = 12
	}
	var halves [2][]string
	for i := stride / 2; i < len(set.Vectors); i += stride {
		halves[i/stride%2] = append(halves[i/stride%2], set.Vectors[i].ID)
	}
	for i, half := range halves {
		t.Run([]string{"even", "odd"}[i], func(t *testing.T) {
			t.Parallel()
			require.Greater(t, len(half), 50)
			status, stdout, stderr := hearthbench(t, "check", "--timeout", "60s", "--iut", target, "--only", strings.Join(half, ","))
			require.Equal(t, holds, status, stdout+stderr)
			require.Contains(t, stdout, "conformant, exactly")
			require.Empty(t, stderr, "QEMU ends by itself at bye")
		})
	}
}

// A wrong build is told by the same vectors whether it runs here or on a Cortex-M3.
func TestCortexM3WrongBuild(t *testing.T) {
	const define = "-DBUG_BOOST_BY_THE_MINUTE=1"
	target := cortexM3(t, define)
	var boosts []*suite.Vector
	for _, v := range derived(t) {
		if v.Family() == "BST" {
			boosts = append(boosts, v)
		}
	}
	ask := func(target string) (map[string]string, map[runner.Verdict]int) {
		u, err := openTarget(t.Context(), target, time.Minute, os.Stderr)
		require.NoError(t, err)
		return verdicts(t, u, boosts)
	}
	here, count := ask("exec:" + buildSample(t, define))
	require.Greater(t, count[runner.Fail], 5)
	require.Greater(t, count[runner.Pass], 20)
	require.Zero(t, count[runner.Inconclusive])
	there, _ := ask(target)
	require.Empty(t, cmp.Diff(here, there))
}
