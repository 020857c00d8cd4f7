package publish

import (
	"os"

	"golang.org/x/sys/windows"
)

// mine: the system itself keeps others out of a user's folders.
func mine(os.FileInfo) bool { return true }

// room is how many bytes the user may still write where a folder lies.
func room(dir string) (int64, error) {
	name, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0, err
	}
	var free uint64
	err = windows.GetDiskFreeSpaceEx(name, &free, nil, nil)
	return int64(free), err
}
