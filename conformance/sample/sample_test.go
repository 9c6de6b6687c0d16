package sample_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/sample"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/conformance/wasm"
	"example.org/hearthbench/vectors"
)

// refresh is what to do when the sample's sources or its compiler have changed.
const refresh = "refresh it with: sh testdata/firmware/wasm/build-wasm.sh conformance/sample/sample.wasm"

// producer is the compiler's version as it stands in a module that it made.
var producer = regexp.MustCompile(`clang[^\x00-\x1f]*[\x00-\x1f]([0-9]+\.[0-9]+\.[0-9]+)`)

func compiler(module []byte) string {
	if m := producer.FindSubmatch(module); m != nil {
		return string(m[1])
	}
	return "unknown"
}

// The module is what the sources make: built again it passes the published set and, by the same compiler, is the same to the byte.
func TestModuleIsWhatTheSourcesMake(t *testing.T) {
	testtool.Need(t, "wasm-ld", "lld")
	cc := testtool.Need(t, "clang", "clang")
	output := filepath.Join(t.TempDir(), "sample.wasm")
	build := exec.Command("sh", "../../testdata/firmware/wasm/build-wasm.sh", output)
	build.Env = append(os.Environ(), "CC="+cc, "CFLAGS=")
	text, err := build.CombinedOutput()
	require.NoError(t, err, string(text))
	rebuilt, err := os.ReadFile(output)
	require.NoError(t, err)

	if ours, theirs := compiler(sample.Module), compiler(rebuilt); ours == theirs {
		require.NotEqual(t, "unknown", ours)
		require.True(t, bytes.Equal(sample.Module, rebuilt), "sample.wasm is not what clang %s makes of the sources; %s", ours, refresh)
	} else {
		t.Logf("sample.wasm was made by clang %s, and this is %s: bytes are not compared", ours, theirs)
	}

	set, err := suite.Load(vectors.Files)
	require.NoError(t, err)
	u, err := wasm.Open(t.Context(), "the rebuilt sample", rebuilt, wasm.Options{})
	require.NoError(t, err)
	defer u.Close()
	passed := 0
	require.NoError(t, runner.Run(t.Context(), u, set.Vectors, func(r *runner.Result) {
		switch r.Verdict {
		case runner.Pass:
			passed++
		case runner.Fail, runner.Inconclusive:
			t.Errorf("%s: %s %s", r.Vector.ID, r.Verdict, r.Why)
		}
	}))
	require.Greater(t, passed, 500)
}

// No module for everybody's bench should be larger than it need be.
func TestModuleIsSmall(t *testing.T) {
	require.Less(t, len(sample.Module), 40<<10)
}
