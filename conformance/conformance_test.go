package conformance_test

import (
	"context"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance"
	"example.org/hearthbench/conformance/faults"
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
	"example.org/hearthbench/vectors"
)

// chosen names, in the environment of a test program that a test of this file starts, the device that TestUnit then tests.
const chosen = "HEARTHBENCH_TEST_DEVICE"

// device returns the example's, a faulty one by the fault's id, or one that is broken in some other way.
func device(t *testing.T, name string) (spec.ICS, func(spec.ICS) wire.Device) {
	switch name {
	case "":
		return statement(), newUnit
	case "panics":
		return statement(), func(ics spec.ICS) wire.Device { return &panics{newUnit(ics)} }
	case "invalid":
		ics := statement()
		ics.Periods, ics.BoostStep = 0, 7
		return ics, newUnit
	}
	for _, f := range faults.Catalogue() {
		if f.ID == name {
			return f.ICS(), func(ics spec.ICS) wire.Device { return f.Unit(ics) }
		}
	}
	t.Fatalf("there is no device '%s'", name)
	return spec.ICS{}, nil
}

// panics is a device that cannot stand a holiday.
type panics struct{ wire.Device }

func (p *panics) Do(in spec.Input, changes []spec.Change) (spec.Reply, []spec.Change) {
	if in.Kind == spec.Holiday {
		panic("no holiday")
	}
	return p.Device.Do(in, changes)
}

// The example's device passes.
func TestUnit(t *testing.T) {
	ics, newDevice := device(t, os.Getenv(chosen))
	conformance.Test(t, ics, newDevice)
}

var ended = regexp.MustCompile(`(?m)^ *--- (PASS|FAIL|SKIP): TestUnit/(\S+) `)

// testUnit runs TestUnit in a test program of its own, and returns what became of each vector and all that was told.
func testUnit(t *testing.T, name, run string) (outcomes map[string]string, output string, passed bool) {
	t.Helper()
	c := exec.Command(os.Args[0], "-test.v", "-test.run", run)
	c.Env = append(os.Environ(), chosen+"="+name)
	text, err := c.CombinedOutput()
	outcomes = map[string]string{}
	for _, m := range ended.FindAllStringSubmatch(string(text), -1) {
		outcomes[m[2]] = m[1]
	}
	return outcomes, string(text), err == nil
}

// A faulty device fails the vectors that 'check' fails, passes and skips the others, and each failure is told with its clause.
func TestFaultyDeviceFails(t *testing.T) {
	set, err := suite.Load(vectors.Files)
	require.NoError(t, err)
	for _, name := range []string{"BST/a-second-long", "OVR/latched"} {
		t.Run(name, func(t *testing.T) {
			ics, newDevice := device(t, name)
			words := map[runner.Verdict]string{runner.Pass: "PASS", runner.Fail: "FAIL", runner.NotApplicable: "SKIP"}
			want := map[string]string{}
			count := map[string]int{}
			require.NoError(t, runner.Run(context.Background(), iut.InProcess(name, ics, newDevice), set.Vectors, func(r *runner.Result) {
				want[r.Vector.ID] = words[r.Verdict]
				count[words[r.Verdict]]++
			}))
			require.Greater(t, count["FAIL"], 0)
			require.Greater(t, count["PASS"], 1000)
			require.Greater(t, count["SKIP"], 10)

			got, output, passed := testUnit(t, name, "^TestUnit$")
			require.False(t, passed)
			require.Equal(t, want, got)
			require.Equal(t, count["FAIL"], strings.Count(output, "        FAIL  "), "each failure is told")
			require.Equal(t, count["FAIL"], strings.Count(output, "  departs   "))
			require.Equal(t, count["SKIP"], strings.Count(output, "not applicable: needs "))
		})
	}
}

// A clause, or a vector, is picked as any subtest is.
func TestOneClause(t *testing.T) {
	got, output, passed := testUnit(t, "", "^TestUnit$/^OVR-2$/")
	require.True(t, passed, output)
	require.Greater(t, len(got), 3)
	for id := range got {
		require.True(t, strings.HasPrefix(id, "OVR-2/"), id)
	}
}

// A device that panics fails the vectors in which it does, and no others.
func TestDeviceThatPanics(t *testing.T) {
	got, output, passed := testUnit(t, "panics", "^TestUnit$/^(HOL-2|MOD-1)$/")
	require.False(t, passed)
	require.Contains(t, output, "panic: no holiday")
	count := map[string]int{}
	for id, outcome := range got {
		count[id[:3]+" "+outcome]++
	}
	require.Greater(t, count["HOL FAIL"], 1, output)
	require.Greater(t, count["MOD PASS"], 1)
	require.Zero(t, count["MOD FAIL"])
}

// A statement that is not valid says what is wrong with it, and nothing is tested.
func TestInvalidStatement(t *testing.T) {
	got, output, passed := testUnit(t, "invalid", "^TestUnit$")
	require.False(t, passed)
	require.Empty(t, got)
	require.Contains(t, output, "the conformance statement is not valid")
	require.Contains(t, output, "periods")
	require.Contains(t, output, "boost-longest")
}
