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
	for _, line := range v.Given {
		if value, listed := fitLine(ics, line); value != "" && !listed {
			return false, "needs " + value
		}
	}
	for _, step := range v.Steps {
		value, listed := fitLine(ics, step.Do)
		switch want := step.Want != spec.Unsupported; {
		case value == "" || want == listed:
		case want:
			return false, "needs " + value
		default:
			return false, "needs a unit that cannot be fitted with " + value
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

// fitLine returns what a line fits, or "" for another line, and whether the unit can be fitted so.
func fitLine(ics *spec.ICS, line string) (value string, listed bool) {
	value, ok := strings.CutPrefix(line, "fit ")
	if !ok {
		return "", false
	}
	in, err := wire.ParseInput(line)
	if err != nil {
		return "", false
	}
	_, listed = ics.Fit(ics.Fitted, in.FitOption, in.FitValue)
	return value, listed
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
	case n.Max == unbounded.Max:
		return fmt.Sprintf("of at least %d", n.Min)
	case n.Min == unbounded.Min:
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
	done := func(in *spec.Input) {
		switch in.Kind {
		case spec.Fit:
			back, _ = ics.Fit(back, in.FitOption, in.FitValue)
		case spec.PowerOn:
			x.fitted = back.Effective()
		}
	}
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
		before := len(b.Given)
		var err error
		if b.Given, err = x.expand(b.Given, line); err != nil {
			return nil, fmt.Errorf("given %d: %w", i+1, err)
		}
		for i := range b.Given[before:] {
			done(&b.Given[before+i])
		}
	}
	var inputs []spec.Input
	for i, step := range v.Steps {
		var err error
		if inputs, err = x.expand(inputs[:0], step.Do); err != nil {
			return nil, fmt.Errorf("step %d: %w", i+1, err)
		}
		for n := range inputs {
			b.Steps = append(b.Steps, BoundStep{At: step.At, Input: inputs[n], Want: step.Want, Step: i})
			if step.Want == spec.Accepted {
				done(&inputs[n])
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

// expand appends the inputs that a line stands for.
func (x *expander) expand(dst []spec.Input, line string) ([]spec.Input, error) {
	if strings.Contains(line, "{") {
		right := x.credential()
		last := len(right) - 1
		line = strings.NewReplacer(
			"{credential}", right,
			"{wrong}", wrong(right, last),
			"{wrong-first}", wrong(right, 0),
			"{short}", right[:last],
		).Replace(line)
	}
	switch first, rest, _ := strings.Cut(line, " "); first {
	case "raw":
		line = rest
	case "table":
		words := strings.Split(rest, " ")
		if len(words) < 3 {
			return nil, errors.New("a table line is 'table TABLE DAY PERIODS'")
		}
		return x.table(dst, words[0], words[1], words[2:])
	case "period":
		words := strings.Split(rest, " ")
		if len(words) != 5 {
			break
		}
		edit, err := x.edit(words[0], words[1], words[2], words[3], words[4])
		if err != nil {
			return nil, err
		}
		return x.everywhere(dst, words[1], []spec.Input{edit}), nil
	}
	in, err := wire.ParseInput(line)
	if err != nil {
		return nil, err
	}
	if x.projected && !x.has(&in) {
		return dst, nil
	}
	return append(dst, in), nil
}

// table appends the edits of a table line, for every slot of the unit.
func (x *expander) table(dst []spec.Input, table, day string, periods []string) ([]spec.Input, error) {
	if len(periods) == 1 && periods[0] == "none" {
		periods = nil
	}
	inactive, err := x.edit(table, day, "1", "00:00", "00:00")
	if err != nil {
		return nil, err
	}
	edits := make([]spec.Input, 0, max(len(periods), int(x.ics.Periods)))
	for i, p := range periods {
		on, off, ok := strings.Cut(p, "-")
		if !ok {
			return nil, fmt.Errorf("%q is not a period such as 06:30-09:00", p)
		}
		edit, err := x.edit(table, day, strconv.Itoa(i+1), on, off)
		if err != nil {
			return nil, err
		}
		edits = append(edits, edit)
	}
	for slot := len(periods) + 1; slot <= int(x.ics.Periods); slot++ {
		inactive.Slot = uint8(slot)
		edits = append(edits, inactive)
	}
	return x.everywhere(dst, day, edits), nil
}

// edit returns the edit of one period, with day Mon where the word is the one for every day.
func (x *expander) edit(table, day, slot, on, off string) (spec.Input, error) {
	if day == every {
		day = wire.DayWord(spec.Mon)
	}
	return wire.ParseInput("period " + table + " " + day + " " + slot + " " + on + " " + off)
}

const every = "every"

// everywhere appends edits of one table and day for each table and day of the unit that the words stand for.
func (x *expander) everywhere(dst []spec.Input, day string, edits []spec.Input) []spec.Input {
	tables := []spec.TableID{edits[0].Table}
	if tables[0] == spec.BothTables && x.fitted.Timing == spec.Separate {
		tables = []spec.TableID{spec.HWTable, spec.CHTable}
	}
	days := make([]spec.Day, 0, spec.All+1)
	if day == every {
		for d := spec.Mon; d <= spec.All; d++ {
			if d.In(x.fitted.Cycle) {
				days = append(days, d)
			}
		}
	} else {
		days = append(days, edits[0].Day)
	}
	dst = slices.Grow(dst, len(tables)*len(days)*len(edits))
	for _, table := range tables {
		for _, day := range days {
			for i := range edits {
				edits[i].Table, edits[i].Day = table, day
				if !x.projected || x.has(&edits[i]) {
					dst = append(dst, edits[i])
				}
			}
		}
	}
	return dst
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

// wrong returns a credential that differs in one digit alone, counted from 0.
func wrong(credential string, digit int) string {
	digits := []byte(credential)
	digits[digit] = '0' + (digits[digit]-'0'+1)%10
	return string(digits)
}

// lineChecker reports lines that no unit could be given. It remembers those that are right: a file has the same few again and again.
type lineChecker struct {
	right  map[string]bool
	inputs []spec.Input // room for what a line is expanded to
}

func (c *lineChecker) check(line string, given bool) (err error) {
	if strings.HasPrefix(line, "table ") && !given {
		return errors.New("a table line is for 'given' only; name the periods")
	}
	if c.right[line] {
		return nil
	}
	// What differs from unit to unit is how many inputs a line is, so the unit of which it is fewest will do.
	x := expander{ics: &spec.ICS{Periods: 1}, fitted: spec.Fitted{Cycle: spec.Cycle24h, Timing: spec.Shared}}
	if c.inputs, err = x.expand(c.inputs[:0], line); err != nil {
		return err
	}
	if c.right == nil {
		c.right = map[string]bool{}
	}
	c.right[line] = true
	return nil
}

// Expand turns a line of ADAPTER.md, with the words of VECTORS.md that stand for what differs from unit to unit, into the inputs of a
// unit that is fitted so.
func Expand(ics *spec.ICS, fitted spec.Fitted, line string) ([]spec.Input, error) {
	x := expander{ics: ics, fitted: fitted.Effective()}
	return x.expand(nil, line)
}
