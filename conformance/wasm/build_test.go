package wasm

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/vectors"
)

const firmware = "../../testdata/firmware"

// clang returns a clang that can build modules.
func clang(tb testing.TB) string {
	tb.Helper()
	testtool.Need(tb, "wasm-ld", "lld")
	return testtool.Need(tb, "clang", "clang")
}

func command(tb testing.TB, env []string, name string, args ...string) {
	tb.Helper()
	c := exec.Command(name, args...)
	c.Env = append(os.Environ(), env...)
	text, err := c.CombinedOutput()
	require.NoError(tb, err, string(text))
}

// hostile builds testdata/hostile.c.
func hostile(tb testing.TB, flags ...string) []byte {
	tb.Helper()
	cc := clang(tb)
	output := filepath.Join(tb.TempDir(), "hostile.wasm")
	args := append([]string{"--target=wasm32-unknown-unknown", "-std=c99", "-Os", "-mbulk-memory", "-ffreestanding", "-nostdlib",
		"-Wall", "-Wextra", "-Werror", "-Wl,--no-entry,--stack-first,-z,stack-size=4096", "-o", output, "testdata/hostile.c"}, flags...)
	command(tb, nil, cc, args...)
	return read(tb, output)
}

func read(tb testing.TB, file string) []byte {
	tb.Helper()
	b, err := os.ReadFile(file)
	require.NoError(tb, err)
	return b
}

// wasmBuild builds the sample with macros set, and execBuild the same for the machine at hand.
func wasmBuild(tb testing.TB, defines ...string) []byte {
	tb.Helper()
	cc := clang(tb)
	output := filepath.Join(tb.TempDir(), "unit.wasm")
	command(tb, []string{"CC=" + cc, "CFLAGS="}, "sh", append([]string{filepath.Join(firmware, "wasm", "build-wasm.sh"), output}, defines...)...)
	return read(tb, output)
}

func execBuild(tb testing.TB, defines ...string) string {
	tb.Helper()
	cc := testtool.Need(tb, "gcc", "gcc")
	output := filepath.Join(tb.TempDir(), "unit")
	command(tb, []string{"CC=" + cc, "CFLAGS="}, "sh", append([]string{filepath.Join(firmware, "build.sh"), output}, defines...)...)
	return output
}

func published(tb testing.TB) *suite.Suite {
	tb.Helper()
	set, err := suite.Load(vectors.Files)
	require.NoError(tb, err)
	return set
}

// opened opens a module that is as it should be.
func opened(tb testing.TB, module []byte, o Options) *Unit {
	tb.Helper()
	u, err := Open(tb.Context(), "a module", module, o)
	require.NoError(tb, err)
	tb.Cleanup(func() { require.NoError(tb, u.Close()) })
	return u
}

// requests are requests as the protocol words them.
func requests(tb testing.TB, lines ...string) iut.Script {
	tb.Helper()
	var s iut.Script
	for _, line := range lines {
		switch n, isGo := strings.CutPrefix(line, "go "); {
		case line == wire.New:
			s = append(s, iut.Request{Kind: iut.New})
		case isGo:
			seconds, err := strconv.ParseUint(n, 10, 64)
			require.NoError(tb, err)
			s = append(s, iut.Request{Kind: iut.Go, Seconds: seconds})
		default:
			in, err := wire.ParseInput(line)
			require.NoError(tb, err)
			s = append(s, iut.Request{Kind: iut.Do, Input: in})
		}
	}
	return s
}
