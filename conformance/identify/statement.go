package identify

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/iut"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// WriteICS writes an ICS file as [wire.ReadICS] reads it. An option that is not settled has '?' for its value, which is refused there: it is
// for whoever knows to put in what it is.
func (r *Result) WriteICS(w io.Writer) error {
	var b bytes.Buffer
	open := map[string]bool{}
	for _, o := range r.Unsettled {
		fmt.Fprintf(&b, "# not settled: %s %s: %s\n", strings.Join(o.Options, " and "), o.Values, o.Why)
		for _, name := range o.Options {
			open[name] = true
		}
	}
	for _, o := range r.Idle {
		fmt.Fprintf(&b, "# makes no difference: %s: %s\n", strings.Join(o.Options, " and "), o.Why)
	}
	for line := range strings.Lines(string(wire.AppendICS(nil, r.ICS))) {
		switch name := strings.Fields(line)[1]; {
		case name == "credential" && !r.ICS.Lock:
		case open[name]:
			fmt.Fprintf(&b, "ics %s ?\n", name)
		default:
			b.WriteString(line)
		}
	}
	_, err := w.Write(b.Bytes())
	return err
}

// Give narrows an option to a value that is known beforehand, as the protocol words it; of what is fitted, the value that is. The error
// says what is wrong with either, or that nothing remains.
func (s *Space) Give(option, text string) error {
	f := slices.IndexFunc(optionsOf[:], func(options []string) bool { return slices.Contains(options, option) })
	if f < 0 || option == "credential" {
		return fmt.Errorf("'%s' is no option that can be given; there are %s", option, strings.Join(givable(), ", "))
	}
	of := func(v value) string {
		ics := s.anyICS(Factor(f), v)
		return wire.Option(ics, option)
	}
	if Factor(f) <= Coupling {
		o := fitOptions[f]
		if _, err := wire.ParseFitValue(o, text); err != nil {
			return err
		}
		of = func(v value) string { return wire.FitValueWord(o, fittedOf(v)) }
	} else {
		var scratch spec.ICS
		if err := wire.SetOption(&scratch, option, text); err != nil {
			return err
		}
	}
	var left []value
	for _, v := range s.values[f] {
		if of(v) == text {
			left = append(left, v)
		}
	}
	if len(left) == 0 {
		return fmt.Errorf("%s %s: that is not among what is looked for: %s", option, text, s.words(Factor(f)))
	}
	s.values[f] = left
	return nil
}

func givable() (names []string) {
	for _, options := range optionsOf {
		for _, name := range options {
			if name != "credential" {
				names = append(names, name)
			}
		}
	}
	return names
}

// Difference is an option of which a unit's statement says something else than the unit does.
type Difference struct {
	Options       []string
	States, Found string
}

// Compare holds a statement against what was found. What makes no difference to such a unit, what is not settled, and tolerances do
// not count.
func (r *Result) Compare(space *Space, states spec.ICS) (list []Difference) {
	stated := space.canonical(space.valuesOf(&states))
	found := space.canonical(space.valuesOf(&r.ICS))
	for f := range Factor(NumFactors) {
		open := slices.ContainsFunc(r.Unsettled, func(o Open) bool { return slices.Equal(o.Options, optionsOf[f]) })
		if stated[f] != found[f] && !open {
			list = append(list, Difference{f.Options(), space.word(f, stated[f]), space.word(f, found[f])})
		}
	}
	return list
}

// As returns the unit with another conformance statement in the place of its own, for whoever puts vectors to it. Which channels a reader
// of its answers takes for fitted when a script begins is still what it stated itself.
func As(unit iut.IUT, ics spec.ICS) iut.IUT {
	if i, ok := unit.(iut.Inexact); ok {
		return &inexactAs{as{unit, ics}, i}
	}
	return &as{unit, ics}
}

type as struct {
	iut.IUT
	ics spec.ICS
}

func (a *as) ICS() spec.ICS { return a.ics }

type inexactAs struct {
	as
	inexact iut.Inexact
}

func (a *inexactAs) Slack() uint64 { return a.inexact.Slack() }
