package scenario

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"example.org/hearthbench/conformance/timing"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

const safetyNote = "This models time control only: it replaces no safety control, no frost or cylinder thermostat and no competent person. " +
	"Isolate and prove dead before any work on wiring."

// WriteTable writes the trace for a person to read: title and unit, a table of what happened and why, a drawing so many columns
// wide, and what to be careful of. All of it is ASCII but for what the file itself says.
func (t *Trace) WriteTable(w io.Writer, width int) error {
	var b strings.Builder
	s := t.Scenario
	fmt.Fprintf(&b, "%s\n\n", s.Title)
	fmt.Fprintf(&b, "unit   %s\n", unitWords(&s.ICS))
	clock := "clock set"
	if s.ClockUnset {
		clock = "clock left alone"
	}
	fmt.Fprintf(&b, "start  %s, %s\n", t.when(0), clock)
	for i, l := range s.Given {
		head := "given"
		if i > 0 {
			head = ""
		}
		fmt.Fprintf(&b, "%-6s %s\n", head, l.Text)
	}
	fmt.Fprintf(&b, "then   %s\n", t.initialWords())
	fmt.Fprintf(&b, "until  %s\n\n", t.when(s.Until))
	t.writeEntries(&b)
	b.WriteByte('\n')
	t.drawing(width).Draw(&b)
	for _, d := range t.Unmet() {
		fmt.Fprintf(&b, "\nDoes not hold: input %d (%s) expects %s, and was %s.\n",
			d.Number, d.Step.place(s.File), wire.OutcomeWord(d.Step.Expect.Outcome), wire.OutcomeWord(d.Reply.Outcome))
	}
	for _, l := range t.Limits {
		fmt.Fprintf(&b, "\n%s\n", l.words())
	}
	fmt.Fprintf(&b, "\n%s\n", safetyNote)
	_, err := io.WriteString(w, b.String())
	return err
}

// unitWords says what the unit is: what is fitted, what it has, and the choices that are not the default.
func unitWords(ics *spec.ICS) string {
	var words []string
	for o, value := range fittedValues(ics) {
		words = append(words, wire.FitOptionWord(spec.FitOption(o))+" "+wire.FitValueWord(spec.FitOption(o), value))
	}
	for _, name := range optionNames() {
		value := wire.Option(*ics, name)
		if standard, ok := wire.OptionDefault(name); !ok || value != standard {
			words = append(words, name+" "+value)
		}
	}
	return strings.Join(words, ", ")
}

// fittedValues returns what the fitted values amount to, by option.
func fittedValues(ics *spec.ICS) []uint8 {
	f := ics.Fitted.Effective()
	return []uint8{
		spec.FitChannels: uint8(f.Channels), spec.FitCycle: uint8(f.Cycle), spec.FitTiming: uint8(f.Timing), spec.FitCoupling: uint8(f.Coupling),
	}
}

// optionNames returns the options to show beside what is fitted, in the order of vectors/BEHAVIOUR.md: those that a scenario can
// state, but for the credential, which is nobody else's business.
func optionNames() []string {
	var names []string
	for _, name := range wire.OptionNames() {
		if fileFormat.Property("unit").Properties[name] != nil && name != "credential" {
			names = append(names, name)
		}
	}
	return names
}

// initialWords says what the signals are once everything given is done.
func (t *Trace) initialWords() string {
	var words []string
	for _, sig := range t.signals() {
		words = append(words, signalWords(sig, t.Initial[sig], true))
	}
	return strings.Join(words, ", ")
}

// signals returns the signals to show: the relays that the unit has, and of alert and sounder those with anything to show.
func (t *Trace) signals() []spec.Signal {
	var shown [spec.NumSignals]bool
	for sig, level := range t.Initial {
		shown[sig] = level != 0 || sig <= int(spec.SigCH) && t.Scenario.ICS.Fitted.Channels.Has(spec.Channel(sig))
	}
	for i := range t.Entries {
		if e := &t.Entries[i]; e.Input == nil {
			shown[e.Change.Signal] = true
		}
	}
	var all []spec.Signal
	for sig := range shown {
		if shown[sig] {
			all = append(all, spec.Signal(sig))
		}
	}
	return all
}

// signalWords says what a signal does when it comes to a level, or what it is like at one.
func signalWords(sig spec.Signal, level spec.Level, already bool) string {
	words := [...]string{"opens", "closes"}
	switch {
	case sig == spec.SigAlert:
		return wire.SignalWord(sig) + " " + wire.LevelWord(sig, level)
	case sig == spec.SigSounder:
		words = [...]string{"silent", "sounds"}
	case already:
		words = [...]string{"open", "closed"}
	}
	return wire.SignalWord(sig) + " " + words[level]
}

func (t *Trace) writeEntries(b *strings.Builder) {
	if len(t.Entries) == 0 {
		b.WriteString("Nothing changes.\n")
		return
	}
	var table strings.Builder
	tw := tabwriter.NewWriter(&table, 0, 0, 2, ' ', 0)
	fmt.Fprintln(tw, "#\twhen\tdisplay\twhat\twhy")
	for i := range t.Entries {
		e := &t.Entries[i]
		number, what := "", ""
		if d := e.Input; d != nil {
			number = fmt.Sprint(d.Number)
			what = d.Step.Text + ": " + wire.OutcomeWord(d.Reply.Outcome)
			if !d.Met {
				what += ", not " + wire.OutcomeWord(d.Step.Expect.Outcome)
			}
		} else {
			what = signalWords(e.Change.Signal, e.Change.Level, false)
		}
		fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t%s\n", number, t.when(e.At), e.Display.beside(e.Local), what, e.Why)
	}
	tw.Flush()
	for row := range strings.Lines(table.String()) {
		b.WriteString(strings.TrimRight(row, " \n") + "\n")
	}
}

// when writes the local time of a second, with its offset if the reading comes twice.
func (t *Trace) when(second uint64) string {
	local := t.Scenario.At(second)
	layout := "Mon 2006-01-02 15:04:05"
	utc := t.Scenario.start + int64(second)
	if len(t.Scenario.civil.Instants(utc+t.Scenario.civil.Offset(utc))) > 1 {
		layout += " -07:00"
	}
	return local.Format(layout)
}

// String returns the reading, "unset" or "no power".
func (d Display) String() string {
	switch {
	case !d.Power:
		return "no power"
	case !d.Set:
		return "unset"
	default:
		return d.Reading.Format(time.DateTime)
	}
}

// beside returns the display without its date where that is the true one.
func (d Display) beside(local time.Time) string {
	if d.Power && d.Set && d.Reading.Format(time.DateOnly) == local.Format(time.DateOnly) {
		return d.Reading.Format(time.TimeOnly)
	}
	return d.String()
}

// drawing returns the drawing of the trace.
func (t *Trace) drawing(width int) *timing.Linear {
	l := &timing.Linear{End: t.Scenario.Until, Local: t.Scenario.At, Width: width}
	var changes []spec.Change
	for i := range t.Entries {
		if e := &t.Entries[i]; e.Input != nil {
			l.Marks = append(l.Marks, timing.Mark{At: e.At, Number: e.Input.Number})
		} else {
			changes = append(changes, e.Change)
		}
	}
	for _, sig := range t.signals() {
		l.Lanes = append(l.Lanes, timing.Lane{Name: wire.SignalWord(sig), Signal: sig, Initial: t.Initial[sig], Changes: changes})
	}
	return l
}

// words says what a stage of the lock leaves, and whom that may concern.
func (l Limit) words() string {
	const hoursPerDay = 24
	var left []string
	for c, a := range l.Allowances {
		if a != spec.NoAllowance {
			left = append(left, fmt.Sprintf("%s to %d minutes an hour, so that at most %d minutes of heat a day remain", wire.ChannelWord(spec.Channel(c)), a, hoursPerDay*int(a)))
		}
	}
	return fmt.Sprintf("Stage %s of the lock limits %s. This can leave a house cold or a cylinder tepid and harm people who depend on it: take advice where tenants are concerned.",
		wire.StageWord(l.Stage), strings.Join(left, ", and "))
}
