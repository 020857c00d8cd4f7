package live

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/session"
)

// root is the folder in which all that is saved lies.
func (b *Bench) root() string {
	if b.opt.Folder != "" {
		return b.opt.Folder
	}
	return b.opt.Home
}

// inRoot makes that folder, and is the path of a new name in it: a name, not a path,
// and nothing in it that could command a terminal in which it is listed.
func (b *Bench) inRoot(name string) (string, error) {
	name = strings.TrimSpace(name)
	unseen := strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) })
	if name == "" || unseen || strings.HasPrefix(name, ".") || strings.ContainsAny(name, "/\\:") || !filepath.IsLocal(name) {
		return "", errors.New("give the folder a plain name, such as hum-report")
	}
	if err := os.MkdirAll(b.root(), 0o755); err != nil {
		return "", fmt.Errorf("%s cannot be made: %s", b.root(), publish.Reason(err))
	}
	return filepath.Join(b.root(), name), nil
}

// free is the name, or the name with a number, that nothing in the root has yet.
func (b *Bench) free(name string) string {
	for n, try := 2, name; ; n++ {
		if _, err := os.Lstat(filepath.Join(b.root(), try)); err != nil {
			return try
		}
		try = fmt.Sprintf("%s-%d", name, n)
	}
}

// compared is the comparison on the bench; nil: there is none.
func (b *Bench) compared() *model.Compare {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.outcome.compare
}

// save writes what compare --out writes into a folder of that name.
func (b *Bench) save(ctx context.Context, name string) error {
	r := b.compared()
	if r == nil {
		return errors.New("there is no comparison to save yet")
	}
	dir, err := b.inRoot(name)
	if err != nil {
		return err
	}
	files, err := report.Files(r)
	if err != nil {
		return err
	}
	if err := publish.Write(ctx, dir, false, files); err != nil {
		return err
	}
	b.saved("The report is in ", filepath.Join(dir, "report.html"))
	return nil
}

func (b *Bench) saved(what, path string) {
	b.say(func(s *said) { s.Saved = what + doc.Printable(path) })
}

// keep puts the pair on the bench aside for a session.
func (b *Bench) keep() error {
	return b.change(func() error {
		quiet, near, both := b.couple()
		if !both {
			return errors.New("a pair is a quiet and a near capture")
		}
		b.pairs = append(b.pairs, keptPair{*quiet, *near})
		return nil
	})
}

// saveSession writes the kept pairs as a session for batch, into a new folder of
// that name, with copies of the captures that were dropped on the page. Every pair
// counts as a repeat of one cable: what else there is to say of them, people write
// into the file.
func (b *Bench) saveSession(ctx context.Context, name string) error {
	b.mu.Lock()
	pairs, settings := append([]keptPair(nil), b.pairs...), b.settings
	b.mu.Unlock()
	if len(pairs) == 0 {
		return errors.New("no pair has been kept yet")
	}
	dir, err := b.inRoot(name)
	if err != nil {
		return err
	}
	if err := os.Mkdir(dir, 0o755); errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already: give another name", dir)
	} else if err != nil {
		return fmt.Errorf("%s cannot be made: %s", dir, publish.Reason(err))
	}
	f := session.File{Path: filepath.Join(dir, "session.toml"), RunsFile: "runs.csv", Sitting: session.Blank()}
	f.Sitting.Title = filepath.Base(dir)
	bench := &f.Sitting.Bench
	if bench.FullScale, bench.Gain = settings.FullScale, settings.Gain; nominal[settings.Mains] != 0 {
		bench.MainsHz = model.Num(nominal[settings.Mains])
	}
	if f.Sitting.Runs, err = b.runs(ctx, dir, pairs); err == nil {
		err = f.Write()
	}
	if err != nil {
		os.RemoveAll(dir) // made here, so all in it is ours
		return err
	}
	b.saved("The session is in ", f.Path)
	return nil
}

// runs are the runs of pairs, their captures placed in the session's folder.
func (b *Bench) runs(ctx context.Context, dir string, pairs []keptPair) ([]model.Run, error) {
	var runs []model.Run
	add := func(c Capture, condition string, repeat int) error {
		path, err := b.place(ctx, dir, c)
		if err != nil {
			return err
		}
		r := session.BlankRun()
		r.Number, r.Cable, r.Exposure, r.Condition, r.Repeat = len(runs)+1, "A", "beside", condition, repeat
		at := c.Address
		at.Path = filepath.ToSlash(path)
		r.Address, r.Guessed = at.String(), []string{"cable", "exposure", "repeat"}
		if m := c.Info.Metadata; !m.DayOnly {
			r.Start = m.Recorded
		}
		runs = append(runs, r)
		return nil
	}
	for i, p := range pairs {
		if err := errors.Join(add(p.quiet, model.Quiet, i+1), add(p.near, model.Near, i+1)); err != nil {
			return nil, err
		}
	}
	return runs, nil
}

// place is the path of a capture as seen from the session's file: captures of the
// watched folder stay where they are, dropped ones are copied.
func (b *Bench) place(ctx context.Context, dir string, c Capture) (string, error) {
	from := c.Address.Path
	if !b.dropped(from) {
		rel, err := filepath.Rel(dir, from)
		if err != nil {
			return filepath.Abs(from)
		}
		return rel, nil
	}
	name := fmt.Sprintf("%d-%s", c.ID, filepath.Base(from))
	if _, err := os.Stat(filepath.Join(dir, name)); err == nil {
		return name, nil // of several pairs
	}
	return name, publish.Stream(ctx, filepath.Join(dir, name), false, func(w io.Writer) error {
		f, err := os.Open(from)
		if err != nil {
			return err
		}
		defer f.Close()
		_, err = io.Copy(w, f)
		return err
	})
}
