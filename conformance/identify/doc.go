// Package identify settles what an unknown unit has, and which choices it has made, by asking it: the conformance statement (ICS) of a
// unit that states none, or that is not believed.
//
// A hypothesis is an ICS. There are some 10^19 that can be told apart, so they are held as a product: a [Factor] is what is settled by
// itself, and has a list of values that remain. A [Question] is a script that begins with the unit as it left the factory, and one look
// at what comes of it that is answered with yes or no. It is about one factor: nothing that is not yet settled but that factor moves
// what is looked at, and each answer leaves a list of values. Which answer goes with which value is the emulator's to say.
// The next question is the one whose answer is least certain, every value that remains being equally probable.
//
// When all is settled that can be, exactly one class of ICSs gives all those answers. Everything else that was seen on the way, every
// answer and every change, is then held against it, and so are a few controls: scripts on what the questions have come near to. If that does not agree there is no ICS that the unit fits, and the [Result] says
// where it departs and from which clause. That the unit keeps to the clauses on other sequences is not shown: that is for the vectors.
//
// What makes no difference that could be seen is no hypothesis of its own: see [Idle]. The unit's own statement is not read.
//
// The same is offered to a person at a unit on a wall, who has a watch, two hands and an isolator: see [Hand].
package identify
