//go:build unix

package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// stuckUnit names the folder in which TestStuckUnit, run as a child, leaves a file with its process id when it is stuck.
const stuckUnit = "HEARTHBENCH_TEST_STUCK_UNIT"

// stuckAfter is how many vectors it answers before: enough for the answers to the first of them to have been sent.
const stuckAfter = 300

// TestStuckUnit is no test but a unit, when it is run with the variable set: the emulator, which hangs for good at a vector.
func TestStuckUnit(t *testing.T) {
	folder := os.Getenv(stuckUnit)
	if folder == "" {
		t.Skip("it is the unit of TestInterruptKeepsWhatIsDone")
	}
	made := 0
	err := wire.Serve(os.Stdin, os.Stdout, spec.FullICS(), func(ics spec.ICS) wire.Device {
		if made++; made == stuckAfter {
			if err := os.WriteFile(filepath.Join(folder, strconv.Itoa(os.Getpid())), nil, 0o600); err != nil {
				panic(err)
			}
			time.Sleep(5 * time.Minute) // no longer, lest it outlive a test that goes wrong
		}
		return oracle.Emulator(ics)
	})
	if err != nil {
		os.Exit(1)
	}
	os.Exit(0)
}

// stuck returns the process ids of the units that are stuck.
func stuck(tb testing.TB, folder string) (pids []int) {
	tb.Helper()
	files, err := os.ReadDir(folder)
	require.NoError(tb, err)
	for _, file := range files {
		pid, err := strconv.Atoi(file.Name())
		require.NoError(tb, err)
		pids = append(pids, pid)
	}
	return pids
}

// Ctrl-C on the program as it is built: it tells what has been done, on the screen and in every report, and leaves no child.
func TestInterruptKeepsWhatIsDone(t *testing.T) {
	program := filepath.Join(t.TempDir(), "hearthbench")
	out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput()
	require.NoError(t, err, string(out))
	self, err := os.Executable()
	require.NoError(t, err)
	for _, jobs := range []int{1, 2} {
		t.Run("jobs "+strconv.Itoa(jobs), func(t *testing.T) {
			t.Parallel()
			folder, reports := t.TempDir(), t.TempDir()
			c := exec.Command(program, "check", "--iut", "exec:'"+self+"' '-test.run=^TestStuckUnit$'", "--timeout", "1h", "--jobs", strconv.Itoa(jobs),
				"--report", "json="+filepath.Join(reports, "a.json"), "--report", "tap="+filepath.Join(reports, "a.tap"),
				"--report", "junit="+filepath.Join(reports, "a.xml"), "--report", "html="+filepath.Join(reports, "a.html"),
				"--write-known", filepath.Join(reports, "known.txt"))
			c.Env = append(os.Environ(), stuckUnit+"="+folder)
			var stdout, stderr bytes.Buffer
			c.Stdout, c.Stderr = &stdout, &stderr
			require.NoError(t, c.Start())
			ended := make(chan struct{})
			go func() {
				_ = c.Wait() // how it ended is in ProcessState
				close(ended)
			}()
			t.Cleanup(func() {
				_ = c.Process.Kill() // an error means that it has ended, as it should
				<-ended
			})
			for len(stuck(t, folder)) < jobs {
				select {
				case <-ended:
					require.Fail(t, "it ended too early", "%s%s", stdout.String(), stderr.String())
				case <-time.After(20 * time.Millisecond):
				}
			}
			require.NoError(t, c.Process.Signal(os.Interrupt))
			<-ended
			require.Equal(t, couldNotRun, c.ProcessState.ExitCode(), stderr.String())
			for _, pid := range stuck(t, folder) {
				require.ErrorIs(t, syscall.Kill(pid, 0), syscall.ESRCH, "the child has ended")
			}

			require.Contains(t, stdout.String(), "\nverdict  none: the run ended after ")
			require.Contains(t, stderr.String(), "hearthbench: --write-known "+filepath.Join(reports, "known.txt")+": the run did not come to its end, so nothing is written\n")
			require.Contains(t, stderr.String(), "interrupted after ")
			require.NoFileExists(t, filepath.Join(reports, "known.txt"))
			var report struct {
				Complete, Conformant, Holds bool
				Vectors                     struct{ Planned, Count int }
				Counts                      struct{ Pass, Fail, Inconclusive int }
				Results                     []struct{ Verdict string }
			}
			require.NoError(t, json.Unmarshal([]byte(read(t, filepath.Join(reports, "a.json"))), &report))
			require.False(t, report.Complete || report.Conformant || report.Holds)
			require.Greater(t, report.Counts.Pass, 50)
			require.Zero(t, report.Counts.Fail+report.Counts.Inconclusive, "what was under way has no verdict")
			require.Len(t, report.Results, report.Vectors.Count)
			require.Greater(t, report.Vectors.Planned, report.Vectors.Count)
			words := "the run ended after " + strconv.Itoa(report.Vectors.Count) + " of " + strconv.Itoa(report.Vectors.Planned) + " vectors"
			require.Contains(t, stdout.String(), words)
			require.Contains(t, read(t, filepath.Join(reports, "a.tap")), "\nBail out! "+words+"\n")
			require.Contains(t, read(t, filepath.Join(reports, "a.xml")), `<error message="`+words+`">`)
			require.Contains(t, read(t, filepath.Join(reports, "a.html")), "Interrupted: "+words)
			left, err := os.ReadDir(reports)
			require.NoError(t, err)
			var names []string
			for _, file := range left {
				names = append(names, file.Name())
			}
			require.Equal(t, "a.html a.json a.tap a.xml", strings.Join(names, " "), "nothing half-written")
		})
	}
}
