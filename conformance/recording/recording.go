package recording

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"example.org/hearthbench/conformance/vcd"
	"example.org/hearthbench/emulator/spec"
)

// DefaultBounce is how long the contacts of a relay may bounce: a claim about the equipment, common practice, no source.
const DefaultBounce = 50 * time.Millisecond

// About is what a recording is, beside its lines. Times are since its first sample.
type About struct {
	File    string
	Format  string    // "VCD" or "CSV"
	Columns int       // how many signals the file has in all
	Origin  time.Time // of the first sample, where the file has dates; else zero
	// Zoned says that the dates have an offset from UTC. Without one the origin is what some clock showed, written as if it were UTC.
	Zoned  bool
	Length time.Duration // to the last sample
	// Resolution is how far apart two instants must be for the recording to tell them apart: a tick of a VCD file, the interval of a
	// log that samples.
	Resolution time.Duration
	Sampled    bool // at even intervals, so that a longer one is a gap
}

// Recording is what a file has of the columns that were picked.
type Recording struct {
	About
	Lines []*Line // in the order of the picks
}

// Line is one column over time.
type Line struct {
	Name     string // of the column, or of the columns
	Inverted bool   // active low
	Bounce   Bounce
	Levels   []Stretch // in order of time; the first begins at 0
}

// Unknown is the level of a stretch of which nothing is known.
const Unknown spec.Level = math.MaxUint8

// Stretch is a time at one level: until the next stretch begins.
type Stretch struct {
	From  time.Duration
	After time.Duration // the change came after this and not after From: the sample before, in a log that samples; else From
	Level spec.Level
	Row   int // the line of the file that tells of its beginning; 0 of what no line tells
}

// Bounce is what was taken out of a line: edges that followed another within the bounce time.
type Bounce struct {
	Count   int           // changes that bounced
	Longest time.Duration // from the first edge of one to its last
	// Glitches are changes that were taken back within the bounce time, so that nothing is left of them.
	Glitches      int
	LongestGlitch time.Duration
	GlitchesAt    []time.Duration // when, up to 10000 of them
}

// mostGlitches bounds the memory that noise can take.
const mostGlitches = 10_000

// Known reports whether anything is known of the line.
func (l *Line) Known() bool {
	return slices.ContainsFunc(l.Levels, func(s Stretch) bool { return s.Level != Unknown })
}

// Pick is a column that is to be read.
type Pick struct {
	Column   int        // its index
	Inverted bool       // active low; such a column has the levels 0 and 1
	Most     spec.Level // the highest level that it can have: 1, or 3 of the alert
}

// Read reads a recording in one of the formats "VCD" and "CSV"; the name is for messages. Choose is given the columns of the file and picks those to
// read. Edges that follow another within the bounce time belong to it. An error is of type *[Error] unless reading itself failed.
func Read(name, format string, in io.Reader, bounce time.Duration, choose func(Columns) ([]Pick, error)) (*Recording, error) {
	read := readVCD
	if format == "CSV" {
		read = readCSV
	}
	r := &Recording{About: About{File: name, Format: format}}
	err := read(r, bufio.NewReaderSize(in, 1<<16), choose, bounce)
	var syntax *vcd.Error
	var own *Error
	switch {
	case errors.As(err, &syntax):
		return nil, &Error{name, syntax.Line, syntax.Message}
	case errors.As(err, &own):
		own.File = name
		return nil, own
	case err != nil:
		return nil, err
	}
	return r, nil
}

// Error is something wrong with a recording's file or with what was asked of it.
type Error struct {
	File    string
	Line    int // 0 if no line is to blame
	Message string
}

// Error returns the message after file and line.
func (e *Error) Error() string {
	if e.Line == 0 {
		return fmt.Sprintf("%s: %s", e.File, e.Message)
	}
	return fmt.Sprintf("%s:%d: %s", e.File, e.Line, e.Message)
}

// Columns are the names under which a file's columns can be found: each has one or two.
type Columns []names

type names struct{ short, full string }

// Find returns the index of the column of a name, or -1 if there is none. It is an error if the name is that of more than one.
func (cs Columns) Find(name string) (int, error) {
	for _, same := range []func(c names) bool{
		func(c names) bool { return c.full == name },
		func(c names) bool { return c.short == name },
		func(c names) bool { return strings.EqualFold(c.short, name) },
	} {
		found := -1
		for i, c := range cs {
			switch {
			case !same(c):
			case found < 0:
				found = i
			default:
				return -1, fmt.Errorf("%s could be the column %s or %s", name, cs[found].full, c.full)
			}
		}
		if found >= 0 {
			return found, nil
		}
	}
	return -1, nil
}

// Name returns the whole name of a column.
func (cs Columns) Name(i int) string { return cs[i].full }

// String lists the columns, or some of them.
func (cs Columns) String() string {
	const most = 20
	var list []string
	for i, c := range cs {
		if i == most {
			list = append(list, fmt.Sprintf("and %d more", len(cs)-most))
			break
		}
		list = append(list, c.full)
	}
	if list == nil {
		return "none"
	}
	return strings.Join(list, ", ")
}
