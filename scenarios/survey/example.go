package survey

import _ "embed"

// Example is a sheet with all its parts explained, of an invented vessel: to be copied and filled in.
//
//go:embed example.yaml
var Example []byte
