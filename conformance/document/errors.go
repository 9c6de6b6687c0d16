package document

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// Error is one thing that is wrong with a file.
type Error struct {
	File         string
	Line, Column int // from 1
	Message      string
}

// Error returns FILE:LINE:COLUMN: MESSAGE.
func (e *Error) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Column, e.Message)
}

// Errors are all that is wrong with a file, in its order. There is at least one.
type Errors []*Error

// mostShown is how many errors a message lists.
const mostShown = 20

// Error returns the errors' messages, one a line.
func (es Errors) Error() string {
	var lines []string
	for i, e := range es {
		if i == mostShown {
			lines = append(lines, fmt.Sprintf("and %d more", len(es)-mostShown))
			break
		}
		lines = append(lines, e.Error())
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the errors one by one.
func (es Errors) Unwrap() []error {
	errs := make([]error, len(es))
	for i, e := range es {
		errs[i] = e
	}
	return errs
}

// Reader reads one file and gathers what is wrong with it.
type Reader struct {
	name   string
	format *Format
	errors Errors
}

// Fail enters something that is wrong, with its place.
func (r *Reader) Fail(line, column int, format string, args ...any) {
	r.errors = append(r.errors, &Error{File: r.name, Line: line, Column: column, Message: fmt.Sprintf(format, args...)})
}

// FailAt enters something that is wrong with a value.
func (r *Reader) FailAt(n *Node, format string, args ...any) {
	r.Fail(n.Line, n.Column, format, args...)
}

// Failed reports whether anything has been found wrong so far.
func (r *Reader) Failed() bool { return len(r.errors) > 0 }

// Err returns what has been found wrong so far, as [Errors], or nil.
func (r *Reader) Err() error {
	if len(r.errors) == 0 {
		return nil
	}
	slices.SortStableFunc(r.errors, func(a, b *Error) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	return r.errors
}

// Quote puts text from a file in single quotes, shortened to what a message can bear.
func Quote(text string) string {
	if len(text) > 80 {
		cut := 77
		for !utf8.RuneStart(text[cut]) {
			cut--
		}
		text = text[:cut] + "..."
	}
	inside := fmt.Sprintf("%+q", text)
	return "'" + strings.ReplaceAll(inside[1:len(inside)-1], `\"`, `"`) + "'"
}
