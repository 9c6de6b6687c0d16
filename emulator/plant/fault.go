package plant

import "fmt"

// FaultKind is a kind of fault.
type FaultKind uint8

// The kinds of fault. The comments name the fields of Fault that each uses.
const (
	NoFault        FaultKind = iota
	ConductorOpen            // A, B: the conductor between them is broken or not connected
	Bridged                  // A, B: the two terminals are joined that should not be
	Crossed                  // A, B: the conductors of these two terminals are connected to each other's
	StuckOpen                // Contact: never makes
	StuckClosed              // Contact: never breaks; the other side of a changeover then never makes
	Dead                     // Load: does not work though live: a valve does not move, a pump does not turn, a boiler makes no flame
	ValveStuck               // Load, a valve; Position: it stays there. Its end switch shows where it stands
	StatReads                // Contact, a thermostat's; By: it senses so much more (in the sun) or less (in a draught), up to 30 °C
	IgnitionFails            // the boiler tries, and locks out
	ImmersionFails           // the immersion heater gives no heat

	NumFaultKinds = iota
)

// Fault is one thing wrong with an installation, as data. Fields that the kind does not use are zero, so that equal faults compare
// equal. The constructors below fill them.
type Fault struct {
	Kind     FaultKind
	A, B     Terminal // A before B
	Contact  Contact
	Load     Load
	Position Level // of the valve's point
	By       Temp
}

// String says what is wrong, such as "the conductor between … and … is open".
func (f Fault) String() string {
	switch f.Kind {
	case NoFault:
		return "nothing is wrong"
	case ConductorOpen:
		return fmt.Sprintf("%v is open", Conductor{f.A, f.B})
	case Bridged:
		return fmt.Sprintf("%v and %v are bridged", f.A, f.B)
	case Crossed:
		return fmt.Sprintf("the conductors of %v and %v are crossed", f.A, f.B)
	case StuckOpen:
		return fmt.Sprintf("%v never makes", f.Contact)
	case StuckClosed:
		return fmt.Sprintf("%v is stuck closed", f.Contact)
	case Dead:
		return fmt.Sprintf("%v does not work though live", f.Load)
	case ValveStuck:
		return fmt.Sprintf("%v is stuck %s", f.Load, pointOf(f.Load).Word(f.Position))
	case StatReads:
		if f.By < 0 {
			return fmt.Sprintf("%v senses %v too little", f.Contact, -f.By)
		}
		return fmt.Sprintf("%v senses %v too much", f.Contact, f.By)
	case IgnitionFails:
		return "the boiler fails to light"
	case ImmersionFails:
		return "the immersion heater gives no heat"
	default:
		return "no fault"
	}
}

// pointOf returns a valve's point.
func pointOf(valve Load) Point {
	switch valve {
	case HWValveLoad:
		return HWValve
	case CHValveLoad:
		return CHValve
	case Zone2ValveLoad:
		return Zone2Valve
	default:
		return ThreePort
	}
}

// OpenAt returns the fault of a broken conductor between two terminals.
func OpenAt(a, b Terminal) Fault { return Fault{Kind: ConductorOpen, A: min(a, b), B: max(a, b)} }

// Bridge returns the fault of two terminals joined.
func Bridge(a, b Terminal) Fault { return Fault{Kind: Bridged, A: min(a, b), B: max(a, b)} }

// Cross returns the fault of the conductors of two terminals exchanged.
func Cross(a, b Terminal) Fault { return Fault{Kind: Crossed, A: min(a, b), B: max(a, b)} }

// Stuck returns the fault of a contact stuck open or closed.
func Stuck(c Contact, closed bool) Fault {
	if closed {
		return Fault{Kind: StuckClosed, Contact: c}
	}
	return Fault{Kind: StuckOpen, Contact: c}
}

// Dies returns the fault of a load that does not work.
func Dies(l Load) Fault { return Fault{Kind: Dead, Load: l} }

// StuckValve returns the fault of a valve that stays at a position: Shut, Open, AtHotWater, AtMiddle or AtHeating.
func StuckValve(valve Load, position Level) Fault {
	return Fault{Kind: ValveStuck, Load: valve, Position: position}
}

// Reads returns the fault of a thermostat that senses more or less than there is.
func Reads(stat Contact, by Temp) Fault { return Fault{Kind: StatReads, Contact: stat, By: by} }

// isStat reports whether the contact is a thermostat's, by which StatReads names it.
func (c Contact) isStat() bool {
	switch c {
	case RoomStatContact, RoomStat2Contact, CylinderStatCallsContact, FrostStatContact:
		return true
	default:
		return false
	}
}

// PossibleFaults returns every single fault that the installation can have, in a fixed order, with two values of By for each
// thermostat, and bridges and crosses of terminals that lie side by side: those of the unit, and those of the wiring centre. Bridges
// and crosses that change nothing are left out. It allocates.
func (in *Installation) PossibleFaults() []Fault {
	sound := *in
	sound.Faults = [MaxFaults]Fault{}
	w := sound.sound()
	n := sound.compile()
	var fs []Fault
	for _, c := range w.list[:w.n] {
		fs = append(fs, OpenAt(c.A, c.B))
	}
	for c := range Contact(NumContacts) {
		if w.contacts.Has(c) {
			fs = append(fs, Stuck(c, false), Stuck(c, true))
		}
	}
	for _, l := range in.Loads() {
		if l != UnitElectronics && l != ImmersionLoad {
			fs = append(fs, Dies(l))
		}
		for _, r := range rests[l] {
			fs = append(fs, StuckValve(l, r.level))
		}
	}
	for c := range Contact(NumContacts) {
		if w.contacts.Has(c) && c.isStat() {
			fs = append(fs, Reads(c, 4*Celsius), Reads(c, -4*Celsius))
		}
	}
	fs = append(fs, Fault{Kind: IgnitionFails})
	if in.Immersion.Wired != NoImmersion {
		fs = append(fs, Fault{Kind: ImmersionFails})
	}
	has := w.touched()
	for _, strip := range strips {
		for i, a := range strip {
			for _, b := range strip[i+1:] {
				if has.Has(a) && has.Has(b) && n.of[a] != n.of[b] {
					fs = append(fs, Bridge(a, b), Cross(a, b))
				}
			}
		}
	}
	return fs
}

// strips are terminals that lie side by side: at the unit, and in the wiring centre.
var strips = [][]Terminal{
	{UnitLive, HWOff, CHOff, HWOn, CHOn},
	{
		PlantLive, CylinderStatFeed, CylinderStatCalls, CylinderStatSatisfied, RoomStatFeed, RoomStatOut, RoomStat2Out,
		HWValveEndOpen, CHValveEndOpen, MidEnd, BoilerCall, PumpLive,
	},
}
