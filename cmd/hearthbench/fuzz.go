package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"example.org/hearthbench/conformance/fuzz"
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/report"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/vectors"
)

type fuzzFlags struct {
	target  string
	seed    uint64
	length  time.Duration
	steps   uint64
	out     string
	corpus  string
	shard   string
	format  string
	timeout time.Duration
	// patience is how many seconds of the unit's time a step may let pass on average; negative: what suits the kind of unit.
	patience int64
}

func newFuzz() *cobra.Command {
	var f fuzzFlags
	c := &cobra.Command{
		Use:   "fuzz --iut TARGET",
		Short: "Look for inputs and waits on which an implementation departs from the clauses; each cause once, shortened, as a vector",
		Long: `Fuzz puts sequences of inputs and waits to an implementation under test (IUT), with the emulator as oracle. Waits land on and
around the next instants of change; what is tried next is guided by what has been reached so far. A failure is shortened, held
against the causes found already, written as a vector, and put to the unit once more by the runner of 'check' before it is told.
With --out each cause becomes a file there, which 'check --vectors' reads.

The same seed, steps, corpus and unit give the same output. With --shard 1/4 to 4/4 the shards of one campaign run apart, on other machines too,
and 'fuzz merge' unites what they have written. Ctrl-C ends a campaign and loses nothing.

Exit status: 0 nothing found, 1 something found, 2 could not be run, or was interrupted before anything was found.`,
		Example: `  hearthbench fuzz --iut sample --seed 1 --for 10s
  hearthbench fuzz --iut 'exec:./unit' --steps 1000000 --out night --corpus night/corpus
  hearthbench fuzz --iut wasm:unit.wasm --shard "$INDEX/8" --for 8h --out shards/$INDEX --corpus shards/$INDEX/corpus
  hearthbench fuzz merge --out night shards/*`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return f.run(c.Context(), c.OutOrStdout(), c.ErrOrStderr()) },
	}
	c.Flags().StringVar(&f.target, "iut", "", targetHelp)
	c.Flags().Uint64Var(&f.seed, "seed", 1, "what the campaign's choices follow from")
	c.Flags().DurationVar(&f.length, "for", 0, "how long to look (10s if --steps is not given either)")
	c.Flags().Uint64Var(&f.steps, "steps", 0, "how many inputs and waits to put to the unit, shortening apart")
	c.Flags().StringVar(&f.out, "out", "", "a folder for the causes' vector files and a summary; it is made if need be")
	c.Flags().StringVar(&f.corpus, "corpus", "", "a folder of sequences to begin with, to which those that reach something new are added")
	c.Flags().StringVar(&f.shard, "shard", "1/1", "i/n: this is the ith of n parts of a campaign, each with choices of its own")
	c.Flags().StringVar(&f.format, "format", "text", "text or json")
	c.Flags().Int64Var(&f.patience, "patience", -1, fmt.Sprintf("seconds of the unit's time that a step may let pass on average, 0 for any number;\nthe default, -1, is %d for firmware, which may live through every second, and %d for the emulator", fuzz.Ticking, fuzz.Jumping))
	c.Flags().DurationVar(&f.timeout, "timeout", 5*time.Second, "how long a reply may keep the bench waiting")
	c.AddCommand(newFuzzMerge())
	return c
}

func (f *fuzzFlags) run(ctx context.Context, stdout, stderr io.Writer) error {
	shard, shards, err := parseShard(f.shard)
	switch {
	case err != nil:
		return err
	case f.format != "text" && f.format != "json":
		return fmt.Errorf("--format %s: it is text or json", f.format)
	case f.timeout <= 0:
		return fmt.Errorf("--timeout %v: it should be more than 0", f.timeout)
	case f.patience < -1:
		return fmt.Errorf("--patience %d: it is a number of seconds, 0 for no limit, or -1 for what suits the kind of unit", f.patience)
	case f.length < 0:
		return fmt.Errorf("--for %v: it should be more than 0", f.length)
	case f.length == 0 && f.steps == 0:
		f.length = 10 * time.Second
	}
	var corpus []iut.Script
	if f.corpus != "" {
		if corpus, err = fuzz.ReadCorpus(f.corpus); err != nil {
			return fmt.Errorf("--corpus: %w", err)
		}
	}
	if f.out != "" {
		if err := os.MkdirAll(f.out, 0o755); err != nil {
			return fmt.Errorf("--out: %w", err)
		}
	}
	set, err := suite.New(vectors.Files)
	if err != nil {
		return err
	}
	unit, err := openTarget(ctx, f.target, f.timeout, stderr)
	if err != nil {
		return err
	}
	defer unit.Close()
	t := &fuzzTeller{flags: f, page: set.Page, stdout: stdout, progress: newFuzzProgress(stderr), files: map[string]json.RawMessage{}}
	begun := time.Now()
	options := fuzz.Options{
		Seed: f.seed, Shard: shard - 1, Steps: f.steps, Batch: batchFor(f.target), Patience: f.patienceFor(), Corpus: corpus, Found: t.found,
		Progress: t.progress.show,
	}
	if f.length > 0 {
		options.Stop = func() bool { return time.Since(begun) >= f.length }
	}
	campaign, err := fuzz.New(unit, options)
	if err != nil {
		return err
	}
	if f.format == "text" {
		fmt.Fprintf(stdout, "seed %d, shard %d/%d, %s\n\n", f.seed, shard, shards, f.target)
	}
	runErr := campaign.Run(ctx)
	t.progress.clear()
	if f.corpus != "" {
		if err := fuzz.WriteCorpus(f.corpus, campaign.Corpus()); err != nil {
			return fmt.Errorf("--corpus: %w", err)
		}
	}
	summary := campaign.Summarize(f.target, shards)
	if f.out != "" {
		if err := summary.Write(f.out); err != nil {
			return fmt.Errorf("--out: %w", err)
		}
	}
	if err := t.tell(&summary); err != nil {
		return err
	}
	found := len(summary.Causes) > 0
	switch {
	case runErr != nil && ctx.Err() == nil:
		return runErr
	case found:
		return errDoesNotHold
	case ctx.Err() != nil:
		return fmt.Errorf("interrupted after %d steps, in which nothing was found", summary.Steps)
	default:
		return nil
	}
}

// batchFor says how many sequences a kind of unit is given at once: the more, the longer it takes to answer the first.
func batchFor(target string) int {
	switch kind, _, _ := strings.Cut(target, ":"); kind {
	case "exec":
		return 64
	case "tcp":
		return 16
	default:
		return 1
	}
}

func (f *fuzzFlags) patienceFor() uint64 {
	switch kind, _, _ := strings.Cut(f.target, ":"); {
	case f.patience >= 0:
		return uint64(f.patience)
	case kind == "emulator":
		return fuzz.Jumping
	default:
		return fuzz.Ticking
	}
}

func parseShard(text string) (shard, shards int, err error) {
	i, n, ok := strings.Cut(text, "/")
	if ok {
		shard, err = strconv.Atoi(i)
	}
	if ok && err == nil {
		shards, err = strconv.Atoi(n)
	}
	if !ok || err != nil || shard < 1 || shard > shards {
		return 0, 0, fmt.Errorf("--shard %s: it is i/n with i from 1 to n, such as 3/8", text)
	}
	return shard, shards, nil
}

// fuzzTeller tells of causes as they are found.
type fuzzTeller struct {
	flags    *fuzzFlags
	page     *suite.Page
	stdout   io.Writer
	progress *fuzzProgress
	files    map[string]json.RawMessage // vector files by name
}

func (t *fuzzTeller) found(f *fuzz.Finding) error {
	data, err := f.File()
	if err != nil {
		return err
	}
	name := f.Name()
	_, again := t.files[name]
	t.files[name] = data
	if t.flags.out != "" {
		if err := fuzz.WriteFile(t.flags.out, name, data); err != nil {
			return fmt.Errorf("--out: %w", err)
		}
	}
	if t.flags.format != "text" {
		return nil
	}
	t.progress.clear()
	if again {
		fmt.Fprintf(t.stdout, "%s: a shorter sequence, of %d inputs\n\n", name, f.Inputs())
		return nil
	}
	fmt.Fprintf(t.stdout, "cause %d, at step %d: violates %s\n", len(t.files), f.Step, f.Clause)
	report.Failure(t.stdout, t.page, f.Result)
	if t.flags.out != "" {
		path := filepath.Join(t.flags.out, name+".json")
		fmt.Fprintf(t.stdout, "  vector    %s\n  again     hearthbench check --iut %s --vectors %s\n\n", path, quoted(t.flags.target), quoted(path))
		return nil
	}
	fmt.Fprintf(t.stdout, "  vector, confirmed on the unit (--out keeps it as a file):\n%s\n", data)
	return nil
}

// quoted words a flag's value for a shell.
func quoted(text string) string {
	if strings.ContainsAny(text, " \t'\"$&|;<>()*?") {
		return "'" + strings.ReplaceAll(text, "'", `'\''`) + "'"
	}
	return text
}

// tell tells what the campaign has done in all.
func (t *fuzzTeller) tell(s *fuzz.Summary) error {
	if t.flags.format == "json" {
		e := json.NewEncoder(t.stdout)
		e.SetEscapeHTML(false)
		e.SetIndent("", "  ")
		return e.Encode(struct {
			*fuzz.Summary
			Files map[string]json.RawMessage `json:"files"`
		}{s, t.files})
	}
	fmt.Fprintf(t.stdout, "seed %d, shard %d/%d: %s steps in %s sequences; %s places of the state, %d clause pairs\n", s.Seed, s.Shard, s.Shards,
		thousands(s.Steps), thousands(s.Scripts), thousands(uint64(s.Places)), s.ClausePairs)
	if len(s.Causes) == 0 {
		fmt.Fprintln(t.stdout, "nothing found")
		return nil
	}
	fmt.Fprintf(t.stdout, "%s, behind %s failures:\n", plural(len(s.Causes), "cause"), thousands(s.Failures))
	for _, c := range s.Causes {
		fmt.Fprintf(t.stdout, "  %-7s %s, first at step %d  %s\n", c.Clause, plural(c.Inputs, "input"), c.Step, c.Name)
	}
	return nil
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// thousands words a number with a space after each third digit from the right.
func thousands(n uint64) string {
	text := strconv.FormatUint(n, 10)
	for i := len(text) - 3; i > 0; i -= 3 {
		text = text[:i] + " " + text[i:]
	}
	return text
}

// fuzzProgress is a line on a terminal that says how far a campaign has come.
type fuzzProgress struct {
	w     io.Writer // nil: there is no terminal
	begun time.Time
	next  time.Time
	shown int
}

func newFuzzProgress(w io.Writer) *fuzzProgress {
	p := &fuzzProgress{begun: time.Now(), next: time.Now().Add(progressInterval)}
	if f, ok := w.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		p.w = w
	}
	return p
}

func (p *fuzzProgress) show(s fuzz.Progress) {
	if p.w == nil || time.Now().Before(p.next) {
		return
	}
	p.next = time.Now().Add(progressInterval)
	rate := float64(s.Steps) / time.Since(p.begun).Seconds()
	text := fmt.Sprintf("%s steps, %s a second; %s places, %d clause pairs; %s, %s failures", thousands(s.Steps), thousands(uint64(rate)),
		thousands(uint64(s.Places)), s.ClausePairs, plural(s.Findings, "cause"), thousands(s.Failures))
	fmt.Fprintf(p.w, "\r%-*s", p.shown, text)
	p.shown = len(text)
}

func (p *fuzzProgress) clear() {
	if p.shown > 0 {
		fmt.Fprint(p.w, "\r"+strings.Repeat(" ", p.shown)+"\r")
		p.shown = 0
	}
}

func newFuzzMerge() *cobra.Command {
	var out string
	c := &cobra.Command{
		Use:   "merge --out DIR FOLDER…",
		Short: "Unite what the shards of a campaign, or several campaigns, have found",
		Long: `Merge reads folders that 'fuzz --out' has written, and writes into one: of each cause the vector that shows it most shortly, the campaigns'
summaries, and the union of the corpora that stand in their folders 'corpus'.

Exit status: 0 nothing was found by any of them, 1 something was, 2 could not be run.`,
		Example: "  hearthbench fuzz merge --out night shards/*",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, folders []string) error {
			if out == "" {
				return errors.New("--out is needed: the folder to write to, which may be one of those that are read")
			}
			m, err := fuzz.Merge(out, folders)
			if err != nil {
				return err
			}
			var steps, failures uint64
			for _, s := range m.Summaries {
				steps += s.Steps
				failures += s.Failures
			}
			w := c.OutOrStdout()
			fmt.Fprintf(w, "%s, %s steps, %s failures; %s in the corpus\n", plural(len(m.Summaries), "campaign"), thousands(steps), thousands(failures), plural(m.Scripts, "sequence"))
			if len(m.Causes) == 0 {
				fmt.Fprintln(w, "nothing found")
				return nil
			}
			fmt.Fprintf(w, "%s:\n", plural(len(m.Causes), "cause"))
			for _, cause := range m.Causes {
				fmt.Fprintf(w, "  %-7s %s  %s\n", cause.Clause, plural(cause.Inputs, "input"), filepath.Join(out, cause.Name+".json"))
			}
			return errDoesNotHold
		},
	}
	c.Flags().StringVar(&out, "out", "", "the folder to write to")
	return c
}
