package timing

import (
	"fmt"
	"io"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"

	"example.org/hearthbench/emulator/spec"
)

// Linear is a drawing on a time axis of even columns, for a whole run: a strip from its start to its end, or, where that would be
// more than [MaxStripDays] days, a block for each day.
type Linear struct {
	Lanes []Lane
	Marks []Mark                        // in order of time
	End   uint64                        // the last second drawn; the first is 0
	Local func(second uint64) time.Time // the local time of a second of the run
	Width int                           // in columns, names included; less than MinWidth counts as that
}

// Mark is a second to point at by its number.
type Mark struct {
	At     uint64
	Number int
}

// MinWidth is the least width of a linear drawing, and DefaultWidth the one to choose where nothing says how wide the page is.
const (
	MinWidth     = 40
	DefaultWidth = 96
)

// MaxStripDays is the longest time that is drawn as one strip.
const MaxStripDays = 14

const (
	day      = 24 * 60 * 60
	longDay  = 25 * 60 * 60 // on which summer time ends
	marksRow = "inputs"
	overhang = len("15:04") // by which a tick's label may stand out at the end
)

// steps are the lengths that a column can have in seconds: each divides the day, and all but the smallest the hour or are whole hours,
// so that columns begin where people look for them.
var steps = [...]int64{1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1200, 1800, 3600, 7200, 10800, 14400, 21600, 43200, day}

// ticks are the lengths between two ticks of the axis.
var ticks = [...]int64{60, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200}

// Draw writes the drawing.
func (l *Linear) Draw(w io.Writer) {
	p := page{Linear: l, name: len(marksRow)}
	for i := range l.Lanes {
		p.name = max(p.name, len(l.Lanes[i].Name))
		p.changes = append(p.changes, slices.DeleteFunc(slices.Clone(l.Lanes[i].Changes), func(c spec.Change) bool {
			return c.Signal != l.Lanes[i].Signal
		}))
	}
	columns := int64(max(l.Width, MinWidth) - p.name - 1 - overhang)
	if l.End > MaxStripDays*day {
		p.blocks(w, columns)
	} else {
		p.strip(w, columns)
	}
}

// page is a drawing being written.
type page struct {
	*Linear
	name    int             // the width of the names
	changes [][]spec.Change // each lane's own
}

// grid is a row of columns: column i covers the seconds from from+i*step to, not including, those of column i+1.
type grid struct {
	from int64 // may be before the run, whose first second is 0
	step int64
	n    int64
}

func (p *page) strip(w io.Writer, columns int64) {
	var g grid
	for _, g.step = range steps {
		g.from = -(secondOfDay(p.local(0)) % g.step)
		g.n = (int64(p.End)-g.from)/g.step + 1
		if g.n <= columns {
			break
		}
	}
	p.line(w, "", p.dates(&g))
	if hours := p.hours(&g); hours != "" {
		p.line(w, "", hours)
	}
	for i, row := range p.lanes(&g) {
		p.line(w, p.Lanes[i].Name, row)
	}
	if len(p.Marks) > 0 {
		p.line(w, marksRow, p.marks(&g))
	}
	p.legend(w, g.step)
}

// blocks draws a block for each day, but for days that look like the one before them and have no marks.
func (p *page) blocks(w io.Writer, columns int64) {
	var g grid
	for _, g.step = range steps {
		if longDay/g.step <= columns {
			break
		}
	}
	var lanes, before []string
	var hours, hoursBefore string
	var alike []time.Time // days not drawn
	for from := int64(0); from <= int64(p.End); {
		date, next := p.local(from), p.nextDay(from)
		g.from = from - secondOfDay(date)
		g.n = (next-1-g.from)/g.step + 1
		from = next
		lanes, before = p.lanes(&g), lanes
		hours, hoursBefore = p.hours(&g), hours
		marks := p.marks(&g)
		if marks == "" && hours == hoursBefore && slices.Equal(lanes, before) {
			alike = append(alike, date)
			continue
		}
		p.alike(w, alike)
		alike = nil
		if hours != hoursBefore {
			p.line(w, "", hours)
		}
		fmt.Fprintln(w, date.Format(dateLayout))
		for i, row := range lanes {
			p.line(w, p.Lanes[i].Name, row)
		}
		if marks != "" {
			p.line(w, marksRow, marks)
		}
	}
	p.alike(w, alike)
	p.legend(w, g.step)
}

const dateLayout = "Mon 2006-01-02"

func (p *page) alike(w io.Writer, days []time.Time) {
	switch len(days) {
	case 0:
	case 1:
		fmt.Fprintf(w, "%s: as the day before\n", days[0].Format(dateLayout))
	default:
		fmt.Fprintf(w, "%s to %s: each as the day before\n", days[0].Format(dateLayout), days[len(days)-1].Format(dateLayout))
	}
}

// nextDay returns the first second after another with another date.
func (p *page) nextDay(second int64) int64 {
	today := p.local(second).YearDay()
	return second + 1 + int64(sort.Search(longDay, func(i int) bool { return p.local(second+1+int64(i)).YearDay() != today }))
}

// local returns the local time of a second, which may lie before the run.
func (p *page) local(second int64) time.Time {
	if second < 0 {
		return p.Local(0).Add(time.Duration(second) * time.Second)
	}
	return p.Local(uint64(second))
}

func secondOfDay(t time.Time) int64 {
	hour, minute, second := t.Clock()
	return int64(hour*3600 + minute*60 + second)
}

func (p *page) line(w io.Writer, name, row string) {
	fmt.Fprintln(w, strings.TrimRight(fmt.Sprintf("%-*s %s", p.name, name, row), " "))
}

func (p *page) lanes(g *grid) []string {
	rows := make([]string, len(p.Lanes))
	for i := range rows {
		rows[i] = p.lane(i, g)
	}
	return rows
}

// lane draws a signal. A column shows the level in which it ends, and '+' if the signal has changed more than once in it.
func (p *page) lane(lane int, g *grid) string {
	changes, level := p.changes[lane], p.Lanes[lane].Initial
	next := sort.Search(len(changes), func(i int) bool { return int64(changes[i].At) >= g.from })
	if next > 0 {
		level = changes[next-1].Level
	}
	row := make([]byte, g.n)
	for i := range row {
		begin := g.from + int64(i)*g.step
		end := begin + g.step
		before := next
		for next < len(changes) && int64(changes[next].At) < end {
			level = changes[next].Level
			next++
		}
		switch {
		case end <= 0 || begin > int64(p.End):
			row[i] = ' '
		case next-before > 1:
			row[i] = '+'
		case p.Lanes[lane].Signal == spec.SigAlert:
			row[i] = alertGlyphs[level]
		case level == 0:
			row[i] = '_'
		default:
			row[i] = '#'
		}
	}
	return string(row)
}

// alertGlyphs are the letters of the alert's levels, from dormant on.
const alertGlyphs = ".cnr"

// marks writes the numbers of the marks, each from its column on. Where there is no room for one, the one before it gets a '+'.
func (p *page) marks(g *grid) string {
	row := ""
	more := false // row ends with a '+'
	first := sort.Search(len(p.Marks), func(i int) bool { return int64(p.Marks[i].At) >= g.from })
	for _, m := range p.Marks[first:] {
		column := int((int64(m.At) - g.from) / g.step)
		switch {
		case int64(column) >= g.n:
			return row
		case row == "" || column > len(row):
			row = pad(row, column) + strconv.Itoa(m.Number)
			more = false
		case !more:
			row += "+"
			more = true
		}
	}
	return row
}

func pad(row string, column int) string { return row + strings.Repeat(" ", max(0, column-len(row))) }

// dates writes the date where the grid begins and wherever a day does, as much of it as there is room for.
func (p *page) dates(g *grid) string {
	columns := []int64{0}
	for i := int64(1); i < g.n; i++ {
		if _, ok := p.tick(g, i, day); ok {
			columns = append(columns, i)
		}
	}
	row := ""
	for k, column := range columns {
		room := g.n + int64(overhang) + 1 - column
		if k+1 < len(columns) {
			room = columns[k+1] - column
		}
		t := p.local(max(0, g.from+(column+1)*g.step-1))
		for _, layout := range [...]string{"|" + dateLayout, "|Mon 02", "|02", "|"} {
			if int64(len(layout)) < room || layout == "|" {
				row = pad(row, int(column)) + t.Format(layout)
				break
			}
		}
	}
	return row
}

// hours writes the hours, or hours and minutes, as close together as they fit; "" where not even half days do.
func (p *page) hours(g *grid) string {
	for _, length := range ticks {
		layout := "|15"
		if length < 3600 {
			layout = "|15:04"
		}
		if length%g.step != 0 || length/g.step <= int64(len(layout)) {
			continue
		}
		row := ""
		for i := range g.n {
			if t, ok := p.tick(g, i, length); ok && (row == "" || int(i) > len(row)) {
				row = pad(row, int(i)) + t.Format(layout)
			}
		}
		return row
	}
	return ""
}

// tick returns the local time in a column at which a whole number of ticks has passed since midnight, if there is one.
func (p *page) tick(g *grid, column, length int64) (time.Time, bool) {
	begin := p.local(g.from + column*g.step)
	wait := (length - secondOfDay(begin)%length) % length
	return begin.Add(time.Duration(wait) * time.Second), wait < g.step
}

func (p *page) legend(w io.Writer, step int64) {
	length := fmt.Sprintf("%d s", step)
	switch {
	case step%3600 == 0:
		length = fmt.Sprintf("%d h", step/3600)
	case step%60 == 0:
		length = fmt.Sprintf("%d min", step/60)
	}
	text := "# on, _ off, + more than one change; a column is " + length
	for i := range p.Lanes {
		if p.Lanes[i].Signal == spec.SigAlert {
			text += "; alert: . none, c counting, n notice, r restricted"
		}
	}
	if len(p.Marks) > 0 {
		text += "; numbers: inputs, + more of them"
	}
	fmt.Fprintln(w, text)
}
