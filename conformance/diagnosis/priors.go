package diagnosis

import (
	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/emulator/calendar"
)

// What a cause weighs before any evidence. Only the proportions count. They began as common practice, no source: what those who take such calls
// say is usual, levelled out, because whoever goes to the trouble of writing the complaint down has mostly ruled out the commonest. By made-up
// complaints of package casebook (seeds from 60 000 up; those that are reported are others) most were then moved, to a half or to twice, some
// further, to where what they make most probable is most often so; but not so far that a complaint in testdata loses its known cause. How often
// a thing happens is therefore not independent of the casebook; what can happen is. Where a kind has many members (each conductor, each period),
// its weight is shared among them.
const (
	weightUnitNormal  float64 = 10 // most calls: an override that ended, a boost, a mode
	weightPlantNormal float64 = 38 // lag, a satisfied thermostat: nobody thinks of those
	weightStatement   float64 = 3  // in place of the two above where the account leaves something unexplained: a complaint that is made of mistakes alone

	// What the account itself tells of, and without which what is complained of would not have come about: seen, not supposed.
	weightTold      float64 = 42
	weightTimesTold float64 = 130 // tables, which are all about what is wanted
	weightClockTold float64 = 100 // nobody means a clock to be out

	// Somebody remembers a press of the button, and mostly says so; a mode stands, and a reset undoes much.
	weightOverride   float64 = 1.9 // each channel
	weightBoost      float64 = 0.8 // each channel
	weightBoostEnded float64 = 3
	weightModeOff    float64 = 2.7 // each channel
	weightModeSpan   float64 = 2.2
	weightModeAlways float64 = 1.8
	weightModeTable  float64 = 1
	weightHoliday    float64 = 3.2
	weightReset      float64 = 4.5
	weightCut        float64 = 1.2
	weightNoSupply   float64 = 0.8

	weightHalfDay    float64 = 3.3 // a.m. for p.m.: all periods together
	weightHourOut    float64 = 3.3
	weightEqualTimes float64 = 4
	weightNotKept    float64 = 6.5
	weightSwapped    float64 = 8  // channels
	weightDayGroup   float64 = 10 // weekday for weekend, a day early or late
	weightDayEmpty   float64 = 2.2
	weightExtra      float64 = 2.7 // a period nobody told of

	weightSummerTime float64 = 6 // the commonest of all in spring and autumn
	weightTwice      float64 = 1.5
	weightHalfClock  float64 = 1.7 // twelve hours out
	weightWeekday    float64 = 3.3
	weightMinutes    float64 = 4
	weightDrift      float64 = 1.5
	weightUnset      float64 = 1 // all the time: it flashes
	weightLost       float64 = 5
	weightLostInCut  float64 = 10
	weightStopped    float64 = 2

	weightSlip float64 = 1.5 // each kind, all acts together

	// At the back of the unit nobody looks.
	weightCoupling float64 = 16
	weightTiming   float64 = 4
	weightCycle    float64 = 3.5
	weightChannels float64 = 0.8
	weightChoice   float64 = 0.8 // each choice on which honest designs differ

	weightLock float64 = 4

	weightOpen        float64 = 1.7 // all conductors together
	weightBridged     float64 = 1.6
	weightCrossed     float64 = 0.9
	weightStuckOpen   float64 = 1.9 // contacts; relays, end switches and thermostats wear out
	weightStuckClosed float64 = 0.6
	weightDead        float64 = 4.5 // loads
	weightValve       float64 = 2.2
	weightIgnition    float64 = 2
	weightImmersion   float64 = 0.5
	weightStatReads   float64 = 1.2
	weightSetback     float64 = 0.45
	weightRoomLow     float64 = 2.3
	weightCylinderLow float64 = 0.6 // it is out of sight
	weightStatHigh    float64 = 0.6
	weightPlan        float64 = 2 // another plan than was assumed

	weightSecondControl float64 = 1.9
	weightFrost         float64 = 3
	weightImmersionOn   float64 = 3.5
)

// By how much a change to or from summer time makes a clock that has not followed it more probable for some weeks after it, and less after
// that, when it has been noticed and put right.
const (
	summerTimeSeason = 5 * 7 * calendar.Day // seconds
	summerTimeSoon   = 1.5
	summerTimeLater  = 0.3
)

// noneOf is how often it is something that is not among the hypotheses, before what it predicts is held against what they predict: levelled out
// as the weights are.
const noneOf = 0.0065

// turned is how often a kind of thing is the contrary of what the account has, where it is something that is not among the hypotheses.
const turned = 0.1

// furtherMistake is by how much a further mistaken statement is less probable than the first: people who are wrong about one thing mostly are
// right about the others, and an account that is wrong in two things is rather one of two causes.
const furtherMistake = 0.01

// unmentioned is how often an account says nothing of the alert that the unit shows while its lock restricts.
const unmentioned = 0.5

// secondCause is the chance that there is a second cause where there is one that does not explain everything.
const secondCause = 0.75

// unseen is how often a cause that has brought about a complaint shows in nothing that was sensed.
const unseen = 0.25

// unneeded is the same where the account as it is fails what is wanted, which is reason enough to complain.
const unneeded = 0.03

// unasked is how often something is the matter of which nobody complains, where the account as it is fails what is wanted: what shows it is
// then rather mistaken.
const unasked = 0.25

// after is by how much a turn of events makes a family more probable.
func after(k complaint.Kind, f Family) float64 {
	switch {
	case k == complaint.NewProgrammer && (f == SetUp || f == Wiring || f == Tables),
		k == complaint.SetUp && f == SetUp,
		k == complaint.Clocks && f == Clock,
		k == complaint.PowerCut && f == Clock:
		return 3
	case (k == complaint.NewBoiler || k == complaint.NewValve || k == complaint.Wiring) && (f == Wiring || f == Part),
		k == complaint.NewThermostat && (f == Control || f == Wiring),
		k == complaint.NewTenant && (f == Lock || f == Forgotten || f == Tables || f == Control):
		return 2.5
	default:
		return 1
	}
}

// contradicted is what is left of a hypothesis's prior where it contradicts what is known of the unit or the installation: how often
// such a statement is wrong.
var contradicted = [complaint.NumSources]float64{complaint.NotKnown: 1, complaint.Said: 0.3, complaint.Read: 0.06, complaint.Metered: 0.01}

// saidOfTheBack is the same of what is set at the back of the unit and was only said.
const saidOfTheBack = 0.5
