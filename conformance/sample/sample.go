// Package sample is the sample firmware of testdata/firmware as a WebAssembly module, so that there is a unit to try the bench on
// without a compiler. It is an independent reading of the clauses: its author had not seen the emulator.
package sample

import _ "embed"

// Module is the module, which package wasm drives.
//
//go:embed sample.wasm
var Module []byte
