package faults

import "slices"

// Catalogue returns every single fault, in the order in which BEHAVIOUR.md has the families.
func Catalogue() []Fault {
	return slices.Concat(clockFaults, tableFaults, modeFaults, overrideFaults, boostFaults, holidayFaults, couplingFaults, lockFaults, powerFaults,
		resetFaults, outputFaults, inputFaults)
}
