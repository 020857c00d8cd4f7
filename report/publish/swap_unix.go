//go:build linux || darwin

package publish

import (
	"os"
	"syscall"
)

// alike tells whether two folders lie on one file system and belong to the same
// user and group, so that either may stand for the other.
func alike(a, b os.FileInfo) bool {
	x, okX := a.Sys().(*syscall.Stat_t)
	y, okY := b.Sys().(*syscall.Stat_t)
	return okX && okY && x.Dev == y.Dev && x.Uid == y.Uid && x.Gid == y.Gid
}

// mine tells whether a folder is the user's own.
func mine(st os.FileInfo) bool {
	s, ok := st.Sys().(*syscall.Stat_t)
	return ok && int(s.Uid) == os.Geteuid()
}
