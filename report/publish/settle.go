package publish

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// Two ways lead from an old report to a new one. A folder that holds nothing else is
// exchanged at once, where the system can. Else files are renamed one by one, the list
// last: as long as it is still in the space, what was done is undone. What a space holds
// says what the next run has to do if this one ends on the way.

// Folders in a space.
const (
	newDir  = "new"     // what comes; its list says all that is to be in the folder, and of which files
	oldDir  = "old"     // what was put aside for it
	swapDir = "instead" // holds a folder that was, or is to be, exchanged with the one of its name beside the space
)

// exchange lets the new folder and the old one take each other's name; false: nothing was
// changed, as it can't be done here.
func (t *target) exchange(s *Space) bool {
	fresh := s.Path(newDir)
	if st, err := os.Stat(fresh); err != nil || !t.alone() || t.inUse() || !alike(st, t.info) {
		return false
	}
	beside, err := NewSpace(filepath.Dir(t.at))
	if err != nil {
		return false
	}
	defer beside.Close() // what fails here the next run does
	at := beside.Path(swapDir, filepath.Base(t.at))
	err = chmod(fresh, t.info.Mode()&(fs.ModePerm|fs.ModeSetgid|fs.ModeSticky))
	if err == nil {
		err = mkdir(beside.Path(swapDir))
	}
	if err == nil {
		err = rename(fresh, at) // refused where the folder is a disk of its own
	}
	if err != nil {
		return false
	}
	if err = step("exchange", t.at); err == nil {
		err = exchange(at, t.at)
	}
	if err != nil {
		rename(at, fresh) // if this fails too it is missed there
		return false
	}
	syncDir(filepath.Dir(t.at))
	return true
}

// inPlace renames files one by one, all or none. The space lies in the folder.
func (t *target) inPlace(s *Space, gone []string, made []Listed, how manner) error {
	err := mkdir(s.Path(oldDir))
	for i := 0; err == nil && i < len(gone); i++ {
		err = rename(filepath.Join(t.at, gone[i]), s.Path(oldDir, gone[i]))
	}
	for i := 0; err == nil && i < len(made); i++ {
		err = rename(s.Path(newDir, made[i].Name), filepath.Join(t.at, made[i].Name))
	}
	if err == nil {
		syncDir(t.at)
		if list := s.Path(newDir, ListName); how.listed { // from here on the new report stands
			err = rename(list, filepath.Join(t.at, ListName))
		} else {
			err = remove(list)
		}
	}
	if err == nil {
		syncDir(t.at)
		return nil
	}
	said := failed(t.dir, err, "the report could not be put in place, so nothing was changed", "Is one of its files open in another program?")
	if undo := s.settle(); undo != nil {
		said.What = fmt.Sprintf("the report could not be put in place: %s; nor could what had been there: %s", Reason(err), Reason(undo))
		said.Hint = "Run the same again: what had been there lies in " + s.Dir
	}
	return said
}

// settle brings what was begun in a space to an end: what came one by one and isn't all
// there is undone, and what was somebody else's in a folder that was exchanged goes back
// into it. It may be cut short and begun again.
func (s *Space) settle() error {
	list := s.Path(newDir, ListName)
	if exists(s.Path(oldDir)) && exists(list) {
		if err := s.undo(list); err != nil {
			return err
		}
	}
	exchanged, err := os.ReadDir(s.Path(swapDir))
	if err != nil {
		return nil // there is none
	}
	for _, e := range exchanged {
		if err := s.giveBack(e.Name()); err != nil {
			return err
		}
	}
	return rename(s.Path(swapDir), s.Path(oldDir)) // of which no list says whose it is once it is being removed
}

// undo makes the folder that a space lies in what it was. What somebody has written there
// since stays as it is.
func (s *Space) undo(list string) error {
	dir := filepath.Dir(s.Dir)
	coming, _, err := readList(s.Path(newDir))
	if err != nil {
		return err
	}
	before, _, err := readList(dir)
	if err != nil {
		return err
	}
	for _, l := range coming {
		ready, aside := s.Path(newDir, l.Name), s.Path(oldDir, l.Name)
		if exists(ready) || !exists(aside) && slices.Contains(before, l) {
			continue // it never came, or was there
		}
		same, err := l.unchanged(dir)
		if err == nil && same {
			err = rename(filepath.Join(dir, l.Name), ready)
		}
		if err != nil {
			return err
		}
	}
	gone, err := os.ReadDir(s.Path(oldDir))
	if err != nil {
		return err
	}
	for _, e := range gone {
		if at := filepath.Join(dir, e.Name()); !exists(at) {
			if err := rename(s.Path(oldDir, e.Name()), at); err != nil {
				return err
			}
		}
	}
	return remove(list)
}

// giveBack moves what isn't humdiff's from an old folder into the new one of its name:
// someone may have put it there in the moment before they were exchanged.
func (s *Space) giveBack(name string) error {
	dir, old := filepath.Join(filepath.Dir(s.Dir), name), s.Path(swapDir, name)
	entries, err := list(old)
	if err != nil {
		return err
	}
	was := target{dir: old, at: old}
	if err := was.sort(entries); err != nil {
		return err
	}
	for _, e := range was.theirs {
		at := filepath.Join(dir, e.Name())
		if exists(at) {
			return failed(at, fs.ErrExist, "is in the way of another file of that name, in "+old, "")
		}
		if err := rename(filepath.Join(old, e.Name()), at); err != nil {
			return err
		}
	}
	return nil
}
