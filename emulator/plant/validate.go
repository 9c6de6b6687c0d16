package plant

import (
	"errors"
	"fmt"
)

// Validate reports everything in the installation that cannot be, one error for each field.
func (in *Installation) Validate() error {
	var errs []error
	bad := func(format string, args ...any) { errs = append(errs, fmt.Errorf("installation: "+format, args...)) }
	if in.Plan >= NumPlans {
		bad("plan %d: there are plans 0 to %d", in.Plan, NumPlans-1)
		return errors.Join(errs...)
	}
	if in.Supply >= NumSupplies {
		bad("supply %d: there are supplies 0 to %d", in.Supply, NumSupplies-1)
	}
	in.validateStats(bad)
	if in.Overrun > 0 && in.Plan.gravity() {
		bad("overrun %d s: with %v the pump hangs on the heating feed, so leave overrun 0", in.Overrun, in.Plan)
	}
	if in.Overrun > 3600 {
		bad("overrun %d s: give 0 to 3600", in.Overrun)
	}
	if s := &in.SecondControl; s.Fitted && (s.From >= day || s.To >= day) {
		bad("second time control %d to %d: give seconds of the day, 0 to %d", s.From, s.To, day-1)
	}
	switch im := &in.Immersion; {
	case im.Wired >= numWired:
		bad("immersion heater wired %d: there are ways 0 to %d", im.Wired, numWired-1)
	case im.Wired != NoImmersion && !in.Plan.HasCylinder():
		bad("immersion heater: %v has no cylinder", in.Plan)
	case im.Wired != NoImmersion && (im.Setting < 30*Celsius || im.Setting > 80*Celsius):
		bad("immersion heater set to %v: give 30 to 80 °C", im.Setting)
	}
	if in.Unvented && !in.Plan.HasCylinder() {
		bad("unvented: %v has no cylinder", in.Plan)
	}
	if in.Outdoor < -50*Celsius || in.Outdoor > 60*Celsius {
		bad("outdoors %v: give -50 to 60 °C", in.Outdoor)
	}
	for i, d := range in.Draws {
		if d.At >= day {
			bad("draw %d at %d: give a second of the day, 0 to %d", i+1, d.At, day-1)
		}
		if d.Percent > 100 {
			bad("draw %d of %d percent: give 0 to 100", i+1, d.Percent)
		}
	}
	if in.Practice != (Practice{}) {
		in.Practice.validate(bad)
	}
	in.validateFaults(bad)
	return errors.Join(errs...)
}

func (in *Installation) validateStats(bad func(string, ...any)) {
	// Names apart from thermostats: beside one that goes into an error the installation would have to be kept on the heap.
	names := [...]string{"room thermostat", "zone 2's room thermostat", "cylinder thermostat", "frost thermostat"}
	fits := [...]bool{true, in.Plan == TwoZones, in.Plan.HasCylinder(), true}
	for i, t := range [...]*Thermostat{&in.Room, &in.Room2, &in.Cylinder, &in.Frost} {
		switch name := names[i]; {
		case !t.Fitted:
		case !fits[i]:
			bad("%s: %v has none", name, in.Plan)
		case t.Band <= 0 || t.Band > 20*Celsius:
			bad("%s with a band of %v: give more than 0 and up to 20 °C", name, t.Band)
		case t.Setting < -20*Celsius || t.Setting > 95*Celsius:
			bad("%s set to %v: give -20 to 95 °C", name, t.Setting)
		case t.From >= day || t.To >= day:
			bad("%s set from %d to %d: give seconds of the day, 0 to %d", name, t.From, t.To, day-1)
		case t.From != t.To && (t.Setback < -20*Celsius || t.Setback > 95*Celsius):
			bad("%s set back to %v: give -20 to 95 °C", name, t.Setback)
		case t == &in.Frost && t.From != t.To:
			bad("frost thermostat set from %d to %d: it has one setting, so leave both 0", t.From, t.To)
		}
	}
}

func (p *Practice) validate(bad func(string, ...any)) {
	for _, f := range []struct {
		name string
		s    uint16
	}{
		{"ValveOpens", p.ValveOpens}, {"ValveShuts", p.ValveShuts}, {"Ignition", p.Ignition},
		{"Trial", p.Trial}, {"DeadHead", p.DeadHead}, {"Relight", p.Relight},
	} {
		if f.s == 0 {
			bad("practice: %s is 0: give at least 1 s, or leave the whole of Practice zero for the default", f.name)
		}
	}
	for _, f := range []struct {
		name string
		tau  uint32
	}{
		{"RadiatorsTau", p.RadiatorsTau}, {"RoomTau", p.RoomTau}, {"CylinderTau", p.CylinderTau},
		{"GravityTau", p.GravityTau}, {"CylinderLossTau", p.CylinderLossTau}, {"ImmersionTau", p.ImmersionTau},
	} {
		if f.tau < 60 || f.tau > 1_000_000 {
			bad("practice: %s is %d s: give 60 to 1000000", f.name, f.tau)
		}
	}
	for _, f := range []struct {
		name     string
		t        Temp
		from, to Temp
	}{
		{"Flow", p.Flow, 20 * Celsius, 95 * Celsius}, {"RoomLift", p.RoomLift, Celsius, 100 * Celsius}, {"Cold", p.Cold, 0, 40 * Celsius},
		{"Indoors", p.Indoors, -20 * Celsius, 40 * Celsius}, {"Warm", p.Warm, p.Cool + 1, 95 * Celsius}, {"Cool", p.Cool, 0, 95 * Celsius},
		{"TapHot", p.TapHot, p.TapCold + 1, 95 * Celsius}, {"TapCold", p.TapCold, 0, 95 * Celsius},
	} {
		if f.t < f.from || f.t > f.to {
			bad("practice: %s is %v: give %v to %v", f.name, f.t, f.from, f.to)
		}
	}
}

func (in *Installation) validateFaults(bad func(string, ...any)) {
	w := in.sound()
	has := w.touched()
	hasLoad := func(l Load) bool { return l < NumLoads && has&l.Terminals() != 0 }
	for i, f := range in.Faults {
		at := func(format string, args ...any) { bad("fault %d (%v): "+format, append([]any{i + 1, f}, args...)...) }
		switch f.Kind {
		case NoFault:
			if f != (Fault{}) {
				at("no kind is given: give one, or leave all its fields zero")
			}
		case ConductorOpen, Bridged, Crossed:
			switch {
			case f.A >= f.B:
				at("give two terminals in their order, as OpenAt, Bridge and Cross do")
			case !has.Has(f.A):
				at("there is no terminal for %v", f.A)
			case !has.Has(f.B):
				at("there is no terminal for %v", f.B)
			case f.Kind == ConductorOpen && !w.joins(f.A, f.B):
				at("no conductor joins them: see Conductors")
			}
		case StuckOpen, StuckClosed:
			if f.Contact >= NumContacts || !w.contacts.Has(f.Contact) {
				at("there is no such contact: see Contacts")
			}
		case StatReads:
			if f.Contact >= NumContacts || !w.contacts.Has(f.Contact) || !f.Contact.isStat() {
				at("there is no such thermostat")
			} else if f.By < -30*Celsius || f.By > 30*Celsius {
				at("give -30 to 30 °C")
			}
		case Dead:
			if !hasLoad(f.Load) || f.Load == UnitElectronics || f.Load == ImmersionLoad {
				at("there is no such load that can be dead: a dead unit is the unit's own affair, and for an immersion heater there is ImmersionFails")
			}
		case ValveStuck:
			if !hasLoad(f.Load) || len(rests[f.Load]) == 0 {
				at("there is no such valve")
			} else if _, ok := positionOf(f.Load, f.Position); !ok {
				at("it has no such position")
			}
		case IgnitionFails:
		case ImmersionFails:
			if in.Immersion.Wired == NoImmersion {
				at("there is no immersion heater")
			}
		default:
			at("there are kinds 0 to %d", NumFaultKinds-1)
		}
	}
}

// joins reports whether a conductor joins two terminals.
func (w *wires) joins(a, b Terminal) bool {
	for _, c := range w.list[:w.n] {
		if c == (Conductor{a, b}) {
			return true
		}
	}
	return false
}

func (s *Start) validate() error {
	var errs []error
	if s.At < 0 {
		errs = append(errs, fmt.Errorf("start: second %d: give one from 2000-01-01T00:00 UTC on", s.At))
	}
	for b, t := range []Temp{s.Room, s.Room2, s.Cylinder, s.Radiators, s.Radiators2} {
		if t < -50*Celsius || t > 100*Celsius {
			errs = append(errs, fmt.Errorf("start: %v at %v: give -50 to 100 °C", Body(b), t))
		}
	}
	return errors.Join(errs...)
}

// String returns the body's name.
func (b Body) String() string {
	if b < NumBodies {
		return [NumBodies]string{"the room", "zone 2's room", "the cylinder", "the radiators", "zone 2's radiators"}[b]
	}
	return "no body"
}
