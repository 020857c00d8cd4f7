package verify

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"humdiff/fft/capture"
	"humdiff/report/result"
)

// finder finds captures by their content, wherever they lie now.
type finder struct {
	beside string              // folder of the report
	dir    string              // where else to look; empty: nowhere
	hashes map[string]string   // of files by path
	byHash map[string][]string // paths in dir; nil: not looked yet
	found  map[string]result.VerifiedCapture
}

func newFinder(report, dir string) *finder {
	return &finder{beside: filepath.Dir(report), dir: dir, hashes: map[string]string{}, found: map[string]result.VerifiedCapture{}}
}

// find looks for the file of a side: under its name as written, beside the
// report, in the folder of captures, and there by content under any name.
func (f *finder) find(ctx context.Context, side result.Side) (result.VerifiedCapture, error) {
	key := side.File + "\x00" + side.SHA256
	if c, ok := f.found[key]; ok {
		return c, nil
	}
	c, err := f.look(ctx, side)
	if err == nil {
		f.found[key] = c
	}
	return c, err
}

func (f *finder) look(ctx context.Context, side result.Side) (result.VerifiedCapture, error) {
	c := result.VerifiedCapture{File: side.File, SHA256: side.SHA256, State: result.Missing}
	for _, path := range f.places(side.File) {
		hash, err := f.hash(ctx, path)
		if err != nil {
			if ctx.Err() != nil {
				return c, ctx.Err()
			}
			continue
		}
		if hash == side.SHA256 {
			c.State, c.At = result.Found, path
			return c, nil
		}
		if c.State == result.Missing {
			c.State, c.At = result.Changed, path
		}
	}
	if err := f.index(ctx); err != nil {
		return c, err
	}
	if paths := f.byHash[side.SHA256]; len(paths) > 0 {
		c.State, c.At = result.Found, paths[0]
	}
	return c, nil
}

// places are the paths under which a file of this name may lie. A report may
// have been written on another system: both kinds of slashes are read.
func (f *finder) places(name string) []string {
	places := []string{name}
	if !filepath.IsAbs(name) {
		places = append(places, filepath.Join(f.beside, name), filepath.Join(f.beside, "..", name))
	}
	base := name[strings.LastIndexAny(name, `/\`)+1:]
	places = append(places, filepath.Join(f.beside, base))
	if f.dir != "" {
		places = append(places, filepath.Join(f.dir, base))
	}
	return places
}

func (f *finder) hash(ctx context.Context, path string) (string, error) {
	if h, ok := f.hashes[path]; ok {
		return h, nil
	}
	h, err := capture.Hash(ctx, path)
	if err == nil {
		f.hashes[path] = h
	}
	return h, err
}

// index hashes every capture in the folder, once, when names didn't do.
func (f *finder) index(ctx context.Context) error {
	if f.byHash != nil || f.dir == "" {
		return nil
	}
	f.byHash = map[string][]string{}
	return filepath.WalkDir(f.dir, func(path string, d fs.DirEntry, err error) error {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil || !d.Type().IsRegular() || !isCapture(path) {
			return nil // what can't be read can't be the capture
		}
		hash, err := f.hash(ctx, path)
		if err != nil {
			return ctx.Err()
		}
		f.byHash[hash] = append(f.byHash[hash], path)
		return nil
	})
}

func isCapture(path string) bool {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".wav", ".wave", ".bwf", ".rf64", ".bw64", ".w64", ".flac":
		return true
	}
	return false
}

// checkDir refuses a folder of captures that isn't one.
func checkDir(dir string) error {
	if dir == "" {
		return nil
	}
	st, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &capture.Error{File: dir, What: "there is no such folder", Hint: "--captures names the folder in which the captures lie"}
	case err != nil:
		return &capture.Error{File: dir, What: "cannot be read", Err: err}
	case !st.IsDir():
		return &capture.Error{File: dir, What: "is a file, not a folder", Hint: "--captures names the folder in which the captures lie"}
	}
	return nil
}
