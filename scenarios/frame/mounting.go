package frame

import "gonum.org/v1/gonum/spatial/r3"

// DeviceFromVessel returns the rotation from device axes to east-north-up, C_nd = C_nv·C_vd. mounting is the rotation
// of the mounting angles, from device axes to vessel axes. Any mounting is allowed: sideways, on a bulkhead,
// upside-down.
func DeviceFromVessel(vessel, mounting Rotation) Rotation { return vessel.Mul(mounting) }

// VesselFromDevice returns the rotation from vessel axes to east-north-up, C_nv = C_nd·C_vdᵀ. It undoes
// [DeviceFromVessel].
func VesselFromDevice(device, mounting Rotation) Rotation { return device.Mul(mounting.Inverse()) }

// TiltFromDevice returns pitch and roll of the vessel, in rad, from those of the device and its mounting, without any
// heading.
//
// The zenith in device axes follows from pitch and roll alone, also where the device's own heading and roll cannot be
// told apart; the mounting turns it into vessel axes. −π/2 ≤ pitch ≤ π/2, −π < roll ≤ π.
func TiltFromDevice(devicePitch, deviceRoll float64, mounting Rotation) (pitch, roll float64) {
	return tilt(mounting.Apply(Attitude{Pitch: devicePitch, Roll: deviceRoll}.up()))
}

// LeverFromDevice returns the point l, in m along the device's own right, forward, up from the device, as a point in
// vessel axes from the vessel reference point. device is where the device sits, in vessel axes from that point.
func LeverFromDevice(l r3.Vec, mounting Rotation, device r3.Vec) r3.Vec {
	return r3.Add(device, mounting.Apply(l))
}

// LeverToDevice returns the point p, in m right, forward, up from the vessel reference point, as a lever arm along
// the device's own axes from the device. It undoes [LeverFromDevice].
func LeverToDevice(p r3.Vec, mounting Rotation, device r3.Vec) r3.Vec {
	return mounting.Inverse().Apply(r3.Sub(p, device))
}
