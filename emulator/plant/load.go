package plant

// Load is something that runs when its terminal is live. Neutral is taken to be sound: a broken neutral looks like a dead load.
type Load uint8

// The loads.
const (
	UnitElectronics Load = iota
	HWValveLoad
	CHValveLoad
	Zone2ValveLoad
	MidValveLoad
	DiverterLoad
	PumpLoad
	BoilerLoad
	ImmersionLoad

	NumLoads = iota
)

var loads = [NumLoads]struct {
	name string
	at   Terminals // any of them live works it
}{
	UnitElectronics: {"the unit", terminals(UnitLive)},
	HWValveLoad:     {"the hot-water valve", terminals(HWValveMotor)},
	CHValveLoad:     {"the heating valve", terminals(CHValveMotor)},
	Zone2ValveLoad:  {"zone 2's valve", terminals(Zone2ValveMotor)},
	MidValveLoad:    {"the mid-position valve", terminals(MidHeatingFeed, MidHoldFeed)},
	DiverterLoad:    {"the diverter", terminals(DiverterMotor)},
	PumpLoad:        {"the pump", terminals(PumpLive)},
	BoilerLoad:      {"the boiler", terminals(BoilerCall)},
	ImmersionLoad:   {"the immersion heater", terminals(ImmersionLive)},
}

// String returns the load's name, such as "the pump".
func (l Load) String() string {
	if l < NumLoads {
		return loads[l].name
	}
	return "no load"
}

// Terminals returns the terminals at which the load is fed.
func (l Load) Terminals() Terminals { return loads[l].at }
