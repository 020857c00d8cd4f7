package publish

import (
	"os"

	"golang.org/x/sys/unix"
)

// exchange lets two folders take each other's name, at once.
func exchange(a, b string) error {
	if err := unix.RenamexNp(a, b, unix.RENAME_SWAP); err != nil {
		return &os.LinkError{Op: "exchange", Old: a, New: b, Err: err}
	}
	return nil
}
