package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"humdiff/report/gather"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/session"
)

// root is the folder in which all that is saved lies.
func (d *Desk) root() string {
	if d.opt.Folder != "" {
		return d.opt.Folder
	}
	return d.opt.Home
}

// inRoot is the path of a new name in that folder: a name, not a path.
func (d *Desk) inRoot(name string) (string, error) {
	name = strings.TrimSpace(name)
	if name == "" || strings.HasPrefix(name, ".") || strings.ContainsAny(name, "/\\:\x00") || !filepath.IsLocal(name) {
		return "", errors.New("give the folder a plain name, such as hum-report")
	}
	return filepath.Join(d.root(), name), nil
}

// free is the name, or the name with a number, that nothing in the root has yet.
func (d *Desk) free(name string) string {
	for n, try := 2, name; ; n++ {
		if _, err := os.Lstat(filepath.Join(d.root(), try)); err != nil {
			return try
		}
		try = fmt.Sprintf("%s-%d", name, n)
	}
}

// Save writes what compare --out writes into a folder of that name, and returns
// the page's path.
func (d *Desk) Save(ctx context.Context, name string) (string, error) {
	dir, err := d.inRoot(name)
	if err != nil {
		return "", err
	}
	d.mu.Lock()
	r := d.outcome.compare
	d.mu.Unlock()
	if r == nil {
		return "", errors.New("there is no comparison to save yet")
	}
	files, err := gather.Compare(*r)
	if err != nil {
		return "", err
	}
	if err := os.MkdirAll(d.root(), 0o755); err != nil {
		return "", fmt.Errorf("%s cannot be made: %s", d.root(), publish.Reason(err))
	}
	if err := publish.Write(ctx, dir, false, files); err != nil {
		return "", err
	}
	page := filepath.Join(dir, "report.html")
	d.note("The report is in " + page)
	return page, nil
}

// note tells the page what was last done.
func (d *Desk) note(said string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.saved = said
	d.touch()
}

// Keep puts the pair on the desk aside for a session.
func (d *Desk) Keep() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	quiet, near := d.role(session.Quiet), d.role(session.Near)
	if quiet == nil || near == nil {
		return errors.New("a pair is a quiet and a near capture")
	}
	d.pairs = append(d.pairs, keptPair{*quiet, *near})
	d.touch()
	return nil
}

// SaveSession writes the kept pairs as a session for batch, into a new folder
// of that name, with copies of the captures that were dropped on the page. Every
// pair counts as a repeat of one cable: what else there is to say of them,
// people write into the file.
func (d *Desk) SaveSession(ctx context.Context, name string) (string, error) {
	dir, err := d.inRoot(name)
	if err != nil {
		return "", err
	}
	d.mu.Lock()
	pairs, settings := append([]keptPair(nil), d.pairs...), d.settings
	d.mu.Unlock()
	if len(pairs) == 0 {
		return "", errors.New("no pair has been kept yet")
	}
	if err := os.MkdirAll(d.root(), 0o755); err != nil {
		return "", fmt.Errorf("%s cannot be made: %s", d.root(), publish.Reason(err))
	}
	if err := os.Mkdir(dir, 0o755); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return "", fmt.Errorf("%s is there already: give another name", dir)
		}
		return "", fmt.Errorf("%s cannot be made: %s", dir, publish.Reason(err))
	}
	path, err := d.writeSession(ctx, dir, pairs, settings)
	if err != nil {
		os.RemoveAll(dir) // made here, so all in it is ours
		return "", err
	}
	d.note("The session is in " + path)
	return path, nil
}

func (d *Desk) writeSession(ctx context.Context, dir string, pairs []keptPair, settings Settings) (string, error) {
	s := session.Session{Path: filepath.Join(dir, "session.toml"), Title: filepath.Base(dir), RunsFile: "runs.csv", Bench: benchOf(settings)}
	copied := map[string]string{}
	for i, p := range pairs {
		for _, side := range []struct {
			c  Capture
			as session.Condition
		}{{p.quiet, session.Quiet}, {p.near, session.Near}} {
			addr := side.c.Address
			var err error
			if addr.Path, err = d.place(ctx, dir, side.c, copied); err != nil {
				return "", err
			}
			start := side.c.Info.Metadata.Recorded
			if side.c.Info.Metadata.DayOnly {
				start = time.Time{}
			}
			s.Runs = append(s.Runs, session.Run{Cable: "A", Exposure: "beside", Condition: side.as, Repeat: i + 1, Termination: math.NaN(),
				LoadAmps: math.NaN(), Address: addr, Start: start, Guessed: []string{"cable", "exposure", "repeat"}})
		}
	}
	return s.Path, session.Write(s)
}

// benchOf is what the settings say of it.
func benchOf(s Settings) session.Bench {
	nan := math.NaN()
	b := session.Bench{MainsVolts: nan, InputOhms: nan, InputFarads: nan, SpacingMM: nan, ParallelMM: nan, FullScale: s.FullScale, Gain: s.Gain}
	switch s.Mains {
	case "50":
		b.MainsHz = 50
	case "60":
		b.MainsHz = 60
	}
	return b
}

// place is the path of a capture as seen from the session's file: captures of
// the watched folder stay where they are, dropped ones are copied.
func (d *Desk) place(ctx context.Context, dir string, c Capture, copied map[string]string) (string, error) {
	if rest, ok := strings.CutPrefix(c.Address.Path, d.uploads+string(filepath.Separator)); !ok || rest == "" {
		rel, err := filepath.Rel(dir, c.Address.Path)
		if err != nil {
			return filepath.Abs(c.Address.Path)
		}
		return rel, nil
	}
	if name := copied[c.Address.Path]; name != "" {
		return name, nil
	}
	name := fmt.Sprintf("%d-%s", c.ID, filepath.Base(c.Address.Path))
	err := publish.Stream(ctx, filepath.Join(dir, name), false, func(w io.Writer) error {
		from, err := os.Open(c.Address.Path)
		if err != nil {
			return err
		}
		defer from.Close()
		_, err = io.Copy(w, from)
		return err
	})
	copied[c.Address.Path] = name
	return name, err
}

// Report is the page of the comparison on the desk, as it would be saved.
func (d *Desk) Report() (*result.Compare, bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.outcome.compare, d.outcome.compare != nil
}

// upload takes a dropped file into the private folder and puts it on the desk.
func (d *Desk) upload(name string, from io.Reader) error {
	dir, err := os.MkdirTemp(d.uploads, "")
	if err != nil {
		return fmt.Errorf("there is no room for %s: %s", name, publish.Reason(err))
	}
	path := filepath.Join(dir, plain(name))
	to, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		os.RemoveAll(dir)
		return fmt.Errorf("%s cannot be kept: %s", name, publish.Reason(err))
	}
	_, err = io.Copy(to, from)
	if err := errors.Join(err, to.Close()); err != nil {
		os.RemoveAll(dir)
		return fmt.Errorf("%s did not arrive whole: %s", name, publish.Reason(err))
	}
	d.add(name, path)
	return nil
}

// plain is a file name that every system takes, with the ending it had.
func plain(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	kept := strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || strings.ContainsRune(`<>:"|?*`, r) {
			return '_'
		}
		return r
	}, strings.ToValidUTF8(name, "_"))
	kept = strings.Trim(kept, " .")
	if runes := []rune(kept); len(runes) > 60 { // of up to 4 bytes; systems allow 255
		ext := []rune(filepath.Ext(kept))
		if len(ext) > 8 {
			ext = nil
		}
		kept = string(runes[:60-len(ext)]) + string(ext)
	}
	stem, _, _ := strings.Cut(strings.ToUpper(kept), ".")
	if kept == "" || reserved.MatchString(stem) {
		return "capture-" + kept
	}
	return kept
}

// reserved are the names that Windows keeps for devices, with any ending.
var reserved = regexp.MustCompile(`^(CON|PRN|AUX|NUL|COM[0-9]|LPT[0-9])$`)
