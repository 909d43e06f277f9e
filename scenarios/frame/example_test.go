package frame_test

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

func degrees(heading, pitch, roll float64) frame.Attitude {
	return frame.Attitude{Heading: frame.Rad(heading), Pitch: frame.Rad(pitch), Roll: frame.Rad(roll)}
}

// A device turned to starboard feels the vessel's roll as its own pitch. What it reports becomes the vessel's attitude
// by a product, not by subtracting the 90°.
func ExampleVesselFromDevice() {
	mounting := degrees(90, 0, 0).Rotation()
	device := frame.DeviceFromVessel(degrees(45, 5, -10).Rotation(), mounting).Attitude()
	fmt.Printf("device: heading %.2f°, pitch %.2f°, roll %.2f°\n", frame.Deg(device.Heading), frame.Deg(device.Pitch), frame.Deg(device.Roll))

	vessel := frame.VesselFromDevice(device.Rotation(), mounting).Attitude()
	fmt.Printf("vessel: heading %.2f°, pitch %.2f°, roll %.2f°\n", frame.Deg(vessel.Heading), frame.Deg(vessel.Pitch), frame.Deg(vessel.Roll))
	// Output:
	// device: heading 135.88°, pitch 9.96°, roll 5.08°
	// vessel: heading 45.00°, pitch 5.00°, roll -10.00°
}

// The heading from two antennas across the vessel: taking 90° off the azimuth they see is wrong while she heels.
func ExampleHeadingFromBaseline() {
	vessel := degrees(45, 5, -10)
	baseline := frame.Baseline{Azimuth: frame.Rad(90), Length: 2}.Vec()

	azimuth := frame.BaselineAzimuth(vessel.Rotation(), baseline)
	fmt.Printf("seen %.2f°, less 90° %.2f°\n", frame.Deg(azimuth), frame.Deg(azimuth)-90)
	fmt.Printf("heading %.2f°\n", frame.Deg(frame.HeadingFromBaseline(azimuth, vessel.Pitch, vessel.Roll, baseline)))
	// Output:
	// seen 135.88°, less 90° 45.88°
	// heading 45.00°
}

// Bow up lifts what is forward, starboard down lowers what is to starboard.
func ExampleInducedHeaveM() {
	bow := r3.Vec{Y: 30}
	wing := r3.Vec{X: 10}
	fmt.Printf("bow %+.3f m, starboard wing %+.3f m\n", frame.InducedHeaveM(degrees(0, 3, 0), bow), frame.InducedHeaveM(degrees(0, 0, 5), wing))
	// Output: bow +1.570 m, starboard wing -0.872 m
}

// A lever arm measured along the axes of a device that hangs upside-down, as a point of the vessel.
func ExampleLeverFromDevice() {
	device := r3.Vec{X: 0.35, Y: -1.8, Z: 0.6}
	p := frame.LeverFromDevice(r3.Vec{X: 1, Y: 0, Z: 2}, degrees(0, 0, 180).Rotation(), device)
	fmt.Printf("%.2f right, %.2f forward, %.2f up\n", p.X, p.Y, p.Z)
	// Output: -0.65 right, -1.80 forward, -1.40 up
}

// Straight up, only heading less roll is defined; the rotation is whole.
func ExampleRotation_Attitude() {
	r := degrees(40, 90, 15).Rotation()
	a := r.Attitude()
	fmt.Printf("heading %.1f°, pitch %.1f°, roll %.1f°\n", frame.Deg(a.Heading), frame.Deg(a.Pitch), frame.Deg(a.Roll))
	fmt.Println("same rotation:", r.AngleTo(a.Rotation()) < 1e-14)
	// Output:
	// heading 25.0°, pitch 90.0°, roll 0.0°
	// same rotation: true
}

func ExampleMeanAngle() {
	fmt.Printf("%.3f°\n", frame.Deg(frame.MeanAngle(frame.Rad(350), frame.Rad(10), frame.Rad(20))))
	// Output: 6.705°
}
