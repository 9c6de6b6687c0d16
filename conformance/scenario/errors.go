package scenario

import "example.org/hearthbench/conformance/document"

// Error is one thing that is wrong with a scenario file.
type Error = document.Error

// Errors are all that is wrong with a scenario file, in its order. There is at least one.
type Errors = document.Errors

// MaxSize is the most bytes that a scenario file may have.
const MaxSize = document.MaxSize
