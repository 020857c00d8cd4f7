//go:build !linux

package publish

func killedMain() {}
