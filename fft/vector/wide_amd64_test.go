//go:build amd64 && !plain

package vector

import "golang.org/x/sys/cpu"

func hasWide() bool { return cpu.X86.HasAVX2 && cpu.X86.HasFMA }

// setWide chooses, and returns what was chosen.
func setWide(on bool) (was bool) {
	was, wide = wide, on && hasWide()
	return was
}
