package vcd

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Writer writes a file. What goes wrong is kept until [Writer.Flush] returns it; nothing is written after that.
type Writer struct {
	out     *bufio.Writer
	signals []signal
	codes   []string
	time    uint64
	stamped bool
	section bool
	err     error
}

// NewWriter writes the declarations. The variables' signals must be numbered without gaps; a name must not have a space in it. An
// error says what is wrong with the header.
func NewWriter(out io.Writer, h *Header) (*Writer, error) {
	w := &Writer{out: bufio.NewWriter(out)}
	if !h.Timescale.valid() {
		return nil, fmt.Errorf("the time scale 10^%d s is out of range", h.Timescale)
	}
	if err := w.declareSignals(h); err != nil {
		return nil, err
	}
	texts := []struct{ keyword, text string }{{"$date", h.Date}, {"$version", h.Version}}
	for _, c := range h.Comments {
		texts = append(texts, struct{ keyword, text string }{"$comment", c})
	}
	for _, t := range texts {
		switch {
		case slices.Contains(strings.Fields(t.text), "$end"):
			return nil, fmt.Errorf("%s has the word $end in it, which would end it", t.keyword)
		case strings.ContainsFunc(t.text, func(r rune) bool { return unicode.IsControl(r) && !unicode.IsSpace(r) }):
			return nil, fmt.Errorf("%s has control characters in it", t.keyword)
		case t.text != "":
			w.line(t.keyword, " ", t.text, " $end")
		}
	}
	w.line("$timescale ", h.Timescale.String(), " $end")
	var scope []string
	for i := range h.Vars {
		v := &h.Vars[i]
		common := 0
		for common < min(len(scope), len(v.Scope)) && scope[common] == v.Scope[common] {
			common++
		}
		w.enter(scope[common:], v.Scope[common:])
		scope = v.Scope
		text := fmt.Sprintf("$var %s %d %s %s", v.Kind, v.Width, w.codes[v.Signal], escape(v.Name))
		if v.Index != "" && text[len(text)-1] != ']' && simple.MatchString(v.Name) {
			text += v.Index // attached, for readers that take the first word for the whole name
		} else if v.Index != "" {
			text += " " + v.Index
		}
		w.line(text, " $end")
	}
	w.enter(scope, nil)
	w.line("$enddefinitions $end")
	return w, w.err
}

func (w *Writer) declareSignals(h *Header) error {
	w.signals = make([]signal, h.Signals())
	for i := range h.Vars {
		v := &h.Vars[i]
		switch {
		case v.Signal < 0:
			return fmt.Errorf("variable %s has the signal %d; they count from 0", v.Path(), v.Signal)
		case v.Width < 1 || v.Width > MaxWidth:
			return fmt.Errorf("variable %s has a width of %d; it is 1 to %d", v.Path(), v.Width, MaxWidth)
		case v.Index != "" && !index.MatchString(v.Index):
			return fmt.Errorf("variable %s has the index %s; one is such as [3] or [7:0]", v.Path(), v.Index)
		}
		for _, word := range append([]string{v.Kind, v.Name}, v.Scope...) {
			if word == "" || strings.ContainsFunc(word, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) }) {
				return fmt.Errorf("%s cannot be written: names and kinds have at least one character and no space", quote(word))
			}
		}
		s := &w.signals[v.Signal]
		if s.width != 0 && (s.width != v.Width || s.real != v.real()) {
			return fmt.Errorf("variable %s shares a signal with one of another width or kind", v.Path())
		}
		s.width, s.real = v.Width, v.real()
	}
	for i := range w.signals {
		if w.signals[i].width == 0 {
			return fmt.Errorf("signal %d has no variable", i)
		}
		w.codes = append(w.codes, code(i))
	}
	return nil
}

// enter leaves scopes and enters others.
func (w *Writer) enter(leave, into []string) {
	for range leave {
		w.line("$upscope $end")
	}
	for _, name := range into {
		w.line("$scope module ", escape(name), " $end")
	}
}

// code returns the identifier code of a signal: printable ASCII.
func code(n int) string {
	const first, letters = '!', '~' - '!' + 1
	text := []byte{byte(first + n%letters)}
	for n /= letters; n > 0; n /= letters {
		n--
		text = append(text, byte(first+n%letters))
	}
	return string(text)
}

var simple = regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_$]*$`)

// escape returns a name as a simple identifier, or as an escaped one, which ends at the next space.
func escape(name string) string {
	if simple.MatchString(name) {
		return name
	}
	return `\` + name
}

func (w *Writer) line(parts ...string) {
	for _, p := range parts {
		w.text(p)
	}
	w.text("\n")
}

func (w *Writer) text(s string) {
	if w.err == nil {
		_, w.err = w.out.WriteString(s)
	}
}

func (w *Writer) fail(format string, args ...any) {
	if w.err == nil {
		w.err = fmt.Errorf(format, args...)
	}
}

// At writes a time stamp in ticks, unless it is that of the last one.
func (w *Writer) At(ticks uint64) {
	switch {
	case w.section:
		w.fail("a time stamp in a section of values")
	case w.stamped && ticks < w.time:
		w.fail("time goes back, from %d to %d ticks", w.time, ticks)
	case !w.stamped || ticks != w.time:
		w.line("#", strconv.FormatUint(ticks, 10))
		w.time, w.stamped = ticks, true
	}
}

// Begin begins a section of values: Off, On, Vars or All.
func (w *Writer) Begin(section EventKind) {
	for keyword, kind := range sections {
		if kind == section && !w.section {
			w.line(keyword)
			w.section = true
			return
		}
	}
	w.fail("a section of values cannot begin here")
}

// End ends a section of values.
func (w *Writer) End() {
	if !w.section {
		w.fail("no section of values to end")
	}
	w.line("$end")
	w.section = false
}

// Change writes a value: as many of '0', '1', 'x' and 'z' as the signal has bits, most significant first.
func (w *Writer) Change(signal int, bits string) {
	s := w.signal(signal)
	switch {
	case s == nil:
	case s.real || len(bits) != s.width || strings.Trim(bits, "01xz") != "":
		w.fail("%s is no value of a signal of %d bits", quote(bits), s.width)
	case s.width == 1:
		w.line(bits, w.codes[signal])
	default:
		w.line("b", bits, " ", w.codes[signal])
	}
}

// Real writes a value of a real.
func (w *Writer) Real(signal int, value float64) {
	switch s := w.signal(signal); {
	case s == nil:
	case !s.real:
		w.fail("signal %d is no real", signal)
	default:
		w.line("r", strconv.FormatFloat(value, 'g', -1, 64), " ", w.codes[signal])
	}
}

func (w *Writer) signal(i int) *signal {
	if i < 0 || i >= len(w.signals) {
		w.fail("there is no signal %d", i)
		return nil
	}
	return &w.signals[i]
}

// Flush writes out what is left and returns what went wrong first.
func (w *Writer) Flush() error {
	if w.err == nil && w.section {
		w.err = errors.New("the last section of values has no end")
	}
	if w.err != nil {
		return w.err
	}
	return w.out.Flush()
}
