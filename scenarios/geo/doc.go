// Package geo is the Earth: the WGS 84 ellipsoid, positions on and above it, local level frames, geodesics and normal
// gravity. Angles are rad, lengths m, heights above the ellipsoid; axes and signs are those of package frame.
//
// Read position.go first, then local.go (lever arms to positions) and line.go (distances and directions along the
// ellipsoid). A quantity that depends on the place goes beside its kind, as a function with its formula, source and a
// vector in testdata.
//
// Everything is computed on WGS 84 and nothing allocates, fails or panics. What is not finite going in, and a latitude
// beyond ±90° where geodesics are asked for, comes out as NaN.
//
// Sources: NIMA TR8350.2, 3rd ed. 2000, and NGA.STND.0036 (2014) for the constants; Groves, Principles of GNSS,
// Inertial and Multisensor Integrated Navigation Systems, 2nd ed. 2013, ch. 2; Karney, Algorithms for geodesics,
// J. Geodesy 87 (2013) 43-55.
package geo
