//go:build !unix

package port

import "os"

// openDevice has nothing to offer here: the library's own writes have to do.
func openDevice(string) (*os.File, error) { return nil, nil }

// permissionHelp says how to come to a device that this user may not open.
func permissionHelp(string) string { return "run as a user who may open it" }
