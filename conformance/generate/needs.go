package generate

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"

	"example.org/hearthbench/conformance/oracle"
	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// alternative is a value that an option of a unit may have, as a change of its statement.
type alternative func(*spec.ICS)

// demand is one thing that a vector may need of a unit: the ways to word it, from nothing to everything, and the values that the option
// may have where it is not asked for.
type demand struct {
	option       string // as the array names it
	forms        [][]suite.Need
	fit          []spec.Input // instead of needs: forms are without and with it
	alternatives []alternative
}

// mixtures is how many units with many options changed at random a vector is tried on, beside those of the array's rows.
const mixtures = 12

// settle finds what a vector needs of a unit, by trying: of each option it takes the weakest form with which the vector holds on every
// unit tried: with that option changed by itself, then with every two options changed together, then with mixtures.
func settle(v *suite.Vector, base *spec.ICS) error {
	demands := demandsOf(v, base)
	chosen := make([]int, len(demands))
	for i := range demands {
		chosen[i] = demands[i].strongest()
	}
	for i := range demands {
		for chosen[i] = 0; chosen[i] < demands[i].strongest(); chosen[i]++ {
			apply(v, demands, chosen)
			if holdsOnAll(v, base, demands[i].alternatives) {
				break
			}
		}
	}
	apply(v, demands, chosen)
	for _, r := range arrayOnce() {
		if err := settleMixture(v, base, demands, chosen, func(d *demand) alternative { return r[d.option] }); err != nil {
			return err
		}
	}
	draw := rand.New(rand.NewPCG(20, 26))
	for range mixtures {
		if err := settleMixture(v, base, demands, chosen, func(d *demand) alternative { return d.alternatives[draw.IntN(len(d.alternatives))] }); err != nil {
			return err
		}
	}
	return nil
}

// arrayOnce returns the array's rows, each as changes of a statement, by option.
var arrayOnce = sync.OnceValue(func() []map[string]alternative {
	var rows []map[string]alternative
	for _, r := range coveringArray() {
		m := map[string]alternative{}
		for _, o := range options {
			m[o.name] = r.alternative(o.name)
		}
		rows = append(rows, m)
	}
	return rows
})

// settleMixture tries a unit with many options changed at once. If the vector does not hold there, that is put down to the first
// option without whose change it does.
func settleMixture(v *suite.Vector, base *spec.ICS, demands []demand, chosen []int, pick func(*demand) alternative) error {
	picked := make([]alternative, len(demands))
	ics := *base
	for i := range demands {
		picked[i] = pick(&demands[i])
		changed := ics
		if picked[i](&changed); changed.Validate() == nil && applies(v, &changed) {
			ics = changed
		} else {
			picked[i] = nil
		}
	}
	if ics == *base || holds(v, &ics) {
		return nil
	}
	for i := range demands {
		if picked[i] == nil || chosen[i] == demands[i].strongest() {
			continue
		}
		ics := *base
		for j, a := range picked {
			if a != nil && j != i {
				a(&ics)
			}
		}
		if holds(v, &ics) {
			chosen[i] = demands[i].strongest()
			apply(v, demands, chosen)
			return nil
		}
	}
	return fmt.Errorf("%s: no one option explains why it does not hold on a unit that meets its needs", v.ID)
}

// apply writes the chosen forms into the vector.
func apply(v *suite.Vector, demands []demand, chosen []int) {
	v.Needs, v.Fit = nil, nil
	for i := range demands {
		d := &demands[i]
		switch {
		case d.fit == nil:
			v.Needs = append(v.Needs, d.forms[chosen[i]]...)
		case chosen[i] > 0:
			v.Fit = append(v.Fit, d.fit...)
		}
	}
	slices.SortFunc(v.Needs, func(a, b suite.Need) int {
		if a.Option < b.Option {
			return -1
		}
		return 1
	})
}

func (d *demand) strongest() int {
	if d.fit != nil {
		return 1
	}
	return len(d.forms) - 1
}

func applies(v *suite.Vector, ics *spec.ICS) bool {
	ok, _ := v.Applies(ics)
	return ok
}

// holdsOnAll reports whether the vector holds on every unit with one alternative that it applies to.
func holdsOnAll(v *suite.Vector, base *spec.ICS, alternatives []alternative) bool {
	for _, a := range alternatives {
		ics := *base
		a(&ics)
		if ics != *base && ics.Validate() == nil && applies(v, &ics) && !holds(v, &ics) {
			return false
		}
	}
	return true
}

// holds reports whether the emulator of a unit gives the vector's trace.
func holds(v *suite.Vector, ics *spec.ICS) bool {
	b, err := v.Bind(ics)
	return err == nil && departure(b, oracle.Play(b, v.Until, oracle.Emulator(*ics))) == ""
}

// departure says in what a model's run is not what a vector has, or "".
func departure(b *suite.Bound, r oracle.Run) string {
	for i, reply := range r.Given {
		if reply.Outcome != spec.Accepted {
			return fmt.Sprintf("given input %d is not accepted", i+1)
		}
	}
	for i, reply := range r.Replies {
		if s := &b.Steps[i]; reply.Outcome != s.Want {
			return fmt.Sprintf("step %d is %s, not %s", s.Step+1, wire.OutcomeWord(reply.Outcome), wire.OutcomeWord(s.Want))
		}
	}
	if r.Initial != b.Initial {
		return fmt.Sprintf("it begins with %v, not %v", r.Initial, b.Initial)
	}
	for i := range max(len(r.Changes), len(b.Trace)) {
		if i >= len(r.Changes) || i >= len(b.Trace) {
			return fmt.Sprintf("it has %d changes, not %d", len(r.Changes), len(b.Trace))
		}
		have, want := r.Changes[i], b.Trace[i]
		if have.Cause, have.Slot = spec.NoCause, 0; have != want {
			return fmt.Sprintf("change %d is %s, not %s", i+1, wire.AppendChange(nil, have), wire.AppendChange(nil, want))
		}
	}
	return ""
}

// demandsOf lists what a vector might need, with the base unit's value of each as the strongest form.
func demandsOf(v *suite.Vector, base *spec.ICS) []demand {
	var all []demand
	for _, in := range v.Fit {
		d := demand{option: wire.FitOptionWord(in.FitOption), fit: []spec.Input{in}}
		for value := range uint8(len(wire.FitWords(in.FitOption))) {
			d.alternatives = append(d.alternatives, func(s *spec.ICS) { s.Fitted, _ = s.Fit(s.Fitted, in.FitOption, value) })
		}
		all = append(all, d)
	}
	for _, name := range wire.OptionNames() {
		if words := wire.OptionWords(name); words != nil {
			exactly := suite.Need{Option: name, Words: []string{wire.Option(*base, name)}}
			all = append(all, demand{option: name, forms: [][]suite.Need{nil, {exactly}}, alternatives: valuesOf(name, words...)})
		}
	}
	periods := demand{option: "periods", forms: [][]suite.Need{nil}, alternatives: valuesOf("periods", "1", "2", "3", "4", "5", "6")}
	for n := 2; n <= int(base.Periods); n++ {
		periods.forms = append(periods.forms, between("periods", n, suite.NoBound))
	}
	periods.forms = append(periods.forms, between("periods", int(base.Periods), int(base.Periods)))
	zone, reserve := int(base.Zone), int(base.Reserve)
	all = append(all, periods, demand{
		option:       "zone",
		forms:        [][]suite.Need{nil, between("zone", zone, zone)},
		alternatives: valuesOf("zone", "0", "60", "-60", "345", "-120"),
	}, demand{
		option:       "reserve",
		forms:        [][]suite.Need{nil, between("reserve", reserve, suite.NoBound), between("reserve", -suite.NoBound-1, reserve), between("reserve", reserve, reserve)},
		alternatives: valuesOf("reserve", "0", "1", "15", "479", "480", "481", "720"),
	})
	return append(all, boostDemand(v, base))
}

// between is the need of a number.
func between(option string, low, high int) []suite.Need {
	return []suite.Need{{Option: option, Min: low, Max: high}}
}

// boostDemand is what a vector may need of boosts: that there are any, those it names, the longest too, the step too.
func boostDemand(v *suite.Vector, base *spec.ICS) demand {
	var lengths []int
	taken := false
	for _, s := range v.Steps {
		if in, err := wire.ParseInput(s.Do); err == nil && in.Kind == spec.Boost && in.Amount > 0 {
			if n := int(in.Amount); n%int(base.BoostStep) == 0 && n <= int(base.BoostLongest) && !slices.Contains(lengths, n) {
				lengths = append(lengths, n)
			}
			taken = taken || s.Want == spec.Accepted
		}
	}
	slices.Sort(lengths)
	some := between("boost-longest", 1, suite.NoBound)
	longest := between("boost-longest", int(base.BoostLongest), int(base.BoostLongest))
	d := demand{option: "boost", forms: [][]suite.Need{nil, some}}
	if taken {
		d.forms = nil // a boost that was taken is asked for, even where the vector would hold without it
	}
	if lengths != nil {
		given := suite.Need{Option: "boost-minutes", Boosts: lengths}
		d.forms = append(d.forms, []suite.Need{given}, append(longest, given))
	}
	d.forms = append(d.forms, append(longest, between("boost-step", int(base.BoostStep), int(base.BoostStep))...))
	for _, b := range [...][2]uint16{{60, 180}, {30, 180}, {60, 120}, {60, 60}, {1, 1440}, {15, 90}, {45, 135}, {60, 0}, {120, 240}} {
		d.alternatives = append(d.alternatives, func(s *spec.ICS) { s.BoostStep, s.BoostLongest = b[0], b[1] })
	}
	return d
}

// valuesOf lists values of an option as alternatives.
func valuesOf(name string, values ...string) []alternative {
	var list []alternative
	for _, value := range values {
		list = append(list, func(s *spec.ICS) { set(s, name, value) })
	}
	return list
}
