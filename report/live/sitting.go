package live

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"humdiff/fft/fault"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/session"
)

// sitting is the session on the page: what its files state.
type sitting struct {
	file    session.File // without its runs
	runs    []run
	ids     int
	past    []state           // before each edit, the oldest first
	future  []state           // what was undone
	written map[string][]byte // the session's files as they lie on the disk, as far as is known
	would   map[string][]byte // as the page would have written what it read there, or did
}

// run is a run with what the page knows it by.
type run struct {
	model.Run
	id   int
	auto bool   // it was read off its file's name, and may be read anew
	path string // where its capture is, or is to be
}

// state is what an edit changes.
type state struct {
	sitting model.Sitting
	runs    []run
}

// mostUndone is how many edits can be undone.
const mostUndone = 100

// begun is the sitting of a folder in which no session lies; empty: no folder yet.
func begun(dir string) sitting {
	s := sitting{file: session.File{RunsFile: "runs.csv", Sitting: session.Blank()}, written: map[string][]byte{}, would: map[string][]byte{}}
	if dir != "" {
		s.file.Path = filepath.Join(dir, sessionName)
	}
	return s
}

const sessionName = "session.toml"

// dir is the sitting's folder; empty: there is none yet.
func (s *sitting) dir() string {
	if s.file.Path == "" {
		return ""
	}
	return filepath.Dir(s.file.Path)
}

// session is the sitting as batch reads it.
func (s *sitting) session() session.File {
	f := s.file
	f.Sitting.Runs = make([]model.Run, len(s.runs))
	for i, r := range s.runs {
		r.Number = i + 1
		f.Sitting.Runs[i] = r.Run
	}
	return f
}

func (s *sitting) pathOf(r model.Run) string {
	if at, err := s.file.Capture(r); err == nil && r.Address != "" {
		return at.Path
	}
	return ""
}

// add lists a run.
func (s *sitting) add(r model.Run, auto bool) *run {
	s.ids++
	s.runs = append(s.runs, run{Run: r, id: s.ids, auto: auto, path: s.pathOf(r)})
	return &s.runs[len(s.runs)-1]
}

// find is the run of an id.
func (s *sitting) find(id int) (*run, error) {
	for i := range s.runs {
		if s.runs[i].id == id {
			return &s.runs[i], nil
		}
	}
	return nil, errors.New("that run is no longer in the session")
}

func (s *sitting) state() state { return state{s.file.Sitting, slices.Clone(s.runs)} }

// restore brings back a state, and keeps what has arrived since.
func (s *sitting) restore(st state) {
	now := s.runs
	s.file.Sitting, s.runs = st.sitting, slices.Clone(st.runs)
	for _, r := range now {
		there := slices.ContainsFunc(s.runs, func(o run) bool { return o.id == r.id || o.path == r.path })
		if r.auto && !there {
			s.runs = append(s.runs, r)
		}
	}
}

// edit changes the session so that it can be undone.
func (b *Bench) edit(do func(s *sitting) error) error {
	return b.change(func() error {
		s := &b.sitting
		was := s.state()
		if err := do(s); err != nil {
			s.file.Sitting, s.runs = was.sitting, was.runs
			return err
		}
		s.past, s.future = append(s.past[max(0, len(s.past)-mostUndone):], was), nil
		b.halt()
		return nil
	})
}

// undo takes the last edit back; with again it makes the last one that was taken back
// anew.
func (b *Bench) undo(again bool) error {
	return b.change(func() error {
		s := &b.sitting
		from, to := &s.past, &s.future
		if again {
			from, to = to, from
		}
		if len(*from) == 0 {
			return errors.New("there is nothing to undo")
		}
		*to = append(*to, s.state())
		s.restore((*from)[len(*from)-1])
		*from = (*from)[:len(*from)-1]
		b.halt()
		return nil
	})
}

// open puts the session in a folder on the page. What can't be understood of its files
// is an error, since to save them would lose it.
func (b *Bench) open(dir, file string) error {
	s := begun(dir)
	if file != "" {
		s.file.Path = filepath.Join(dir, file)
	}
	if _, err := os.Lstat(s.file.Path); file == "" && errors.Is(err, fs.ErrNotExist) {
		b.sitting = s
		return nil
	}
	f, err := session.Load(s.file.Path)
	var problems session.Problems
	if err != nil && !errors.As(err, &problems) {
		return err
	}
	if lost := notUnderstood(f, problems); lost != nil {
		return lost
	}
	s.file = f
	if s.file.RunsFile == "" {
		s.file.RunsFile = "runs.csv"
	}
	for _, r := range f.Sitting.Runs {
		guessed := slices.ContainsFunc(r.Guessed, func(key string) bool { return key == "cable" || key == "condition" || key == "repeat" })
		s.add(r, guessed && !slices.Contains(r.Guessed, fileKey))
	}
	s.file.Sitting.Runs = nil
	b.sitting = s
	text, runs := s.session().First()
	for path, would := range map[string][]byte{s.file.Path: text, s.file.Locate(s.file.RunsFile): runs} {
		s.would[path] = would
		if now, err := publish.ReadFile(path, publish.LargestText, ""); err == nil {
			s.written[path] = now
		}
	}
	return nil
}

// notUnderstood is the first problem that wouldn't be there any more, were the session
// written again: something was stated that the page doesn't have.
func notUnderstood(f session.File, problems session.Problems) error {
	again := f.Check()
	for _, p := range problems {
		if !p.Gone && !slices.ContainsFunc(again, func(a session.Problem) bool { return a.What == p.What || a.At == p.At }) {
			return &fault.Error{File: p.File, What: strings.TrimPrefix(p.Error(), p.File+":"), Err: p, Hint: strings.TrimSpace(p.Hint + " Mend it in the file first: saved from the page, it would be lost.")}
		}
	}
	return nil
}

// keep writes the session's files where they have changed, each whole or not at all.
// What another program has written meanwhile stays. The lock is held.
func (b *Bench) keep() {
	s := &b.sitting
	b.said.Unsaved = ""
	if s.file.Path == "" || len(s.runs) == 0 && len(s.written) == 0 {
		return
	}
	text, runs := s.session().First()
	err := errors.Join(b.write(s.file.Locate(s.file.RunsFile), runs), b.write(s.file.Path, text))
	if err != nil {
		b.said.Unsaved = "Not saved: " + sentence(err)
	}
}

// write writes one of the session's files. What somebody wrote who isn't the page is
// kept beside it.
func (b *Bench) write(path string, text []byte) error {
	was, known := b.sitting.written[path]
	would := b.sitting.would[path]
	if known && bytes.Equal(would, text) {
		return nil
	}
	now, err := publish.ReadFile(path, publish.LargestText, "")
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return err
	case !known || !bytes.Equal(now, was):
		return &fault.Error{File: path, What: "another program has changed it since it was read here", Hint: "move that file away to save again; or start humdiff again, which reads it"}
	case !bytes.Equal(would, now):
		kept := strings.TrimSuffix(path, filepath.Ext(path)) + "-before" + filepath.Ext(path)
		if _, err := os.Lstat(kept); errors.Is(err, fs.ErrNotExist) {
			if err := put(kept, now); err != nil {
				return err
			}
		}
	}
	if err := put(path, text); err != nil {
		return err
	}
	b.sitting.written[path], b.sitting.would[path] = text, text
	return nil
}

// put writes a file whole, in place of the one that is there.
func put(path string, text []byte) error {
	return publish.Stream(context.Background(), path, true, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
}

// begin makes the sitting's folder, where there is none yet. The lock is held.
func (b *Bench) begin() error {
	if b.sitting.file.Path != "" {
		return nil
	}
	dir := filepath.Join(b.opt.Home, freeName(b.opt.Home, "sitting-"+time.Now().Format("2006-01-02")))
	err := os.MkdirAll(b.opt.Home, 0o755)
	if err == nil {
		err = os.Mkdir(dir, 0o755) // it is this bench's alone
	}
	if err != nil {
		return fmt.Errorf("%s cannot be made: %s", dir, publish.Reason(err))
	}
	b.sitting.file.Path = filepath.Join(dir, sessionName)
	return nil
}

// earlier are the sittings that were begun without a folder, the latest first.
func (b *Bench) earlier() (names []string) {
	if b.sitting.file.Path != "" {
		return nil
	}
	found, _ := filepath.Glob(filepath.Join(b.opt.Home, "*", sessionName)) // a pattern that is sound
	for _, path := range found {
		names = append(names, filepath.Base(filepath.Dir(path)))
	}
	slices.Sort(names)
	slices.Reverse(names)
	return names[:min(len(names), 10)]
}

// goOn opens one of the earlier sittings.
func (b *Bench) goOn(name string) error {
	return b.change(func() error {
		if !slices.Contains(b.earlier(), name) {
			return errors.New("there is no such sitting")
		}
		return b.open(filepath.Join(b.opt.Home, name), "")
	})
}
