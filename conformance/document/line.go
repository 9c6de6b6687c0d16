package document

import "strings"

// Line is a text of words, such as an input line, being read.
type Line struct {
	*Reader
	Node  *Node
	Words []string
	at    []int // the offset of each word in the text
}

// Line cuts a scalar into its words; how much space is between them does not matter.
func (r *Reader) Line(n *Node) *Line {
	l := &Line{Reader: r, Node: n}
	for i := 0; i < len(n.Text); {
		rest := n.Text[i:]
		trimmed := strings.TrimLeft(rest, " \t\n")
		i += len(rest) - len(trimmed)
		if trimmed == "" {
			break
		}
		end := strings.IndexAny(trimmed, " \t\n")
		if end < 0 {
			end = len(trimmed)
		}
		l.Words, l.at = append(l.Words, trimmed[:end]), append(l.at, i)
		i += end
	}
	return l
}

// Word returns a word, counted from 1, or "" past the last.
func (l *Line) Word(i int) string {
	if i > len(l.Words) {
		return ""
	}
	return l.Words[i-1]
}

// Wrong reports what is wrong with a word, counted from 1; one past the last is what is missing.
func (l *Line) Wrong(word int, format string, args ...any) {
	column := l.Node.WordColumn(len(l.Node.Text))
	if word >= 1 && word <= len(l.at) {
		column = l.Node.WordColumn(l.at[word-1])
	}
	l.Fail(l.Node.Line, column, format, args...)
}
