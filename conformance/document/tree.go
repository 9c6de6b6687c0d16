package document

import (
	"bytes"
	"encoding/json"
	"errors"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Node is a value of a file with its place: a mapping, a list or a scalar.
type Node struct {
	Line, Column int
	Form         Form
	Text         string // of a scalar, as it is written
	Entries      []Entry
	Items        []*Node

	inLine bool // the text stands in the file as it is, on one line
}

// Form is what kind of value a node is.
type Form uint8

const (
	Text Form = iota
	Number
	Bool
	Null
	Mapping
	List
)

// Entry is a key of a mapping with its value.
type Entry struct {
	Key          string
	Line, Column int
	Value        *Node
}

// Get returns the value of a key, or nil.
func (n *Node) Get(key string) *Node {
	if e := n.Entry(key); e != nil {
		return e.Value
	}
	return nil
}

// Entry returns the key with its value, or nil.
func (n *Node) Entry(key string) *Entry {
	for i := range n.Entries {
		if n.Entries[i].Key == key {
			return &n.Entries[i]
		}
	}
	return nil
}

// WordColumn returns the column of the part of the text that begins at an offset, as nearly as the file tells.
func (n *Node) WordColumn(offset int) int {
	if !n.inLine {
		return n.Column
	}
	return n.Column + utf8.RuneCountInString(n.Text[:offset])
}

// Value returns the node as JSON values, which is what a schema is for.
func (n *Node) Value() any {
	switch n.Form {
	case Mapping:
		m := make(map[string]any, len(n.Entries))
		for _, e := range n.Entries {
			m[e.Key] = e.Value.Value()
		}
		return m
	case List:
		l := make([]any, len(n.Items))
		for i, item := range n.Items {
			l[i] = item.Value()
		}
		return l
	case Number:
		return json.Number(n.Text)
	case Bool:
		return n.Text == "true"
	case Null:
		return nil
	default:
		return n.Text
	}
}

// MaxSize is the most bytes that a file may have.
const MaxSize = 1 << 20

// maxDepth is how deep a file may nest. A scenario nests four deep, a complaint six.
const maxDepth = 16

// mostBrackets is how many brackets may be open at once, those in comments and quotes included. The parser's time grows with the square
// of the depth, so what is far too deep is told here.
const mostBrackets = 100

var deepList = regexp.MustCompile(`(?m)^[ \t]*(?:[-?][ \t]+){17,}`)

// readTree reads a file of one YAML document made of mappings with plain keys, lists and scalars. Of scalars without quotes, decimal
// integers are numbers, true and false are booleans, and everything else is text: 5/2, 0123 and 06:30 among it.
func (r *Reader) readTree(data []byte) *Node {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if !r.checkText(data) {
		return nil
	}
	file, err := parser.ParseBytes(data, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		r.notYAML(err)
		return nil
	}
	var body ast.Node
	for _, doc := range file.Docs {
		switch {
		case doc.Body == nil || doc.Body.Type() == ast.DirectiveType:
		case body != nil:
			line, column := beginning(doc.Body)
			r.Fail(line, column, "a second document begins here; a file holds one %s", r.format.Noun)
			return nil
		default:
			body = doc.Body
		}
	}
	if body == nil {
		r.Fail(1, 1, "the file is empty; a %s is %s", r.format.Noun, r.format.text().Description)
		return nil
	}
	return r.tree(body, 0)
}

// checkText reports what no YAML file can hold, or no such file needs.
func (r *Reader) checkText(data []byte) bool {
	if len(data) > MaxSize {
		r.Fail(1, 1, "the file is too long; a %s has at most %d bytes", r.format.Noun, MaxSize)
		return false
	}
	if at := deepList.FindIndex(data); at != nil {
		r.Fail(1+bytes.Count(data[:at[0]], []byte("\n")), 1, "this nests too deep; a %s is %s", r.format.Noun, r.format.text().Description)
		return false
	}
	line, column, depth := 1, 1, 0
	for len(data) > 0 {
		c, size := utf8.DecodeRune(data)
		switch {
		case c == utf8.RuneError && size == 1:
			r.Fail(line, column, "byte 0x%02x is not UTF-8; save the file as UTF-8", data[0])
			return false
		case c < ' ' && c != '\n' && c != '\r' && c != '\t' || c == 0x7f || c == '\ufeff':
			r.Fail(line, column, "the character U+%04X does not belong into a text file; remove it", c)
			return false
		case c == '[' || c == '{':
			if depth++; depth > mostBrackets {
				r.Fail(line, column, "too many brackets are open; close them")
				return false
			}
		case c == ']' || c == '}':
			depth = max(0, depth-1)
		}
		data = data[size:]
		column++
		if c == '\n' {
			line, column = line+1, 1
		}
	}
	return true
}

func (r *Reader) notYAML(err error) {
	var syntax *yaml.SyntaxError
	line, column, message := 1, 1, "it cannot be read"
	if errors.As(err, &syntax) {
		line, column = position(syntax.Token)
		message = syntax.Message
	}
	hint := "; check indentation, brackets and quotes"
	if strings.Contains(message, "',' or '}'") || strings.Contains(message, "',' or ']'") {
		hint = "; put a line that has braces or commas of its own in quotes"
	}
	r.Fail(line, column, "this is not YAML: %s%s", message, hint)
}

func position(t *token.Token) (line, column int) {
	if t == nil || t.Position == nil {
		return 1, 1
	}
	return max(1, t.Position.Line), max(1, t.Position.Column)
}

// beginning returns where a part of the document begins. The token of a block mapping is its first colon.
func beginning(n ast.Node) (line, column int) {
	if m, ok := n.(*ast.MappingNode); ok && !m.IsFlowStyle && len(m.Values) > 0 {
		return position(m.Values[0].Key.GetToken())
	}
	return position(n.GetToken())
}

var decimal = regexp.MustCompile(`^(0|-?[1-9][0-9]{0,17})$`)

// tree turns a part of the document into a node. It returns nil after reporting what it cannot take.
func (r *Reader) tree(from ast.Node, depth int) *Node {
	t := from.GetToken()
	n := &Node{}
	n.Line, n.Column = beginning(from)
	if depth > maxDepth {
		r.Fail(n.Line, n.Column, "this nests too deep; a %s is %s", r.format.Noun, r.format.text().Description)
		return nil
	}
	switch from := from.(type) {
	case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode:
		r.Fail(n.Line, n.Column, "anchors, aliases and tags (& * !) have no place here; write the value out, in quotes if it begins so")
		return nil
	case *ast.MappingNode:
		n.Form = Mapping
		ok := true
		for _, v := range from.Values {
			ok = r.entry(n, v, depth) && ok
		}
		if !ok {
			return nil
		}
	case *ast.SequenceNode:
		n.Form = List
		ok := true
		for _, v := range from.Values {
			item := r.tree(v, depth+1)
			ok = item != nil && ok
			n.Items = append(n.Items, item)
		}
		if !ok {
			return nil
		}
	case *ast.LiteralNode:
		n.Text = strings.TrimSpace(from.Value.Value)
	case *ast.StringNode:
		n.Text = from.Value
		quoted := t.Type == token.SingleQuoteType || t.Type == token.DoubleQuoteType
		n.inLine = strings.Contains(t.Origin, n.Text)
		if quoted && n.inLine {
			n.Column++ // the words begin after the quote
		}
		if !quoted {
			n.scalar()
		}
	case ast.ScalarNode:
		n.Text = strings.TrimSpace(t.Value)
		n.inLine = true
		n.scalar()
	default:
		r.Fail(n.Line, n.Column, "a %s has no such thing; it is %s", r.format.Noun, r.format.text().Description)
		return nil
	}
	if strings.ContainsFunc(n.Text, func(c rune) bool { return unicode.IsControl(c) && c != '\n' && c != '\t' }) {
		r.Fail(n.Line, n.Column, "the text has a control character in it; leave it out")
		return nil
	}
	return n
}

// scalar finds out what a scalar without quotes is.
func (n *Node) scalar() {
	switch {
	case decimal.MatchString(n.Text):
		n.Form = Number
	case n.Text == "true" || n.Text == "false":
		n.Form = Bool
	case n.Text == "" || n.Text == "~" || n.Text == "null":
		n.Form = Null
	}
}

func (r *Reader) entry(n *Node, from *ast.MappingValueNode, depth int) bool {
	e := Entry{}
	key, ok := from.Key.(ast.ScalarNode)
	if !ok {
		e.Line, e.Column = position(from.Key.GetToken())
		r.Fail(e.Line, e.Column, "this is no key; a key is one plain word")
		return false
	}
	t := key.GetToken()
	e.Line, e.Column = position(t)
	e.Key = t.Value
	if before := n.Entry(e.Key); before != nil {
		r.Fail(e.Line, e.Column, "key %s stands on line %d already; keep one of the two", Quote(e.Key), before.Line)
		return false
	}
	if e.Value = r.tree(from.Value, depth+1); e.Value == nil {
		return false
	}
	if from.Value.GetToken().Type == token.ImplicitNullType {
		e.Value.Line, e.Value.Column = e.Line, e.Column
	}
	n.Entries = append(n.Entries, e)
	return true
}
