package report

import _ "embed"

// Schema is the JSON Schema (2020-12) of what [Report.JSON] writes.
//
//go:embed report.schema.json
var Schema []byte
