//go:build !amd64 || plain

package vector

func hasWide() bool { return false }

func setWide(bool) bool { return false }
