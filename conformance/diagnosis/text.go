package diagnosis

import (
	"fmt"
	"io"
	"strings"

	"example.org/hearthbench/conformance/replay"
)

const (
	textCauses = 6 // of a set
	textSets   = 4
	width      = 100
)

// WriteText writes a result for a terminal: safety first, then the sets of causes with what they explain, the next questions, and what
// to do.
func WriteText(w io.Writer, r *Result) error {
	t := &text{}
	t.safety(r)
	if r.Stop {
		t.line("", "What follows is for later: first the above.")
		t.line("", "")
	}
	t.sets(r)
	t.ask(r)
	if len(r.Sets) > 0 && !r.Stop {
		t.action(&r.Sets[0].Action)
	}
	_, err := io.WriteString(w, t.String())
	return err
}

type text struct{ strings.Builder }

// line writes words after an indent, and wraps them under it.
func (t *text) line(indent, words string) { t.WriteString(replay.Wrap(indent, words, width)) }

func (t *text) safety(r *Result) {
	if len(r.Safety) == 0 {
		return
	}
	t.line("", "SAFETY FIRST")
	for _, s := range r.Safety {
		mark := "  ? "
		if s.Now {
			mark = "  ! "
		}
		t.line(mark, s.About+": "+s.Words)
	}
	t.line("", "")
}

func (t *text) sets(r *Result) {
	t.line("", fmt.Sprintf("CAUSES (%d possibilities lived through)", r.Lived))
	for i, s := range r.Sets {
		if i == textSets || i > 0 && s.Probability < 0.01 {
			t.line("  ", fmt.Sprintf("and %s less probable", plural(len(r.Sets)-i, "one set", "sets")))
			break
		}
		head := "%d. %s"
		if len(s.Causes) > 1 {
			head = "%d. %s: one of " + fmt.Sprint(len(s.Causes)) + " that the evidence cannot tell apart"
		}
		t.line("  ", fmt.Sprintf(head, i+1, Percent(s.Probability)))
		for j, c := range s.Causes {
			if j == textCauses {
				t.line("       ", fmt.Sprintf("and %d more", len(s.Causes)-j))
				break
			}
			words := c.Words
			if details := c.Details(); details != "" {
				words += " [" + details + "]"
			}
			if len(s.Causes) > 1 {
				words = Percent(c.Probability) + " " + words
			}
			t.line("     - ", fmt.Sprintf("%s (%s)", words, families(&c)))
		}
		if n := len(s.Others); n > 0 {
			t.line("       ", fmt.Sprintf("and %s far less probable", plural(n, "another", "others")))
		}
		t.explains(r, &s)
	}
	t.line("", "")
}

func families(c *Cause) string {
	if c.Also != "" && c.Also != c.Family {
		return string(c.Family) + ", " + string(c.Also)
	}
	return string(c.Family)
}

func (t *text) explains(r *Result, s *Set) {
	t.line("     ", fmt.Sprintf("explains %d of %d statements", len(s.Explains), len(r.Statements)))
	t.some("not: ", r, s.Departs, 6)
	t.some("open: ", r, s.Leaves, 3)
}

// some lists the first of some statements.
func (t *text) some(word string, r *Result, statements []int, most int) {
	for k, i := range statements {
		if k == most {
			t.line("       "+word, fmt.Sprintf("and %d more", len(statements)-k))
			break
		}
		t.line("       "+word, r.Statements[i].Text)
	}
}

// Percent words a probability no more exactly than it is known.
func Percent(p float64) string {
	switch {
	case p > 0.99:
		return "over 99 %"
	case p < 0.01:
		return "under 1 %"
	default:
		return fmt.Sprintf("%.0f %%", 100*p)
	}
}

func (t *text) ask(r *Result) {
	if len(r.Ask) == 0 {
		return
	}
	t.line("", "ASK NEXT")
	for i, a := range r.Ask {
		t.line(fmt.Sprintf("  %d. ", i+1), fmt.Sprintf("%s (%s, %.0f min)", a.Words, a.Who, a.Minutes))
		if a.Caution != "" {
			t.line("     ", a.Caution)
		}
		if i > 0 {
			continue
		}
		for k, choice := range a.Choices {
			if a.Leads[k] != "" {
				t.line("     ", choice+": most probably "+a.Leads[k])
			}
		}
	}
	t.line("", "")
}

func (t *text) action(a *Action) {
	t.line("", "WHAT TO DO")
	if a.Visit {
		t.line("  ", fmt.Sprintf("A visit by a %s: %s.", strings.TrimPrefix(string(a.Who), "a "), a.Part))
	} else {
		t.line("  ", "No visit.")
	}
	if a.Words != "" {
		t.line("  ", a.Words)
	}
	for _, c := range a.Cautions {
		t.line("  Caution: ", c)
	}
}
