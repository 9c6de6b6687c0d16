// Package vectors embeds what this project publishes: the behaviour clauses, the adapter protocol, and the test vectors with
// their schema and checksums. It holds no logic; package conformance/suite reads it.
package vectors

import "embed"

// Files are the published files, by their names in this folder.
//
//go:embed BEHAVIOUR.md ADAPTER.md VECTORS.md INDEX.md KILLS.md TRACE.md SHA256SUMS schema.json hand generated
var Files embed.FS
