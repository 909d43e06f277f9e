//go:build !(linux || windows || (darwin && cgo))

package port

import (
	"fmt"

	"go.bug.st/serial"
)

// listSerial finds the real serial ports, without what their adapters say of themselves.
func listSerial() ([]Listed, error) {
	found, err := serial.GetPortsList()
	if err != nil {
		return nil, fmt.Errorf("port: looking for serial ports: %w", err)
	}
	var all []Listed
	for _, path := range found {
		all = append(all, Listed{Path: path, What: "serial port"})
	}
	return all, nil
}
