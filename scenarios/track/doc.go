// Package track turns the `track:` section of a scenario into a smooth path over the Earth: where the vessel's mean
// position is, how it moves and where it heads, at any scenario time.
//
// Read path.go first: [Path] and [PathState] are what the rest of the program sees. spec.go is the section of the
// file. A path is made of three layers, each in its own file:
//
//   - curve.go: a smooth curve in a plan, metres east and north of an anchor, with two derivatives, and a plan heading.
//     Standing, running straight and turning are curves; a new manoeuvre is one more curve.
//   - plan.go: the plan laid on the ellipsoid. It is the azimuthal equidistant map about the anchor: a straight line
//     through the anchor is a geodesic, a circle about it keeps its distance along the ground. The map has no edge,
//     and the poles and the antimeridian are places like any other.
//   - surface.go: from motion over the ellipsoid to position, velocity and acceleration at the vessel's height.
//
// # What speed and heading mean
//
// Speed is along the surface of the ellipsoid; at the height h the velocity over the ground is larger by h/R (8e-6 at
// 51 m), exactly by the radius of curvature of each direction. Heading is true heading where the vessel is: on a
// straight track, a geodesic, it changes as the meridians converge. Acceleration is the derivative of the velocity
// over the ground as seen from the turning Earth (of the Earth-centred, Earth-fixed velocity), resolved east, north,
// up: on a straight track at constant speed it points down, v²/R.
//
// All derivatives are analytic; the tests differentiate the positions.
package track
