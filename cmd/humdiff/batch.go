package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/fft/fault"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/session"
	"humdiff/report/text"
)

// batching is the flags of batch.
type batching struct {
	measuring
	showing
	writing
	everyRun   bool
	cache      string
	blind, key string
	failOn     choice
	fresh      string // the folder of --new
	fileTimes  bool
}

func batchCommand(s screen) *cobra.Command {
	var f batching
	c := &cobra.Command{
		Use:   "batch SESSION",
		Short: "All runs of a session: repeats, rankings, verdicts on claims",
		Long: `SESSION is a TOML file that describes the bench and lists the runs, or names the
CSV file that lists them. batch measures them all and judges: what each cable picks
up, which cables can be told apart, whether the claims hold, and what could still
explain it. Measurements are kept: a second run measures only what is new, and one
that was stopped goes on.

--new FOLDER writes a first session from the captures in a folder. What it guessed
from their names it marks in the column "guessed": check it, and empty that column.

A session recorded blind (plan --blind) has letters for cables. --blind KEY puts the
key's hash into the report; --key KEY, once that report is out, puts the names.
humdiff help session has the rest.`,
		Example: `  humdiff batch --new "captures"
  humdiff batch "captures/session.toml" --out "report"
  humdiff batch "session.toml" --out "report" --fail-on refuted
  humdiff batch "sitting/session.toml" --out "blind" --blind "sitting/key.toml"
  humdiff batch "sitting/session.toml" --out "open" --key "sitting/key.toml"`,
		Args: func(_ *cobra.Command, args []string) error { return f.takes(args) },
		RunE: func(c *cobra.Command, args []string) error {
			if f.fresh != "" {
				return f.first(s)
			}
			judged, err := f.result(c.Context(), s, args[0])
			if err != nil {
				return err
			}
			return f.verdict(judged.Claims)
		},
	}
	f.failOn = choice{"never", []string{"never", model.Refuted, model.Undecided}}
	f.addHow(c)
	f.addForms(c, "text", "markdown", "json")
	f.writing.add(c, "page, figures, tables and numbers")
	fl := c.Flags()
	fl.BoolVar(&f.everyRun, "pages", false, "write a page for every run")
	fl.StringVar(&f.cache, "cache", "", "keep measurements in the folder `DIR`, not in the user's cache folder")
	fl.StringVar(&f.blind, "blind", "", "name the hash of this `KEY`, and cables by its letters")
	fl.StringVar(&f.key, "key", "", "name cables for their letters, by this `KEY`")
	fl.Var(&f.failOn, "fail-on", "end with 3 where a claim is refuted; with undecided, where one is not supported")
	fl.StringVar(&f.fresh, "new", "", "write a first session from the captures in `FOLDER`, and measure nothing")
	fl.BoolVar(&f.fileTimes, "file-times", false, "with --new: files began when last changed, less their length; true of recordings, not of copies")
	return c
}

// takes refuses another number of sessions.
func (f *batching) takes(args []string) error {
	switch {
	case f.fileTimes && f.fresh == "":
		return misusedf(`write humdiff batch --new "FOLDER" --file-times`, "--file-times without --new has nothing to date")
	case f.fresh != "" && len(args) == 0 || f.fresh == "" && len(args) == 1:
		return nil
	}
	return misusedf(`write humdiff batch "SESSION", or humdiff batch --new "FOLDER"`, "batch was given %s", doc.Count(len(args), "session"))
}

// errClaim ends the command with 3; all that is to be said was printed.
var errClaim = errors.New("a claim failed")

// result judges a session, and prints and writes what was asked for.
func (f batching) result(ctx context.Context, s screen, path string) (*report.Judged, error) {
	if f.blind != "" && f.key != "" {
		return nil, misusedf("leave one of them out", "--blind hides what --key tells")
	}
	if f.everyRun && f.out == "" {
		return nil, misusedf("name the folder with --out", "--pages without --out has nowhere to go")
	}
	if err := f.check(report.SessionNames...); err != nil {
		return nil, err
	}
	file, err := session.Load(path)
	if err != nil {
		return nil, err
	}
	judged, err := f.judge(ctx, s, report.Sitting{File: file, Cache: f.cache, Key: f.blind + f.key, Open: f.key != ""})
	if err != nil {
		return nil, err
	}
	if err := f.show(s, &judged.Session); err != nil {
		return nil, err
	}
	if f.out != "" {
		if err := f.writing.session(ctx, s, judged, f.everyRun, !f.noProgress); err != nil {
			return nil, resumable{err}
		}
		if err := f.said(s); err != nil {
			return nil, err
		}
	}
	return judged, unmeasured(judged)
}

// judge measures and judges a session, and shows how far that is.
func (f batching) judge(ctx context.Context, s screen, sitting report.Sitting) (*report.Judged, error) {
	var end func()
	sitting.Progress, end = batchProgress(s.stderr, !f.noProgress)
	defer end()
	judged, err := report.Session(ctx, f.request(), sitting)
	if err != nil && ctx.Err() != nil {
		return nil, resumable{err}
	}
	return judged, err
}

// unmeasured names the runs that could not be measured; nil where all were.
func unmeasured(j *report.Judged) error {
	var all []error
	for _, x := range j.Failures {
		all = append(all, &fault.Error{What: fmt.Sprintf("%s: %s", doc.Run(x.Run), x.Err), Hint: fault.Hint(x.Err), Err: x.Err})
	}
	return errors.Join(all...)
}

// verdict ends with 3 where a claim failed as --fail-on says.
func (f batching) verdict(claims []model.Claim) error {
	for _, c := range claims {
		if f.failOn.value == model.Refuted && c.Verdict == model.Refuted || f.failOn.value == model.Undecided && c.Verdict != model.Supported {
			return errClaim
		}
	}
	return nil
}

// first writes the session that --new asks for, and says what was guessed.
func (f batching) first(s screen) error {
	guess, err := session.Guess(f.fresh, f.fileTimes)
	if err != nil {
		return err
	}
	if err := guess.Write(); err != nil {
		return err
	}
	sitting := guess.Sitting
	lines := []string{fmt.Sprintf("%s lists %s.", doc.Printable(guess.Locate(guess.RunsFile)), doc.Count(len(sitting.Runs), "run"))}
	if said := counted(session.Guessed(sitting)); said != "" {
		lines = append(lines, "Guessed, and named in the column \"guessed\": "+said+".")
	}
	if said := counted(session.Missing(sitting)); said != "" {
		lines = append(lines, "Not known, for you to fill in: "+said+".")
	}
	lines = append(lines, orderSaid(sitting.Runs),
		fmt.Sprintf("Check each guess, and empty that column. In %s describe the bench, the positive control (witness) and the claims: examples are in it. Then run:", doc.Printable(guess.Path)))
	_, err = fmt.Fprintf(s.stdout, "%s  humdiff batch %q --out \"report\"\n", text.Fold(strings.Join(lines, "\n")+"\n", s.width), filepath.ToSlash(guess.Path))
	return err
}

// orderSaid says what a first session's order rests on.
func orderSaid(runs []model.Run) string {
	timed := !slices.ContainsFunc(runs, func(r model.Run) bool { return r.Start.IsZero() })
	assumed := slices.ContainsFunc(runs, func(r model.Run) bool { return slices.Contains(r.Guessed, model.StartKey) })
	switch {
	case timed && assumed:
		return "Runs are in the order in which their files were last changed. Copying changes that: check it."
	case timed:
		return "Runs are in the order of the start times that the captures hold."
	}
	return "In which order they were recorded isn't known: they are listed by name. Fill in the column \"start\", or put the lines in that order, before you empty \"guessed\". Until then nothing is said of order and drift."
}

// counted says of how many runs each key is meant: "cable (12 runs), repeat (1 run)".
func counted(keys []session.KeyCount) string {
	var said []string
	for _, k := range keys {
		said = append(said, fmt.Sprintf("%s (%s)", k.Key, doc.Count(k.Runs, "run")))
	}
	return strings.Join(said, ", ")
}
