package capture

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"example.org/hearthbench/conformance/recording"
	"example.org/hearthbench/conformance/runner"
	"example.org/hearthbench/conformance/timing"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// WriteText writes the result for a person: what was compared, the first departure with what was expected and what was seen one above the
// other, how the clocks compare, what bounced, and the verdict.
func (res *Result) WriteText(w io.Writer) error {
	var b strings.Builder
	r, s := res.Recording, res.Trace.Scenario
	field := func(name, format string, args ...any) {
		fmt.Fprintf(&b, "%-9s %s\n", name, fmt.Sprintf(format, args...))
	}
	resolution := "resolution " + seconds(r.Resolution.Seconds())
	switch {
	case r.Sampled:
		resolution = "sampled every " + seconds(r.Resolution.Seconds())
	case r.Resolution == 0:
		resolution = "a row for each change"
	}
	field("capture", "%s: %s, %s long, %s", r.File, r.Format, seconds(r.Length.Seconds()), resolution)
	field("scenario", "%s: %s", s.File, s.Title)
	field("", "%s to %s", res.when(0), res.when(float64(s.Until)))
	field("start", "%s", res.startWords())
	field("tolerance", "%s beyond the ICS's, drift up to %.4g ppm", seconds(res.Options.Tolerance.Seconds()), res.Limit)
	b.WriteByte('\n')
	res.table(&b)
	b.WriteByte('\n')
	field("drift", "%s", res.driftWords())
	field("offset", "%s", res.offsetWords())
	if res.Departure != nil {
		b.WriteByte('\n')
		field("departs", "%s  %s", res.when(res.Departure.At), res.DepartureWords())
		if text := res.reasonWords(); text != "" {
			field("expected", "%s", text)
		}
		b.WriteByte('\n')
		res.timelines(&b)
	}
	if len(res.Hints) > 0 {
		b.WriteByte('\n')
	}
	for _, hint := range res.Hints {
		field("perhaps", "%s", hint)
	}
	if len(res.Missing) > 0 {
		b.WriteByte('\n')
	}
	for i, m := range res.Missing {
		field([]string{"missing", ""}[min(i, 1)], "%s", m)
	}
	b.WriteByte('\n')
	field("verdict", "%s", res.VerdictWords())
	fmt.Fprintf(&b, "\nThis compares times of switching only: no safety control, no temperature, no wiring. %s\n", SafetyNote)
	_, err := io.WriteString(w, b.String())
	return err
}

// VerdictWords words the verdict.
func (res *Result) VerdictWords() string {
	var asked []string
	expected, matched := 0, 0
	for sig := range res.Signals {
		if m := &res.Signals[sig]; m.Asked {
			asked = append(asked, wire.SignalWord(spec.Signal(sig)))
			expected, matched = expected+m.Expected, matched+m.Matched
		}
	}
	of := strings.Join(asked, ", ")
	switch {
	case res.Verdict == runner.Fail:
		return fmt.Sprintf("fail: %s", res.DepartureWords())
	case res.Verdict == runner.Inconclusive && expected > 0:
		return fmt.Sprintf("inconclusive: nothing departs in what was recorded of %s, but not all of it was; %d of %d changes matched", of, matched, expected)
	case res.Verdict == runner.Inconclusive:
		return "inconclusive: not all was recorded of " + of
	case res.Exact:
		return fmt.Sprintf("pass, exactly: every change of %s came in its second", of)
	default:
		return fmt.Sprintf("pass, within tolerance: %s needed what the tolerances allow", of)
	}
}

func (res *Result) startWords() string {
	text := fmt.Sprintf("%.3f s after the first sample", res.Start)
	if !res.Recording.Origin.IsZero() {
		text += ", " + res.Recording.Origin.Add(time.Duration(res.Start*1e9)).Format("2006-01-02T15:04:05.000Z07:00")
	}
	switch {
	case res.Options.Align:
		return text + " (found by alignment)"
	case res.Options.Start == 0:
		return "the first sample"
	default:
		return text + " (as stated)"
	}
}

func (res *Result) driftWords() string {
	g := res.Gain
	if !g.Known {
		return fmt.Sprintf("not estimated: that takes %d changes, and %d were matched", fewestPoints, res.Fitted)
	}
	text := fmt.Sprintf("the unit's clock %s %.1f ppm (%.2f s a day) against the recorder's, give or take %.1f ppm; from %d changes",
		gains(g.Value), math.Abs(g.Value), math.Abs(g.Value)*86400/1e6, g.Uncertainty, res.Fitted)
	switch {
	case math.Abs(g.Value)-g.Uncertainty > res.Limit:
		text += fmt.Sprintf("; more than the %.4g ppm allowed", res.Limit)
	case res.Used == 0:
		text += "; not needed for the verdict"
	default:
		text += fmt.Sprintf("; judged with %+.1f ppm", res.Used)
	}
	return text
}

func gains(ppm float64) string {
	if ppm < 0 {
		return "loses"
	}
	return "gains"
}

func (res *Result) offsetWords() string {
	if !res.Offset.Known {
		return "not estimated: no change was matched"
	}
	if res.Options.Align {
		return fmt.Sprintf("none: the start was found from the changes themselves, give or take %.3f s", res.Offset.Uncertainty)
	}
	side := "after"
	if res.Offset.Value < 0 {
		side = "before"
	}
	return fmt.Sprintf("changes come %.3f s %s what the start asks for, give or take %.3f s", math.Abs(res.Offset.Value), side, res.Offset.Uncertainty)
}

// table writes a row for each signal.
func (res *Result) table(b *strings.Builder) {
	var text strings.Builder
	tw := tabwriter.NewWriter(&text, 0, 0, 2, ' ', 0)
	fmt.Fprintln(tw, "signal\tcolumn\tmatched\tlargest deviation\tbounced\tlongest\tglitches")
	for s := range res.Signals {
		m := &res.Signals[s]
		word := wire.SignalWord(spec.Signal(s))
		if !m.Asked {
			continue
		}
		line := res.Recording.Lines[s]
		if line == nil {
			fmt.Fprintf(tw, "%s\tnot mapped\n", word)
			continue
		}
		name := line.Name
		if line.Inverted {
			name += " (active low)"
		}
		deviation := "-"
		if m.Matched > 0 {
			deviation = fmt.Sprintf("%+.3f s", m.Largest)
		}
		bounce, longest := "no", "-"
		if line.Bounce.Count > 0 {
			bounce, longest = fmt.Sprint(line.Bounce.Count), seconds(line.Bounce.Longest.Seconds())
		}
		glitches := "no"
		if line.Bounce.Glitches > 0 {
			glitches = fmt.Sprintf("%d, up to %s", line.Bounce.Glitches, seconds(line.Bounce.LongestGlitch.Seconds()))
		}
		fmt.Fprintf(tw, "%s\t%s\t%d of %d\t%s\t%s\t%s\t%s\n", word, name, m.Matched, m.Expected, deviation, bounce, longest, glitches)
	}
	tw.Flush()
	for row := range strings.Lines(text.String()) {
		b.WriteString(strings.TrimRight(row, " \n") + "\n")
	}
}

var signalNames = [...]string{spec.SigHW: "the hot-water relay", spec.SigCH: "the heating relay", spec.SigAlert: "the alert", spec.SigSounder: "the sounder"}

// doing words a change to a level: "the heating relay opens", or with "should": "the heating relay should open".
func doing(sig spec.Signal, level spec.Level, should bool) string {
	verb := map[bool][2]string{false: {"opens", "closes"}, true: {"should open", "should close"}}[should]
	switch sig {
	case spec.SigAlert:
		return signalNames[sig] + map[bool]string{false: " changes to ", true: " should change to "}[should] + "'" + wire.LevelWord(sig, level) + "'"
	case spec.SigSounder:
		verb = map[bool][2]string{false: {"falls silent", "sounds"}, true: {"should fall silent", "should sound"}}[should]
	}
	return signalNames[sig] + " " + verb[level]
}

// being words a level.
func being(sig spec.Signal, level spec.Level) string {
	switch sig {
	case spec.SigAlert:
		return "'" + wire.LevelWord(sig, level) + "'"
	case spec.SigSounder:
		return [...]string{"silent", "sounding"}[level]
	default:
		return [...]string{"open", "closed"}[level]
	}
}

func capital(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

// DepartureWords says in a sentence or two what differed; "" if nothing did.
func (res *Result) DepartureWords() string {
	d := res.Departure
	if d == nil {
		return ""
	}
	switch d.Kind {
	case Missing:
		return capital(doing(d.Signal, d.Change.Change.Level, true)) + fmt.Sprintf(" by %s; it did not.", d.Change.Change.By)
	case Late:
		return capital(doing(d.Signal, d.Change.Change.Level, true)) +
			fmt.Sprintf(" by %s; it did so only at %s, %s late.", d.Change.Change.By, res.when(d.Seen), seconds(d.Seen-float64(d.Change.At)))
	case WrongLevel:
		level := res.expectations[d.Signal].initial
		if d.Since != nil {
			level = d.Since.Change.Level
		}
		return fmt.Sprintf("%s is %s here; it should be %s.", capital(signalNames[d.Signal]), being(d.Signal, d.Level), being(d.Signal, level))
	default: // Unexpected
		text := capital(doing(d.Signal, d.Level, false)) + "; it should not."
		if d.Change != nil {
			text += fmt.Sprintf(" It next changes at %s, by %s.", res.when(float64(d.Change.At)), d.Change.Change.By)
		} else {
			text += " It does not change again."
		}
		return text
	}
}

// reasonWords says why what was expected was.
func (res *Result) reasonWords() string {
	d := res.Departure
	switch {
	case d.Kind == Missing || d.Kind == Late:
		return fmt.Sprintf("%s at %s: %s", doing(d.Signal, d.Change.Change.Level, false), res.when(float64(d.Change.At)), d.Change.Why)
	case d.Since != nil:
		return fmt.Sprintf("%s since %s: %s", being(d.Signal, d.Since.Change.Level), res.when(float64(d.Since.At)), d.Since.Why)
	default:
		return fmt.Sprintf("%s from the start on", being(d.Signal, res.expectations[d.Signal].initial))
	}
}

// timelines draws expected and seen one above the other. A change that was matched is drawn where it was expected.
func (res *Result) timelines(b *strings.Builder) {
	d := res.Departure
	mark := uint64(math.Round(max(0, d.At)))
	a := timing.Aligned{Mark: mark, Label: func(second uint64) string { return res.Trace.Scenario.At(second).Format("15:04:05") }}
	for s := range res.Signals {
		sig := spec.Signal(s)
		line := res.line(sig)
		if line == nil {
			continue
		}
		x := &res.expectations[s]
		var want []spec.Change
		for i := range x.changes {
			want = append(want, *x.changes[i].Change)
		}
		initial, seen, hidden := res.seen(sig, line)
		word := wire.SignalWord(sig)
		a.Lanes = append(a.Lanes,
			timing.Lane{Name: word + " expected", Signal: sig, Initial: x.initial, Changes: want},
			timing.Lane{Name: word + " observed", Signal: sig, Initial: initial, Changes: seen})
		if len(hidden) > 0 {
			a.Lanes = append(a.Lanes, timing.Lane{Name: word + " no data", Signal: spec.SigSounder, Changes: hidden})
		}
	}
	for i := range res.Trace.Entries {
		if e := &res.Trace.Entries[i]; e.Input != nil {
			a.Extra = append(a.Extra, e.At)
		}
	}
	a.Draw(b, "    ")
	fmt.Fprintln(b, "    # closed or sounding, _ not, * changes more than once in that second; under 'no data', # is where nothing was recorded")
}

// seen returns a line as changes in seconds of the scenario, and where nothing is known as changes of a signal that is then 1.
func (res *Result) seen(sig spec.Signal, line *recording.Line) (initial spec.Level, changes, hidden []spec.Change) {
	expectedAt := map[float64]uint64{}
	for _, p := range res.Signals[sig].pairs {
		expectedAt[p.edge.at] = p.change.At
	}
	level, dark := spec.Level(0), spec.Level(0)
	for _, s := range line.Levels {
		from := res.second(s.From.Seconds())
		at, ok := expectedAt[s.From.Seconds()]
		if !ok {
			at = uint64(math.Round(max(0, from)))
		}
		now := spec.Level(0)
		if s.Level == recording.Unknown {
			now = 1
		}
		if now != dark {
			dark = now
			hidden = append(hidden, spec.Change{At: at, Signal: spec.SigSounder, Level: now})
		}
		switch {
		case s.Level == recording.Unknown || s.Level == level && from > 0:
		case from <= 0 && !ok:
			initial, level = s.Level, s.Level
		default:
			level = s.Level
			changes = append(changes, spec.Change{At: at, Signal: sig, Level: level})
		}
	}
	// Before the start and after the end nothing is missed.
	hidden = slices.DeleteFunc(hidden, func(c spec.Change) bool { return c.At > res.Trace.Scenario.Until })
	if len(hidden) == 1 && hidden[0].Level == 0 || len(hidden) == 2 && hidden[0].At == hidden[1].At {
		hidden = nil
	}
	return initial, changes, hidden
}
