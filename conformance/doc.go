// Package conformance is the judge: it plays the cases of a suite to a consumer, reads what the consumer says it
// understood, and says whether that is so.
//
// Read types.go first: suite, case, evidence, check, result. Then runner.go, which plays a suite, and runner_case.go,
// one case from its port to its results; runner_verdict.go says what a run comes to, and holds the table of incidents
// (what can go wrong with a consumer, a port or the host). checks.go is the table of checks. suite.go reads suite
// files; the ready-made ones are in package suites.
//
// To add a check: a file check_<what>.go, a row in checks.go, a case in a suite, and a seeded defect in package consumer
// that trips it. To add an incident: a row in runner_verdict.go, the place that finds it, and a behaviour of the helper
// consumer in the test of the runner. To add a case: an entry in a suite file.
package conformance
