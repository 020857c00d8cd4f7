package publish

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
)

// A new report comes file by file into the place of the old one, its list last: as long
// as that is still in the space, what was done is undone, by the next run if this one
// ends on the way.

// Folders in a space.
const (
	newDir = "new" // what comes; its list says all that is to be in the folder, and of which files
	oldDir = "old" // what was put aside for it
)

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

// settle undoes what was begun in a space and isn't all there. It may be cut short and
// begun again.
func (s *Space) settle() error {
	list := s.Path(newDir, ListName)
	if !exists(s.Path(oldDir)) || !exists(list) {
		return nil
	}
	return s.undo(list)
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
