package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"humdiff/fft/fault"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/publish"
	"humdiff/report/wire"
)

// writing is the flags of a report to be written.
type writing struct {
	out   string
	force bool
}

func (w *writing) add(c *cobra.Command, what string) {
	c.Flags().StringVar(&w.out, "out", "", "write "+what+" into the folder `DIR`")
	c.Flags().BoolVar(&w.force, "force", false, "let --out write beside other files, of which none is replaced")
}

// check refuses before the work what could not be written after it.
func (w writing) check(names ...string) error {
	switch {
	case w.out == "" && w.force:
		return misusedf("name the folder with --out", "--force without --out has nothing to write")
	case w.out == "":
		return nil
	}
	return offerForce(publish.Check(w.out, w.force, names...))
}

// offerForce adds to the hint of an error that --force would have helped.
func offerForce(err error) error {
	var e *fault.Error
	if !errors.Is(err, publish.ErrForeign) || !errors.As(err, &e) {
		return err
	}
	offered := *e
	offered.Hint = "Give a new folder, or --force to write beside what is in this one: none of that is replaced."
	return &offered
}

// seenFrom is a result as it stands in the folder that it is written to.
func seenFrom[R wire.Result](w writing, r R) (R, error) {
	if w.out == "" {
		return r, nil
	}
	return report.Beside(r, w.out)
}

// all writes all views of a result, and says where they are; no folder: nothing.
func (w writing) all(ctx context.Context, s screen, r wire.Result) error {
	if w.out == "" {
		return nil
	}
	files, err := report.Files(r)
	if err != nil {
		return err
	}
	if err := publish.Write(ctx, w.out, w.force, files); err != nil {
		return err
	}
	return w.said(s)
}

// session writes a session's report, the pages of its runs made several at a time:
// of every run, or of those that have something to say.
func (w writing) session(ctx context.Context, s screen, j *report.Judged, everyRun, showProgress bool) error {
	files, err := report.SessionFiles(&j.Session, j.Whole(ctx), everyRun)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	shown, end := batchProgress(s.stderr, showProgress)
	defer end()
	return publish.Write(ctx, w.out, w.force, publish.Ahead(ctx, files, func(done, total int, name string) {
		if shown != nil {
			shown(int64(done), int64(total), "writing "+name)
		}
	}))
}

// page is where a report begins.
func (w writing) page() string { return filepath.Join(w.out, "report.html") }

func (w writing) said(s screen) error {
	_, err := fmt.Fprintf(s.stderr, "The report is in %s\n", doc.Printable(w.page()))
	return err
}
