package diagram

import (
	"example.org/hearthbench/conformance/timing"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Span is a time in which a lane does not change.
type Span struct {
	From, To uint64 // seconds; equal for a level that comes and goes within one
	High     bool   // drawn as a bar: closed, sounding
	Word     string // if there is one, the lane is a row of boxes with words in them, and High is without meaning
	Title    string // what a pointer that rests on it is told
	Href     string // where it leads, if anywhere: a drawing in which something does can be walked through by keyboard
	Tone     Tone   // of a span of a [Stated] lane
}

// Tone is how a statement stands to what it is about. It is seen in the outline as well as in the colour.
type Tone uint8

// The tones.
const (
	Open Tone = iota // nobody can tell
	Good             // borne out
	Bad              // contradicted
)

var tones = [...]string{Open: "dg-open", Good: "dg-good", Bad: "dg-bad"}

// Interval is a stretch of time, in seconds.
type Interval struct{ From, To uint64 }

// Spans returns what a lane of package timing does from second 0 to end, or a second after its last change, so that neighbours touch. Title words each span: its level, from
// which second to which, and the clause that settles it, which is [spec.NoClause] where nobody has said.
func Spans(l *timing.Lane, end uint64, title func(level spec.Level, from, to uint64, by spec.Clause) string) []Span {
	var spans []Span
	at, level, by := uint64(0), l.Initial, spec.NoClause
	changed := false
	put := func(to uint64) {
		s := Span{From: at, To: to, High: level != 0, Title: title(level, at, to, by)}
		if l.Signal == spec.SigAlert {
			s.Word = wire.LevelWord(l.Signal, level)
		}
		spans = append(spans, s)
	}
	for i := range l.Changes {
		c := &l.Changes[i]
		if c.Signal != l.Signal || c.At > end {
			continue
		}
		// A change in second 0 leaves nothing to be seen of what was before it.
		if c.At > 0 || changed {
			put(c.At)
		}
		at, level, by, changed = c.At, c.Level, c.By, true
	}
	put(max(end, at+1))
	return spans
}

// Differ returns when two lanes differ, up to end: the levels in which seconds end, not what comes and goes within one.
func Differ(a, b []Span, end uint64) []Interval {
	var list []Interval
	for at := uint64(0); at < end; {
		x, y := during(a, at), during(b, at)
		to := min(x.To, y.To, end)
		if x.High != y.High || x.Word != y.Word {
			if n := len(list); n > 0 && list[n-1].To == at {
				list[n-1].To = to
			} else {
				list = append(list, Interval{at, to})
			}
		}
		at = to
	}
	return list
}

// during returns the span from a second on, the last one that begins in it, which goes beyond it.
func during(spans []Span, second uint64) *Span {
	i := 0
	for spans[i].To <= second {
		i++
	}
	return &spans[i]
}
