package mutation

import (
	"fmt"
	"slices"
	"strings"
)

// source is a C file as far as mutation needs to understand it: its tokens, without preprocessor lines and what they leave out,
// which function each stands in, its statements and its conditions.
type source struct {
	text       string
	tokens     []token
	partner    []int    // of a bracket, the other one; -1 of any other token
	function   []string // the one in whose body the token stands, or ""
	statements []span   // that can be left out: expressions, break, continue, and return without a value
	conditions []span   // of if, while and do
}

// span is a run of tokens, the last one included.
type span struct{ first, last int }

// parse reads a C file. Groups under "#if BUG_…" are taken to be left out, and their "#else" to be in; all other groups are in.
func parse(text string) (*source, error) {
	all, err := tokenize(text)
	if err != nil {
		return nil, err
	}
	tokens, err := compiled(all)
	if err != nil {
		return nil, err
	}
	s := &source{text: text, tokens: tokens, partner: make([]int, len(tokens)), function: make([]string, len(tokens))}
	if err := s.pair(); err != nil {
		return nil, err
	}
	for i := 0; i < len(tokens); i++ {
		if !s.is(i, "{") {
			continue
		}
		end := s.partner[i]
		if s.is(i-1, ")") && s.partner[i-1] > 0 {
			name := tokens[s.partner[i-1]-1]
			for j := i; j <= end; j++ {
				s.function[j] = name.text
			}
			if _, err := s.statement(i); err != nil {
				return nil, err
			}
		}
		i = end
	}
	return s, nil
}

// compiled drops the preprocessor lines and the groups that they leave out.
func compiled(all []token) ([]token, error) {
	type group struct{ bug, out bool }
	var groups []group
	var kept []token
	for _, t := range all {
		if t.kind != directive {
			if !slices.ContainsFunc(groups, func(g group) bool { return g.out }) {
				kept = append(kept, t)
			}
			continue
		}
		line := strings.TrimSpace(t.text[1:])
		top := len(groups) - 1
		switch {
		case strings.HasPrefix(line, "if"):
			bug := strings.HasPrefix(line, "if BUG_") || strings.HasPrefix(line, "ifdef BUG_")
			groups = append(groups, group{bug: bug, out: bug})
		case strings.HasPrefix(line, "el") && top >= 0:
			groups[top].out = groups[top].bug && !groups[top].out
		case strings.HasPrefix(line, "endif") && top >= 0:
			groups = groups[:top]
		case strings.HasPrefix(line, "el") || strings.HasPrefix(line, "endif"):
			return nil, fmt.Errorf("%d:%d: #%s without #if", t.line, t.column, line)
		}
	}
	if len(groups) > 0 {
		return nil, fmt.Errorf("1:1: an #if has no #endif")
	}
	return kept, nil
}

func (s *source) is(i int, text string) bool {
	return i >= 0 && i < len(s.tokens) && s.tokens[i].text == text && s.tokens[i].kind != directive
}

func (s *source) pair() error {
	closes := map[string]string{"(": ")", "[": "]", "{": "}"}
	var open []int
	for i, t := range s.tokens {
		s.partner[i] = -1
		switch t.text {
		case "(", "[", "{":
			open = append(open, i)
		case ")", "]", "}":
			top := len(open) - 1
			if top < 0 || closes[s.tokens[open[top]].text] != t.text {
				return fmt.Errorf("%d:%d: %s closes nothing", t.line, t.column, t.text)
			}
			s.partner[i], s.partner[open[top]] = open[top], i
			open = open[:top]
		}
	}
	if len(open) > 0 {
		t := s.tokens[open[len(open)-1]]
		return fmt.Errorf("%d:%d: %s is not closed", t.line, t.column, t.text)
	}
	return nil
}

// statement reads the statement that begins at i and returns where the next one begins.
func (s *source) statement(i int) (int, error) {
	if i >= len(s.tokens) {
		return 0, fmt.Errorf("the file ends where a statement should begin")
	}
	switch t := s.tokens[i]; t.text {
	case "{":
		end := s.partner[i]
		for i++; i < end; {
			var err error
			if i, err = s.statement(i); err != nil {
				return 0, err
			}
		}
		return end + 1, nil
	case "if", "while", "for", "switch":
		if !s.is(i+1, "(") {
			return 0, fmt.Errorf("%d:%d: no ( after %s", t.line, t.column, t.text)
		}
		closing := s.partner[i+1]
		if t.text == "if" || t.text == "while" {
			s.conditions = append(s.conditions, span{i + 2, closing - 1})
		}
		next, err := s.statement(closing + 1)
		if err == nil && t.text == "if" && s.is(next, "else") {
			return s.statement(next + 1)
		}
		return next, err
	case "do":
		next, err := s.statement(i + 1)
		if err != nil {
			return 0, err
		}
		if !s.is(next, "while") || !s.is(next+1, "(") {
			return 0, fmt.Errorf("%d:%d: no while after the body of do", t.line, t.column)
		}
		s.conditions = append(s.conditions, span{next + 2, s.partner[next+1] - 1})
		return s.end(next)
	case "case", "default":
		for ; i < len(s.tokens); i++ {
			if s.is(i, ":") {
				return i + 1, nil
			}
		}
		return 0, fmt.Errorf("%d:%d: no : after %s", t.line, t.column, t.text)
	case ";":
		return i + 1, nil
	default:
		next, err := s.end(i)
		if err != nil {
			return 0, err
		}
		if t.text == "return" && next > i+2 || s.beginsDeclaration(i) {
			return next, nil
		}
		s.statements = append(s.statements, span{i, next - 1})
		return next, nil
	}
}

// end returns what follows the next semicolon outside brackets.
func (s *source) end(i int) (int, error) {
	begin := s.tokens[i]
	for ; i < len(s.tokens); i++ {
		switch s.tokens[i].text {
		case "(", "[", "{":
			i = s.partner[i]
		case ";":
			return i + 1, nil
		case ")", "]", "}":
			return 0, fmt.Errorf("%d:%d: the statement does not end with a semicolon", begin.line, begin.column)
		}
	}
	return 0, fmt.Errorf("%d:%d: the statement does not end with a semicolon", begin.line, begin.column)
}

var typeWords = []string{
	"void", "bool", "_Bool", "char", "short", "int", "long", "signed", "unsigned", "float", "double",
	"struct", "union", "enum", "const", "volatile", "static", "extern", "register", "inline", "restrict", "typedef",
}

// isType reports whether a token can only be part of a type: by the custom that names of types end with _t.
func (s *source) isType(i int) bool {
	if i < 0 || s.tokens[i].kind != word {
		return false
	}
	t := s.tokens[i].text
	return slices.Contains(typeWords, t) || strings.HasSuffix(t, "_t") ||
		i > 0 && (s.is(i-1, "struct") || s.is(i-1, "union") || s.is(i-1, "enum"))
}

func (s *source) beginsDeclaration(i int) bool { return s.isType(i) }

// isCast reports whether the bracket at i closes one round a type.
func (s *source) isCast(i int) bool {
	if !s.is(i, ")") || i-s.partner[i] < 2 {
		return false
	}
	for j := s.partner[i] + 1; j < i; j++ {
		if !s.isType(j) && !s.is(j, "*") {
			return false
		}
	}
	return !s.is(s.partner[i]-1, "sizeof")
}

var statementWords = []string{"return", "case", "else", "do", "goto", "sizeof"}

// endsOperand reports whether an operator after the token at i is one with two operands.
func (s *source) endsOperand(i int) bool {
	if i < 0 || s.isType(i) || s.isCast(i) {
		return false
	}
	t := s.tokens[i]
	switch t.kind {
	case word:
		return !slices.Contains(statementWords, t.text)
	case number, text:
		return true
	default:
		return t.text == ")" || t.text == "]" || t.text == "++" || t.text == "--"
	}
}

// conditionBefore returns the first token of the condition of the ? at i.
func (s *source) conditionBefore(i int) int {
	for i--; i >= 0; i-- {
		switch t := s.tokens[i]; t.text {
		case ")", "]", "}":
			i = s.partner[i]
		case "(", "[", "{", "=", ",", ";", ":", "?", "return",
			"+=", "-=", "*=", "/=", "%=", "&=", "|=", "^=", "<<=", ">>=":
			return i + 1
		}
	}
	return 0
}

// code returns the source of a run of tokens on one line, with its comments left out.
func (s *source) code(r span) string {
	var b strings.Builder
	for i := r.first; i <= r.last; i++ {
		if i > r.first && s.tokens[i-1].offset+len(s.tokens[i-1].text) < s.tokens[i].offset {
			b.WriteByte(' ')
		}
		b.WriteString(s.tokens[i].text)
	}
	return b.String()
}

func (s *source) start(r span) int { return s.tokens[r.first].offset }
func (s *source) stop(r span) int {
	return s.tokens[r.last].offset + len(s.tokens[r.last].text)
}
