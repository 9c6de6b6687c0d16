package diagram

import (
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/hearthbench/conformance/timing"
	"example.org/hearthbench/emulator/spec"
)

// element is one element of a drawing, as a general reader of XML finds it.
type element struct {
	name  string
	attrs map[string]string
	text  string
}

// elements reads a drawing and fails the test if it is not well-formed XML.
func elements(t require.TestingT, svg string) []element {
	d := xml.NewDecoder(strings.NewReader(svg))
	var list []element
	var open []int
	for {
		token, err := d.Token()
		if err == io.EOF {
			require.Empty(t, open)
			return list
		}
		require.NoError(t, err, svg)
		switch token := token.(type) {
		case xml.StartElement:
			e := element{name: token.Name.Local, attrs: map[string]string{}}
			for _, a := range token.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			open = append(open, len(list))
			list = append(list, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				list[open[len(open)-1]].text += string(token)
			}
		}
	}
}

// of returns the elements of a class, each as name, geometry and text.
func of(t require.TestingT, svg, class string) (have []string) {
	for _, e := range elements(t, svg) {
		if e.attrs["class"] != class {
			continue
		}
		words := []string{e.name}
		for _, key := range []string{"x", "y", "width", "height", "d", "cx", "cy"} {
			if v, ok := e.attrs[key]; ok {
				words = append(words, key+"="+v)
			}
		}
		have = append(have, strings.TrimSpace(strings.Join(words, " ")+" "+e.text))
	}
	return have
}

func at(second uint64, s spec.Signal, level spec.Level) spec.Change {
	return spec.Change{At: second, Signal: s, Level: level, By: spec.ClauseTable}
}

func title(level spec.Level, from, to uint64, by spec.Clause) string {
	return fmt.Sprintf("%d %d-%d %v", level, from, to, by)
}

// In a hundred seconds the plot's 808 pixels, from 132 on, have 8.08 for each: second 25 is at 132 + 202 = 334 and second 75 at 738. The one
// input has the first row of words, 17 pixels, and 8 below it, so that the first lane begins at 25 and the second, of the same group, 25 lower.
func TestPositions(t *testing.T) {
	lane := timing.Lane{Signal: spec.SigCH, Changes: []spec.Change{at(25, spec.SigCH, 1), at(30, spec.SigHW, 1), at(75, spec.SigCH, 0)}}
	d := Drawing{
		ID: "a", Title: "T", Desc: "D", Scale: Linear(0, 100),
		Ticks: []Tick{{0, "00:00:00", "Mon"}, {50, "00:00:50", ""}, {101, "beyond", ""}},
		Lanes: []Lane{
			{Name: "ch expected", First: true, Spans: Spans(&lane, 100, title)},
			{Name: "ch observed", Kind: Observed, Spans: Spans(&timing.Lane{Signal: spec.SigCH}, 100, title), Differs: []Interval{{25, 75}}},
		},
		Off:   []Interval{{90, 200}},
		Marks: []Mark{{At: 50, Text: "boost ch 60", Title: "accepted"}, {At: 300, Text: "later"}},
	}
	svg := d.SVG()
	assert.Equal(t, []string{"rect x=334 y=25 width=404 height=20"}, of(t, svg, "dg-bar"))
	assert.Equal(t, []string{"path d=M132 45H334", "path d=M738 45H940", "path d=M132 70H940"}, of(t, svg, "dg-line"))
	assert.Equal(t, []string{"rect x=334 y=48 width=404 height=24"}, of(t, svg, "dg-differs"))
	assert.Equal(t, []string{"text x=132 y=100 00:00:00", "text x=536 y=100 00:00:50"}, of(t, svg, "dg-tick"))
	assert.Equal(t, []string{"text x=132 y=114 Mon"}, of(t, svg, "dg-date"))
	assert.Equal(t, []string{"rect x=859.2 y=21 width=80.8 height=53"}, of(t, svg, "dg-off"))
	assert.Equal(t, []string{"path d=M536 4V74"}, of(t, svg, "dg-input"))
	assert.Equal(t, []string{"text x=543 y=13 boost ch 60"}, of(t, svg, "dg-said"))
	assert.Empty(t, of(t, svg, "dg-gap"), "true to scale, lengths can be seen")
	assert.Contains(t, svg, "<title>1 25-75 MOD-2</title>")
	assert.Contains(t, svg, `aria-labelledby="a-title a-desc"`)
	assert.Contains(t, svg, `<title id="a-title">T</title><desc id="a-desc">D</desc>`)
	assert.NotContains(t, svg, "later")
	assert.NotContains(t, svg, "beyond")
}

// Three instants have a third of the plot each, 269.3 pixels, whatever lies between; within a column a scale is linear.
func TestAligned(t *testing.T) {
	d := Drawing{
		ID: "b", Scale: Aligned([]uint64{0, 10, 86400}, 0), Ticks: []Tick{{0, "a", ""}, {10, "b", ""}, {86400, "c", ""}},
		Lanes: []Lane{{Spans: []Span{{From: 5, To: 10, High: true}, {From: 86400, To: 86400}, {From: 90000, To: 99999, High: true}}}},
	}
	svg := d.SVG()
	assert.Equal(t, []string{"rect x=266.7 y=8 width=134.7 height=20"}, of(t, svg, "dg-bar"))
	assert.Equal(t, []string{"path d=M670.7 8V28", "circle cx=670.7 cy=18"}, of(t, svg, "dg-pulse"))
	assert.Equal(t, []string{"text x=132 y=58 a", "text x=401.3 y=58 b", "text x=670.7 y=58 c"}, of(t, svg, "dg-tick"))
	assert.Equal(t, []string{"text x=266.7 y=43 10s", "text x=536 y=43 23h 59m 50s", "text x=805.3 y=43 1s"}, of(t, svg, "dg-gap"))
}

// A label needs 60 pixels, which on 808 is at least a 13.46th of the time.
func TestFit(t *testing.T) {
	assert.True(t, func() bool { s := Fit([]uint64{0, 75, 1000}, 0); return s.even }())
	assert.False(t, func() bool { s := Fit([]uint64{0, 74, 1000}, 0); return s.even }())
	s := Fit([]uint64{7}, 7)
	assert.Equal(t, []uint64{7, 8}, []uint64{s.from(), s.to()})
}

func TestLength(t *testing.T) {
	for _, c := range []struct {
		seconds uint64
		room    int
		want    string
	}{
		{0, 9, "0s"}, {59, 9, "59s"}, {3600, 9, "1h"}, {90061, 20, "1d 1h 1m 1s"}, {90061, 10, "≈1d 1h"}, {90061, 1, "≈1d"}, {86400 * 364, 1, "364d"},
	} {
		assert.Equal(t, c.want, length(c.seconds, c.room))
	}
}

// A scale never goes back, stays within its edges, and puts each instant on its column.
func TestScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var instants []uint64
		now := rapid.Uint64Range(0, 1000).Draw(t, "first")
		for range rapid.IntRange(1, 20).Draw(t, "instants") {
			instants = append(instants, now)
			now += rapid.Uint64Range(1, 1<<30).Draw(t, "gap")
		}
		s := Aligned(instants, rapid.Uint64Range(0, now).Draw(t, "end"))
		for i, at := range instants {
			require.InDelta(t, float64(i)/float64(len(instants)), s.place(at), 1e-9)
		}
		a, b := rapid.Uint64Range(0, 2*now).Draw(t, "a"), rapid.Uint64Range(0, 2*now).Draw(t, "b")
		pa, pb := s.place(min(a, b)), s.place(max(a, b))
		require.True(t, 0 <= pa && pa <= pb && pb <= 1, "%v %v", pa, pb)
	})
}

func TestSpans(t *testing.T) {
	lane := timing.Lane{Signal: spec.SigAlert, Initial: 1, Changes: []spec.Change{at(0, spec.SigAlert, 2), at(0, spec.SigAlert, 1), at(5, spec.SigHW, 1), at(9, spec.SigAlert, 3), at(50, spec.SigAlert, 0)}}
	assert.Empty(t, cmp.Diff([]Span{
		{From: 0, To: 0, High: true, Word: "notice", Title: "2 0-0 MOD-2"}, {From: 0, To: 9, High: true, Word: "counting", Title: "1 0-9 MOD-2"},
		{From: 9, To: 40, High: true, Word: "restricted", Title: "3 9-40 MOD-2"},
	}, Spans(&lane, 40, title)))
	assert.Empty(t, cmp.Diff([]Span{{From: 0, To: 1, Title: "0 0-1 "}}, Spans(&timing.Lane{Signal: spec.SigHW}, 0, title)), "never nothing")
	assert.Empty(t, cmp.Diff([]Span{{From: 0, To: 7, Title: "0 0-7 "}, {From: 7, To: 8, High: true, Title: "1 7-8 MOD-2"}},
		Spans(&timing.Lane{Signal: spec.SigHW, Changes: []spec.Change{at(7, spec.SigHW, 1)}}, 7, title)), "a change at the end shows")
}

func TestDiffer(t *testing.T) {
	low, high := Span{From: 0, To: 100}, []Span{{From: 0, To: 10}, {From: 10, To: 10, High: true}, {From: 10, To: 20, High: true}, {From: 20, To: 30, High: true, Title: "x"}, {From: 30, To: 100}}
	assert.Equal(t, []Interval{{10, 30}}, Differ([]Span{low}, high, 100))
	assert.Equal(t, []Interval{{10, 15}}, Differ(high, []Span{low}, 15))
	assert.Empty(t, Differ(high, high, 100))
}

// No two words of marks stand on each other, those of the wrong instant stand lowest, and words that would leave the drawing end at their mark.
func TestMarksKeepApart(t *testing.T) {
	d := Drawing{Scale: Linear(0, 100), Marks: []Mark{
		{At: 10, Text: "period ch all 1 06:30 09:00"}, {At: 10, Text: "wrong", Wrong: true}, {At: 11, Text: "boost ch 60"}, {At: 60, Text: "reset"}, {At: 99, Text: "override hw"},
	}}
	var have []string
	for row, labels := range (&painter{Drawing: &d}).place() {
		for i, l := range labels {
			have = append(have, fmt.Sprintf("%d %s flip=%v", row, l.mark.Text, l.flip))
			for _, other := range labels[:i] {
				assert.False(t, l.x0 < other.x1 && other.x0 < l.x1, "%s on %s", l.mark.Text, other.mark.Text)
			}
			assert.LessOrEqual(t, l.x1, float64(Width))
		}
	}
	assert.Equal(t, []string{
		"0 period ch all 1 06:30 09:00 flip=false", "0 reset flip=false", "0 override hw flip=true", "1 boost ch 60 flip=false", "2 wrong flip=false",
	}, have)
	assert.Equal(t, 1, strings.Count(d.SVG(), `class="dg-head"`))
}

// Whatever stands in a drawing's texts, it is one well-formed drawing with the elements it should have.
func TestHostileText(t *testing.T) {
	const hostile = "</text><script>alert(1)</script><!-- ]]> &amp; \"' \x00\x1b[31m \xff \ufffe"
	d := Drawing{
		ID: "c", Title: hostile, Desc: hostile, Scale: Linear(0, 10), Ticks: []Tick{{0, hostile, hostile}},
		Lanes: []Lane{{Name: hostile, Spans: []Span{{To: 10, Word: hostile, Title: hostile}}}}, Marks: []Mark{{Text: hostile, Title: hostile}},
	}
	svg := d.SVG()
	for _, e := range elements(t, svg) {
		assert.NotEqual(t, "script", e.name)
		assert.NotContains(t, e.text, "\x00")
	}
	assert.Contains(t, of(t, svg, "dg-name")[0], "</text><script>alert(1)</script><!-- ]]> &amp; \"' \ufffd\ufffd[31m \ufffd \ufffd")
}

// The style and the drawings have each other's classes.
func TestStyleFitsTheDrawings(t *testing.T) {
	d := Drawing{
		ID: "d", Scale: Aligned([]uint64{0, 50}, 100), Ticks: []Tick{{0, "a", "b"}}, Off: []Interval{{1, 2}}, Marks: []Mark{{Text: "a"}, {Text: "b", Wrong: true}},
		Lanes: []Lane{
			{Spans: []Span{{From: 0, To: 1, High: true}, {From: 1, To: 1}, {From: 1, To: 9}, {From: 9, To: 100, High: true, Word: "word"}}, Differs: []Interval{{1, 2}}},
			{Kind: Observed},
			{Kind: Stated, Spans: []Span{{From: 0, To: 1, Word: "w"}, {From: 2, To: 3, Tone: Good}, {From: 4, To: 5, Tone: Bad}}},
		},
	}
	used := map[string]bool{}
	for _, e := range elements(t, d.SVG()) {
		for _, class := range strings.Fields(e.attrs["class"]) {
			used[class] = true
		}
	}
	styled := map[string]bool{}
	for _, m := range regexp.MustCompile(`\.(dg[a-z-]*)`).FindAllStringSubmatch(Style, -1) {
		styled[m[1]] = true
	}
	assert.Equal(t, styled, used)
	assert.NotContains(t, Style, "url(")
	assert.NotContains(t, Style, "@import")
}

// What only touches the edge of the time drawn is not drawn, but for what comes and goes in the second of the edge.
func TestEdges(t *testing.T) {
	spans := []Span{{From: 0, To: 10, High: true}, {From: 10, To: 10, High: true}, {From: 10, To: 20}, {From: 20, To: 30, High: true}}
	d := Drawing{Scale: Linear(10, 20), Lanes: []Lane{{Spans: spans, Differs: []Interval{{0, 10}, {20, 30}}}}, Off: []Interval{{5, 10}}}
	svg := d.SVG()
	assert.Empty(t, of(t, svg, "dg-bar"))
	assert.Empty(t, of(t, svg, "dg-differs"))
	assert.Empty(t, of(t, svg, "dg-off"))
	assert.Len(t, of(t, svg, "dg-pulse"), 2, "its line and its head")
	assert.Equal(t, []string{"path d=M132 28H940"}, of(t, svg, "dg-line"))
}

// Of a hundred seconds each is 8.08 pixels. A moment at second 25 (334) is 7 wide about its middle and has its word beside it; the box from
// 50 to 75 (536 to 738) has room within; the word of the one at 76 (746.1) would run into the next at 77.
func TestStatements(t *testing.T) {
	d := Drawing{ID: "s", Scale: Linear(0, 100), Lanes: []Lane{{Kind: Stated, Spans: []Span{
		{From: 25, To: 25, Word: "cold", Title: "one", Tone: Good}, {From: 50, To: 75, Word: "warm", Tone: Bad},
		{From: 76, To: 76, Word: "none"}, {From: 77, To: 77, Word: "open"}, {From: 200, To: 300, Word: "later"},
	}}}}
	svg := d.SVG()
	assert.Equal(t, []string{"rect x=330.5 y=10 width=7 height=16"}, of(t, svg, "dg-box dg-good"))
	assert.Equal(t, []string{"text x=342.5 y=22 cold"}, of(t, svg, "dg-word dg-good"))
	assert.Equal(t, []string{"rect x=536 y=10 width=202 height=16"}, of(t, svg, "dg-box dg-bad"))
	assert.Equal(t, []string{"text x=541 y=22 warm"}, of(t, svg, "dg-word dg-bad"))
	assert.Len(t, of(t, svg, "dg-box dg-open"), 2)
	assert.Equal(t, []string{"text x=762.7 y=22 open"}, of(t, svg, "dg-word dg-open"))
	assert.NotContains(t, svg, "later")
	assert.Contains(t, svg, `role="img"`)
}

// What leads somewhere is a link, which a keyboard can reach, and an img would hide it.
func TestLinks(t *testing.T) {
	d := Drawing{ID: "l", Scale: Linear(0, 100), Lanes: []Lane{{Spans: []Span{{From: 0, To: 50, Title: "still"}, {From: 50, To: 100, High: true, Title: "why", Href: `#a"<`}}}}}
	svg := d.SVG()
	var links []string
	for _, e := range elements(t, svg) {
		if e.name == "a" {
			links = append(links, e.attrs["href"])
		}
	}
	assert.Equal(t, []string{`#a"<`}, links)
	assert.Contains(t, svg, `role="group"`)
	assert.Contains(t, svg, "<title>why</title>")
}
