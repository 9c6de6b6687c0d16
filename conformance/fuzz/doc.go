// Package fuzz looks for inputs and waits on which an implementation under test departs from the clauses, with the emulator as
// oracle, and tells each cause once, as the shortest sequence that shows it.
//
// A campaign makes scripts on the oracle alone, which knows the next instants of change, so that waits land on and around them; puts
// each to the unit; and compares every answer and every change. What it does next is guided by what the oracle has been brought to so
// far: each step is the least tried of several, by the state and the input before it, and scripts that reach something new are kept and
// varied. The first few thousand steps are chosen with more care: so that they would show, of each thing that a unit remembers, whether it
// has been changed that should have been left, or left that should have been changed. A failure is shortened, held against the causes known
// so far, written as a vector, and put to the unit once more by the ordinary runner before it is told. It is of a known cause if it violates
// the same clause in the same way by some of the same inputs, or if one guess at what the unit does wrong predicts both to the second.
//
// Everything but speed follows from the seed and the unit: the same seed and number of steps give the same bytes.
package fuzz
