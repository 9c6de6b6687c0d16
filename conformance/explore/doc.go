// Package explore visits every state that a unit can come to within stated bounds, and checks in each what the clauses promise:
// of the emulator alone, or of the emulator and a firmware side by side.
//
// The bounds are a conformance statement, inputs that set the unit up, an alphabet of inputs, and instants. Time is abstracted to
// instants of change: from each state time passes to the next second in which it alone can change anything, and, where that second
// is a full minute of the clock, also to the one before it. Between two such instants nothing of the unit changes without an
// input, so what is left out are inputs given at other seconds; they differ from those tried in when a boost, a stage or the
// reserve ends, and in nothing else.
//
// States are kept whole, not as hashes: two states are taken for one only if they are equal. Of the emulator alone, states that differ
// by what no rule can see are one (see [Bounds] and canonical): by whole days or weeks where no date matters, by hours of a stage that has
// no end. That this is sound is tested on random states and inputs, not assumed.
//
// The search is breadth first, so that a counterexample is as short as any, and its order depends neither on the number of processors nor
// on chance: the same bounds give the same result.
package explore
