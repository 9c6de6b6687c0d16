package mutation

import (
	"fmt"
	"strings"
)

// tokenKind is the kind of a C token.
type tokenKind uint8

const (
	word        tokenKind = iota // an identifier or a keyword
	number                       // any preprocessing number
	text                         // a string or a character constant
	punctuation                  // an operator or a separator
	directive                    // a preprocessor line with its continuations
)

// token is a piece of C source. Comments and white space are none.
type token struct {
	kind         tokenKind
	text         string
	offset       int
	line, column int // from 1; columns are bytes
}

// punctuators of C99, longest first. Digraphs are not known.
var punctuators = []string{
	"<<=", ">>=", "...",
	"->", "++", "--", "<<", ">>", "<=", ">=", "==", "!=", "&&", "||", "*=", "/=", "%=", "+=", "-=", "&=", "^=", "|=", "##",
	"[", "]", "(", ")", "{", "}", ".", "&", "*", "+", "-", "~", "!", "/", "%", "<", ">", "^", "|", "?", ":", ";", "=", ",", "#",
}

// tokenize splits C99 source into tokens. An error says where a comment or a quoted text does not end, or a byte is no C.
func tokenize(source string) ([]token, error) {
	var tokens []token
	line, lineStart := 1, 0
	fresh := true // nothing but white space and comments since the line began
	for i := 0; i < len(source); {
		n, kind, err := next(source[i:], fresh)
		if err != nil {
			return nil, fmt.Errorf("%d:%d: %w", line, i-lineStart+1, err)
		}
		piece := source[i : i+n]
		if kind != blank {
			tokens = append(tokens, token{kind, piece, i, line, i - lineStart + 1})
			fresh = false
		}
		if breaks := strings.Count(piece, "\n"); breaks > 0 {
			line += breaks
			lineStart = i + strings.LastIndexByte(piece, '\n') + 1
			// A comment over several lines does not stand at the beginning of the last one.
			fresh = kind == blank && (fresh || piece[len(piece)-1] == '\n')
		}
		i += n
	}
	return tokens, nil
}

// blank is what next calls white space and comments.
const blank = directive + 1

// next returns the length and the kind of what the source begins with.
func next(source string, fresh bool) (int, tokenKind, error) {
	c := source[0]
	switch {
	case c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\f' || c == '\v':
		return 1, blank, nil
	case strings.HasPrefix(source, "\\\n"):
		return 2, blank, nil
	case strings.HasPrefix(source, "/*"):
		end := strings.Index(source[2:], "*/")
		if end < 0 {
			return 0, 0, fmt.Errorf("a comment does not end")
		}
		return end + 4, blank, nil
	case strings.HasPrefix(source, "//"):
		return logicalLine(source), blank, nil
	case c == '#' && fresh:
		return logicalLine(source), directive, nil
	case c == '"' || c == '\'':
		return quoted(source)
	case isLetter(c):
		n := 1
		for n < len(source) && (isLetter(source[n]) || isDigit(source[n])) {
			n++
		}
		return n, word, nil
	case isDigit(c) || c == '.' && len(source) > 1 && isDigit(source[1]):
		n := 1
		for n < len(source) && (isLetter(source[n]) || isDigit(source[n]) || source[n] == '.' || exponentSign(source, n)) {
			n++
		}
		return n, number, nil
	}
	for _, p := range punctuators {
		if strings.HasPrefix(source, p) {
			return len(p), punctuation, nil
		}
	}
	return 0, 0, fmt.Errorf("%q is not part of any C token", c)
}

// logicalLine returns the length of a line, without its end, that goes on after a backslash. A comment in it may span lines.
func logicalLine(source string) int {
	comment := strings.HasPrefix(source, "//")
	for i := 0; i < len(source); i++ {
		switch {
		case source[i] == '\n' && (i == 0 || source[i-1] != '\\'):
			return i
		case !comment && strings.HasPrefix(source[i:], "/*"):
			if end := strings.Index(source[i+2:], "*/"); end >= 0 {
				i += end + 3
			}
		}
	}
	return len(source)
}

func quoted(source string) (int, tokenKind, error) {
	for i := 1; i < len(source) && source[i] != '\n'; i++ {
		switch source[i] {
		case '\\':
			i++
		case source[0]:
			return i + 1, text, nil
		}
	}
	return 0, 0, fmt.Errorf("a text that begins with %c does not end", source[0])
}

func exponentSign(source string, i int) bool {
	hex := len(source) > 1 && (source[1] == 'x' || source[1] == 'X')
	return (source[i] == '+' || source[i] == '-') &&
		(!hex && (source[i-1] == 'e' || source[i-1] == 'E') || hex && (source[i-1] == 'p' || source[i-1] == 'P'))
}

func isLetter(c byte) bool { return c == '_' || 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' }
func isDigit(c byte) bool  { return '0' <= c && c <= '9' }
