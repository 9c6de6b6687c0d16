package capture

import (
	"fmt"
	"math"
	"time"

	"example.org/hearthbench/emulator/spec"
)

// Recording is what a file has of the signals of a unit. Times are since its first sample.
type Recording struct {
	File    string
	Format  string        // "VCD" or "CSV"
	Columns int           // how many signals the file has in all
	Origin  time.Time     // of the first sample, where the file has dates; else zero
	Length  time.Duration // to the last sample
	// Resolution is how far apart two instants must be for the recording to tell them apart: a tick of a VCD file, the interval of a
	// log that samples.
	Resolution time.Duration
	Sampled    bool                   // at even intervals, so that a longer one is a gap
	Lines      [spec.NumSignals]*Line // nil where none was mapped
}

// Line is one signal over time.
type Line struct {
	Name     string // of the column, or of the columns
	Inverted bool   // active low
	Bounce   Bounce

	levels []stretch // in order of time; the first begins at 0
}

// unknown is the level of a stretch of which nothing is known.
const unknown spec.Level = math.MaxUint8

// stretch is a time at one level: until the next stretch begins.
type stretch struct {
	from  time.Duration
	level spec.Level
}

// Bounce is what was taken out of a line: edges that followed another within the bounce time.
type Bounce struct {
	Count   int           // changes that bounced
	Longest time.Duration // from the first edge of one to its last
	// Glitches are changes that were taken back within the bounce time, so that nothing is left of them.
	Glitches      int
	LongestGlitch time.Duration
	glitches      []time.Duration // when, up to mostGlitches of them
}

// mostGlitches bounds the memory that noise can take.
const mostGlitches = 10_000

// debouncer builds a line from raw levels in order of time.
type debouncer struct {
	line    *Line
	window  time.Duration
	settled spec.Level
	raw     spec.Level
	burst   bool
	first   time.Duration // edge of the burst
	last    time.Duration
	edges   int
}

func newDebouncer(name string, inverted bool, window time.Duration) *debouncer {
	return &debouncer{
		line: &Line{Name: name, Inverted: inverted, levels: []stretch{{0, unknown}}}, window: window, settled: unknown, raw: unknown,
	}
}

// set tells the level from an instant on.
func (d *debouncer) set(at time.Duration, level spec.Level) {
	if d.line.Inverted && level != unknown {
		level = 1 - level
	}
	if d.burst && at >= d.first+d.window {
		d.settle()
	}
	switch {
	case level == d.raw:
		return
	case level == unknown || d.raw == unknown:
		d.settle()
		d.raw, d.settled = level, level
		d.enter(at, level)
	case d.burst:
		d.raw, d.last = level, at
		d.edges++
	default:
		d.raw, d.burst, d.first, d.last, d.edges = level, true, at, at, 1
	}
}

// settle ends a burst of edges.
func (d *debouncer) settle() {
	if !d.burst {
		return
	}
	d.burst = false
	b, length := &d.line.Bounce, d.last-d.first
	if d.raw == d.settled {
		b.Glitches++
		b.LongestGlitch = max(b.LongestGlitch, length)
		if len(b.glitches) < mostGlitches {
			b.glitches = append(b.glitches, d.first)
		}
		return
	}
	if d.edges > 1 {
		b.Count++
		b.Longest = max(b.Longest, length)
	}
	d.settled = d.raw
	d.enter(d.first, d.raw)
}

func (d *debouncer) enter(at time.Duration, level spec.Level) {
	levels := d.line.levels
	if last := &levels[len(levels)-1]; last.from == at {
		last.level = level
		if n := len(levels); n > 1 && levels[n-2].level == level {
			d.line.levels = levels[:n-1]
		}
		return
	}
	d.line.levels = append(levels, stretch{at, level})
}

// finish ends the recording.
func (d *debouncer) finish() *Line {
	d.settle()
	return d.line
}

// known reports whether anything is known of the line.
func (l *Line) known() bool {
	for _, s := range l.levels {
		if s.level != unknown {
			return true
		}
	}
	return false
}

// edge is a change from one known level to another.
type edge struct {
	at    float64 // s
	level spec.Level
}

func (l *Line) edges() []edge {
	var edges []edge
	for i := 1; i < len(l.levels); i++ {
		if l.levels[i].level != unknown && l.levels[i-1].level != unknown {
			edges = append(edges, edge{l.levels[i].from.Seconds(), l.levels[i].level})
		}
	}
	return edges
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
