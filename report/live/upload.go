package live

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"humdiff/report/publish"
)

// upload takes a dropped file into a folder of its own in the space, and puts it on
// the bench.
func (b *Bench) upload(name string, from io.Reader) error {
	dir, err := os.MkdirTemp(b.space.Dir, "dropped-")
	if err != nil {
		return fmt.Errorf("there is no room for %s: %s", name, publish.Reason(err))
	}
	path := filepath.Join(dir, plain(name))
	to, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		os.RemoveAll(dir)
		return fmt.Errorf("%s cannot be kept: %s", name, publish.Reason(err))
	}
	_, err = io.Copy(to, from)
	if err := errors.Join(err, to.Close()); err != nil {
		os.RemoveAll(dir)
		return fmt.Errorf("%s did not arrive whole: %s", name, publish.Reason(err))
	}
	b.add(name, path)
	return nil
}

// dropped says that a capture is a copy of what was dropped on the page.
func (b *Bench) dropped(path string) bool {
	return strings.HasPrefix(path, b.space.Dir+string(filepath.Separator))
}

// plain is a file name that every system takes, with the ending it had.
func plain(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	kept := strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || strings.ContainsRune(`<>:"|?*`, r) {
			return '_'
		}
		return r
	}, strings.ToValidUTF8(name, "_"))
	kept = strings.Trim(kept, " .")
	if runes := []rune(kept); len(runes) > 60 { // of up to 4 bytes; systems allow 255
		ext := []rune(filepath.Ext(kept))
		if len(ext) > 8 {
			ext = nil
		}
		kept = string(runes[:60-len(ext)]) + string(ext)
	}
	stem, _, _ := strings.Cut(strings.ToUpper(kept), ".")
	if kept == "" || reserved.MatchString(stem) {
		return "capture-" + kept
	}
	return kept
}

// reserved are the names that Windows keeps for devices, with any ending.
var reserved = regexp.MustCompile(`^(CON|PRN|AUX|NUL|COM[0-9]|LPT[0-9])$`)
