package capture

import (
	"fmt"
	"slices"
	"strings"

	"example.org/hearthbench/conformance/recording"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// Mapping says which column of a recording is which signal. A signal that it does not name is the column of its own name, if there is one.
type Mapping [spec.NumSignals]Column

// Column names a column.
type Column struct {
	Name     string
	Inverted bool // active low
}

// ParseMapping reads pairs such as hw=D0 and ch=!D1, where ! means active low.
func ParseMapping(pairs []string) (Mapping, error) {
	var m Mapping
	for _, pair := range pairs {
		word, name, ok := strings.Cut(pair, "=")
		if !ok {
			return m, fmt.Errorf("'%s' is not SIGNAL=COLUMN, such as hw=D0, or hw=!D0 for active low", pair)
		}
		sig, err := wire.ParseSignal(strings.TrimSpace(word))
		if err != nil {
			return m, err
		}
		c := Column{Name: strings.TrimSpace(name)}
		if rest, ok := strings.CutPrefix(c.Name, "!"); ok {
			c = Column{rest, true}
		}
		switch {
		case c.Name == "":
			return m, fmt.Errorf("'%s' names no column", pair)
		case m[sig].Name != "":
			return m, fmt.Errorf("%s is mapped twice, to %s and to %s", word, m[sig].Name, c.Name)
		case sig == spec.SigAlert && c.Inverted:
			return m, fmt.Errorf("'%s': the alert has four levels and cannot be active low", pair)
		}
		for other := range m {
			if m[other].Name == c.Name {
				return m, fmt.Errorf("the column %s is mapped twice, to %s and to %s", c.Name, wire.SignalWord(spec.Signal(other)), word)
			}
		}
		m[sig] = c
	}
	return m, nil
}

// findAll returns which column is each signal's, or -1 where there is none and the mapping does not ask for one.
func (m *Mapping) findAll(cs recording.Columns) (found [spec.NumSignals]int, err error) {
	some := false
	for sig := range found {
		word := wire.SignalWord(spec.Signal(sig))
		name := m[sig].Name
		if name == "" {
			name = word
		}
		if found[sig], err = cs.Find(name); err != nil {
			return found, fmt.Errorf("%w; say which is %s with --map %s=…", err, word, word)
		}
		if found[sig] < 0 && m[sig].Name != "" {
			return found, fmt.Errorf("there is no column %s for %s; there are %s", name, word, cs)
		}
		some = some || found[sig] >= 0
		for other := range sig {
			if found[sig] >= 0 && found[other] == found[sig] {
				return found, fmt.Errorf("the column %s would be both %s and %s; say what is what with --map", cs.Name(found[sig]), wire.SignalWord(spec.Signal(other)), word)
			}
		}
	}
	if !some {
		return found, fmt.Errorf("no column is called hw, ch, alert or sounder; say what is what with --map hw=COLUMN,ch=COLUMN; there are %s", cs)
	}
	return found, nil
}

// tolerances are the options of the ICS that are tolerances.
var tolerances = []string{"late-power-on", "late-scan", "stagger", "boost-rate", "clock-rate", "lock-grain"}

// ParseTolerances reads what a unit's ICS claims, as late-scan=60. What is left out is as in spec.FullICS.
func ParseTolerances(pairs []string) (*spec.Tolerances, error) {
	ics := spec.FullICS()
	for _, pair := range pairs {
		name, value, ok := strings.Cut(pair, "=")
		name = strings.TrimSpace(name)
		switch {
		case !ok:
			return nil, fmt.Errorf("'%s' is not TOLERANCE=NUMBER, such as late-scan=60", pair)
		case !slices.Contains(tolerances, name):
			return nil, fmt.Errorf("'%s' is no tolerance; they are %s, and everything else that the unit is stands in the scenario", name, strings.Join(tolerances, ", "))
		}
		if err := wire.SetOption(&ics, name, strings.TrimSpace(value)); err != nil {
			return nil, err
		}
	}
	return &ics.Tolerances, nil
}
