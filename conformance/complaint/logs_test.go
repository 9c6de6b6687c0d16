package complaint

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/emulator/calendar"
)

// logged reads a complaint with a log; the log's line is line 5, and its text begins in column 4.
func logged(file, text, entry string) (*Complaint, error) {
	return ParseIn(fstest.MapFS{file: {Data: []byte(text)}}, "f.yaml", []byte(head+"logs:\n- {file: "+file+", "+entry+"}\n"))
}

// told writes what a complaint has sensed as its file could have it.
func told(c *Complaint) (lines []string) {
	for i := range c.Sensed {
		lines = append(lines, c.Sensed[i].Text)
	}
	return lines
}

const vcdText = "$timescale 1 ms $end $scope module m $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $upscope $end $enddefinitions $end\n" +
	"#0\n1!\n0\"\n#3600000\n0!\n#3600004\n1!\n#3600009\n0!\n#7200500\n1!\n#10800000\n$dumpoff\nx!\nx\"\n$end\n#14400000\n$dumpon\n0!\n1\"\n$end\n#18000000\n"

// A log becomes what lines with 'who: log' would have said, each change and each stretch between, but for where it stands: here hot water's contact,
// active low, closes an hour after the log began and bounces, opens an hour and half a second later, and is found closed after an hour
// without a recording.
func TestALogIsAsLinesOfIt(t *testing.T) {
	c, err := logged("m.vcd", vcdText, `columns: {hw relay: "!D0", ch relay: m.D1}, begins: 2026-11-03 06:00:00`)
	require.NoError(t, err)
	lines, err := Parse("f.yaml", []byte(head+`from: 2026-11-02 00:00
sensed:
- {what: hw relay, is: open, when: "2026-11-03 06:00:00-07:00:00", who: log}
- {what: hw relay, becomes: closed, when: "2026-11-03 07:00:00", who: log}
- {what: hw relay, is: closed, when: "2026-11-03 07:00:00-08:00:01", who: log}
- {what: hw relay, becomes: open, when: "2026-11-03 08:00:01", who: log}
- {what: hw relay, is: open, when: "2026-11-03 08:00:01-09:00:00", who: log}
- {what: hw relay, is: closed, when: "2026-11-03 10:00:00-11:00:00", who: log}
- {what: ch relay, is: open, when: "2026-11-03 06:00:00-09:00:00", who: log}
- {what: ch relay, is: closed, when: "2026-11-03 10:00:00-11:00:00", who: log}
`))
	require.NoError(t, err)
	assert.Equal(t, told(lines), told(c))
	assert.Empty(t, cmp.Diff(lines.Sensed, c.Sensed, cmpopts.IgnoreFields(Observation{}, "Place", "Logged")))
	assert.Equal(t, lines.From, c.From)

	require.Len(t, c.Logs, 1)
	l := c.Logs[0]
	assert.Equal(t, LogFile{
		Place: Place{5, 3}, Number: 1, File: "m.vcd", Format: "VCD", From: c.Sensed[0].When.Windows[0].From, To: c.Sensed[7].When.Windows[0].To, Blur: 5,
		Tracks: []Track{{What: HWRelay, Column: "m.D0", Inverted: true, Changes: 2, Bounces: 1}, {What: CHRelay, Column: "m.D1"}},
	}, *l)
	var where []string
	for i := range c.Sensed {
		assert.Equal(t, Place{5, 3}, c.Sensed[i].Place)
		assert.Same(t, l, c.Sensed[i].Logged.Log)
		where = append(where, c.Sensed[i].Logged.String())
	}
	assert.Equal(t, []string{"m.vcd:3, column m.D0", "m.vcd:6, column m.D0", "m.vcd:6, column m.D0", "m.vcd:12, column m.D0", "m.vcd:12, column m.D0",
		"m.vcd:20, column m.D0", "m.vcd:4, column m.D1", "m.vcd:21, column m.D1"}, where)
	assert.Equal(t, "", Logged{}.String())
}

// What an observation of a log says of its time can be written into a complaint, and means the same there.
func TestWordsOfALogCanBeRead(t *testing.T) {
	var samples strings.Builder
	samples.WriteString("time,a\n")
	for minute := range 3 * 24 * 60 {
		fmt.Fprintf(&samples, "%d,%d\n", 60*minute, minute/700%2)
	}
	for name, c := range map[string]struct{ file, text, entry string }{
		"changes":  {"a.csv", "time,a\n0,0\n5000,1\n90000,0\n200000,1\n300000,1\n", "columns: {flame: a}, begins: 2026-10-24 01:23:45"},
		"samples":  {"a.csv", samples.String(), "columns: {alert: a}, begins: 2026-10-23 23:50:00"},
		"repeated": {"a.csv", "time,a\n2026-10-25T00:30:00Z,0\n2026-10-25T01:10:00Z,1\n2026-10-25T01:20:00Z,0\n2026-10-25T03:00:00Z,1\n", "columns: {pump: a}"},
	} {
		t.Run(name, func(t *testing.T) {
			read, err := logged(c.file, c.text, c.entry)
			require.NoError(t, err)
			require.Greater(t, len(read.Sensed), 5)
			for i := range read.Sensed {
				o := &read.Sensed[i]
				form, level := formKeys[o.Form], levelWord(o.What, o.Level)
				if strings.Contains(o.When.Text, " +") && strings.Contains(o.When.Text, " to ") {
					continue // two instants with their offsets are no time of a complaint
				}
				line, err := Parse("f.yaml", []byte(head+fmt.Sprintf("sensed: [{what: %s, %s: %s, when: %q, who: log}]\n", o.What, form, level, o.When.Text)))
				require.NoError(t, err)
				assert.Equal(t, o.When, line.Sensed[0].When, o.Text)
				assert.Equal(t, o.Text, line.Sensed[0].Text)
			}
		})
	}
}

// A log that samples says when a change came no more exactly than from one sample to the next.
func TestALogThatSamples(t *testing.T) {
	var b strings.Builder
	b.WriteString("time (s),lit\n")
	for i := range 40 {
		if i >= 20 && i < 30 {
			continue // ten minutes are missing
		}
		fmt.Fprintf(&b, "%d,%d\n", 60*i, map[bool]int{true: 1}[i >= 10])
	}
	c, err := logged("a.csv", b.String(), "columns: {flame: lit}, begins: 2026-11-03 06:00:00")
	require.NoError(t, err)
	assert.Equal(t, []string{
		"flame out, 2026-11-03 06:00:00-06:09:00", "flame becomes lit, 2026-11-03 between 06:09:00 and 06:10:00", "flame lit, 2026-11-03 06:10:00-06:19:00",
		"flame lit, 2026-11-03 06:30:00-06:39:00",
	}, told(c))
}

// Whose clock it is, and how far it is out.
func TestClocksOfLogs(t *testing.T) {
	const csv, dated, zoned = "time,f\n0,0\n600,1\n1200,1\n", "time,f\n2026-07-14 06:00:00,0\n2026-07-14 06:10:00,1\n2026-07-14 06:20:00,1\n",
		"time,f\n2026-07-14T06:00:00+02:00,0\n2026-07-14T06:10:00+02:00,1\n2026-07-14T06:20:00+02:00,1\n"
	for _, c := range []struct {
		text, entry, lit string
		blur             int64
	}{
		{csv, "begins: 2026-11-03 06:00:00", "2026-11-03 06:10:00", 5},
		{csv, "begins: 2026-11-03 06:00", "2026-11-03 06:10:00", 2 * 60},
		{csv, "begins: 2026-11-03 about 06:00", "2026-11-03 06:10:00", 15 * 60},
		{csv, "begins: 2026-11-03 06:00 +01:00", "2026-11-03 05:10:00", 2 * 60},
		{csv, "begins: 2026-11-03 06:00:00, clock-out: 90 s fast", "2026-11-03 06:08:30", 5},
		{csv, "begins: 2026-11-03 06:00:00, clock-out: 2min slow", "2026-11-03 06:12:00", 65},
		{csv, "begins: 2026-07-03 06:00:00", "2026-07-03 06:10:00", 5},
		{dated, "sure: fairly", "2026-07-14 06:10:00", 5},
		{dated, "clock-out: 1 h fast", "2026-07-14 05:10:00", 65},
		{dated, "begins: 2026-11-03 06:00:00", "2026-11-03 06:10:00", 5},
		{zoned, "note: x", "2026-07-14 05:10:00", 5},
		{"time,f\n2026-10-25T00:59:00+00:00,0\n2026-10-25T01:09:00+00:00,1\n2026-10-25T02:00:00+00:00,1\n", "note: x", "2026-10-25 01:09:00 +00:00", 5},
		{"time,f\n2026-10-25T00:40:00,0\n2026-10-25T00:50:00,1\n2026-10-25T04:00:00,1\n", "until: 2026-10-25 00:55", "2026-10-25 00:50:00", 5},
		{"time,f\n2026-10-25T00:40:00,0\n2026-10-25T03:50:00,1\n2026-10-25T04:00:00,1\n", "from: 2026-10-25 03:00", "2026-10-25 03:50:00", 5},
	} {
		t.Run(c.entry, func(t *testing.T) {
			read, err := logged("a.csv", c.text, "columns: {flame: f}, "+c.entry)
			require.NoError(t, err)
			var lit []string
			for i := range read.Sensed {
				if o := &read.Sensed[i]; o.Form == Becomes {
					lit = append(lit, o.When.Text)
					assert.Equal(t, c.blur, o.When.Windows[0].Blur)
				}
			}
			assert.Equal(t, []string{c.lit}, lit)
			sure := Measured
			if strings.Contains(c.entry, "fairly") {
				sure = Fairly
			}
			assert.Equal(t, sure, read.Sensed[0].Sure)
			assert.Equal(t, Log, read.Sensed[0].Who)
		})
	}
}

// What lies before or after what counts is left out, and a stretch is cut there.
func TestThePartOfALogThatCounts(t *testing.T) {
	const text = "time,f\n0,0\n3600,1\n7200,0\n10800,1\n360000,1\n"
	for _, c := range []struct {
		entry, more string
		want        []string
	}{
		{"from: 2026-11-02 07:30, until: 2026-11-02 08:30", "", []string{
			"flame lit, 2026-11-02 07:30:00-08:00:00", "flame becomes out, 2026-11-02 08:00:00", "flame out, 2026-11-02 08:00:00-08:30:00"}},
		{"note: up to when it was asked", "from: 2026-11-02 08:30\n", []string{
			"flame out, 2026-11-02 08:30:00-09:00:00", "flame becomes lit, 2026-11-02 09:00:00", "flame lit, 2026-11-02 09:00:00 to 2026-11-04 18:00:00"}},
	} {
		read, err := logged("a.csv", text, "columns: {flame: f}, begins: 2026-11-02 06:00:00, "+c.entry+"}\n"+c.more+"# {")
		require.NoError(t, err)
		assert.Equal(t, c.want, told(read))
		assert.Equal(t, 1, read.Logs[0].Tracks[0].Changes)
	}
}

func TestMistakesOfLogs(t *testing.T) {
	const text = "time,f,g\n0,0,0\n600,1,0\n1200,1,0\n"
	const good = "columns: {flame: f}, begins: 2026-11-03 06:00"
	many := "time,f\n"
	for i := range MaxChanges + 2 {
		many += fmt.Sprintf("%d,%d\n", 100*i+i%7, i%2)
	}
	for name, c := range map[string]struct{ file, text, entry, want string }{
		"up":             {"../a.csv", text, good, "5:10: a log lies in the folder of the complaint or below it; write its path from there on"},
		"away":           {"/etc/a.csv", text, good, "5:10: a log lies in the folder of the complaint or below it"},
		"round about":    {"x/../a.csv", text, good, "5:10: a log lies in the folder of the complaint or below it"},
		"backslash":      {`x\a.csv`, text, good, "5:10: a log lies in the folder of the complaint or below it"},
		"another format": {"a.txt", text, good, "5:10: 'a.txt' ends neither in .csv nor in .vcd; a log is one of them"},
		"no moment":      {"a.csv", text, "sure: sure, columns: {flame: f}, begins: now", "5:58: 'now' is no time that can be read"},
		"no columns":     {"a.csv", text, "begins: 2026-11-03 06:00", "5:3: the log lacks columns; add it: a mapping of what was logged"},
		"empty columns":  {"a.csv", text, "columns: {}", "5:26: columns is a mapping; it should be a mapping of what was logged to the column that has it"},
		"unknown thing":  {"a.csv", text, "columns: {ch rely: f}", "5:27: unknown thing 'ch rely'; is ch relay meant?"},
		"a click":        {"a.csv", text, "columns: {click: f}", "5:27: unknown thing 'click'; a log is of hw relay, ch relay, alert"},
		"unknown key":    {"a.csv", text, "columns: {flame: f}, begns: now", "5:38: unknown key 'begns'; is begins meant?"},
		"no column":      {"a.csv", text, "columns: {flame: h}, begins: 2026-11-03 06:00", "5:34: a.csv has no column 'h'; there are f, g"},
		"column twice":   {"a.csv", text, "columns: {flame: f, pump: f}", "5:43: the column f is flame already; one column is one thing"},
		"by other names": {"m.vcd", vcdText, "columns: {flame: D0, pump: m.D0}", "5:44: the column m.D0 is another thing already"},
		"nameless":       {"a.csv", text, `columns: {flame: "!"}`, "5:35: this names no column"},
		"low alert":      {"a.csv", text, `columns: {alert: "!f"}`, "5:35: the alert has four levels and cannot be active low"},
		"ambiguous":      {"a.csv", "time,f,F\n0,0,0\n", "columns: {flame: g}", "5:34: a.csv has no column 'g'; there are f, F"},
		"which":          {"a.csv", "time,f,f\n0,0,0\n", "columns: {flame: f}", "5:34: f could be the column f or f of a.csv; say which"},
		"bad level":      {"a.csv", "time,f\n0,0\n1,on\n", good, "5:10: the log cannot be read: a.csv:3: 'on' in the column f is no level"},
		"bad VCD":        {"m.vcd", vcdText + "1?\n", "columns: {flame: D0}, begins: 2026-11-03 06:00", "5:10: the log cannot be read: m.vcd:24: no variable has the code '?'"},
		"no begin":       {"a.csv", text, "columns: {flame: f}", "5:3: the times of a.csv have no date; add begins: when its first line was written"},
		"VCD no begin":   {"m.vcd", vcdText, "columns: {flame: D0}", "5:3: the times of m.vcd have no date; add begins"},
		"begins by rule": {"a.csv", text, "columns: {flame: f}, begins: every day 06:00", "5:46: 'every day 06:00' is no moment at which a log begins"},
		"begins any day": {"a.csv", text, "columns: {flame: f}, begins: 2026-11-03", "5:46: '2026-11-03' is no moment at which a log begins"},
		"begins between": {"a.csv", text, "columns: {flame: f}, begins: 2026-11-03 between 06:00 and 07:00", "5:46: '2026-11-03 between 06:00 and 07:00' is no moment"},
		"begins early":   {"a.csv", text, "columns: {flame: f}, begins: 1998-11-03 06:00", "5:46: 1998-11-03 is out of range"},
		"clock out":      {"a.csv", text, good + ", clock-out: a bit fast", "5:75: 'a bit fast' does not say how far out the logger's clock was; write such as 90 s fast"},
		"from when":      {"a.csv", text, good + ", from: 2026-11-31 06:00", "5:70: 2026-11-31 is not in the calendar"},
		"until first":    {"a.csv", text, good + ", from: 2026-11-03 07:00, until: 2026-11-03 06:00", "5:3: from is not before until"},
		"after asked":    {"a.csv", text, "columns: {flame: f}, begins: 2026-11-05 06:00", "5:3: nothing of a.csv counts: it runs from 2026-11-05 06:00:00 to 2026-11-05 06:20:00"},
		"until later":    {"a.csv", text, "columns: {flame: f}, begins: 2026-11-05 06:00, until: 2026-11-06 00:00", "5:3: nothing of a.csv counts: it runs from 2026-11-05 06:00:00"},
		"before all":     {"a.csv", text, good + "}\nfrom: 2026-11-03 12:00\n# {", "5:3: nothing of a.csv counts: it ends at 2026-11-03 06:20:00, before 2026-11-03 12:00:00, where the account begins"},
		"long ago":       {"a.csv", text, "columns: {flame: f}, begins: 2025-03-05 06:00", "5:3: the account goes back more than 400 days"},
		"never a level":  {"a.csv", "time,f\n0,x\n600,\n", good, "5:34: the column f of a.csv has no level from 2026-11-03 06:00:00 to 2026-11-03 06:10:00"},
		"summer time":    {"a.csv", "time,f\n2026-10-25T00:40:00,0\n2026-10-25T04:00:00,1\n", "columns: {flame: f}", "5:3: the times of a.csv have no offset from UTC, and summer time begins or ends in it, before 2026-10-25 01:00:00"},
		"skipped":        {"a.csv", "time,f\n2026-03-29T01:40:00,0\n2026-03-29T04:00:00,1\n", "columns: {flame: f}", "5:10: a.csv begins when there was no such time: summer time skips this reading"},
		"out of dates":   {"a.csv", "time,f\n1970-01-01T00:00:00,0\n1970-01-02T00:00:00,1\n", "columns: {flame: f}", "5:3: a.csv runs out of the calendar"},
		"far out":        {"a.csv", "time,f\n0,0\n9e9,1\n", good, "5:3: a.csv runs out of the calendar"},
		"too many":       {"a.csv", many, good, "5:34: the logs have more than 250 changes, 251 of them those of flame in a.csv; keep to the hours that matter with from and until"},
		"too sure":       {"a.csv", text, good + ", sure: quite", "5:70: sure is 'quite'; it should be sure, fairly or unsure, or measured"},
	} {
		t.Run(name, func(t *testing.T) {
			// MapFS has no files under paths that are none; what is asked for is what matters.
			_, err := ParseIn(fstest.MapFS{"a.csv": {Data: []byte(c.text)}, "m.vcd": {Data: []byte(c.text)}}, "f.yaml",
				[]byte(head+"logs:\n- {file: "+c.file+", "+c.entry+"}\n"))
			require.Error(t, err)
			places(t, err)
			assert.Contains(t, strings.Split(err.Error(), "\n")[0], "f.yaml:"+c.want)
		})
	}
}

// Only what is in the folder can be read, and only files.
func TestWhereLogsLie(t *testing.T) {
	complaint := []byte(head + "logs: [{file: sub/a.csv, columns: {flame: f}, begins: 2026-11-03 06:00}]\n")
	want := func(folder fs.FS, words string) {
		t.Helper()
		_, err := ParseIn(folder, "f.yaml", complaint)
		require.Error(t, err)
		places(t, err)
		assert.Contains(t, err.Error(), "f.yaml:4:15: "+words)
	}
	want(nil, "this complaint comes without a folder, so its logs cannot be found; put it into a file beside them")
	want(fstest.MapFS{}, "there is no 'sub/a.csv' in the folder of the complaint")
	want(fstest.MapFS{"sub/a.csv/b": {}}, "'sub/a.csv' is no file")
	want(long{}, "the log is too long; one has at most 33554432 bytes, so cut it to the days that matter")
	want(broken{}, "the log cannot be read: open sub/a.csv: broken")

	dir := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "house", "sub"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "a.csv"), []byte("time,f\n0,0\n600,1\n"), 0o600))
	root, err := os.OpenRoot(filepath.Join(dir, "house"))
	require.NoError(t, err)
	defer root.Close()
	if err := os.Symlink("../../a.csv", filepath.Join(dir, "house", "sub", "a.csv")); err != nil {
		t.Skipf("no links here: %v", err)
	}
	want(root.FS(), "the log cannot be read: ")
	require.NoError(t, os.Rename(filepath.Join(dir, "a.csv"), filepath.Join(dir, "house", "sub", "a.csv")))
	c, err := ParseIn(root.FS(), "f.yaml", complaint)
	require.NoError(t, err)
	assert.Len(t, c.Sensed, 2+1)
}

// long is a folder with a log that is too long; broken one that cannot be read.
type (
	long   struct{ fs.FS }
	broken struct{ fs.FS }
	info   struct{ fs.FileInfo }
)

func (long) Stat(string) (fs.FileInfo, error) { return info{}, nil }
func (info) Mode() fs.FileMode                { return 0 }
func (info) Size() int64                      { return MaxLogSize + 1 }

var errBroken = errors.New("broken")

func (broken) Open(name string) (fs.File, error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: errBroken}
}

// What a log says does not hang on how often it is read, nor on other logs.
func TestSeveralLogs(t *testing.T) {
	files := fstest.MapFS{"a.csv": {Data: []byte("time,f\n0,0\n600,1\n1200,0\n1800,0\n")}, "m.vcd": {Data: []byte(vcdText)}}
	read := func(logs string) *Complaint {
		c, err := ParseIn(files, "f.yaml", []byte(head+"from: 2026-11-02 00:00\nsensed: [{what: tap, is: hot, when: now}]\nlogs:\n"+logs))
		require.NoError(t, err)
		return c
	}
	const a, m = "- {file: a.csv, columns: {flame: f}, begins: 2026-11-03 06:00}\n", "- {file: m.vcd, columns: {ch relay: D1}, begins: 2026-11-03 06:00}\n"
	both := told(read(a + m))
	assert.Equal(t, append(told(read(a)), told(read(m))[1:]...), both)
	assert.Equal(t, "tap hot, now", both[0])
	assert.Equal(t, 2, read(a + m).Logs[1].Number)
	assert.EqualValues(t, 2*calendar.Minute, read(a).Logs[0].Blur)
}

// Whatever the bytes of a log: observations in order, within the account, or errors with their place.
func FuzzLog(f *testing.F) {
	f.Add([]byte(vcdText), true, "begins: 2026-11-03 06:00")
	f.Add([]byte("time,D0,D1\n2026-10-25T00:40:00,0,1\n2026-10-25T03:50:00,1,\n"), false, "from: 2026-10-25 03:00")
	f.Add([]byte("time (ms);D0;D1\n0;0;1\n1e9;1;0\n"), false, "begins: 2026-11-03 about 06:00, clock-out: 9999 h slow")
	f.Fuzz(func(t *testing.T, data []byte, isVCD bool, entry string) {
		name := "a.csv"
		if isVCD {
			name = "a.vcd"
		}
		c, err := logged(name, string(data), `columns: {hw relay: "!D0", alert: D1}, `+entry)
		if err != nil {
			places(t, err)
			return
		}
		for i := range c.Sensed {
			w := c.Sensed[i].When.Windows[0]
			if w.To < w.From || w.From < c.From-int64(time.Hour/time.Second) || w.To > c.Until || c.Sensed[i].Text == "" {
				t.Fatalf("%+v in %d to %d", c.Sensed[i], c.From, c.Until)
			}
		}
	})
}
