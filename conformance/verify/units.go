package verify

import (
	"math/rand/v2"
	"strconv"

	"example.org/hearthbench/conformance/suite"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// alternatives are values of an option that a unit may have, as changes of an ICS.
type alternatives []func(*spec.ICS)

// spread lists alternatives for every option on which a trace could depend.
func spread() []alternatives {
	var all []alternatives
	words := func(name string, values ...string) {
		var a alternatives
		for _, value := range values {
			a = append(a, func(s *spec.ICS) {
				if err := wire.SetOption(s, name, value); err != nil {
					panic(err) // the values below are good ones
				}
			})
		}
		all = append(all, a)
	}
	for _, name := range wire.OptionNames() {
		if values := wire.OptionWords(name); values != nil {
			words(name, values...)
		}
	}
	words("periods", "6", "1", "2", "3", "4", "5")
	words("zone", "0", "60", "-60", "345", "-120")
	words("reserve", "480", "0", "1", "60", "720", "10080")
	words("credential", "246810", "0009")
	var boosts alternatives
	for _, b := range [...][2]uint16{{60, 180}, {30, 180}, {60, 120}, {60, 60}, {30, 240}, {1, 1440}, {10, 720}, {15, 90}, {45, 135}, {60, 0}, {20, 40}, {90, 270}, {120, 240}} {
		boosts = append(boosts, func(s *spec.ICS) { s.BoostStep, s.BoostLongest = b[0], b[1] })
	}
	all = append(all, boosts)
	fit := func(o spec.FitOption) {
		var a alternatives
		for value := range uint8(len(wire.FitWords(o))) {
			a = append(a, func(s *spec.ICS) { s.Fitted, _ = s.Fit(s.Fitted, o, value) })
		}
		for _, word := range wire.FitWords(o) {
			a = append(a, func(s *spec.ICS) { _ = wire.SetFitted(s, o, []string{word}, word) }) // cannot fail
		}
		all = append(all, a)
	}
	for o := spec.FitChannels; o <= spec.FitCoupling; o++ {
		fit(o)
	}
	return all
}

// units returns units on which to try a vector: first the plainest that meets its needs, then that one with each option
// changed by itself, then mixtures drawn with a fixed seed. Some may not meet the needs, or be no valid statement.
func units(v *suite.Vector) []spec.ICS {
	base := spec.FullICS()
	for i := range v.Needs {
		meet(&base, &v.Needs[i])
	}
	if rest := base.BoostLongest % base.BoostStep; rest != 0 {
		base.BoostLongest += base.BoostStep - rest
	}
	list := []spec.ICS{base}
	options := spread()
	for _, option := range options {
		for _, change := range option {
			ics := base
			change(&ics)
			list = append(list, ics)
		}
	}
	draw := rand.New(rand.NewPCG(1, 2))
	for range 40 {
		ics := base
		for _, option := range options {
			changed := ics
			option[draw.IntN(len(option))](&changed)
			if ok, _ := v.Applies(&changed); ok {
				ics = changed
			}
		}
		list = append(list, ics)
	}
	return list
}

// meet changes an ICS as little as it takes to meet a need.
func meet(ics *spec.ICS, n *suite.Need) {
	set := func(name, value string) {
		// A value that the option cannot have leaves the need unmet, which Vector reports.
		_ = wire.SetOption(ics, name, value)
	}
	switch {
	case n.Boosts != nil:
		for _, m := range n.Boosts {
			for m%int(ics.BoostStep) != 0 || m > int(ics.BoostLongest) {
				if m%int(ics.BoostStep) != 0 {
					ics.BoostStep = uint16(gcd(m, int(ics.BoostStep)))
				} else {
					ics.BoostLongest += ics.BoostStep
				}
			}
		}
	case n.Words != nil:
		set(n.Option, n.Words[0])
	default:
		value, err := strconv.Atoi(wire.Option(*ics, n.Option))
		if err != nil || value < n.Min {
			value = n.Min
		}
		set(n.Option, strconv.Itoa(min(value, n.Max)))
	}
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
