package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"time"

	"github.com/spf13/cobra"

	"example.org/hearthbench/conformance/identify"
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/report"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

type checkFlags struct {
	target        string
	vectors       string
	only          []string
	format        string
	reports       []string
	known         string
	writeKnown    string
	jobs          int
	timeout       time.Duration
	all           bool
	schema        bool
	statementFile string
	realTime      realTimeFlags
	capture       captureFlags
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
what was observed one above the other, and the clause's text.` + reportHelp + realTimeHelp + captureHelp + `

Exit status: 0 conformant, or nothing failed that is not known to, 1 not conformant (a vector or the capture failed, or nothing could be
said of it) or a known failure passes, 2 could not be run, or was interrupted.`,
		Example: `  hearthbench check --iut emulator
  hearthbench check --iut 'exec:./unit --stdio'
  hearthbench check --iut 'exec:./unit' --only OVR,BST-8,'CLK-5/*' --format junit
  hearthbench check --iut 'exec:./unit' --jobs 4 --known known.txt --report html=report.html --report junit=report.xml`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if f.schema {
				_, err := c.OutOrStdout().Write(report.Schema)
				return err
			}
			if captured, err := f.capture.asked(c); err != nil {
				return err
			} else if captured {
				for _, name := range []string{"report", "known", "write-known", "jobs", "statement"} {
					if c.Flags().Changed(name) {
						return fmt.Errorf("--%s does not go with --capture", name)
					}
				}
				return f.capture.run(f.format, c.OutOrStdout())
			}
			return f.run(c.Context(), c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVar(&f.target, "iut", "", targetHelp)
	c.Flags().StringVar(&f.vectors, "vectors", "", "a vector file of your own, or a folder of them, instead of the published set")
	c.Flags().StringSliceVar(&f.only, "only", nil, "families, clauses or vector ids (with * as wildcard) to which to keep")
	c.Flags().StringVar(&f.format, "format", "text", "text, json, tap, junit or html, on standard output; with --capture text or json")
	c.Flags().StringArrayVar(&f.reports, "report", nil, "FORMAT=FILE: write a json, tap, junit or html report into a file as well; may be given more than once")
	c.Flags().BoolVar(&f.schema, "report-schema", false, "print the JSON Schema of json reports, and do nothing else")
	c.Flags().StringVar(&f.known, "known", "", "a list of known failures, which do not make the run fail")
	c.Flags().StringVar(&f.writeKnown, "write-known", "", "write what does not pass into a new list of known failures")
	c.Flags().IntVar(&f.jobs, "jobs", asSuits, "how many instances of the implementation to test at once; 0 is one for each processor for\nemulator, sample and wasm, and 1 for the others, which may hold what only one can")
	c.Flags().BoolVar(&f.all, "all", false, fmt.Sprintf("show every failure in text, not only the first %d", shownFailures))
	c.Flags().DurationVar(&f.timeout, "timeout", 5*time.Second, "how long a reply may keep the bench waiting")
	c.Flags().StringVar(&f.statementFile, "statement", "", "a file of 'ics' lines, such as identify writes, in place of what the unit states of itself; its hello must be valid nevertheless")
	f.realTime.add(c)
	f.capture.add(c)
	return c
}

func (f *checkFlags) run(ctx context.Context, stdout, stderr io.Writer) error {
	write, ok := reportFormats[f.format]
	if !ok && f.format != "text" {
		return fmt.Errorf("--format %s: it is text, json, tap or junit, or html", f.format)
	}
	if f.timeout <= 0 {
		return fmt.Errorf("--timeout %v: it should be more than 0", f.timeout)
	}
	jobs, err := f.instances()
	if err != nil {
		return err
	}
	list, err := f.readKnown()
	if err != nil {
		return err
	}
	files, err := f.openReports()
	if err != nil {
		return err
	}
	set, checksum, err := loadVectors(f.vectors)
	if err != nil {
		return err
	}
	vectors, err := pick(set, f.only)
	if err != nil {
		return err
	}
	progress := newProgress(stderr, len(vectors), "vectors")
	as, err := f.statement()
	if err != nil {
		return err
	}
	units, err := openUnits(ctx, jobs.of(len(vectors)), func() (iut.IUT, error) {
		unit, err := f.realTime.open(ctx, f.target, f.timeout, progress.over(stderr))
		if err != nil || as == nil {
			return unit, err
		}
		return identify.As(unit, *as), nil
	})
	if err != nil {
		return err
	}
	r := &report.Report{
		IUT: f.target, Description: units[0].Describe(), ICS: units[0].ICS(), Page: set.Page, Source: f.vectors, Checksum: checksum, Tool: version(),
		When: time.Now(), Planned: len(vectors), Known: list,
	}
	failures := 0
	runErr := runOn(ctx, units, vectors, func(result *runner.Result) {
		progress.add(r.IsNew(result))
	}, func(result *runner.Result) {
		r.Results = append(r.Results, result)
		if write == nil && r.IsNew(result) {
			if failures++; f.all || failures <= shownFailures {
				progress.clear()
				report.Failure(stdout, set.Page, result)
			}
		}
	})
	r.Took = time.Since(r.When)
	progress.clear()
	// A unit that has given all its answers has been tested, however it ends.
	for _, unit := range units {
		if err := unit.Close(); err != nil {
			fmt.Fprintf(stderr, "hearthbench: %s did not end as it should: %v\n", f.target, err)
		}
	}
	r.Complaints = list.Review(set.Vectors, r.Results)
	var errs []error
	if write == nil {
		if hidden := failures - shownFailures; hidden > 0 && !f.all {
			fmt.Fprintf(stdout, "%d more did not pass; --all shows them, --only shows those of a clause\n\n", hidden)
		}
		r.Summary(stdout)
	} else {
		errs = append(errs, write(r, stdout))
	}
	errs = append(errs, writeReports(files, r), f.makeKnown(r, stderr))
	if runErr != nil {
		errs = append(errs, fmt.Errorf("interrupted after %d of %d vectors; what is told holds for those: %w", len(r.Results), len(vectors), runErr))
	}
	switch err := errors.Join(errs...); {
	case err != nil:
		return err
	case r.Holds():
		return nil
	case !tested(r):
		return errors.New("the unit's ICS calls for none of these vectors, so nothing was tested")
	default:
		return errDoesNotHold
	}
}

// statement reads the conformance statement that takes the place of the unit's own; nil: none.
func (f *checkFlags) statement() (*spec.ICS, error) {
	if f.statementFile == "" {
		return nil, nil
	}
	if f.realTime.on {
		return nil, errors.New("--statement does not go with --real-time, which needs the unit's own statement")
	}
	ics, err := readStatement(f.statementFile)
	if err != nil {
		return nil, fmt.Errorf("--statement: %w", err)
	}
	return &ics, nil
}

// readStatement reads an ICS file.
func readStatement(name string) (spec.ICS, error) {
	file, err := os.Open(name)
	if err != nil {
		return spec.ICS{}, err
	}
	defer file.Close()
	return wire.ReadICS(name, file)
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
