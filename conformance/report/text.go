package report

import (
	"fmt"
	"io"
	"strings"

	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/timing"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Failure writes what a person needs to find the mistake behind one vector that did not pass.
func Failure(w io.Writer, page *suite.Page, r *runner.Result) {
	v := r.Vector
	fmt.Fprintf(w, "%s  %s\n", strings.ToUpper(r.Verdict.String()), v.ID)
	field := func(name, text string) {
		for i, line := range wrap(text, textWidth) {
			if i > 0 {
				name = ""
			}
			fmt.Fprintf(w, "  %-9s %s\n", name, line)
		}
	}
	field("purpose", v.Purpose)
	field("catches", v.Catches)
	for i, c := range clauses(page, r) {
		name := "clause"
		if i > 0 {
			name = ""
		}
		options := ""
		if c.Options != "" {
			options = " [" + c.Options + "]"
		}
		field(name, c.ID+options+" "+c.Text)
	}
	if r.Verdict == runner.Inconclusive {
		field("why", r.Why)
		for i, line := range stderrOf(r) {
			name := ""
			if i == 0 {
				name = "stderr"
			}
			field(name, line)
		}
		fmt.Fprintln(w)
		return
	}
	d := r.Departure
	field("given", given(r))
	for i, step := range stepsUpTo(v, d.At) {
		name := "steps"
		if i > 0 {
			name = ""
		}
		field(name, fmt.Sprintf("%s  %s  (%s)", clock(v, step.At), step.Do, wire.OutcomeWord(step.Want)))
	}
	field("departs", clock(v, d.At)+"  "+Departure(d, r.Bound))
	if d.Kind != runner.WrongReply && d.Kind != runner.ClaimMissing {
		fmt.Fprintln(w)
		timelines(w, r)
	}
	fmt.Fprintln(w)
}

const textWidth = 110

// given words what came before the first step.
func given(r *runner.Result) string {
	var parts []string
	for _, in := range r.Bound.Fits {
		parts = append(parts, string(wire.AppendInput(nil, in)))
	}
	parts = append(parts, "power on")
	if !r.Vector.ClockUnset {
		parts = append(parts, "clock "+r.Vector.Start.Format("2006-01-02 15:04"))
	}
	return strings.Join(append(parts, r.Vector.Given...), "; ")
}

func stepsUpTo(v *suite.Vector, second uint64) []suite.Step {
	n := 0
	for n < len(v.Steps) && v.Steps[n].At <= second {
		n++
	}
	return v.Steps[:n]
}

// clock words an instant as a unit set right at the start would display it.
func clock(v *suite.Vector, second uint64) string {
	return v.At(second).Format("Mon 2006-01-02 15:04:05")
}

// Departure says in one sentence what differed.
func Departure(d *runner.Departure, b *suite.Bound) string {
	v := b.Vector
	switch d.Kind {
	case runner.WrongReply:
		return fmt.Sprintf("'%s' was %s; it should be %s.", inputText(b, d.Step), wire.OutcomeWord(d.Reply), wire.OutcomeWord(b.Steps[d.Step].Want))
	case runner.ClaimMissing:
		return fmt.Sprintf("'%s' was unsupported, though the unit's ICS says that it has what this is for.", inputText(b, d.Step))
	case runner.WrongStart:
		return fmt.Sprintf("After the given inputs %s is %s; it should be %s.", signalName(d.Observed.Signal), levelName(d.Observed), levelName(d.Expected))
	case runner.Missing:
		return fmt.Sprintf("%s by %s; it did not.", should(d.Expected), d.Expected.By)
	case runner.Late:
		return fmt.Sprintf("%s by %s; it did so only at %s.", should(d.Expected), d.Expected.By, clock(v, d.Observed.At))
	case runner.WrongOrder:
		return fmt.Sprintf("%s first in this second; %s came first (OUT-3).", should(d.Expected), signalName(d.Observed.Signal))
	default: // runner.Unexpected
		text := fmt.Sprintf("%s; it should not.", does(d.Observed))
		if d.Expected != nil {
			text += fmt.Sprintf(" It next changes at %s, by %s.", clock(v, d.Expected.At), d.Expected.By)
		} else {
			text += " It does not change again."
		}
		return text
	}
}

// inputText words the input of a bound step. An input of the lock is worded as the vector has it: whoever reads a report needs no
// credential of the unit.
func inputText(b *suite.Bound, step int) string {
	s := &b.Steps[step]
	if s.Input.Kind == spec.LockArm || s.Input.Kind == spec.LockRemove {
		return b.Vector.Steps[s.Step].Do
	}
	return string(wire.AppendInput(nil, s.Input))
}

var signalNames = [...]string{
	spec.SigHW: "the hot-water relay", spec.SigCH: "the heating relay", spec.SigAlert: "the alert", spec.SigSounder: "the sounder",
}

func signalName(s spec.Signal) string { return signalNames[s] }

func capital(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

func levelName(c *spec.Change) string {
	switch {
	case c.Signal == spec.SigAlert:
		return "'" + wire.LevelWord(c.Signal, c.Level) + "'"
	case c.Signal == spec.SigSounder:
		return either(c, "silent", "sounding")
	default:
		return either(c, "open", "closed")
	}
}

// either chooses the word for level 0 or for any other.
func either(c *spec.Change, zero, other string) string {
	if c.Level == 0 {
		return zero
	}
	return other
}

func should(c *spec.Change) string {
	switch {
	case c.Signal == spec.SigAlert:
		return "The alert should change to " + levelName(c)
	case c.Signal == spec.SigSounder:
		return "The sounder should " + either(c, "fall silent", "sound")
	default:
		return capital(signalName(c.Signal)) + " should " + either(c, "open", "close")
	}
}

func does(c *spec.Change) string {
	switch {
	case c.Signal == spec.SigAlert:
		return "The alert changes to " + levelName(c)
	case c.Signal == spec.SigSounder:
		return "The sounder " + either(c, "falls silent", "sounds")
	default:
		return capital(signalName(c.Signal)) + either(c, " opens", " closes")
	}
}

// timelines draws expected and observed one under the other.
func timelines(w io.Writer, r *runner.Result) {
	a := timing.Aligned{Mark: r.Departure.At, Label: func(second uint64) string { return r.Vector.At(second).Format("15:04:05") }}
	for s := spec.Signal(0); s < spec.NumSignals; s++ {
		if !shown(r, s) {
			continue
		}
		word := wire.SignalWord(s)
		a.Lanes = append(a.Lanes,
			timing.Lane{Name: word + " expected", Signal: s, Initial: r.Bound.Initial[s], Changes: r.Bound.Trace},
			timing.Lane{Name: word + " observed", Signal: s, Initial: r.Initial[s], Changes: r.Observed})
	}
	for _, step := range r.Vector.Steps {
		a.Extra = append(a.Extra, step.At)
	}
	a.Draw(w, "    ")
	fmt.Fprintln(w, "    # closed or sounding, _ not, * changes more than once in that second")
}

// shown reports whether a failure's drawing has the signal: the relays always, the others where they play a part.
func shown(r *runner.Result, s spec.Signal) bool {
	if s <= spec.SigCH || r.Initial[s] != r.Bound.Initial[s] {
		return true
	}
	for _, changes := range [...][]spec.Change{r.Bound.Trace, r.Observed} {
		for i := range changes {
			if changes[i].Signal == s {
				return true
			}
		}
	}
	return false
}

// Summary writes the verdicts by clause family, the clauses most likely broken, and the verdict on the whole.
func (r *Report) Summary(w io.Writer) {
	c := r.Counts()
	families, counts := r.byFamily()
	names := []string{"family"}
	for _, f := range families {
		names = append(names, f.ID+" "+f.Name)
	}
	width := 0
	for _, name := range names {
		width = max(width, len(name))
	}
	fmt.Fprintf(w, "%-*s  %6s  %6s  %12s  %14s\n", width, names[0], "pass", "fail", "inconclusive", "not applicable")
	row := func(name string, c *Counts) {
		fmt.Fprintf(w, "%-*s  %6d  %6d  %12d  %14d\n", width, name, c.Pass, c.Fail, c.Inconclusive, c.NotApplicable)
	}
	for i := range families {
		row(names[i+1], &counts[i])
	}
	row("all", &c)
	if broken := r.MostBroken(); len(broken) > 0 {
		fmt.Fprintln(w, "\nmost broken: of the vectors that list the clause, and that the unit's ICS calls for, how many failed")
		for _, b := range broken {
			text := wrap(r.Page.Clause(b.Clause).Text, textWidth-30)
			if len(text) > 1 {
				text[0] += " …"
			}
			fmt.Fprintf(w, "  %-6s  %4d of %-4d  %s\n", b.Clause, b.Failed, b.Applicable, text[0])
		}
	}
	fmt.Fprintf(w, "\nIUT      %s\nvectors  %d, checksum %.12s\n", r.Name(), len(r.Results), r.Checksum)
	if r.Known != nil {
		fmt.Fprintf(w, "known    %s, not shown: listed in %s\n", plural(c.Known, "failure"), r.Known.Name)
	}
	for i := range r.Complaints {
		fmt.Fprintf(w, "         %s: %s\n", r.Complaints[i].Place(), r.Complaints[i].Text())
	}
	fmt.Fprintf(w, "verdict  %s\n", r.verdict(&c))
	fmt.Fprintf(w, "\n%s\n", safetyNote)
}

// verdict words the verdict on the whole.
func (r *Report) verdict(c *Counts) string {
	parts := []string{r.unitsVerdict(c)}
	if c.new() > 0 && c.Known > 0 {
		parts = append(parts, "besides, "+plural(c.Known, "known failure"))
	}
	if !r.complete() && c.new() > 0 {
		parts = append(parts, r.interruption())
	}
	switch n := r.stale(); n {
	case 0:
	case 1:
		parts = append(parts, "what is listed as known in one place now passes")
	default:
		parts = append(parts, fmt.Sprintf("what is listed as known in %d places now passes", n))
	}
	return strings.Join(parts, "; ")
}

func (r *Report) unitsVerdict(c *Counts) string {
	switch {
	case c.new() > 0:
		return fmt.Sprintf("not conformant: %s", strings.Join(r.FailingFamilies(), ", "))
	case !r.complete():
		return "none: " + r.interruption()
	case c.Known > 0:
		return fmt.Sprintf("nothing new, but not conformant: %s", plural(c.Known, "known failure"))
	case c.Pass == 0:
		return "none: the unit's ICS calls for none of these vectors"
	case c.WithinTolerance > 0:
		return fmt.Sprintf("conformant, within tolerance: %s needed what the ICS allows", plural(c.WithinTolerance, "vector"))
	default:
		return "conformant, exactly"
	}
}

func (r *Report) interruption() string {
	return fmt.Sprintf("the run ended after %d of %s", len(r.Results), plural(r.Planned, "vector"))
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// wrap breaks a text into lines at spaces, of which it keeps those within a line.
func wrap(text string, width int) []string {
	text = strings.TrimSpace(strings.NewReplacer("\n", " ", "\t", " ").Replace(text))
	var lines []string
	for len(text) > width {
		cut := strings.LastIndexByte(text[:width+1], ' ')
		if cut < 0 {
			if cut = strings.IndexByte(text, ' '); cut < 0 {
				break
			}
		}
		lines = append(lines, strings.TrimRight(text[:cut], " "))
		text = strings.TrimLeft(text[cut:], " ")
	}
	return append(lines, text)
}
