package complaint

import (
	"slices"
	"strings"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/spec"
)

// known is a value with what is known of it.
type known struct {
	node   *document.Node // where the value stands
	text   string
	source Source
	sure   Sure
}

// known reads a value that may be not known, and that may say how it is known. Without that it was read off something.
func (r *reader) known(n *document.Node) known {
	k := known{node: n, source: Read}
	if n.Form == document.Mapping {
		k.node = n.Get("is")
		k.source, k.sure = r.source(n, Read)
	} else {
		k.sure = k.source.Sure()
	}
	if k.text = k.node.Text; k.text == NotKnownWord {
		return known{node: k.node, source: NotKnown, sure: Unsure}
	}
	return k
}

// source reads how something is known and how sure that is.
func (r *reader) source(n *document.Node, otherwise Source) (Source, Sure) {
	source := otherwise
	if e := n.Get("source"); e != nil {
		source, _ = sourceWords.find(e.Text)
	}
	sure := source.Sure()
	if e := n.Get("sure"); e != nil {
		sure, _ = sureWords.find(e.Text)
	}
	return source, sure
}

// unit reads options of the unit.
func (r *reader) unit(n *document.Node) []Option {
	if n == nil {
		return nil
	}
	var all []Option
	scratch := spec.FullICS()
	for i := range n.Entries {
		e := &n.Entries[i]
		k := r.known(e.Value)
		o := Option{Place: place(k.node), Name: e.Key, Value: k.text, Source: k.source, Sure: k.sure}
		if o.Source != NotKnown {
			if err := setOption(&scratch, o.Name, o.Value); err != nil {
				r.FailAt(k.node, "%s is %s; it should be %s", e.Key, document.Quote(k.text), fileFormat.Describe("unit", e.Key))
				continue
			}
		}
		all = append(all, o)
	}
	if !r.Failed() {
		if err := scratch.Validate(); err != nil {
			r.invalid(n, all, err)
		}
	}
	return all
}

// setOption sets an option of a statement, or what is fitted.
func setOption(ics *spec.ICS, name, value string) error {
	o, err := wire.ParseFitOption(name)
	if err != nil {
		if err := wire.SetOption(ics, name, value); err != nil {
			return err
		}
		alone := spec.FullICS()
		if wire.SetOption(&alone, name, value) == nil && name != "boost-step" && name != "boost-longest" {
			return alone.Validate()
		}
		return nil
	}
	v, err := wire.ParseFitValue(o, value)
	if err == nil {
		ics.Fitted, _ = ics.Fit(ics.Fitted, o, v)
	}
	return err
}

// invalid reports what is wrong with the options together: of all that an ICS says, only boosts depend on each other.
func (r *reader) invalid(n *document.Node, all []Option, err error) {
	// One of the two alone is no statement about the other.
	var at *Option
	told := 0
	for i := range all {
		if o := &all[i]; o.Source != NotKnown && (o.Name == "boost-step" || o.Name == "boost-longest") {
			told++
			at = o
		}
	}
	if at == nil || told < 2 && !strings.Contains(err.Error(), "step 0") {
		return
	}
	r.Fail(at.Line, at.Column, "boost-longest is not whole boost-steps; change one so that they go together, or say not known")
}

// ICS returns the statement that a unit is taken to have as far as the complaint leaves it open: what is stated holds; of the rest what
// the lines of the complaint imply, and the defaults of BEHAVIOUR.md. It has the household's zone.
//
//   - cycle: the days that periods are named by (weekdays: 5/2; all: 24h); else 7day
//   - coupling: gravity if the plan is gravity without a valve
//   - past-midnight: wrap if a period ends before it begins
//   - boosts: steps in which all boosts are whole, at least as long as the longest
func (c *Complaint) ICS() spec.ICS { return c.icsWith(c.Unit, c.Installation, c.Settings) }

func (c *Complaint) icsWith(unit []Option, installation []Fitting, settings []Claim) spec.ICS {
	ics := spec.FullICS()
	ics.Zone, ics.SummerTime = c.Zone.Minutes, true
	stated := map[string]bool{}
	for i := range unit {
		if o := &unit[i]; o.Source != NotKnown {
			if setOption(&ics, o.Name, o.Value) == nil {
				stated[o.Name] = true
			}
		}
	}
	for i := range installation {
		if f := &installation[i]; f.Name == "plan" && f.Value == "gravity" && !stated["coupling"] {
			ics.Fitted.Coupling = spec.Gravity
		}
	}
	named := [spec.All + 1]bool{}
	for i := range settings {
		if s := &settings[i]; s.About == AboutTable {
			if !s.Every {
				named[s.Days] = true
			}
			for _, p := range s.Periods {
				ics.Wrap = ics.Wrap || !stated["past-midnight"] && p.Off < p.On
			}
			if s.Table == spec.BothTables && !stated["timing"] && !s.Every {
				ics.Fitted.Timing = spec.Shared
			}
		}
	}
	if !stated["cycle"] {
		switch {
		case named[spec.All]:
			ics.Fitted.Cycle = spec.Cycle24h
		case (named[spec.Weekdays] || named[spec.Weekend]) && !slices.Contains(named[:spec.Weekdays], true):
			ics.Fitted.Cycle = spec.Cycle52
		}
	}
	c.fitBoosts(&ics, stated)
	return ics
}

// fitBoosts lets a unit whose boosts nobody knows have those that were given.
func (c *Complaint) fitBoosts(ics *spec.ICS, stated map[string]bool) {
	const hour = 60
	step, longest := uint32(hour), uint32(3*hour)
	for i := range c.Acts {
		for _, in := range c.Acts[i].Inputs {
			if in.Kind == spec.Boost && in.Amount > 0 && in.Amount <= spec.MaxBoostMinutes {
				step, longest = gcd(step, in.Amount), max(longest, in.Amount)
			}
		}
	}
	switch {
	case stated["boost-step"] && stated["boost-longest"]:
		return
	case stated["boost-longest"]:
		ics.BoostStep = uint16(gcd(step, uint32(max(1, ics.BoostLongest))))
		if ics.BoostLongest == 0 {
			ics.BoostStep = hour
		}
	case stated["boost-step"]:
		s := uint32(ics.BoostStep)
		ics.BoostLongest = uint16(min((longest+s-1)/s, spec.MaxBoostMinutes/s) * s)
	default:
		ics.BoostStep, ics.BoostLongest = uint16(step), uint16(min((longest+step-1)/step*step, spec.MaxBoostMinutes/step*step))
	}
}

func gcd(a, b uint32) uint32 {
	for b > 0 {
		a, b = b, a%b
	}
	return a
}
