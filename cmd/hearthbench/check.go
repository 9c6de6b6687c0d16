package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"example.org/hearthbench/conformance/report"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
)

type checkFlags struct {
	target  string
	vectors string
	only    []string
	format  string
	timeout time.Duration
	all     bool
	capture captureFlags
}

// shownFailures is how many failures a person is shown unasked: one mistake can fail a thousand vectors, and the summary says which
// clauses are behind them.
const shownFailures = 10

func newCheck() *cobra.Command {
	var f checkFlags
	c := &cobra.Command{
		Use:   "check {--iut TARGET | --capture FILE --scenario FILE}",
		Short: "Put the test vectors to an implementation and give verdicts that name the clause",
		Long: `Check puts the published test vectors to an implementation under test (IUT) and gives a verdict on each that the
unit's ICS calls for. A failure shows the vector and its purpose, the steps up to the departure, what was expected and
what was observed one above the other, and the clause's text.` + captureHelp + `

Exit status: 0 conformant, 1 not conformant (a vector or the capture failed, or nothing could be said of it), 2 could not be run.`,
		Example: `  hearthbench check --iut emulator
  hearthbench check --iut 'exec:./unit --stdio'
  hearthbench check --iut 'exec:./unit' --only OVR,BST-8,'CLK-5/*' --format junit`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if captured, err := f.capture.asked(c); err != nil {
				return err
			} else if captured {
				return f.capture.run(f.format, c.OutOrStdout())
			}
			return f.run(c.Context(), c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVar(&f.target, "iut", "", targetHelp)
	c.Flags().StringVar(&f.vectors, "vectors", "", "a vector file of your own, or a folder of them, instead of the published set")
	c.Flags().StringSliceVar(&f.only, "only", nil, "families, clauses or vector ids (with * as wildcard) to which to keep")
	c.Flags().StringVar(&f.format, "format", "text", "text, json, tap or junit; with --capture text or json")
	c.Flags().BoolVar(&f.all, "all", false, fmt.Sprintf("show every failure in text, not only the first %d", shownFailures))
	c.Flags().DurationVar(&f.timeout, "timeout", 5*time.Second, "how long a reply may keep the bench waiting")
	f.capture.add(c)
	return c
}

func (f *checkFlags) run(ctx context.Context, stdout, stderr io.Writer) error {
	write, ok := map[string]func(*report.Report, io.Writer) error{
		"text": nil, "json": (*report.Report).JSON, "tap": (*report.Report).TAP, "junit": (*report.Report).JUnit,
	}[f.format]
	if !ok {
		return fmt.Errorf("--format %s: it is text, json, tap or junit", f.format)
	}
	if f.timeout <= 0 {
		return fmt.Errorf("--timeout %v: it should be more than 0", f.timeout)
	}
	set, checksum, err := loadVectors(f.vectors)
	if err != nil {
		return err
	}
	vectors, err := pick(set, f.only)
	if err != nil {
		return err
	}
	unit, err := openTarget(ctx, f.target, f.timeout, stderr)
	if err != nil {
		return err
	}
	r := &report.Report{IUT: f.target, ICS: unit.ICS(), Page: set.Page, Checksum: checksum, When: time.Now(), Planned: len(vectors)}
	progress := newProgress(stderr, len(vectors), "vectors")
	failures := 0
	runErr := runner.Run(ctx, unit, vectors, func(result *runner.Result) {
		r.Results = append(r.Results, result)
		if write == nil && (result.Verdict == runner.Fail || result.Verdict == runner.Inconclusive) {
			if failures++; f.all || failures <= shownFailures {
				progress.clear()
				report.Failure(stdout, set.Page, result)
			}
		}
		progress.show(len(r.Results))
	})
	progress.clear()
	// A unit that has given all its answers has been tested, however it ends.
	if err := unit.Close(); err != nil {
		fmt.Fprintf(stderr, "hearthbench: %s did not end as it should: %v\n", f.target, err)
	}
	if write == nil {
		if hidden := failures - shownFailures; hidden > 0 && !f.all {
			fmt.Fprintf(stdout, "%d more did not pass; --all shows them, --only shows those of a clause\n\n", hidden)
		}
		r.Summary(stdout)
	} else if err := write(r, stdout); err != nil {
		return err
	}
	switch {
	case runErr != nil:
		return fmt.Errorf("interrupted after %d of %d vectors; what is above holds for those: %w", len(r.Results), len(vectors), runErr)
	case r.Conformant():
		return nil
	case !tested(r):
		return errors.New("the unit's ICS calls for none of these vectors, so nothing was tested")
	default:
		return errDoesNotHold
	}
}

func tested(r *report.Report) bool {
	c := r.Counts()
	return c.Pass+c.Fail+c.Inconclusive > 0
}

// pick returns the vectors that one of the patterns names, or all without patterns.
func pick(set *suite.Suite, patterns []string) ([]*suite.Vector, error) {
	if len(patterns) == 0 {
		return set.Vectors, nil
	}
	used := make([]bool, len(patterns))
	var picked []*suite.Vector
	for _, v := range set.Vectors {
		keep := false
		for i, pattern := range patterns {
			match, err := names(pattern, v)
			if err != nil {
				return nil, fmt.Errorf("--only %s: %w", pattern, err)
			}
			used[i] = used[i] || match
			keep = keep || match
		}
		if keep {
			picked = append(picked, v)
		}
	}
	for i, pattern := range patterns {
		if !used[i] {
			return nil, fmt.Errorf("--only %s: no vector has that family, clause or id; 'hearthbench vectors list' shows them", pattern)
		}
	}
	return picked, nil
}

// names reports whether a pattern names a vector: by its family, by a clause it lists, or by its id.
func names(pattern string, v *suite.Vector) (bool, error) {
	for _, id := range v.Clauses {
		if pattern == id {
			return true, nil
		}
	}
	if pattern == suite.FamilyOf(v.ID) {
		return true, nil
	}
	return path.Match(pattern, v.ID)
}

// progress is a line on a terminal that says how far long work has come. On anything else it shows nothing.
type progress struct {
	w     io.Writer
	total int
	what  string
	next  time.Time
	shown bool
}

const progressInterval = 200 * time.Millisecond

func newProgress(w io.Writer, total int, what string) *progress {
	if f, ok := w.(*os.File); !ok || !term.IsTerminal(int(f.Fd())) {
		w = nil
	}
	return &progress{w: w, total: total, what: what, next: time.Now().Add(progressInterval)}
}

func (p *progress) show(done int) {
	if p.w == nil || time.Now().Before(p.next) {
		return
	}
	p.next = time.Now().Add(progressInterval)
	p.shown = true
	fmt.Fprintf(p.w, "\r%d of %d %s", done, p.total, p.what)
}

func (p *progress) clear() {
	if p.shown {
		fmt.Fprint(p.w, "\r"+strings.Repeat(" ", 40)+"\r")
		p.shown = false
	}
}
