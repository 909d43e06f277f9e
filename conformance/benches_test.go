package conformance

import "strings"

const swellMotion = `
motion:
  pose: {pitch: 0.7 deg, roll: -1.3 deg}
  roll: [{amplitude: 9 deg, period: 3.1 s, phase: 20 deg}]
  pitch: [{amplitude: 4.5 deg, period: 3.7 s, phase: 75 deg}]
  heave: [{amplitude: 0.8 m, period: 4.3 s, phase: 140 deg}]
  yaw: [{amplitude: 2.5 deg, period: 4.9 s, phase: 205 deg}]
`

const swellTrack = `
track:
  position: {latitude: -29.418273 deg, longitude: 33.756128 deg, height: 27.63 m}
  heading: 122.7 deg
  course: 126.4 deg
  speed: 9.3 kn
`

const rawInstallation = `
installation:
  points:
    sensor: [0.62 m, -3.35 m, 1.15 m]
    antenna-primary: [1.45 m, -5.20 m, 8.30 m]
    antenna-secondary: [-0.95 m, -4.55 m, 8.75 m]
    sonar: [-1.85 m, 4.90 m, -2.35 m]
  mounting: {heading: -52 deg, pitch: 14 deg, roll: 23 deg}
  expected-of-consumer: {output-point: sonar}
`

const enteredInstallation = `
installation:
  points:
    sensor: [0.62 m, -3.35 m, 1.15 m]
    antenna-primary: [1.45 m, -5.20 m, 8.30 m]
    antenna-secondary: [-0.95 m, -4.55 m, 8.75 m]
    sonar: [-1.85 m, 4.90 m, -2.35 m]
  mounting: {heading: -52 deg, pitch: 14 deg, roll: 23 deg}
  entered:
    mounting: {heading: -52 deg, pitch: 14 deg, roll: 23 deg}
    antennas: {primary: antenna-primary, secondary: antenna-secondary}
    sensor: sensor
    output-point: sensor
  expected-of-consumer: {output-point: sonar}
`

// doneInstallation leaves nothing to the consumer.
var doneInstallation = strings.Replace(enteredInstallation, "output-point: sensor", "output-point: sonar", 1)

const tenHertz = `
streams:
  - format: nmea0183
    line: {baud: 57600}
    messages:
      - {type: ZDA, rate: 1 Hz}
      - {type: GGA, rate: 10 Hz, decimals: {minutes: 6, altitude: 2, undulation: 2}}
      - {type: VTG, rate: 10 Hz, decimals: {course: 2, speed: 2}}
      - {type: HDT, rate: 10 Hz, decimals: {heading: 2}}
      - {type: ROT, rate: 10 Hz}
      - {type: XDR, rate: 10 Hz, decimals: {angle: 2, heave: 2}}
`

const head = "start: now\nduration: 8 s\nseed: 7\ngeoid: {undulation: 26.85 m}\nmagnetic-variation: -22.6 deg\ngnss: {fix: rtk-fixed}\ndevice: {latency: {constant: 40 ms}}\n"

// benches are the scenarios of these tests.
var benches = map[string]string{
	"raw":     head + rawInstallation + swellTrack + swellMotion + tenHertz,
	"entered": head + enteredInstallation + swellTrack + swellMotion + tenHertz,
	"done":    head + doneInstallation + swellTrack + swellMotion + tenHertz,
	"single": head + strings.Replace(rawInstallation, "    antenna-secondary: [-0.95 m, -4.55 m, 8.75 m]\n", "", 1) +
		swellTrack + swellMotion + tenHertz,
	"pose": head + rawInstallation + strings.Replace(swellTrack, "  course: 126.4 deg\n  speed: 9.3 kn\n", "", 1) + "\nmotion:\n  pose: {pitch: 3.4 deg, roll: -6.7 deg}\n" + tenHertz,
	"noise": strings.Replace(head, "latency: {constant: 40 ms}", "latency: {constant: 20 ms, random: 10 ms}, noise: {horizontal: 8 mm, vertical: 12 mm, "+
		"speed: 0.01 m/s, heading: 0.03 deg, pitch: 0.01 deg, roll: 0.01 deg, heave: 10 mm, rate-of-turn: 0.02 deg/s}", 1) + rawInstallation + swellTrack + swellMotion + tenHertz,
	"noise-entered": strings.Replace(head, "latency: {constant: 40 ms}", "noise: {horizontal: 8 mm, vertical: 12 mm, "+
		"speed: 0.01 m/s, heading: 0.03 deg, pitch: 0.05 deg, roll: 0.05 deg, heave: 10 mm, rate-of-turn: 0.02 deg/s}", 1) + enteredInstallation + swellTrack + swellMotion + tenHertz,
	"rates": head + rawInstallation + swellTrack + swellMotion + `
streams:
  - format: nmea0183
    line: {baud: 57600}
    messages:
      - {type: RMC, rate: 1 Hz, decimals: {minutes: 6}}
      - {type: GGA, rate: 5 Hz, decimals: {minutes: 6, altitude: 2, undulation: 2}}
      - {type: HDT, rate: 10 Hz, decimals: {heading: 2}}
      - {type: XDR, rate: 10 Hz, decimals: {angle: 2, heave: 2}}
`,
	"slow-attitude": head + rawInstallation + swellTrack + swellMotion + `
streams:
  - format: nmea0183
    line: {baud: 38400}
    messages:
      - {type: ZDA, rate: 1 Hz}
      - {type: GGA, rate: 10 Hz, decimals: {minutes: 6, altitude: 2, undulation: 2}}
      - {type: HDT, rate: 5 Hz, decimals: {heading: 2}}
      - {type: XDR, rate: 5 Hz, decimals: {angle: 2, heave: 2}}
`,
	"blocked": strings.Replace(head, "gnss: {fix: rtk-fixed}", "gnss: {fix: rtk-fixed, conditions: [{condition: blocked, from: 2.9 s, until: 4.9 s}]}", 1) +
		doneInstallation + swellTrack + swellMotion + tenHertz,
	"blocked-raw": strings.Replace(head, "gnss: {fix: rtk-fixed}", "gnss: {fix: rtk-fixed, conditions: [{condition: blocked, from: 2.9 s, until: 4.9 s}]}", 1) +
		rawInstallation + swellTrack + swellMotion + tenHertz,
	"damage":     head + doneInstallation + swellTrack + swellMotion + tenHertz + "\nfaults:\n  - {fault: bad-checksum, from: 0.7 s, every: 7}\n",
	"damage-raw": head + rawInstallation + swellTrack + swellMotion + tenHertz + "\nfaults:\n  - {fault: bad-checksum, from: 0.7 s, every: 7}\n",
	"damage-pose": head + doneInstallation + "\ntrack:\n  position: {latitude: -29.418273 deg, longitude: 33.756128 deg, height: 27.63 m}\n  heading: 122.7 deg\n" +
		tenHertz + "\nfaults:\n  - {fault: bad-checksum, from: 0.7 s, every: 7}\n",
	"silence": head + rawInstallation + swellTrack + swellMotion + tenHertz + "\nfaults:\n  - {fault: silence, from: 3 s, until: 4 s}\n",
	"wrap": head + rawInstallation + `
track:
  position: {latitude: -17.296415 deg, longitude: -179.999583 deg, height: 56.77 m}
  heading: 3.7 deg
  course: 277.4 deg
  speed: 18.5 m/s
  turn: {rate: -2.5 deg/s}
` + "\nmotion:\n  pose: {pitch: 2.8 deg, roll: -2.2 deg}\n" + tenHertz,
	"west":     head + rawInstallation + strings.Replace(swellTrack, "longitude: 33", "longitude: -133", 1) + swellMotion + tenHertz,
	"midnight": strings.Replace(head, "start: now", "start: 2027-12-31T23:59:56Z", 1) + rawInstallation + swellTrack + swellMotion + tenHertz,
	"sensor-only": head + rawInstallation + swellTrack + swellMotion + `
streams:
  - format: nmea0183
    line: {baud: 57600}
    messages:
      - {type: XDR, rate: 20 Hz, decimals: {angle: 2, heave: 2}}
`,
	"sensor-other-date": strings.Replace(head, "start: now", "start: 2027-12-31T12:00:00Z", 1) + rawInstallation + swellTrack + swellMotion + `
streams:
  - format: nmea0183
    line: {baud: 57600}
    messages:
      - {type: XDR, rate: 20 Hz, decimals: {angle: 2, heave: 2}}
`,
	"time-only": head + rawInstallation + swellTrack + swellMotion + `
streams:
  - format: nmea0183
    line: {baud: 38400}
    messages:
      - {type: GGA, rate: 10 Hz, decimals: {minutes: 6, altitude: 2, undulation: 2}}
      - {type: HDT, rate: 10 Hz, decimals: {heading: 2}}
      - {type: XDR, rate: 10 Hz, decimals: {angle: 2, heave: 2}}
`,
}
