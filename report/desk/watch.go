package desk

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"humdiff/report/publish"
)

const (
	// glance is how often the folder is looked at.
	glance = 500 * time.Millisecond
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
func (d *Desk) watch() {
	files := map[string]*seen{}
	tick := time.NewTicker(glance)
	defer tick.Stop()
	for {
		for _, name := range d.glance(files) {
			path := filepath.Join(d.opt.Folder, name)
			if d.replaces(path) {
				continue
			}
			d.add(name, path)
		}
		select {
		case <-tick.C:
		case <-d.ctx.Done():
			return
		}
	}
}

// glance looks at the folder once and names the files that have become whole,
// in the order in which they were written.
func (d *Desk) glance(files map[string]*seen) []string {
	entries, err := os.ReadDir(d.opt.Folder)
	d.noteAway(err)
	if err != nil {
		return nil // a drive that went away may come back
	}
	now := time.Now()
	var whole []string
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") || !isCapture(e.Name()) {
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
func (d *Desk) noteAway(err error) {
	said := ""
	if err != nil {
		said = fmt.Sprintf("%s cannot be read: %s. It is looked for again all the time.", d.opt.Folder, publish.Reason(err))
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.away != said {
		d.away = said
		d.touch()
	}
}

// replaces reads a file anew that is on the desk already and was recorded over,
// and says that it did.
func (d *Desk) replaces(path string) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, c := range d.captures {
		if c.Address.Path == path {
			// The old result is of samples that are gone.
			c.Reading, d.outcome.wanted = true, ""
			d.halt()
			d.touch()
			d.work.Go(func() { d.look(c.ID, path) })
			return true
		}
	}
	return false
}

// isCapture goes by the name alone; what is inside is looked at afterwards.
func isCapture(name string) bool {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".wav", ".wave", ".flac":
		return true
	}
	return false
}
