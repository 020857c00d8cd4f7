package live

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"humdiff/fft/capture"
	"humdiff/report/publish"
)

const (
	// often is how often the folder is looked at.
	often = 500 * time.Millisecond
	// settled is how long a file has to stay as it is before it counts as whole:
	// recorders write at least every second (common practice, no source).
	settled = 2 * time.Second
)

// seen is a file in the watched folder.
type seen struct {
	size  int64
	mtime time.Time
	since time.Time // as it is now
	taken bool
}

// watch takes captures from the sitting's folder as soon as they are whole. What was
// there at the start is taken too, the oldest first.
func (b *Bench) watch() {
	var files map[string]*seen
	var dir string
	tick := time.NewTicker(b.opt.often)
	defer tick.Stop()
	for {
		b.mu.Lock()
		now := b.sitting.dir()
		b.mu.Unlock()
		if now != dir {
			dir, files = now, map[string]*seen{}
			b.admit(dir, b.elsewhere(dir))
		}
		if dir != "" {
			if names := b.whole(dir, files); len(names) > 0 {
				b.admit(dir, names)
			}
			b.miss()
		}
		select {
		case <-tick.C:
		case <-b.ctx.Done():
			return
		}
	}
}

// elsewhere are captures of runs that lie outside of the sitting's folder, as seen
// from there.
func (b *Bench) elsewhere(dir string) (names []string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, r := range b.sitting.runs {
		if st, err := os.Stat(r.path); err == nil && st.Mode().IsRegular() && filepath.Dir(r.path) != dir {
			if name, err := filepath.Rel(dir, r.path); err == nil {
				names = append(names, name)
			}
		}
	}
	return names
}

// miss notes captures that are no longer there.
func (b *Bench) miss() {
	b.mu.Lock()
	defer b.mu.Unlock()
	for path := range b.takes {
		if _, err := os.Stat(path); b.said.Away == "" && errors.Is(err, fs.ErrNotExist) {
			delete(b.takes, path)
			b.settle()
		}
	}
}

// whole looks at the folder once and names the files that have become whole,
// in the order in which they were written.
func (b *Bench) whole(dir string, files map[string]*seen) []string {
	entries, err := os.ReadDir(dir)
	b.noteAway(dir, err)
	if err != nil {
		return nil // a drive that went away may come back
	}
	now := time.Now()
	var whole []string
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") || !capture.Named(e.Name()) {
			continue
		}
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() {
			continue
		}
		f := files[e.Name()]
		if f == nil || f.size != info.Size() || !f.mtime.Equal(info.ModTime()) {
			files[e.Name()] = &seen{size: info.Size(), mtime: info.ModTime(), since: now}
			f = files[e.Name()]
		}
		old := now.Sub(f.mtime) > b.opt.settled || now.Sub(f.since) >= b.opt.settled
		if !f.taken && f.size > 0 && old {
			f.taken = true
			whole = append(whole, e.Name())
		}
	}
	slices.SortStableFunc(whole, func(a, b string) int { return files[a].mtime.Compare(files[b].mtime) })
	return whole
}

// noteAway tells the page that a folder can't be read, or can again.
func (b *Bench) noteAway(dir string, err error) {
	why := ""
	if err != nil {
		why = fmt.Sprintf("%s cannot be read: %s. It is looked for again all the time.", dir, publish.Reason(err))
	}
	b.say(func(s *said) { s.Away = why })
}
