// Package known reads and writes lists of known failures: vectors that a unit is known not to pass, each with the reason, so that a run
// need tell only what is new.
//
// A list is plain text, a line for each:
//
//	# What unit 3 still gets wrong.
//	OVR-11/second-midnight-in-sight   # issue 12: ends at midnight
//	GEN/cut-mains-*                   # issue 31: the reserve
//
// A line names a vector, or with * any that match, as --only of the command does; the reason after # is needed. Empty lines and
// lines that begin with # are for the reader.
package known

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
)

// MaxSize is the most bytes that a list may have.
const MaxSize = 1 << 20

// List is one list of known failures. A nil list is empty.
type List struct {
	Name    string // the file's, for messages
	Entries []Entry
}

// Entry is one line of a list.
type Entry struct {
	Line    int    // in the file, from 1
	Pattern string // a vector's id, or with * a pattern for ids
	Reason  string
}

var patternText = regexp.MustCompile(`^[A-Z]{3}(-[0-9*]+)?[*]?/[a-z0-9*-]+$`)

// Parse reads a list. It reports everything that is wrong with it, each with its line.
func Parse(name string, data []byte) (*List, error) {
	if len(data) > MaxSize {
		return nil, fmt.Errorf("%s: it has more than %d bytes; a list of known failures is a line for each", name, MaxSize)
	}
	l := &List{Name: name}
	lines := map[string]int{}
	var errs []error
	for i, line := range strings.Split(string(data), "\n") {
		e, err := parseLine(line)
		switch {
		case err == nil && e == nil:
			continue
		case err == nil && lines[e.Pattern] > 0:
			err = fmt.Errorf("%s stands in line %d already; leave one of them out", e.Pattern, lines[e.Pattern])
		}
		if err != nil {
			if errs = append(errs, fmt.Errorf("%s:%d: %w", name, i+1, err)); len(errs) == maxErrors {
				errs = append(errs, errors.New("there may be more"))
				break
			}
			continue
		}
		e.Line = i + 1
		lines[e.Pattern] = e.Line
		l.Entries = append(l.Entries, *e)
	}
	return l, errors.Join(errs...)
}

// maxErrors is how many mistakes are told at once: a file that is no list at all has one in each line.
const maxErrors = 10

// parseLine returns the entry of a line, nil for one that has none.
func parseLine(line string) (*Entry, error) {
	if !utf8.ValidString(line) {
		return nil, errors.New("it is not UTF-8 text; a list of known failures is plain text")
	}
	words, reason, commented := strings.Cut(line, "#")
	words, reason = strings.TrimSpace(words), strings.TrimSpace(reason)
	switch {
	case words == "":
		return nil, nil
	case !patternText.MatchString(words):
		return nil, fmt.Errorf("%q is no id of a vector, such as OVR-11/second-midnight, with * as wildcard; a reason stands after #", words)
	case !commented || reason == "":
		return nil, fmt.Errorf("%s has no reason; write it after #, as in '%s   # issue 12: ends at midnight'", words, words)
	}
	return &Entry{Pattern: words, Reason: OneLine(reason)}, nil
}

// isPattern reports whether the entry may name more than one vector.
func (e *Entry) isPattern() bool { return strings.Contains(e.Pattern, "*") }

func (e *Entry) names(id string) bool {
	ok, err := path.Match(e.Pattern, id)
	return ok && err == nil
}

// Excuse returns the entry that lists what came of a vector, if it did not pass: the one with just its id before any pattern, and of
// patterns the first. A vector that was never put to the unit, because of trouble with others before, has not failed as known.
func (l *List) Excuse(r *runner.Result) *Entry {
	if l == nil || r.Verdict != runner.Fail && r.Verdict != runner.Inconclusive || r.Trouble != nil && r.Trouble.Untried {
		return nil
	}
	var found *Entry
	for i := range l.Entries {
		switch e := &l.Entries[i]; {
		case e.Pattern == r.Vector.ID:
			return e
		case found == nil && e.isPattern() && e.names(r.Vector.ID):
			found = e
		}
	}
	return found
}

// Complaint is what is wrong with an entry after a run.
type Complaint struct {
	List  string
	Entry *Entry
	Kind  ComplaintKind
}

// ComplaintKind says what is wrong.
type ComplaintKind uint8

// The kinds of complaint.
const (
	Passes        ComplaintKind = iota // what is listed passes now
	NoSuchVector                       // the set has no such vector
	NotApplicable                      // the unit's ICS does not call for it
)

// Place returns the file and line.
func (c *Complaint) Place() string { return fmt.Sprintf("%s:%d", c.List, c.Entry.Line) }

// Text says what is wrong, and what to do.
func (c *Complaint) Text() string {
	what, which := c.Entry.Pattern, "it"
	if c.Entry.isPattern() {
		which = "all that it names"
	}
	switch c.Kind {
	case Passes:
		if c.Entry.isPattern() {
			return fmt.Sprintf("every vector that %s names now passes: remove it", what)
		}
		return fmt.Sprintf("%s now passes: remove it", what)
	case NoSuchVector:
		return fmt.Sprintf("no vector is called %s: remove or mend it; 'hearthbench vectors list' shows them", what)
	default:
		return fmt.Sprintf("the unit's ICS does not call for %s: the entry does nothing for %s", what, which)
	}
}

// Review holds the list against the vectors there are and what came of those that were run. An entry is only judged if everything that it
// names has been run.
func (l *List) Review(set []*suite.Vector, results []*runner.Result) []Complaint {
	if l == nil {
		return nil
	}
	ran := make(map[string]runner.Verdict, len(results))
	for _, r := range results {
		ran[r.Vector.ID] = r.Verdict
	}
	byID := make(map[string]*suite.Vector, len(set))
	for _, v := range set {
		byID[v.ID] = v
	}
	var list []Complaint
	for i := range l.Entries {
		e := &l.Entries[i]
		candidates := set
		if !e.isPattern() {
			candidates = nil
			if v := byID[e.Pattern]; v != nil {
				candidates = []*suite.Vector{v}
			}
		}
		named, untold, applicable, passed := 0, 0, 0, 0
		for _, v := range candidates {
			if !e.names(v.ID) {
				continue
			}
			named++
			switch verdict, ok := ran[v.ID]; {
			case !ok:
				untold++
			case verdict == runner.Pass:
				passed++
				applicable++
			case verdict != runner.NotApplicable:
				applicable++
			}
		}
		switch {
		case named == 0:
			list = append(list, Complaint{l.Name, e, NoSuchVector})
		case untold > 0:
		case applicable == 0:
			list = append(list, Complaint{l.Name, e, NotApplicable})
		case passed == applicable:
			list = append(list, Complaint{l.Name, e, Passes})
		}
	}
	return list
}

// Write writes entries as a list. The header's lines stand at its head as comments.
func Write(w io.Writer, header []string, entries []Entry) error {
	var b bytes.Buffer
	for _, line := range header {
		fmt.Fprintf(&b, "# %s\n", OneLine(line))
	}
	width := 0
	for i := range entries {
		width = max(width, len(entries[i].Pattern))
	}
	for i := range entries {
		fmt.Fprintf(&b, "%-*s   # %s\n", width, entries[i].Pattern, OneLine(entries[i].Reason))
	}
	_, err := w.Write(b.Bytes())
	return err
}

// OneLine returns a text without what could break its line or do more to a terminal than be read.
func OneLine(text string) string {
	return strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case !unicode.IsPrint(r):
			return utf8.RuneError
		}
		return r
	}, text)), " ")
}
