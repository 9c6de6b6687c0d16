// Package wire is the text of the adapter protocol, version 1, in both directions: inputs, events, closing lines and the
// lines of the conformance statement, and [Serve], the unit's side of the protocol for any Go device. The page it follows is
// vectors/ADAPTER.md.
//
// Every word of the protocol stands in one table of this package, so that vectors, reports and configuration files use the
// same words as the wire. Apart from [AppendICS], whose lines are complete, no Append function writes the LF that ends a
// line, and no Parse function accepts one.
//
// The Append and Parse functions do not allocate where there is no error, apart from growing dst and from copying a
// credential.
package wire

// Version is the protocol's version, which the request "hello" names.
const Version = 1

// MaxLine is the most bytes that a line may have, not counting the LF, or CR and LF, that end it.
const MaxLine = 120

// MaxGo is the most seconds that one request "go" may ask for.
const MaxGo = 1_000_000_000
