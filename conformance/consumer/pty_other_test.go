//go:build !linux

package consumer

import (
	"errors"
	"os"
)

func makeRaw(*os.File) error { return errors.ErrUnsupported }
