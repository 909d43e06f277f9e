// Package installation knows where things are on the vessel and what was typed into the device: the installation
// file, which the device, the judge and the consumer read alike.
//
// Axes, signs and the order of mounting angles are those of package frame. Points count in m right, forward and up
// from the vessel reference point, which is called "reference".
//
// What the device reports follows from what was entered. With nothing entered: position and velocity of
// antenna-primary, heave of the sensor, attitude of the device's own axes, and as heading the true azimuth of the
// baseline (two antennas) or the heading of its own axes (one). With mounting entered: attitude of the vessel. With
// baseline, or both antennas: heading of the vessel, corrected for tilt. With the primary antenna and an output point:
// position, velocity and heave of that point.
//
// Read installation.go first, then settings.go. A new thing that can be entered is a field of [Entered], its
// resolution in [Installation.Settings], its check in [Installation.Validate] and its line in write.go.
package installation
