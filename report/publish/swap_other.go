//go:build !linux && !darwin

package publish

import (
	"errors"
	"os"
)

func exchange(a, b string) error { return errors.ErrUnsupported }

// alike: no folder can be exchanged here.
func alike(a, b os.FileInfo) bool { return false }

// mine: the system itself keeps others out of a user's folders.
func mine(st os.FileInfo) bool { return true }
