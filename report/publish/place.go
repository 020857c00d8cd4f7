package publish

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Folders in a space: what comes, and what was there.
const (
	newDir = "new"
	oldDir = "old"
)

// put writes files into a folder, whole or not at all.
func put(ctx context.Context, dir string, files []File, how manner) error {
	names, err := plainNames(dir, files, how)
	if err != nil {
		return err
	}
	t, err := look(dir)
	if err != nil {
		return err
	}
	if t.at == "" {
		return found(ctx, dir, files, how)
	}
	if _, _, err := t.decide(names, how); err != nil {
		return err
	}
	s, err := t.space()
	if err != nil {
		return failed(dir, err, "cannot be written to", "Give another folder.")
	}
	defer s.Close()
	made, err := stage(ctx, dir, s, files)
	if err != nil {
		return err
	}
	return t.replace(s, names, made, how)
}

func plainNames(dir string, files []File, how manner) (names []string, err error) {
	all := make([]string, 0, len(files)+1)
	for _, f := range files {
		all = append(all, f.Name)
	}
	if !how.listed {
		return all, checkNames(dir, all)
	}
	return all, checkNames(dir, append(all, ListName))
}

// space is where files are made ready: beside the folder where that may be exchanged
// as a whole, else in it.
func (t *target) space() (*Space, error) {
	if exchanges && t.alone() && !t.inUse() {
		if s, err := NewSpace(filepath.Dir(t.at)); err == nil {
			if st, err := os.Stat(s.Dir); err == nil && alike(st, t.info) {
				return s, nil
			}
			s.Close()
		}
	}
	return NewSpace(t.at)
}

// stage writes the files into a space, and lists them.
func stage(ctx context.Context, dir string, s *Space, files []File) (made []Listed, err error) {
	if err := mkdir(s.Path(newDir)); err != nil {
		return nil, failed(dir, err, "cannot be written to", "Give another folder.")
	}
	for _, f := range files {
		if ctx.Err() != nil {
			break
		}
		data, err := f.Contents()
		if err != nil {
			return nil, err
		}
		if err := writeFile(s.Path(newDir, f.Name), data); err != nil {
			return nil, unwritten(dir, f.Name, err)
		}
		made = append(made, listed(f.Name, data))
	}
	if err := ctx.Err(); err != nil {
		return nil, failed(dir, err, "stopped before the report was written", "")
	}
	return made, nil
}

func unwritten(dir, name string, err error) error {
	return failed(dir, err, "cannot write "+name, "Check that there is room, and that you may write there.")
}

// stageList adds the list to what is ready.
func stageList(dir string, s *Space, all []Listed) (Listed, error) {
	f, err := listFile(all)
	if err != nil {
		return Listed{}, err
	}
	if err := writeFile(s.Path(newDir, f.Name), f.Data); err != nil {
		return Listed{}, unwritten(dir, f.Name, err)
	}
	return listed(f.Name, f.Data), nil
}

// found makes a new folder: it is filled under another name beside it.
func found(ctx context.Context, dir string, files []File, how manner) (err error) {
	parent := filepath.Dir(filepath.Clean(dir))
	made, err := makeParents(parent)
	if err != nil {
		return failed(dir, err, "cannot be made", "Check that its parent is a folder you may write to.")
	}
	defer func() {
		if err != nil {
			removeEmpty(made)
		}
	}()
	s, err := NewSpace(parent)
	if err != nil {
		return failed(dir, err, "cannot be made", "Give another folder.")
	}
	defer s.Close()
	ready, err := stage(ctx, dir, s, files)
	if err == nil && how.listed {
		_, err = stageList(dir, s, ready)
	}
	if err != nil {
		return err
	}
	if err := rename(s.Path(newDir), filepath.Clean(dir)); err != nil {
		return failed(dir, err, "cannot be made", "Something of that name may have come up meanwhile: try again.")
	}
	syncDir(parent)
	return nil
}

// firstThere is dir, or the first folder above it that exists.
func firstThere(dir string) string {
	at := filepath.Clean(dir)
	for {
		if _, err := os.Stat(at); err == nil || at == filepath.Dir(at) {
			return at
		}
		at = filepath.Dir(at)
	}
}

// makeParents makes a folder and those above it, and returns the ones made,
// the innermost first.
func makeParents(dir string) (missing []string, err error) {
	there := firstThere(dir)
	for at := dir; at != there; at = filepath.Dir(at) {
		missing = append(missing, at)
	}
	for i := len(missing) - 1; i >= 0 && err == nil; i-- {
		if err = mkdir(missing[i]); errors.Is(err, fs.ErrExist) {
			err = nil
		}
	}
	return missing, err
}

func removeEmpty(dirs []string) {
	for _, d := range dirs {
		remove(d) // refuses a folder that someone has used meanwhile
	}
}

// replace puts what is ready in place of what it replaces. Making it may have taken
// long: the folder is looked at again first.
func (t *target) replace(s *Space, names []string, made []Listed, how manner) error {
	now, err := look(t.dir)
	if err != nil {
		return err
	}
	if now.at != t.at {
		return failed(t.dir, nil, "was moved while the report was made", "Try again.")
	}
	gone, stay, err := now.decide(names, how)
	if err != nil {
		return err
	}
	if how.listed {
		l, err := stageList(t.dir, s, append(stay, made...))
		if err != nil {
			return err
		}
		made = append(made, l)
		if now.known {
			gone = append(gone, ListName)
		}
	}
	if filepath.Dir(s.Dir) == now.at {
		return now.inPlace(s, gone, made)
	}
	if how.alone && now.alone() && now.exchange(s) == nil {
		return nil
	}
	return now.inside(s, gone, made)
}

// inside copies what is ready beside the folder into a space in it, and puts it in
// place from there: the folder may be a disk of its own.
func (t *target) inside(from *Space, gone []string, made []Listed) error {
	s, err := NewSpace(t.at)
	if err != nil {
		return failed(t.dir, err, "cannot be written to", "Give another folder.")
	}
	defer s.Close()
	if err := mkdir(s.Path(newDir)); err != nil {
		return failed(t.dir, err, "cannot be written to", "Give another folder.")
	}
	for _, l := range made {
		if err := copyFile(from.Path(newDir, l.Name), s.Path(newDir, l.Name)); err != nil {
			return unwritten(t.dir, l.Name, err)
		}
	}
	return t.inPlace(s, gone, made)
}

func copyFile(from, to string) error {
	in, _, err := openRegular(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := create(to)
	if err != nil {
		return err
	}
	_, err = io.Copy(struct{ io.Writer }{out}, in)
	return errors.Join(err, out.Sync(), out.Close())
}
