// Package suite reads the published test vectors: their files, the clauses they are for, which of them a unit's ICS calls
// for, and what each means in inputs and seconds for that unit. It runs nothing.
//
// The format is described in vectors/VECTORS.md.
package suite
