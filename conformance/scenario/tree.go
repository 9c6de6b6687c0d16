package scenario

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// node is a value of a file with its place: a mapping, a list or a scalar.
type node struct {
	line, column int
	form         form
	text         string // of a scalar, as it is written
	inLine       bool   // the text stands in the file as it is, on one line
	entries      []entry
	items        []*node
}

type form uint8

const (
	aText form = iota
	aNumber
	aBool
	aNull
	aMapping
	aList
)

// entry is a key of a mapping with its value.
type entry struct {
	key          string
	line, column int
	value        *node
}

// get returns the value of a key, or nil.
func (n *node) get(key string) *node {
	if e := n.entry(key); e != nil {
		return e.value
	}
	return nil
}

func (n *node) entry(key string) *entry {
	for i := range n.entries {
		if n.entries[i].key == key {
			return &n.entries[i]
		}
	}
	return nil
}

// wordColumn returns the column of the part of the text that begins at an offset, as nearly as the file tells.
func (n *node) wordColumn(offset int) int {
	if !n.inLine {
		return n.column
	}
	return n.column + utf8.RuneCountInString(n.text[:offset])
}

// value returns the node as JSON values, which is what a schema is for.
func (n *node) value() any {
	switch n.form {
	case aMapping:
		m := make(map[string]any, len(n.entries))
		for _, e := range n.entries {
			m[e.key] = e.value.value()
		}
		return m
	case aList:
		l := make([]any, len(n.items))
		for i, item := range n.items {
			l[i] = item.value()
		}
		return l
	case aNumber:
		return json.Number(n.text)
	case aBool:
		return n.text == "true"
	case aNull:
		return nil
	default:
		return n.text
	}
}

// MaxSize is the most bytes that a scenario file may have.
const MaxSize = 1 << 20

// maxDepth is how deep a file may nest. A scenario nests four deep.
const maxDepth = 16

// mostBrackets is how many brackets may be open at once, those in comments and quotes included. The parser's time grows with the square
// of the depth, so what is far too deep is told here.
const mostBrackets = 100

var deepList = regexp.MustCompile(`(?m)^[ \t]*(?:[-?][ \t]+){17,}`)

// readTree reads a file of one YAML document made of mappings with plain keys, lists and scalars. Of scalars without quotes, decimal
// integers are numbers, true and false are booleans, and everything else is text: 5/2, 0123 and 06:30 among it.
func (r *reader) readTree(data []byte) *node {
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
			r.fail(line, column, "a second document begins here; a file holds one scenario")
			return nil
		default:
			body = doc.Body
		}
	}
	if body == nil {
		r.fail(1, 1, "the file is empty; a scenario is %s", schemaText().Description)
		return nil
	}
	return r.tree(body, 0)
}

// checkText reports what no YAML file can hold, or no scenario needs.
func (r *reader) checkText(data []byte) bool {
	if len(data) > MaxSize {
		r.fail(1, 1, "the file is too long; a scenario has at most %d bytes", MaxSize)
		return false
	}
	if at := deepList.FindIndex(data); at != nil {
		r.fail(1+bytes.Count(data[:at[0]], []byte("\n")), 1, "this nests too deep; a scenario is %s", schemaText().Description)
		return false
	}
	line, column, depth := 1, 1, 0
	for len(data) > 0 {
		c, size := utf8.DecodeRune(data)
		switch {
		case c == utf8.RuneError && size == 1:
			r.fail(line, column, "byte 0x%02x is not UTF-8; save the file as UTF-8", data[0])
			return false
		case c < ' ' && c != '\n' && c != '\r' && c != '\t' || c == 0x7f || c == '\ufeff':
			r.fail(line, column, "the character U+%04X does not belong into a text file; remove it", c)
			return false
		case c == '[' || c == '{':
			if depth++; depth > mostBrackets {
				r.fail(line, column, "too many brackets are open; close them")
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

func (r *reader) notYAML(err error) {
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
	r.fail(line, column, "this is not YAML: %s%s", message, hint)
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
func (r *reader) tree(from ast.Node, depth int) *node {
	t := from.GetToken()
	n := &node{}
	n.line, n.column = beginning(from)
	if depth > maxDepth {
		r.fail(n.line, n.column, "this nests too deep; a scenario is %s", schemaText().Description)
		return nil
	}
	switch from := from.(type) {
	case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode:
		r.fail(n.line, n.column, "anchors, aliases and tags (& * !) have no place here; write the value out, in quotes if it begins so")
		return nil
	case *ast.MappingNode:
		n.form = aMapping
		ok := true
		for _, v := range from.Values {
			ok = r.entry(n, v, depth) && ok
		}
		if !ok {
			return nil
		}
	case *ast.SequenceNode:
		n.form = aList
		ok := true
		for _, v := range from.Values {
			item := r.tree(v, depth+1)
			ok = item != nil && ok
			n.items = append(n.items, item)
		}
		if !ok {
			return nil
		}
	case *ast.LiteralNode:
		n.text = strings.TrimSpace(from.Value.Value)
	case *ast.StringNode:
		n.text = from.Value
		quoted := t.Type == token.SingleQuoteType || t.Type == token.DoubleQuoteType
		n.inLine = strings.Contains(t.Origin, n.text)
		if quoted && n.inLine {
			n.column++ // the words begin after the quote
		}
		if !quoted {
			n.scalar()
		}
	case ast.ScalarNode:
		n.text = strings.TrimSpace(t.Value)
		n.inLine = true
		n.scalar()
	default:
		r.fail(n.line, n.column, "a scenario has no such thing; it is %s", schemaText().Description)
		return nil
	}
	if strings.ContainsFunc(n.text, func(c rune) bool { return unicode.IsControl(c) && c != '\n' && c != '\t' }) {
		r.fail(n.line, n.column, "the text has a control character in it; leave it out")
		return nil
	}
	return n
}

// scalar finds out what a scalar without quotes is.
func (n *node) scalar() {
	switch {
	case decimal.MatchString(n.text):
		n.form = aNumber
	case n.text == "true" || n.text == "false":
		n.form = aBool
	case n.text == "" || n.text == "~" || n.text == "null":
		n.form = aNull
	}
}

func (r *reader) entry(n *node, from *ast.MappingValueNode, depth int) bool {
	e := entry{}
	key, ok := from.Key.(ast.ScalarNode)
	if !ok {
		e.line, e.column = position(from.Key.GetToken())
		r.fail(e.line, e.column, "this is no key; a key is one plain word")
		return false
	}
	t := key.GetToken()
	e.line, e.column = position(t)
	e.key = t.Value
	if before := n.entry(e.key); before != nil {
		r.fail(e.line, e.column, "key %s stands on line %d already; keep one of the two", quote(e.key), before.line)
		return false
	}
	if e.value = r.tree(from.Value, depth+1); e.value == nil {
		return false
	}
	if from.Value.GetToken().Type == token.ImplicitNullType {
		e.value.line, e.value.column = e.line, e.column
	}
	n.entries = append(n.entries, e)
	return true
}

// quote puts text from the file in single quotes, shortened to what a message can bear.
func quote(text string) string {
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
