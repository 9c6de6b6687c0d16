package diagnosis

// Family is a kind of cause.
type Family string

// The families.
const (
	NothingWrong Family = "nothing wrong" // the unit does what its clauses say; what is expected differs
	PlantNormal  Family = "plant normal"  // the plant does what such plants do: lag, a satisfied thermostat, overrun
	SetUp        Family = "set-up"        // at the back of the unit, or which of the honest designs it is
	Tables       Family = "tables"
	Clock        Family = "clock"
	Slip         Family = "slip" // of the hand: something that was done came out otherwise
	Forgotten    Family = "forgotten"
	Lock         Family = "lock"
	Wiring       Family = "wiring"  // conductors and contacts
	Part         Family = "part"    // a valve, the pump, the boiler
	Control      Family = "control" // a thermostat: its setting, or what it senses
	Outside      Family = "outside" // outside the programmer: a second time control, a frost thermostat, an immersion heater
	Statement    Family = "statement"
	NoneOfThese  Family = "none of these"
)

// Doer is who can answer a question or put a cause right.
type Doer string

// The doers. A householder reads a display and turns a thermostat, and never opens a cover.
const (
	Householder Doer = "householder"
	Competent   Doer = "competent person" // works isolated, proves dead
	HeatingTech Doer = "heating engineer"
	Registered  Doer = "registered gas engineer"
	Landlord    Doer = "whoever holds the lock's credential"
)
