package replay

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
	"example.org/hearthbench/emulator/spec"
)

// row is a lane as it is drawn: on or off, whatever its levels.
type row struct {
	name  string
	sense sense
	whats []complaint.What // what is said of it stands below it
}

// rows returns the lanes to draw, in the order in which one works the next: those that the history has and that either tell of the unit
// or the heat, or were spoken of.
func (r *Report) rows() []row {
	h := r.History
	all := []row{
		{name: "hw relay", sense: sense{lane: LaneHW, set: 1 << 1}, whats: []complaint.What{complaint.HWRelay, complaint.Click}},
		{name: "ch relay", sense: sense{lane: LaneCH, set: 1 << 1}, whats: []complaint.What{complaint.CHRelay}},
		{name: "sounder", sense: sense{lane: LaneSounder, set: 1 << 1}, whats: []complaint.What{complaint.Sounder}},
		{name: "alert", sense: sense{lane: LaneAlert, set: ^uint8(1 << spec.Dormant)}, whats: []complaint.What{complaint.Alert}},
		{name: "display", sense: sense{lane: LaneDisplay, set: 1 << Readable}, whats: []complaint.What{complaint.Display}},
	}
	for _, what := range []complaint.What{complaint.HWValve, complaint.CHValve} {
		if s, ok := h.valve(&complaint.Observation{What: what, Level: 1}); ok {
			all = append(all, row{name: what.String(), sense: s, whats: []complaint.What{what}})
		}
	}
	for _, what := range []complaint.What{
		complaint.Zone2Valve, complaint.Pump, complaint.Call, complaint.Flame, complaint.Lockout, complaint.Immersion, complaint.Radiators, complaint.Radiators2,
		complaint.Tap,
	} {
		all = append(all, row{name: what.String(), sense: sense{lane: laneOf[what], set: 1 << 1}, whats: []complaint.What{what}})
	}
	all = append(all, row{
		name: "room", sense: sense{lane: PointLane(plant.RoomStat), set: 1 << plant.Off}, whats: []complaint.What{complaint.Room},
	})
	kept := all[:0]
	for _, w := range all {
		if h.Has[w.sense.lane] && (always[w.sense.lane] || r.spoken(w.whats)) {
			kept = append(kept, w)
		}
	}
	return kept
}

// always are the lanes that are drawn even if nobody spoke of them.
var always = map[Lane]bool{
	LaneHW: true, LaneCH: true, PointLane(plant.Call): true, PointLane(plant.Radiators): true, PointLane(plant.Radiators2): true,
	PointLane(plant.Tap): true,
}

func (r *Report) spoken(whats []complaint.What) bool {
	for i := range r.Complaint.Sensed {
		for _, w := range whats {
			if r.Complaint.Sensed[i].What == w {
				return true
			}
		}
	}
	return false
}

// columnSteps are the lengths that a column can have, in seconds.
var columnSteps = [...]int64{60, 120, 300, 600, 900, 1200, 1800, 3600, 7200}

// picture is the drawing of a day: a time axis of even columns, a line for each lane, and below it one for each thing that was said of it.
type picture struct {
	r     *Report
	d     Day
	name  int   // the width of the names
	step  int64 // of a column
	width int   // columns
}

// drawDay draws a day.
func (r *Report) drawDay(w io.Writer, d Day, width int) {
	rows := r.rows()
	p := picture{r: r, d: d, name: len("said #00")}
	for i := range rows {
		p.name = max(p.name, len(rows[i].name))
	}
	room := int64(max(width, minWidth) - p.name - 1)
	for _, p.step = range columnSteps {
		if (d.To-d.From+p.step-1)/p.step <= room {
			break
		}
	}
	p.width = int((d.To - d.From + p.step - 1) / p.step)
	p.line(w, "", p.hours())
	tracks := r.Tracks()
	for i := range rows {
		p.line(w, rows[i].name, p.lane(rows[i].sense))
		for j := range r.Held {
			h := &r.Held[j]
			if o := r.Observation(h); o != nil && o.Logged.Log == nil && contains(rows[i].whats, o.What) {
				p.told(w, fmt.Sprintf("said #%d", h.Index+1), h)
			}
		}
		for _, t := range tracks {
			if contains(rows[i].whats, t.What) {
				all := make([]*Held, len(t.Held))
				for k, j := range t.Held {
					all[k] = &r.Held[j]
				}
				if p.logged(w, &t) {
					p.told(w, "compared", all...)
				}
			}
		}
	}
	if acts := p.acts(); acts != "" {
		p.line(w, "acts", acts)
	}
}

// minWidth is the least width of a report in columns.
const minWidth = 40

func contains(whats []complaint.What, what complaint.What) bool {
	for _, w := range whats {
		if w == what {
			return true
		}
	}
	return false
}

func (p *picture) line(w io.Writer, name, row string) {
	fmt.Fprintln(w, strings.TrimRight(fmt.Sprintf("%-*s %s", p.name, name, row), " "))
}

// hours writes the hours, as close together as they fit.
func (p *picture) hours() string {
	const label = len("|00")
	for _, every := range [...]int64{1, 2, 3, 6, 12} {
		if every*calendar.Hour/p.step <= int64(label) {
			continue
		}
		row := ""
		for c := range p.width {
			t := p.r.Complaint.LocalTime().At(p.d.From + int64(c)*p.step)
			second := int64(t.Hour()*calendar.Hour + t.Minute()*calendar.Minute)
			if second%(every*calendar.Hour) < p.step && c >= len(row) {
				row += strings.Repeat(" ", c-len(row)) + t.Format("|15")
			}
		}
		return row
	}
	return ""
}

// lane draws on and off. A column shows the level in which it ends, and '+' if the lane has changed more than once in it.
func (p *picture) lane(s sense) string {
	h := p.r.History
	changes := h.lanes[s.lane]
	i := after(changes, p.d.From-1)
	on := s.has(h.Level(s.lane, p.d.From-1))
	row := make([]byte, p.width)
	for c := range row {
		begin := p.d.From + int64(c)*p.step
		moved := 0
		for ; i < len(changes) && changes[i].At < begin+p.step; i++ {
			if now := s.has(changes[i].Level); now != on {
				on = now
				moved++
			}
		}
		switch {
		case begin+p.step <= h.From || begin > h.To:
			row[c] = ' '
		case moved > 1:
			row[c] = '+'
		case on:
			row[c] = '#'
		default:
			row[c] = '_'
		}
	}
	return string(row)
}

// logged draws what a log has as lane does what a history has, and nothing where it says nothing. It reports whether it has anything of
// this day.
func (p *picture) logged(w io.Writer, t *Track) bool {
	row := []byte(strings.Repeat(" ", p.width))
	moved := make([]int, p.width)
	any := false
	for _, i := range t.Held {
		o := p.r.Observation(&p.r.Held[i])
		window := o.When.Windows[0]
		switch {
		case window.To < p.d.From || window.From >= p.d.To:
			continue
		case o.Form == complaint.Becomes:
			moved[p.column(window.To)]++
			continue
		}
		any = true
		for c := p.column(window.From); c <= p.column(window.To); c++ {
			row[c] = "_#"[min(o.Level, 1)]
		}
	}
	for c, n := range moved {
		if n > 1 {
			row[c] = '+'
		}
	}
	if any {
		p.line(w, fmt.Sprintf("log %d", t.Log.Number), string(row))
	}
	return any
}

// told draws where something was said, or logged, and how it compares, unless nothing was of this day. A column in which more than one thing
// was shows what departs.
func (p *picture) told(w io.Writer, name string, held ...*Held) {
	row := []byte(strings.Repeat(" ", p.width))
	any := false
	put := func(c int, glyph byte) {
		if strings.IndexByte(ranks, glyph) > strings.IndexByte(ranks, row[c]) {
			row[c] = glyph
		}
		any = true
	}
	for _, h := range held {
		o := p.r.Observation(h)
		for _, window := range o.When.Windows {
			if window.To < p.d.From || window.From >= p.d.To {
				continue
			}
			one := *o
			one.When = complaint.When{Windows: []complaint.Window{window}}
			glyph := glyphs[Compare(p.r.History, &one).Verdict]
			for c := p.column(window.From); c <= p.column(window.To); c++ {
				put(c, glyph)
			}
		}
		if any && h.Verdict == Departs && h.At >= p.d.From && h.At < p.d.To {
			put(p.column(h.At), '!')
		}
	}
	if any {
		p.line(w, name, string(row))
	}
}

// ranks are the glyphs, the weightiest last.
const ranks = " =?x!"

var glyphs = [...]byte{CannotTell: '?', Agrees: '=', Departs: 'x'}

const legend = "# on, _ off, + more than one change; said, log: = agrees, x departs, ? cannot tell, ! where it departs"

func (p *picture) column(at int64) int {
	return int(min(max(0, (at-p.d.From)/p.step), int64(p.width-1)))
}

// acts writes the numbers of the acts, each from its column on; '+' where there is no room for one.
func (p *picture) acts() string {
	row := ""
	for i := range p.r.History.Done {
		d := &p.r.History.Done[i]
		claim := p.r.History.World.Acts[d.Act].Claim
		if d.At < p.d.From || d.At >= p.d.To || claim < 0 || i > 0 && p.r.sameAct(i) {
			continue
		}
		c := p.column(d.At)
		switch {
		case row == "" || c > len(row):
			row += strings.Repeat(" ", max(0, c-len(row))) + strconv.Itoa(claim+1)
		case !strings.HasSuffix(row, "+"):
			row += "+"
		}
	}
	return row
}

// sameAct reports whether what was done is part of the same act, at the same instant, as what was done before it.
func (r *Report) sameAct(i int) bool {
	acts := r.History.World.Acts
	a, b := acts[r.History.Done[i-1].Act], acts[r.History.Done[i].Act]
	return a.Claim == b.Claim && a.At == b.At
}
