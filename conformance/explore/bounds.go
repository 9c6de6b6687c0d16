package explore

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/emulator"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Bounds are what is explored.
type Bounds struct {
	ICS   spec.ICS
	Given []Letter // from new, all in second 0; each must be accepted
	// Letters are the alphabet, time apart. Dates in it are those of the days from the Monday before the start on: where states of
	// other days or weeks are taken for the same, a clock is set within the unit's own.
	Letters []Letter
	// Horizon is how far the clock may run from what Given sets, or from where a lost clock restarts, in seconds; 0 is no limit, and only for
	// a unit without automatic summer time. Time does not pass beyond it, and a state in which the clock is set beyond it is not gone on from.
	// Where every second counts, as with a firmware, it does not pass 4294967295 s from new either, to which it comes only with the clock unset.
	Horizon uint64
	// States is the most states that are kept; 0 is [DefaultStates]. With more the result is not complete.
	States int
}

// DefaultStates is how many states are kept if the bounds do not say: of the emulator alone they need about 750 MB.
const DefaultStates = 10_000_000

// MaxStates is the most states that can be kept. Of the emulator alone they were measured to need 3.5 GiB at the most (VmHWM on Linux of
// 'hearthbench explore --iut emulator --inputs override,clock,boost --horizon 90m --states 50000000').
const MaxStates = 50_000_000

// check reports what cannot be explored.
func (b *Bounds) check() error {
	var errs []error
	if err := b.ICS.Validate(); err != nil {
		errs = append(errs, err)
	}
	if len(b.Letters) == 0 {
		errs = append(errs, errors.New("no inputs: there is nothing to explore"))
	}
	if len(b.Letters) > maxInputs {
		errs = append(errs, fmt.Errorf("%d inputs; at most %d can be explored", len(b.Letters), maxInputs))
	}
	if b.Horizon > maxHorizon {
		errs = append(errs, fmt.Errorf("a horizon of %d s; it is 0 (none) to %d", b.Horizon, maxHorizon))
	}
	if b.Horizon == 0 && b.ICS.SummerTime {
		errs = append(errs, errors.New("a unit with automatic summer time needs a horizon: no two of its weeks are the same"))
	}
	if b.States < 0 || b.States > MaxStates {
		errs = append(errs, fmt.Errorf("%d states; at most %d can be kept", b.States, MaxStates))
	}
	return errors.Join(errs...)
}

const (
	maxInputs  = 1000
	maxHorizon = 3650 * calendar.Day
)

// start returns the unit after the given inputs.
func (b *Bounds) start() (emulator.Unit, error) {
	u, err := emulator.New(b.ICS)
	if err != nil {
		return u, err
	}
	for _, l := range b.Given {
		for _, in := range l.Inputs {
			if r, _ := u.Do(in, nil); r.Outcome != spec.Accepted {
				return u, fmt.Errorf("what is given must be accepted, and '%s' is not", l.Text)
			}
		}
	}
	return u, nil
}

// shifting says by what days two states may differ and still be one.
type shifting uint8

const (
	exact     shifting = iota // elapsed seconds matter: a firmware counts them
	noShift                   // dates matter: summer time, or a horizon
	weekShift                 // the day of the week matters
	dayShift                  // only the time of day matters
)

// shift is how far states may be shifted: dates matter to summer time only, and the day of the week to tables of their own days only.
func (b *Bounds) shift() shifting {
	if b.ICS.SummerTime || b.Horizon > 0 {
		return noShift
	}
	if b.ICS.Fitted.Cycle != spec.Cycle24h {
		return weekShift
	}
	for _, l := range b.Letters {
		for _, in := range l.Inputs {
			if in.Kind == spec.Fit && in.FitOption == spec.FitCycle {
				return weekShift
			}
		}
	}
	return dayShift
}

// Letter is something done to a unit in one second.
type Letter struct {
	Text   string
	Inputs []spec.Input // in this order
}

// ParseLetter makes a letter of a line of vectors/ADAPTER.md, with the words of vectors/VECTORS.md that stand for what differs from unit to
// unit.
func ParseLetter(ics *spec.ICS, line string) (Letter, error) {
	inputs, err := suite.Expand(ics, ics.Fitted, line)
	if err != nil {
		return Letter{}, fmt.Errorf("'%s': %w", line, err)
	}
	return Letter{Text: line, Inputs: inputs}, nil
}

// Group is a part of an alphabet that goes together.
type Group struct {
	Name  string
	About string
	lines []string
}

// Groups returns the parts of the alphabet that the command offers.
func Groups() []Group {
	return []Group{
		{"mode", "every mode on each channel", []string{
			"mode hw off", "mode hw table", "mode hw span", "mode hw always", "mode ch off", "mode ch table", "mode ch span", "mode ch always"}},
		{"override", "override on each channel", []string{"override hw", "override ch"}},
		{"boost", "an hour's boost on each channel, and its end", []string{"boost hw 60", "boost hw 0", "boost ch 60", "boost ch 0"}},
		{"holiday", "a holiday of two days, and its end", []string{"holiday 2", "holiday cancel"}},
		{"power", "the mains", []string{"power off", "power on"}},
		{"reset", "a reset", []string{"reset"}},
		{"lock", "arming with a day of counting and one of notice, removal, and a wrong credential", []string{
			"lock arm {credential} 2 1 none 30 20 15 08:00", "lock remove {credential}", "lock remove {wrong}"}},
		{"clock", "the clock set to two times of day", []string{"clock " + startDate + " 06:15", "clock " + startDate + " 07:00"}},
		{"table", "heating's table with one period and with two", []string{"table ch every 06:10-06:20", "table ch every " + startTable}},
		{"fit", "the coupling, at the back", []string{"fit coupling gravity", "fit coupling independent"}},
	}
}

// The start of every exploration by groups: a Monday far from summer time, before the first period. The periods lie close together, so that
// boosts reach over several of their ends, and a firmware that counts every second is soon there.
const (
	startDate  = "2026-11-16"
	startTime  = "06:00"
	startTable = "06:10-06:20 06:40-07:20"
)

// ForGroups returns the bounds in which a unit that has just been powered on, with two periods, is given the
// inputs of some groups. Inputs that the unit does not have are left out.
func ForGroups(ics spec.ICS, names []string) (Bounds, error) {
	b := Bounds{ICS: ics}
	table := "both"
	switch ics.Fitted.Channels {
	case spec.OnlyHW:
		table = "hw"
	case spec.OnlyCH:
		table = "ch"
	}
	for _, line := range []string{"power on", "clock " + startDate + " " + startTime, "table " + table + " every " + startTable} {
		l, err := ParseLetter(&ics, line)
		if err != nil {
			return b, err
		}
		b.Given = append(b.Given, l)
	}
	u, err := b.start()
	if err != nil {
		return b, err
	}
	for _, name := range names {
		i := slices.IndexFunc(Groups(), func(g Group) bool { return g.Name == name })
		if i < 0 {
			return b, fmt.Errorf("'%s' is no group of inputs; there are %s", name, groupNames())
		}
		for _, line := range Groups()[i].lines {
			l, err := ParseLetter(&ics, line)
			if err != nil || !has(u, &l) {
				continue
			}
			b.Letters = append(b.Letters, l)
		}
	}
	return b, nil
}

// has reports whether the unit has what the letter is for.
func has(u emulator.Unit, l *Letter) bool {
	for _, in := range l.Inputs {
		if r, _ := u.Do(in, nil); r.Outcome == spec.Unsupported {
			return false
		}
	}
	return true
}

func groupNames() string {
	var names []string
	for _, g := range Groups() {
		names = append(names, g.Name)
	}
	return strings.Join(names, ", ")
}
