package live

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"unicode"

	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/publish"
)

// root is the folder in which all that is saved lies.
func (b *Bench) root() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	if dir := b.sitting.dir(); dir != "" {
		return dir
	}
	return b.opt.Home
}

// inRoot is the path of a new name in that folder: a name, not a path, and nothing in
// it that could command a terminal in which it is listed.
func (b *Bench) inRoot(name string) (string, error) {
	name = strings.TrimSpace(name)
	unseen := strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) })
	if name == "" || unseen || strings.HasPrefix(name, ".") || strings.ContainsAny(name, "/\\:") || !filepath.IsLocal(name) {
		return "", errors.New("give the folder a plain name, such as hum-report")
	}
	return filepath.Join(b.root(), name), nil
}

// notWhole says why what was found is not yet a report of the whole session; nil: it
// is. The lock is held.
func (b *Bench) notWhole() error {
	o := &b.outcome
	switch {
	case o.err != nil || o.compare == nil && o.judged == nil:
		return errors.New("there is no comparison to save yet")
	case o.judged == nil:
		return nil
	case len(o.ids) < o.of || o.measuring:
		return errors.New("not all is measured yet")
	case b.said.Unsaved != "":
		return errors.New("the session itself is not saved")
	case len(o.ids) < len(b.sitting.runs):
		return fmt.Errorf("%s of the session are not in it: record them, place them, or leave them out", doc.Count(len(b.sitting.runs)-len(o.ids), "run"))
	}
	if problems := b.sitting.session().Check(); len(problems) > 0 {
		return errors.New(problems[0].What)
	}
	return nil
}

// files are those of the report on what was found, with pages for every run, or for
// those that have something to say.
func (b *Bench) files(ctx context.Context, pages bool) ([]publish.File, error) {
	b.mu.Lock()
	o := b.outcome
	b.mu.Unlock()
	switch {
	case o.compare != nil:
		return report.Files(o.compare)
	case o.judged != nil:
		return report.SessionFiles(&o.judged.Session, o.judged.Whole(ctx), pages)
	}
	return nil, errors.New("nothing has been compared yet")
}

// save writes the report that compare or batch writes into a folder of that name.
func (b *Bench) save(ctx context.Context, name string) error {
	b.mu.Lock()
	err := b.notWhole()
	b.mu.Unlock()
	if err != nil {
		return err
	}
	dir, err := b.inRoot(name)
	if err != nil {
		return err
	}
	files, err := b.files(ctx, false)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	if err := publish.Write(ctx, dir, false, publish.Ahead(ctx, files, nil)); err != nil {
		return err
	}
	b.say(func(s *said) { s.Saved = "The report is in " + doc.Printable(filepath.Join(dir, "report.html")) })
	return nil
}
