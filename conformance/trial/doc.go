// Package trial judges survey software from within its own Go tests: it plays a scenario on a pseudo-terminal, takes what
// the code under test understood, and fails the test where that is wrong.
//
//	func TestSensor(t *testing.T) {
//		tr := trial.Start(t, "quay-pose")
//		go mydriver.Read(tr.Port(), tr.Baud(), tr.Installation(), func(fix mydriver.Fix) {
//			tr.Observe(observe.Observation{Time: fix.Time, HeadingRad: observe.Of(fix.Heading)})
//		})
//		tr.Check() // waits for the end of the scenario
//	}
//
// Where the code under test takes a reader rather than a port, [Offline] gives it the same bytes without waiting.
//
// Read trial.go; there is nothing else. The checks are those of package conformance, and so is what they require.
package trial
