//go:build !amd64 || purego

package vector

func hasWide() bool { return false }

func setWide(bool) bool { return false }
