package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"regexp"
	"slices"
	"strings"
	"time"

	"example.org/hearthbench/conformance/diagram"
	"example.org/hearthbench/conformance/known"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/timing"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

//go:embed page.html.tmpl
var pageText string

//go:embed page.css
var pageStyle string

var pageTemplate = template.Must(template.New("page").Parse(pageText))

// What a page shows at most, so that a browser can hold it and a person find their way: one mistake can fail thousands of vectors.
const (
	maxShown  = 200 // with steps and drawing; the first of each clause always is
	maxListed = 25  // of the others of a clause, by name
)

// pageData is what the page's template is given. Every text in it is plain and escaped by the template, but for what package template calls safe.
type pageData struct {
	*Report
	Style       template.CSS
	Target      string
	Description string
	Source      string
	Began, Took string
	Planned     int
	Verdict     string
	Class, Sign string // of the verdict on the whole
	Options     []option
	Families    []familyRow
	All         familyRow
	Broken      []brokenRow
	Groups      []*group
	NotPassed   int
	Unlisted    int // of those, how many are not even named
	KnownRows   []knownRow
	Reasons     []reasonRow
	Interrupted string
	Safety      string
	HasKnown    bool
	Remarks     []remarkRow
}

type familyRow struct {
	ID, Name string
	Counts
	Sign, Word string
	Parts      []part
	ShowKnown  bool
}

// part is a share of a family's bar.
type part struct {
	Class string
	Share float64 // percent
}

type brokenRow struct {
	Broken
	Text   template.HTML
	Linked bool
}

// group is a clause with what failed for it.
type group struct {
	ID      string
	Options string
	Text    template.HTML
	results []*runner.Result
	Shown   []failureView
	Listed  []listedRow
	More    int
}

// Count is how many vectors did not pass.
func (g *group) Count() string { return plural(len(g.results), "vector") }

type listedRow struct{ Sign, Word, ID, Text string }

type failureView struct {
	listedRow
	Open             bool
	Purpose, Catches string
	Clauses          []clauseView
	Given            string
	Steps            []stepView
	When             string
	Stderr           []string
	Drawing          template.HTML // none for what is inconclusive
	Caption          string
}

type clauseView struct {
	ID, Options string
	Text        template.HTML
}

type stepView struct{ When, Do, Want string }

type knownRow struct{ Sign, Word, ID, Reason, Text string }

// remarkRow is what is wrong with an entry of the list of known failures.
type remarkRow struct{ Sign, Place, Text string }

type reasonRow struct {
	Why   string
	Count string
	IDs   string
}

// HTML writes the report as one page that needs nothing beside it: it works from a file, in light and dark, and prints.
func (r *Report) HTML(w io.Writer) error {
	var b strings.Builder
	if err := pageTemplate.Execute(&b, r.pageData()); err != nil {
		return err
	}
	_, err := io.WriteString(w, diagram.Clean(b.String()))
	return err
}

func (r *Report) pageData() *pageData {
	c := r.Counts()
	p := &pageData{
		Report: r, Style: template.CSS(pageStyle + diagram.Style),
		Target: r.Name(), Description: withoutCredential(r.Description), Source: r.source(),
		Began: r.When.UTC().Format("2006-01-02 15:04:05 UTC"), Took: r.Took.Round(time.Millisecond).String(), Planned: max(r.Planned, len(r.Results)),
		Verdict: r.verdict(&c), Options: r.options(), Safety: safetyNote, HasKnown: r.Known != nil, NotPassed: c.new(),
	}
	switch {
	case c.new() > 0 || r.stale() > 0:
		p.Class, p.Sign = "fail", signs[runner.Fail]
	case !r.Holds():
		p.Class, p.Sign = "inconclusive", signs[runner.Inconclusive]
	case c.Known > 0:
		p.Class, p.Sign = "known", knownSign
	default:
		p.Class, p.Sign = "pass", signs[runner.Pass]
	}
	if !r.complete() {
		p.Interrupted = r.interruption()
	}
	families, counts := r.byFamily()
	for i, f := range families {
		p.Families = append(p.Families, p.row(f.ID, f.Name, counts[i]))
	}
	p.All = p.row("all", "", c)
	p.group()
	for _, b := range r.MostBroken() {
		p.Broken = append(p.Broken, brokenRow{
			Broken: b, Text: inline(r.Page.Clause(b.Clause).Text), Linked: slices.ContainsFunc(p.Groups, func(g *group) bool { return g.ID == b.Clause }),
		})
	}
	p.others()
	return p
}

// signs say with a shape what colours say too.
var signs = [...]string{runner.Pass: "✔", runner.Fail: "✘", runner.Inconclusive: "?", runner.NotApplicable: "–"}

const knownSign = "◆"

func (p *pageData) row(id, name string, c Counts) familyRow {
	f := familyRow{ID: id, Name: name, Counts: c, ShowKnown: p.HasKnown}
	switch {
	case c.new() > 0 && c.Fail > 0:
		f.Sign, f.Word = signs[runner.Fail], "fails"
	case c.new() > 0:
		f.Sign, f.Word = signs[runner.Inconclusive], "inconclusive"
	case c.Known > 0:
		f.Sign, f.Word = knownSign, "as known"
	case c.Pass > 0:
		f.Sign, f.Word = signs[runner.Pass], "passes"
	default:
		f.Sign, f.Word = signs[runner.NotApplicable], "not applicable"
	}
	total := float64(c.Pass + c.Fail + c.Inconclusive + c.NotApplicable)
	for _, s := range []part{{"pass", float64(c.Pass)}, {"fail", float64(c.Fail)}, {"inconclusive", float64(c.Inconclusive)}, {"none", float64(c.NotApplicable)}} {
		if s.Share > 0 {
			f.Parts = append(f.Parts, part{s.Class, 100 * s.Share / total})
		}
	}
	return f
}

// group sorts what did not pass, and is not known to, by the first clause of each vector, in the page's order, and decides what is shown in full:
// the first of each clause, and then the second of each, and so on.
func (p *pageData) group() {
	byClause := map[string]*group{}
	for _, result := range p.Results {
		if !p.IsNew(result) {
			continue
		}
		id := result.Vector.Clauses[0]
		g := byClause[id]
		if g == nil {
			g = &group{ID: id}
			byClause[id] = g
		}
		g.results = append(g.results, result)
	}
	for _, f := range p.Page.Families {
		for _, c := range f.Clauses {
			if g := byClause[c.ID]; g != nil {
				g.Options, g.Text = c.Options, inline(c.Text)
				p.Groups = append(p.Groups, g)
			}
		}
	}
	left, open := maxShown, len(p.Groups)
	for rank := 0; open > 0; rank++ {
		open = 0
		for _, g := range p.Groups {
			if rank >= len(g.results) || rank > 0 && left <= 0 {
				continue
			}
			open++
			left--
			g.Shown = append(g.Shown, p.failure(g.results[rank], fmt.Sprintf("%s-%d", g.ID, rank+1), rank == 0))
		}
	}
	for _, g := range p.Groups {
		rest := g.results[len(g.Shown):]
		for _, result := range rest[:min(len(rest), maxListed)] {
			g.Listed = append(g.Listed, listed(result))
		}
		g.More = len(rest) - len(g.Listed)
		p.Unlisted += g.More
	}
}

// others fills in what is known to fail, what is wrong with the list of that, and what the unit's ICS does not call for.
func (p *pageData) others() {
	at := map[string]int{}
	ids := [][]string{}
	for _, result := range p.Results {
		if e := p.Known.Excuse(result); e != nil {
			l := listed(result)
			p.KnownRows = append(p.KnownRows, knownRow{l.Sign, l.Word, l.ID, e.Reason, l.Text})
		}
		if result.Verdict != runner.NotApplicable {
			continue
		}
		i, ok := at[result.Why]
		if !ok {
			i = len(ids)
			at[result.Why] = i
			ids = append(ids, nil)
			p.Reasons = append(p.Reasons, reasonRow{Why: result.Why})
		}
		ids[i] = append(ids[i], result.Vector.ID)
	}
	for i := range p.Report.Complaints {
		c := &p.Report.Complaints[i]
		sign := signs[runner.NotApplicable]
		if c.Kind == known.Passes {
			sign = signs[runner.Fail]
		}
		p.Remarks = append(p.Remarks, remarkRow{sign, c.Place(), c.Text()})
	}
	for i, list := range ids {
		p.Reasons[i].Count = plural(len(list), "vector")
		p.Reasons[i].IDs = strings.Join(list[:min(len(list), maxListed)], ", ")
		if more := len(list) - maxListed; more > 0 {
			p.Reasons[i].IDs += fmt.Sprintf(" and %d more", more)
		}
	}
}

func listed(r *runner.Result) listedRow {
	l := listedRow{Sign: signs[r.Verdict], Word: r.Verdict.String(), ID: r.Vector.ID, Text: r.Why}
	if r.Departure != nil {
		l.Text = Departure(r.Departure, r.Bound)
	}
	return l
}

func (p *pageData) failure(r *runner.Result, id string, open bool) failureView {
	f := failureView{listedRow: listed(r), Open: open, Purpose: r.Vector.Purpose, Catches: r.Vector.Catches, Stderr: stderrOf(r)}
	for _, c := range clauses(p.Page, r) {
		f.Clauses = append(f.Clauses, clauseView{c.ID, c.Options, inline(c.Text)})
	}
	if r.Departure == nil {
		return f
	}
	f.Given = given(r)
	for _, step := range stepsUpTo(r.Vector, r.Departure.At) {
		f.Steps = append(f.Steps, stepView{clock(r.Vector, step.At), step.Do, wire.OutcomeWord(step.Want)})
	}
	f.When = clock(r.Vector, r.Departure.At)
	d, caption := drawing(r, id)
	f.Drawing, f.Caption = template.HTML(d.SVG()), caption // package diagram escapes every text in it
	return f
}

// The instants of a drawing before and after the departure.
const (
	instantsBefore = 7
	instantsAfter  = 4
)

// drawing draws expected and observed one under the other, as much of it as leads to the departure and follows it.
func drawing(r *runner.Result, id string) (d *diagram.Drawing, caption string) {
	v, departure := r.Vector, r.Departure
	instants := []uint64{0, departure.At}
	for _, step := range v.Steps {
		instants = append(instants, step.At)
	}
	for _, changes := range [...][]spec.Change{r.Bound.Trace, r.Observed} {
		for i := range changes {
			instants = append(instants, changes[i].At)
		}
	}
	slices.Sort(instants)
	instants = slices.Compact(instants)
	end := max(v.Until, instants[len(instants)-1]+1) // what happens in the last second is to be seen
	d = &diagram.Drawing{ID: "d-" + id, Title: "Timing of " + v.ID, Desc: clock(v, departure.At) + ": " + Departure(departure, r.Bound), Off: withoutPower(r.Bound, end)}
	for s := spec.Signal(0); s < spec.NumSignals; s++ {
		if !shown(r, s) {
			continue
		}
		title := func(level spec.Level, from, to uint64, by spec.Clause) string {
			text := fmt.Sprintf("%s %s from %s to %s", signalName(s), levelName(&spec.Change{Signal: s, Level: level}), clock(v, from), clock(v, to))
			if from == to {
				text = fmt.Sprintf("%s %s within the second of %s", signalName(s), levelName(&spec.Change{Signal: s, Level: level}), clock(v, from))
			}
			if by != spec.NoClause {
				text += ", by " + by.String()
			}
			return text
		}
		expected := timing.Lane{Signal: s, Initial: r.Bound.Initial[s], Changes: r.Bound.Trace}
		observed := timing.Lane{Signal: s, Initial: r.Initial[s], Changes: r.Observed}
		a, b := diagram.Spans(&expected, end, title), diagram.Spans(&observed, end, title)
		word := wire.SignalWord(s)
		d.Lanes = append(d.Lanes,
			diagram.Lane{Name: word + " expected", First: true, Spans: a},
			diagram.Lane{Name: word + " observed", Kind: diagram.Observed, Spans: b, Differs: diagram.Differ(a, b, end)})
	}
	at, _ := slices.BinarySearch(instants, departure.At)
	first, last := max(0, at-instantsBefore), min(len(instants), at+instantsAfter+1)
	if last < len(instants) {
		end = instants[last]
		caption = fmt.Sprintf(" After it, %s of the vector are not drawn.", plural(len(instants)-last, "more instant"))
	}
	if first > 0 {
		caption = fmt.Sprintf(" Before it, %s of the vector are not drawn.", plural(first, "instant")) + caption
	}
	d.Scale = diagram.Fit(instants[first:last], end)
	date := ""
	for _, instant := range instants[first:last] {
		t := v.At(instant)
		tick := diagram.Tick{At: instant, Label: t.Format("15:04:05")}
		if today := t.Format("2006-01-02"); today != date {
			tick.Under, date = today, today
		}
		d.Ticks = append(d.Ticks, tick)
	}
	d.Marks = inputMarks(v, instants[first], instants[last-1])
	d.Marks = append(d.Marks, diagram.Mark{At: departure.At, Text: "departs here: " + departureKinds[departure.Kind], Title: d.Desc, Wrong: true})
	return d, caption
}

// maxMarks is how many inputs of one second are worded in a drawing.
const maxMarks = 6

func inputMarks(v *suite.Vector, from, to uint64) []diagram.Mark {
	var marks []diagram.Mark
	n := 0
	for i, step := range v.Steps {
		if n++; i > 0 && v.Steps[i-1].At != step.At {
			n = 1
		}
		if step.At < from || step.At > to {
			continue
		}
		m := diagram.Mark{At: step.At, Text: step.Do, Title: fmt.Sprintf("%s  %s (%s)", clock(v, step.At), step.Do, wire.OutcomeWord(step.Want))}
		if step.Want != spec.Accepted {
			m.Text += " (" + wire.OutcomeWord(step.Want) + ")"
		}
		switch {
		case n <= maxMarks:
			marks = append(marks, m)
		case n == maxMarks+1:
			marks = append(marks, diagram.Mark{At: step.At, Text: "and more inputs in this second"})
		}
	}
	return marks
}

// withoutPower returns when a vector leaves the unit without power.
func withoutPower(b *suite.Bound, end uint64) []diagram.Interval {
	var list []diagram.Interval
	on, since := false, uint64(0)
	note := func(at uint64, in *spec.Input) {
		switch {
		case in.Kind == spec.PowerOff:
			on, since = false, at
		case in.Kind == spec.PowerOn && !on:
			on = true
			if at > since {
				list = append(list, diagram.Interval{From: since, To: at})
			}
		}
	}
	for i := range b.Given {
		note(0, &b.Given[i])
	}
	for i := range b.Steps {
		if b.Steps[i].Want == spec.Accepted {
			note(b.Steps[i].At, &b.Steps[i].Input)
		}
	}
	if !on && end > since {
		list = append(list, diagram.Interval{From: since, To: end})
	}
	return list
}

var (
	codeText = regexp.MustCompile("`([^`]+)`")
	emphasis = regexp.MustCompile(`\*([A-Za-z]+)\*`)
)

// inline is a clause's text with the little markup that it has.
func inline(text string) template.HTML {
	text = template.HTMLEscapeString(text)
	text = codeText.ReplaceAllString(text, "<code>$1</code>")
	return template.HTML(emphasis.ReplaceAllString(text, "<em>$1</em>"))
}
