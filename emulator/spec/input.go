package spec

// Kind is the kind of an input.
type Kind uint8

// The kinds of input. The comments name the fields of Input that each uses.
const (
	PowerOff      Kind = iota
	PowerOn            //
	Fit                // FitOption, FitValue; not an input at the front: only without power (clause PWR-14)
	SetClock           // Date, Minute
	SetMode            // Channel, Mode
	SetPeriod          // Table, Day, Slot, Period
	Override           // Channel
	Boost              // Channel, Amount: minutes, 0 cancels
	Holiday            // Amount: days
	HolidayCancel      //
	LockArm            // Credential, Terms
	LockRemove         // Credential
	Reset              //

	NumKinds = iota
)

// Input is one thing done to a unit. Which fields count depends on the kind; the others are zero, so that equal inputs
// compare equal.
type Input struct {
	Kind       Kind
	Channel    Channel
	Mode       Mode
	Table      TableID
	Day        Day
	Slot       uint8 // from 1
	Period     Period
	Amount     uint32
	Date       Date
	Minute     uint16 // of the day, 0 to 1440: 24:00 can be asked for, and is refused
	FitOption  FitOption
	FitValue   uint8
	Credential string
	Terms      LockTerms
}

// Outcome is what became of an input.
type Outcome uint8

// The outcomes.
const (
	Accepted Outcome = iota
	Refused
	Unsupported
)

// Refusal says why an input was refused. It is for the reader: units word their reasons as they like.
type Refusal uint8

// The refusals.
const (
	NoRefusal         Refusal = iota
	NoPower                   // PWR-2
	PowerPresent              // PWR-14
	BadDate                   // CLK-4
	SkippedReading            // CLK-9
	NoSuchSlot                // TAB-16
	NoSuchTable               // TAB-17
	BadPeriod                 // TAB-3, TAB-6
	NoSwitchingPoint          // OVR-9, OVR-17
	ClockUnset                // CLK-11
	InHoliday                 // HOL-4
	BadBoost                  // BST-9
	BadHoliday                // HOL-2
	BadTerms                  // LCK-5
	WrongCredential           // LCK-6
	LockDormant               // LCK-8
	UnsupportedInput          // INP-5, INP-6
	UnsupportedFitted         // a value the ICS does not list

	NumRefusals = iota
)

// Reply is a unit's answer to an input.
type Reply struct {
	Outcome Outcome
	Refusal Refusal
}
