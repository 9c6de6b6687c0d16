// Package generate writes the generated vectors, vectors/generated/*.json: what no person would derive by hand, because there is too
// much of it.
//
//   - Complete suites. A machine is a small closed world: one unit, one table, a few inputs, and waits that lead from one instant that
//     matters to the next. Its reachable states are explored and minimized, and from the minimal machine package fsm makes a suite of
//     harmonized state identifiers. Each sequence of the suite is one vector. What a unit that passes all of them has shown, and under
//     which assumptions, stands at the head of each file.
//   - Pairs. A covering array over the options of the ICS, every two values of two options in a row of it, and vectors in which one feature
//     is under way when another happens, every ordered pair of features in two rows at least.
//
// Expected traces are the emulator's, and a vector on which the second model does not agree is not written. What a vector needs of
// a unit is found by trying it on units that differ. The same program writes the same bytes.
package generate
