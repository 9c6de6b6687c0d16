package plant

import "fmt"

// Conductor is a fixed wire between two terminals, A before B.
type Conductor struct{ A, B Terminal }

// String returns "the conductor between … and …".
func (c Conductor) String() string { return fmt.Sprintf("the conductor between %v and %v", c.A, c.B) }

// maxConductors is more than any installation has.
const maxConductors = 40

// wires are the conductors and contacts of an installation.
type wires struct {
	list     [maxConductors]Conductor
	n        int
	contacts Contacts
	supplies Terminals
}

func (w *wires) wire(a, b Terminal) {
	w.list[w.n] = Conductor{min(a, b), max(a, b)}
	w.n++
}

func (w *wires) contact(cs ...Contact) {
	for _, c := range cs {
		w.contacts |= 1 << c
	}
}

// sound returns the wires of the installation without its faults.
func (in *Installation) sound() (w wires) {
	w.contact(HWRelayOn, HWRelayOff, CHRelayOn, CHRelayOff)
	w.supply(in)
	w.heatingControls(in)
	w.hotWaterControls(in)
	switch in.Plan {
	case GravityUnvalved:
		w.wire(CylinderStatCalls, BoilerCall)
		w.wire(RoomStatOut, PumpLive)
	case GravityValved:
		w.wire(CylinderStatCalls, HWValveMotor)
		w.wire(PlantLive, HWValveEndOpen)
		w.wire(RoomStatOut, HWValveEndShut)
		w.wire(HWValveEndFeed, BoilerCall)
		w.contact(HWValveEndOpenContact, HWValveEndShutContact)
		w.wire(RoomStatOut, PumpLive)
	case TwoValves:
		w.wire(CylinderStatCalls, HWValveMotor)
		w.wire(PlantLive, HWValveEndFeed)
		w.wire(HWValveEndOpen, BoilerCall)
		w.contact(HWValveEndOpenContact)
		w.heatingValve()
		w.pump(in)
	case MidPosition:
		w.wire(RoomStatOut, MidHeatingFeed)
		w.wire(HWOff, MidHoldFeed)
		if in.Cylinder.Fitted {
			w.wire(CylinderStatSatisfied, MidHoldFeed)
		}
		w.wire(MidEnd, BoilerCall)
		w.wire(CylinderStatCalls, BoilerCall)
		w.contact(MidEndContact)
		w.pump(in)
	case Diverter:
		w.wire(CylinderStatCalls, DiverterMotor)
		w.wire(CylinderStatCalls, DiverterEndHW)
		w.wire(RoomStatOut, DiverterEndHeating)
		w.wire(DiverterEndOut, BoilerCall)
		w.contact(DiverterEndHWContact, DiverterEndHeatingContact)
		w.pump(in)
	case Combination:
		w.wire(RoomStatOut, BoilerCall)
		w.pump(in)
	case TwoZones:
		w.wire(RoomStat2Out, Zone2ValveMotor)
		w.wire(PlantLive, Zone2ValveEndFeed)
		w.wire(Zone2ValveEndOpen, BoilerCall)
		w.contact(Zone2ValveEndContact)
		w.heatingValve()
		w.pump(in)
	}
	return w
}

// supply brings live to the unit, its commons, the wiring centre and the boiler.
func (w *wires) supply(in *Installation) {
	w.supplies = terminals(UnitSupply)
	feed := PlantLive
	if in.Supply == SwitchesMains {
		feed = UnitLive
		w.wire(UnitSupply, PlantLive)
		w.wire(PlantLive, UnitLive)
	} else {
		w.supplies |= terminals(PlantSupply)
		w.wire(UnitSupply, UnitLive)
		w.wire(PlantSupply, PlantLive)
	}
	w.wire(feed, HWCommon)
	w.wire(feed, CHCommon)
	w.wire(PlantLive, BoilerLive)
}

// heatingControls are what stands between the heating-on terminal and what it works, and beside it.
func (w *wires) heatingControls(in *Installation) {
	w.stat(CHOn, RoomStatContact, in.Room.Fitted)
	if in.Frost.Fitted {
		w.wire(PlantLive, FrostStatFeed)
		w.wire(FrostStatOut, RoomStatOut)
		w.contact(FrostStatContact)
		if in.Plan == GravityUnvalved {
			w.wire(FrostStatOut2, BoilerCall)
			w.contact(FrostStatContact2)
		}
	}
	if in.SecondControl.Fitted {
		w.wire(PlantLive, SecondControlFeed)
		beside := CHOn
		if in.SecondControl.OnHW {
			beside = HWOn
		}
		w.wire(SecondControlOut, beside)
		w.contact(SecondControlContact)
	}
}

// hotWaterControls are the same for the hot-water-on terminal.
func (w *wires) hotWaterControls(in *Installation) {
	switch in.Plan {
	case Combination:
	case TwoZones:
		w.stat(HWOn, RoomStat2Contact, in.Room2.Fitted)
	default:
		w.stat(HWOn, CylinderStatCallsContact, in.Cylinder.Fitted)
		if in.Cylinder.Fitted {
			w.contact(CylinderStatSatisfiedContact)
		}
	}
	switch in.Immersion.Wired {
	case OwnCircuit:
		w.contact(ImmersionSwitch)
		w.supplies |= terminals(ImmersionFeed)
	case OnHWRelay:
		w.wire(HWOn, ImmersionFeed)
		w.wire(ImmersionFeed, ImmersionLive)
	}
}

// stat puts a thermostat behind a terminal, or a link in its place.
func (w *wires) stat(behind Terminal, c Contact, fitted bool) {
	a, b := c.Ends()
	w.wire(behind, a)
	if fitted {
		w.contact(c)
	} else {
		w.wire(a, b)
	}
}

func (w *wires) heatingValve() {
	w.wire(RoomStatOut, CHValveMotor)
	w.wire(PlantLive, CHValveEndFeed)
	w.wire(CHValveEndOpen, BoilerCall)
	w.contact(CHValveEndContact)
}

// pump hangs the pump on the boiler's call, or on the boiler's own output.
func (w *wires) pump(in *Installation) {
	if in.Overrun == 0 {
		w.wire(BoilerCall, PumpLive)
		return
	}
	w.wire(BoilerPump, PumpLive)
	w.contact(OverrunContact)
}

// faulty applies the faults that change conductors: what is open, by the terminals it joins when sound; then what is crossed; then
// what is bridged.
func (w *wires) faulty(faults *[MaxFaults]Fault) {
	for _, f := range faults {
		if f.Kind == ConductorOpen {
			for i := range w.n {
				if w.list[i] == (Conductor{f.A, f.B}) {
					w.n--
					w.list[i] = w.list[w.n]
					break
				}
			}
		}
	}
	for _, f := range faults {
		if f.Kind == Crossed {
			for i := range w.n {
				c := &w.list[i]
				c.A, c.B = f.crossed(c.A), f.crossed(c.B)
			}
		}
	}
	for _, f := range faults {
		if f.Kind == Bridged {
			w.wire(f.A, f.B)
		}
	}
}

func (f *Fault) crossed(t Terminal) Terminal {
	switch t {
	case f.A:
		return f.B
	case f.B:
		return f.A
	default:
		return t
	}
}

// touched returns every terminal that a conductor, a contact or a supply touches, and the unit's outputs.
func (w *wires) touched() Terminals {
	s := w.supplies
	for _, c := range w.list[:w.n] {
		s |= terminals(c.A, c.B)
	}
	for c := range Contact(NumContacts) {
		if w.contacts.Has(c) {
			s |= terminals(c.Ends())
		}
	}
	return s
}
