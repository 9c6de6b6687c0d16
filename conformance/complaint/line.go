package complaint

import (
	"errors"
	"regexp"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

var dateShape = regexp.MustCompile(`^` + datePart + `$`)

// line is a line of words being read.
type line struct {
	*reader
	*document.Line
}

func newLine(r *reader, n *document.Node) *line { return &line{reader: r, Line: r.Reader.Line(n)} }

// end reports what stands behind the last word that a line should have, if what is before it was good.
func (l *line) end(ok bool, last int) bool {
	if ok && len(l.Words) > last {
		l.Wrong(last+1, "the line should have ended before %s", document.Quote(l.Word(last+1)))
		return false
	}
	return ok
}

// unknown reports a first word that begins no line.
func (l *line) unknown(noun string, words []string) {
	if near := document.Nearest(l.Word(1), slices.Clone(words)); near != "" {
		l.Wrong(1, "unknown %s %s; is %s meant?", noun, document.Quote(l.Word(1)), near)
		return
	}
	l.Wrong(1, "unknown %s %s; it begins with %s", noun, document.Quote(l.Word(1)), orList(words))
}

// parseWord parses a word with a parser of the protocol's words.
func parseWord[T any](l *line, word int, parse func(string) (T, error)) (T, bool) {
	v, err := parse(l.Word(word))
	if err == nil {
		return v, true
	}
	// The parsers say "'xx' is wrong: channel is hw or ch".
	_, want, _ := strings.Cut(err.Error(), "is wrong: ")
	if l.Word(word) == "" {
		l.Wrong(word, "the line ends too soon: %s", want)
	} else {
		l.Wrong(word, "%s is wrong: %s", document.Quote(l.Word(word)), want)
	}
	return v, false
}

func (l *line) channel(word int) (spec.Channel, bool) { return parseWord(l, word, wire.ParseChannel) }

// input parses the line as an input of the protocol.
func (l *line) input(text string) (spec.Input, bool) {
	in, err := wire.ParseInput(text)
	var parse *wire.ParseError
	switch {
	case err == nil:
		return in, true
	case errors.As(err, &parse) && l.Word(1) == "boost" && parse.Word == 3:
		// The protocol's range is wider than what any unit takes.
		l.Wrong(3, "%swrite minutes, such as 60, or cancel", map[bool]string{true: "the line ends too soon: "}[parse.Missing])
	case errors.As(err, &parse) && parse.Missing:
		l.Wrong(len(l.Words)+1, "the line ends too soon: %s", parse.Want)
	case errors.As(err, &parse) && parse.Word >= 1 && parse.Word <= len(l.Words):
		l.Wrong(parse.Word, "%s is wrong: %s", document.Quote(l.Word(parse.Word)), parse.Want)
	default:
		l.Wrong(1, "%v", err)
	}
	return in, false
}
