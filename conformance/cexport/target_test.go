package cexport

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/emulator/spec"
)

// full is for the run of a release: minutes.
var full = flag.Bool("full", false, "put every build, and every vector, to the runner")

const firmware = "../../testdata/firmware"

// The runner is short enough to be read before it is trusted.
func TestRunnerIsShort(t *testing.T) {
	text, err := Runner(RunnerFile)
	require.NoError(t, err)
	require.Less(t, strings.Count(string(text), "\n"), 200)
	for _, word := range []string{"malloc", "stdio", "memset", "memcpy"} {
		require.NotContains(t, string(text), word)
	}
}

// sample opens a build of the sample that speaks the adapter protocol.
func sample(t *testing.T, defines ...string) iut.IUT {
	t.Helper()
	cc := testtool.Need(t, "gcc", "gcc")
	program := filepath.Join(t.TempDir(), "unit")
	run(t, []string{"CC=" + cc}, "sh", append([]string{filepath.Join(firmware, "build.sh"), program}, defines...)...)
	dialer, err := iut.Exec("'"+program+"'", os.Stderr)
	require.NoError(t, err)
	unit, err := iut.Open(context.Background(), dialer, iut.Options{Timeout: time.Minute})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, unit.Close()) })
	return unit
}

// run runs a program that has to succeed.
func run(t *testing.T, env []string, program string, args ...string) {
	t.Helper()
	c := exec.Command(program, args...)
	c.Env = append(os.Environ(), env...)
	text, err := c.CombinedOutput()
	require.NoError(t, err, string(text))
}

// export writes tables and runner into a new folder.
func export(t *testing.T, ics spec.ICS, vectors []*suite.Vector, names bool) (folder string) {
	t.Helper()
	tables, err := Encode(ics, vectors)
	require.NoError(t, err)
	folder = t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, TablesFile), []byte(write(t, tables, Head{Names: names})), 0o644))
	for _, name := range []string{RunnerFile, HeaderFile} {
		text, err := Runner(name)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), text, 0o644))
	}
	return folder
}

// onHost builds the sample with the vectors in it for this machine.
func onHost(t *testing.T, folder string, defines ...string) (program string) {
	t.Helper()
	cc := testtool.Need(t, "gcc", "gcc")
	program = filepath.Join(t.TempDir(), "vectors")
	run(t, []string{"CC=" + cc}, "sh", append([]string{filepath.Join(firmware, "on-target", "build.sh"), "host", program, folder}, defines...)...)
	return program
}

// departure is what is told of a vector.
type departure struct {
	vector       int
	id           string
	second, what string
	rest         string
}

var departs = regexp.MustCompile(`^departs (\d+) (\S+) second (\d+) (\w+)(?: (.*))?$`)

// departures runs a program of the sample with vectors in it. The exit status of the host's, and the last line of each, agree with the
// departures that it tells.
func departures(t *testing.T, vectors int, program string, args ...string) []departure {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute)
	defer cancel()
	text, _ := exec.CommandContext(ctx, program, args...).Output()
	lines := strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
	var list []departure
	for _, line := range lines[:len(lines)-1] {
		m := departs.FindStringSubmatch(line)
		require.NotNil(t, m, line)
		n, err := strconv.Atoi(m[1])
		require.NoError(t, err)
		list = append(list, departure{n, m[2], m[3], m[4], m[5]})
	}
	require.Equal(t, fmt.Sprintf("%d vectors, %d departed", vectors, len(list)), lines[len(lines)-1])
	return list
}

// applicable returns those of the vectors that an ICS calls for.
func applicable(ics spec.ICS, vectors []*suite.Vector) []*suite.Vector {
	var list []*suite.Vector
	for _, v := range vectors {
		if ok, _ := v.Applies(&ics); ok {
			list = append(list, v)
		}
	}
	return list
}

// hand returns the vectors that were derived by hand.
func hand(set *suite.Suite) []*suite.Vector {
	var list []*suite.Vector
	for _, v := range set.Vectors {
		if !v.IsGenerated() {
			list = append(list, v)
		}
	}
	return list
}

// The sample passes every vector that its ICS calls for, whatever it has and chooses; with -full it is put to the generated ones for
// every build, and else for the one that is as it comes.
func TestSamplePasses(t *testing.T) {
	set := published(t)
	for name, defines := range map[string][]string{
		"as it comes": nil,
		"every choice": {
			"-DOVERRIDE_ON_MODE_CHANGE_KEPT=1", "-DOVERRIDE_END_PROGRAMMED=1", "-DSECOND_BOOST_EXTENDS=1", "-DBOOST_IN_HOLIDAY_ALLOWED=1",
			"-DCLOCK_AFTER_RESET_UNSET=1", "-DTHROUGH_CUT_KEPT=1", "-DPAST_MIDNIGHT_WRAP=1", "-DBAD_VALUE_CLAMPED=1", "-DLOST_CLOCK_RESTARTS=1",
			"-DCYCLE_FITTED=CYCLE_5_2", "-DTIMING_FITTED=TIMING_SHARED", "-DCOUPLING_FITTED=COUPLING_GRAVITY", "-DZONE=60",
		},
		"heating only": {"-DCHANNELS_FITTED=CHANNELS_CH", "-DSUMMER_TIME=0", "-DPERIODS=1"},
		"plain":        {"-DLOCK=0", "-DHOLIDAY=0", "-DBOOST_LONGEST=0", "-DRESERVE=0"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			ics := sample(t, defines...).ICS()
			if defines == nil {
				full := spec.FullICS()
				full.Tolerances = ics.Tolerances
				require.Equal(t, full, ics, "the other tests take the sample for this unit")
			}
			vectors := set.Vectors
			if defines != nil && !*full {
				vectors = hand(set)
			}
			tested := len(applicable(ics, vectors))
			require.Greater(t, tested, 300)
			require.Empty(t, departures(t, tested, onHost(t, export(t, ics, vectors, true), defines...)))
		})
	}
}

// A wrong build departs from the same vectors, in the same seconds, as when it is checked over a link. With -full these are all.
func TestWrongBuildsDepartAsOverALink(t *testing.T) {
	names := []string{"HEATING_FIRST", "REFUSED_BOOST_ENDS_OVERRIDE", "LOCKED_OUT"}
	if *full {
		names = nil
		list, err := os.ReadFile(filepath.Join(firmware, "wrong_builds.txt"))
		require.NoError(t, err)
		for line := range strings.Lines(string(list)) {
			name, _, _ := strings.Cut(line, "\t")
			names = append(names, name)
		}
		require.Greater(t, len(names), 30)
	}
	vectors := hand(published(t))
	ics := spec.FullICS()
	folder := export(t, ics, vectors, true)
	tested := len(applicable(ics, vectors))
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			define := "-DBUG_" + name + "=1"
			unit := sample(t, define)
			want, orders := map[string]string{}, 0
			require.NoError(t, runner.Run(context.Background(), unit, vectors, func(r *runner.Result) {
				switch r.Verdict {
				case runner.Fail:
					want[r.Vector.ID] = strconv.FormatUint(r.Departure.At, 10)
					if r.Departure.Kind == runner.WrongOrder {
						orders++
					}
				case runner.Inconclusive:
					require.Nil(t, r.Trouble)
					want[r.Vector.ID] = "given"
				}
			}))
			require.NotEmpty(t, want)
			got := map[string]string{}
			for _, d := range departures(t, tested, onHost(t, folder, define)) {
				switch got[d.id] = d.second; d.what {
				case "given":
					got[d.id] = d.what
				case "order":
					orders--
				}
			}
			require.Equal(t, want, got)
			require.Zero(t, orders, "what comes in the wrong order is told as that")
		})
	}
}

// A departure is told with what it is, of a single vector too.
func TestDepartureIsTold(t *testing.T) {
	v := published(t).Vector("OVR-1/last-second-of-the-day")
	folder := export(t, spec.FullICS(), []*suite.Vector{v}, true)
	got := departures(t, 1, onHost(t, folder, "-DBUG_OVERRIDE_ENDS_AT_MIDNIGHT=1"))
	// The override at 23:59:59, 3599 s after the start, ends a second later instead of in the morning.
	require.Equal(t, []departure{{1, v.ID, "3600", "level", "hw expected 1 observed 0"}}, got)
}

// Without names it is the number that tells the vector, and that stands in the file.
func TestWithoutNames(t *testing.T) {
	vectors := hand(published(t))
	ics := spec.FullICS()
	folder := export(t, ics, vectors, false)
	list := departures(t, len(applicable(ics, vectors)), onHost(t, folder, "-DBUG_LOCKED_OUT=1"))
	require.NotEmpty(t, list)
	text, err := os.ReadFile(filepath.Join(folder, TablesFile))
	require.NoError(t, err)
	require.Contains(t, string(text), `hb_ids[] = "";`)
	for _, d := range list {
		require.Equal(t, "-", d.id)
		require.Contains(t, string(text), fmt.Sprintf("    /* %d: LCK-", d.vector))
	}
}

// Firmware that has no place from which to tell its changes can have its levels looked at.
func TestLevelsLookedAt(t *testing.T) {
	cc := testtool.Need(t, "gcc", "gcc")
	vectors := hand(published(t))
	ics := spec.FullICS()
	folder := export(t, ics, vectors, true)
	tested := len(applicable(ics, vectors))
	build := func(t *testing.T, define string) string {
		program := filepath.Join(t.TempDir(), "vectors")
		sources := []string{filepath.Join(folder, RunnerFile), "testdata/polled.c"}
		for _, name := range []string{"on-target/say.c", "on-target/host_main.c", "unit.c", "calendar.c"} {
			sources = append(sources, filepath.Join(firmware, name))
		}
		glue, err := filepath.Abs(filepath.Join(firmware, "on-target", "glue.c"))
		require.NoError(t, err)
		run(t, nil, cc, append([]string{
			"-std=c99", "-O1", "-Wall", "-Wextra", "-Werror", "-pedantic", "-I" + folder, `-DGLUE="` + glue + `"`, define, "-o", program,
		}, sources...)...)
		return program
	}
	require.Empty(t, departures(t, tested, build(t, "-DBUG_HEATING_FIRST=0")))
	require.NotEmpty(t, departures(t, tested, build(t, "-DBUG_OFF_A_MINUTE_LATE=1")))
}

// A unit that does nothing, or nonsense, departs, and the runner comes to its end.
func TestUnitsThatAreNone(t *testing.T) {
	cc := testtool.Need(t, "gcc", "gcc")
	vectors := hand(published(t))[:100]
	ics := spec.FullICS()
	folder := export(t, ics, vectors, true)
	tested := len(applicable(ics, vectors))
	for define, want := range map[string]map[string]bool{
		"-DPASSED=0":        {"time": true, "start": true, "reply": true, "level": true},
		"-DPASSED=(most+1)": {"time": true, "start": true, "reply": true, "level": true},
		"-DOUTCOME=77":      {"given": true},
		"-DLEVEL=3":         {"start": true},
		"-DCHATTER=100":     {"level": true, "start": true, "reply": true, "order": true},
	} {
		t.Run(define, func(t *testing.T) {
			program := filepath.Join(t.TempDir(), "vectors")
			run(t, nil, cc, "-std=c99", "-O1", "-fsanitize=address,undefined", "-Wall", "-Wextra", "-Werror", "-pedantic", "-I"+folder, "-I"+firmware+"/on-target", define, "-o", program,
				filepath.Join(folder, RunnerFile), "testdata/liar.c", filepath.Join(firmware, "on-target", "say.c"), filepath.Join(firmware, "on-target", "host_main.c"))
			list := departures(t, tested, program)
			require.Greater(t, len(list), tested/2)
			for _, d := range list {
				require.True(t, want[d.what], "%+v", d)
			}
		})
	}
}

// The sample with vectors in it on a Cortex-M3, in 32 KiB of flash and 4 KiB of RAM: what the linker script leaves no room for does not
// link. With -full these are all vectors that were derived by hand, in two builds so that there is room for more of them.
func TestOnACortexM3(t *testing.T) {
	var parts [2][]*suite.Vector
	for i, v := range hand(published(t)) {
		if *full {
			parts[i%2] = append(parts[i%2], v)
		} else if f := v.Family(); f == "MOD" || f == "BST" || f == "CPL" {
			parts[0] = append(parts[0], v)
		}
	}
	for i, vectors := range parts {
		if len(vectors) > 0 {
			t.Run(fmt.Sprintf("part %d", i+1), func(t *testing.T) { onACortexM3(t, vectors) })
		}
	}
}

func onACortexM3(t *testing.T, vectors []*suite.Vector) {
	cc := testtool.Need(t, "arm-none-eabi-gcc", "gcc-arm-none-eabi")
	size := testtool.Need(t, "arm-none-eabi-size", "binutils-arm-none-eabi")
	qemu := testtool.Need(t, "qemu-system-arm", "qemu-system-arm")
	ics := spec.FullICS()
	folder := export(t, ics, vectors, false)
	tested := len(applicable(ics, vectors))
	require.Greater(t, tested, 100)
	build := func(t *testing.T, defines ...string) []string {
		program := filepath.Join(t.TempDir(), "vectors.elf")
		run(t, []string{"CC=" + cc}, "sh", append([]string{filepath.Join(firmware, "on-target", "build.sh"), "board", program, folder}, defines...)...)
		text, err := exec.Command(size, program).Output()
		require.NoError(t, err)
		t.Logf("%d vectors: %s", tested, text)
		return []string{"-M", "mps2-an385", "-nographic", "-monitor", "none", "-serial", "stdio", "-no-reboot", "-kernel", program}
	}
	require.Empty(t, departures(t, tested, qemu, build(t)...))

	const define = "-DBUG_BOOST_BY_THE_MINUTE=1"
	here := departures(t, tested, onHost(t, folder, define))
	require.Greater(t, len(here), 5)
	require.Equal(t, here, departures(t, tested, qemu, build(t, define)...))
}
