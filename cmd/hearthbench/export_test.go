package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/cexport"
	"example.org/hearthbench/conformance/wire"
)

// exportC runs 'vectors export --format c', which has to succeed, and returns what it has written.
func exportC(t *testing.T, out string, args ...string) (tables, stdout string) {
	t.Helper()
	status, stdout, stderr := hearthbench(t, append([]string{"vectors", "export", "--format", "c", "--out", out}, args...)...)
	require.Equal(t, holds, status, stderr)
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	return string(text), stdout
}

var tableID = regexp.MustCompile(`(?m)^    /\* \d+: (\S+) \*/$`)

// The vectors of a clause are exported alone, and are those that check would put to the unit.
func TestExportOfAClause(t *testing.T) {
	out := filepath.Join(t.TempDir(), "tables.h")
	text, stdout := exportC(t, out, "--iut", "emulator", "--only", "CLK-5/*,OVR-2")
	require.Contains(t, text, "Kept to: CLK-5/ * OVR-2.")
	set, _, err := loadVectors("")
	require.NoError(t, err)
	picked, err := pick(set, []string{"CLK-5/*", "OVR-2"})
	require.NoError(t, err)
	ics, err := emulatorICS("")
	require.NoError(t, err)
	var want, got []string
	for _, v := range picked {
		if ok, _ := v.Applies(&ics); ok {
			want = append(want, v.ID)
		}
	}
	for _, m := range tableID.FindAllStringSubmatch(text, -1) {
		got = append(got, m[1])
	}
	require.Greater(t, len(want), 10)
	require.Equal(t, want, got)
	require.Contains(t, stdout, out+": ")

	// The same again gives the same bytes, in the place of the first.
	again, _ := exportC(t, out, "--iut", "emulator", "--only", "CLK-5/*,OVR-2")
	require.True(t, text == again)
}

// An ICS that is stated gives the tables of a unit that states it.
func TestExportForAStatedICS(t *testing.T) {
	const options = "past-midnight=wrap,periods=3,cycle=5/2,credential=00120099"
	ics, err := emulatorICS(options)
	require.NoError(t, err)
	folder := t.TempDir()
	lines := filepath.Join(folder, "unit.ics")
	require.NoError(t, os.WriteFile(lines, wire.AppendICS(nil, ics), 0o644))
	out := filepath.Join(folder, "tables.h")
	only := []string{"--vectors", "../../vectors/hand/lck.json", "--only", "LCK-6,LCK-7"}
	asked, _ := exportC(t, out, append(only, "--iut", "emulator:"+options)...)
	named, _ := exportC(t, out, append(only, "--ics", options)...)
	read, _ := exportC(t, out, append(only, "--ics", lines)...)
	require.True(t, asked == named)
	require.True(t, asked == read)
	require.Contains(t, asked, "ics past-midnight wrap")
	require.Contains(t, asked, `"00120099"`)
	require.NotContains(t, asked, "ics credential")
}

func TestExportWithRunner(t *testing.T) {
	folder := t.TempDir()
	out := filepath.Join(folder, cexport.TablesFile)
	args := []string{"--iut", "emulator", "--vectors", "../../vectors/hand/mod.json", "--runner", "--names=false"}
	_, stdout := exportC(t, out, args...)
	for _, name := range []string{cexport.TablesFile, cexport.RunnerFile, cexport.HeaderFile} {
		require.Contains(t, stdout, filepath.Join(folder, name))
		require.FileExists(t, filepath.Join(folder, name))
	}
	// It can be written again, but not over a runner that somebody has changed, and then nothing is.
	exportC(t, out, args...)
	before, err := os.ReadFile(out)
	require.NoError(t, err)
	header := filepath.Join(folder, cexport.HeaderFile)
	require.NoError(t, os.WriteFile(header, []byte("mine"), 0o644))
	status, _, stderr := hearthbench(t, "vectors", "export", "--format", "c", "--out", out, "--iut", "emulator", "--vectors", "../../vectors/hand/out.json", "--runner")
	require.Equal(t, couldNotRun, status)
	require.Contains(t, stderr, "hb_runner.h is there and differs from this version's")
	after, err := os.ReadFile(out)
	require.NoError(t, err)
	require.True(t, string(before) == string(after))
	left, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Len(t, left, 3)
}

func TestMistakesOfExport(t *testing.T) {
	folder := t.TempDir()
	mine := filepath.Join(folder, "mine.h")
	require.NoError(t, os.WriteFile(mine, []byte("int mine;\n"), 0o644))
	bad := filepath.Join(folder, "bad.ics")
	require.NoError(t, os.WriteFile(bad, []byte("ics periods 3\n\nics periods many\n"), 0o644))
	short := filepath.Join(folder, "short.ics")
	require.NoError(t, os.WriteFile(short, []byte("ics periods 3\r\n"), 0o644))
	out := filepath.Join(folder, "out.h")
	for _, c := range []struct{ args, want string }{
		{"", "name a new folder, or write --format c"},
		{"--out " + out, "--out goes with --format c"},
		{"--names=false set", "--names goes with --format c"},
		{"--format json", "--format json: it is files or c"},
		{"--format c", "--out is needed"},
		{"--format c set --out " + out, "'set' is one word too many"},
		{"--format c --out " + out, "the unit's ICS is needed"},
		{"--format c --iut emulator --ics periods=3 --out " + out, "one too many"},
		{"--format c --iut parallel --out " + out, "'parallel' is no kind of implementation"},
		{"--format c --iut emulator --timeout 0s --out " + out, "more than 0"},
		{"--format c --ics periods=7 --out " + out, "--ics periods=7: "},
		{"--format c --ics no-such-file --out " + out, "no-such-file"},
		{"--format c --ics " + bad + " --out " + out, "bad.ics:3: "},
		{"--format c --ics " + short + " --out " + out, "short.ics: "},
		{"--format c --iut emulator --only OVR-99 --out " + out, "no vector has that"},
		{"--format c --ics holiday=no,boost-longest=0,summer-time=none,periods=1 --only MOD-5 --out " + out, "calls for none of these vectors"},
		{"--format c --iut emulator --only MOD --out " + mine, "mine.h is there and is no export"},
		{"--format c --iut emulator --only MOD --runner --out " + out, "with --runner the file has that name"},
		{"--format c --iut emulator --only MOD --out " + filepath.Join(folder, "no-such-folder", "out.h"), "no-such-folder"},
		{"--format c --iut emulator --only MOD --out " + folder, folder},
	} {
		t.Run(c.args, func(t *testing.T) {
			args := append([]string{"vectors", "export"}, strings.Fields(c.args)...)
			if strings.HasPrefix(c.args, "--format c") {
				args = append(args, "--vectors", "../../vectors/hand/mod.json")
			}
			status, stdout, stderr := hearthbench(t, args...)
			require.Equal(t, couldNotRun, status, stdout)
			require.Contains(t, stderr, c.want)
		})
	}
	left, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Len(t, left, 3, "nothing half-written")
	text, err := os.ReadFile(mine)
	require.NoError(t, err)
	require.Equal(t, "int mine;\n", string(text))
}
