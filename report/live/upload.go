package live

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"
	"unicode"

	"humdiff/fft/capture"
	"humdiff/report/publish"
)

// mostCaptures may lie in a sitting; mostBytes are taken of one that is dropped.
const (
	mostCaptures = 5000
	mostBytes    = 16 << 30
)

// upload takes a dropped file into the sitting's folder, and into the session. changed
// is when it was last changed where it came from; zero: unknown. A file that is there
// already, by name and content, is taken once.
func (b *Bench) upload(ctx context.Context, name string, changed time.Time, from io.Reader) error {
	b.mu.Lock()
	err := b.begin()
	dir, many := b.sitting.dir(), len(b.takes)
	b.mu.Unlock()
	if err != nil {
		return err
	}
	name = plain(name)
	if many >= mostCaptures {
		return fmt.Errorf("%s was not taken: %d captures are here already", name, many)
	}
	if !capture.Named(name) {
		return fmt.Errorf("%s was not taken: captures are WAV or FLAC files", name)
	}
	to := freeName(dir, name)
	err = publish.Stream(ctx, filepath.Join(dir, to), false, func(w io.Writer) error {
		n, err := io.Copy(w, io.LimitReader(from, mostBytes+1))
		if err == nil && n > mostBytes {
			err = errors.New("it is too large")
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("%s did not arrive whole: %s", name, publish.Reason(err))
	}
	if !changed.IsZero() {
		os.Chtimes(filepath.Join(dir, to), changed, changed) // else its order isn't known
	}
	if to != name && sameFile(ctx, filepath.Join(dir, name), filepath.Join(dir, to)) {
		return os.Remove(filepath.Join(dir, to))
	}
	b.admit(dir, []string{to})
	return nil
}

// freeName is a name, or with a number, that nothing in a folder has.
func freeName(dir, name string) string {
	ext := filepath.Ext(name)
	for n, try := 2, name; ; n++ {
		if _, err := os.Lstat(filepath.Join(dir, try)); err != nil {
			return try
		}
		try = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(name, ext), n, ext)
	}
}

func sameFile(ctx context.Context, a, b string) bool {
	x, err := capture.Hash(ctx, a)
	y, also := capture.Hash(ctx, b)
	return err == nil && also == nil && x == y
}

// plain is a file name that every system takes and shows as it is, with the ending it had.
func plain(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	kept := strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) || strings.ContainsRune(`<>:"|?*`, r) {
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
