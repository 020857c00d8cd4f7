package publish

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
)

// Two ways lead from an old report to a new one. A folder that holds nothing else is
// exchanged at once, where the system can. Else files are renamed one by one, and a
// plan in the space says how to undo that until all is done. Both leave in the space
// what the next run needs if this one ends on the way.

const (
	planName = "plan.json" // as long as it is there, what it says is to be undone
	swapName = "swap.json" // the space holds a folder that was, or was to be, exchanged
)

// plan is which files go and which come.
type plan struct {
	Schema string   `json:"schema"`
	Gone   []string `json:"gone"`
	New    []Listed `json:"new"`
}

// swap is which folder is exchanged.
type swap struct {
	Schema string `json:"schema"`
	Folder string `json:"folder"` // beside the space
}

const (
	planSchema = "humdiff/plan/1"
	swapSchema = "humdiff/swap/1"
)

// note writes down in a space what is about to be done.
func (s *Space) note(name string, v any) error {
	data, err := canonical(v)
	if err != nil {
		return err
	}
	part := s.Path(name + ".part")
	if err := writeFile(part, data); err != nil {
		return err
	}
	return rename(part, s.Path(name))
}

// exchange lets the new folder in a space and the old one take each other's name.
func (t *target) exchange(s *Space) error {
	fresh := s.Path(newDir)
	if err := chmod(fresh, t.info.Mode()&(fs.ModePerm|fs.ModeSetgid|fs.ModeSticky)); err != nil {
		return err
	}
	if err := s.note(swapName, swap{swapSchema, filepath.Base(t.at)}); err != nil {
		return err
	}
	err := step("exchange", t.at)
	if err == nil {
		err = exchange(fresh, t.at)
	}
	if err == nil {
		syncDir(filepath.Dir(t.at))
	}
	s.settle() // what fails here the next run does
	return err
}

// inPlace renames files one by one, all or none. The space lies in the folder.
func (t *target) inPlace(s *Space, gone []string, made []Listed) error {
	p := plan{planSchema, append([]string{}, gone...), made}
	err := mkdir(s.Path(oldDir))
	if err == nil {
		err = s.note(planName, p)
	}
	if err == nil {
		err = p.do(t.at, s)
	}
	if err == nil {
		syncDir(t.at)
		err = remove(s.Path(planName)) // from here on the new report stands
	}
	if err == nil {
		return nil
	}
	said := failed(t.dir, err, "the report could not be put in place, so nothing was changed", "Is one of its files open in another program?")
	if undo := s.settle(); undo != nil {
		said.What = fmt.Sprintf("the report could not be put in place: %s; nor could what had been there: %s", Reason(err), Reason(undo))
		said.Hint = "Run the same again: what had been there lies in " + s.Dir
	}
	return said
}

func (p plan) do(dir string, s *Space) error {
	for _, name := range p.Gone {
		if err := rename(filepath.Join(dir, name), s.Path(oldDir, name)); err != nil {
			return err
		}
	}
	for _, l := range p.New {
		if err := rename(s.Path(newDir, l.Name), filepath.Join(dir, l.Name)); err != nil {
			return err
		}
	}
	return nil
}

// undo makes the folder that a space lies in what it was before the plan. It may be
// cut short and begun again. What somebody has written there since stays as it is.
func (s *Space) undo(note []byte) error {
	p, ok := strict[plan](note)
	dir := filepath.Dir(s.Dir)
	if !ok || errors.Join(checkNames(dir, namesOf(p.New)), checkNames(dir, p.Gone)) != nil {
		return errNote
	}
	for _, l := range p.New {
		ready := s.Path(newDir, l.Name)
		if exists(ready) {
			continue // it never came
		}
		same, err := l.unchanged(dir)
		if err != nil {
			return err
		}
		if same {
			if err := rename(filepath.Join(dir, l.Name), ready); err != nil {
				return err
			}
		}
	}
	for _, name := range p.Gone {
		aside, at := s.Path(oldDir, name), filepath.Join(dir, name)
		if !exists(aside) || exists(at) {
			continue
		}
		if err := rename(aside, at); err != nil {
			return err
		}
	}
	return nil
}

// settle brings what a space says to an end: a plan is undone, and what was somebody
// else's in a folder that was exchanged goes back into it.
func (s *Space) settle() error {
	if err := s.end(planName, s.undo); err != nil {
		return err
	}
	return s.end(swapName, s.giveBack)
}

// end does what a note is for, and takes the note away.
func (s *Space) end(name string, do func(note []byte) error) error {
	data, err := ReadFile(s.Path(name), LargestText, "")
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil {
		err = do(data)
	}
	if err == nil {
		err = remove(s.Path(name))
	}
	return err
}

// unsettled tells whether something in a space is still needed.
func (s *Space) unsettled() bool { return exists(s.Path(planName)) || exists(s.Path(swapName)) }

// errNote is the error of a note that this program didn't write.
var errNote = errors.New("its note is damaged")

// giveBack moves what isn't humdiff's from the old folder into the new one: someone
// may have put it there in the moment before they were exchanged.
func (s *Space) giveBack(note []byte) error {
	w, ok := strict[swap](note)
	if !ok || checkNames(s.Dir, []string{w.Folder}) != nil {
		return errNote
	}
	dir, old := filepath.Join(filepath.Dir(s.Dir), w.Folder), s.Path(newDir)
	entries, err := list(old)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
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
