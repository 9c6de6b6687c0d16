package vcd_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/conformance/vcd"
)

// told writes what a reader tells as text: a line for each event.
func told(t require.TestingT, text string) (*vcd.Header, string, error) {
	r, err := vcd.NewReader(strings.NewReader(text))
	if err != nil {
		return nil, "", err
	}
	var b strings.Builder
	for {
		e, err := r.Next()
		if err == io.EOF {
			return r.Header(), b.String(), nil
		}
		if err != nil {
			_, again := r.Next()
			require.Equal(t, err, again)
			return r.Header(), b.String(), err
		}
		switch {
		case e.Kind == vcd.Stamp:
			fmt.Fprintf(&b, "#%d ", e.Time)
		case e.Kind != vcd.Change:
			fmt.Fprintf(&b, "%s ", [...]string{vcd.Off: "off", vcd.On: "on", vcd.Vars: "vars", vcd.All: "all"}[e.Kind])
		case e.Bits == nil:
			fmt.Fprintf(&b, "%d=%v ", e.Signal, e.Real)
		default:
			fmt.Fprintf(&b, "%d=%s ", e.Signal, e.Bits)
		}
	}
}

const declared = "$timescale 1us $end $scope module top $end $var wire 1 ! a $end $var reg 4 # v [3:0] $end $var real 64 % r $end $upscope $end $enddefinitions $end\n"

func TestTimescales(t *testing.T) {
	for text, want := range map[string]vcd.Timescale{"1 s": 0, "10s": 1, "100 s": 2, "1ms": -3, "100 us": -4, "10\n ns": -8, "1 fs": -15, "100ps": -10} {
		got, err := vcd.ParseTimescale(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
	for scale := vcd.Shortest; scale <= vcd.Longest; scale++ {
		again, err := vcd.ParseTimescale(scale.String())
		require.NoError(t, err)
		assert.Equal(t, scale, again)
	}
	for _, text := range []string{"", "1", "s", "2 ns", "1000 ns", "1 min", "1 NS", "-1 s", "1.0 s", "1 s s"} {
		_, err := vcd.ParseTimescale(text)
		assert.ErrorContains(t, err, "1, 10 or 100 with a unit", text)
	}
}

func TestDurations(t *testing.T) {
	for _, c := range []struct {
		scale vcd.Timescale
		ticks uint64
		want  time.Duration
		ok    bool
	}{
		{0, 3, 3 * time.Second, true},
		{2, 3, 300 * time.Second, true},
		{-9, 7, 7, true},
		{-15, 2_999_999, 2, true},
		{-6, 1, time.Microsecond, true},
		{0, 9_223_372_036, 9_223_372_036 * time.Second, true},
		{0, 9_223_372_037, 0, false},
		{-9, math.MaxInt64, math.MaxInt64, true},
		{-9, math.MaxInt64 + 1, 0, false},
		{2, math.MaxUint64, 0, false},
	} {
		d, ok := c.scale.Duration(c.ticks)
		assert.Equal(t, c.ok, ok, "%v of %v", c.ticks, c.scale)
		if c.ok {
			assert.Equal(t, c.want, d)
		}
	}
}

// What the standard allows and what programs write.
func TestReading(t *testing.T) {
	for _, c := range []struct{ name, body, want string }{
		{"values", "#0 $dumpvars 0! b1010 # r1.5 % $end #7 1! bxz01 #", "#0 vars 0=0 1=1010 2=1.5 #7 0=1 1=xz01 "},
		{"extension to the left", "#0 b1 # #1 bx # #2 bz0 # #3 bx1 # #4 b0 #", "#0 1=0001 #1 1=xxxx #2 1=zzz0 #3 1=xxx1 #4 1=0000 "},
		{"a scalar for a vector", "#0 1#", "#0 1=0001 "},
		{"capitals", "#0 X! B10 # R-2e3 % Z!", "#0 0=x 1=0010 2=-2000 0=z "},
		{"letters of nine-valued logic", "#0 U! W! H! L! -! bUHL0 #", "#0 0=x 0=x 0=1 0=0 0=x 1=x100 "},
		{"a space after a scalar", "#0 1 ! 0 !", "#0 0=1 0=0 "},
		{"all on one line", "#0 0! #1 1! #2", "#0 0=0 #1 0=1 #2 "},
		{"CRLF", "#0\r\n1!\r\n#5\r\n0!\r\n", "#0 0=1 #5 0=0 "},
		{"values before the first time", "$dumpvars 1! $end #5000 0!", "vars 0=1 #5000 0=0 "},
		{"off and on", "#0 1! #5 $dumpoff x! bx # $end #9 $dumpon 0! b1 # $end #10 $dumpall 0! $end", "#0 0=1 #5 off 0=x 1=xxxx #9 on 0=0 1=0001 #10 all 0=0 "},
		{"comments", "#0 $comment 1! #99 $end 0! $comment $end #1", "#0 0=0 #1 "},
		{"a time said twice", "#4 1! #4 0!", "#4 0=1 #4 0=0 "},
		{"strings are passed over", "#0 sIDLE ! 1!", "#0 0=1 "},
		{"a real without a value", "#0 x%", "#0 2=NaN "},
		{"infinity", "#0 rinf %", "#0 2=+Inf "},
		{"the latest time", "#18446744073709551615 1!", "#18446744073709551615 0=1 "},
		{"nothing", "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, got, err := told(t, declared+c.body)
			require.NoError(t, err)
			assert.Equal(t, c.want, got)
		})
	}
}

func TestDeclarations(t *testing.T) {
	h, got, err := told(t, "\xef\xbb\xbf$date\r\n  today \r\n$end $version 1.0 $end\n$comment one $end $comment two three $end\n$timescale\n\t10 ns\n$end\n"+
		"$attrbegin misc 07 x 1 $end\n$scope module top $end $var wire 1 ! plain $end $var wire 1 \" bit[3] $end $var wire 8 # bus [7:0] $end\n"+
		"$scope module \\in#side $end $var wire 1 ! alias $end $var reg 1 $ \\odd.name[0] [2] $end $var wire 1 % Channel 0 $end $upscope $end\n"+
		"$var integer 32 & n $end $var string 0 ' state $end $var wire 4 ( mem[2] [3:0] $end $var wire 1 ) top.u1.d0 $end $upscope $end $enddefinitions $end #1 1$ b11 #")
	require.NoError(t, err)
	assert.Equal(t, "#1 3=1 2=00000011 ", got)
	top, inside := []string{"top"}, []string{"top", "in#side"}
	want := &vcd.Header{
		Date: "today", Version: "1.0", Comments: []string{"one", "two three"}, Scaled: true, Timescale: -8,
		Vars: []vcd.Var{
			{top, "wire", 1, "plain", "", 0}, {top, "wire", 1, "bit", "[3]", 1}, {top, "wire", 8, "bus", "[7:0]", 2},
			{inside, "wire", 1, "alias", "", 0}, {inside, "reg", 1, "odd.name[0]", "[2]", 3}, {inside, "wire", 1, "Channel 0", "", 4},
			{top, "integer", 32, "n", "", 5}, {top, "string", 0, "state", "", 6}, {top, "wire", 4, "mem[2]", "[3:0]", 7}, {top, "wire", 1, "top.u1.d0", "", 8},
		},
	}
	assert.Empty(t, cmp.Diff(want, h))
	assert.Equal(t, 9, h.Signals())
	assert.Equal(t, "top.in#side.odd.name[0][2]", h.Vars[4].Path())
}

func TestMistakes(t *testing.T) {
	head := declared[:strings.Index(declared, "$enddef")]
	for _, c := range []struct{ text, want string }{
		{"", "line 1: the file ends before $enddefinitions"},
		{"\n\n hello", "line 3: 'hello' stands where a section"},
		{"\x1f\x8b\x08", "line 1: the file is compressed"},
		{"PK\x03\x04", "line 1: the file is a zip archive"},
		{"$date x\n\x00", "line 2: a byte 0x00 stands here"},
		{strings.Repeat("a", 70000), "line 1: a word is longer than 65537 bytes"},
		{"$end", "'$end' stands where a section"},
		{"$timescale\n5 ns\n$end", "line 1: '5ns' is wrong: a time scale is 1, 10 or 100"},
		{"$timescale 1 ns", "line 1: the file ends in the middle of $timescale"},
		{"\n$scope module $end", "line 2: a scope has a kind and a name"},
		{"$upscope $end", "without a scope to leave"},
		{"$var wire 1 ! $end", "a variable is declared as"},
		{"$var wire one ! a $end", "the width 'one' is no number"},
		{"$var wire 0 ! a $end", "the width '0' is out of range; it is 1 to 65536"},
		{"$var wire 65537 ! a $end", "the width '65537' is out of range"},
		{"$var wire 1 ! a $end\n\n$var wire 2 ! b $end", "line 3: the code '!' has another width or kind than on line 1"},
		{"$dumpvars 0! $end", "$dumpvars comes before $enddefinitions"},
		{head, "ends before $enddefinitions"},
		{declared + "\n#0\n1?", "line 4: no variable has the code '?'"},
		{declared + "#0\n\n?!\n", "line 4: '?!' is no value, time stamp or keyword"},
		{declared + "#0\n#\n", "line 3: '#' is no time stamp"},
		{declared + "#1.5", "'#1.5' is no time stamp"},
		{declared + "#18446744073709551616", "is no time stamp"},
		{declared + "#9\n1!\n#8\n", "line 4: time goes back, from #9 to #8"},
		{declared + "#0 b10", "line 2: the file ends in the middle of a value"},
		{declared + "#0 b #", "a vector without digits"},
		{declared + "#0 b12 #", "'b12' is no vector"},
		{declared + "#0 b10101 #", "a value of 5 bits for the code '#', whose variable has 4"},
		{declared + "#0 b10 %", "is that of a real variable"},
		{declared + "#0 r1 !", "a real value for the code '!'"},
		{declared + "#0 rone %", "'one' is no real number"},
		{declared + "#0 $end", "$end without a section to end"},
		{declared + "#0 $dumpvars 0! #1", "a time stamp stands in $dumpvars, which has no $end"},
		{declared + "#0 $dumpvars 0! $dumpon", "'$dumpon' stands in $dumpvars"},
		{declared + "#0\n$dumpvars\n0!", "line 4: the file ends in the middle of $dumpvars"},
		{declared + "#0 $dumpoff x! $end #1 1!", "a value comes after $dumpoff and before $dumpon"},
		{declared + "#0 $dumpports pX 0 6 <0 $end", "belongs to the extended form of VCD"},
		{declared + "#0 $dumpofff $end", "unknown keyword '$dumpofff'"},
		{declared + "#0 $comment", "the file ends in the middle of $comment"},
	} {
		_, _, err := told(t, c.text)
		var wrong *vcd.Error
		require.ErrorAs(t, err, &wrong, c.text)
		assert.ErrorContains(t, err, c.want)
	}
}

type broken struct{ io.Reader }

var errBroken = errors.New("the disk is gone")

func (b broken) Read(p []byte) (int, error) {
	n, err := b.Reader.Read(p)
	if err == io.EOF {
		err = errBroken
	}
	return n, err
}

func TestFailedReadsAreNoEnd(t *testing.T) {
	_, err := vcd.NewReader(broken{strings.NewReader("$date x")})
	assert.ErrorIs(t, err, errBroken)
	r, err := vcd.NewReader(broken{strings.NewReader(declared + "#0 1! ")})
	require.NoError(t, err)
	for err == nil {
		_, err = r.Next()
	}
	assert.ErrorIs(t, err, errBroken)
}

// endless is a file of so many changes, one a tick.
type endless struct {
	ticks int
	now   int
	text  []byte
}

func (e *endless) Read(p []byte) (int, error) {
	if len(e.text) == 0 {
		if e.now == e.ticks {
			return 0, io.EOF
		}
		e.text = append(e.text[:0], '#')
		e.text = strconv.AppendInt(e.text, int64(e.now), 10)
		e.text = append(e.text, '\n', '0'+byte(e.now%2), '!', '\n')
		e.now++
	}
	n := copy(p, e.text)
	e.text = append(e.text[:0], e.text[n:]...)
	return n, nil
}

// A file of any length is read with no more memory than its declarations need.
func TestStreams(t *testing.T) {
	const ticks = 300_000
	var before, after runtime.MemStats
	r, err := vcd.NewReader(io.MultiReader(strings.NewReader(declared), &endless{ticks: ticks}))
	require.NoError(t, err)
	runtime.ReadMemStats(&before)
	changes := 0
	for {
		var e *vcd.Event
		if e, err = r.Next(); err != nil {
			break
		}
		if e.Kind == vcd.Change {
			changes++
		}
	}
	runtime.ReadMemStats(&after)
	assert.ErrorIs(t, err, io.EOF)
	assert.Equal(t, ticks, changes)
	assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(1<<20), "3 MB and more have been read")
}

// recording is what the round trip writes and reads.
type recording struct {
	header vcd.Header
	events []event
}

type event struct {
	kind   vcd.EventKind
	time   uint64
	signal int
	bits   string
	real   float64
}

func drawRecording(t *rapid.T) *recording {
	word := rapid.StringMatching(`[!-~é]{1,8}`)
	rec := &recording{header: vcd.Header{
		Date: rapid.StringMatching(`([a-z0-9:]{1,5}( [a-z0-9:]{1,5})?)?`).Draw(t, "date"), Version: "v", Scaled: true,
		Timescale: vcd.Timescale(rapid.IntRange(int(vcd.Shortest), int(vcd.Longest)).Draw(t, "timescale")),
	}}
	h := &rec.header
	var kinds []vcd.Var
	for i := range rapid.IntRange(1, 120).Draw(t, "variables") {
		v := vcd.Var{Kind: "wire", Width: rapid.SampledFrom([]int{1, 1, 1, 2, 8, 70}).Draw(t, "width"), Name: word.Draw(t, "name"), Signal: len(kinds)}
		if len(h.Vars) > 0 {
			v.Scope = append(v.Scope, h.Vars[i-1].Scope...)
		}
		switch rapid.IntRange(0, 3).Draw(t, "scope") {
		case 0:
			v.Scope = append(v.Scope, word.Draw(t, "scope name"))
		case 1:
			v.Scope = v.Scope[:max(0, len(v.Scope)-1)]
		}
		switch rapid.IntRange(0, 6).Draw(t, "form") {
		case 0:
			v.Index = rapid.SampledFrom([]string{"[3]", "[7:0]", "[-1:2]", "[1][0]"}).Draw(t, "index")
		case 1:
			v.Kind, v.Width = "real", 64
		case 2:
			if len(kinds) > 0 {
				alias := kinds[rapid.IntRange(0, len(kinds)-1).Draw(t, "alias")]
				v.Kind, v.Width, v.Signal = alias.Kind, alias.Width, alias.Signal
			}
		}
		if v.Signal == len(kinds) {
			kinds = append(kinds, v)
		}
		if len(v.Scope) == 0 {
			v.Scope = nil
		}
		h.Vars = append(h.Vars, v)
	}
	add := func(e event) { rec.events = append(rec.events, e) }
	now := uint64(0)
	value := func(s int, digits string) {
		e := event{kind: vcd.Change, time: now, signal: s}
		if kinds[s].Kind == "real" {
			e.real = rapid.Float64().Draw(t, "real")
		} else {
			e.bits = rapid.StringMatching(fmt.Sprintf("[%s]{%d}", digits, kinds[s].Width)).Draw(t, "bits")
		}
		add(e)
	}
	off := false
	for range rapid.IntRange(0, 40).Draw(t, "events") {
		switch rapid.IntRange(0, 4).Draw(t, "what") {
		case 0:
			later := rapid.Uint64Range(1, math.MaxUint64/64).Draw(t, "wait")
			now += later
			add(event{kind: vcd.Stamp, time: now})
		case 1:
			section := rapid.SampledFrom([]vcd.EventKind{vcd.Off, vcd.On, vcd.All, vcd.Vars}).Draw(t, "section")
			add(event{kind: section, time: now})
			for s := range kinds {
				if section != vcd.Off {
					value(s, "01xz")
				} else if kinds[s].Kind != "real" {
					value(s, "x")
				}
			}
			add(event{kind: end, time: now})
			off = section == vcd.Off
		default:
			if !off {
				value(rapid.IntRange(0, len(kinds)-1).Draw(t, "signal"), "01xz")
			}
		}
	}
	return rec
}

// end is the end of a section, which a reader does not tell.
const end vcd.EventKind = 99

func (rec *recording) write(t require.TestingT) []byte {
	var out bytes.Buffer
	w, err := vcd.NewWriter(&out, &rec.header)
	require.NoError(t, err)
	for _, e := range rec.events {
		switch e.kind {
		case vcd.Stamp:
			w.At(e.time)
		case end:
			w.End()
		case vcd.Change:
			if e.bits == "" {
				w.Real(e.signal, e.real)
			} else {
				w.Change(e.signal, e.bits)
			}
		default:
			w.Begin(e.kind)
		}
	}
	require.NoError(t, w.Flush())
	return out.Bytes()
}

func read(t require.TestingT, data []byte) *recording {
	r, err := vcd.NewReader(bytes.NewReader(data))
	require.NoError(t, err)
	rec := &recording{header: *r.Header()}
	for {
		e, err := r.Next()
		if err == io.EOF {
			return rec
		}
		require.NoError(t, err)
		got := event{kind: e.Kind, time: e.Time}
		if e.Kind == vcd.Change {
			got.signal, got.bits, got.real = e.Signal, string(e.Bits), e.Real
		}
		rec.events = append(rec.events, got)
	}
}

func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rec := drawRecording(t)
		got := read(t, rec.write(t))
		if diff := cmp.Diff(rec.header, got.header); diff != "" {
			t.Fatal(diff)
		}
		var want []event
		for _, e := range rec.events {
			if e.kind != end {
				want = append(want, e)
			}
		}
		if diff := cmp.Diff(want, got.events, cmp.AllowUnexported(event{})); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestWritingWhatCannotBe(t *testing.T) {
	one := func(change func(h *vcd.Header)) error {
		h := &vcd.Header{Vars: []vcd.Var{{Kind: "wire", Width: 1, Name: "a"}}}
		change(h)
		_, err := vcd.NewWriter(io.Discard, h)
		return err
	}
	require.NoError(t, one(func(*vcd.Header) {}))
	for want, change := range map[string]func(h *vcd.Header){
		"the time scale 10^3 s is out of range": func(h *vcd.Header) { h.Timescale = 3 },
		"$version has the word $end in it":      func(h *vcd.Header) { h.Version = "a $end b" },
		"$comment has control characters":       func(h *vcd.Header) { h.Comments = []string{"a\x01"} },
		"'two words' cannot be written":         func(h *vcd.Header) { h.Vars[0].Name = "two words" },
		"'' cannot be written":                  func(h *vcd.Header) { h.Vars[0].Scope = []string{""} },
		"variable a has a width of 0":           func(h *vcd.Header) { h.Vars[0].Width = 0 },
		"variable a[3 has the index [3":         func(h *vcd.Header) { h.Vars[0].Index = "[3" },
		"signal 0 has no variable":              func(h *vcd.Header) { h.Vars[0].Signal = 1 },
		"variable a has the signal -1":          func(h *vcd.Header) { h.Vars[0].Signal = -1 },
		"shares a signal with one of another":   func(h *vcd.Header) { h.Vars = append(h.Vars, vcd.Var{Kind: "wire", Width: 2, Name: "b"}) },
	} {
		assert.ErrorContains(t, one(change), want)
	}
	for want, do := range map[string]func(w *vcd.Writer){
		"time goes back, from 5 to 4 ticks":      func(w *vcd.Writer) { w.At(5); w.At(4) },
		"a time stamp in a section":              func(w *vcd.Writer) { w.Begin(vcd.Vars); w.At(1) },
		"the last section of values has no end":  func(w *vcd.Writer) { w.Begin(vcd.Vars) },
		"no section of values to end":            func(w *vcd.Writer) { w.End() },
		"a section of values cannot begin here":  func(w *vcd.Writer) { w.Begin(vcd.Change) },
		"there is no signal 1":                   func(w *vcd.Writer) { w.Change(1, "0") },
		"'2' is no value of a signal of 1 bits":  func(w *vcd.Writer) { w.Change(0, "2"); w.At(1) },
		"'01' is no value of a signal of 1 bits": func(w *vcd.Writer) { w.Change(0, "01") },
		"signal 0 is no real":                    func(w *vcd.Writer) { w.Real(0, 1) },
	} {
		w, err := vcd.NewWriter(io.Discard, &vcd.Header{Vars: []vcd.Var{{Kind: "wire", Width: 1, Name: "a"}}})
		require.NoError(t, err)
		do(w)
		assert.ErrorContains(t, w.Flush(), want)
	}
}

// Whatever the bytes, the reader gives events in order of time or an error with a line that the file has, and what it has read can be
// written and read again.
func FuzzReader(f *testing.F) {
	f.Add([]byte(declared + "#0 $dumpvars 0! b1010 # r1.5 % $end #7 1! bxz01 # $dumpoff x! $end $dumpon 1! $end"))
	f.Add([]byte("$var wire 1 ! \\odd.name[0] [2] $end $var wire 1 ! Channel 0 $end $enddefinitions $end #1 1!"))
	f.Add([]byte("$scope module a $end $var string 0 ' s $end $upscope $end $enddefinitions $end sX ' $comment x $end"))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := vcd.NewReader(bytes.NewReader(data))
		var last vcd.Event
		for err == nil {
			var e *vcd.Event
			if e, err = r.Next(); err == nil {
				if e.Time < last.Time || e.Line < last.Line || last.Stamped && !e.Stamped {
					t.Fatalf("%+v after %+v", e, last)
				}
				if e.Kind == vcd.Change && (e.Signal < 0 || e.Signal >= r.Header().Signals() || strings.Trim(string(e.Bits), "01xz") != "") {
					t.Fatalf("%+v", e)
				}
				last = *e
			}
		}
		var wrong *vcd.Error
		if err != io.EOF && !errors.As(err, &wrong) {
			t.Fatalf("%v", err)
		}
		if wrong != nil && (wrong.Line < 1 || wrong.Line > 1+bytes.Count(data, []byte("\n"))) {
			t.Fatalf("line %d of %q", wrong.Line, data)
		}
		if r == nil {
			return
		}
		var out bytes.Buffer
		h := *r.Header()
		if w, err := vcd.NewWriter(&out, &h); err == nil {
			if err := w.Flush(); err != nil {
				t.Fatal(err)
			}
			again, err := vcd.NewReader(&out)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(h.Vars, again.Header().Vars); diff != "" {
				t.Fatal(diff)
			}
		}
	})
}

// An independent reader finds in a file what was written to it.
func TestAnIndependentReader(t *testing.T) {
	program := testtool.Need(t, "sigrok-cli", "sigrok-cli")
	h := &vcd.Header{Version: "test", Timescale: -3, Vars: []vcd.Var{
		{Scope: []string{"top"}, Kind: "wire", Width: 1, Name: "a", Signal: 0},
		{Scope: []string{"top"}, Kind: "reg", Width: 1, Name: "b", Index: "[1]", Signal: 1},
		{Scope: []string{"top", "in"}, Kind: "real", Width: 64, Name: "r", Signal: 2},
	}}
	var out bytes.Buffer
	w, err := vcd.NewWriter(&out, h)
	require.NoError(t, err)
	w.At(0)
	w.Begin(vcd.Vars)
	w.Change(0, "0")
	w.Change(1, "1")
	w.Real(2, 0)
	w.End()
	w.At(3)
	w.Change(0, "1")
	w.Real(2, 2.5)
	w.At(5)
	w.Change(1, "0")
	w.At(7)
	require.NoError(t, w.Flush())
	file := t.TempDir() + "/a.vcd"
	require.NoError(t, os.WriteFile(file, out.Bytes(), 0o600))
	got, err := exec.Command(program, "-I", "vcd", "-i", file, "-O", "csv").Output()
	require.NoError(t, err)
	_, rows, found := strings.Cut(string(got), "logic,logic\n")
	require.True(t, found, "%s", got)
	assert.Equal(t, "0,1\n0,1\n0,1\n1,1\n1,1\n1,0\n1,0\n", rows)
	assert.Contains(t, string(got), "Channels (2/2): a, b[1]")
}
