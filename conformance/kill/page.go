package kill

import (
	"fmt"
	"strings"

	"example.org/hearthbench/conformance/evidence"
	"example.org/hearthbench/conformance/suite"
)

// The pages that [Matrix.KillsPage] and [Matrix.TracePage] are published as.
const (
	KillsFile = "KILLS.md"
	TraceFile = "TRACE.md"
)

// String words the totals in one line.
func (t Totals) String() string {
	return fmt.Sprintf("%d faults: %d caught, %d unexplained; the report names the right family for %s of those caught, and names it first for %s",
		t.Faults, t.Caught, t.Uncaught, percent(t.Leads, t.Caught), percent(t.LeadsAtOnce, t.Caught))
}

func percent(part, whole int) string {
	if whole == 0 {
		return "none"
	}
	return fmt.Sprintf("%.1f %%", 100*float64(part)/float64(whole))
}

// KillsPage returns which vectors catch which fault, as a page.
func (m *Matrix) KillsPage() string {
	var b strings.Builder
	t := m.Totals()
	fmt.Fprintf(&b, `# What the hand-derived vectors catch

Written by `+"`hearthbench vectors matrix`"+`. Each fault is a single mistake, or two of which one hides the other, put round the emulator by composition; a vector catches it if the
faulty unit's replies or trace differ from what the vector expects.

%s.

| family | faults | caught | family named | named first |
| --- | ---: | ---: | ---: | ---: |
`, t)
	for _, f := range m.Page.Families {
		var n, caught, leads, first int
		for i := range m.Rows {
			if row := &m.Rows[i]; row.Fault.Family == f.ID {
				n++
				if len(row.By) > 0 {
					caught++
				}
				if row.Leads() {
					leads++
				}
				if row.LeadsAtOnce() {
					first++
				}
			}
		}
		fmt.Fprintf(&b, "| %s %s | %d | %d | %d | %d |\n", f.ID, f.Name, n, caught, leads, first)
	}
	b.WriteString("\n## The faults\n\n| fault | the mistake | caught by | the first of them |\n| --- | --- | ---: | --- |\n")
	for i := range m.Rows {
		row := &m.Rows[i]
		first := "**none**"
		if len(row.By) > 0 {
			first = "`" + row.By[0].ID + "`"
		}
		fmt.Fprintf(&b, "| `%s` | %s | %d of %d | %s |\n", row.Fault.ID, row.Fault.Words, len(row.By), row.Ran, first)
	}
	b.WriteString("\n## Vectors that alone catch a fault\n\n")
	alone := m.Alone()
	for _, v := range m.Vectors {
		for _, f := range alone[v.ID] {
			fmt.Fprintf(&b, "- `%s`: `%s`\n", v.ID, f.ID)
		}
	}
	b.WriteString("\n## Vectors that catch the same\n\nThese list the same clauses and catch the same faults as another vector. Each but the first is kept for a reason.\n\n")
	for _, group := range m.Twins() {
		for i, v := range group {
			if i == 0 {
				fmt.Fprintf(&b, "- `%s`\n", v.ID)
			} else {
				fmt.Fprintf(&b, "  - `%s`: %s\n", v.ID, v.Kept)
			}
		}
	}
	return b.String()
}

// TracePage returns, for each clause, the vectors that list it, the faults of which one of these is the first to catch, and the outside
// evidence that bears on it.
func (m *Matrix) TracePage() string {
	vectors := map[string][]*suite.Vector{}
	for _, v := range m.Vectors {
		for _, id := range v.Clauses {
			vectors[id] = append(vectors[id], v)
		}
	}
	caught := m.caughtBy()
	var b strings.Builder
	b.WriteString("# Clauses, vectors, faults, evidence\n\nWritten by `hearthbench vectors matrix`. Only hand-derived vectors count, as [INDEX.md](INDEX.md) lists them; a fault\n" +
		"counts for a clause if a vector that lists it catches the fault. Evidence is a check against something this project did not write.\n")
	for _, f := range m.Page.Families {
		fmt.Fprintf(&b, "\n## %s: %s\n\n| clause | vectors | faults caught | of its family | evidence |\n| --- | ---: | ---: | ---: | --- |\n", f.ID, f.Name)
		for _, c := range f.Clauses {
			seen := map[string]bool{}
			own := 0
			for _, v := range vectors[c.ID] {
				for _, id := range caught[v.ID] {
					if !seen[id] {
						seen[id] = true
						if strings.HasPrefix(id, f.ID+"/") {
							own++
						}
					}
				}
			}
			fmt.Fprintf(&b, "| %s | %d | %d | %d | %s |\n", c.ID, len(vectors[c.ID]), len(seen), own, strings.Join(evidenceFor(c.ID), "; "))
		}
	}
	b.WriteString("\n## The evidence\n\n| what is checked | against | test |\n| --- | --- | --- |\n")
	for _, c := range evidence.Checks {
		fmt.Fprintf(&b, "| %s | %s | `%s` in %s |\n", c.What, c.Against, c.Test, c.Package)
	}
	return b.String()
}

func evidenceFor(clause string) []string {
	var list []string
	for i := range evidence.Checks {
		for _, id := range evidence.Checks[i].Clauses {
			if id == clause {
				list = append(list, "`"+evidence.Checks[i].Test+"`")
			}
		}
	}
	return list
}
