package spec

// Limits of ICS values and inputs; the clauses that set them are in vectors/BEHAVIOUR.md.
const (
	MaxPeriods      = 6
	MaxBoostMinutes = 1440
	MaxBoostStep    = 240
	MaxReserve      = 525600 // minutes
	MinZone         = -720   // minutes
	MaxZone         = 840
	ZoneStep        = 15
	MaxHolidayDays  = 99
	MaxLockDays     = 999
	MinAllowance    = 10 // minutes an hour
	MaxAllowance    = 60
	FirstYear       = 2000
	LastYear        = 2099
)

// ICS is an implementation conformance statement: what a design has, what is fitted, and which choices it has made where
// honest designs differ. The zero value of each choice is its default.
type ICS struct {
	Fitted    Fitted // as it leaves the factory
	Supported Supported

	Periods      uint8  // a day, 1 to MaxPeriods
	BoostLongest uint16 // minutes, 0 (no boost) to MaxBoostMinutes, a multiple of BoostStep
	BoostStep    uint16 // minutes, 1 to MaxBoostStep
	Holiday      bool
	SummerTime   bool  // automatic
	Zone         int16 // standard offset from UTC in minutes, MinZone to MaxZone, a multiple of ZoneStep
	Lock         bool
	Credential   string // 4 to 8 digits
	Reserve      uint32 // minutes, 0 to MaxReserve

	OverrideKept       bool // override-on-mode-change: kept (clause OVR-8)
	OverrideProgrammed bool // override-end: programmed (OVR-16)
	BoostExtends       bool // second-boost: extends (BST-4)
	BoostInHoliday     bool // boost-in-holiday: allowed (HOL-5)
	ResetUnsetsClock   bool // clock-after-reset: unset (RST-5)
	LostClock          LostClock
	KeptThroughCut     bool // through-cut: kept (PWR-4)
	Wrap               bool // past-midnight: wrap (TAB-7)
	Clamp              bool // bad-value: clamped (INP-4)

	Tolerances Tolerances
}

// Fitted is what is chosen at the back of the unit.
type Fitted struct {
	Channels Channels
	Cycle    Cycle
	Timing   Timing
	Coupling Coupling
}

// Supported is what a unit can be fitted as: a bit for each value, 1<<value.
type Supported struct {
	Channels, Cycle, Timing, Coupling uint8
}

// LostClock says what a unit does whose reserve ran out.
type LostClock uint8

// The values of the ICS option "lost-clock".
const (
	LostUnset    LostClock = iota // clause PWR-9
	LostResumes                   // PWR-10
	LostRestarts                  // PWR-11
)

// Tolerances are what a maker claims for a board. The emulator, which is exact, ignores them; the harness does not.
type Tolerances struct {
	LatePowerOn uint16 // s
	LateScan    uint16 // s
	Stagger     uint16 // s
	BoostRate   uint32 // parts per million
	ClockRate   uint32 // parts per million
	LockGrain   uint16 // s lost from the lock's count in each cut
}

// FitOption is an option that can be changed at the back of the unit.
type FitOption uint8

// The options of Input kind Fit.
const (
	FitChannels FitOption = iota
	FitCycle
	FitTiming
	FitCoupling
)
