package suite

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"example.org/hearthbench/conformance/wire"
	"example.org/hearthbench/emulator/calendar"
	"example.org/hearthbench/emulator/spec"
)

// Vector is one test vector as its file has it. Seconds count from its start.
type Vector struct {
	ID         string
	File       string   // the file it stands in
	About      []string // what the file says of itself, if anything
	Clauses    []string // the first is the one in the id, but for a generated vector
	Purpose    string
	Catches    string
	Derivation string
	Kept       string // why it is kept beside another that catches the same faults
	Needs      []Need
	Fit        []spec.Input // kind Fit
	Start      time.Time
	ClockUnset bool
	Given      []string
	Steps      []Step
	Until      uint64
	Initial    [spec.NumSignals]spec.Level
	Trace      []spec.Change // Cause and Slot are zero
}

// Step is something done to the unit.
type Step struct {
	At   uint64 // second
	Do   string // a line of ADAPTER.md, with the words of VECTORS.md that stand for what differs from unit to unit
	Want spec.Outcome
}

// Generated is the family of the vectors that no person has derived: see VECTORS.md.
const Generated = "GEN"

// Family returns the family that the vector's id names: that of its first clause, or Generated.
func (v *Vector) Family() string { return FamilyOf(v.ID) }

// IsGenerated reports whether the vector is a generated one.
func (v *Vector) IsGenerated() bool { return v.Family() == Generated }

// At returns the instant of a second of the vector, with the offset that Europe/London has then by the rule of summer time: what a
// unit set right at the start displays.
func (v *Vector) At(second uint64) time.Time {
	return local(v.Start.Add(time.Duration(second) * time.Second))
}

func local(t time.Time) time.Time { return t.In(time.FixedZone("", localOffset(t))) }

// localOffset returns the seconds by which Europe/London is ahead of UTC.
func localOffset(t time.Time) int {
	if calendar.SummerTime(t.Unix() - calendarEpoch) {
		return calendar.Hour
	}
	return 0
}

// Row is one thing that happens in a vector: a step or an expected change.
type Row struct {
	At   uint64
	Text string
}

// Story returns steps and expected changes in one order: of one second, what the clocks bring comes first, and the changes that
// an input brings cannot be told from those, so the steps stand between seconds.
func (v *Vector) Story() []Row {
	var rows []Row
	for _, s := range v.Steps {
		rows = append(rows, Row{At: s.At, Text: fmt.Sprintf("%s  (%s)", s.Do, wire.OutcomeWord(s.Want))})
	}
	for _, c := range v.Trace {
		rows = append(rows, Row{At: c.At, Text: fmt.Sprintf("  -> %s %s by %s", wire.SignalWord(c.Signal), wire.LevelWord(c.Signal, c.Level), c.By)})
	}
	slices.SortStableFunc(rows, func(a, b Row) int { return cmp.Compare(a.At, b.At) })
	return rows
}

// calendarEpoch is second 0 of package calendar, in Unix time.
var calendarEpoch = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).Unix()

// Need is what a vector needs of one ICS option: one of the words, or a number from Min to Max, or lengths of boost on offer.
type Need struct {
	Option   string
	Words    []string
	Min, Max int
	Boosts   []int
}
