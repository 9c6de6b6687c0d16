package spec

// Signal is something a unit shows to the outside.
type Signal uint8

// The signals. SigHW and SigCH equal their channels.
const (
	SigHW Signal = iota
	SigCH
	SigAlert
	SigSounder

	NumSignals = 4
)

// Level is a signal's value: 0 or 1 for relays and sounder, a Stage for the alert.
type Level uint8

// Change is one signal's change, with its reason: the clause that settles the new level, and the cause that brought the
// change about.
type Change struct {
	At     uint64 // elapsed second
	Signal Signal
	Level  Level
	By     Clause
	Cause  Cause
	Slot   uint8 // with CausePeriod: the slot whose on or off this is, from 1
}

// Cause is what brought a change about: something the clocks did, or the input under way.
type Cause uint8

// The causes. Where several fall in one second, a change is given the first of them in this order: the one that says most.
const (
	NoCause         Cause = iota
	CauseInput            // the input under way
	CauseBoostEnd         // a boost's time was up
	CauseHolidayEnd       // the clock came to the holiday's end
	CauseSummerTime       // the reading went forward or back
	CausePeriod           // a period began or ended
	CauseStage            // the lock came to its next stage
	CausePermit           // a permit opened or shut
	CauseSounder          // a sounder time came or went

	NumCauses = iota
)

// Clause is the id of a clause that can be a level's reason, such as "MOD-2".
type Clause uint8

// The clauses that settle levels: see "The formula" in vectors/BEHAVIOUR.md.
const (
	NoClause       Clause = iota
	ClausePower           // PWR-1
	ClauseBoost           // BST-1
	ClauseHoliday         // HOL-1
	ClauseOverride        // OVR-1
	ClauseOff             // MOD-1
	ClauseTable           // MOD-2
	ClauseSpan            // MOD-3
	ClauseAlways          // MOD-6
	ClauseUnset           // CLK-11
	ClausePermit          // LCK-13
	ClauseCoupling        // CPL-1
	ClauseDormant         // LCK-8
	ClauseCounting        // LCK-2
	ClauseNotice          // LCK-3
	ClauseRestrict        // LCK-4
	ClauseSounder         // LCK-18

	NumClauses = iota
)

var clauseIDs = [NumClauses]string{
	"", "PWR-1", "BST-1", "HOL-1", "OVR-1", "MOD-1", "MOD-2", "MOD-3", "MOD-6", "CLK-11", "LCK-13", "CPL-1",
	"LCK-8", "LCK-2", "LCK-3", "LCK-4", "LCK-18",
}

// String returns the clause's id as vectors/BEHAVIOUR.md has it.
func (c Clause) String() string { return clauseIDs[c] }
