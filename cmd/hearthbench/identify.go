package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.org/hearthbench/conformance/identify"
	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/report"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

type identifyFlags struct {
	target     string
	credential string
	given      []string
	claims     []string
	longest    time.Duration
	timeout    time.Duration
	out        string
	output     *report.Output
	format     string
	confirm    bool
	compare    bool
	steps      bool
	plan       bool
	byHand     bool
}

// handWait is how long a person waits for one answer if nothing else is said.
const handWait = 30 * time.Minute

func newIdentify() *cobra.Command {
	var f identifyFlags
	c := &cobra.Command{
		Use:   "identify {--iut TARGET | --by-hand | --plan}",
		Short: "Find out what an unknown unit has and which choices it has made",
		Long: `Identify settles the ICS of a unit whose own statement is missing or not believed: what it has, what it can be fitted as, and
the choices on which honest designs differ. Each question is a script and one look that is answered with yes or no, chosen
to halve what remains; the unit's own statement is not used. Then everything else that was seen on the way is held against the
ICS, and the published vectors that it calls for are put to the unit, so that a unit that fits no ICS is found out.

No credential of an interval lock is ever tried that was not given with --credential. Without it the statement of a unit that
has a lock is not complete.

--by-hand asks a person at a unit on a wall: y, n, c (can't), b (back), q (stop). --plan prints the same as a plan on paper, for a unit
whose front is described with --given; what is not given is as in a unit with both channels, a table of three periods for
each, every day alike, boosts of 60 to 180 minutes, holidays and no lock.

Exit status: 0 settled, 1 fits no ICS, 2 could not be run or not settled.`,
		Example: `  hearthbench identify --iut sample --credential 246810 --out unit.ics
  hearthbench identify --iut 'exec:./unit' --compare
  hearthbench identify --by-hand --longest 1h
  hearthbench identify --plan --given channels=ch --given cycle=5/2 --longest 10m`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return f.run(c) },
	}
	c.Flags().StringVar(&f.target, "iut", "", targetHelp)
	c.Flags().StringVar(&f.credential, "credential", "", "the credential of the unit's interval lock")
	c.Flags().StringArrayVar(&f.given, "given", nil, "OPTION=VALUE that is known; of channels, cycle, timing and coupling the value fitted; may be given again")
	c.Flags().StringArrayVar(&f.claims, "claim", nil, "TOLERANCE=N that the unit is allowed, such as late-scan=2; may be given again; default late-power-on=2 and lock-grain=1")
	c.Flags().DurationVar(&f.longest, "longest", 0, "how much of the unit's time one question may take; default any, by hand 30m")
	c.Flags().DurationVar(&f.timeout, "timeout", 5*time.Second, "how long a reply may keep the bench waiting")
	c.Flags().StringVar(&f.out, "out", "", "file into which to write the statement, as 'ics' lines, with ? for what is not settled; one that is there is replaced")
	c.Flags().StringVar(&f.format, "format", "text", "text or json")
	c.Flags().BoolVar(&f.confirm, "confirm", true, "put the published vectors to the unit once it is settled")
	c.Flags().BoolVar(&f.compare, "compare", false, "say where the unit's own statement differs")
	c.Flags().BoolVar(&f.steps, "steps", false, "show every question and its answer")
	c.Flags().BoolVar(&f.plan, "plan", false, "print a plan for a person, and ask nothing")
	c.Flags().BoolVar(&f.byHand, "by-hand", false, "ask a person")
	c.MarkFlagsMutuallyExclusive("iut", "plan", "by-hand")
	return c
}

func (f *identifyFlags) run(c *cobra.Command) error {
	stdout := c.OutOrStdout()
	switch {
	case f.format != "text" && f.format != "json":
		return fmt.Errorf("--format %s: it is text or json", f.format)
	case f.longest < 0 || f.longest%time.Second != 0:
		return fmt.Errorf("--longest %v: it should be whole seconds, and not less than 0", f.longest)
	case f.timeout <= 0:
		return fmt.Errorf("--timeout %v: it should be more than 0", f.timeout)
	}
	if c.Flags().Changed("out") && !f.plan {
		var err error
		if f.output, err = report.NewOutput(f.out); err != nil {
			return fmt.Errorf("--out %s: %w", f.out, err)
		}
	}
	if f.plan || f.byHand {
		for _, name := range []string{"credential", "claim", "confirm", "compare", "steps", "timeout"} {
			if c.Flags().Changed(name) {
				return fmt.Errorf("--%s goes with --iut, not with a person", name)
			}
		}
		if f.longest == 0 {
			f.longest = handWait
		}
	}
	switch {
	case f.plan && (c.Flags().Changed("out") || f.format != "text"):
		return errors.New("--plan is text on standard output: leave out --out and --format")
	case f.plan:
		space := identify.HandSpace(f.longest)
		if err := f.give(space, "channels=both", "cycle=24h", "timing=separate", "periods=3", "boost-longest=180", "boost-step=60", "holiday=yes", "lock=no"); err != nil {
			return err
		}
		fmt.Fprintf(stdout, "%s\n\nThis plan is for a unit whose front is: %s.\nAnother unit, another plan: see --given. Each question by itself begins with a reset.\n", identify.Caution, strings.Join(f.given, ", "))
		return identify.WritePlan(stdout, space, f.longest)
	case f.byHand:
		space := identify.HandSpace(f.longest)
		if err := f.give(space); err != nil {
			return err
		}
		talk := stdout
		if f.format == "json" {
			talk = c.ErrOrStderr()
		}
		r, err := interview(c.Context(), identify.NewHand(space, f.longest), c.InOrStdin(), talk)
		if err != nil {
			return err
		}
		return f.tell(stdout, r, nil)
	default:
		return f.runUnit(c.Context(), stdout, c.ErrOrStderr())
	}
}

// give narrows the space to what is known, and to the defaults of options of which nothing is known. It leaves in f.given what holds.
func (f *identifyFlags) give(space *identify.Space, defaults ...string) error {
	named := map[string]bool{}
	for _, given := range f.given {
		option, value, ok := strings.Cut(given, "=")
		if !ok {
			return fmt.Errorf("--given %s: it should be OPTION=VALUE, such as channels=both", given)
		}
		if named[option] {
			return fmt.Errorf("--given %s: %s has been given before", given, option)
		}
		named[option] = true
		if err := space.Give(option, value); err != nil {
			return fmt.Errorf("--given %s: %w", given, err)
		}
	}
	for _, given := range defaults {
		option, value, _ := strings.Cut(given, "=")
		if named[option] {
			continue
		}
		if err := space.Give(option, value); err != nil {
			return fmt.Errorf("with what is given, %s=%s does not hold, which is taken where nothing is said; say --given %s=VALUE: %w", option, value, option, err)
		}
		f.given = append(f.given, given)
	}
	return nil
}

func (f *identifyFlags) runUnit(ctx context.Context, stdout, stderr io.Writer) error {
	space, err := identify.NewSpace(f.credential)
	if err != nil {
		return fmt.Errorf("--credential: %w", err)
	}
	if err := f.give(space); err != nil {
		return err
	}
	claims, err := f.tolerances()
	if err != nil {
		return err
	}
	if f.target == "" {
		return errors.New("--iut, --by-hand or --plan is needed: see hearthbench identify --help")
	}
	unit, err := openTarget(ctx, f.target, f.timeout, stderr)
	if err != nil {
		return err
	}
	defer func() {
		if err := unit.Close(); err != nil {
			fmt.Fprintf(stderr, "hearthbench: %s did not end as it should: %v\n", f.target, err)
		}
	}()
	n := 0
	o := identify.Options{Longest: f.longest, Tolerances: claims}
	if f.steps && f.format == "text" {
		o.Step = func(s *identify.Step) {
			n++
			fmt.Fprintf(stdout, "%3d  %-26s %s\n     %s? %s: %s\n", n, s.Question.Factor, scriptWords(s.Question), s.Question.Words(), yesNo(s.Yes), s.Left)
		}
	}
	r, err := identify.Run(ctx, unit, space, o)
	if err != nil {
		return err
	}
	c := &confirmed{}
	if len(f.given) == 0 {
		c.bound = space.Classes()
	}
	if f.compare {
		c.Differences = r.Compare(space, unit.ICS())
		c.compared = true
	}
	if f.confirm && r.Settled() {
		if err := c.put(ctx, identify.As(unit, r.ICS)); err != nil {
			return err
		}
	}
	return f.tell(stdout, r, c)
}

// tolerances are those of BEHAVIOUR.md but for what is claimed.
func (f *identifyFlags) tolerances() (*spec.Tolerances, error) {
	ics := spec.FullICS()
	for _, claim := range f.claims {
		name, value, ok := strings.Cut(claim, "=")
		if !ok || !slices.Contains(toleranceNames, name) {
			return nil, fmt.Errorf("--claim %s: it should be TOLERANCE=N, where TOLERANCE is %s", claim, strings.Join(toleranceNames, ", "))
		}
		if err := wire.SetOption(&ics, name, value); err != nil {
			return nil, fmt.Errorf("--claim %s: %w", claim, err)
		}
	}
	return &ics.Tolerances, nil
}

var toleranceNames = []string{"late-power-on", "late-scan", "stagger", "boost-rate", "clock-rate", "lock-grain"}

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

// scriptWords returns a question's script in one line, cut where it becomes long.
func scriptWords(q *identify.Question) string {
	const most = 8
	var words []string
	for i := range q.Script {
		if n := len(q.Script) - i; i == most && n > 1 {
			words = append(words, fmt.Sprintf("… and %d more", n))
			break
		}
		words = append(words, string(q.Script[i].Append(nil)))
	}
	return strings.Join(words, "; ")
}

// confirmed is what is said of a unit beyond what identifies it.
type confirmed struct {
	bound       float64 // the fewest questions that could do in the mean; 0 if something was given
	Differences []identify.Difference
	compared    bool
	Put, Failed int // vectors
	show        func(io.Writer)
}

// put puts the vectors to the unit.
func (c *confirmed) put(ctx context.Context, unit iut.IUT) error {
	set, _, err := loadVectors("")
	if err != nil {
		return err
	}
	return runner.Run(ctx, unit, set.Vectors, func(r *runner.Result) {
		switch r.Verdict {
		case runner.Pass:
			c.Put++
		case runner.Fail, runner.Inconclusive:
			if c.Put++; c.Failed == 0 {
				c.show = func(w io.Writer) { report.Failure(w, set.Page, r) }
			}
			c.Failed++
		}
	})
}

// tell writes the result, and says by its error what it comes to. c is nil for a unit that a person has tried.
func (f *identifyFlags) tell(stdout io.Writer, r *identify.Result, c *confirmed) error {
	fits := r.Departure == nil && (c == nil || c.Failed == 0)
	if f.output != nil && fits {
		if err := f.output.Write(r.WriteICS); err != nil {
			return fmt.Errorf("--out: %w", err)
		}
	}
	var err error
	if f.format == "json" {
		err = writeIdentifyJSON(stdout, r, c, fits)
	} else {
		err = writeIdentifyText(stdout, r, c, fits)
	}
	switch {
	case err != nil:
		return err
	case !fits:
		return errDoesNotHold
	case len(r.Unsettled) > 0:
		return fmt.Errorf("not settled: %s", strings.Join(unsettledNames(r.Unsettled), ", "))
	}
	return nil
}

func unsettledNames(list []identify.Open) (all []string) {
	for _, o := range list {
		all = append(all, strings.Join(o.Options, " and "))
	}
	return all
}

func writeIdentifyText(w io.Writer, r *identify.Result, c *confirmed, fits bool) error {
	var b strings.Builder
	if d := r.Departure; d != nil {
		fmt.Fprintf(&b, "fits no ICS: by its answers to the looks it could only be the unit below, and from that it departs\n  at      %s, second %d\n", d.Where, d.Second)
		for i := range d.Script {
			fmt.Fprintf(&b, "  %-7s %s\n", map[bool]string{true: "steps"}[i == 0], d.Script[i].Append(nil))
		}
		fmt.Fprintf(&b, "  departs %s\n  clause  %s\n\n", d.What, strings.Join(d.Clauses, ", "))
	} else if !fits {
		fmt.Fprintf(&b, "fits no ICS: it answers the questions as the unit below, and fails %d of the %d vectors that such a unit has to pass; the first is\n\n", c.Failed, c.Put)
		c.show(&b)
	}
	if err := r.WriteICS(&b); err != nil {
		return err
	}
	if c == nil {
		fmt.Fprintf(&b, "\n%d questions\n", len(r.Steps))
	} else {
		fmt.Fprintf(&b, "\n%d yes-or-no questions and %d controls", len(r.Steps), r.Controls)
		if c.bound > 0 {
			fmt.Fprintf(&b, "; all units that can be told apart are 2^%.1f", c.bound)
		}
		b.WriteByte('\n')
	}
	if c != nil && c.compared {
		for _, d := range c.Differences {
			fmt.Fprintf(&b, "states %s %s, behaves as %s\n", strings.Join(d.Options, " and "), d.States, d.Found)
		}
		if len(c.Differences) == 0 {
			b.WriteString("the unit's own statement agrees\n")
		}
	}
	if c != nil && c.Put > 0 && c.Failed == 0 {
		fmt.Fprintf(&b, "confirmed by %d vectors\n", c.Put)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func writeIdentifyJSON(w io.Writer, r *identify.Result, c *confirmed, fits bool) error {
	type open struct {
		Options []string `json:"options"`
		Values  string   `json:"values"`
		Why     string   `json:"why"`
	}
	type differs struct {
		Options []string `json:"options"`
		States  string   `json:"states"`
		Found   string   `json:"found"`
	}
	type departure struct {
		Where   string   `json:"where"`
		Second  uint64   `json:"second"`
		What    string   `json:"what"`
		Clauses []string `json:"clauses"`
	}
	out := struct {
		Format      int        `json:"format"`
		Fits        bool       `json:"fits"`
		Settled     bool       `json:"settled"`
		Questions   int        `json:"questions"`
		Controls    int        `json:"controls"`
		ICS         []string   `json:"ics"`
		Idle        []open     `json:"idle"`
		Unsettled   []open     `json:"unsettled"`
		Differences []differs  `json:"differences"`
		Departure   *departure `json:"departure"`
		Vectors     int        `json:"vectors"`
		Failed      int        `json:"failed"`
	}{Format: 1, Fits: fits, Settled: fits && r.Settled(), Questions: len(r.Steps), Controls: r.Controls, Idle: []open{}, Unsettled: []open{}, Differences: []differs{}}
	var lines strings.Builder
	if err := r.WriteICS(&lines); err != nil {
		return err
	}
	for line := range strings.Lines(lines.String()) {
		if strings.HasPrefix(line, "ics ") {
			out.ICS = append(out.ICS, strings.TrimSpace(line))
		}
	}
	for _, o := range r.Idle {
		out.Idle = append(out.Idle, open{o.Options, o.Values, o.Why})
	}
	for _, o := range r.Unsettled {
		out.Unsettled = append(out.Unsettled, open{o.Options, o.Values, o.Why})
	}
	if d := r.Departure; d != nil {
		out.Departure = &departure{d.Where, d.Second, d.What, d.Clauses}
	}
	if c != nil {
		out.Vectors, out.Failed = c.Put, c.Failed
		for _, d := range c.Differences {
			out.Differences = append(out.Differences, differs{d.Options, d.States, d.Found})
		}
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(out)
}

// interview asks a person until nothing more can be asked.
func interview(ctx context.Context, h *identify.Hand, in io.Reader, out io.Writer) (*identify.Result, error) {
	// Read apart, so that an interruption does not wait for a line.
	lines, failed := make(chan string), make(chan error, 1)
	go func() {
		defer close(lines)
		scanner := bufio.NewScanner(in)
		for scanner.Scan() {
			select {
			case lines <- scanner.Text():
			case <-ctx.Done():
				return
			}
		}
		failed <- scanner.Err()
	}()
	fmt.Fprintf(out, "%s\n\nAnswers: y yes, n no, c can't, b back to the question before, q stop here.\n", identify.Caution)
	for {
		q, err := h.Next()
		if err != nil {
			return nil, err
		}
		if q == nil {
			fmt.Fprintln(out)
			return h.Result(), nil
		}
		fmt.Fprintf(out, "\n%d. %s\n", h.Asked()+1, strings.Join(append(q.HandLines(), q.HandQuestion()), "\n   "))
		for answered := false; !answered; {
			fmt.Fprint(out, "   y/n/c/b/q: ")
			var line string
			var more bool
			select {
			case line, more = <-lines:
			case <-ctx.Done():
				return nil, fmt.Errorf("interrupted after %d answers, of which nothing is kept: %w", h.Asked(), ctx.Err())
			}
			if !more {
				if ctx.Err() != nil {
					return nil, ctx.Err()
				}
				if err := <-failed; err != nil {
					return nil, fmt.Errorf("standard input: %w", err)
				}
				fmt.Fprintln(out, "\n   no more answers: stopped")
				return h.Result(), nil
			}
			answered = true
			switch strings.ToLower(strings.TrimSpace(line)) {
			case "y", "yes":
				_, err = h.Answer(true)
			case "n", "no":
				_, err = h.Answer(false)
			case "c", "can't", "cant", "cannot":
				err = h.Cannot()
			case "b", "back":
				if !h.Back() {
					fmt.Fprintln(out, "   This is the first question.")
					answered = false
				}
			case "q", "quit", "stop":
				fmt.Fprintln(out)
				return h.Result(), nil
			default:
				fmt.Fprintln(out, "   Please answer y, n, c, b or q.")
				answered = false
			}
			if err != nil {
				return nil, err
			}
		}
	}
}
