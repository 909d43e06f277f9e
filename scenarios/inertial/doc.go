// Package inertial is the inertial sensor of the device when GNSS is gone: how its position, velocity and attitude
// drift, and what it believes about that.
package inertial
