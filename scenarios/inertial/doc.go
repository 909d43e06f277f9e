// Package inertial is the inertial sensor of the device when GNSS is gone: how its position, velocity and attitude
// drift, and what it believes about that.
//
// The drift is not a fitted t². The linear equations of errors in the local level frame (tilt, velocity, position, and
// the biases of three gyros and three accelerometers) are integrated along the true motion from the moment of loss: Earth
// rate, transport rate, the Schuler loop of 84.4 minutes and its Foucault precession are in them. The sigmas that the
// device reports come from the covariance of the same equations, so that drift and sigma belong together: over many
// seeds the squared error, normalised by the covariance, is χ² within its 99.9 % bounds (a test holds this).
//
// # What it starts from
//
// The alignment at the loss decides more than the grade: 100 µg are 168 m after 10 minutes if the attitude was perfect,
// and 2 m if the sensor had levelled itself with the bias present, since the tilt then hides the bias. It is a stated
// choice, `self-levelled` unless the file says otherwise; what it levels itself in is the last minute before the loss.
// Tilt errors that exist while GNSS is there are not reported, so pitch and roll step at the loss by what the levelling
// is worth: 0.006° for 100 µg. Position, velocity and heading step by nothing where the GNSS model says what the device
// was off by ([Start]). A start without GNSS, from an entered position, is an outage from time 0 with a Start.
//
// # How far it parts from the truth of a full navigator
//
// The equations are linear, and the table says, for a sensor at rest, how far they part from a full strapdown navigator:
// in per cent of the largest horizontal error so far, at most, over the `nonlinear` rows in testdata (a test works it out).
//
//	largest gyro bias   10 min   30 min   1 h     6 h
//	none                0.004    0.025    0.04    0.15
//	0.1 deg/h           0.01     0.04     0.12    1.2
//	2 deg/h             0.2      1        3       13
//	10 deg/h            0.7      6        25      60
//
// A height that is free parts by 0.1 % in half an hour, and the horizontal position with it by 0.4 %. Under way in a
// seaway, weaving, with 3 deg/h and 300 µg, all nine states agree with a full navigator in Earth-centred axes to 0.5 %
// after 4 minutes, and so do, to 1 %, errors of position, velocity and heading at 250 m/s, where the terms of speed show
// (tests run both). Beyond 5° of tilt [Spec.Warnings] says that the equations no longer hold.
//
// # Reading order
//
// spec.go: the section of a scenario file. grades.go: the classes of sensors, the table to which a class is added.
// equations.go: the equations. integrator.go: states and covariance along an outage. navigator.go: outages to nodes.
// drift.go: what comes out at any time. formulas.go: the laws of one axis, for forecasts and tests.
//
// Sources: Groves, Principles of GNSS, Inertial and Multisensor Integrated Navigation Systems, 2nd ed. 2013, ch. 4, 5
// and 14; Titterton & Weston, Strapdown Inertial Navigation Technology, 2nd ed. 2004, ch. 12; Farrell, Aided Navigation,
// 2008, ch. 11 (chapters from memory).
package inertial
