// Package vcd reads and writes Value Change Dump files, the four-state form of IEEE Std 1364: what simulators and logic analysers
// record of signals over time.
//
// The reader takes a file as a stream of any length and holds no more of it than its declarations. Beside what the standard says it
// bears with what programs write in practice: names with spaces or with their range attached, CRLF, a byte order mark, a space between
// a scalar and its identifier, declarations of kinds it does not know, the further letters of VHDL's nine-valued logic, and string
// values, which it passes over. What could mean two things is an [Error] with its line.
package vcd

import (
	"fmt"
	"math/bits"
	"strings"
	"time"
)

// Timescale is the length of a tick as a power of ten, in seconds: from [Shortest], 1 fs, to [Longest], 100 s. The zero value is 1 s.
type Timescale int8

// The limits of a time scale.
const (
	Shortest Timescale = -15
	Longest  Timescale = 2
)

var units = [...]string{"fs", "ps", "ns", "us", "ms", "s"}

const timescaleWant = "a time scale is 1, 10 or 100 with a unit s, ms, us, ns, ps or fs"

// ParseTimescale parses a number and a unit, with or without space between them: "1 us", "100ns".
func ParseTimescale(text string) (Timescale, error) {
	text = strings.Join(strings.Fields(text), "")
	for power, number := range [...]string{"1", "10", "100"} {
		for i, unit := range units {
			if text == number+unit {
				return Shortest + Timescale(3*i+power), nil
			}
		}
	}
	return 0, fmt.Errorf("%s is wrong: %s", quote(text), timescaleWant)
}

// String returns the scale as a file has it: "10 ns".
func (t Timescale) String() string {
	power := int(t - Shortest)
	return [...]string{"1 ", "10 ", "100 "}[power%3] + units[power/3]
}

func (t Timescale) valid() bool { return t >= Shortest && t <= Longest }

// Duration returns how long so many ticks are, rounded down to a nanosecond, and whether that can be said: it ends at about 292 years.
func (t Timescale) Duration(ticks uint64) (time.Duration, bool) {
	const nanosecond = -9
	for scale := t; scale < nanosecond; scale++ {
		ticks /= 10
	}
	for scale := t; scale > nanosecond; scale-- {
		high, low := bits.Mul64(ticks, 10)
		if high > 0 {
			return 0, false
		}
		ticks = low
	}
	d := time.Duration(ticks)
	return d, d >= 0
}

// Header is what a file declares.
type Header struct {
	Date, Version string
	Comments      []string
	Scaled        bool // the file states a time scale
	Timescale     Timescale
	Vars          []Var
}

// Signals returns how many signals the variables have between them: one more than the highest [Var.Signal].
func (h *Header) Signals() int {
	n := 0
	for i := range h.Vars {
		n = max(n, h.Vars[i].Signal+1)
	}
	return n
}

// Var is a variable: a name for a signal.
type Var struct {
	Scope []string // outermost first; nil without any
	Kind  string   // wire, reg, integer, real and so on
	Width int      // bits; of a real, whatever was declared
	Name  string
	Index string // such as [3] or [7:0], or empty
	// Signal is the number of the signal, from 0 in order of declaration. Variables that share one, with an identifier code in common,
	// are aliases.
	Signal int
}

// Path returns scopes and name joined by dots, with the index.
func (v *Var) Path() string {
	return strings.Join(append(append([]string(nil), v.Scope...), v.Name), ".") + v.Index
}

func (v *Var) real() bool { return v.Kind == "real" || v.Kind == "realtime" }

// MaxWidth is the width in bits of the widest variable that is read or written.
const MaxWidth = 1 << 16

// EventKind says what an [Event] is.
type EventKind uint8

// The kinds of event. Off, On, Vars and All begin a section of values, which follow as changes.
const (
	Change EventKind = iota // a signal takes a value
	Stamp                   // a time stamp
	Off                     // $dumpoff: nothing is known from here on
	On                      // $dumpon: values are known again
	Vars                    // $dumpvars: the first values
	All                     // $dumpall: a checkpoint
)

var sections = map[string]EventKind{"$dumpoff": Off, "$dumpon": On, "$dumpvars": Vars, "$dumpall": All}

// Event is one thing that a file tells.
type Event struct {
	Kind EventKind
	Line int
	// Time is in ticks: the last time stamp, or 0 before the first. Stamped says whether there has been one.
	Time    uint64
	Stamped bool

	Signal int     // of a change
	Bits   []byte  // the value, as many of '0', '1', 'x' and 'z' as the signal has bits, most significant first; nil for a real
	Real   float64 // the value of a real
}

// Error is something wrong with a file.
type Error struct {
	Line    int // from 1
	Message string
}

// Error returns the message after the line.
func (e *Error) Error() string { return fmt.Sprintf("line %d: %s", e.Line, e.Message) }

// quote makes text from outside fit for a message.
func quote(text string) string {
	const most = 40
	cut := ""
	if len(text) > most {
		text, cut = text[:most], "..."
	}
	return "'" + strings.Trim(fmt.Sprintf("%+q", text), `"`) + cut + "'"
}
