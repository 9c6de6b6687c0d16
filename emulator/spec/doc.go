// Package spec holds the words in which a heating programmer is described: its conformance statement ([ICS]), the inputs
// it can be given ([Input]), what it answers ([Reply]) and what it shows ([Change]). It has no behaviour: the emulator, the
// second model and the harness share these words and nothing else.
//
// The words are those of vectors/BEHAVIOUR.md. Clause ids in comments refer to that page.
package spec
