package plant

// Plan is how the pipes run and what the unit's relays therefore work.
type Plan uint8

// The plans.
const (
	// GravityUnvalved: the hot-water relay calls the boiler, which heats the cylinder by gravity circulation; the heating relay, through the
	// room thermostat, runs the pump. Heating therefore needs hot water too: the unit is fitted with coupling gravity.
	GravityUnvalved Plan = iota
	// GravityValved: the same with a valve in the cylinder's circuit, worked through a cylinder thermostat. The valve's changeover end switch
	// calls the boiler from permanent live when it is open, and from the heating feed when it is not.
	GravityValved
	// TwoValves: pumped, a two-port valve in each circuit; the end switch of either calls boiler and pump.
	TwoValves
	// MidPosition: pumped, one three-port valve. No feed: hot water. Heating feed: the middle, and its end switch does not call. Heating feed
	// and hold feed (hot-water-off, or a satisfied cylinder): heating, and its end switch calls. Hold feed alone: it stays where it is. The
	// cylinder thermostat calls the boiler directly.
	MidPosition
	// Diverter: pumped, one three-port valve with hot-water priority. It rests at heating; the cylinder thermostat's call drives it to hot
	// water, and a spring brings it back. Its changeover end switch lets either demand call the boiler only where the valve stands.
	Diverter
	// Combination: the boiler heats tap water as it flows; only heating is switched, through the room thermostat. The hot-water relay is not
	// connected.
	Combination
	// TwoZones: two heating zones, each with a two-port valve and a room thermostat: the heating relay serves zone 1, the hot-water relay serves
	// zone 2. The boiler heats tap water as it flows. A second time control may drive either.
	TwoZones

	NumPlans = iota
)

var planNames = [NumPlans]string{
	"gravity hot water unvalved, pumped heating", "gravity hot water with a cylinder valve, pumped heating", "pumped, two two-port valves",
	"pumped, mid-position valve", "pumped, diverter with hot-water priority", "combination boiler", "two heating zones",
}

// String returns the plan in trade words, such as "pumped, mid-position valve".
func (p Plan) String() string {
	if p < NumPlans {
		return planNames[p]
	}
	return "no plan"
}

// HasCylinder reports whether hot water is stored in a cylinder; else the boiler heats it as it flows.
func (p Plan) HasCylinder() bool { return p != Combination && p != TwoZones }

// gravity reports whether the cylinder is heated by gravity circulation.
func (p Plan) gravity() bool { return p == GravityUnvalved || p == GravityValved }

// Supply is what the unit's relays switch.
type Supply uint8

// The supplies.
const (
	// SwitchesMains: unit and plant have one supply and one isolator; a link in the unit feeds the commons. Without mains at the unit every
	// output is dead.
	SwitchesMains Supply = iota
	// VoltFree: the commons are fed from the plant's own supply, which one isolator parts from the mains together with the unit's. Without
	// mains at the unit alone, the relays are at rest and the off terminals live.
	VoltFree
	// VoltFreeApart: the same, but the two supplies have an isolator each: dangerous, see Warnings.
	VoltFreeApart

	NumSupplies = iota
)

// String returns the supply in words.
func (s Supply) String() string {
	switch s {
	case SwitchesMains:
		return "the unit switches its own mains"
	case VoltFree:
		return "volt-free contacts on the plant's supply, one isolator for both"
	case VoltFreeApart:
		return "volt-free contacts on the plant's supply, which has an isolator of its own"
	default:
		return "no supply"
	}
}

// Thermostat is a room, cylinder or frost thermostat. It calls below Setting - Band/2 and is satisfied above Setting + Band/2. A
// programmable thermostat has Setting from second From to second To of the UTC day, and Setback for the rest; with From = To it
// always has Setting. A frost thermostat senses the outdoor temperature and has one setting.
type Thermostat struct {
	Fitted   bool
	Setting  Temp
	Band     Temp // above 0, up to 20 °C
	Setback  Temp
	From, To uint32 // second of the UTC day, 0 to 86399
}

// SecondControl is a second time control in parallel with one of the unit's outputs: from From to To (second of the UTC day;
// From > To runs over midnight, From = To never) it joins permanent live to that output's on terminal.
type SecondControl struct {
	Fitted   bool
	OnHW     bool // in parallel with hot water, else with heating
	From, To uint32
}

// Wired is how an immersion heater is switched.
type Wired uint8

// The ways to wire an immersion heater.
const (
	NoImmersion Wired = iota
	OwnCircuit        // a circuit and a switch of its own, as it must be
	OnHWRelay         // on the unit's hot-water-on terminal: dangerous, see Warnings and CheckLoads

	numWired = iota
)

// Immersion is an immersion heater. Its thermostat is part of it.
type Immersion struct {
	Wired   Wired
	On      bool // the switch; with OwnCircuit
	Setting Temp
}

// Draw is hot water drawn every day.
type Draw struct {
	At      uint32 // second of the UTC day, 0 to 86399
	Seconds uint16 // how long it flows; it counts where the boiler heats tap water
	Percent uint8  // of the cylinder that is replaced by cold water, 0 to 100; it counts where there is a cylinder
}

// MaxDraws is the most draws a day.
const MaxDraws = 4

// MaxFaults is the most faults at once.
const MaxFaults = 4

// Installation is everything that is taken to be the case around the unit. It is a plain value. Usual returns one to begin with. Times of
// day are UTC: who has a household in a zone shifts them, and calls Refit when summer time begins or ends.
type Installation struct {
	Plan   Plan
	Supply Supply

	Room, Room2, Cylinder, Frost Thermostat // Room2: zone 2. One that is not fitted is bridged, but for Frost

	SecondControl SecondControl
	Overrun       uint16 // s for which the boiler runs the pump after a call; 0: the pump hangs on the boiler's call. Always 0 with gravity
	Immersion     Immersion
	Unvented      bool // the cylinder is unvented

	Outdoor  Temp
	Draws    [MaxDraws]Draw // those with neither Seconds nor Percent do not count
	Practice Practice

	Faults [MaxFaults]Fault // those whose Kind is NoFault do not count
}

// Usual returns a sound installation of the plan, with the thermostats that belong to it at their usual settings, one supply that the
// unit switches, 5 °C outdoors, two draws a day and DefaultPractice. Common practice, no source.
func Usual(plan Plan) Installation {
	room := Thermostat{Fitted: true, Setting: 20 * Celsius, Band: Celsius / 2}
	in := Installation{
		Plan: plan, Room: room, Outdoor: 5 * Celsius,
		Draws: [MaxDraws]Draw{{At: 7*3600 + 1800, Seconds: 480, Percent: 35}, {At: 19 * 3600, Seconds: 480, Percent: 35}},
	}
	if plan == TwoZones {
		in.Room2 = room
	}
	if plan.HasCylinder() && plan != GravityUnvalved {
		in.Cylinder = Thermostat{Fitted: true, Setting: 60 * Celsius, Band: 6 * Celsius}
	}
	return in
}

// UsualStart returns a start at a second: a room somewhat cooler than its setting, a cylinder warm from the day before, radiators cold.
func UsualStart(at int64) Start {
	return Start{At: at, Room: 18 * Celsius, Room2: 18 * Celsius, Cylinder: 45 * Celsius, Radiators: 20 * Celsius, Radiators2: 20 * Celsius}
}

// Terminals returns the terminals that the installation has.
func (in *Installation) Terminals() Terminals {
	w := in.sound()
	return w.touched()
}

// Contacts returns the contacts that the installation has.
func (in *Installation) Contacts() Contacts {
	w := in.sound()
	return w.contacts
}

// Loads returns the loads that the installation has, in order.
func (in *Installation) Loads() []Load {
	var ls []Load
	has := in.Terminals()
	for l := range Load(NumLoads) {
		if has&l.Terminals() != 0 {
			ls = append(ls, l)
		}
	}
	return ls
}

// Conductors returns the fixed wires of the sound installation, in a fixed order. It allocates.
func (in *Installation) Conductors() []Conductor {
	w := in.sound()
	return append([]Conductor(nil), w.list[:w.n]...)
}

// Has reports whether the installation has the point: whether Plant can report a change of it.
func (in *Installation) Has(p Point) bool {
	switch p {
	case UnitMains, Call, Flame, Lockout, Pump, Radiators, Tap:
		return true
	case RoomStat:
		return in.Room.Fitted
	case RoomStat2:
		return in.Room2.Fitted && in.Plan == TwoZones
	case CylinderStat:
		return in.Cylinder.Fitted && in.Plan.HasCylinder()
	case FrostStat:
		return in.Frost.Fitted
	case SecondTime:
		return in.SecondControl.Fitted
	case HWValve:
		return in.Plan == GravityValved || in.Plan == TwoValves
	case CHValve:
		return in.Plan == TwoValves || in.Plan == TwoZones
	case Zone2Valve, Radiators2:
		return in.Plan == TwoZones
	case ThreePort:
		return in.Plan == MidPosition || in.Plan == Diverter
	case ImmersionHeat:
		return in.Immersion.Wired != NoImmersion
	default:
		return false
	}
}

// With returns the installation with one more fault. It panics if there are MaxFaults already.
func (in Installation) With(f Fault) Installation {
	for i := range in.Faults {
		if in.Faults[i].Kind == NoFault {
			in.Faults[i] = f
			return in
		}
	}
	panic("plant: more than MaxFaults faults")
}

// has reports whether there is a fault of the kind, of that load where the kind has one.
func (in *Installation) has(k FaultKind, l Load) bool {
	_, ok := in.fault(k, l)
	return ok
}

// fault returns the first fault of the kind, of that load where the kind has one.
func (in *Installation) fault(k FaultKind, l Load) (Fault, bool) {
	for _, f := range in.Faults {
		if f.Kind == k && f.Load == l {
			return f, true
		}
	}
	return Fault{}, false
}
