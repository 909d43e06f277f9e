// Package sea says how the vessel moves about its mean path: six degrees of freedom at any scenario time.
//
// Read motion.go first: [Motion] is what the rest of the program sees, [SixDOF] is what it says. spec.go holds the
// `motion:` section of a scenario file and what may be wrong with it; sinusoids.go makes a Motion of it.
//
// To add one more kind of motion: a file with a type that has At, its keys in [Spec], their checks in Spec.Validate,
// and its branch in [New]. Derivatives are analytic: the truth is differentiated nowhere.
package sea
