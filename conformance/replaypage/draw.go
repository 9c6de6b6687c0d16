package replaypage

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/conformance/diagram"
	"example.org/hearthbench/conformance/replay"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// shownLane is a lane of a history with how it is drawn.
type shownLane struct {
	lane   replay.Lane
	name   string // in at most 16 characters
	on     uint8  // bit l: level l is drawn as a bar
	worded bool   // each level is a box with its word
	always bool   // drawn wherever it is there; others if something happens to them, or something was said of them
	first  bool   // of a group
	whats  []complaint.What
}

// bit returns the set of one level.
func bit(l spec.Level) uint8 { return 1 << l }

// shownLanes are what a page draws, in the order in which one works the next.
var shownLanes = []shownLane{
	{lane: replay.LaneHW, name: "hot-water relay", on: bit(1), always: true, first: true, whats: []complaint.What{complaint.HWRelay, complaint.Click}},
	{lane: replay.LaneCH, name: "heating relay", on: bit(1), always: true, whats: []complaint.What{complaint.CHRelay, complaint.Click}},
	{lane: replay.LaneAlert, name: "alert", worded: true, whats: []complaint.What{complaint.Alert}},
	{lane: replay.LaneSounder, name: "sounder", on: bit(1), whats: []complaint.What{complaint.Sounder}},
	{lane: replay.PointLane(plant.UnitMains), name: "unit's mains", on: bit(1), first: true},
	{lane: replay.PointLane(plant.RoomStat), name: "room stat calls", on: bit(1), whats: []complaint.What{complaint.Room}},
	{lane: replay.PointLane(plant.RoomStat2), name: "zone 2 stat", on: bit(1)},
	{lane: replay.PointLane(plant.CylinderStat), name: "cylinder stat", on: bit(1)},
	{lane: replay.PointLane(plant.FrostStat), name: "frost stat", on: bit(1)},
	{lane: replay.PointLane(plant.SecondTime), name: "second control", on: bit(1)},
	{lane: replay.PointLane(plant.HWValve), name: "hot-water valve", on: bit(spec.Level(plant.Open)), always: true, first: true, whats: []complaint.What{complaint.HWValve}},
	{lane: replay.PointLane(plant.CHValve), name: "heating valve", on: bit(spec.Level(plant.Open)), always: true, whats: []complaint.What{complaint.CHValve}},
	{lane: replay.PointLane(plant.Zone2Valve), name: "zone 2 valve", on: bit(spec.Level(plant.Open)), always: true, whats: []complaint.What{complaint.Zone2Valve}},
	{lane: replay.PointLane(plant.ThreePort), name: "three-port valve", worded: true, always: true, whats: []complaint.What{complaint.HWValve, complaint.CHValve}},
	{lane: replay.PointLane(plant.Pump), name: "pump", on: bit(1), always: true, whats: []complaint.What{complaint.Pump}},
	{lane: replay.PointLane(plant.Call), name: "boiler call", on: bit(1), always: true, whats: []complaint.What{complaint.Call}},
	{lane: replay.PointLane(plant.Flame), name: "flame", on: bit(1), always: true, whats: []complaint.What{complaint.Flame}},
	{lane: replay.PointLane(plant.Lockout), name: "lockout", on: bit(1), whats: []complaint.What{complaint.Lockout}},
	{lane: replay.PointLane(plant.ImmersionHeat), name: "immersion", on: bit(1), whats: []complaint.What{complaint.Immersion}},
	{lane: replay.PointLane(plant.Radiators), name: "radiators", on: bit(1), always: true, first: true, whats: []complaint.What{complaint.Radiators}},
	{lane: replay.PointLane(plant.Radiators2), name: "radiators zone 2", on: bit(1), always: true, whats: []complaint.What{complaint.Radiators2}},
	{lane: replay.PointLane(plant.Tap), name: "hot tap", on: bit(1), always: true, whats: []complaint.What{complaint.Tap}},
}

// lanes returns the lanes to draw on a day.
func (p *page) lanes(d replay.Day) []shownLane {
	var kept []shownLane
	first := false
	for _, l := range shownLanes {
		first = first || l.first
		there := p.r.History.Has[l.lane] || p.other != nil && p.other.Has[l.lane]
		if there && (l.always || p.moves(p.r.History, l.lane, d) || p.other != nil && p.moves(p.other, l.lane, d) || p.spoken(l, d)) {
			l.first, first = first, false
			kept = append(kept, l)
		}
	}
	return kept
}

// moves reports whether a lane does anything on a day.
func (p *page) moves(h *replay.History, l replay.Lane, d replay.Day) bool {
	last := h.Last(l, d.To-1)
	return h.Has[l] && last != nil && last.At >= d.From
}

func (p *page) spoken(l shownLane, d replay.Day) bool {
	for i := range p.r.Complaint.Sensed {
		if p.isAbout(i, l) && slices.ContainsFunc(p.r.Complaint.Sensed[i].When.Windows, func(w complaint.Window) bool { return meets(d, w) }) {
			return true
		}
	}
	return false
}

// meets reports whether a window lies on a day, at least in part.
func meets(d replay.Day, w complaint.Window) bool { return w.To >= d.From && w.From < d.To }

// dayView is one day as the page has it.
type dayView struct {
	ID, Date string
	Drawing  template.HTML
	Other    bool // lanes of the first cause are drawn too
	Unit     []changeRow
	Plant    []changeRow
	Cause    []changeRow // of the plant and unit with the first cause, where that is otherwise
	Standing []changeRow // how things stand as the day begins
}

// changeRow is a change with its reason.
type changeRow struct{ ID, At, Words string }

// view draws a day.
func (p *page) view(i int, d replay.Day) dayView {
	v := dayView{ID: fmt.Sprintf("day-%d", i+1), Date: p.r.Complaint.LocalTime().At(d.From).Format("Monday 2006-01-02")}
	lanes := p.lanes(d)
	drawing := diagram.Drawing{
		ID: v.ID, Title: "What happened on " + v.Date, Desc: p.describe(d), Scale: diagram.Linear(uint64(d.From), uint64(d.To)), Ticks: p.ticks(d),
		Off: p.withoutMains(d), Marks: p.marks(d),
	}
	drawing.Lanes = append(drawing.Lanes, p.clockLanes(d)...)
	for _, l := range lanes {
		told := diagram.Lane{Name: l.name, First: l.first, Spans: p.spans(&v, p.r.History, l, d, "")}
		said := p.saidOf(l, d, &told)
		drawing.Lanes = append(drawing.Lanes, told)
		if p.other != nil && p.otherwise(l, d) {
			v.Other = true
			drawing.Lanes = append(drawing.Lanes, diagram.Lane{Name: "if " + causeName, Kind: diagram.Observed, Spans: p.spans(&v, p.other, l, d, "x")})
		}
		drawing.Lanes = append(drawing.Lanes, said...)
	}
	v.Drawing = template.HTML(drawing.SVG()) // package diagram escapes every text in it
	p.tell(&v, d, lanes)
	return v
}

// causeName is what the page calls the cause that it draws.
const causeName = "cause A1"

// describe says what is to be seen on a day, for those who do not see it.
func (p *page) describe(d replay.Day) string {
	words := []string{"The lanes are those of the tables below, which have every change with its reason."}
	for _, h := range p.r.Departing() {
		if h.At >= d.From && h.At < d.To {
			words = append(words, fmt.Sprintf("At %s the replay departs from %s.", p.time(h.At), p.name(&h)))
		}
	}
	return strings.Join(words, " ")
}

// ticks stand at every second full hour of the household's clock.
func (p *page) ticks(d replay.Day) []diagram.Tick {
	z := p.r.Complaint.LocalTime()
	var ticks []diagram.Tick
	for at := d.From; at < d.To; at += calendar.Minute {
		if t := z.At(at); t.Minute() == 0 && t.Second() == 0 && t.Hour()%2 == 0 {
			ticks = append(ticks, diagram.Tick{At: uint64(at), Label: t.Format("15:04")})
		}
	}
	return ticks
}

// spans returns what a lane does on a day. Each that begins with a change leads to its reason.
func (p *page) spans(v *dayView, h *replay.History, l shownLane, d replay.Day, prefix string) []diagram.Span {
	var spans []diagram.Span
	from, to := max(d.From, h.From), min(d.To, h.To+1)
	if from >= to {
		return nil
	}
	begin, level, last := from, h.Level(l.lane, from-1), h.Last(l.lane, from-1)
	if from == h.From {
		level, last = h.Initial[l.lane], nil
	}
	put := func(end int64) {
		if end == begin {
			return
		}
		s := diagram.Span{
			From: uint64(begin), To: uint64(end), High: l.on>>level&1 == 1,
			Title: fmt.Sprintf("%s, %s to %s. ", l.lane.Word(level), p.edge(begin, d), p.edge(end, d)) + nearest(p.reason(h, l.lane, last)),
			Href:  "#" + rowID(v.ID, prefix, l.lane, last),
		}
		if l.worded {
			s.Word = l.lane.Word(level)
		}
		spans = append(spans, s)
	}
	for _, c := range h.Changes(l.lane) {
		if c.At < from || c.At >= to {
			continue
		}
		put(c.At)
		begin, level, last = c.At, c.Level, &c
	}
	put(to)
	return spans
}

// edge writes an end of a stretch of time within a day.
func (p *page) edge(at int64, d replay.Day) string {
	switch {
	case at == d.From:
		return "from before"
	case at == d.To:
		return "the day's end"
	}
	return p.time(at)
}

// nearest is the nearest reason of several in a chain, which can be long: the table has the whole of it, and with it the page's script.
func nearest(reason string) string {
	first, _, more := strings.Cut(reason, "; ")
	if more {
		return strings.TrimSuffix(sentence(first), ".") + "; …"
	}
	return sentence(reason)
}

// reason says what a lane's last change was, and why.
func (p *page) reason(h *replay.History, l replay.Lane, last *replay.Change) string {
	if last == nil {
		return fmt.Sprintf("%s: %s since the beginning of the replay", l, l.Word(h.Initial[l]))
	}
	return h.Sentence([]*replay.Change{last})
}

// rowID is the id of the row that tells of a change, or of how a lane stood at the beginning.
func rowID(day, prefix string, l replay.Lane, c *replay.Change) string {
	if c == nil {
		return fmt.Sprintf("%s-%sl%d", day, prefix, l)
	}
	return fmt.Sprintf("%s-%sc%d", day, prefix, c.Seq)
}

// otherwise reports whether a lane is drawn otherwise on a day with the first cause.
func (p *page) otherwise(l shownLane, d replay.Day) bool {
	from, to := max(d.From, p.other.From), min(d.To, p.other.To+1)
	for at := from; at < to; at += calendar.Minute {
		a, b := p.r.History.Level(l.lane, at), p.other.Level(l.lane, at)
		if p.r.History.Has[l.lane] != p.other.Has[l.lane] || a != b && (l.worded || l.on>>a&1 != l.on>>b&1) {
			return true
		}
	}
	return false
}

// tell fills in the tables of a day: every change of the lanes drawn, with its reason.
func (p *page) tell(v *dayView, d replay.Day, lanes []shownLane) {
	drawn := map[replay.Lane]bool{replay.LaneDisplay: true}
	for _, l := range lanes {
		drawn[l.lane] = true
		if from := max(d.From, p.r.History.From); from < d.To {
			v.Standing = append(v.Standing, p.standing(v.ID, "", p.r.History, l.lane, from))
			if p.other != nil && p.otherwise(l, d) {
				row := p.standing(v.ID, "x", p.other, l.lane, from)
				row.Words = "with " + causeName + ": " + row.Words
				v.Standing = append(v.Standing, row)
			}
		}
	}
	for c := range p.r.History.All(d.From, d.To-1) {
		row := changeRow{rowID(v.ID, "", c.Lane, c), p.time(c.At), p.r.History.Sentence([]*replay.Change{c})}
		switch _, ofPlant := c.Lane.Point(); {
		case !drawn[c.Lane]:
		case ofPlant:
			v.Plant = append(v.Plant, row)
		default:
			v.Unit = append(v.Unit, row)
		}
	}
	if p.other == nil {
		return
	}
	otherwise := map[replay.Lane]bool{}
	for _, l := range lanes {
		otherwise[l.lane] = p.otherwise(l, d)
	}
	for c := range p.other.All(d.From, d.To-1) {
		if otherwise[c.Lane] {
			v.Cause = append(v.Cause, changeRow{rowID(v.ID, "x", c.Lane, c), p.time(c.At), p.other.Sentence([]*replay.Change{c})})
		}
	}
}

// standing tells how a lane stands as a day begins, and since when.
func (p *page) standing(id, prefix string, h *replay.History, l replay.Lane, from int64) changeRow {
	last := h.Last(l, from-1)
	row := changeRow{ID: rowID(id, prefix, l, last), At: "from the beginning", Words: p.reason(h, l, last)}
	if last != nil {
		row.At = p.when(last.At)
	}
	return row
}

// saidOf returns a lane for everything that was said, or wanted, of a lane on a day, and marks on it where the replay has it otherwise
// than was said.
func (p *page) saidOf(l shownLane, d replay.Day, told *diagram.Lane) []diagram.Lane {
	var lanes []diagram.Lane
	for i := range p.r.Complaint.Sensed {
		o := &p.r.Complaint.Sensed[i]
		if o.Logged.Log != nil || !p.isAbout(i, l) {
			continue
		}
		spans, wrong := p.said(o, d, statementOf(i, o))
		if len(spans) == 0 {
			continue
		}
		told.Differs = append(told.Differs, wrong...)
		lanes = append(lanes, diagram.Lane{Name: fmt.Sprintf("#%d %s", i+1, o.Who), Kind: diagram.Stated, Spans: spans})
	}
	for _, t := range p.r.Tracks() {
		if lane, ok := p.logged(&t, l, d, told); ok {
			lanes = append(lanes, lane)
		}
	}
	for i := range p.r.Complaint.Wanted.Means {
		o := &p.r.Complaint.Wanted.Means[i]
		if p.laneOf(o, &p.r.Wants[i]) != l.lane {
			continue
		}
		if spans, _ := p.said(o, d, statement{"wanted", "#complaint", wantedWords}); len(spans) > 0 {
			lanes = append(lanes, diagram.Lane{Name: "wanted", Kind: diagram.Stated, Spans: spans})
		}
	}
	return lanes
}

// logged returns a lane for what a log has of a lane on a day, if anything: its stretches, and marks where they or the changes between them depart.
func (p *page) logged(t *replay.Track, l shownLane, d replay.Day, told *diagram.Lane) (lane diagram.Lane, ok bool) {
	lane = diagram.Lane{Name: fmt.Sprintf("log %d", t.Log.Number), Kind: diagram.Stated}
	for _, k := range t.Held {
		i := p.r.Held[k].Index
		if !p.isAbout(i, l) {
			continue
		}
		o := &p.r.Complaint.Sensed[i]
		spans, wrong := p.said(o, d, statementOf(i, o))
		told.Differs = append(told.Differs, wrong...)
		if o.Form == complaint.Is {
			lane.Spans = append(lane.Spans, spans...)
		}
	}
	return lane, len(lane.Spans) > 0
}

// statementOf is how something that was sensed is spoken of.
func statementOf(i int, o *complaint.Observation) statement {
	return statement{fmt.Sprintf("#%d, %s", i+1, witness(o)), fmt.Sprintf("#said-%d", i+1), [...]string{"cannot tell", "agrees", "departs"}}
}

// wantedWords are the verdicts on what was wanted.
var wantedWords = [...]string{replay.CannotTell: "cannot tell", replay.Agrees: "as wanted", replay.Departs: "otherwise"}

// isAbout reports whether something that was sensed stands below a lane.
func (p *page) isAbout(i int, l shownLane) bool {
	return p.laneOf(&p.r.Complaint.Sensed[i], &p.r.Held[i]) == l.lane
}

// laneOf returns the lane below which a statement stands: where the comparison looked, or where it would have looked if the statement is
// about a time or a thing that the replay does not have.
func (p *page) laneOf(o *complaint.Observation, h *replay.Held) replay.Lane {
	if h.Of > 0 {
		return h.Lane
	}
	for _, l := range shownLanes {
		if slices.Contains(l.whats, o.What) && p.r.History.Has[l.lane] {
			return l.lane
		}
	}
	return replay.LaneDisplay
}

var verdictTones = [...]diagram.Tone{replay.CannotTell: diagram.Open, replay.Agrees: diagram.Good, replay.Departs: diagram.Bad}

// statement is how something that was said or wanted is spoken of.
type statement struct {
	head  string
	href  string
	words [3]string // of the verdicts
}

// said draws where something was said, window by window, and how each compares.
func (p *page) said(o *complaint.Observation, d replay.Day, st statement) (spans []diagram.Span, wrong []diagram.Interval) {
	words := strings.TrimSuffix(strings.TrimPrefix(o.Text, o.What.String()+" "), ", "+o.When.Text)
	for _, w := range o.When.Windows {
		if !meets(d, w) {
			continue
		}
		one := *o
		one.When = complaint.When{Text: o.When.Text, Windows: []complaint.Window{w}}
		h := replay.Held{Comparison: replay.Compare(p.r.History, &one)}
		from, to := max(w.From, d.From), min(w.To, d.To)
		spans = append(spans, diagram.Span{
			From: uint64(from), To: uint64(to), Word: signs[h.Verdict] + " " + words, Tone: verdictTones[h.Verdict], Href: st.href,
			Title: fmt.Sprintf("%s: %s. %s", st.head, o.Text, sentence(fmt.Sprintf("%s: %s", st.words[h.Verdict], p.has(&h, &one)))),
		})
		if h.Verdict == replay.Departs {
			wrong = append(wrong, diagram.Interval{From: uint64(max(from-w.Blur, d.From)), To: uint64(min(to+w.Blur, d.To))})
		}
	}
	return spans, wrong
}

// clockLanes are the unit's clock, as far as it is not right all day or somebody read it, and what decides each channel's demand.
func (p *page) clockLanes(d replay.Day) []diagram.Lane {
	h := p.r.History
	var lanes []diagram.Lane
	clock := diagram.Lane{Name: "unit's clock", Spans: p.stretches(d, func(at int64) (string, string) { return p.clockError(at) })}
	right := len(clock.Spans) == 1 && clock.Spans[0].Word == clockRight
	said := p.saidOf(shownLane{lane: replay.LaneDisplay}, d, &clock)
	if !right || len(said) > 0 {
		lanes = append(lanes, clock)
		lanes = append(lanes, said...)
	}
	for c := range spec.Channel(spec.NumChannels) {
		if h.Has[replay.SignalLane(spec.Signal(c))] {
			lanes = append(lanes, diagram.Lane{
				Name: wire.ChannelWord(c) + " demand by", First: len(lanes) > 0 && c == 0,
				Spans: p.stretches(d, func(at int64) (string, string) { return p.decides(c, at) }),
			})
		}
	}
	return lanes
}

// stretches returns the spans in which something says the same, looked at every minute.
func (p *page) stretches(d replay.Day, say func(at int64) (word, title string)) []diagram.Span {
	var spans []diagram.Span
	from, to := max(d.From, p.r.History.From), min(d.To, p.r.History.To+1)
	for at := from; at < to; at += calendar.Minute {
		word, title := say(at)
		end := uint64(min(at+calendar.Minute, to))
		if n := len(spans); n > 0 && spans[n-1].Word == word {
			spans[n-1].To = end
			continue
		}
		spans = append(spans, diagram.Span{From: uint64(at), To: end, Word: word, Title: title})
	}
	for i := range spans {
		spans[i].Title = fmt.Sprintf("%s to %s: %s", p.edge(int64(spans[i].From), d), p.edge(int64(spans[i].To), d), spans[i].Title)
	}
	return spans
}

const clockRight = "right"

// clockError says how far the unit's clock is out.
func (p *page) clockError(at int64) (word, title string) {
	reading, shown := p.r.History.Reading(at)
	if shown != replay.Readable {
		word = replay.LaneDisplay.Word(shown)
		return word, "the display is " + word
	}
	switch off := reading - p.r.Complaint.LocalTime().Reading(at); {
	case off >= calendar.Minute:
		word = replay.Duration(off) + " fast"
	case off <= -calendar.Minute:
		word = replay.Duration(-off) + " slow"
	default:
		word = clockRight
	}
	return word, "the unit's clock is " + word
}

// decides says what decides a channel's demand: it is read off what the unit remembers.
func (p *page) decides(c spec.Channel, at int64) (word, title string) {
	f := &p.r.History.State(at).Facts
	channel := map[spec.Channel]string{spec.HW: "hot water", spec.CH: "heating"}[c]
	word, title = governs(f, c)
	return word, fmt.Sprintf("%s: %s", channel, title)
}

func governs(f *emulator.Facts, c spec.Channel) (word, title string) {
	ch := &f.Channels[c]
	mode := wire.ModeWord(ch.Mode)
	switch {
	case !f.Powered:
		return "no power", "without power nothing is asked for"
	case f.Holiday.On:
		return "holiday", "a holiday is running, and nothing is asked for"
	case ch.BoostLeft > 0:
		return "boost", "a boost is running"
	case ch.Override:
		return "override", "an override turns round what mode " + mode + " asks for"
	case !f.ClockSet && (ch.Mode == spec.Table || ch.Mode == spec.Span):
		return mode + ", unset", "mode " + mode + " asks for nothing while the clock is unset"
	}
	return mode, "mode " + mode + " decides"
}

// withoutMains returns when on a day the unit has no mains.
func (p *page) withoutMains(d replay.Day) []diagram.Interval {
	var list []diagram.Interval
	h := p.r.History
	for i := range h.States {
		from, to := h.States[i].At, h.To
		if i+1 < len(h.States) {
			to = h.States[i+1].At
		}
		if h.States[i].Facts.Powered || from >= d.To || to <= d.From || to == from {
			continue
		}
		off := diagram.Interval{From: uint64(max(from, d.From)), To: uint64(min(to, d.To))}
		if n := len(list); n > 0 && list[n-1].To == off.From {
			list[n-1].To = off.To // what the unit remembers has changed meanwhile
		} else {
			list = append(list, off)
		}
	}
	return list
}

// mostMarks is how many acts of a day are pointed at.
const mostMarks = 10

// marks point at what was done and what changed on a day, and where the replay departs.
func (p *page) marks(d replay.Day) []diagram.Mark {
	h, c := p.r.History, p.r.Complaint
	var marks []diagram.Mark
	before := -1
	for i := range h.Done {
		done := &h.Done[i]
		claim := h.World.Acts[done.Act].Claim
		if done.At < d.From || done.At >= d.To || claim < 0 || i > 0 && claim == before && h.Done[i-1].At == done.At {
			continue
		}
		if i > 0 && claim == before && c.Acts[claim].Deed == complaint.DoCut {
			marks = append(marks, diagram.Mark{At: uint64(done.At), Text: "power back", Title: p.when(done.At)})
			continue
		}
		before = claim
		m := diagram.Mark{At: uint64(done.At), Text: c.Acts[claim].Text, Title: fmt.Sprintf("%s: %s, %s", p.when(done.At), c.Acts[claim].Text, c.Acts[claim].When.Text)}
		if why := h.Refused(*done); why != "" {
			m.Text += " (refused)"
			m.Title += "; the unit turns it down: " + why
		}
		marks = append(marks, m)
	}
	if len(marks) > mostMarks {
		more := diagram.Mark{At: marks[mostMarks].At, Text: fmt.Sprintf("and %d more acts", len(marks)-mostMarks)}
		marks = append(marks[:mostMarks], more)
	}
	for i := range c.Changed {
		t := &c.Changed[i]
		if len(t.When.Windows) == 0 {
			continue
		}
		if at := t.When.Windows[0].Middle(); at >= d.From && at < d.To {
			marks = append(marks, diagram.Mark{At: uint64(at), Text: turnNames[t.Kind], Title: strings.TrimSuffix(fmt.Sprintf("%s: %s", t.When.Text, t.Note), ": ")})
		}
	}
	if c.Asked >= d.From && c.Asked < d.To {
		marks = append(marks, diagram.Mark{At: uint64(c.Asked), Text: "account taken", Title: p.when(c.Asked)})
	}
	slices.SortStableFunc(marks, func(a, b diagram.Mark) int { return int(int64(a.At) - int64(b.At)) })
	for i, dep := range p.r.Departing() {
		if dep.At < d.From || dep.At >= d.To {
			continue
		}
		m := diagram.Mark{At: uint64(dep.At), Wrong: true, Title: p.has(&dep, p.r.Observation(&dep))}
		if m.Text = fmt.Sprintf("departs: #%d", dep.Index+1); dep.Setting {
			m.Text = "departs: a setting"
		}
		if i == 0 {
			m.Text = "first " + m.Text
		}
		marks = append(marks, m)
	}
	return marks
}

var turnNames = [complaint.NumKinds]string{
	complaint.NewProgrammer: "new programmer", complaint.NewBoiler: "new boiler", complaint.NewValve: "valve changed", complaint.NewThermostat: "new thermostat",
	complaint.Wiring: "wiring changed", complaint.PowerCut: "power cut", complaint.Clocks: "clocks change", complaint.NewTenant: "new tenant",
	complaint.SetUp: "set-up changed", complaint.Other: "something changed",
}
