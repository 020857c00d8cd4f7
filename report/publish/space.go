package publish

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"

	"github.com/gofrs/flock"
)

// Space is a hidden folder of this program's own, for files on their way into place
// and copies that nobody keeps. It is locked while it is in use. What a run that
// was cut short left behind nobody locks: it is swept when the next one makes a
// space in the same folder.
type Space struct {
	Dir  string
	held *flock.Flock
}

// lockName is the file in a space that is locked.
const lockName = "lock"

var spaceName = regexp.MustCompile(`^\.humdiff-\d+$`)

// NewSpace makes a space in a folder; empty: in the system's folder for temporary
// files. It sweeps there first. Only the user may look into it.
func NewSpace(in string) (*Space, error) {
	if in == "" {
		in = os.TempDir()
	}
	if err := sweep(in); err != nil {
		return nil, err
	}
	const tries = 10 // each time another may just have swept the space away
	var err error
	for range tries {
		var s *Space
		if s, err = newSpace(in); err == nil || !errors.Is(err, errSwept) {
			return s, err
		}
	}
	return nil, err
}

// errSwept says that a space was swept before it could be locked.
var errSwept = errors.New("it was swept away")

func newSpace(in string) (*Space, error) {
	if err := step("mkdir", in); err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp(in, ".humdiff-")
	if err != nil {
		return nil, err
	}
	path := filepath.Join(dir, lockName)
	f, err := create(path)
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, fs.ErrExist) {
		return nil, errSwept
	}
	if err != nil {
		return nil, errors.Join(err, remove(dir))
	}
	f.Close()
	held, err := hold(path)
	if err != nil && !errors.Is(err, errSwept) {
		// A file system without locks: nobody sweeps what has no lock.
		return &Space{Dir: dir}, remove(path)
	}
	return &Space{dir, held}, err
}

// hold locks a file that is there; errSwept where another holds it, or took it
// away meanwhile.
func hold(path string) (*flock.Flock, error) {
	f := flock.New(path, flock.SetFlag(os.O_RDWR))
	ok, err := f.TryLock()
	if errors.Is(err, fs.ErrNotExist) || err == nil && !ok {
		return nil, errSwept
	}
	if err != nil {
		return nil, err
	}
	here, err := f.Stat()
	there, gone := os.Stat(path)
	if err != nil || gone != nil || !os.SameFile(here, there) {
		f.Close()
		return nil, errSwept
	}
	return f, nil
}

// Path is the path of a name in the space.
func (s *Space) Path(names ...string) string {
	return filepath.Join(append([]string{s.Dir}, names...)...)
}

// Close settles what was begun in the space, and removes it with all that is in it; where
// that fails the next run does it.
func (s *Space) Close() error {
	if s.settle() != nil {
		return s.unlock()
	}
	err := removeTree(s.Dir)
	s.unlock()
	if err != nil && exists(s.Dir) { // a file that is locked can't be removed on every system
		err = removeTree(s.Dir)
	}
	if !exists(s.Dir) { // once its lock had gone another run may have swept it
		return nil
	}
	return err
}

func (s *Space) unlock() error {
	if s.held == nil {
		return nil
	}
	return s.held.Close()
}

// sweep settles and removes the spaces in a folder that no running program holds:
// what was cut short while it was put into place is undone, or brought to its end.
// What can't be removed, another user's say, stays. The error is a report that could
// not be made whole again.
func sweep(in string) error {
	entries, err := os.ReadDir(in)
	if err != nil {
		return nil // nothing can lie there, or who writes there will say why not
	}
	for _, e := range entries {
		if e.IsDir() && spaceName.MatchString(e.Name()) {
			if err := sweepOne(filepath.Join(in, e.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

// sweepOne settles one space. One without a lock is another version's, whose spaces
// may hold what had been there: it goes only if it is empty.
func sweepOne(dir string) error {
	st, err := os.Lstat(dir)
	if err != nil || !mine(st) {
		return nil
	}
	lock := filepath.Join(dir, lockName)
	if st, err := os.Lstat(lock); err != nil || !st.Mode().IsRegular() {
		remove(dir)
		return nil
	}
	held, err := hold(lock)
	if err != nil {
		return nil
	}
	s := Space{dir, held}
	defer s.Close()
	if err := s.settle(); err != nil && exists(s.Path(oldDir)) {
		return failed(dir, err, "holds a report that was cut short, and what had been there can't be put back", "Look into it: what had been there is in its folder "+oldDir+".")
	}
	return nil
}
