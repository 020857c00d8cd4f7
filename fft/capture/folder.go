package capture

import (
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/fft/fault"
)

// Named says that a file's name ends as those of captures do. What a file is, its
// content says; a name only says which files of a folder are worth opening.
func Named(path string) bool {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".wav", ".wave", ".bwf", ".rf64", ".bw64", ".w64", ".flac":
		return true
	}
	return false
}

// Folder lists the files of a folder and of all folders in it that are named as
// captures are, sorted by their paths. What is hidden (a name that begins with a
// point) is left out, and links to folders are not followed. It returns a *fault.Error for
// each folder that can't be read, and goes on with the others.
func Folder(dir string) (paths []string, unread []error) {
	filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			unread = append(unread, fault.In(path, cannotOpen(path, err)))
			return fs.SkipDir
		case path != dir && strings.HasPrefix(d.Name(), "."):
			if d.IsDir() {
				return fs.SkipDir
			}
		case !d.IsDir() && Named(path):
			paths = append(paths, path)
		}
		return nil
	})
	slices.Sort(paths)
	return paths, unread
}
