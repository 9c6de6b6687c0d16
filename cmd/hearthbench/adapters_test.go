package main

import (
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/conformance/wasm"
)

// buildModule builds the sample firmware as a WebAssembly module.
func buildModule(tb testing.TB, defines ...string) string {
	tb.Helper()
	cc := testtool.Need(tb, "clang", "clang")
	testtool.Need(tb, "wasm-ld", "lld")
	output := filepath.Join(tb.TempDir(), "unit.wasm")
	build := exec.Command("sh", append([]string{filepath.Join(firmware, "wasm", "build-wasm.sh"), output}, defines...)...)
	build.Env = append(os.Environ(), "CC="+cc, "CFLAGS=")
	text, err := build.CombinedOutput()
	require.NoError(tb, err, string(text))
	return output
}

// onSocket serves a program on a TCP port, a process for each connection, until the test ends.
func onSocket(tb testing.TB, program string) (address string) {
	tb.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(tb, err)
	var running sync.WaitGroup
	tb.Cleanup(func() {
		listener.Close()
		running.Wait()
	})
	running.Go(func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			file, err := conn.(*net.TCPConn).File()
			conn.Close()
			if err != nil {
				tb.Error(err)
				return
			}
			unit := exec.Command(program)
			unit.Stdin, unit.Stdout, unit.Stderr = file, file, os.Stderr
			running.Go(func() {
				defer file.Close()
				if err := unit.Run(); err != nil {
					tb.Errorf("%s on a socket: %v", program, err)
				}
			})
		}
	})
	return listener.Addr().String()
}

// adapter is a way to the sample firmware.
type adapter struct {
	name string
	open func(tb testing.TB) iut.IUT
}

// adapters are all ways to a build of the sample firmware, but for QEMU, in which a byte costs so much that the set would take minutes: see
// TestCortexM3WrongBuild.
func adapters(tb testing.TB, defines ...string) []adapter {
	tb.Helper()
	program, module := buildSample(tb, defines...), buildModule(tb, defines...)
	target := func(target func(tb testing.TB) string) func(testing.TB) iut.IUT {
		return func(tb testing.TB) iut.IUT {
			u, err := openTarget(tb.Context(), target(tb), time.Minute, os.Stderr)
			require.NoError(tb, err)
			return u
		}
	}
	all := []adapter{
		{"exec", target(func(testing.TB) string { return "exec:'" + program + "'" })},
		{"exec, lock-step", func(tb testing.TB) iut.IUT {
			dialer, err := iut.Exec("'"+program+"'", os.Stderr)
			require.NoError(tb, err)
			u, err := iut.Open(tb.Context(), dialer, iut.Options{Timeout: time.Minute, Ahead: 1})
			require.NoError(tb, err)
			return u
		}},
		{"tcp", target(func(tb testing.TB) string { return "tcp:" + onSocket(tb, program) })},
		{"wasm", target(func(testing.TB) string { return "wasm:" + module })},
		{"wasm, text", func(tb testing.TB) iut.IUT {
			binary, err := os.ReadFile(module)
			require.NoError(tb, err)
			u, err := wasm.Open(tb.Context(), module, binary, wasm.Options{Timeout: time.Minute, Text: true})
			require.NoError(tb, err)
			return u
		}},
	}
	if onPort != nil {
		all = append(all,
			adapter{"serial", target(func(tb testing.TB) string { return "serial:" + onPort(tb, program) })},
			adapter{"serial, ahead", target(func(tb testing.TB) string { return "serial:" + onPort(tb, program) + ",ahead=32" })})
	}
	return all
}

// derived is the part of the set that a person has derived.
func derived(tb testing.TB) (vs []*suite.Vector) {
	tb.Helper()
	set, _, err := loadVectors("")
	require.NoError(tb, err)
	for _, v := range set.Vectors {
		if !v.IsGenerated() {
			vs = append(vs, v)
		}
	}
	return vs
}

// verdicts are what is said of each vector, departures in full, and how often each verdict is given.
func verdicts(tb testing.TB, u iut.IUT, vs []*suite.Vector) (all map[string]string, count map[runner.Verdict]int) {
	tb.Helper()
	all, count = map[string]string{}, map[runner.Verdict]int{}
	require.NoError(tb, runner.Run(tb.Context(), u, vs, func(r *runner.Result) {
		count[r.Verdict]++
		text := fmt.Sprintf("%v, exactly %v, %s", r.Verdict, r.Exact, r.Why)
		if d := r.Departure; d != nil {
			text += fmt.Sprintf(" %d %d %d %v", d.Kind, d.At, d.Step, d.Reply)
			if d.Expected != nil {
				text += fmt.Sprintf(" expected %+v", *d.Expected)
			}
			if d.Observed != nil {
				text += fmt.Sprintf(" observed %d %d %d", d.Observed.At, d.Observed.Signal, d.Observed.Level)
			}
		}
		all[r.Vector.ID] = text
	}))
	require.NoError(tb, u.Close())
	require.Len(tb, all, len(vs))
	return all, count
}

// A build of the sample gets the same verdict on each hand-derived vector, to the departure, however the bench comes to it; the right build the
// same as the emulator in this process.
func TestAdaptersAgree(t *testing.T) {
	vs := derived(t)
	want, count := verdicts(t, func() iut.IUT {
		u, err := openTarget(t.Context(), "emulator", time.Minute, io.Discard)
		require.NoError(t, err)
		return u
	}(), vs)
	require.Greater(t, count[runner.Pass], 500)
	require.Zero(t, count[runner.Fail]+count[runner.Inconclusive])
	inProcess := want
	for _, bug := range []string{"", "OVERRIDE_STORES_END", "BOOST_ON_CIVIL_CLOCK"} {
		t.Run("build "+bug, func(t *testing.T) {
			var defines []string
			want := inProcess
			if bug != "" {
				defines, want = []string{"-DBUG_" + bug + "=1"}, nil
			}
			checkLeaks(t)
			for _, a := range adapters(t, defines...) {
				if a.name == "serial" || a.name == "exec, lock-step" { // as those that send ahead, and slow
					continue
				}
				got, count := verdicts(t, a.open(t), vs)
				if want == nil {
					require.Greater(t, count[runner.Fail], 5)
					require.Greater(t, count[runner.Pass], 300)
					want = got
				}
				require.Zero(t, count[runner.Inconclusive], a.name)
				if diff := cmp.Diff(want, got); diff != "" {
					t.Errorf("%s: -before +%s\n%s", a.name, a.name, diff)
				}
			}
		})
	}
	if onPort == nil {
		return
	}
	// A board without a buffer, which is waited for after each request: some of the set, since that is slow.
	var some []*suite.Vector
	for i := 0; i < len(vs); i += 16 {
		some = append(some, vs[i])
	}
	u, err := openTarget(t.Context(), "serial:"+onPort(t, buildSample(t)), time.Minute, io.Discard)
	require.NoError(t, err)
	got, _ := verdicts(t, u, some)
	for id, verdict := range got {
		require.Equal(t, inProcess[id], verdict, id)
	}
}
