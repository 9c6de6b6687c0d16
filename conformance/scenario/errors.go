package scenario

import (
	"fmt"
	"slices"
	"strings"
)

// Error is one thing that is wrong with a scenario file.
type Error struct {
	File         string
	Line, Column int // from 1
	Message      string
}

// Error returns FILE:LINE:COLUMN: MESSAGE.
func (e *Error) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Column, e.Message)
}

// Errors are all that is wrong with a scenario file, in its order. There is at least one.
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

// reader reads one file and gathers what is wrong with it.
type reader struct {
	name   string
	errors Errors
}

func (r *reader) fail(line, column int, format string, args ...any) {
	r.errors = append(r.errors, &Error{File: r.name, Line: line, Column: column, Message: fmt.Sprintf(format, args...)})
}

// err returns what has been found wrong so far, or nil.
func (r *reader) err() error {
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
