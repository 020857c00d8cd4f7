package publish

import (
	"errors"
	"io/fs"
	"maps"
	"path/filepath"
	"slices"

	"humdiff/fft/fault"
)

// ErrForeign is the cause of the error where a folder holds something of which
// humdiff has no list: with force, Write would write beside it.
var ErrForeign = errors.New("the folder holds something else")

// target is an output folder as it was found.
type target struct {
	dir    string            // as the user wrote it
	at     string            // its path without links
	known  bool              // there is a list
	ours   map[string]Listed // what the list names and is unchanged, by name
	edited map[string]bool   // what it names and isn't
	theirs []fs.DirEntry     // all else
}

// look finds out what a folder holds, after what an earlier run left there has been
// settled. Where there is no such folder at is empty.
func look(dir string) (t target, err error) {
	t.dir = dir
	if err := errors.Join(sweep(filepath.Dir(filepath.Clean(dir))), sweep(dir)); err != nil {
		return t, err
	}
	entries, err := list(dir)
	if errors.Is(err, fs.ErrNotExist) && !exists(dir) {
		return t, nil
	}
	if err == nil {
		t.at, err = filepath.EvalSymlinks(dir)
	}
	if err == nil {
		t.at, err = filepath.Abs(t.at)
	}
	if err != nil {
		return t, failed(dir, err, "cannot be used as an output folder", "Give another folder.")
	}
	return t, t.sort(entries)
}

// sort tells what humdiff wrote from what it didn't.
func (t *target) sort(entries []fs.DirEntry) error {
	all, known, err := readList(t.at)
	if err != nil {
		return err
	}
	t.known, t.ours, t.edited = known, map[string]Listed{}, map[string]bool{}
	for _, l := range all {
		same, err := l.unchanged(t.at)
		if err != nil {
			return err
		}
		if same {
			t.ours[l.Name] = l
		} else {
			t.edited[l.Name] = true
		}
	}
	for _, e := range entries {
		_, ours := t.ours[e.Name()]
		if !ours && e.Name() != ListName && !spaceName.MatchString(e.Name()) {
			t.theirs = append(t.theirs, e)
		}
	}
	return nil
}

// admits refuses a folder that isn't empty and has no list, unless it is forced.
func (t *target) admits(force bool) error {
	if t.known || force || len(t.theirs) == 0 {
		return nil
	}
	return &fault.Error{File: t.dir, What: "the folder is not empty, and holds no list of files that humdiff wrote", Hint: "Give a new folder.", Err: ErrForeign}
}

// spares refuses names under which something lies that isn't humdiff's, or was
// changed: it is never replaced.
func (t *target) spares(names []string) error {
	lies := map[string]fs.DirEntry{}
	for _, e := range t.theirs {
		lies[fold(e.Name())] = e
	}
	for _, name := range names {
		e := lies[fold(name)]
		if e == nil {
			continue
		}
		path := filepath.Join(t.dir, e.Name())
		switch {
		case e.IsDir():
			return failed(path, nil, "is a folder where a file of the report belongs", "Move it away, or give another folder.")
		case t.edited[e.Name()]:
			return failed(path, nil, "was changed since humdiff wrote it, and is not replaced", "Move it away, or give another folder.")
		}
		return failed(path, nil, "is not known to be humdiff's, and is not replaced, whatever else is asked for", "Move it away, or give another folder.")
	}
	return nil
}

// decide is which files of the folder go when files of these names come, and which
// stay on its list; an error where anything may not be done.
func (t *target) decide(names []string, how manner) (gone []string, stay []Listed, err error) {
	if how.alone {
		if err := t.admits(how.force); err != nil {
			return nil, nil, err
		}
	}
	if err := t.spares(names); err != nil {
		return nil, nil, err
	}
	fresh := map[string]bool{}
	for _, name := range names {
		fresh[fold(name)] = true
	}
	for _, name := range slices.Sorted(maps.Keys(t.ours)) {
		switch again := fresh[fold(name)]; {
		case again && !how.alone && !how.force:
			return nil, nil, failed(filepath.Join(t.dir, name), nil, "is there already", "Give another folder, or --force to replace it.")
		case again || how.alone:
			gone = append(gone, name)
		default:
			stay = append(stay, t.ours[name])
		}
	}
	return gone, stay, nil
}
