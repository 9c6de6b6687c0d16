package suite

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Bound is a vector as it is for one unit: the words that stand for what differs from unit to unit are gone, and so is the channel
// that the unit does not have.
type Bound struct {
	Vector  *Vector
	Fits    []spec.Input
	Given   []spec.Input // the first ones return power and set the clock
	Steps   []BoundStep
	Initial [spec.NumSignals]spec.Level
	Trace   []spec.Change
}

// BoundStep is one input at its second. A step of the vector may be several.
type BoundStep struct {
	At    uint64
	Input spec.Input
	Want  spec.Outcome
	Step  int // of the vector, from 0
}

// Applies reports whether the unit's ICS calls for the vector; if not, why says what is missing.
func (v *Vector) Applies(ics *spec.ICS) (ok bool, why string) {
	for i := range v.Needs {
		if why = v.Needs[i].unmet(ics); why != "" {
			return false, why
		}
	}
	for _, step := range v.Steps {
		// A line that does not parse has words that differ from unit to unit, and so is no fit.
		in, err := wire.ParseInput(step.Do)
		if err != nil || in.Kind != spec.Fit || step.Want == spec.Unsupported {
			continue
		}
		if _, ok := ics.Fit(ics.Fitted, in.FitOption, in.FitValue); !ok {
			return false, "needs " + strings.TrimPrefix(step.Do, "fit ")
		}
	}
	fitted := ics.Fitted
	fitsChannels := false
	for _, in := range v.Fit {
		f, ok := ics.Fit(fitted, in.FitOption, in.FitValue)
		if !ok {
			return false, fmt.Sprintf("needs %s %s", wire.FitOptionWord(in.FitOption), wire.FitValueWord(in.FitOption, in.FitValue))
		}
		fitted = f
		fitsChannels = fitsChannels || in.FitOption == spec.FitChannels
	}
	if fitted.Channels != spec.BothChannels && !fitsChannels {
		for _, in := range v.Fit {
			if in.FitOption == spec.FitTiming && spec.Timing(in.FitValue) == spec.Shared ||
				in.FitOption == spec.FitCoupling && spec.Coupling(in.FitValue) == spec.Gravity {
				return false, "needs both channels"
			}
		}
	}
	return true, ""
}

// Requirements words everything the vector needs of a unit, and what it fits.
func (v *Vector) Requirements() []string {
	var list []string
	for i := range v.Needs {
		list = append(list, v.Needs[i].String())
	}
	for _, in := range v.Fit {
		list = append(list, fmt.Sprintf("%s %s fitted", wire.FitOptionWord(in.FitOption), wire.FitValueWord(in.FitOption, in.FitValue)))
	}
	return list
}

// String words the need.
func (n *Need) String() string {
	switch {
	case n.Boosts != nil:
		return fmt.Sprintf("boosts of %s minutes", strings.Trim(strings.ReplaceAll(fmt.Sprint(n.Boosts), " ", ", "), "[]"))
	case n.Words != nil:
		return n.Option + " " + strings.Join(n.Words, " or ")
	default:
		return n.Option + " " + n.bounds()
	}
}

// unmet says what the ICS lacks of the need, or "".
func (n *Need) unmet(ics *spec.ICS) string {
	switch {
	case n.Boosts != nil:
		for _, m := range n.Boosts {
			if m > int(ics.BoostLongest) || m%int(ics.BoostStep) != 0 {
				return fmt.Sprintf("needs a boost of %d minutes", m)
			}
		}
	case n.Words != nil:
		if !slices.Contains(n.Words, wire.Option(*ics, n.Option)) {
			return "needs " + n.String()
		}
	default:
		value, err := strconv.Atoi(wire.Option(*ics, n.Option))
		if err != nil || value < n.Min || value > n.Max {
			return "needs " + n.String()
		}
	}
	return ""
}

func (n *Need) bounds() string {
	switch {
	case n.Min == n.Max:
		return strconv.Itoa(n.Min)
	case n.Max == 1<<31-1:
		return fmt.Sprintf("of at least %d", n.Min)
	case n.Min == -1<<31:
		return fmt.Sprintf("of at most %d", n.Max)
	default:
		return fmt.Sprintf("from %d to %d", n.Min, n.Max)
	}
}

// Bind makes the vector one for a unit whose ICS calls for it. The error is for lines that are wrong whatever the unit.
func (v *Vector) Bind(ics *spec.ICS) (*Bound, error) {
	fitted := ics.Fitted
	for _, in := range v.Fit {
		fitted, _ = ics.Fit(fitted, in.FitOption, in.FitValue)
	}
	back := fitted // as the steps leave it; it counts when power returns (PWR-14)
	fitted = fitted.Effective()
	projected := fitted.Channels != spec.BothChannels
	for _, in := range v.Fit {
		projected = projected && in.FitOption != spec.FitChannels
	}
	x := expander{ics: ics, fitted: fitted, projected: projected}
	b := &Bound{Vector: v, Fits: v.Fit, Given: []spec.Input{{Kind: spec.PowerOn}}}
	if !v.ClockUnset {
		year, month, day := v.Start.Date()
		b.Given = append(b.Given, spec.Input{
			Kind:   spec.SetClock,
			Date:   spec.Date{Year: uint16(year), Month: uint8(month), Day: uint8(day)},
			Minute: uint16(v.Start.Hour()*60 + v.Start.Minute()),
		})
	}
	for i, line := range v.Given {
		inputs, err := x.expand(line)
		if err != nil {
			return nil, fmt.Errorf("given %d: %w", i+1, err)
		}
		b.Given = append(b.Given, inputs...)
	}
	for i, step := range v.Steps {
		inputs, err := x.expand(step.Do)
		if err != nil {
			return nil, fmt.Errorf("step %d: %w", i+1, err)
		}
		for _, in := range inputs {
			b.Steps = append(b.Steps, BoundStep{At: step.At, Input: in, Want: step.Want, Step: i})
			switch {
			case step.Want != spec.Accepted:
			case in.Kind == spec.Fit:
				back, _ = ics.Fit(back, in.FitOption, in.FitValue)
			case in.Kind == spec.PowerOn:
				x.fitted = back.Effective()
			}
		}
	}
	has := func(s spec.Signal) bool { return !projected || s > spec.SigCH || fitted.Channels.Has(spec.Channel(s)) }
	for s, level := range v.Initial {
		if has(spec.Signal(s)) {
			b.Initial[s] = level
		}
	}
	for _, c := range v.Trace {
		if has(c.Signal) {
			b.Trace = append(b.Trace, c)
		}
	}
	return b, nil
}

// expander turns the lines of a vector into inputs of one unit.
type expander struct {
	ics       *spec.ICS
	fitted    spec.Fitted
	projected bool // leave out the inputs of the channel that the unit does not have
}

func (x *expander) expand(line string) ([]spec.Input, error) {
	line = strings.ReplaceAll(line, "{credential}", x.credential())
	line = strings.ReplaceAll(line, "{wrong}", wrong(x.credential()))
	words := strings.Split(line, " ")
	var lines []string
	switch {
	case words[0] == "table":
		if len(words) < 4 {
			return nil, errors.New("a table line is 'table TABLE DAY PERIODS'")
		}
		edits, err := x.tableEdits(words[3:])
		if err != nil {
			return nil, err
		}
		for _, table := range x.tables(words[1]) {
			for _, day := range x.days(words[2]) {
				for _, edit := range edits {
					lines = append(lines, "period "+table+" "+day+" "+edit)
				}
			}
		}
	case words[0] == "period" && len(words) == 6:
		for _, table := range x.tables(words[1]) {
			for _, day := range x.days(words[2]) {
				lines = append(lines, strings.Join(append([]string{"period", table, day}, words[3:]...), " "))
			}
		}
	default:
		lines = []string{line}
	}
	var inputs []spec.Input
	for _, l := range lines {
		in, err := wire.ParseInput(l)
		if err != nil {
			return nil, err
		}
		if !x.projected || x.has(&in) {
			inputs = append(inputs, in)
		}
	}
	return inputs, nil
}

// tableEdits returns "SLOT ON OFF" for every slot of the unit.
func (x *expander) tableEdits(periods []string) ([]string, error) {
	if len(periods) == 1 && periods[0] == "none" {
		periods = nil
	}
	var edits []string
	for i, p := range periods {
		on, off, ok := strings.Cut(p, "-")
		if !ok {
			return nil, fmt.Errorf("%q is not a period such as 06:30-09:00", p)
		}
		edits = append(edits, fmt.Sprintf("%d %s %s", i+1, on, off))
	}
	for slot := len(periods) + 1; slot <= int(x.ics.Periods); slot++ {
		edits = append(edits, fmt.Sprintf("%d 00:00 00:00", slot))
	}
	return edits, nil
}

// tables returns the tables of the unit that a vector's table word stands for.
func (x *expander) tables(word string) []string {
	if word != wire.TableWord(spec.BothTables) || x.fitted.Timing == spec.Shared {
		return []string{word}
	}
	return []string{wire.TableWord(spec.HWTable), wire.TableWord(spec.CHTable)}
}

// days returns the days of the unit's cycle that a vector's day word stands for.
func (x *expander) days(word string) []string {
	if word != "every" {
		return []string{word}
	}
	var days []string
	for d := spec.Mon; d <= spec.All; d++ {
		if d.In(x.fitted.Cycle) {
			days = append(days, wire.DayWord(d))
		}
	}
	return days
}

// has reports whether the unit has the channel that an input is for.
func (x *expander) has(in *spec.Input) bool {
	switch in.Kind {
	case spec.SetMode, spec.Override, spec.Boost:
		return x.fitted.Channels.Has(in.Channel)
	case spec.SetPeriod:
		return in.Table == spec.BothTables || x.fitted.Channels.Has(spec.Channel(in.Table))
	default:
		return true
	}
}

// credential returns the unit's; for a unit without a lock, which refuses all of them alike, any.
func (x *expander) credential() string {
	if x.ics.Credential == "" {
		return "0000"
	}
	return x.ics.Credential
}

// wrong returns a credential that differs in its last digit.
func wrong(credential string) string {
	last := len(credential) - 1
	if credential[last] == '9' {
		return credential[:last] + "0"
	}
	return credential[:last] + string(credential[last]+1)
}

// checkLine reports a line that no unit could be given.
func checkLine(line string, given bool) error {
	if strings.HasPrefix(line, "table ") && !given {
		return errors.New("a table line is for 'given' only; name the periods")
	}
	ics := spec.FullICS()
	x := expander{ics: &ics, fitted: ics.Fitted}
	_, err := x.expand(line)
	return err
}
