package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"swellbench/conformance/diagnose"
	"swellbench/scenarios/units"
)

// soundingFlags adds the flags that say for which soundings findings tell what they do to one.
func soundingFlags(cmd *cobra.Command) {
	cmd.Flags().String("depth", "", "below the transducer, for what a finding does to a sounding, such as 25 m (default 40 m)")
	cmd.Flags().String("beam-angle", "", "off nadir, positive to starboard (default 60 deg)")
	cmd.Flags().String("survey-speed", "", "over ground, which matters for errors of time (default: that of the scenario)")
	cmd.Flags().String("draught", "", "of the transducer (default: that of the vessel in the installation)")
}

// soundingsOf reads them.
func soundingsOf(cmd *cobra.Command) (c diagnose.Conditions, err error) {
	read := func(name string, to *float64, most float64, parse func(string) (float64, error)) {
		text, _ := cmd.Flags().GetString(name)
		if text == "" || err != nil {
			return
		}
		v, e := parse(text)
		switch {
		case e != nil:
			err = fmt.Errorf("--%s: %w", name, e)
		case !(v > -most && v < most) || name != "beam-angle" && !(v >= 0):
			err = fmt.Errorf("--%s is %s, which no survey has", name, text)
		}
		*to = v
	}
	length := func(s string) (float64, error) { v, err := units.ParseLength(s); return float64(v), err }
	read("depth", &c.DepthM, 12000, length)
	read("draught", &c.DraughtM, 100, length)
	read("beam-angle", &c.BeamAngleRad, 1.5, func(s string) (float64, error) { v, err := units.ParseAngle(s); return float64(v), err })
	read("survey-speed", &c.SpeedMS, 100, func(s string) (float64, error) { v, err := units.ParseSpeed(s); return float64(v), err })
	return c, err
}
