package complaint

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"

	"example.org/hearthbench/conformance/document"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/plant"
)

// planWords are what a file calls the plans.
var planWords = [plant.NumPlans]string{
	plant.GravityUnvalved: "gravity", plant.GravityValved: "gravity with valve", plant.TwoValves: "two valves", plant.MidPosition: "mid-position",
	plant.Diverter: "diverter", plant.Combination: "combination", plant.TwoZones: "two zones",
}

var supplyWords = [plant.NumSupplies]string{
	plant.SwitchesMains: "mains", plant.VoltFree: "volt-free", plant.VoltFreeApart: "volt-free apart",
}

var wiredWords = [...]string{plant.NoImmersion: noneWord, plant.OwnCircuit: "own circuit", plant.OnHWRelay: "on the relay"}

const noneWord = "none"

var (
	degreesPattern = regexp.MustCompile(`^(-?)([0-9]{1,3})(?:\.([0-9]))?$`)
	secondPattern  = regexp.MustCompile(`^(hw|ch) ` + timePart + ` ?- ?` + timePart + `$`)
)

// installation reads what is around the unit.
func (r *reader) installation(n *document.Node) []Fitting {
	if n == nil {
		return nil
	}
	var all []Fitting
	for i := range n.Entries {
		e := &n.Entries[i]
		k := r.known(e.Value)
		f := Fitting{Place: place(k.node), Name: e.Key, Value: k.text, Source: k.source, Sure: k.sure}
		if f.Source != NotKnown {
			in := plant.Usual(plant.TwoValves)
			if err := f.apply(&in, 0); err != nil {
				r.FailAt(k.node, "%s is %s; it should be %s", e.Key, document.Quote(k.text), fileFormat.Describe("installation", e.Key))
				continue
			}
		}
		all = append(all, f)
	}
	return all
}

// checkPlants reports what cannot be of the installation as a whole, at the last thing that was stated of it.
func (r *reader) checkPlants() {
	all := slices.Clone(r.c.Installation)
	for i := range r.c.Changed {
		all = append(all, r.c.Changed[i].InstallationBefore...)
	}
	told := map[string]bool{}
	at := Place{Line: 1, Column: 1}
	if len(all) > 0 {
		at = all[len(all)-1].Place
	}
	for _, a := range r.c.Arrangements() {
		if err := a.Plant.Validate(); err != nil && !told[err.Error()] {
			told[err.Error()] = true
			r.Fail(at.Line, at.Column, "this cannot be: %v", err)
		}
		for i := range r.c.Acts {
			act := &r.c.Acts[i]
			if act.Deed == DoFitting && !act.Fitting.there(&a.Plant) && !told[act.Fitting.Name] {
				told[act.Fitting.Name] = true
				r.Fail(act.Line, act.Column, "the installation is taken to have no such thing (%v); say in installation what it has", a.Plant.Plan)
			}
		}
	}
}

// there reports whether an installation has what was worked.
func (f *Fitting) there(in *plant.Installation) bool {
	switch f.Name {
	case "room-thermostat":
		return in.Room.Fitted
	case "room-2-thermostat":
		return in.Room2.Fitted
	case "cylinder-thermostat":
		return in.Cylinder.Fitted
	case "frost-thermostat":
		return in.Frost.Fitted
	case "immersion":
		return in.Immersion.Wired == plant.OwnCircuit
	default:
		return true
	}
}

// Plant returns the installation that the complaint is taken to be about: what is stated holds, and the rest is as usual with the plan.
// Without a plan it is one of two valves, or of gravity without a valve where the unit is fitted so, or a combination boiler where the
// unit has no hot water. An immersion heater that was switched has its own circuit, and a frost thermostat that was turned is there.
func (c *Complaint) Plant() plant.Installation {
	return c.plantWith(c.Unit, c.Installation)
}

func (c *Complaint) plantWith(unit []Option, installation []Fitting) plant.Installation {
	plan := plant.TwoValves
	for i := range unit {
		switch o := &unit[i]; {
		case o.Name == "coupling" && o.Value == "gravity":
			plan = plant.GravityUnvalved
		case o.Name == "channels" && o.Value == "ch":
			plan = plant.Combination
		}
	}
	for i := range installation {
		if f := &installation[i]; f.Name == "plan" && f.Source != NotKnown {
			plan = plant.Plan(slices.Index(planWords[:], f.Value))
		}
	}
	in := plant.Usual(plan)
	offset := c.LocalTime().Offset(c.Asked)
	for i := range installation {
		if f := &installation[i]; f.Source != NotKnown {
			// It was found good when it was read.
			_ = f.apply(&in, offset)
		}
	}
	for i := range c.Acts {
		f := &c.Acts[i].Fitting
		stated := slices.ContainsFunc(installation, func(s Fitting) bool { return s.Name == f.Name && s.Source != NotKnown })
		switch {
		case stated || f.there(&in):
		case f.Name == "immersion":
			own := Fitting{Name: f.Name, Value: wiredWords[plant.OwnCircuit]}
			_ = own.apply(&in, offset)
		case f.Name == "frost-thermostat":
			_ = f.apply(&in, offset)
		}
	}
	return in
}

// apply makes an installation have what is stated. Times of day are local, so many seconds ahead of UTC.
func (f *Fitting) apply(in *plant.Installation, offset int64) error {
	bad := fmt.Errorf("%s cannot be %s", f.Name, f.Value)
	choose := func(words []string) (int, error) {
		if i := slices.Index(words, f.Value); i >= 0 {
			return i, nil
		}
		return 0, bad
	}
	stat := func(t *plant.Thermostat, band plant.Temp) error {
		if f.Value == noneWord {
			*t = plant.Thermostat{}
			return nil
		}
		setting, err := Degrees(f.Value)
		if err == nil {
			if t.Band == 0 {
				t.Band = band
			}
			t.Fitted, t.Setting = true, setting
		}
		return err
	}
	var i int
	var err error
	switch f.Name {
	case "plan":
		_, err = choose(planWords[:]) // it was chosen before all else
	case "supply":
		i, err = choose(supplyWords[:])
		in.Supply = plant.Supply(i)
	case "room-thermostat":
		return stat(&in.Room, plant.Celsius/2)
	case "room-2-thermostat":
		return stat(&in.Room2, plant.Celsius/2)
	case "cylinder-thermostat":
		return stat(&in.Cylinder, 5*plant.Celsius)
	case "frost-thermostat":
		return stat(&in.Frost, plant.Celsius)
	case "second-control":
		return f.second(in, offset)
	case "pump-overrun":
		if i, err = strconv.Atoi(f.Value); err != nil || i < 0 || i > 60 {
			return bad
		}
		in.Overrun = uint16(i * calendar.Minute)
	case "immersion":
		i, err = choose(wiredWords[:])
		in.Immersion.Wired = plant.Wired(i)
		if in.Immersion.Setting == 0 && i > 0 {
			in.Immersion.Setting = 60 * plant.Celsius
		}
	case "unvented":
		i, err = choose([]string{"no", "yes"})
		in.Unvented = i == 1
	case "outdoors":
		in.Outdoor, err = Degrees(f.Value)
	default:
		return bad
	}
	return err
}

func (f *Fitting) second(in *plant.Installation, offset int64) error {
	if f.Value == noneWord {
		in.SecondControl = plant.SecondControl{}
		return nil
	}
	m := secondPattern.FindStringSubmatch(f.Value)
	if m == nil {
		return fmt.Errorf("%s is no second time control", f.Value)
	}
	from, _, err := parseClock(m[2])
	if err != nil {
		return err
	}
	to, _, err := parseClock(m[3])
	if err != nil {
		return err
	}
	utc := func(local int64) uint32 { return uint32((local - offset + 2*calendar.Day) % calendar.Day) }
	in.SecondControl = plant.SecondControl{Fitted: true, OnHW: m[1] == "hw", From: utc(from), To: utc(to)}
	return nil
}

// Degrees reads degrees Celsius, at most one decimal.
func Degrees(text string) (plant.Temp, error) {
	m := degreesPattern.FindStringSubmatch(text)
	if m == nil {
		return 0, fmt.Errorf("%s is no temperature", text)
	}
	whole, _ := strconv.Atoi(m[2])
	tenths, _ := strconv.Atoi(m[3] + "0")
	t := plant.Temp(whole)*plant.Celsius + plant.Temp(tenths)*plant.Celsius/100
	if m[1] != "" {
		t = -t
	}
	if t < -40*plant.Celsius || t > 90*plant.Celsius {
		return 0, fmt.Errorf("%s is no temperature of a house", text)
	}
	return t, nil
}
