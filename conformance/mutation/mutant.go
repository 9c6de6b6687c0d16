package mutation

import (
	"cmp"
	"fmt"
	"math/bits"
	"slices"
	"strconv"
	"strings"
)

// Operator is a kind of mistake.
type Operator string

// The operators.
const (
	Relational Operator = "relational" // < for <=, and the opposite of each
	Arithmetic Operator = "arithmetic" // + for -, * for /, % for /, and back
	Logical    Operator = "logical"    // && for ||, a negation too many or too few
	Constant   Operator = "constant"   // one more, one less, 0; true for false
	Statement  Operator = "statement"  // left out
	Arguments  Operator = "arguments"  // two of one type change places
	Increment  Operator = "increment"  // ++ for --
	Assignment Operator = "assignment" // += for -=, and the other compound ones
	Bitwise    Operator = "bitwise"    // & for |, << for >>, ~ left out
)

// Operators lists them all.
var Operators = []Operator{Relational, Arithmetic, Logical, Constant, Statement, Arguments, Increment, Assignment, Bitwise}

// Mutant is one small mistake in a C file.
type Mutant struct {
	File         string
	Line, Column int // from 1; columns are bytes
	Function     string
	Operator     Operator
	Old, New     string // without comments, on one line
	Source       string // the line as it was, without the space round it
	begin, end   int
	put          string
}

const deleted = "(deleted)"

// Name tells the mutant from every other of the same source, and is the same in every run.
func (m *Mutant) Name() string {
	return fmt.Sprintf("%s:%d:%d %s %s -> %s", m.File, m.Line, m.Column, m.Operator, m.Old, m.New)
}

// Apply makes the mistake in the source that the mutant was made from.
func (m *Mutant) Apply(source string) string {
	return source[:m.begin] + m.put + source[m.end:]
}

// replacements of operators that have two operands.
var replacements = map[string]struct {
	operator Operator
	by       []string
}{
	"<": {Relational, []string{"<=", ">="}}, "<=": {Relational, []string{"<", ">"}},
	">": {Relational, []string{">=", "<="}}, ">=": {Relational, []string{">", "<"}},
	"==": {Relational, []string{"!="}}, "!=": {Relational, []string{"=="}},
	"+": {Arithmetic, []string{"-"}}, "-": {Arithmetic, []string{"+"}},
	"*": {Arithmetic, []string{"/"}}, "/": {Arithmetic, []string{"*"}}, "%": {Arithmetic, []string{"/"}},
	"&&": {Logical, []string{"||"}}, "||": {Logical, []string{"&&"}},
	"&": {Bitwise, []string{"|"}}, "|": {Bitwise, []string{"&"}}, "^": {Bitwise, []string{"&"}},
	"<<": {Bitwise, []string{">>"}}, ">>": {Bitwise, []string{"<<"}},
	"+=": {Assignment, []string{"-="}}, "-=": {Assignment, []string{"+="}},
	"*=": {Assignment, []string{"/="}}, "/=": {Assignment, []string{"*="}}, "%=": {Assignment, []string{"/="}},
	"&=": {Assignment, []string{"|="}}, "|=": {Assignment, []string{"&="}}, "^=": {Assignment, []string{"&="}},
	"<<=": {Assignment, []string{">>="}}, ">>=": {Assignment, []string{"<<="}},
}

// Mutants lists the mutants of a C file in the order of its text. Headers are further sources that declare functions which the
// file calls. Preprocessor lines, texts and comments are left alone, and so is what is compiled only into the wrong builds.
// An error says where the source cannot be followed.
func Mutants(file, text string, headers ...string) ([]Mutant, error) {
	s, err := parse(text)
	if err != nil {
		return nil, fmt.Errorf("%s:%w", file, err)
	}
	alike := s.alikeParameters()
	for i, header := range headers {
		h, err := parse(header)
		if err != nil {
			return nil, fmt.Errorf("header %d of %s:%w", i+1, file, err)
		}
		for name, pairs := range h.alikeParameters() {
			alike[name] = pairs
		}
	}
	m := maker{source: s, file: file, lines: strings.Split(text, "\n")}
	for i := range s.tokens {
		m.token(i)
		if pairs := alike[s.tokens[i].text]; pairs != nil && s.function[i] != "" && s.is(i+1, "(") {
			m.arguments(i+1, pairs)
		}
	}
	for _, c := range s.conditions {
		m.negate(c)
	}
	for _, r := range s.statements {
		m.add(Statement, r, deleted, ";")
	}
	slices.SortStableFunc(m.made, func(a, b Mutant) int {
		return cmp.Or(cmp.Compare(a.begin, b.begin), cmp.Compare(a.end, b.end))
	})
	return m.made, nil
}

type maker struct {
	*source
	file  string
	lines []string
	made  []Mutant
}

// add makes a mutant that puts something in the place of tokens.
func (m *maker) add(o Operator, r span, name, put string) {
	t := m.tokens[r.first]
	m.made = append(m.made, Mutant{
		File: m.file, Line: t.line, Column: t.column, Function: m.function[r.first], Operator: o,
		Old: m.code(r), New: name, Source: strings.TrimSpace(m.lines[t.line-1]),
		begin: m.start(r), end: m.stop(r), put: put,
	})
}

func (m *maker) replace(o Operator, i int, by string) { m.add(o, span{i, i}, by, by) }

func (m *maker) token(i int) {
	t := m.tokens[i]
	switch {
	case t.kind == number:
		for _, n := range otherNumbers(t.text) {
			m.replace(Constant, i, n)
		}
	case t.kind == word && t.text == "true":
		m.replace(Constant, i, "false")
	case t.kind == word && t.text == "false":
		m.replace(Constant, i, "true")
	case t.kind != punctuation:
	case t.text == "++":
		m.replace(Increment, i, "--")
	case t.text == "--":
		m.replace(Increment, i, "++")
	case t.text == "!":
		m.add(Logical, span{i, i}, deleted, "")
	case t.text == "~":
		m.add(Bitwise, span{i, i}, deleted, "")
	case t.text == "?":
		m.negate(span{m.conditionBefore(i), i - 1})
	case m.endsOperand(i - 1):
		if r, ok := replacements[t.text]; ok {
			for _, by := range r.by {
				m.replace(r.operator, i, by)
			}
		}
	}
}

// negate makes the opposite of a condition, unless the mutant of an operator in it does just that.
func (m *maker) negate(r span) {
	if r.first > r.last {
		return // no C: the compiler will say so
	}
	logical, comparison := false, false
	for i := r.first; i <= r.last; i++ {
		switch t := m.tokens[i].text; t {
		case "(", "[", "{":
			i = m.partner[i]
		case "&&", "||", "?":
			logical = true
		case "<", "<=", ">", ">=", "==", "!=":
			comparison = true
		}
	}
	if logical || !comparison && !m.is(r.first, "!") {
		negated := "!(" + m.code(r) + ")"
		m.add(Logical, r, negated, "!("+m.text[m.start(r):m.stop(r)]+")")
	}
}

// arguments makes swaps of neighbouring arguments of the call whose ( is at i.
func (m *maker) arguments(i int, pairs []int) {
	var list []span
	from := i + 1
	for j := i + 1; j <= m.partner[i]; j++ {
		switch m.tokens[j].text {
		case "(", "[", "{":
			j = m.partner[j]
		case ",", ")":
			list = append(list, span{from, j - 1})
			from = j + 1
		}
	}
	for _, p := range pairs {
		if p+1 >= len(list) {
			continue
		}
		a, b := list[p], list[p+1]
		if a.first > a.last || b.first > b.last || m.code(a) == m.code(b) {
			continue
		}
		both := span{a.first, b.last}
		between := m.text[m.stop(a):m.start(b)]
		m.add(Arguments, both, m.code(b)+", "+m.code(a), m.text[m.start(b):m.stop(b)]+between+m.text[m.start(a):m.stop(a)])
	}
}

// alikeParameters returns, for each function that is declared or defined, the parameters whose successor has the same type.
func (s *source) alikeParameters() map[string][]int {
	alike := map[string][]int{}
	for i := 1; i+1 < len(s.tokens); i++ {
		if s.function[i] != "" || !s.is(i+1, "(") || s.tokens[i].kind != word || !s.isType(i-1) && !s.is(i-1, "*") {
			continue
		}
		closing := s.partner[i+1]
		if !s.is(closing+1, ";") && !s.is(closing+1, "{") {
			continue
		}
		var types []string
		from := i + 2
		for j := from; j <= closing; j++ {
			switch s.tokens[j].text {
			case "(", "[", "{":
				j = s.partner[j]
			case ",", ")":
				if j > from+1 {
					types = append(types, s.parameterType(span{from, j - 1}))
				}
				from = j + 1
			}
		}
		for p := 0; p+1 < len(types); p++ {
			if types[p] == types[p+1] {
				alike[s.tokens[i].text] = append(alike[s.tokens[i].text], p)
			}
		}
		i = closing
	}
	return alike
}

// parameterType is a parameter's declaration without its name, which is the last word that is no type.
func (s *source) parameterType(r span) string {
	name := r.last
	for name > r.first && (s.tokens[name].kind != word || s.isType(name)) {
		name--
	}
	var b strings.Builder
	for i := r.first; i <= r.last; i++ {
		if i != name {
			b.WriteString(s.tokens[i].text + " ")
		}
	}
	return b.String()
}

// otherNumbers returns a decimal integer's neighbours and 0, with its suffix. Numbers of other forms have none.
func otherNumbers(text string) []string {
	digits := strings.TrimRight(text, "uUlL")
	suffix := text[len(digits):]
	n, err := strconv.ParseUint(digits, 10, bits.UintSize-1)
	switch {
	case err != nil || len(digits) > 1 && digits[0] == '0':
		return nil
	case n == 0:
		return []string{"1" + suffix, "(-1)"}
	}
	others := []string{strconv.FormatUint(n+1, 10) + suffix, strconv.FormatUint(n-1, 10) + suffix}
	if n > 1 {
		others = append(others, "0"+suffix)
	}
	return others
}
