package diagram

import (
	_ "embed"
	"encoding/xml"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Style is what a page's style sheet needs for its drawings, in light and dark and for print.
//
//go:embed diagram.css
var Style string

// Drawing is lanes over one time axis.
type Drawing struct {
	ID    string // what the ids within the drawing begin with, so that a page can hold many: letters, digits and hyphens
	Title string // what is drawn, in a few words
	Desc  string // what is to be seen, for those who do not see it
	Scale Scale
	Ticks []Tick // of the axis, in order
	Lanes []Lane
	Off   []Interval // without power
	Marks []Mark     // in order of time
}

// Tick is an instant of the axis. Those that the scale does not cover are not drawn.
type Tick struct {
	At    uint64
	Label string // the time of day
	Under string // the date, where it is to be shown
}

// Lane is one signal.
type Lane struct {
	Name    string // in at most 16 characters
	Kind    LaneKind
	First   bool // of a group, which stands apart from what is above
	Spans   []Span
	Differs []Interval // to be seen as wrong
}

// LaneKind is what a lane's bars look like.
type LaneKind uint8

// The kinds of lane.
const (
	Plain    LaneKind = iota
	Observed          // beside a plain one, which is what was expected
	Stated            // what somebody says of the lane above: each span is a box with its word in it, or beside it if there is room
)

// Mark is an instant to point at, with words.
type Mark struct {
	At    uint64
	Text  string
	Title string // what a pointer that rests on it is told, if anything
	Wrong bool   // the instant at which things go wrong, rather than an input
}

// Width is how wide a drawing is.
const Width = 960

const (
	left      = 132
	plotWidth = Width - left - 20
	tickRoom  = 60 // between ticks, for a label such as 23:59:59
	character = 6.7
	small     = 5.5 // a character of a gap's length
	markRow   = 17
	laneSize  = 20
	laneGap   = 5
	groupGap  = 13
)

// SVG returns the drawing as one svg element.
func (d *Drawing) SVG() string {
	p := &painter{Drawing: d}
	rows := p.place()
	p.top = float64(len(rows)*markRow + 8)
	y := p.top
	for i := range d.Lanes {
		if i > 0 {
			y += laneGap
			if d.Lanes[i].First {
				y += groupGap - laneGap
			}
		}
		p.lanes = append(p.lanes, y)
		y += laneSize
	}
	p.bottom = y + 4
	height := p.bottom + 30
	for _, t := range d.Ticks {
		if t.Under != "" && p.covers(t.At) {
			height = p.bottom + 44
		}
	}
	role := "img"
	if d.leads() {
		role = "group" // what is within an img nobody can reach
	}
	p.printf(`<svg class="dg" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %s" role="%s" aria-labelledby="%s-title %s-desc">`, Width, num(height), role, p.ID, p.ID)
	p.printf(`<title id="%s-title">%s</title><desc id="%s-desc">%s</desc>`, p.ID, escape(d.Title), p.ID, escape(d.Desc))
	p.hatching()
	p.axis()
	for i := range d.Lanes {
		p.lane(i)
	}
	p.marks(rows)
	p.printf("</svg>\n")
	return p.b.String()
}

// leads reports whether anything in the drawing leads anywhere.
func (d *Drawing) leads() bool {
	for i := range d.Lanes {
		for j := range d.Lanes[i].Spans {
			if d.Lanes[i].Spans[j].Href != "" {
				return true
			}
		}
	}
	return false
}

// painter is a drawing being made.
type painter struct {
	*Drawing
	b           strings.Builder
	top, bottom float64   // of the plot
	lanes       []float64 // where each begins
}

func (p *painter) printf(format string, args ...any) { fmt.Fprintf(&p.b, format, args...) }

func (p *painter) x(second uint64) float64 { return left + plotWidth*p.Scale.place(second) }

func (p *painter) covers(second uint64) bool {
	return p.Scale.from() <= second && second <= p.Scale.to()
}

// clip returns the part of a stretch of time that the scale covers.
func (p *painter) clip(from, to uint64) (x0, x1 float64, ok bool) {
	if to < p.Scale.from() || from > p.Scale.to() || from < to && (to == p.Scale.from() || from == p.Scale.to()) {
		return 0, 0, false
	}
	return p.x(from), p.x(to), true
}

// hatching shows where there is no power.
func (p *painter) hatching() {
	if len(p.Off) == 0 {
		return
	}
	p.printf(`<defs><pattern id="%s-off" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="dg-hatch" d="M0 0V7"/></pattern></defs>`, p.ID)
	for _, off := range p.Off {
		x0, x1, ok := p.clip(off.From, off.To)
		if !ok {
			continue
		}
		p.printf(`<g><title>no power</title><rect class="dg-off" fill="url(#%s-off)" x="%s" y="%s" width="%s" height="%s"/></g>`,
			p.ID, num(x0), num(p.top-4), num(max(x1-x0, 1)), num(p.bottom-p.top+4))
	}
}

func (p *painter) axis() {
	var shown []Tick
	for _, t := range p.Ticks {
		if p.covers(t.At) {
			shown = append(shown, t)
		}
	}
	p.printf(`<path class="dg-axis" d="M%d %sH%d"/>`, left, num(p.bottom), left+plotWidth)
	for i, t := range shown {
		x := p.x(t.At)
		p.printf(`<path class="dg-grid" d="M%s %sV%s"/>`, num(x), num(p.top-4), num(p.bottom+14))
		p.printf(`<text class="dg-tick" x="%s" y="%s">%s</text>`, num(x), num(p.bottom+26), escape(t.Label))
		if t.Under != "" {
			p.printf(`<text class="dg-date" x="%s" y="%s">%s</text>`, num(x), num(p.bottom+40), escape(t.Under))
		}
		if p.Scale.even {
			continue
		}
		next := p.Scale.to()
		if i+1 < len(shown) {
			next = shown[i+1].At
		}
		if next > t.At {
			room := p.x(next) - x
			p.printf(`<text class="dg-gap" x="%s" y="%s">%s<title>%s</title></text>`, num(x+room/2), num(p.bottom+11),
				length(next-t.At, int((room-4)/small)), length(next-t.At, 100))
		}
	}
}

func (p *painter) lane(i int) {
	l := &p.Lanes[i]
	y, class := p.lanes[i], [...]string{Plain: "dg-plain", Observed: "dg-observed", Stated: "dg-stated"}[l.Kind]
	base := y + laneSize
	p.printf(`<g class="%s"><text class="dg-name" x="%d" y="%s">%s</text>`, class, left-12, num(y+laneSize-5), escape(l.Name))
	for j := range l.Spans {
		s := &l.Spans[j]
		x0, x1, ok := p.clip(s.From, s.To)
		if !ok {
			continue
		}
		element := "g"
		if s.Href != "" {
			element = "a"
			p.printf(`<a href="%s"><title>%s</title>`, escape(s.Href), escape(s.Title))
		} else {
			p.printf(`<g><title>%s</title>`, escape(s.Title))
		}
		switch {
		case l.Kind == Stated:
			p.stated(l, j, x0, x1, y)
		case s.Word != "":
			p.printf(`<rect class="dg-box" x="%s" y="%s" width="%s" height="%d"/>`, num(x0), num(y+1), num(max(x1-x0, 1.5)), laneSize-2)
			if float64(len(s.Word))*character < x1-x0-6 {
				p.printf(`<text class="dg-word" x="%s" y="%s">%s</text>`, num(x0+5), num(y+laneSize-6), escape(s.Word))
			}
		case s.From == s.To:
			p.printf(`<path class="dg-pulse" d="M%s %sV%s"/><circle class="dg-pulse" cx="%s" cy="%s" r="3"/>`, num(x0), num(y), num(base), num(x0), num(y+laneSize/2))
		case s.High:
			p.printf(`<rect class="dg-bar" x="%s" y="%s" width="%s" height="%d"/>`, num(x0), num(y), num(x1-x0), laneSize)
		default:
			// The whole height of the lane tells its title.
			p.printf(`<rect class="dg-low" x="%s" y="%s" width="%s" height="%d"/><path class="dg-line" d="M%s %sH%s"/>`,
				num(x0), num(y), num(x1-x0), laneSize, num(x0), num(base), num(x1))
		}
		p.printf(`</%s>`, element)
	}
	for _, wrong := range l.Differs {
		if x0, x1, ok := p.clip(wrong.From, wrong.To); ok {
			p.printf(`<rect class="dg-differs" x="%s" y="%s" width="%s" height="%d"/>`, num(x0), num(y-2), num(x1-x0), laneSize+4)
		}
	}
	p.printf(`</g>`)
}

// narrowest is how wide the box of a statement is at least, so that one about a moment can be seen and pointed at.
const narrowest = 7

// stated draws what somebody says: a box, and its word where there is room before what is said next.
func (p *painter) stated(l *Lane, j int, x0, x1, y float64) {
	s := &l.Spans[j]
	if x1-x0 < narrowest {
		middle := (x0 + x1) / 2
		x0, x1 = middle-narrowest/2., middle+narrowest/2.
	}
	p.printf(`<rect class="dg-box %s" x="%s" y="%s" width="%s" height="%d"/>`, tones[s.Tone], num(x0), num(y+2), num(x1-x0), laneSize-4)
	next := float64(Width)
	if j+1 < len(l.Spans) && p.covers(l.Spans[j+1].From) {
		next = p.x(l.Spans[j+1].From)
	}
	switch wide := float64(utf8.RuneCountInString(s.Word)) * character; {
	case wide < x1-x0-6:
		p.printf(`<text class="dg-word %s" x="%s" y="%s">%s</text>`, tones[s.Tone], num(x0+5), num(y+laneSize-6), escape(s.Word))
	case x1+5+wide < next:
		p.printf(`<text class="dg-word %s" x="%s" y="%s">%s</text>`, tones[s.Tone], num(x1+5), num(y+laneSize-6), escape(s.Word))
	}
}

// label is where a mark's words stand.
type label struct {
	mark   *Mark
	x0, x1 float64 // the words
	flip   bool    // they end at the mark, rather than begin there
}

// place finds a row for the words of each mark, from the top, so that no two stand on each other. What is wrong stands lowest.
func (p *painter) place() (rows [][]label) {
	put := func(m *Mark, from int) {
		x, wide := p.x(m.At), float64(utf8.RuneCountInString(m.Text))*character+8
		l := label{mark: m, x0: x, x1: x + wide}
		if l.x1 > Width {
			l.x0, l.x1, l.flip = x-wide, x, true
		}
		row := from
		for row < len(rows) && overlaps(rows[row], l) {
			row++
		}
		if row == len(rows) {
			rows = append(rows, nil)
		}
		rows[row] = append(rows[row], l)
	}
	for _, wrong := range []bool{false, true} {
		from := 0
		if wrong {
			from = len(rows)
		}
		for i := range p.Marks {
			if m := &p.Marks[i]; m.Wrong == wrong && p.covers(m.At) {
				put(m, from)
			}
		}
	}
	return rows
}

func overlaps(row []label, l label) bool {
	for _, other := range row {
		if l.x0 < other.x1 && other.x0 < l.x1 {
			return true
		}
	}
	return false
}

func (p *painter) marks(rows [][]label) {
	for row, labels := range rows {
		y := float64(row * markRow)
		for _, l := range labels {
			x, class := num(p.x(l.mark.At)), "dg-input"
			if l.mark.Wrong {
				class = "dg-wrong"
			}
			p.printf(`<path class="%s" d="M%s %sV%s"/>`, class, x, num(y+4), num(p.bottom))
			if l.mark.Wrong {
				p.printf(`<path class="dg-head" d="M%s %sl-6 -10h12z"/>`, x, num(p.top-3))
			}
		}
	}
	// Words come last, so that no line runs through them.
	for row, labels := range rows {
		for _, l := range labels {
			class, anchor, x := "dg-said", "start", l.x0+7
			if l.mark.Wrong {
				class, x = "dg-said dg-said-wrong", l.x0+10
			}
			if l.flip {
				anchor, x = "end", l.x1-(x-l.x0)
			}
			p.printf(`<text class="%s" text-anchor="%s" x="%s" y="%s">%s`, class, anchor, num(x), num(float64(row*markRow)+13), escape(l.mark.Text))
			if l.mark.Title != "" {
				p.printf(`<title>%s</title>`, escape(l.mark.Title))
			}
			p.printf(`</text>`)
		}
	}
}

// num words a length to a tenth of a pixel.
func num(x float64) string { return strings.TrimSuffix(strconv.FormatFloat(x, 'f', 1, 64), ".0") }

// escape makes any text one that XML and HTML can hold: characters that neither has a place for become U+FFFD.
func escape(text string) string {
	var b strings.Builder
	// A strings.Builder takes all that is written.
	_ = xml.EscapeText(&b, []byte(text))
	return b.String()
}
