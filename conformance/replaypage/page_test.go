package replaypage

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/diagnosis"
	"example.org/hearthbench/conformance/replay"
)

// element is one element of a page.
type element struct {
	name     string
	attrs    map[string]string
	children []*element
	own      []string // pieces of text, one more than there are children
}

// text is all text within, pieces parted by spaces.
func (e *element) text() string {
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
	return b.String()
}

// all returns the elements below that have the name, if one is given, and all of the classes.
func (e *element) all(name, classes string) (list []*element) {
	for _, c := range e.children {
		have := strings.Fields(c.attrs["class"])
		if (name == "" || c.name == name) && !slices.ContainsFunc(strings.Fields(classes), func(class string) bool { return !slices.Contains(have, class) }) {
			list = append(list, c)
		}
		list = append(list, c.all(name, classes)...)
	}
	return list
}

func (e *element) words() string { return strings.Join(strings.Fields(e.text()), " ") }

func (e *element) texts(name, classes string) (list []string) {
	for _, c := range e.all(name, classes) {
		list = append(list, c.words())
	}
	return list
}

// with returns the element that has the id.
func (e *element) with(t testing.TB, id string) *element {
	t.Helper()
	for _, c := range e.all("", "") {
		if c.attrs["id"] == id {
			return c
		}
	}
	require.Fail(t, "nothing has the id "+id)
	return nil
}

// rows returns the rows of the first table with the caption.
func (e *element) rows(t testing.TB, caption string) (rows []string) {
	t.Helper()
	for _, table := range e.all("table", "") {
		if captions := table.texts("caption", ""); len(captions) == 1 && strings.HasPrefix(captions[0], caption) {
			for _, row := range table.all("tbody", "")[0].all("tr", "") {
				rows = append(rows, row.words())
			}
			return rows
		}
	}
	require.Fail(t, "no table is called "+caption)
	return nil
}

// parsed reads a page as a general reader of XML does, which takes only what is well-formed.
func parsed(t testing.TB, page string) *element {
	t.Helper()
	root := &element{own: []string{""}}
	open := []*element{root}
	d := xml.NewDecoder(strings.NewReader(page))
	for {
		token, err := d.Token()
		if err == io.EOF {
			require.Len(t, open, 1)
			return root
		}
		require.NoError(t, err)
		inner := open[len(open)-1]
		switch token := token.(type) {
		case xml.StartElement:
			e := &element{name: token.Name.Local, attrs: map[string]string{}, own: []string{""}}
			for _, a := range token.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			inner.children = append(inner.children, e)
			open = append(open, e)
		case xml.EndElement:
			open = open[:len(open)-1]
			open[len(open)-1].own = append(open[len(open)-1].own, "")
		case xml.CharData:
			inner.own[len(inner.own)-1] += string(token)
		}
	}
}

// write replays and diagnoses a complaint and returns its page.
func write(t testing.TB, name string, file []byte) string {
	t.Helper()
	c, err := complaint.ParseIn(os.DirFS("../../testdata/complaints"), name, file)
	require.NoError(t, err)
	r, err := replay.NewReport(c)
	require.NoError(t, err)
	d, err := diagnosis.Diagnose(c)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, Write(&b, r, d))
	return b.String()
}

// undiagnosed is the page of a complaint without a diagnosis, which takes the longest.
func undiagnosed(t testing.TB, file string) *element {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, replayed(t, file), nil))
	return parsed(t, b.String())
}

func replayed(t testing.TB, file string) *replay.Report {
	t.Helper()
	c, err := complaint.Parse("f.yaml", []byte(file))
	require.NoError(t, err)
	r, err := replay.NewReport(c)
	require.NoError(t, err)
	return r
}

const curlew = `title: Curlew House - nothing is amiss
asked: 2026-11-04 18:00
from: 2026-11-03 00:00
safety: no
unit: {cycle: 24h}
installation: {plan: two valves}
settings: [mode hw off, mode ch table, "table ch every 06:30-08:30", clock wed 18:00]
sensed:
  - {what: ch relay, becomes: on, when: 2026-11-04 06:30, who: integrator}
  - {what: ch relay, is: closed, when: 2026-11-04 12:00-14:00, who: log}
done:
  - {when: 2026-11-04 10:00-11:00, do: power cut}
`

// A day's 86400 seconds have 808 pixels from 132 on. 06:30 is at 132 + 23400/86400*808 = 350.8, and the two hours to 08:30 are 67.3 wide.
// The cut's hour from 10:00 on is 33.7 wide, at 468.7. The moment of 06:30 is drawn 7 wide about its middle; 12:00 to 14:00 is 67.3 from
// 536 on, and departs: the log is off by no more than 5 s, so that the frame is 10 s, 0.1 pixels, wider.
func TestPositions(t *testing.T) {
	p := undiagnosed(t, curlew)
	day := p.with(t, "day-1")
	assert.Equal(t, "Wednesday 2026-11-04", day.words())
	svg := p.all("svg", "")
	require.Len(t, svg, 1)
	geometry := func(class string) (list []string) {
		for _, e := range svg[0].all("rect", class) {
			list = append(list, e.attrs["x"]+" "+e.attrs["width"])
		}
		return list
	}
	heating := func(e *element) bool { return e.texts("text", "dg-name")[0] == "heating relay" }
	lanes := svg[0].all("g", "dg-plain")
	i := slices.IndexFunc(lanes, heating)
	require.GreaterOrEqual(t, i, 0)
	var bars []string
	for _, e := range lanes[i].all("rect", "dg-bar") {
		bars = append(bars, e.attrs["x"]+" "+e.attrs["width"])
	}
	assert.Equal(t, []string{"350.8 67.3"}, bars)
	assert.Equal(t, []string{"468.7 33.7"}, geometry("dg-off"))
	assert.Equal(t, []string{"347.3 7"}, geometry("dg-box dg-good"))
	assert.Equal(t, []string{"536 67.3"}, geometry("dg-box dg-bad"))
	assert.Equal(t, []string{"536 67.4"}, geometry("dg-differs"))
	assert.Equal(t, []string{"#1 integrator", "#2 log"}, func() (names []string) {
		for _, l := range svg[0].all("g", "dg-stated") {
			names = append(names, l.texts("text", "dg-name")...)
		}
		return names
	}())
	said := svg[0].texts("text", "dg-said")
	require.Len(t, said, 4)
	for _, want := range []string{"power cut ", "power back ", "account taken ", "first departs: #2 "} {
		assert.True(t, slices.ContainsFunc(said, func(s string) bool { return strings.HasPrefix(s, want) }), "%s: %v", want, said)
	}
	demand := svg[0].texts("text", "dg-word")
	assert.Contains(t, demand, "table")
	assert.Contains(t, demand, "off")
	assert.Contains(t, demand, "✔ becomes on")
	assert.Contains(t, demand, "✘ closed")
}

// Every change can be reached by keyboard and leads to its reason.
func TestReasons(t *testing.T) {
	p := undiagnosed(t, curlew)
	assert.Equal(t, []string{
		"06:30:00 the heating relay closed because period 1 begins (MOD-2)", "08:30:00 the heating relay opened because period 1 ends (MOD-2)",
		"10:00:00 the display went dark: no power (PWR-1)", "11:00:00 the display showed a time: the clock is set and has power (CLK-1)",
	}, p.rows(t, "What the unit did"))
	plant := strings.Join(p.rows(t, "What the installation did"), "\n")
	assert.Contains(t, plant, "the flame: burning: the boiler has lit")
	links := map[string]string{}
	for _, a := range p.all("svg", "")[0].all("a", "") {
		links[a.texts("title", "")[0]] = strings.TrimPrefix(a.attrs["href"], "#")
	}
	id, ok := links["closed, 06:30:00 to 08:30:00. The heating relay closed because period 1 begins (MOD-2)."]
	require.True(t, ok, "%v", links)
	assert.Equal(t, "06:30:00 the heating relay closed because period 1 begins (MOD-2)", p.with(t, id).words())
	id, ok = links["#2, log, measured: ch relay closed, 2026-11-04 12:00-14:00. Departs: the heating relay: open for 1 h 59 min of that time."]
	require.True(t, ok, "%v", links)
	assert.Contains(t, p.with(t, id).words(), "#2 ch relay closed, 2026-11-04 12:00-14:00 log, measured ✘ departs")
}

// The log may be off by 5 seconds at either end, so that of two hours and a second 10 do not count: 1 h 59 min 51 s, worded to the minute.
func TestDeparture(t *testing.T) {
	p := undiagnosed(t, curlew)
	words := p.all("div", "departure")[0].words()
	assert.Equal(t, "▼ Wed 2026-11-04 12:00:05 #2, “ch relay closed, 2026-11-04 12:00-14:00”. In the replay, the heating relay: open for 1 h 59 min of that time. "+
		"Because since Wed 2026-11-04 08:30:00: the heating relay opened because period 1 ends (MOD-2).", words)
	agrees := undiagnosed(t, strings.Replace(curlew, "is: closed", "is: open", 1))
	assert.Empty(t, agrees.all("div", "departure"))
	assert.Contains(t, agrees.words(), "The replay departs from nothing that was said")
	assert.NotContains(t, agrees.all("svg", "")[0].words(), "departs")
}

// Of a click that was not to be heard, the page says which relay makes it, and hatching runs through a cut in which the unit's memory changes:
// the reserve of 60 minutes has run out by 11:00, in a cut from 10:00 to 12:00, which is 67.3 pixels wide at 468.7.
func TestClickAndCut(t *testing.T) {
	file := strings.Replace(curlew, "{cycle: 24h}", "{cycle: 24h, reserve: 60}", 1)
	file = strings.Replace(file, "10:00-11:00", "10:00-12:00", 1)
	p := undiagnosed(t, strings.Replace(file, "{what: ch relay, is: closed, when: 2026-11-04 12:00-14:00, who: log}", "{what: click, never: heard, when: 2026-11-04 08:00-09:00}", 1))
	assert.Contains(t, p.all("div", "departure")[0].words(), "In the replay, a click at 08:30:00, of the heating relay.")
	off := p.all("rect", "dg-off")
	require.Len(t, off, 1)
	assert.Equal(t, []string{"468.7", "67.3"}, []string{off[0].attrs["x"], off[0].attrs["width"]})
}

// What is wanted stands below its lane, and is no departure.
func TestWanted(t *testing.T) {
	p := undiagnosed(t, strings.Replace(curlew, "is: closed", "is: open", 1)+"wanted: {words: warm by six, means: [{what: ch relay, is: on, when: 2026-11-04 05:00-06:00}]}\n")
	assert.Contains(t, p.with(t, "complaint").words(), "The complaint")
	assert.Equal(t, []string{"ch relay on, 2026-11-04 05:00-06:00 ✘ otherwise the heating relay: open for 50 min of that time"}, p.rows(t, "What is wanted"))
	var names []string
	for _, l := range p.all("g", "dg-stated") {
		names = append(names, l.texts("text", "dg-name")...)
	}
	assert.Equal(t, []string{"#1 integrator", "#2 log", "wanted"}, names)
	assert.Empty(t, p.all("rect", "dg-differs"))
}

// A clock that is out has a lane that says by how much: the telephone said 18:00 when it read 17:00. One that is right needs none, unless
// its display goes dark.
func TestClockLane(t *testing.T) {
	uncut := curlew[:strings.Index(curlew, "done:")]
	svg := undiagnosed(t, strings.Replace(uncut, "clock wed 18:00", "clock wed 17:00", 1)).all("svg", "")[0]
	assert.Contains(t, svg.texts("text", "dg-name"), "unit's clock")
	assert.Contains(t, svg.texts("text", "dg-word"), "1 h 00 min slow")
	assert.NotContains(t, undiagnosed(t, uncut).all("svg", "")[0].texts("text", "dg-name"), "unit's clock")
	assert.Contains(t, undiagnosed(t, curlew).all("svg", "")[0].texts("text", "dg-word"), "dark")
}

var sections = []string{
	"Safety first", "In short", "The complaint", "Where the replay first departs", "What happened", "Causes", "What was said, and what explains it", "Ask next",
	"What to do", "What was taken as known",
}

// Every sample has every section, in this order, nothing from outside, no id twice, and no link that leads nowhere.
func TestSamples(t *testing.T) {
	files, err := filepath.Glob("../../testdata/complaints/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			page := write(t, file, data)
			p := parsed(t, page)
			assert.Equal(t, sections, p.texts("h2", ""))
			assert.Len(t, p.all("h1", ""), 1)
			assert.NotEmpty(t, p.all("svg", ""))
			assert.NotEmpty(t, p.all("section", "set"))
			assert.Contains(t, p.words(), replay.SafetyNote)
			assert.NotContains(t, page, filepath.Dir(file), "only the file's name")
			assert.Less(t, len(page), 1_000_000)

			assert.Empty(t, amiss(p))
			assert.NotRegexp(t, `(?i)@import|url\([^#)]|https?:`, strings.ReplaceAll(page, "http://www.w3.org/2000/svg", ""))
		})
	}
}

// amiss says what is wrong with a page: an id that is there twice, a link that leads nowhere, something fetched from outside, a table without
// a caption or with a head that does not say what it heads.
func amiss(p *element) (list []string) {
	ids := map[string]bool{}
	for _, e := range p.all("", "") {
		if id, ok := e.attrs["id"]; ok {
			if ids[id] {
				list = append(list, "twice: "+id)
			}
			ids[id] = true
		}
		if e.attrs["src"] != "" {
			list = append(list, "from outside: "+e.attrs["src"])
		}
		if scope := e.attrs["scope"]; e.name == "th" && scope != "row" && scope != "col" {
			list = append(list, "a head of nothing: "+e.words())
		}
		if e.name == "table" && len(e.all("caption", "")) != 1 {
			list = append(list, "no caption: "+e.words())
		}
	}
	for _, e := range p.all("", "") {
		for _, key := range []string{"href", "aria-labelledby"} {
			for _, id := range strings.Fields(e.attrs[key]) {
				if !ids[strings.TrimPrefix(id, "#")] {
					list = append(list, e.name+" leads nowhere: "+id)
				}
			}
		}
	}
	return list
}

func sample(t testing.TB, name string) string {
	t.Helper()
	data, err := os.ReadFile("../../testdata/complaints/" + name)
	require.NoError(t, err)
	return write(t, name, data)
}

// The first cause is drawn wherever it is otherwise, and what each set explains stands in words. The valve's motor was exchanged, and with
// the relay open the heating valve was seen to stand open: the account explains neither that nor the two times at which radiators were warm.
func TestCauses(t *testing.T) {
	p := parsed(t, sample(t, "only-hot-water.yaml"))
	set := p.all("section", "set")[0]
	assert.Contains(t, set.words(), "the heating valve is stuck open")
	names := strings.Join(p.all("svg", "")[0].texts("text", "dg-name"), ", ")
	assert.Contains(t, names, "heating valve, if cause A1")
	assert.NotContains(t, names, "relay, if cause A1", "the relays do the same")
	assert.NotContains(t, names, "three-port", "there is none")
	for i, verdicts := range []string{"agrees ✔ explains", "agrees ✔ explains", "departs ✔ explains", "departs ✔ explains", "departs ✔ explains"} {
		assert.Contains(t, p.rows(t, "Each statement")[i], verdicts)
	}
	ask := p.all("div", "ask")[0].words()
	assert.Contains(t, ask, "Who answers householder Cost ")
	assert.Contains(t, p.all("div", "do")[0].words(), "A visit by a heating engineer")
	assert.Contains(t, p.all("div", "do")[0].words(), "isolated and proved dead")
	assert.Contains(t, p.rows(t, "Unit, installation"), "unit cycle 7day assumed")
	assert.Contains(t, p.rows(t, "Unit, installation"), "setting table ch the default table (TAB-18) assumed")
	assert.Contains(t, p.rows(t, "Unit, installation"), "installation room-thermostat 21 read")
}

// With a smell of gas there is nothing to ask and nothing to do but what stands first.
func TestSafetyFirst(t *testing.T) {
	p := parsed(t, write(t, "f.yaml", []byte(strings.Replace(curlew, "safety: no", "safety: {gas-smell: yes, burning: no, carbon-monoxide: no, scalding: no}", 1))))
	first := p.all("main", "")[0].children[0].words()
	assert.Contains(t, first, "⚠ Does anybody smell gas? Yes. "+complaint.GasSmell.Do())
	assert.Contains(t, first, "Nothing else is to be done now.")
	assert.Less(t, strings.Index(first, "Yes."), strings.Index(first, "Ask first: "+complaint.VulnerableWithoutHeat.Question()))
	// Whoever tells it, it is told in the same words.
	d, err := diagnosis.Diagnose(replayed(t, strings.Replace(curlew, "safety: no", "safety: {gas-smell: yes}", 1)).Complaint)
	require.NoError(t, err)
	assert.Equal(t, diagnosis.Warning{About: complaint.GasSmell.About(), Words: complaint.GasSmell.Do(), Now: true}, d.Safety[0])
	assert.Equal(t, diagnosis.Warning{About: complaint.CarbonMonoxide.About(), Words: "Ask first: " + complaint.CarbonMonoxide.Question()}, d.Safety[1])
	assert.Empty(t, p.all("div", "ask"))
	assert.Empty(t, p.all("div", "do"))
	assert.Contains(t, p.words(), "Nobody is to press or turn anything")
	assert.NotContains(t, p.all("dl", "facts")[0].words(), "Most probable")

	clear := undiagnosed(t, curlew).all("main", "")[0].children[0].words()
	assert.Contains(t, clear, "All five questions were asked and answered no")
	danger := undiagnosed(t, strings.Replace(curlew, "{plan: two valves}", "{plan: two valves, immersion: on the relay}", 1))
	assert.NotEmpty(t, danger.all("div", "safety danger"))
	cold := parsed(t, write(t, "f.yaml", []byte(strings.Replace(curlew, "safety: no", "safety: {vulnerable-without-heat: yes}", 1))))
	assert.Contains(t, cold.all("dl", "facts")[0].words(), "Do First what stands above. Then: ")
}

// Whatever a file says is text, and stays it.
func TestHostileText(t *testing.T) {
	const evil = `"</title></style><script>alert(1)</script><img src=x onerror=alert(2)> '&amp; {{.}} ]]>"`
	file := strings.Replace(curlew, "title: Curlew House - nothing is amiss", "title: "+evil, 1) + "wanted: " + evil + "\nchanged: [{what: other, when: 2026-11-04 09:00, note: " + evil + "}]\n"
	p := parsed(t, write(t, `x"><script>.yaml`, []byte(file)))
	assert.Len(t, p.all("script", ""), 1)
	assert.Empty(t, p.all("img", ""))
	assert.Contains(t, p.texts("h1", "")[0], "<script>alert(1)</script>")
	assert.Contains(t, p.words(), "<img src=x onerror=alert(2)> '&amp; {{.}}")

	// A complaint that no file made may have what neither XML nor HTML has a place for.
	c, err := complaint.Parse("f.yaml", []byte(curlew))
	require.NoError(t, err)
	c.Title = "a\ab\xffc\uFFFE"
	r, err := replay.NewReport(c)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, Write(&b, r, nil))
	assert.Equal(t, []string{"a\uFFFDb\uFFFDc\uFFFD"}, parsed(t, b.String()).texts("h1", ""))
}

// A report without a diagnosis is a page all the same, and the same input gives the same bytes.
func TestWithoutDiagnosis(t *testing.T) {
	r := replayed(t, curlew)
	var a, b bytes.Buffer
	require.NoError(t, Write(&a, r, nil))
	require.NoError(t, Write(&b, r, nil))
	assert.Equal(t, a.String(), b.String())
	p := parsed(t, a.String())
	assert.Equal(t, sections, p.texts("h2", ""))
	assert.Contains(t, p.words(), "No causes were looked for")
	assert.Equal(t, write(t, "f.yaml", []byte(curlew)), write(t, "f.yaml", []byte(curlew)))
}

// A page says when its writer fails.
func TestWriterFails(t *testing.T) {
	r := replayed(t, curlew)
	f, err := os.Open(os.DevNull)
	require.NoError(t, err)
	require.NoError(t, f.Close())
	require.Error(t, Write(f, r, nil))
}

// On the last Sunday in October the day has 25 hours, and its ticks follow the household's clock: 00:00, 02:00 after three hours, and on.
func TestLongDay(t *testing.T) {
	p := undiagnosed(t, `title: Curlew House
asked: 2026-10-25 20:00
safety: no
settings: [mode hw off, mode ch off]
sensed: [{what: ch relay, is: open, when: 2026-10-25 12:00-13:00}]
`)
	ticks := p.all("svg", "")[0].all("text", "dg-tick")
	require.Len(t, ticks, 12)
	// 808 pixels for 25 hours are 32.32 an hour.
	assert.Equal(t, []string{"132", "00:00"}, []string{ticks[0].attrs["x"], ticks[0].words()})
	assert.Equal(t, []string{"229", "02:00"}, []string{ticks[1].attrs["x"], ticks[1].words()})
	assert.Equal(t, []string{"293.6", "04:00"}, []string{ticks[2].attrs["x"], ticks[2].words()})
}

// The day of the departure comes first, then those of what was sensed, in the order of the file, which begins with the 27th. What is left out
// is counted.
func TestDays(t *testing.T) {
	file := strings.Replace(curlew, "from: 2026-11-03 00:00", "from: 2026-10-20 00:00", 1)
	for _, d := range []string{"21", "22", "23", "24", "25", "26", "27"} {
		file = strings.Replace(file, "sensed:\n", "sensed:\n  - {what: ch relay, becomes: on, when: 2026-10-"+d+" 06:30}\n", 1)
	}
	p := undiagnosed(t, file)
	assert.Equal(t, []string{"Sunday 2026-10-25", "Monday 2026-10-26", "Tuesday 2026-10-27", "Wednesday 2026-11-04"},
		p.texts("h3", "")[:4])
	assert.Contains(t, p.words(), "4 more days on which something was done or said are left out")
}

// The page's own styles name no class that it does not use.
func TestStyleFitsThePage(t *testing.T) {
	used := map[string]bool{}
	for _, m := range regexp.MustCompile(`class="([^"]*)"`).FindAllStringSubmatch(pageText, -1) {
		for _, class := range strings.Fields(regexp.MustCompile(`\{\{[^}]*\}\}`).ReplaceAllString(m[1], "")) {
			used[class] = true
		}
	}
	for _, class := range []string{"now", "danger", "unasked", "good", "bad", "open"} {
		used[class] = true // from data
	}
	for _, m := range regexp.MustCompile(`\.([a-z][a-z-]*)`).FindAllStringSubmatch(regexp.MustCompile(`content: "[^"]*"`).ReplaceAllString(pageStyle, ""), -1) {
		if m[1] != "dg" && !strings.HasPrefix(m[1], "dg-") {
			assert.True(t, used[m[1]], m[1])
		}
	}
}

// By the display the clock is 20 minutes ahead, so that 08:30 comes at 08:10; the log has 08:17:27.
//
// What was logged stands in tables of its own with its place in the log, its stretches in one lane, and of the many that a set does not explain a few.
func TestLogs(t *testing.T) {
	p := parsed(t, sample(t, "relay-log-runs-ahead.yaml"))
	rows := p.rows(t, "Logs beside the account")
	require.Len(t, rows, 1)
	assert.Regexp(t, `^1 logs/dipper-relays\.vcd hw relay \(column logger\.D0, active low, changes 37, bounces taken out \d+\), ch relay \(column logger\.D1, changes 38, `+
		`bounces taken out \d+\); within 5 s; two volt-free contacts of a relay module beside the unit Mon 2026-11-09 07:00:30 Wed 2026-11-18 17:50:00$`, rows[0])
	assert.Regexp(t, `^ch relay by log 1, logs/dipper-relays\.vcd: 77 statements, as given \d+, \d+ otherwise, \d+ open$`, p.all("summary", "")[len(p.all("summary", ""))-1].words())
	ch := p.rows(t, "ch relay by log 1, logs/dipper-relays.vcd")
	require.Len(t, ch, 77)
	assert.Regexp(t, `^#78 ch relay becomes open, 2026-11-09 08:17:27 log, measured, logs/dipper-relays\.vcd:14, column logger\.D1 ✘ departs ✔ explains the nearest comes 7 min before$`, ch[1])
	assert.Len(t, p.all("table", "statements"), 3)
	assert.NotContains(t, strings.Join(p.all("table", "statements")[0].texts("th", ""), " "), "hw relay")

	svg := p.all("svg", "")[0]
	var names []string
	for _, l := range svg.all("g", "dg-stated") {
		names = append(names, l.texts("text", "dg-name")...)
	}
	assert.Equal(t, []string{"log 1", "log 1"}, names)
	assert.NotEmpty(t, svg.all("rect", "dg-differs"))

	// The list of what a set does not explain stays short, whatever was logged: of all 158 statements, the first, four that were logged and the
	// settings are told.
	data, err := os.ReadFile("../../testdata/complaints/relay-log-runs-ahead.yaml")
	require.NoError(t, err)
	c, err := complaint.ParseIn(os.DirFS("../../testdata/complaints"), "f.yaml", data)
	require.NoError(t, err)
	r, err := replay.NewReport(c)
	require.NoError(t, err)
	d := &diagnosis.Result{}
	var all []int
	for i := range r.Held {
		all = append(all, i)
		d.Statements = append(d.Statements, diagnosis.Said{Text: fmt.Sprint(i)})
	}
	list := (&page{r: r, d: d}).list(all)
	assert.Equal(t, []string{"0", "1", "2", "3", "4", "153", "154", "155", "156", "157", "and 148 more that were logged"}, list)
}
