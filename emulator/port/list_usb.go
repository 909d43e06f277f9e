//go:build linux || windows || (darwin && cgo)

package port

import (
	"fmt"

	"go.bug.st/serial/enumerator"
)

// listSerial finds the real serial ports.
func listSerial() ([]Listed, error) {
	found, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return nil, fmt.Errorf("port: looking for serial ports: %w", err)
	}
	var all []Listed
	for _, p := range found {
		what := "serial port"
		if p.IsUSB {
			what = fmt.Sprintf("USB serial port %s:%s", p.VID, p.PID)
			if p.Product != "" {
				what += ", " + p.Product
			}
			if p.SerialNumber != "" {
				what += ", serial number " + p.SerialNumber
			}
		}
		all = append(all, Listed{Path: p.Name, What: what})
	}
	return all, nil
}
