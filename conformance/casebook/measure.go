package casebook

import (
	"fmt"
	"io"
	"slices"
	"text/tabwriter"
	"time"

	"example.org/hearthbench/conformance/diagnosis"
	"example.org/hearthbench/conformance/replay"
)

// MostQuestions is after how many questions nobody goes on asking.
const MostQuestions = 8

// Outcome is what became of a case.
type Outcome struct {
	Seed    uint64
	Truths  []Truth
	Outside bool
	// Rank is the place, from 1, of the first set that has the true cause (with two, both in one), 0 if none has.
	Rank int
	Top  bool // it is the very first cause
	Soon bool // it is one of the first ten of the first set
	// Size is how many causes the first set has, those that are not listed among them.
	Size        int
	Probability float64 // of the first set
	First       float64 // of its first cause
	Certain     bool    // the first set is one cause with more than 0.9
	Named       string  // the first cause's words
	Family      diagnosis.Family
	Took        time.Duration

	Asked   int       // questions put
	Settled bool      // they came to one cause with more than 0.9
	Right   bool      // and it was true
	Lefts   []float64 // of each question, the share of causes in effect left after its answer
}

// Put puts a case to the diagnosis, and with questions goes on asking until one cause is left.
func Put(c *Case, questions bool) (*Outcome, error) {
	began := time.Now()
	r, err := diagnosis.Diagnose(c.Complaint)
	took := time.Since(began)
	if err != nil {
		return nil, fmt.Errorf("seed %d: %w", c.Seed, err)
	}
	base, err := c.account()
	if err != nil {
		return nil, err
	}
	truth, err := live(c.World)
	if err != nil {
		return nil, err
	}
	o := &Outcome{Seed: c.Seed, Truths: c.Truths, Took: took}
	for i := range c.Truths {
		o.Outside = o.Outside || c.Truths[i].Outside
	}
	for i := range r.Sets {
		at := slices.IndexFunc(slices.Concat(r.Sets[i].Causes, []diagnosis.Cause(r.Sets[i].Others)), func(cause diagnosis.Cause) bool { return c.right(&cause, truth, base) })
		if at >= 0 {
			o.Rank, o.Top, o.Soon = i+1, i == 0 && at == 0, i == 0 && at < 10
			break
		}
	}
	if len(r.Sets) > 0 {
		s := &r.Sets[0]
		o.Size, o.Probability, o.Certain = len(s.Causes)+len(s.Others), s.Probability, s.Certain
		o.First, o.Named, o.Family = s.Causes[0].Probability, s.Causes[0].Words, s.Causes[0].Family
	}
	if questions && !c.Beyond {
		if err := o.ask(c, r, truth, base); err != nil {
			return nil, fmt.Errorf("seed %d: %w", c.Seed, err)
		}
	}
	return o, nil
}

// right reports whether a cause is what is the matter: all of it, and nothing besides but a statement that is mistaken where one is. It is
// in one of the ways in which the diagnosis tells it: as it fits best, or as well.
func (c *Case) right(cause *diagnosis.Cause, truth, account *lived) bool {
	if cause.Family == diagnosis.NoneOfThese {
		return !slices.ContainsFunc(c.Truths, func(t Truth) bool { return !t.Outside })
	}
	mistaken := cause.Family == diagnosis.Statement || cause.Also == diagnosis.Statement
	if c.Kind.False && c.alone && mistaken && cause.Also == "" {
		return true // nothing is wrong but what was said
	}
	if len(c.Truths) == 1 && cause.Also != "" && !(mistaken && c.Kind.False) {
		return false
	}
	return slices.ContainsFunc(cause.Worlds(), func(w replay.World) bool {
		taken, err := live(w)
		return err == nil && !slices.ContainsFunc(c.Truths, func(t Truth) bool { return !t.Is(cause, taken, truth, account) })
	})
}

// ask answers from the true world what the diagnosis asks, until it is sure of one cause.
func (o *Outcome) ask(c *Case, r *diagnosis.Result, truth, account *lived) error {
	for {
		if len(r.Sets) > 0 && r.Sets[0].Certain {
			o.Settled, o.Right = true, c.right(&r.Sets[0].Causes[0], truth, account)
			return nil
		}
		q, ok := r.Next()
		if !ok || o.Asked == MostQuestions {
			return nil
		}
		choice, err := q.Ask(c.World)
		if err != nil {
			return err
		}
		if choice < 0 {
			return nil
		}
		before := r.Left()
		next, err := r.Answer(q, choice)
		if err != nil {
			return err
		}
		r = next
		o.Asked++
		o.Lefts = append(o.Lefts, r.Left()/before)
	}
}

// Measure puts cases made from seeds to the diagnosis. Every some-th case, from the first, is asked on; 0: none.
func Measure(kind Kind, seed uint64, cases, every int) ([]*Outcome, error) {
	var all []*Outcome
	for i := range cases {
		c, err := New(seed+uint64(i), kind)
		if err != nil {
			return nil, err
		}
		o, err := Put(c, every > 0 && i%every == 0)
		if err != nil {
			return nil, err
		}
		all = append(all, o)
	}
	return all, nil
}

// Share is how many of some are so.
type Share struct{ N, Of int }

// Percent returns a share in hundredths, 0 of nothing.
func (s Share) Percent() float64 { return 100 * float64(s.N) / float64(max(1, s.Of)) }

// String returns such as "91.3 % (913 of 1000)".
func (s Share) String() string { return fmt.Sprintf("%5.1f %%  (%d of %d)", s.Percent(), s.N, s.Of) }

// Of counts the outcomes of a kind, and among them those that are so.
func Of(all []*Outcome, counts, so func(*Outcome) bool) (s Share) {
	for _, o := range all {
		if counts == nil || counts(o) {
			s.Of++
			if so(o) {
				s.N++
			}
		}
	}
	return s
}

// What is counted.
var (
	InFirst      = func(o *Outcome) bool { return o.Rank == 1 }
	InFirstThree = func(o *Outcome) bool { return o.Rank >= 1 && o.Rank <= 3 }
	IsTop        = func(o *Outcome) bool { return o.Top }
	IsSoon       = func(o *Outcome) bool { return o.Soon }
	FalselySure  = func(o *Outcome) bool { return o.Certain && o.Rank != 1 }
	Inside       = func(o *Outcome) bool { return !o.Outside }
	IsOutside    = func(o *Outcome) bool { return o.Outside }
	SaidNone     = func(o *Outcome) bool { return o.Family == diagnosis.NoneOfThese }
	WasAsked     = func(o *Outcome) bool { return o.Asked > 0 || o.Settled }
	CameToOne    = func(o *Outcome) bool { return o.Settled }
	CameToTruth  = func(o *Outcome) bool { return o.Settled && o.Right }
)

// Median returns the median of some numbers, and 0 of none.
func Median(all []float64) float64 {
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// Numbers collects a number of each outcome that counts.
func Numbers(all []*Outcome, counts func(*Outcome) bool, number func(*Outcome) float64) (ns []float64) {
	for _, o := range all {
		if counts == nil || counts(o) {
			ns = append(ns, number(o))
		}
	}
	return ns
}

func mean(all []float64) float64 {
	sum := 0.0
	for _, n := range all {
		sum += n
	}
	return sum / float64(max(1, len(all)))
}

// WriteTable writes what came of cases with one cause, with two, and with one false statement.
func WriteTable(w io.Writer, one, two, lied []*Outcome) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	row := func(what string, value any) { fmt.Fprintf(t, "%s\t%v\n", what, value) }
	row("one cause: the first set has it", Of(one, nil, InFirst))
	row("  one of the first three sets has it", Of(one, nil, InFirstThree))
	row("  it is one of the first set's first ten", Of(one, nil, IsSoon))
	row("  it is the very first cause", Of(one, nil, IsTop))
	row("  of causes that a diagnosis can name: the first set has it", Of(one, Inside, InFirst))
	row("  of causes beyond it: 'none of these' first", Of(one, IsOutside, SaidNone))
	row("two causes: the first set has both", Of(two, nil, InFirst))
	row("  one of the first three sets has both", Of(two, nil, InFirstThree))
	row("  both are one of the first set's first ten", Of(two, nil, IsSoon))
	row("one false statement: the first set has it", Of(lied, nil, InFirst))
	row("false certainty: one cause claimed with more than 0.9, and wrong", Of(one, nil, FalselySure))
	row("  'none of these' with more than 0.9, and it has a name", Of(one, Inside, func(o *Outcome) bool { return o.First > 0.9 && SaidNone(o) }))
	size := Numbers(one, nil, func(o *Outcome) float64 { return float64(o.Size) })
	row("causes in the first set: mean, median", fmt.Sprintf("%.1f, %.0f", mean(size), Median(size)))
	var lefts, firsts []float64
	for _, o := range one {
		lefts = append(lefts, o.Lefts...)
		if len(o.Lefts) > 0 {
			firsts = append(firsts, o.Lefts[0])
		}
	}
	row("questions: share of causes left by the best, median", fmt.Sprintf("%.2f  (of %d asked)", Median(lefts), len(lefts)))
	row("  by the first of each case, median", fmt.Sprintf("%.2f  (of %d asked)", Median(firsts), len(firsts)))
	row("  came to one cause", Of(one, WasAsked, CameToOne))
	row("  came to the true one", Of(one, WasAsked, CameToTruth))
	asked := Numbers(one, CameToOne, func(o *Outcome) float64 { return float64(o.Asked) })
	row("  asked until there was one: mean, median", fmt.Sprintf("%.1f, %.0f", mean(asked), Median(asked)))
	took := Numbers(one, nil, func(o *Outcome) float64 { return float64(o.Took.Milliseconds()) })
	slices.Sort(took)
	if len(took) > 0 {
		row("time a case: median, longest", fmt.Sprintf("%.0f ms, %.0f ms", Median(took), took[len(took)-1]))
	}
	row("", "")
	row("calibration", "claimed for the first set, and right; claimed for the first cause, and right")
	for b := range 5 {
		in := func(p float64) bool { return min(4, int(p*5)) == b }
		set := func(o *Outcome) bool { return in(o.Probability) }
		cause := func(o *Outcome) bool { return in(o.First) }
		row(fmt.Sprintf("  %.1f to %.1f", float64(b)/5, float64(b+1)/5), fmt.Sprintf("%.2f %s;  %.2f %s",
			mean(Numbers(one, set, func(o *Outcome) float64 { return o.Probability })), Of(one, set, InFirst),
			mean(Numbers(one, cause, func(o *Outcome) float64 { return o.First })), Of(one, cause, IsTop)))
	}
	row("", "")
	row("by group, one cause", "the first set has it")
	var groups []string
	for _, a := range ails {
		if !slices.Contains(groups, a.group) {
			groups = append(groups, a.group)
		}
	}
	for _, g := range groups {
		row("  "+g, Of(one, func(o *Outcome) bool { return o.Truths[0].Group == g }, InFirst))
	}
	return t.Flush()
}
