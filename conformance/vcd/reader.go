package vcd

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Reader reads a file.
type Reader struct {
	in      *bufio.Reader
	line    int // of the token last read
	newline int // further lines that have begun since
	token   []byte

	header  Header
	signals []signal
	codes   map[string]int

	event   Event
	section string // the open section of values, or ""
	off     bool
	failed  error
}

// signal is what variables with one identifier code have in common.
type signal struct {
	width int
	real  bool
	line  int
	value []byte
}

// maxToken is the longest word that a file may have in bytes: a value of MaxWidth bits with its letter.
const maxToken = MaxWidth + 1

// NewReader reads the declarations. An error is of type *[Error] unless reading itself failed.
func NewReader(r io.Reader) (*Reader, error) {
	d := &Reader{in: bufio.NewReaderSize(r, 1<<16), line: 1, codes: map[string]int{}}
	head, _ := d.in.Peek(3)
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		_, _ = d.in.Discard(len(head)) // cannot fail on what has been peeked at
	case bytes.HasPrefix(head, []byte{0x1f, 0x8b}):
		return nil, &Error{1, "the file is compressed; unpack it with gzip -d first"}
	case bytes.HasPrefix(head, []byte("PK")):
		return nil, &Error{1, "the file is a zip archive; export the capture as VCD"}
	}
	if err := d.declarations(); err != nil {
		return nil, err
	}
	return d, nil
}

// Header returns what the file declares.
func (d *Reader) Header() *Header { return &d.header }

func (d *Reader) fail(format string, args ...any) error {
	return &Error{d.line, fmt.Sprintf(format, args...)}
}

// next reads a word. At the end of the file it returns io.EOF.
func (d *Reader) next() error {
	d.token = d.token[:0]
	d.line += d.newline
	d.newline = 0
	for {
		b, err := d.in.ReadByte()
		switch {
		case err == io.EOF && len(d.token) > 0:
			return nil
		case err != nil:
			return err
		case b == ' ' || b == '\t' || b == '\r' || b == '\n' || b == '\v' || b == '\f':
			if len(d.token) > 0 {
				if b == '\n' {
					d.newline++
				}
				return nil
			}
			if b == '\n' {
				d.line++
			}
		case b < ' ' || b == 0x7f:
			return d.fail("a byte %#02x stands here, but a VCD file is text", b)
		case len(d.token) == maxToken:
			return d.fail("a word is longer than %d bytes; is this a VCD file?", maxToken)
		default:
			d.token = append(d.token, b)
		}
	}
}

// need is next where the file cannot end.
func (d *Reader) need(where string) error {
	err := d.next()
	if err == io.EOF {
		return d.fail("the file ends in the middle of %s; it has been cut short", where)
	}
	return err
}

// words reads the words of a section up to its $end.
func (d *Reader) words(section string) ([]string, error) {
	// Of a long comment the beginning is enough.
	const most = 1 << 12
	var words []string
	size := 0
	for {
		if err := d.need(section); err != nil {
			return nil, err
		}
		if string(d.token) == "$end" {
			return words, nil
		}
		if size += len(d.token); size <= most {
			words = append(words, string(d.token))
		}
	}
}

func (d *Reader) declarations() error {
	var scope []string
	for {
		switch err := d.next(); {
		case err == io.EOF:
			return d.fail("the file ends before $enddefinitions; it is no VCD file, or has been cut short")
		case err != nil:
			return err
		}
		keyword := string(d.token)
		if keyword[0] != '$' || keyword == "$end" {
			return d.fail("%s stands where a section such as $timescale or $var should begin; is this a VCD file?", quote(keyword))
		}
		line := d.line
		if _, ok := sections[keyword]; ok || strings.HasPrefix(keyword, "$dumpports") {
			return d.fail("%s comes before $enddefinitions", keyword)
		}
		words, err := d.words(keyword)
		if err != nil {
			return err
		}
		text := strings.Join(words, " ")
		fail := func(format string, args ...any) error { return &Error{line, fmt.Sprintf(format, args...)} }
		switch keyword {
		case "$enddefinitions":
			return nil
		case "$date":
			d.header.Date = text
		case "$version":
			d.header.Version = text
		case "$comment":
			d.header.Comments = append(d.header.Comments, text)
		case "$timescale":
			if d.header.Timescale, err = ParseTimescale(text); err != nil {
				return fail("%v", err)
			}
			d.header.Scaled = true
		case "$scope":
			if len(words) < 2 {
				return fail("a scope has a kind and a name: $scope module top $end")
			}
			scope = append(slices.Clip(scope), strings.TrimPrefix(strings.Join(words[1:], " "), `\`))
		case "$upscope":
			if len(scope) == 0 {
				return fail("$upscope without a scope to leave")
			}
			if scope = scope[:len(scope)-1]; len(scope) == 0 {
				scope = nil
			}
		case "$var":
			v, code, message := variable(words)
			if message != "" {
				return fail("%s", message)
			}
			v.Scope = scope
			if message := d.declare(&v, code, line); message != "" {
				return fail("%s", message)
			}
		}
	}
}

const varForm = "a variable is declared as $var KIND WIDTH CODE NAME $end"

// attached finds the range at the end of a name.
var attached = regexp.MustCompile(`^(.+?)((?:\[-?[0-9]+(?::-?[0-9]+)?\])+)$`)

var index = regexp.MustCompile(`^(\[-?[0-9]+(:-?[0-9]+)?\])+$`)

// variable reads the words of a $var.
func variable(words []string) (v Var, code, message string) {
	if len(words) < 4 {
		return v, "", varForm
	}
	width, err := strconv.Atoi(words[1])
	v = Var{Kind: words[0], Width: width}
	switch {
	case err != nil || width < 0:
		return v, "", fmt.Sprintf("the width %s is no number; %s", quote(words[1]), varForm)
	case v.Kind == "string":
	case width == 0 || width > MaxWidth:
		return v, "", fmt.Sprintf("the width %s is out of range; it is 1 to %d", quote(words[1]), MaxWidth)
	}
	name := words[3:]
	for len(name) > 1 && index.MatchString(name[len(name)-1]) {
		v.Index = name[len(name)-1] + v.Index
		name = name[:len(name)-1]
	}
	v.Name = strings.Join(name, " ")
	if escaped, ok := strings.CutPrefix(v.Name, `\`); ok && escaped != "" {
		v.Name = escaped
	} else if parts := attached.FindStringSubmatch(v.Name); parts != nil && v.Index == "" {
		v.Name, v.Index = parts[1], parts[2]
	}
	return v, words[2], ""
}

// declare gives a variable its signal.
func (d *Reader) declare(v *Var, code string, line int) (message string) {
	known, ok := d.codes[code]
	if !ok {
		known = len(d.signals)
		d.codes[code] = known
		d.signals = append(d.signals, signal{width: v.Width, real: v.real(), line: line})
	}
	s := &d.signals[known]
	if s.width != v.Width && !s.real || s.real != v.real() {
		return fmt.Sprintf("the code %s has another width or kind than on line %d, where it was declared first", quote(code), s.line)
	}
	v.Signal = known
	d.header.Vars = append(d.header.Vars, *v)
	return ""
}

// Next returns the next event, which is good until the call after it. At the end of the file it returns io.EOF; any other error is of
// type *[Error] unless reading itself failed, and comes again with every further call.
func (d *Reader) Next() (*Event, error) {
	if d.failed == nil {
		d.failed = d.read()
	}
	if d.failed != nil {
		return nil, d.failed
	}
	return &d.event, nil
}

func (d *Reader) read() error {
	for {
		if err := d.next(); err != nil {
			if err == io.EOF && d.section != "" {
				return d.fail("the file ends in the middle of %s; it has been cut short", d.section)
			}
			return err
		}
		d.event.Line, d.event.Bits, d.event.Real = d.line, nil, 0
		told := true
		var err error
		switch first := d.token[0]; first {
		case '#':
			err = d.stamp()
		case '$':
			told, err = d.command(string(d.token))
		case 'b', 'B':
			err = d.vector()
		case 'r', 'R':
			err = d.realValue()
		case 's', 'S':
			told = false
			err = d.need("a value")
		default:
			err = d.scalar()
		}
		if told || err != nil {
			return err
		}
	}
}

func (d *Reader) stamp() error {
	time, err := strconv.ParseUint(string(d.token[1:]), 10, 64)
	switch {
	case err != nil:
		return d.fail("%s is no time stamp; one is # and a number of ticks", quote(string(d.token)))
	case d.section != "":
		return d.fail("a time stamp stands in %s, which has no $end", d.section)
	case d.event.Stamped && time < d.event.Time:
		return d.fail("time goes back, from #%d to #%d", d.event.Time, time)
	}
	d.event.Kind, d.event.Time, d.event.Stamped = Stamp, time, true
	return nil
}

// command handles a keyword among the values, and reports whether it is an event.
func (d *Reader) command(keyword string) (bool, error) {
	kind, ok := sections[keyword]
	switch {
	case keyword == "$end" && d.section == "":
		return false, d.fail("$end without a section to end")
	case keyword == "$end":
		d.section = ""
		return false, nil
	case d.section != "":
		return false, d.fail("%s stands in %s, which has no $end", quote(keyword), d.section)
	case ok:
		d.section = keyword
		d.off = kind == Off
		d.event.Kind = kind
		return true, nil
	case keyword == "$comment" || keyword == "$date" || keyword == "$version":
		_, err := d.words(keyword)
		return false, err
	case strings.HasPrefix(keyword, "$dumpports") || keyword == "$vcdclose":
		return false, d.fail("%s belongs to the extended form of VCD, with strengths and directions; record plain four-state values", keyword)
	default:
		return false, d.fail("unknown keyword %s", quote(keyword))
	}
}

// letters gives the value of each letter that a digit of a value may be, or 0. U, W, H, L and - are those of nine-valued logic.
var letters = func() (l [256]byte) {
	for _, pair := range []string{"00", "11", "xx", "Xx", "zz", "Zz", "ux", "Ux", "wx", "Wx", "h1", "H1", "l0", "L0", "-x"} {
		l[pair[0]] = pair[1]
	}
	return l
}()

func (d *Reader) scalar() error {
	digit := letters[d.token[0]]
	if digit == 0 {
		return d.fail("%s is no value, time stamp or keyword", quote(string(d.token)))
	}
	code := d.token[1:]
	if len(code) == 0 {
		if err := d.need("a value"); err != nil {
			return err
		}
		code = d.token
	}
	return d.change(code, []byte{digit})
}

func (d *Reader) vector() error {
	digits := bytes.Clone(d.token[1:])
	if len(digits) == 0 {
		return d.fail("a vector without digits")
	}
	for i, b := range digits {
		if digits[i] = letters[b]; digits[i] == 0 {
			return d.fail("%s is no vector; its digits are 0, 1, x and z", quote(string(d.token)))
		}
	}
	if err := d.need("a value"); err != nil {
		return err
	}
	return d.change(d.token, digits)
}

func (d *Reader) realValue() error {
	text := string(d.token[1:])
	value, err := strconv.ParseFloat(text, 64)
	if err != nil && !math.IsInf(value, 0) {
		return d.fail("%s is no real number", quote(text))
	}
	if err := d.need("a value"); err != nil {
		return err
	}
	s, err := d.known(d.token)
	if err != nil {
		return err
	}
	if !s.real {
		return d.fail("a real value for the code %s, whose variable is none", quote(string(d.token)))
	}
	d.event.Real = value
	return nil
}

// known begins a change of the signal with a code.
func (d *Reader) known(code []byte) (*signal, error) {
	i, ok := d.codes[string(code)]
	switch {
	case !ok:
		return nil, d.fail("no variable has the code %s", quote(string(code)))
	case d.off && d.section == "":
		return nil, d.fail("a value comes after $dumpoff and before $dumpon")
	}
	d.event.Kind, d.event.Signal = Change, i
	return &d.signals[i], nil
}

func (d *Reader) change(code, digits []byte) error {
	s, err := d.known(code)
	switch {
	case err != nil:
		return err
	case s.real:
		// Some programs write x for a real that has no value yet.
		if digits[0] == 'x' || digits[0] == 'z' {
			d.event.Real = math.NaN()
			return nil
		}
		return d.fail("the code %s is that of a real variable, whose values begin with r", quote(string(code)))
	case len(digits) > s.width:
		return d.fail("a value of %d bits for the code %s, whose variable has %d", len(digits), quote(string(code)), s.width)
	}
	// A value is extended to the left with 0, or with its x or z.
	fill := byte('0')
	if digits[0] == 'x' || digits[0] == 'z' {
		fill = digits[0]
	}
	s.value = s.value[:0]
	for range s.width - len(digits) {
		s.value = append(s.value, fill)
	}
	s.value = append(s.value, digits...)
	d.event.Bits = s.value
	return nil
}
