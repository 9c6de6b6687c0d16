package verify

import (
	"fmt"
	"io/fs"
	"strings"

	"example.org/hearthbench/conformance/suite"
)

// IndexFile lists every vector by clause.
const IndexFile = "INDEX.md"

// Index reports an INDEX.md that does not list the vectors as they are.
func Index(files fs.FS, s *suite.Suite) []error {
	have, err := fs.ReadFile(files, IndexFile)
	if err != nil {
		return []error{err}
	}
	if d := firstDifference(string(have), IndexText(s)); d != "" {
		return []error{fmt.Errorf("%s: %s; 'hearthbench vectors seal' writes it anew", IndexFile, d)}
	}
	return nil
}

// IndexText returns what INDEX.md should be.
func IndexText(s *suite.Suite) string {
	byClause := map[string][]*suite.Vector{}
	for _, v := range s.Vectors {
		if v.IsGenerated() {
			continue
		}
		for _, id := range v.Clauses {
			byClause[id] = append(byClause[id], v)
		}
	}
	var b strings.Builder
	b.WriteString("# Vectors by clause\n\nWritten by `hearthbench vectors seal`. A vector stands, with its purpose, under the clause\nthat it is mainly for, and is named under every other clause that a unit which fails it breaks.\n")
	for _, f := range s.Page.Families {
		fmt.Fprintf(&b, "\n## %s: %s\n", f.ID, f.Name)
		for _, c := range f.Clauses {
			fmt.Fprintf(&b, "\n**%s** %s\n\n", c.ID, c.Text)
			var also []string
			for _, v := range byClause[c.ID] {
				if v.Clauses[0] == c.ID {
					fmt.Fprintf(&b, "- `%s`: %s\n", v.ID, v.Purpose)
				} else {
					also = append(also, "`"+v.ID+"`")
				}
			}
			if len(also) > 0 {
				fmt.Fprintf(&b, "- also %s\n", strings.Join(also, ", "))
			}
		}
	}
	indexGenerated(&b, s)
	return b.String()
}

// indexGenerated lists the files of generated vectors with how many each holds: by clause they would hide the others.
func indexGenerated(b *strings.Builder, s *suite.Suite) {
	count := map[string]int{}
	var first []*suite.Vector // of each file
	for _, v := range s.Vectors {
		if !v.IsGenerated() {
			continue
		}
		if count[v.File] == 0 {
			first = append(first, v)
		}
		count[v.File]++
	}
	if len(first) == 0 {
		return
	}
	b.WriteString("\n## GEN: generated\n\nVectors in each file of `generated`, whose head says more.\n\n")
	for _, v := range first {
		fmt.Fprintf(b, "- `%s`, %d: %s\n", v.File, count[v.File], strings.Join(v.About[:min(1, len(v.About))], ""))
	}
}
