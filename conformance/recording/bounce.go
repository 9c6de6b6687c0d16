package recording

import (
	"time"

	"example.org/hearthbench/emulator/spec"
)

// debouncer builds a line from raw levels in order of time.
type debouncer struct {
	line    *Line
	window  time.Duration
	settled spec.Level
	raw     spec.Level
	burst   bool
	first   time.Duration // edge of the burst
	after   time.Duration // which it came
	row     int           // of that edge
	last    time.Duration
	edges   int
}

func newDebouncer(name string, inverted bool, window time.Duration) *debouncer {
	return &debouncer{
		line: &Line{Name: name, Inverted: inverted, Levels: []Stretch{{Level: Unknown}}}, window: window, settled: Unknown, raw: Unknown,
	}
}

// set tells the level from an instant on, after which other instant it came to it, and which line of the file has it.
func (d *debouncer) set(at, after time.Duration, level spec.Level, row int) {
	if d.line.Inverted && level != Unknown {
		level = 1 - level
	}
	if d.burst && at >= d.first+d.window {
		d.settle()
	}
	switch {
	case level == d.raw:
		return
	case level == Unknown || d.raw == Unknown:
		d.settle()
		d.raw, d.settled = level, level
		d.enter(Stretch{at, after, level, row})
	case d.burst:
		d.raw, d.last = level, at
		d.edges++
	default:
		d.raw, d.burst, d.first, d.after, d.row, d.last, d.edges = level, true, at, after, row, at, 1
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
		if len(b.GlitchesAt) < mostGlitches {
			b.GlitchesAt = append(b.GlitchesAt, d.first)
		}
		return
	}
	if d.edges > 1 {
		b.Count++
		b.Longest = max(b.Longest, length)
	}
	d.settled = d.raw
	d.enter(Stretch{d.first, d.after, d.raw, d.row})
}

func (d *debouncer) enter(s Stretch) {
	levels := d.line.Levels
	if last := &levels[len(levels)-1]; last.From == s.From {
		*last = s
		if n := len(levels); n > 1 && levels[n-2].Level == s.Level {
			d.line.Levels = levels[:n-1]
		}
		return
	}
	d.line.Levels = append(levels, s)
}

// finish ends the recording.
func (d *debouncer) finish() *Line {
	d.settle()
	return d.line
}
