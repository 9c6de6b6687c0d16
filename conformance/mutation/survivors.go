package mutation

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Kind says what a survivor that is explained shows.
type Kind uint8

// The kinds, each with a part of its own in the page of survivors.
const (
	Harmless      Kind = iota // no sequence of inputs tells it from the unit
	Outside                   // it differs, but not in what a vector can show
	VectorMissing             // a vector that is still to be written would catch it
)

var kindHeadings = map[string]Kind{
	"Equivalent":                     Harmless,
	"Outside what a vector can show": Outside,
	"A vector is missing":            VectorMissing,
}

// Explanation is an entry of the page of survivors: one mutant, and the part that says why it survives.
type Explanation struct {
	Kind   Kind
	Title  string // of the text that explains it
	Place  int    // line in the page
	Line   int    // of the mutant in its file, as the page has it
	mutant string // identity
}

// identity is what tells a mutant from others when lines are put in or taken out elsewhere in the file. Mutants of equal lines in
// one function share it.
func (m *Mutant) identity() string {
	return identity(m.File, strconv.Itoa(m.Column), fmt.Sprintf("%s %s -> %s", m.Operator, m.Old, m.New), m.Function, m.Source)
}

func identity(file, column, change, function, source string) string {
	return strings.Join([]string{file, column, change, function, source}, "\x00")
}

// Entry returns the line that names the mutant in the page of survivors.
func (m *Mutant) Entry() string {
	return fmt.Sprintf("- `%s` in %s: `%s`", m.Name(), cmp.Or(m.Function, "no function"), m.Source)
}

var entryForm = regexp.MustCompile("^- `([^:`]+):([0-9]+):([0-9]+) ([^`]+)` in (no function|[A-Za-z0-9_]+): `([^`]*)`$")

// ReadExplanations reads the page of survivors. An error names the lines that cannot be read.
func ReadExplanations(page string) ([]Explanation, error) {
	var all []Explanation
	var errs []error
	var kind Kind
	inKind, title, explained := false, "", false
	for i, line := range strings.Split(page, "\n") {
		wrong := func(format string, args ...any) {
			errs = append(errs, fmt.Errorf("line %d: %s", i+1, fmt.Sprintf(format, args...)))
		}
		switch {
		case strings.HasPrefix(line, "## "):
			kind, inKind = kindHeadings[line[3:]]
			title, explained = "", false
			if !inKind {
				wrong("the heading %q is none of 'Equivalent', 'Outside what a vector can show' and 'A vector is missing'", line[3:])
			}
		case strings.HasPrefix(line, "### "):
			title, explained = line[4:], false
		case strings.HasPrefix(line, "- "):
			form := entryForm.FindStringSubmatch(line)
			switch {
			case form == nil:
				wrong("this is not \"- `NAME` in FUNCTION: `LINE OF SOURCE`\"")
				continue
			case !inKind || title == "" || !explained:
				wrong("the entry stands under no explanation: there should be a ## heading, a ### heading and a text before it")
				continue
			}
			number, err := strconv.Atoi(form[2])
			if err != nil {
				wrong("%v", err)
				continue
			}
			function := form[5]
			if function == "no function" {
				function = ""
			}
			all = append(all, Explanation{
				Kind: kind, Title: title, Place: i + 1, Line: number,
				mutant: identity(form[1], form[3], form[4], function, form[6]),
			})
		case strings.TrimSpace(line) != "":
			explained = true
		}
	}
	return all, errors.Join(errs...)
}

// Explained holds the page of survivors against the mutants that there are.
type Explained struct {
	by    map[string]*Explanation // by the mutant's name
	stale []*Explanation          // no mutant is meant
	moved map[int]Mutant          // the mutant that is meant, where its line in the file has changed; by place in the page
}

// Match finds the mutant that each explanation is for.
func Match(explanations []Explanation, mutants []Mutant) *Explained {
	e := &Explained{by: map[string]*Explanation{}, moved: map[int]Mutant{}}
	candidates := map[string][]Mutant{}
	for _, m := range mutants {
		candidates[m.identity()] = append(candidates[m.identity()], m)
	}
	take := func(x *Explanation, fits func(Mutant) bool) bool {
		list := candidates[x.mutant]
		i := slices.IndexFunc(list, fits)
		if i < 0 {
			return false
		}
		m := list[i]
		candidates[x.mutant] = slices.Delete(slices.Clone(list), i, i+1)
		e.by[m.Name()] = x
		if m.Line != x.Line {
			e.moved[x.Place] = m
		}
		return true
	}
	var rest []*Explanation
	for i := range explanations {
		x := &explanations[i]
		if !take(x, func(m Mutant) bool { return m.Line == x.Line }) {
			rest = append(rest, x)
		}
	}
	for _, x := range rest {
		if !take(x, func(Mutant) bool { return true }) {
			e.stale = append(e.stale, x)
		}
	}
	return e
}

// Of returns why a mutant survives, or nil.
func (e *Explained) Of(m *Mutant) *Explanation { return e.by[m.Name()] }

// Renumber returns the page with the present lines of the mutants in it.
func (e *Explained) Renumber(page string) string {
	lines := strings.Split(page, "\n")
	for place, m := range e.moved {
		lines[place-1] = m.Entry()
	}
	return strings.Join(lines, "\n")
}

// Problems says what is wrong with the page after some mutants, or all, have been tried: survivors that it does not explain, and
// explanations of what does not survive, is no mutant any more, or stands in another line.
func (e *Explained) Problems(results []Result) []string {
	var problems []string
	for i := range results {
		r := &results[i]
		x := e.Of(&r.Mutant)
		switch {
		case r.Fate == Survived && x == nil:
			problems = append(problems, "survives and is not explained:\n"+r.Mutant.Entry())
		case r.Fate == Equivalent && x != nil && x.Kind == Harmless:
			// Another compiler may prove what the page explains.
		case r.Fate != Survived && x != nil:
			problems = append(problems, fmt.Sprintf("line %d: the mutant does not survive any more (%s), so its entry should go", x.Place, r))
		}
	}
	for _, x := range e.stale {
		problems = append(problems, fmt.Sprintf("line %d: no mutant has that name, function and line of source any more", x.Place))
	}
	for _, place := range slices.Sorted(maps.Keys(e.moved)) {
		m := e.moved[place]
		problems = append(problems, fmt.Sprintf("line %d: the mutant now stands in line %d of %s; run the test with -update", place, m.Line, m.File))
	}
	return problems
}
