package report

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image/color"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/diagram"
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/testtool"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// element is one element of a page.
type element struct {
	name     string
	attrs    map[string]string
	children []*element
	parent   *element
	own      []string // pieces of text
}

// words returns all text in the element, with single spaces.
func (e *element) words() string {
	var b strings.Builder
	var walk func(*element)
	walk = func(e *element) {
		for i, piece := range e.own {
			b.WriteString(piece + " ")
			if i < len(e.children) {
				walk(e.children[i])
			}
		}
	}
	walk(e)
	return strings.Join(strings.Fields(b.String()), " ")
}

// lacks returns those of the texts that do not stand in the element.
func (e *element) lacks(texts ...string) []string {
	words := e.words()
	return slices.DeleteFunc(texts, func(text string) bool { return strings.Contains(words, text) })
}

// all returns the elements below that have the name, if one is given, and the class, if one is given.
func (e *element) all(name, class string) (list []*element) {
	for _, c := range e.children {
		if (name == "" || c.name == name) && (class == "" || slices.Contains(strings.Fields(c.attrs["class"]), class)) {
			list = append(list, c)
		}
		list = append(list, c.all(name, class)...)
	}
	return list
}

func (e *element) texts(name, class string) (list []string) {
	for _, c := range e.all(name, class) {
		list = append(list, c.words())
	}
	return list
}

// parsed reads a page as a general reader of XML does, which takes only what is well-formed.
func parsed(t testing.TB, page string) *element {
	t.Helper()
	root := &element{own: []string{""}}
	at := root
	d := xml.NewDecoder(strings.NewReader(page))
	for {
		token, err := d.Token()
		if err == io.EOF {
			require.Same(t, root, at)
			return root
		}
		require.NoError(t, err)
		switch token := token.(type) {
		case xml.StartElement:
			e := &element{name: token.Name.Local, attrs: map[string]string{}, parent: at, own: []string{""}}
			for _, a := range token.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			at.children = append(at.children, e)
			at = e
		case xml.EndElement:
			at = at.parent
			at.own = append(at.own, "")
		case xml.CharData:
			at.own[len(at.own)-1] += string(token)
		}
	}
}

func html(t testing.TB, r *Report) (string, *element) {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, r.HTML(&b))
	return b.String(), parsed(t, b.String())
}

// Everything that a person looks for is there, once.
func TestHTML(t *testing.T) {
	_, p := html(t, results(t))
	assert.Equal(t, []string{"exec:./unit"}, p.texts("h1", ""))
	assert.Equal(t, []string{"✘ not conformant: MOD, OVR"}, p.texts("p", "verdict"))
	assert.Equal(t, []string{"What was tested", "Totals", "Most likely broken", "What did not pass", "Not applicable"}, p.texts("h2", ""))
	assert.Equal(t, "Implementation exec:./unit Link ./unit Vectors 5 of 5, published; SHA-256 "+checksum+
		" Begun 2026-06-10 11:00:00 UTC, took 1.235s Program hearthbench v1.2.3", p.all("dl", "facts")[0].words())
	var rows []string
	for _, row := range p.all("table", "totals")[0].all("tr", "") {
		rows = append(rows, row.words())
	}
	assert.Equal(t, []string{
		"family pass fail inconclusive not applicable in short",
		"MOD modes 1 0 1 0 ? inconclusive", "OVR override 1 1 0 0 ✘ fails", "LCK interval lock 0 0 0 1 – not applicable", "all 2 1 1 1 ✘ fails",
	}, rows)
	assert.Empty(t, p.lacks("OVR-2 1 of 1 An override ends at the next instant at which s changes"))
	assert.Empty(t, p.lacks("1 of the passes needed what the unit's ICS allows"))
	assert.Empty(t, p.lacks("needs lock yes 1 vector LCK-1/no-lock"))
	assert.Empty(t, p.lacks(safetyNote))
	assert.NotEmpty(t, p.lacks("246810"))

	// The clauses stand in the page's order, each with its failures, the first open.
	assert.Equal(t, []string{"MOD-1 1 vector", "OVR-2 1 vector"}, p.texts("h3", ""))
	failures := p.all("details", "failure")
	require.Len(t, failures, 2)
	assert.Equal(t, "? inconclusive MOD-1/hung no answer in time to 'reset'", failures[0].all("summary", "")[0].words())
	assert.Contains(t, failures[0].words(), "Stderr assertion failed")
	assert.Empty(t, failures[0].all("svg", ""))
	broken := failures[1]
	assert.Contains(t, broken.attrs, "open")
	for _, want := range []string{
		"Purpose An override to 0 given in a period ends with the period.", "Catches An override kept until",
		"OVR-2 [override-end=change] An override ends", "OVR-1 An override makes the demand NOT s , at once.", "MOD-2 Table asks",
		"Given power on; clock 2026-01-14 05:00; mode hw off; table both every 06:30-09:00 17:00-22:00",
		"Steps Wed 2026-01-14 08:00:00 override ch (accepted) ▼ Departs Wed 2026-01-14 17:00:00 The heating relay should close by MOD-2; it did not.",
	} {
		assert.Empty(t, broken.lacks(want))
	}
}

// The drawing has a column each for 05:00, 06:30, 08:00, 17:00, 22:00, 22:46:40 (a step) and none to spare, so each has a sixth of the plot's 808
// pixels, which begins at 132: 06:30 is at 266.7, 08:00 at 401.3, 17:00 at 536 and 22:00 at 670.7. From 17:00 to 22:00 the lanes differ. One
// input's words and those of the departure take a row of 17 pixels each, and 8 below, so that the third lane, after two of 20 pixels with 5 and 13
// between them, begins at 42 + 58 = 100.
func TestDrawingOfAFailure(t *testing.T) {
	v := overrideVector()
	r := failed(t, v, &runner.Departure{At: 43200, Kind: runner.Missing, Expected: &v.Trace[2]}, v.Trace[:2]...)
	d, caption := drawing(r, "x")
	assert.Empty(t, caption)
	p := parsed(t, d.SVG())
	geometry := func(class string) (list []string) {
		for _, e := range p.all("", class) {
			list = append(list, strings.Join([]string{e.attrs["x"], e.attrs["y"], e.attrs["width"]}, " "))
		}
		return list
	}
	assert.Equal(t, []string{"266.7 100 134.7", "536 100 134.7", "266.7 125 134.7"}, geometry("dg-bar"))
	assert.Equal(t, []string{"536 123 134.7"}, geometry("dg-differs"))
	assert.Equal(t, []string{"hw expected", "hw observed", "ch expected", "ch observed"}, p.texts("text", "dg-name"))
	assert.Equal(t, []string{"05:00:00", "06:30:00", "08:00:00", "17:00:00", "22:00:00", "22:46:40"}, p.texts("text", "dg-tick"))
	assert.Equal(t, []string{"2026-01-14"}, p.texts("text", "dg-date"), "a date only where it changes")
	assert.Equal(t, []string{
		"override ch Wed 2026-01-14 08:00:00 override ch (accepted)", "override ch (refused) Wed 2026-01-14 22:46:40 override ch (refused)",
		"departs here: missing Wed 2026-01-14 17:00:00: The heating relay should close by MOD-2; it did not.",
	}, p.texts("text", "dg-said"))
	assert.Empty(t, p.lacks("the heating relay closed from Wed 2026-01-14 06:30:00 to Wed 2026-01-14 08:00:00, by MOD-2"))
}

// Around the departure seven instants before it and four after it are drawn; the caption has how many are not.
func TestLongVectorsAreCut(t *testing.T) {
	v := overrideVector()
	v.Steps, v.Trace = nil, nil
	for i := range uint64(20) {
		v.Trace = append(v.Trace, at(1000*i+1000, ch, spec.Level(1-i%2), spec.ClauseTable))
	}
	r := failed(t, v, &runner.Departure{At: 11000, Kind: runner.Missing, Expected: &v.Trace[10]}, v.Trace[:10]...)
	d, caption := drawing(r, "x")
	assert.Equal(t, " Before it, 4 instants of the vector are not drawn. After it, 5 more instants of the vector are not drawn.", caption)
	require.Len(t, d.Ticks, instantsBefore+1+instantsAfter)
	assert.Equal(t, uint64(4000), d.Ticks[0].At)
	assert.Len(t, parsed(t, d.SVG()).all("", "dg-tick"), len(d.Ticks))
}

func TestWithoutPower(t *testing.T) {
	power := func(second uint64, on bool, want spec.Outcome) suite.BoundStep {
		in := spec.Input{Kind: spec.PowerOff}
		if on {
			in.Kind = spec.PowerOn
		}
		return suite.BoundStep{At: second, Input: in, Want: want}
	}
	given := []spec.Input{{Kind: spec.PowerOn}}
	assert.Empty(t, withoutPower(&suite.Bound{Given: given}, 100))
	assert.Equal(t, []diagram.Interval{{From: 10, To: 20}, {From: 90, To: 100}}, withoutPower(&suite.Bound{Given: given, Steps: []suite.BoundStep{
		power(5, true, spec.Accepted), power(10, false, spec.Accepted), power(15, false, spec.Refused), power(20, true, spec.Accepted),
		power(30, false, spec.Accepted), power(30, true, spec.Accepted), power(90, false, spec.Accepted),
	}}, 100))
	assert.Equal(t, []diagram.Interval{{From: 0, To: 7}}, withoutPower(&suite.Bound{Given: append(given, spec.Input{Kind: spec.PowerOff}), Steps: []suite.BoundStep{power(7, true, spec.Accepted)}}, 100))
}

func TestManyInputsOfOneSecond(t *testing.T) {
	v := overrideVector()
	v.Steps = nil
	for i := range 9 {
		v.Steps = append(v.Steps, suite.Step{At: 100, Do: fmt.Sprintf("boost ch %d", i)})
	}
	v.Steps = append(v.Steps, suite.Step{At: 200, Do: "reset"})
	var have []string
	for _, m := range inputMarks(v, 50, 200) {
		have = append(have, m.Text)
	}
	assert.Equal(t, []string{"boost ch 0", "boost ch 1", "boost ch 2", "boost ch 3", "boost ch 4", "boost ch 5", "and more inputs in this second", "reset"}, have)
	assert.Empty(t, inputMarks(v, 101, 199))
}

// Whatever a unit, a vector or a list says, it is text on the page.
func TestHTMLOfHostileText(t *testing.T) {
	const hostile = "<script>alert(1)</script>\"'`&amp;\x00\x1b[31m\ufffe]]>-->{{.}}"
	r := results(t)
	r.IUT, r.Description, r.Tool, r.Source, r.Checksum = "exec:"+hostile, hostile, hostile, hostile, hostile
	for _, result := range r.Results {
		v := result.Vector
		v.ID, v.Purpose, v.Catches, v.Given = v.ID+hostile, hostile, hostile, []string{hostile}
		for i := range v.Steps {
			v.Steps[i].Do = hostile
		}
		if result.Why != "" {
			result.Why = hostile
		}
		if result.Trouble != nil {
			result.Trouble = &iut.Trouble{Ending: iut.Ending{Stderr: []string{hostile}}}
		}
	}
	listing(t, r)
	r.Known.Name = hostile
	page, p := html(t, r)
	assert.Empty(t, p.all("script", ""))
	assert.Equal(t, []string{"exec:" + strings.NewReplacer("\x00", "\ufffd", "\x1b", "\ufffd", "\ufffe", "\ufffd").Replace(hostile)}, p.texts("h1", ""))
	assert.NotContains(t, page, "<script")
	assert.Len(t, p.all("details", "failure"), 2)
	assert.Len(t, p.all("svg", ""), 1)
}

// The page needs nothing beside it, its parts are labelled, and its ids are its own.
func TestHTMLStandsAlone(t *testing.T) {
	s, hand := published(t)
	r := real(t, s, hand, func(ics spec.ICS) wire.Device { return &crashes{oracle.Emulator(ics)} })
	page, p := html(t, listing(t, r, "OVR-1/* # issue 1"))
	for _, bad := range []string{"@import", "<link", "<iframe", "<object", "<embed", "<img", "javascript:"} {
		assert.NotContains(t, page, bad)
	}
	for _, target := range regexp.MustCompile(`url\(([^)]*)\)`).FindAllStringSubmatch(page, -1) {
		assert.True(t, strings.HasPrefix(target[1], "#d-"), target[1])
	}
	ids := map[string]bool{}
	var walk func(*element)
	var refs []string
	walk = func(e *element) {
		if id, ok := e.attrs["id"]; ok {
			assert.False(t, ids[id], "%s stands twice", id)
			ids[id] = true
		}
		assert.NotContains(t, e.attrs, "src")
		for name, value := range e.attrs {
			assert.False(t, strings.HasPrefix(name, "on"), "%s", name)
			switch {
			case name == "href":
				require.True(t, strings.HasPrefix(value, "#"), value)
				refs = append(refs, value[1:])
			case name == "aria-labelledby":
				refs = append(refs, strings.Fields(value)...)
			case name == "fill" && strings.HasPrefix(value, "url("):
				refs = append(refs, value[len("url(#"):len(value)-1])
			}
		}
		switch e.name {
		case "table":
			assert.Len(t, e.all("caption", ""), 1)
			for _, th := range e.all("th", "") {
				assert.Contains(t, []string{"row", "col"}, th.attrs["scope"], th.words())
			}
		case "svg":
			assert.Equal(t, "img", e.attrs["role"])
		case "section": // those of a clause are too many to be landmarks
			_, landmark := e.attrs["aria-labelledby"]
			assert.Equal(t, e.attrs["class"] != "clause", landmark)
		}
		for _, c := range e.children {
			walk(c)
		}
	}
	walk(p)
	for _, ref := range refs {
		assert.True(t, ids[ref], "nothing has the id %s", ref)
	}
	assert.Greater(t, len(refs), 50)
	root := p.all("html", "")[0]
	assert.Equal(t, "en", root.attrs["lang"])
	for _, landmark := range []string{"header", "main", "footer", "h1"} {
		assert.Len(t, p.all(landmark, ""), 1, landmark)
	}
	assert.Equal(t, len(p.all("section", "clause")), len(p.all("details", "failure"))-countClosed(p), "the first of each clause is open, the others are not")
	assert.NotEmpty(t, p.texts("span", "options"))
	assert.Empty(t, p.lacks("Listed in known.txt : they are no part of what did not pass above"))
}

func countClosed(p *element) (n int) {
	for _, d := range p.all("details", "failure") {
		if _, open := d.attrs["open"]; !open {
			n++
		}
	}
	return n
}

// Thousands of failures leave a page that a browser can hold: the first of each clause is drawn, then further ones in turn, and the rest counted.
func TestHTMLOfThousandsOfFailures(t *testing.T) {
	r := results(t)
	r.Results = nil
	v := overrideVector()
	one := failed(t, v, &runner.Departure{At: 43200, Kind: runner.Missing, Expected: &v.Trace[2]}, v.Trace[:2]...)
	add := func(n int, clause string) {
		for i := range n {
			other := *v
			other.ID, other.Clauses = fmt.Sprintf("%s/%d", clause, i), []string{clause}
			result := *one
			result.Vector = &other
			r.Results = append(r.Results, &result)
		}
	}
	add(3000, "OVR-1")
	add(2, "OVR-2")
	add(2000, "MOD-1")
	page, p := html(t, r)
	assert.Less(t, len(page), 3<<20)
	shown := map[string]int{}
	for _, d := range p.all("details", "failure") {
		id, _, _ := strings.Cut(d.all("span", "id")[0].words(), "/")
		shown[id]++
	}
	assert.Equal(t, map[string]int{"MOD-1": 99, "OVR-1": 99, "OVR-2": 2}, shown)
	assert.Empty(t, p.lacks(
		"5002 of 5002 vectors did not pass, here by the first clause of each. The first of each clause is open. 4752 are not named, and of others only the names are given",
		"25 more by name, and 2876 that are not named", "25 more by name, and 1876 that are not named"))
}

func TestHTMLVerdicts(t *testing.T) {
	for _, c := range []struct {
		change func(*Report)
		want   string
	}{
		{func(r *Report) { r.Results = r.Results[1:2] }, "✔ conformant, exactly"},
		{func(r *Report) { r.Results, r.Planned = r.Results[1:2], 2 }, "? none: the run ended after 1 of 2 vectors"},
		{func(r *Report) { r.Results = r.Results[4:] }, "? none: the unit's ICS calls for none of these vectors"},
		{func(r *Report) { listing(t, r, both) }, "◆ nothing new, but not conformant: 2 known failures"},
		{func(r *Report) { listing(t, r, both, "OVR-1/near # 1") }, "✘ nothing new, but not conformant: 2 known failures; what is listed as known in one place now passes"},
	} {
		r := results(t)
		c.change(r)
		_, p := html(t, r)
		assert.Equal(t, []string{c.want}, p.texts("p", "verdict"))
		assert.Equal(t, !r.complete(), strings.Contains(p.words(), "⚠ Interrupted"))
		assert.Equal(t, r.Known != nil, strings.Contains(p.words(), "Known failures"))
	}
}

// A real browser builds the same page from it, and shows something.
func TestBrowserShowsThePage(t *testing.T) {
	chromium := testtool.Need(t, "chromium", "chromium")
	s, hand := published(t)
	r := real(t, s, hand, func(ics spec.ICS) wire.Device { return &crashes{oracle.Emulator(ics)} })
	page, p := html(t, r)
	folder := t.TempDir()
	file := filepath.Join(folder, "report.html")
	require.NoError(t, os.WriteFile(file, []byte(page), 0o600))
	browse := func(args ...string) []byte {
		c := exec.Command(chromium, append([]string{
			"--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--user-data-dir=" + filepath.Join(folder, "profile"),
		}, args...)...)
		var errs bytes.Buffer
		c.Stderr = &errs
		out, err := c.Output()
		require.NoError(t, err, errs.String())
		return out
	}
	dom := string(browse("--dump-dom", "file://"+file))
	for _, tag := range []string{"section", "details", "svg", "tr", "rect"} {
		assert.Equal(t, len(p.all(tag, "")), len(regexp.MustCompile("<"+tag+"[ >]").FindAllString(dom, -1)), tag)
	}
	assert.NotContains(t, dom, "parsererror")

	shot := filepath.Join(folder, "shot.png")
	browse("--screenshot="+shot, "--window-size=1200,1600", "--hide-scrollbars", "file://"+file)
	f, err := os.Open(shot)
	require.NoError(t, err)
	defer f.Close()
	picture, err := png.Decode(f)
	require.NoError(t, err)
	colours := map[color.Color]bool{}
	for y := picture.Bounds().Min.Y; y < picture.Bounds().Max.Y; y++ {
		for x := picture.Bounds().Min.X; x < picture.Bounds().Max.X; x++ {
			colours[picture.At(x, y)] = true
		}
	}
	assert.Greater(t, len(colours), 10)
}

func TestInlineMarkup(t *testing.T) {
	assert.EqualValues(t, "<code>a&lt;b</code> asks NOT <em>s</em> &amp; 6 * 7 * 8, &lt;b&gt;", inline("`a<b` asks NOT *s* & 6 * 7 * 8, <b>"))
}
