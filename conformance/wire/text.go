package wire

import (
	"fmt"
	"strconv"
	"strings"

	"example.org/hearthbench/emulator/spec"
)

// ParseError says which word of a line is wrong and what it should be.
type ParseError struct {
	Line string
	Word int    // from 1; 0 if it is the line as a whole that is wrong
	Want string // what the word, or the line, should be: "mode is off, table, span or always"
	// Missing is set if the line ends before the word.
	Missing bool
}

// Error returns the whole message, such as "word 3 of 'mode ch tabel': mode is off, table, span or always".
func (e *ParseError) Error() string {
	switch {
	case e.Word == 0:
		return fmt.Sprintf("line %s: %s", quote(e.Line), e.Want)
	case e.Missing:
		return fmt.Sprintf("word %d of %s is missing: %s", e.Word, quote(e.Line), e.Want)
	default:
		return fmt.Sprintf("word %d of %s: %s", e.Word, quote(e.Line), e.Want)
	}
}

// brief returns the message without the line, for the words of an "error" reply to that very line.
func (e *ParseError) brief() string {
	switch {
	case e.Word == 0:
		return e.Want
	case e.Missing:
		return fmt.Sprintf("word %d is missing: %s", e.Word, e.Want)
	default:
		return fmt.Sprintf("word %d: %s", e.Word, e.Want)
	}
}

// cursor walks over the words of a line. It keeps what is first wrong and then yields empty words, so that a parser can read
// on and look once. Its error holds copies: that the line does not outlive the cursor lets callers keep lines on the stack.
type cursor struct {
	line string
	pos  int // where the next word begins
	n    int // number of the word last read, from 1

	failed  bool // word n is wrong
	want    string
	missing bool
}

// done reports whether the line has no further word.
func (c *cursor) done() bool { return c.pos > len(c.line) }

// next returns the next word, and "" once something is wrong.
func (c *cursor) next() string {
	if c.failed {
		return ""
	}
	c.n++
	if c.done() {
		return ""
	}
	begin := c.pos
	end := begin
	for end < len(c.line) && c.line[end] != ' ' {
		end++
	}
	c.pos = end + 1
	return c.line[begin:end]
}

// fail records that the word last read is wrong.
func (c *cursor) fail(want string) {
	if c.failed {
		return
	}
	c.failed, c.want = true, want
	c.missing = c.done() && c.n > 1+strings.Count(c.line, " ")
	if !c.missing && c.emptyWord() {
		c.want = "words are separated by exactly one space"
	}
}

// emptyWord reports whether the word last read is empty, that is whether a space stands where it should begin.
func (c *cursor) emptyWord() bool {
	return len(c.line) > 0 && (c.pos == 1 || c.pos >= 2 && c.line[c.pos-2] == ' ')
}

// end checks that the line ends, and reports whether nothing has been wrong with it.
func (c *cursor) end() bool {
	if !c.failed && !c.done() {
		c.next()
		c.fail("the line should have ended before it")
	}
	return !c.failed
}

// error returns what is wrong with the line.
func (c *cursor) error() *ParseError {
	return &ParseError{Line: strings.Clone(c.line), Word: c.n, Want: strings.Clone(c.want), Missing: c.missing}
}

func wordOf[T ~uint8](c *cursor, v *vocabulary[T]) T {
	value, ok := v.find(c.next())
	if !ok {
		c.fail(v.want())
	}
	return value
}

// number reads a number up to a limit.
func (c *cursor) number(what string, limit uint64) uint64 {
	value, ok := number(c.next(), limit)
	if !ok {
		c.fail(numberWant(what, limit))
	}
	return value
}

func numberWant(what string, limit uint64) string {
	return what + " is a number from 0 to " + strconv.FormatUint(limit, 10) + " without sign or leading zeros"
}

// number parses decimal digits without sign or leading zeros, up to a limit.
func number[B string | []byte](word B, limit uint64) (uint64, bool) {
	if len(word) == 0 || len(word) > 20 || word[0] == '0' && len(word) > 1 {
		return 0, false
	}
	var value uint64
	for i := 0; i < len(word); i++ {
		digit := uint64(word[i] - '0')
		if digit > 9 || value > (limit-min(digit, limit))/10 {
			return 0, false
		}
		value = value*10 + digit
	}
	return value, value <= limit
}

// digits parses exactly n decimal digits.
func digits(text string, n int) (uint16, bool) {
	if len(text) != n {
		return 0, false
	}
	var value uint16
	for i := range n {
		digit := text[i] - '0'
		if digit > 9 {
			return 0, false
		}
		value = value*10 + uint16(digit)
	}
	return value, true
}

// AppendDate appends a date as YYYY-MM-DD. The year must have at most four digits, month and day at most two.
func AppendDate(dst []byte, d spec.Date) []byte {
	dst = appendDigits(dst, d.Year, 4)
	dst = append(dst, '-')
	dst = appendDigits(dst, uint16(d.Month), 2)
	dst = append(dst, '-')
	return appendDigits(dst, uint16(d.Day), 2)
}

// ParseDate parses a date of the form YYYY-MM-DD. The date need not be in the calendar.
func ParseDate(text string) (spec.Date, error) {
	date, ok := date(text)
	if !ok {
		return spec.Date{}, fmt.Errorf("%s is wrong: %s", quote(text), dateWant)
	}
	return date, nil
}

const dateWant = "a date is YYYY-MM-DD"

func date(text string) (spec.Date, bool) {
	if len(text) != len("YYYY-MM-DD") || text[4] != '-' || text[7] != '-' {
		return spec.Date{}, false
	}
	year, ok1 := digits(text[:4], 4)
	month, ok2 := digits(text[5:7], 2)
	day, ok3 := digits(text[8:], 2)
	if !ok1 || !ok2 || !ok3 {
		return spec.Date{}, false
	}
	return spec.Date{Year: year, Month: uint8(month), Day: uint8(day)}, true
}

// AppendTime appends minutes from midnight, 0 to 1440, as hh:mm.
func AppendTime(dst []byte, minute uint16) []byte {
	dst = appendDigits(dst, minute/60, 2)
	dst = append(dst, ':')
	return appendDigits(dst, minute%60, 2)
}

// ParseTime parses a time of the form hh:mm from 00:00 to 24:00 and returns its minutes from midnight, 0 to 1440.
func ParseTime(text string) (uint16, error) {
	minute, ok := clockTime(text)
	if !ok {
		return 0, fmt.Errorf("%s is wrong: %s", quote(text), timeWant)
	}
	return minute, nil
}

const timeWant = "a time is hh:mm from 00:00 to 24:00"

func clockTime(text string) (uint16, bool) {
	if len(text) != len("hh:mm") || text[2] != ':' {
		return 0, false
	}
	hour, ok1 := digits(text[:2], 2)
	minute, ok2 := digits(text[3:], 2)
	if !ok1 || !ok2 || minute > 59 {
		return 0, false
	}
	minute += 60 * hour
	return minute, minute <= spec.MinutesPerDay
}

func (c *cursor) time() uint16 {
	minute, ok := clockTime(c.next())
	if !ok {
		c.fail(timeWant)
	}
	return minute
}

// appendDigits appends a number padded with zeros to a width.
func appendDigits(dst []byte, value uint16, width int) []byte {
	for limit := uint16(1000); limit > 1; limit /= 10 {
		if width >= 4 && limit == 1000 || width >= 3 && limit == 100 || width >= 2 && limit == 10 || value >= limit {
			dst = append(dst, byte('0'+value/limit%10))
		}
	}
	return append(dst, byte('0'+value%10))
}
