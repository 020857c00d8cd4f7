package publish

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// put writes files into a folder, whole or not at all: they are made ready in a space in
// it, or where there is none in one beside it.
func put(ctx context.Context, dir string, files []File, how manner) (err error) {
	names, err := plainNames(dir, files, how)
	if err != nil {
		return err
	}
	t, err := look(dir)
	if err == nil && t.at != "" {
		_, _, err = t.decide(names, how)
	}
	if err != nil {
		return err
	}
	in, cannot := t.at, "cannot be written to"
	if in == "" {
		in, cannot = filepath.Dir(filepath.Clean(dir)), "cannot be made"
		made, unmade := makeParents(in)
		if unmade != nil {
			return failed(dir, unmade, cannot, "Check that its parent is a folder you may write to.")
		}
		defer func() {
			if err != nil {
				removeEmpty(made)
			}
		}()
	}
	s, err := NewSpace(in)
	if err != nil {
		return failed(dir, err, cannot, "Give another folder.")
	}
	defer s.Close()
	made, err := stage(ctx, dir, s, files)
	switch {
	case err != nil:
		return err
	case t.at != "":
		return t.replace(s, names, made, how)
	case how.listed:
		if err := stageList(dir, s, made); err != nil {
			return err
		}
	}
	if err := rename(s.Path(newDir), filepath.Clean(dir)); err != nil {
		return failed(dir, err, cannot, "Something of that name may have come up meanwhile: try again.")
	}
	syncDir(in)
	return nil
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
func stageList(dir string, s *Space, all []Listed) error {
	f, err := listFile(all)
	if err == nil {
		err = writeFile(s.Path(newDir, f.Name), f.Data)
	}
	if err != nil {
		return unwritten(dir, ListName, err)
	}
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
	if err := stageList(t.dir, s, append(stay, made...)); err != nil {
		return err
	}
	return now.inPlace(s, gone, made, how)
}
