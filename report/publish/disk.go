package publish

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// All that this room does to the file system goes through here, so that tests can
// let each step fail, or end the program there.

// step is told what is about to be done, and with what; an error lets it fail.
var step = func(op, path string) error { return nil }

func mkdir(path string) error {
	if err := step("mkdir", path); err != nil {
		return err
	}
	return os.Mkdir(path, 0o777)
}

func rename(from, to string) error {
	if err := step("rename", to); err != nil {
		return err
	}
	return os.Rename(from, to)
}

func remove(path string) error {
	if err := step("remove", path); err != nil {
		return err
	}
	return os.Remove(path)
}

// removeTree removes a folder and all in it, one by one: what removes a tree at
// once isn't there on every system that runs Windows programs. Links aren't
// followed.
func removeTree(dir string) error {
	var all []string
	err := filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		all = append(all, path)
		return err
	})
	for _, path := range slices.Backward(all) {
		if gone := remove(path); err == nil {
			err = gone
		}
	}
	return err
}

// writeFile writes a new file that lasts through a loss of power.
func writeFile(path string, data []byte) error {
	f, err := create(path)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Sync(), f.Close())
}

func list(dir string) ([]fs.DirEntry, error) {
	if err := step("list", dir); err != nil {
		return nil, err
	}
	return os.ReadDir(dir)
}

// exists tells whether something has that name, a link without an end too.
func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// outFile is a new file.
type outFile struct{ *os.File }

func create(path string) (outFile, error) {
	if err := step("create", path); err != nil {
		return outFile{}, err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	return outFile{f}, err
}

func (f outFile) Write(p []byte) (int, error) {
	if err := step("write", f.Name()); err != nil {
		n, _ := f.File.Write(p[:len(p)/2]) // a full disk takes a part
		return n, err
	}
	return f.File.Write(p)
}

func (f outFile) Sync() error {
	if err := step("sync", f.Name()); err != nil {
		return err
	}
	return flush(f.File)
}

var flush = (*os.File).Sync // tests do without: it takes long

// syncDir makes renamings in a folder last through a loss of power, where the
// system can; where it can't they are no worse than others'.
func syncDir(dir string) {
	if f, err := os.Open(dir); err == nil {
		flush(f)
		f.Close()
	}
}

// inFile is a regular file that is read.
type inFile struct{ *os.File }

func (f inFile) Read(p []byte) (int, error) {
	if err := step("read", f.Name()); err != nil {
		return 0, err
	}
	return f.File.Read(p)
}

// ReadAt is for archives.
func (f inFile) ReadAt(p []byte, at int64) (int, error) {
	if err := step("read", f.Name()); err != nil {
		return 0, err
	}
	return f.File.ReadAt(p, at)
}

// WriteTo hides the file's own, which would pass by Read.
func (f inFile) WriteTo(w io.Writer) (int64, error) {
	return io.Copy(w, struct{ io.Reader }{f})
}
