package suite

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Clause is one numbered clause of BEHAVIOUR.md.
type Clause struct {
	ID      string // such as "OVR-2"
	Options string // the ICS options it depends on, as the page words them; "" if none
	Text    string
}

// Family is a family of clauses, such as OVR: override.
type Family struct {
	ID, Name string
	Clauses  []Clause
}

// Page is what BEHAVIOUR.md lays down.
type Page struct {
	Families []Family
	byID     map[string]*Clause
}

var (
	familyLine  = regexp.MustCompile(`^### ([A-Z]{3}): (.+)$`)
	clauseStart = regexp.MustCompile(`^\*\*[A-Z]{3}-[0-9]`)
	clauseLine  = regexp.MustCompile(`^\*\*([A-Z]{3})-([0-9]+)\*\* (?:\[([^][]*)\] )?([^\[ ].*)$`)
)

// ReadPage finds the clauses in the text of BEHAVIOUR.md. It reports a clause that is not worded as the others are, one outside its
// family, one out of order or missing (ids run from 1 without gaps, since none is ever taken back), and a family that stands twice or
// has no clauses.
func ReadPage(text string) (*Page, error) {
	p := &Page{byID: map[string]*Clause{}}
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSuffix(line, "\r")
		if m := familyLine.FindStringSubmatch(line); m != nil {
			for _, f := range p.Families {
				if f.ID == m[1] {
					return nil, fmt.Errorf("line %d: family %s stands twice", i+1, m[1])
				}
			}
			p.Families = append(p.Families, Family{ID: m[1], Name: m[2]})
			continue
		}
		if !clauseStart.MatchString(line) {
			continue
		}
		m := clauseLine.FindStringSubmatch(line)
		if m == nil {
			return nil, fmt.Errorf("line %d: a clause is '**ABC-1** [`option`] text', the option only if there is one; this is %q", i+1, line)
		}
		id := m[1] + "-" + m[2]
		if len(p.Families) == 0 || p.Families[len(p.Families)-1].ID != m[1] {
			return nil, fmt.Errorf("line %d: clause %s stands outside its family", i+1, id)
		}
		f := &p.Families[len(p.Families)-1]
		if want := strconv.Itoa(len(f.Clauses) + 1); m[2] != want {
			return nil, fmt.Errorf("line %d: clause %s stands where %s-%s should", i+1, id, m[1], want)
		}
		f.Clauses = append(f.Clauses, Clause{ID: id, Options: strings.ReplaceAll(m[3], "`", ""), Text: m[4]})
	}
	if len(p.Families) == 0 {
		return nil, errors.New("there are no clauses in it")
	}
	for _, f := range p.Families {
		if len(f.Clauses) == 0 {
			return nil, fmt.Errorf("family %s has no clauses", f.ID)
		}
	}
	for f := range p.Families {
		for c := range p.Families[f].Clauses {
			clause := &p.Families[f].Clauses[c]
			p.byID[clause.ID] = clause
		}
	}
	return p, nil
}

// Clause returns the clause with the id, or nil.
func (p *Page) Clause(id string) *Clause { return p.byID[id] }

// FamilyOf returns the family of the id of a clause or of a vector, or "" for an id that has none.
func FamilyOf(id string) string {
	if i := strings.IndexAny(id, "-/"); i >= 0 {
		return id[:i]
	}
	return id
}
