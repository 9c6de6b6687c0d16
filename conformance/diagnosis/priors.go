package diagnosis

import (
	"example.org/hearthbench/conformance/complaint"
	"example.org/hearthbench/emulator/calendar"
)

// What a cause weighs before any evidence. Only the proportions count. All of it is common practice, no source: what those who take
// such calls say is usual, levelled out, because whoever goes to the trouble of writing the complaint down has mostly ruled out the
// commonest. Where a kind has many members (each conductor, each period), its weight is shared among them.
const (
	weightUnitNormal  float64 = 16   // most calls: an override that ended, a boost, a mode
	weightPlantNormal float64 = 9    // lag, a satisfied thermostat
	weightStatement   float64 = 3    // in place of the two above where the account leaves something unexplained: a complaint that is made of mistakes alone
	weightNone        float64 = 0.75 // what is not among the hypotheses

	// What the account itself tells of, and without which what is complained of would not have come about: seen, not supposed.
	weightTold float64 = 60

	weightOverride   float64 = 5 // each channel: one press, soon forgotten
	weightBoost      float64 = 2 // each channel
	weightBoostEnded float64 = 1.5
	weightMode       float64 = 1.2 // each channel and mode
	weightHoliday    float64 = 3
	weightReset      float64 = 1.5
	weightCut        float64 = 1.5

	weightHalfDay    float64 = 4 // a.m. for p.m.: all periods together
	weightHourOut    float64 = 2
	weightEqualTimes float64 = 2
	weightNotKept    float64 = 3
	weightSwapped    float64 = 2 // channels
	weightDayGroup   float64 = 3 // weekday for weekend, a day early or late
	weightDayEmpty   float64 = 2
	weightExtra      float64 = 2 // a period nobody told of

	weightSummerTime float64 = 5 // the commonest of all in spring and autumn
	weightTwice      float64 = 1.5
	weightHalfClock  float64 = 2.5 // twelve hours out
	weightWeekday    float64 = 3
	weightMinutes    float64 = 2.5
	weightDrift      float64 = 1
	weightUnset      float64 = 3
	weightStopped    float64 = 1.5

	weightSlip float64 = 1.5 // each kind, all acts together

	weightCoupling float64 = 2
	weightTiming   float64 = 1.5
	weightCycle    float64 = 1.5
	weightChannels float64 = 0.7
	weightChoice   float64 = 0.7 // each choice on which honest designs differ

	weightLock float64 = 2.5

	weightOpen       float64 = 5 // all conductors together
	weightBridged    float64 = 2.5
	weightCrossed    float64 = 2.5
	weightStuck      float64 = 5 // contacts; relays, end switches and thermostats wear out
	weightDead       float64 = 6 // loads; motors of valves first
	weightValve      float64 = 4
	weightIgnition   float64 = 2
	weightImmersion  float64 = 0.5
	weightStatReads  float64 = 1.5
	weightStatTurned float64 = 4
	weightPlan       float64 = 2 // another plan than was assumed

	weightSecondControl float64 = 2
	weightFrost         float64 = 1.5
	weightImmersionOn   float64 = 1.5
)

// By how much a change to or from summer time makes a clock that has not followed it more probable for some weeks after it, and less after
// that, when it has been noticed and put right.
const (
	summerTimeSeason = 5 * 7 * calendar.Day // seconds
	summerTimeSoon   = 1.5
	summerTimeLater  = 0.3
)

// noneOf is how often it is something that is not among the hypotheses, common sense, no source: one in a hundred.
const noneOf = 0.01

// turned is how often a kind of thing is the contrary of what the account has, where it is something that is not among the hypotheses.
const turned = 0.1

// furtherMistake is by how much a further mistaken statement is less probable than the first: people who are wrong about one thing mostly are
// right about the others, and an account that is wrong in two things is rather one of two causes.
const furtherMistake = 0.05

// secondCause is the chance that there is a second cause where there is one.
const secondCause = 0.4

// unseen is how often a cause that has brought about a complaint shows in nothing that was sensed.
const unseen = 0.25

// unneeded is the same where the account as it is fails what is wanted, which is reason enough to complain.
const unneeded = 0.03

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
