package main

import (
	"encoding/json"
	"encoding/xml"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
)

// spoilt writes vectors of OVR of which the first n expect nothing to happen, so that the emulator fails most of them, and returns the path.
func spoilt(tb testing.TB, n int) string {
	tb.Helper()
	data, err := os.ReadFile("../../vectors/hand/ovr.json")
	require.NoError(tb, err)
	var file map[string]any
	require.NoError(tb, json.Unmarshal(data, &file))
	for _, v := range file["vectors"].([]any)[:n] {
		v.(map[string]any)["trace"] = []any{}
	}
	data, err = json.Marshal(file)
	require.NoError(tb, err)
	path := filepath.Join(tb.TempDir(), "mine.json")
	require.NoError(tb, os.WriteFile(path, data, 0o600))
	return path
}

func read(tb testing.TB, path string) string {
	tb.Helper()
	data, err := os.ReadFile(path)
	require.NoError(tb, err)
	return string(data)
}

// One run writes every format beside what it shows, and all say the same.
func TestCheckWritesReports(t *testing.T) {
	folder := t.TempDir()
	args := []string{"check", "--iut", "emulator", "--vectors", spoilt(t, 40)}
	for _, format := range []string{"json", "tap", "junit", "html"} {
		args = append(args, "--report", format+"="+filepath.Join(folder, "report."+format))
	}
	status, stdout, stderr := hearthbench(t, args...)
	require.Equal(t, doesNotHold, status, stderr)
	require.Contains(t, stdout, "verdict  not conformant: OVR\n")

	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(read(t, filepath.Join(folder, "report.json"))))
	require.NoError(t, err)
	status, schema, _ := hearthbench(t, "check", "--report-schema")
	require.Equal(t, holds, status)
	schemaDoc, err := jsonschema.UnmarshalJSON(strings.NewReader(schema))
	require.NoError(t, err)
	compiler := jsonschema.NewCompiler()
	require.NoError(t, compiler.AddResource("schema", schemaDoc))
	require.NoError(t, compiler.MustCompile("schema").Validate(doc))
	top := doc.(map[string]any)
	require.Equal(t, "emulator", top["iut"])
	require.Equal(t, "not conformant: OVR", top["verdict"])
	require.NotEmpty(t, top["tool"].(map[string]any)["version"])
	require.Contains(t, top["vectors"].(map[string]any)["source"], "mine.json")
	fails := top["counts"].(map[string]any)["fail"].(json.Number).String()

	var junit struct {
		Failures string `xml:"failures,attr"`
	}
	require.NoError(t, xml.Unmarshal([]byte(read(t, filepath.Join(folder, "report.junit"))), &junit))
	require.Equal(t, fails, junit.Failures)
	require.Equal(t, fails, itoa(strings.Count(read(t, filepath.Join(folder, "report.tap")), "\nnot ok ")))
	page := read(t, filepath.Join(folder, "report.html"))
	require.Equal(t, fails, itoa(strings.Count(page, `<details class="failure"`)))

	// The same formats go to standard output.
	_, stdout, _ = hearthbench(t, "check", "--iut", "emulator", "--vectors", args[4], "--format", "html")
	require.Equal(t, timeless(page), timeless(stdout))
}

func itoa(n int) string { return string(must(json.Marshal(n))) }

func must(data []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return data
}

var times = regexp.MustCompile(`"when": "[^"]*"|"seconds": [0-9.]+|timestamp="[^"]*"|time="[^"]*"|Begun</dt><dd>[^<]*`)

// timeless is a report without what differs from run to run.
func timeless(report string) string { return times.ReplaceAllString(report, "") }

// What is wrong with the command line is told before anything is tested or written.
func TestCheckMistakesAboutReports(t *testing.T) {
	folder := t.TempDir()
	list := filepath.Join(folder, "known.txt")
	require.NoError(t, os.WriteFile(list, []byte("OVR-1/one # x\nOVR-1/two\n"), 0o600))
	good := filepath.Join(folder, "good.txt")
	require.NoError(t, os.WriteFile(good, []byte("OVR-1/one # x\n"), 0o600))
	for _, c := range []struct{ args, want string }{
		{"--report yaml=x", "--report yaml=x: it is FORMAT=FILE, with json, tap, junit or html"},
		{"--report report.json", "it is FORMAT=FILE"},
		{"--report json=", "it is FORMAT=FILE"},
		{"--report text=x", "it is FORMAT=FILE"},
		{"--report json=-", "what goes to standard output is said by --format"},
		{"--report json=" + folder, "it is a folder; name a file in it"},
		{"--report json=" + folder + "/no/x.json", "there is no folder " + folder + "/no; make it first"},
		{"--report json=" + folder + "/x --report tap=" + folder + "/./x", "has the same file; name another"},
		{"--report json=" + good + " --known " + good, "this is the file of --known too"},
		{"--report json=" + folder + "/./good.txt --vectors " + good, "this is the file of --vectors too"},
		{"--report json=" + folder + "/new --write-known " + folder + "/new", "this is the file of --write-known too"},
		{"--known " + folder + "/no.txt", "no.txt"},
		{"--known " + folder, "--known"},
		{"--known " + list, "the list of known failures cannot be used:\n" + list + ":2: OVR-1/two has no reason"},
		{"--known " + good + " --write-known " + folder + "/new", "it does not go with --known"},
		{"--write-known " + good, "the file is there already, and is not overwritten"},
		{"--write-known " + folder + "/no/new", "there is no folder"},
		{"--jobs -1", "--jobs -1: it is a number from 1 to 256, or 0"},
		{"--jobs 257", "--jobs 257: it is a number from 1 to 256, or 0"},
		{"--jobs two", "invalid"},
		{"--format pdf", "--format pdf: it is text, json, tap or junit, or html"},
	} {
		status, stdout, stderr := hearthbench(t, append([]string{"check", "--iut", "emulator"}, strings.Fields(c.args)...)...)
		require.Equal(t, couldNotRun, status, c.args)
		require.Contains(t, stderr, c.want)
		require.Empty(t, stdout)
	}
	for _, target := range []string{"serial:/dev/ttyS0", "tcp:localhost:1"} {
		status, _, stderr := hearthbench(t, "check", "--iut", target, "--jobs", "2")
		require.Equal(t, couldNotRun, status)
		require.Contains(t, stderr, "is one unit, which can do one thing at a time; leave --jobs out")
	}
	for _, flag := range []string{"--report=json=x", "--known=x", "--write-known=x", "--jobs=2"} {
		status, _, stderr := hearthbench(t, "check", "--capture", "x.vcd", "--scenario", "x.yaml", flag)
		require.Equal(t, couldNotRun, status)
		name, _, _ := strings.Cut(flag, "=")
		require.Contains(t, stderr, name+" does not go with --capture")
	}
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Len(t, entries, 2, "nothing is written")
}

// A report that cannot be written when it comes to it makes the run one that could not be run, and the others are written nevertheless.
func TestCheckReportsThatCannotBeWritten(t *testing.T) {
	folder := t.TempDir()
	var f checkFlags
	f.reports = []string{"json=" + filepath.Join(folder, "gone", "a.json"), "tap=" + filepath.Join(folder, "b.tap")}
	require.NoError(t, os.Mkdir(filepath.Join(folder, "gone"), 0o700))
	files, err := f.openReports()
	require.NoError(t, err)
	require.NoError(t, os.Remove(filepath.Join(folder, "gone")))
	err = writeReports(files, emptyReport(t))
	require.ErrorContains(t, err, "--report json="+filepath.Join(folder, "gone", "a.json"))
	require.Contains(t, read(t, filepath.Join(folder, "b.tap")), "TAP version 13")
}

// From a first list to one that is out of date: what is known is neither shown nor counted against the run, what is new is.
func TestCheckKnownFailures(t *testing.T) {
	folder := t.TempDir()
	list := filepath.Join(folder, "known.txt")
	mine := spoilt(t, 40)
	check := func(args ...string) (int, string, string) {
		return hearthbench(t, append([]string{"check", "--iut", "emulator", "--vectors", mine}, args...)...)
	}
	status, stdout, stderr := check("--write-known", list)
	require.Equal(t, doesNotHold, status)
	require.Contains(t, stdout, "FAIL  ")
	first := read(t, list)
	entries := regexp.MustCompile(`(?m)^OVR-[^ ]+ +# .+$`).FindAllString(first, -1)
	require.Greater(t, len(entries), shownFailures)
	require.Contains(t, stderr, "wrote "+itoa(len(entries))+" known failures to "+list)
	require.Contains(t, first, "# Known failures of emulator, as of ")

	status, _, stderr = check("--write-known", list)
	require.Equal(t, couldNotRun, status, "it never overwrites")
	require.Contains(t, stderr, "is there already")
	require.Equal(t, first, read(t, list))

	report := filepath.Join(folder, "report.tap")
	status, stdout, stderr = check("--known", list, "--report", "tap="+report)
	require.Equal(t, holds, status, stderr)
	require.NotContains(t, stdout, "FAIL  ")
	require.NotContains(t, stdout, "most broken")
	require.Contains(t, stdout, "known    "+itoa(len(entries))+" failures, not shown: listed in "+list)
	require.Contains(t, stdout, "verdict  nothing new, but not conformant: "+itoa(len(entries))+" known failures\n")
	require.Equal(t, len(entries), strings.Count(read(t, report), " # TODO known: "))

	// One entry less: its failure is new, and alone on the screen.
	require.NoError(t, os.WriteFile(list, []byte(strings.Replace(first, entries[3], "", 1)), 0o600))
	status, stdout, _ = check("--known", list)
	require.Equal(t, doesNotHold, status)
	require.Equal(t, 1, strings.Count(stdout, "FAIL  "))
	require.Contains(t, stdout, "FAIL  "+strings.Fields(entries[3])[0]+"\n")

	// One that passes, one that is no vector, one that was left out of the run.
	lines := strings.Count(first, "\n")
	more := first + "OVR-17/edit-that-empties-the-week # soon\nOVR-1/no-such-vector # gone\n"
	set := read(t, mine)
	require.NotContains(t, set, "no-such-vector")
	passing := regexp.MustCompile(`(?m)^ok \d+ - (OVR-\S+)$`).FindAllStringSubmatch(func() string { _, tap, _ := check("--format", "tap"); return tap }(), -1)[0][1]
	more = strings.Replace(more, "OVR-17/edit-that-empties-the-week", passing, 1)
	require.NoError(t, os.WriteFile(list, []byte(more), 0o600))
	status, stdout, stderr = check("--known", list)
	require.Equal(t, doesNotHold, status, stderr)
	require.NotContains(t, stdout, "FAIL  ")
	require.Contains(t, stdout, list+":"+itoa(lines+1)+": "+passing+" now passes: remove it\n")
	require.Contains(t, stdout, list+":"+itoa(lines+2)+": no vector is called OVR-1/no-such-vector")
	require.Contains(t, stdout, "what is listed as known in one place now passes")
	status, stdout, stderr = check("--known", list, "--only", strings.Fields(entries[0])[0])
	require.Equal(t, holds, status, stderr)
	require.NotContains(t, stdout, "now passes", "what was not run is not judged")

	// A unit without a failure has no list.
	status, _, stderr = hearthbench(t, "check", "--iut", "emulator", "--only", "OVR-1", "--write-known", filepath.Join(folder, "none.txt"))
	require.Equal(t, holds, status)
	require.Contains(t, stderr, "nothing failed, so ")
	require.NoFileExists(t, filepath.Join(folder, "none.txt"))
}
