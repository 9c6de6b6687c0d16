package emulator

// Parts is a set of parts of a unit.
type Parts uint8

// The parts: what is small and changes with most inputs, the tables, and what follows from modes and tables.
const (
	Moment Parts = 1 << iota
	Tables
	Plans

	AllParts = Moment | Tables | Plans
)

// Apart returns the parts in which a unit differs from another: none where they are equal in every bit. One of them is a copy of the other, or has
// by [Unit.Become] become it, and only one of them has been put to anything since.
func (u *Unit) Apart(v *Unit) (parts Parts) {
	if u.moment != v.moment {
		parts = Moment
	}
	if u.edits != v.edits {
		if u.tables != v.tables {
			parts |= Tables
		}
		if u.plans != v.plans {
			parts |= Plans
		}
	}
	return parts
}

// Become makes a unit what another of the same statement is: of the parts in which [Unit.Apart] finds that they differ, or of more.
func (u *Unit) Become(v *Unit, parts Parts) {
	if parts&Moment != 0 {
		u.moment = v.moment
	}
	if parts&Tables != 0 {
		u.tables = v.tables
	}
	if parts&Plans != 0 {
		u.plans = v.plans
	}
	u.edits = v.edits
}
