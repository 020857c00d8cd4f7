package publish

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/model"
)

// Finder finds the captures that a report names, wherever they lie now and whatever
// they are called: what counts is their content. It remembers what it has hashed, and is used by one
// goroutine at a time.
type Finder struct {
	beside string              // folder of the report
	dirs   []string            // where else to look
	near   []string            // folders beside the report's; nil: not looked yet
	hashes map[string]string   // of files by path
	byHash map[string][]string // paths in dirs; nil: not looked yet
	found  map[string]model.VerifiedCapture
}

// NewFinder is a finder for the report in the file path. It looks in the folders dirs
// too, deep down. The error is a *fault.Error.
func NewFinder(report string, dirs ...string) (*Finder, error) {
	for _, dir := range dirs {
		if err := checkDir(dir); err != nil {
			return nil, err
		}
	}
	return &Finder{beside: filepath.Dir(report), dirs: dirs, hashes: map[string]string{}, found: map[string]model.VerifiedCapture{}}, nil
}

// Find looks for a file: under its name as written, beside the
// report, in the folder of captures, and there by content under any name. What
// isn't found is no error.
func (f *Finder) Find(ctx context.Context, n Named) (model.VerifiedCapture, error) {
	key := n.File + "\x00" + n.SHA256
	if c, ok := f.found[key]; ok {
		return c, nil
	}
	c, err := f.look(ctx, n)
	if err == nil {
		f.found[key] = c
	}
	return c, err
}

func (f *Finder) look(ctx context.Context, n Named) (model.VerifiedCapture, error) {
	c := model.VerifiedCapture{File: n.File, SHA256: n.SHA256, State: model.Missing}
	for _, path := range f.places(n.File) {
		hash, err := f.hash(ctx, path)
		if err != nil {
			if ctx.Err() != nil {
				return c, ctx.Err()
			}
			continue
		}
		if hash == n.SHA256 {
			c.State, c.At = model.Found, path
			return c, nil
		}
		if c.State == model.Missing {
			c.State, c.At = model.Changed, path
		}
	}
	for _, path := range f.nextDoor(n.File) {
		if hash, err := f.hash(ctx, path); err == nil && hash == n.SHA256 {
			c.State, c.At = model.Found, path
			return c, nil
		}
	}
	if err := f.index(ctx); err != nil {
		return c, err
	}
	if paths := f.byHash[n.SHA256]; len(paths) > 0 {
		c.State, c.At = model.Found, paths[0]
	}
	return c, nil
}

// places are the paths under which a file of this name may lie. A report may
// have been written on another system: both kinds of slashes are read.
func (f *Finder) places(name string) []string {
	places := []string{name}
	if !filepath.IsAbs(name) {
		places = append(places, filepath.Join(f.beside, name), filepath.Join(f.beside, "..", name))
	}
	base := name[strings.LastIndexAny(name, `/\`)+1:]
	places = append(places, filepath.Join(f.beside, base), filepath.Join(f.beside, "..", base))
	for _, dir := range f.dirs {
		places = append(places, filepath.Join(dir, base))
	}
	return places
}

// nextDoor are the places of a name in the folders beside the report's: a
// session's captures lie there, or in folders there. Another file of that name there
// is just that.
func (f *Finder) nextDoor(name string) (places []string) {
	name = strings.ReplaceAll(name, `\`, "/")
	for _, dir := range f.neighbours() {
		if filepath.IsLocal(name) {
			places = append(places, filepath.Join(dir, name))
		}
		places = append(places, filepath.Join(dir, path.Base(name)))
	}
	return places
}

// neighbours are the folders beside the report's, looked up once.
func (f *Finder) neighbours() []string {
	if f.near == nil {
		f.near = []string{}
		above := filepath.Join(f.beside, "..")
		entries, _ := os.ReadDir(above) // what can't be read has no captures
		for _, e := range entries {
			if e.IsDir() && !strings.HasPrefix(e.Name(), ".") {
				f.near = append(f.near, filepath.Join(above, e.Name()))
			}
		}
	}
	return f.near
}

func (f *Finder) hash(ctx context.Context, path string) (string, error) {
	if h, ok := f.hashes[path]; ok {
		return h, nil
	}
	h, err := capture.Hash(ctx, path)
	if err == nil {
		f.hashes[path] = h
	}
	return h, err
}

// index hashes every capture in the folders, once, when names didn't do.
func (f *Finder) index(ctx context.Context) error {
	if f.byHash != nil {
		return nil
	}
	f.byHash = map[string][]string{}
	for _, dir := range f.dirs {
		err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if err == nil && d.Type().IsRegular() && capture.Named(path) {
				// What can't be read can't be the capture.
				if hash, err := f.hash(ctx, path); err == nil {
					f.byHash[hash] = append(f.byHash[hash], path)
				}
			}
			return ctx.Err()
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// checkDir refuses a folder of captures that isn't one.
func checkDir(dir string) error {
	st, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &fault.Error{File: dir, What: "there is no such folder", Hint: "--captures names the folder in which the captures lie"}
	case err != nil:
		return &fault.Error{File: dir, What: "cannot be read", Err: err}
	case !st.IsDir():
		return &fault.Error{File: dir, What: "is a file, not a folder", Hint: "--captures names the folder in which the captures lie"}
	}
	return nil
}
