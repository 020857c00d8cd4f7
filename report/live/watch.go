package live

import (
	"fmt"
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

// watch takes captures from the folder as soon as they are whole. What was there
// at the start is taken too, the oldest first.
func (b *Bench) watch() {
	files := map[string]*seen{}
	tick := time.NewTicker(often)
	defer tick.Stop()
	for {
		for _, name := range b.whole(files) {
			path := filepath.Join(b.opt.Folder, name)
			if b.replaces(path) {
				continue
			}
			b.add(name, path)
		}
		select {
		case <-tick.C:
		case <-b.ctx.Done():
			return
		}
	}
}

// whole looks at the folder once and names the files that have become whole,
// in the order in which they were written.
func (b *Bench) whole(files map[string]*seen) []string {
	entries, err := os.ReadDir(b.opt.Folder)
	b.noteAway(err)
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
		old := now.Sub(f.mtime) > settled || now.Sub(f.since) >= settled
		if !f.taken && f.size > 0 && old {
			f.taken = true
			whole = append(whole, e.Name())
		}
	}
	slices.SortStableFunc(whole, func(a, b string) int { return files[a].mtime.Compare(files[b].mtime) })
	return whole
}

// noteAway tells the page that the folder can't be read, or can again.
func (b *Bench) noteAway(err error) {
	why := ""
	if err != nil {
		why = fmt.Sprintf("%s cannot be read: %s. It is looked for again all the time.", b.opt.Folder, publish.Reason(err))
	}
	b.say(func(s *said) { s.Away = why })
}

// replaces reads a file anew that is on the bench already and was recorded over, and
// says that it did. The old result is of samples that are gone.
func (b *Bench) replaces(path string) (does bool) {
	b.change(func() error {
		if i := slices.IndexFunc(b.captures, func(c *Capture) bool { return c.Address.Path == path }); i >= 0 {
			c := b.captures[i]
			does, c.Reading, b.outcome.wanted = true, true, ""
			b.work.Go(func() { b.look(c.ID, path) })
		}
		return nil
	})
	return does
}
