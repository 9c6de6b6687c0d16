package recording

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"math/big"
	"regexp"
	"slices"
	"strings"
	"time"

	"example.org/hearthbench/emulator/spec"
)

// csvForm is what a CSV recording should look like.
const csvForm = "a CSV capture begins with a header such as 'time (s),D0,D1', and each row has a time and a 0 or 1 for each column"

// readCSV reads a table: a header, then rows of a time and levels. Each level holds until the next row.
func readCSV(r *Recording, in io.Reader, choose func(Columns) ([]Pick, error), bounce time.Duration) error {
	b := bufio.NewReader(in)
	skipped, err := skipNotes(b)
	if err != nil {
		return err
	}
	head, _ := b.Peek(1 << 12)
	head, _, _ = bytes.Cut(head, []byte("\n"))
	c := csv.NewReader(b)
	c.Comment, c.ReuseRecord, c.TrimLeadingSpace = '#', true, true
	for _, separator := range ";\t" {
		if bytes.ContainsRune(head, separator) && !bytes.Contains(head, []byte(",")) {
			c.Comma = separator
		}
	}
	fail := func(field int, format string, args ...any) error {
		line, _ := c.FieldPos(field)
		return &Error{Line: skipped + line, Message: fmt.Sprintf(format, args...)}
	}
	header, err := c.Read()
	if err == io.EOF {
		return &Error{Message: "the file has no rows; " + csvForm}
	}
	if err != nil {
		return csvError(err, skipped)
	}
	if len(header) < 2 {
		return fail(0, "the header has one column; %s", csvForm)
	}
	var cs Columns
	for i, name := range header[1:] {
		name = strings.TrimSpace(name)
		if name == "0" || name == "1" {
			return fail(i+1, "the first row is no header; %s", csvForm)
		}
		cs = append(cs, names{name, name})
	}
	clock, ok := clockUnit(header[0])
	if !ok {
		return fail(0, "the time column's unit in '%s' is not known; it is s, ms, us or ns, and s if none is given", strings.TrimSpace(header[0]))
	}
	picks, err := choose(cs)
	if err != nil {
		return fail(0, "%v", err)
	}
	t := &table{recording: r, clock: clock, fail: fail, levels: make([]spec.Level, len(picks))}
	r.Columns = len(cs)
	for _, p := range picks {
		t.taps = append(t.taps, csvTap{newDebouncer(cs[p.Column].full, p.Inverted, bounce), p.Most, p.Column + 1})
	}
	for {
		fields, err := c.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return csvError(err, skipped)
		}
		line, _ := c.FieldPos(0)
		if err := t.read(fields, skipped+line); err != nil {
			return err
		}
	}
	if t.rows == 0 {
		return &Error{Message: "the file has a header and no rows, so it records nothing"}
	}
	t.flush()
	for _, tap := range t.taps {
		r.Lines = append(r.Lines, tap.finish())
	}
	return nil
}

// skipNotes skips what a program says before the header: lines that are empty or begin with # or ;. It returns how many there are.
func skipNotes(b *bufio.Reader) (lines int, err error) {
	if head, _ := b.Peek(3); string(head) == "\ufeff" {
		_, _ = b.Discard(len(head)) // cannot fail on what has been peeked at
	}
	for {
		head, err := b.Peek(2)
		if len(head) == 0 {
			if err == io.EOF {
				err = nil
			}
			return lines, err
		}
		if !bytes.ContainsAny(head[:1], "#;\n") && string(head) != "\r\n" {
			return lines, nil
		}
		for more := true; more; {
			_, more, err = b.ReadLine()
			if err != nil {
				break
			}
		}
		lines++
	}
}

func csvError(err error, skipped int) error {
	var syntax *csv.ParseError
	if !errors.As(err, &syntax) {
		return err
	}
	message := syntax.Err.Error()
	if errors.Is(syntax.Err, csv.ErrFieldCount) {
		message = "the row has another number of columns than the header"
	}
	return &Error{Line: skipped + syntax.Line, Message: message}
}

var unitWord = regexp.MustCompile(`(?i)(?:^|[^a-z])(s|sec|secs|second|seconds|ms|msec|millisecond|milliseconds|us|µs|microseconds|ns|nanoseconds|min|minute|minutes|h|hour|hours)(?:[^a-z]|$)`)

// clockUnit returns the unit of plain numbers under a header. Without one it is the second.
func clockUnit(header string) (time.Duration, bool) {
	word := unitWord.FindStringSubmatch(header)
	if word == nil {
		return time.Second, true
	}
	switch unit := strings.ToLower(word[1]); {
	case unit == "min" || strings.HasPrefix(unit, "minute") || strings.HasPrefix(unit, "h"):
		return 0, false
	case strings.HasPrefix(unit, "s"):
		return time.Second, true
	case unit == "ms" || unit == "msec" || strings.HasPrefix(unit, "milli"):
		return time.Millisecond, true
	case strings.HasPrefix(unit, "n"):
		return time.Nanosecond, true
	default:
		return time.Microsecond, true
	}
}

type csvTap struct {
	*debouncer
	most  spec.Level
	field int
}

// table is a CSV file being read.
type table struct {
	recording *Recording
	clock     time.Duration
	fail      func(field int, format string, args ...any) error
	taps      []csvTap
	levels    []spec.Level // of the row being read

	rows    int
	dated   bool // times are dates
	zero    *big.Rat
	held    []row         // the first rows, until it is known whether they are samples
	decided bool          // it is known
	sample  time.Duration // between samples; 0 if rows come as something changes
	before  time.Duration // the row before
}

type row struct {
	at     time.Duration
	line   int
	levels []spec.Level // of the taps
}

// probe is how many rows show whether they are samples at even intervals. A gap among them must not hide that.
const probe = 32

func (t *table) read(fields []string, line int) error {
	at, err := t.time(strings.TrimSpace(fields[0]))
	if err != nil {
		return err
	}
	if at < t.recording.Length {
		return t.fail(0, "time goes back to '%s'; local times need an offset such as +01:00 where summer time ends", strings.TrimSpace(fields[0]))
	}
	t.recording.Length = at
	t.rows++
	this := row{at: at, line: line, levels: t.levels}
	if !t.decided {
		this.levels = make([]spec.Level, len(t.taps)) // it is held
	}
	for i, tap := range t.taps {
		level, err := t.cell(tap, strings.TrimSpace(fields[tap.field]))
		if err != nil {
			return err
		}
		this.levels[i] = level
	}
	if t.decided {
		t.feed(&this)
		return nil
	}
	t.held = append(t.held, this)
	if len(t.held) == probe {
		t.flush()
	}
	return nil
}

func (t *table) cell(tap csvTap, text string) (spec.Level, error) {
	switch {
	case text == "" || strings.EqualFold(text, "x") || strings.EqualFold(text, "z") || text == "?":
		return Unknown, nil
	case len(text) == 1 && text[0] >= '0' && text[0] <= '0'+byte(tap.most):
		return spec.Level(text[0] - '0'), nil
	default:
		return 0, t.fail(tap.field, "'%s' in the column %s is no level; write 0 or 1 (the alert: 0 to 3), or nothing where it is not known", text, tap.line.Name)
	}
}

var isoDate = regexp.MustCompile(`^[0-9]{4}-[0-9]{2}-[0-9]{2}[T ]`)

// number is a decimal of a size that times can have; the longest exponents would take for ever.
var number = regexp.MustCompile(`^[-+]?[0-9]{1,20}(\.[0-9]{0,20})?([eE][-+]?[0-9]{1,2})?$`)

// time returns how long after the first row a row is.
func (t *table) time(text string) (time.Duration, error) {
	if dated := isoDate.MatchString(text); t.rows == 0 {
		t.dated = dated
	} else if dated != t.dated {
		return 0, t.fail(0, "'%s' is another kind of time than the first row has", text)
	}
	if t.dated {
		return t.date(text)
	}
	if !number.MatchString(text) {
		return 0, t.fail(0, "'%s' is no time: write a number with a point, or a date and time of ISO 8601", text)
	}
	value, _ := new(big.Rat).SetString(text) // a form that it takes
	value.Mul(value, new(big.Rat).SetInt64(int64(t.clock)))
	if t.rows == 0 {
		t.zero = new(big.Rat).Set(value)
	}
	value.Sub(value, t.zero)
	nanoseconds := new(big.Int).Quo(value.Num(), value.Denom())
	if !nanoseconds.IsInt64() {
		return 0, t.fail(0, "'%s' is more than 292 years from the first row", text)
	}
	return time.Duration(nanoseconds.Int64()), nil
}

func (t *table) date(text string) (time.Duration, error) {
	text = text[:10] + "T" + text[11:]
	for i, layout := range [...]string{"2006-01-02T15:04:05Z07:00", "2006-01-02T15:04:05Z0700", "2006-01-02T15:04:05"} {
		when, err := time.Parse(layout, text)
		if err != nil {
			continue
		}
		zoned := i < 2
		switch {
		case t.rows == 0:
			t.recording.Origin, t.recording.Zoned = when, zoned
		case zoned != t.recording.Zoned:
			return 0, t.fail(0, "'%s': some rows have an offset and some have not", text)
		}
		since := when.Sub(t.recording.Origin)
		if since == math.MaxInt64 || since == math.MinInt64 { // what Sub gives where it has to stop
			return 0, t.fail(0, "'%s' is more than 292 years from the first row", text)
		}
		return since, nil
	}
	return 0, t.fail(0, "'%s' is no time of ISO 8601, such as 2026-01-14T05:00:00.250+00:00", text)
}

// flush decides by the rows held whether the file holds samples at even intervals, and feeds them.
func (t *table) flush() {
	if t.decided {
		return
	}
	t.decided = true
	const fewest = 8
	if len(t.held) >= fewest {
		var waits []time.Duration
		idle := 0
		for i := 1; i < len(t.held); i++ {
			waits = append(waits, t.held[i].at-t.held[i-1].at)
			if slices.Equal(t.held[i].levels, t.held[i-1].levels) {
				idle++
			}
		}
		slices.Sort(waits)
		usual := waits[len(waits)/2]
		even := 0
		for _, w := range waits {
			if w >= usual-usual/4 && w <= usual+usual/4 {
				even++
			}
		}
		if usual > 0 && even*10 >= len(waits)*8 && idle*2 >= len(waits) {
			t.sample = usual
			t.recording.Sampled, t.recording.Resolution = true, usual
		}
	}
	for i := range t.held {
		t.feed(&t.held[i])
	}
	t.held = nil
}

// longestWait is how many intervals may pass between two samples before what lies between counts as missing.
const longestWait = 3

func (t *table) feed(this *row) {
	gap := t.sample > 0 && this.at-t.before > longestWait*t.sample
	after := this.at
	if t.sample > 0 {
		after = t.before
	}
	for i, tap := range t.taps {
		if gap {
			tap.set(t.before+t.sample, t.before, Unknown, 0)
		}
		tap.set(this.at, after, this.levels[i], this.line)
	}
	t.before = this.at
}
