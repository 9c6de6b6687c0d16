package mutation

import (
	"fmt"
	"io"
	"text/tabwriter"
)

// String says in a few words what became of the mutant.
func (r *Result) String() string {
	switch r.Fate {
	case Unbuilt:
		return "does not build"
	case Equivalent:
		return "the same machine code"
	case Caught:
		s := fmt.Sprintf("caught by %s in the design '%s'", r.By, r.Design)
		if r.How != "" {
			s += ": " + r.How
		}
		return s
	default:
		return "survives"
	}
}

// Tally counts what became of mutants.
type Tally struct {
	Made, Unbuilt, Equivalent, Caught, Survived int
	// Harmless are those of the survivors that are explained as equivalent.
	Harmless int
}

func (t *Tally) add(r *Result, explained *Explained) {
	t.Made++
	switch r.Fate {
	case Unbuilt:
		t.Unbuilt++
	case Equivalent:
		t.Equivalent++
	case Caught:
		t.Caught++
	case Survived:
		t.Survived++
		if x := explained.Of(&r.Mutant); x != nil && x.Kind == Harmless {
			t.Harmless++
		}
	}
}

// Score is the share, from 0 to 1, that was caught of those that are mistakes, as far as that is known: all that were built and
// neither proved nor explained to be equivalent.
func (t *Tally) Score() float64 {
	mistakes := t.Caught + t.Survived - t.Harmless
	if mistakes == 0 {
		return 1
	}
	return float64(t.Caught) / float64(mistakes)
}

// Tallies counts results by operator, and all together under the operator "".
func Tallies(results []Result, explained *Explained) map[Operator]*Tally {
	tallies := map[Operator]*Tally{"": {}}
	for i := range results {
		r := &results[i]
		o := r.Mutant.Operator
		if tallies[o] == nil {
			tallies[o] = &Tally{}
		}
		tallies[o].add(r, explained)
		tallies[""].add(r, explained)
	}
	return tallies
}

// WriteTallies writes them as a table.
func WriteTallies(w io.Writer, tallies map[Operator]*Tally) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "operator\tmade\tnot built\tsame code\tcaught\tsurvived\tof these equivalent\tscore\t")
	row := func(name string, c *Tally) {
		fmt.Fprintf(t, "%s\t%d\t%d\t%d\t%d\t%d\t%d\t%.1f %%\t\n", name, c.Made, c.Unbuilt, c.Equivalent, c.Caught, c.Survived, c.Harmless, 100*c.Score())
	}
	for _, o := range Operators {
		if c := tallies[o]; c != nil {
			row(string(o), c)
		}
	}
	row("all", tallies[""])
	return t.Flush()
}
