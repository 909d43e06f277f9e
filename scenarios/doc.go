// Package scenarios is what happens: it reads scenario files, says all that is wrong with them and where, and knows the
// truth, which is what the vessel really does at any scenario time. It knows nothing of bytes: which messages, formats
// and line faults there are is the emulator's to say, and to report through [Scenario.Problems].
//
// Read truth.go first: [Truth] and [State] are what the rest of the program sees. Then scenario.go, which is the file
// format; validate.go says what is refused. vessel.go puts package track and package sea together to the truth.
//
// To add a ready-made scenario: one YAML file in library/. To add a GNSS condition: one row in conditions.go. To add a
// key: a field with its `yaml` and `doc` tags, its check in validate.go, a row in the test of bad files, and
// `go generate ./scenarios/...` for the JSON Schemas in schema/.
package scenarios
