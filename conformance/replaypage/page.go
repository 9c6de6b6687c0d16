package replaypage

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/diagnosis"
	"example.org/hearthbench/conformance/diagram"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

//go:embed page.html.tmpl
var pageText string

//go:embed page.css
var pageStyle string

// pageScript shows the reason of what a pointer or the keyboard is on, and lets the arrow keys walk through a drawing. Without it each
// change is a link to its reason.
//
//go:embed page.js
var pageScript string

var pageTemplate = template.Must(template.New("page").Funcs(template.FuncMap{
	"changes": func(head string, rows []changeRow) changesView { return changesView{head, rows, false} },
	"few":     func(head string, rows []changeRow) changesView { return changesView{head, rows, len(rows) <= mostOpen} },
}).Parse(pageText))

// changesView is a table of changes that a reader opens, if it is not open.
type changesView struct {
	Head string
	Rows []changeRow
	Open bool
}

// page is a page being written.
type page struct {
	r *replay.Report
	d *diagnosis.Result
	// other is what would have happened with the first cause; nil where there is none, or where it is what was told.
	other *replay.History
}

// pageData is what the page's template is given. Every text in it is plain and escaped by the template, but for what package template
// calls safe.
type pageData struct {
	Style       template.CSS
	Script      template.JS
	ScriptHash  string
	Title, File string
	Asked       string
	From, Until string

	Safety   []safetyRow
	AllClear bool
	Urgent   bool // something about safety is to be acted on at once
	Stop     bool

	Short []fact
	Days  []dayView
	Left  int // days more

	Wanted  string
	Wants   []statementRow
	Acts    []actRow
	Changed []turnRow
	Logs    []logRow

	Departure  *departureView
	Statements []statementRow // but for those of logs
	Logged     []loggedView
	Columns    []string // the letters of the sets shown

	Diagnosed bool
	Lived     int
	Sets      []setView
	Fewer     int // sets more, less probable than those shown
	Answered  []diagnosis.Put
	Next      *askView
	Asks      []askView
	Action    *actionView
	Always    []string

	Known   []knownRow
	Amiss   []plant.Warning
	Caution string
}

// fact is a line of what the page comes to in short.
type fact struct{ Name, Class, Sign, Words string }

// safetyRow is something about safety. Class is now, danger or unasked.
type safetyRow struct{ Class, Sign, Head, Words string }

type actRow struct{ Number, What, When, Who, Came string }

type turnRow struct{ What, When, Note string }

type logRow struct{ Number, File, Of, From, To string }

// loggedView is the statements of one column of a log, which a reader opens.
type loggedView struct {
	Head    string
	Rows    []statementRow
	Columns []string
}

type departureView struct{ When, Name, Has, Because string }

// statementRow is a statement with how the account and each set of causes has it.
type statementRow struct {
	ID, Number, Text, Who, Has string
	Account                    *cell // nil of the answer to a question
	Cells                      []cell
	Departs                    bool
}

// cell is a verdict.
type cell struct{ Class, Sign, Word string }

// setView is a set of causes that the evidence cannot tell apart.
type setView struct {
	Letter, Percent string
	Share           string // percent, for the width of a bar
	Apart           bool   // several causes
	Causes, More    []causeView
	Others          int
	Explains        string
	Not             []string
	Open            []string
	Action          actionView
}

type causeView struct{ ID, Percent, Words, Detail, Family, Do string }

type askView struct {
	Words, Who, Minutes, Caution string
	Choices                      []choiceView
}

type choiceView struct{ Choice, Leads string }

type actionView struct {
	Visit    bool
	Who      string
	Part     string
	Words    string
	Cautions []string
}

// knownRow is something that was taken to be so, and how it is known.
type knownRow struct{ About, What, Value, How string }

// What a page shows at most.
const (
	mostSets   = 4
	mostCauses = 6 // of a set; the others can be opened
	leastShare = 0.01
	mostLogged = 4  // statements of logs in a list
	mostOpen   = 16 // changes that a table shows without being opened
)

// Write writes a complaint's page. The diagnosis may be nil where there is none. It fails if the first cause's world cannot be lived
// through, or if w fails.
func Write(w io.Writer, r *replay.Report, d *diagnosis.Result) error {
	p := &page{r: r, d: d}
	if err := p.live(); err != nil {
		return err
	}
	data := p.data()
	var b strings.Builder
	if err := pageTemplate.Execute(&b, data); err != nil {
		return err
	}
	_, err := io.WriteString(w, diagram.Clean(b.String()))
	return err
}

// live finds out what would have happened with the first cause.
func (p *page) live() error {
	if p.d == nil || len(p.d.Sets) == 0 {
		return nil
	}
	w, ok := p.d.Sets[0].Causes[0].World()
	if !ok {
		return nil
	}
	h, err := replay.Run(&w, nil)
	if err != nil {
		return fmt.Errorf("the first cause cannot be replayed: %w", err)
	}
	p.other = h
	return nil
}

func (p *page) data() *pageData {
	c, h := p.r.Complaint, p.r.History
	sum := sha256.Sum256([]byte(pageScript))
	d := &pageData{
		Style: template.CSS(pageStyle + diagram.Style), Script: template.JS(pageScript), ScriptHash: base64.StdEncoding.EncodeToString(sum[:]),
		Title: c.Title, File: filepath.Base(c.File), Asked: p.when(c.Asked), From: p.when(h.From), Until: p.when(h.To),
		Wanted: c.Wanted.Words, Known: p.known(), Caution: replay.SafetyNote,
	}
	p.safety(d)
	shown, left := p.r.Days(true, p.r.History.To-1)
	for i, day := range shown {
		d.Days = append(d.Days, p.view(i, day))
	}
	d.Left = left
	p.account(d)
	p.departure(d)
	p.causes(d)
	p.statements(d)
	p.questions(d)
	p.short(d)
	for _, w := range p.r.Warnings {
		if !w.Danger {
			d.Amiss = append(d.Amiss, w)
		}
	}
	return d
}

// safety is what was answered, the most urgent first, and what is dangerous in the installation.
func (p *page) safety(d *pageData) {
	var ask []safetyRow
	clear := true
	for _, q := range p.r.Complaint.Safety {
		note := ""
		if q.Note != "" {
			note = " (" + q.Note + ")"
		}
		switch q.Answer {
		case complaint.Yes:
			clear, d.Urgent = false, true
			d.Safety = append(d.Safety, safetyRow{"now", "⚠", q.Peril.Question() + " Yes" + note + ".", q.Peril.Do()})
		case complaint.Unanswered:
			clear = false
			ask = append(ask, safetyRow{"unasked", "?", "Ask first: " + q.Peril.Question() + note, ""})
		}
	}
	for _, w := range p.r.Warnings {
		if w.Danger {
			d.Urgent = true
			d.Safety = append(d.Safety, safetyRow{"danger", "⚠", w.Words, w.Caution})
		}
	}
	d.Safety = append(d.Safety, ask...)
	d.AllClear = clear
	d.Stop = p.d != nil && p.d.Stop
}

// account is the complaint in words.
func (p *page) account(d *pageData) {
	c, h := p.r.Complaint, p.r.History
	for i := range p.r.Wants {
		held, o := &p.r.Wants[i], &c.Wanted.Means[i]
		row := statementRow{Text: o.Text, Has: p.has(held, o), Account: &cell{
			verdictClasses[held.Verdict], signs[held.Verdict], wantedWords[held.Verdict],
		}}
		d.Wants = append(d.Wants, row)
	}
	for i := range c.Acts {
		a := &c.Acts[i]
		row := actRow{Number: fmt.Sprint(i + 1), What: a.Text, When: a.When.Text, Who: fmt.Sprintf("%s, %s", a.Who, a.Sure)}
		for j := range h.Done {
			done := h.Done[j]
			if h.World.Acts[done.Act].Claim != i {
				continue
			}
			if row.Came == "" {
				row.Came = "taken to be done " + p.when(done.At)
			}
			if why := h.Refused(done); why != "" {
				row.Came = fmt.Sprintf("the unit turns it down at %s: %s", p.when(done.At), why)
				break
			}
		}
		if row.Came == "" {
			row.Came = "outside the time that is replayed"
		}
		d.Acts = append(d.Acts, row)
	}
	for i := range c.Changed {
		d.Changed = append(d.Changed, turnRow{c.Changed[i].Kind.String(), c.Changed[i].When.Text, c.Changed[i].Note})
	}
	for _, l := range c.Logs {
		d.Logs = append(d.Logs, logRow{fmt.Sprint(l.Number), l.File, replay.LogWords(l), p.when(l.From), p.when(l.To)})
	}
}

func (p *page) departure(d *pageData) {
	departing := p.r.Departing()
	if len(departing) == 0 {
		return
	}
	first := &departing[0]
	d.Departure = &departureView{p.when(first.At), p.name(first), p.has(first, p.r.Observation(first)), p.because(first)}
}

var verdictClasses = [...]string{replay.CannotTell: "open", replay.Agrees: "good", replay.Departs: "bad"}

func verdictCell(v replay.Verdict) cell { return cell{verdictClasses[v], signs[v], v.String()} }

// statements lists everything that was said, and the answers to questions, with how the account and each set of causes has it.
func (p *page) statements(d *pageData) {
	c := p.r.Complaint
	for i := range p.r.Held {
		h := &p.r.Held[i]
		account := verdictCell(h.Verdict)
		row := statementRow{Has: p.has(h, p.r.Observation(h)), Account: &account, Departs: h.Verdict == replay.Departs}
		if h.Setting {
			s := &c.Settings[h.Index]
			row.ID, row.Text, row.Who = fmt.Sprintf("setting-%d", h.Index+1), s.Text, fmt.Sprintf("%s, %s", s.Source, s.Sure)
			if s.Source.String() == s.Sure.String() {
				row.Who = s.Source.String()
			}
		} else {
			o := &c.Sensed[h.Index]
			row.ID, row.Number, row.Text, row.Who = fmt.Sprintf("said-%d", h.Index+1), fmt.Sprintf("#%d", h.Index+1), o.Text, witness(o)
		}
		d.Statements = append(d.Statements, row)
	}
	if p.d != nil {
		for i := len(p.r.Held); i < len(p.d.Statements); i++ {
			d.Statements = append(d.Statements, statementRow{ID: fmt.Sprintf("answer-%d", i-len(p.r.Held)+1), Text: p.d.Statements[i].Text, Who: "answer"})
		}
		for i := range d.Statements {
			for s := range d.Sets {
				d.Statements[i].Cells = append(d.Statements[i].Cells, explains(&p.d.Sets[s], i))
			}
		}
		for s := range d.Sets {
			d.Columns = append(d.Columns, d.Sets[s].Letter)
		}
	}
	p.setLoggedApart(d)
}

// setLoggedApart puts the statements of logs, which can be many, into tables of their own.
func (p *page) setLoggedApart(d *pageData) {
	all, of := d.Statements, make([]bool, len(d.Statements))
	for _, t := range p.r.Tracks() {
		v := loggedView{Columns: d.Columns}
		var count [3]int
		for _, i := range t.Held {
			of[i] = true
			v.Rows = append(v.Rows, all[i])
			count[p.r.Held[i].Verdict]++
		}
		v.Head = fmt.Sprintf("%s by log %d, %s: %s as given %s, %d otherwise, %d open", t.What, t.Log.Number, t.Log.File, plural(len(t.Held), "statement,", "statements,"),
			fmt.Sprint(count[replay.Agrees]), count[replay.Departs], count[replay.CannotTell])
		d.Logged = append(d.Logged, v)
	}
	d.Statements = nil
	for i := range all {
		if !of[i] {
			d.Statements = append(d.Statements, all[i])
		}
	}
}

// explains says how a set has a statement.
func explains(s *diagnosis.Set, i int) cell {
	switch {
	case slices.Contains(s.Explains, i):
		return cell{"good", signs[replay.Agrees], "explains"}
	case slices.Contains(s.Departs, i):
		return cell{"bad", signs[replay.Departs], "does not"}
	}
	return cell{"open", signs[replay.CannotTell], "open"}
}

// causes lists the sets, those that are hardly probable but counted.
func (p *page) causes(d *pageData) {
	if p.d == nil {
		return
	}
	d.Diagnosed, d.Lived = true, p.d.Lived
	for i := range p.d.Sets {
		s := &p.d.Sets[i]
		if i >= mostSets || i > 0 && s.Probability < leastShare {
			d.Fewer = len(p.d.Sets) - i
			break
		}
		letter := string(rune('A' + i))
		v := setView{
			Letter: letter, Percent: diagnosis.Percent(s.Probability), Share: fmt.Sprintf("%.1f", 100*min(1, s.Probability)), Apart: len(s.Causes)+len(s.Others) > 1, Others: len(s.Others),
			Explains: fmt.Sprintf("%d of %s", len(s.Explains), plural(len(p.d.Statements), "statement", "statements")), Action: viewAction(&s.Action),
		}
		for j := range s.Causes {
			c := &s.Causes[j]
			row := causeView{ID: fmt.Sprintf("%s%d", letter, j+1), Percent: diagnosis.Percent(c.Probability), Words: c.Words, Detail: c.Details(), Family: string(c.Family), Do: doInShort(&c.Action)}
			if c.Also != "" && c.Also != c.Family {
				row.Family += ", " + string(c.Also)
			}
			if j < mostCauses {
				v.Causes = append(v.Causes, row)
			} else {
				v.More = append(v.More, row)
			}
		}
		v.Not, v.Open = p.list(s.Departs), p.list(s.Leaves)
		d.Sets = append(d.Sets, v)
	}
}

// list is the texts of statements, those of logs counted where they are many.
func (p *page) list(statements []int) (texts []string) {
	logged := 0
	for _, k := range statements {
		if k < len(p.r.Held) {
			if o := p.r.Observation(&p.r.Held[k]); o != nil && o.Logged.Log != nil {
				if logged++; logged > mostLogged {
					continue
				}
			}
		}
		texts = append(texts, p.d.Statements[k].Text)
	}
	if logged > mostLogged {
		texts = append(texts, fmt.Sprintf("and %d more that were logged", logged-mostLogged))
	}
	return texts
}

func viewAction(a *diagnosis.Action) actionView {
	return actionView{a.Visit, string(a.Who), a.Part, a.Words, a.Cautions}
}

// doInShort says whether somebody has to come.
func doInShort(a *diagnosis.Action) string {
	if !a.Visit {
		return "no visit"
	}
	return "visit: " + string(a.Who)
}

// always is what holds whatever the page advises.
var always = []string{
	plant.Caution,
	"Restricting or switching off heat can harm people who depend on it: ask who lives there, and see to heat for them until all is put right.",
	"Stored hot water is kept hot enough against legionella, and not so hot at the tap that it scalds: follow local guidance before a cylinder thermostat is turned or hot water is switched off for long.",
}

func (p *page) questions(d *pageData) {
	d.Always = always
	if p.d == nil {
		return
	}
	d.Answered = p.d.Asked
	if d.Stop || len(p.d.Sets) == 0 {
		return
	}
	action := viewAction(&p.d.Sets[0].Action)
	d.Action = &action
	for i := range p.d.Ask {
		a := &p.d.Ask[i]
		v := askView{Words: a.Words, Who: string(a.Who), Minutes: fmt.Sprintf("%.0f min", a.Minutes), Caution: a.Caution}
		for k, choice := range a.Choices {
			row := choiceView{Choice: choice}
			if k < len(a.Leads) {
				row.Leads = a.Leads[k]
			}
			v.Choices = append(v.Choices, row)
		}
		d.Asks = append(d.Asks, v)
	}
	if len(d.Asks) > 0 {
		d.Next, d.Asks = &d.Asks[0], d.Asks[1:]
	}
}

// short is what the page comes to.
func (p *page) short(d *pageData) {
	if dep := d.Departure; dep != nil {
		d.Short = append(d.Short, fact{"The replay", "bad", "▼", fmt.Sprintf("first departs at %s: %s; %s", dep.When, dep.Name, dep.Has)})
	} else {
		d.Short = append(d.Short, fact{"The replay", "good", "✔", "departs from nothing that was said."})
	}
	if d.Stop || len(d.Sets) == 0 {
		return
	}
	s, c := &d.Sets[0], &d.Sets[0].Causes[0]
	words := c.Words
	if c.Detail != "" {
		words += " [" + c.Detail + "]"
	}
	if s.Apart {
		words = fmt.Sprintf("%s (%s; with it %s that the evidence cannot tell from it, %s together)", words, c.Percent, plural(len(s.Causes)+len(s.More)+s.Others-1, "cause", "causes"), s.Percent)
	} else {
		words += " (" + s.Percent + ")"
	}
	d.Short = append(d.Short, fact{"Most probable", "", "●", words})
	if d.Next != nil {
		d.Short = append(d.Short, fact{"Ask next", "", "?", fmt.Sprintf("%s (%s, %s)", d.Next.Words, d.Next.Who, d.Next.Minutes)})
	}
	do := "No visit. " + d.Action.Words
	if d.Action.Visit {
		do = fmt.Sprintf("A visit by a %s: %s. %s", d.Action.Who, d.Action.Part, d.Action.Words)
	}
	if d.Urgent {
		do = "First what stands above. Then: " + do
	}
	d.Short = append(d.Short, fact{"Do", "", "→", do})
}

// known is what unit, installation and settings were taken to be at the end, and how each is known.
func (p *page) known() []knownRow {
	c, h := p.r.Complaint, p.r.History
	j := p.r.JSON()
	var rows []knownRow
	last := j.Phases[len(j.Phases)-1]
	said := map[string]complaint.Source{}
	for i := range c.Unit {
		said[c.Unit[i].Name] = c.Unit[i].Source
	}
	for _, name := range options() {
		how := said[name]
		if standard, ok := wire.OptionDefault(name); ok && how == complaint.NotKnown && last.Unit[name] == standard {
			continue
		}
		if value, ok := last.Unit[name]; ok {
			rows = append(rows, knownRow{"unit", name, value, source(how)})
		}
	}
	planned := complaint.NotKnown
	for i := range c.Installation {
		if f := &c.Installation[i]; f.Name == "plan" {
			planned = f.Source
		}
	}
	rows = append(rows, knownRow{"installation", "plan", last.Plan, source(planned)}, knownRow{"installation", "supply", last.Supply, ""})
	for i := range c.Installation {
		if f := &c.Installation[i]; f.Name != "plan" && f.Source != complaint.NotKnown {
			rows = append(rows, knownRow{"installation", f.Name, f.Value, source(f.Source)})
		}
	}
	clock, _ := p.clockError(h.From)
	rows = append(rows, knownRow{"unit", "clock at the beginning", clock, source(clockSource(c))})
	for i := range c.Settings {
		rows = append(rows, knownRow{"setting", c.Settings[i].About.String(), c.Settings[i].Text, source(c.Settings[i].Source)})
	}
	for ch := range spec.Channel(spec.NumChannels) {
		if !h.Has[replay.SignalLane(spec.Signal(ch))] {
			continue
		}
		about := func(about complaint.About) bool {
			return slices.ContainsFunc(c.Settings, func(s complaint.Claim) bool {
				return s.About == about && (about == complaint.AboutMode && s.Channel == ch || about == complaint.AboutTable && (s.Table == spec.BothTables || spec.Channel(s.Table) == ch))
			})
		}
		word := wire.ChannelWord(ch)
		if !about(complaint.AboutMode) {
			rows = append(rows, knownRow{"setting", "mode " + word, wire.ModeWord(spec.Table), source(complaint.NotKnown)})
		}
		if !about(complaint.AboutTable) {
			rows = append(rows, knownRow{"setting", "table " + word, "the default table (TAB-18)", source(complaint.NotKnown)})
		}
	}
	return rows
}

// options are the names of a unit's options, what is fitted at the back first.
func options() []string {
	var names []string
	for o := range spec.FitCoupling + 1 {
		names = append(names, wire.FitOptionWord(o))
	}
	for _, name := range wire.OptionNames() {
		if name != "credential" {
			names = append(names, name)
		}
	}
	return names
}

func clockSource(c *complaint.Complaint) complaint.Source {
	for i := range c.Settings {
		if c.Settings[i].About == complaint.AboutClock {
			return c.Settings[i].Source
		}
	}
	return complaint.NotKnown
}

// source says how something is known; what nobody knows was assumed.
func source(s complaint.Source) string {
	if s == complaint.NotKnown {
		return "assumed"
	}
	return s.String()
}
