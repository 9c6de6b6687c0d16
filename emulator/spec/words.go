package spec

// Channel is one of the two relays.
type Channel uint8

// The channels, in the order in which arrays indexed by channel hold them.
const (
	HW Channel = iota // hot water
	CH                // central heating

	NumChannels = 2
)

// Channels says which relays a unit has.
type Channels uint8

// The values of the ICS option "channels".
const (
	BothChannels Channels = iota
	OnlyHW
	OnlyCH
)

// Has reports whether c is among the channels.
func (cs Channels) Has(c Channel) bool {
	return cs == BothChannels || (cs == OnlyHW) == (c == HW)
}

// Cycle says which days have tables of their own.
type Cycle uint8

// The values of the ICS option "cycle".
const (
	Cycle24h  Cycle = iota // every day alike
	Cycle52                // Monday to Friday, and weekend
	Cycle7Day              // each day its own
)

// Timing says whether each channel has a table of its own.
type Timing uint8

// The values of the ICS option "timing".
const (
	Separate Timing = iota
	Shared
)

// Coupling says whether heating brings hot water with it.
type Coupling uint8

// The values of the ICS option "coupling".
const (
	Independent Coupling = iota
	Gravity
)

// Mode is what a channel does with its table.
type Mode uint8

// The modes.
const (
	Off Mode = iota
	Table
	Span
	Always
)

// Day names the table that a period edit is for.
type Day uint8

// The days of a period edit. Mon to Sun belong to cycle 7day, Weekdays and Weekend to 5/2, All to 24h.
const (
	Mon Day = iota
	Tue
	Wed
	Thu
	Fri
	Sat
	Sun
	Weekdays
	Weekend
	All
)

// In reports whether a unit with the cycle has a table for the day (clause TAB-17).
func (d Day) In(c Cycle) bool {
	switch c {
	case Cycle24h:
		return d == All
	case Cycle52:
		return d == Weekdays || d == Weekend
	default:
		return d <= Sun
	}
}

// TableID names the table that a period edit is for: a channel's own with timing separate, BothTables with shared.
type TableID uint8

// The tables.
const (
	HWTable TableID = iota
	CHTable
	BothTables
)

// MinutesPerDay is also the off time 24:00, the end of the day.
const MinutesPerDay = 24 * 60

// Period is one on time and one off time in a day's table, in minutes from midnight: On 0 to 1439, Off 0 to 1440.
// It is inactive if they are equal (clause TAB-2).
type Period struct {
	On, Off uint16
}

// Date is a day of the Gregorian calendar. It need not be valid: an input can ask for 30 February.
type Date struct {
	Year  uint16
	Month uint8 // from 1
	Day   uint8 // from 1
}

// Stage is a stage of the interval lock. It is also what the alert shows: Dormant as "none".
type Stage uint8

// The stages.
const (
	Dormant Stage = iota
	Counting
	Notice
	Restricted
)

// NoAllowance stands for an allowance that is not stated: no limit.
const NoAllowance uint8 = 255

// MaxSounderTimes is the most sounder times that arming accepts (clause LCK-5).
const MaxSounderTimes = 4

// LockTerms is everything that arming the interval lock states (clause LCK-5).
type LockTerms struct {
	Days       uint16             // 1 to 999
	NoticeDays uint16             // 0 to Days
	Notice     [NumChannels]uint8 // allowance in minutes an hour, 10 to 60, or NoAllowance
	Restricted [NumChannels]uint8 // likewise
	Sounder    [MaxSounderTimes]uint16
	Sounders   uint8 // how many of Sounder count; more than MaxSounderTimes asks for too many
}
