// Package cexport compiles vectors into a firmware's own tests: constant tables in C99, bound to one unit's ICS, and a runner for them
// that needs no link, no heap and no stdio. It is for firmware that can be reached in no other way, and for its everyday tests.
//
// The runner, in folder target, is the place where the encoding is read; encode.go is where it is written.
package cexport

import "embed"

// The runner's files, as they go into a firmware's tree.
const (
	TablesFile = "hb_vectors.h" // the name by which the runner includes the tables
	RunnerFile = "hb_runner.c"
	HeaderFile = "hb_runner.h"
)

//go:embed target/hb_runner.c target/hb_runner.h
var target embed.FS

// Runner returns the text of RunnerFile or HeaderFile.
func Runner(name string) ([]byte, error) { return target.ReadFile("target/" + name) }
