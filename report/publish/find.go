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
	dirs   []string            // where to look, deep down
	roots  []string            // where to look for a name: from here, by the report, beside it, and in dirs
	near   []string            // folders next door, in which another file of that name is just that
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
	beside := filepath.Dir(report)
	above := filepath.Join(beside, "..")
	f := &Finder{dirs: dirs, roots: append([]string{"", beside, above}, dirs...), hashes: map[string]string{}, found: map[string]model.VerifiedCapture{}}
	entries, _ := os.ReadDir(above) // what can't be read has no captures
	for _, e := range entries {
		if e.IsDir() && !strings.HasPrefix(e.Name(), ".") {
			f.near = append(f.near, filepath.Join(above, e.Name()))
		}
	}
	return f, nil
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
	own := places(n.File, f.roots)
	for i, path := range append(own, places(n.File, f.near)...) {
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
		if c.State == model.Missing && i < len(own) {
			c.State, c.At = model.Changed, path
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

// places are the paths under which a file of this name may lie: as it is written, which may
// have been on another system, and without its folders.
func places(name string, roots []string) []string {
	places := []string{name}
	slashed := strings.ReplaceAll(name, `\`, "/")
	for _, root := range roots {
		if !filepath.IsAbs(name) {
			places = append(places, filepath.Join(root, slashed))
		}
		places = append(places, filepath.Join(root, path.Base(slashed)))
	}
	return places
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
