// Package capture holds what a logic analyser or a data logger recorded of a unit's outputs against a scenario: for units without a
// test port, of which no more can be had than what their relay contacts do.
//
// A recording is a VCD or a CSV file: see package recording, which takes out contact bounce. The recording's clock is laid over the scenario's (where
// the scenario starts, and how fast the unit's clock runs against the recorder's), and what is then seen is compared with the scenario's
// trace within the tolerances of the ICS and those that the caller adds. What was not recorded can hide anything, so it makes
// the verdict inconclusive unless something else fails. In what order signals change within one second is not judged: the contacts
// themselves need milliseconds.
//
// Safety: a logic analyser never belongs on mains. Contacts are recorded on the volt-free side only, with the wiring isolated and proved
// dead, by a competent person: see [SafetyNote].
package capture

// SafetyNote is what whoever connects a recorder has to know.
const SafetyNote = "Never connect a logic analyser or logger to mains. Record relay contacts on the volt-free side only, nothing else " +
	"connected to them; isolate the supply and prove it dead before any work on wiring; leave this to a competent person."
