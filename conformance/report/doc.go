// Package report shows a verdict: as text for a person, as JSON for programs, as JUnit XML for CI systems.
//
// Read text.go first: it has the order in which a person needs things, and the others follow it. json.go documents the
// JSON format ([Document]), whose JSON Schema is in schema/verdict.json; junit.go says how outcomes map to JUnit's.
//
// To add a format: one file with a function that takes a writer and a [conformance.Verdict], and its golden files.
// Golden files are rewritten by go test -update; read them before they are committed.
package report
