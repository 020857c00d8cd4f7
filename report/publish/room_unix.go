//go:build unix

package publish

import (
	"os"
	"syscall"

	"golang.org/x/sys/unix"
)

// mine tells whether a folder is the user's own.
func mine(st os.FileInfo) bool {
	s, ok := st.Sys().(*syscall.Stat_t)
	return ok && int(s.Uid) == os.Geteuid()
}

// room is how many bytes the user may still write where a folder lies.
func room(dir string) (int64, error) {
	var st unix.Statfs_t
	if err := unix.Statfs(dir, &st); err != nil {
		return 0, err
	}
	return int64(st.Bavail) * int64(st.Bsize), nil
}
