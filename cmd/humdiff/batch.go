package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/fft/fault"
	"humdiff/report/batch"
	"humdiff/report/gather"
	"humdiff/report/page"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/verdict"
	"humdiff/report/words"
)

// batching is the flags of batch.
type batching struct {
	measuring
	format     choice
	noProgress bool
	out        string
	force      bool
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
CSV file that lists them. batch measures them all, several at a time, and judges:
what each cable picks up, which cables can be told apart, whether the claims hold,
and what could still explain it.

What was measured is kept (in the user's cache folder, or where --cache says), by
the captures' content and the settings: a second run measures only what is new, and
one that was stopped goes on. A run may name a measurement made elsewhere, by
humdiff measure --format json, in place of a capture.

A session that isn't written yet: --new FOLDER writes a first one from the captures
in a folder, with examples of what else can be stated. What it guessed from their
names it marks in the column "guessed"; look it over, and empty that column. Start
times come from the captures' metadata; where that holds none, the list is in the
order of names, and until "start" is no longer marked as guessed nothing is said of
the order in which the runs were made.`,
		Example: `  humdiff batch --new "captures"
  humdiff batch "captures/session.toml" --out "report"
  humdiff batch "session.toml" --out "report" --fail-on refuted
  humdiff batch "session.toml" --out "blind" --blind "key.toml"
  humdiff batch "session.toml" --out "open" --key "key.toml"`,
		Args: func(_ *cobra.Command, args []string) error {
			if f.fileTimes && f.fresh == "" {
				return misusedf(`write humdiff batch --new "FOLDER" --file-times`, "--file-times without --new has nothing to date")
			}
			if f.fresh != "" && len(args) == 0 {
				return nil
			}
			if f.fresh != "" || len(args) != 1 {
				return misusedf(`write humdiff batch "SESSION", or humdiff batch --new "FOLDER"`, "batch was given %s", words.Count(len(args), "session"))
			}
			return nil
		},
		PreRunE: noEmptyFlags,
		RunE: func(c *cobra.Command, args []string) error {
			if f.fresh != "" {
				return f.write(s)
			}
			return f.run(c, s, args[0])
		},
	}
	f.format = choice{"text", []string{"text", "markdown", "json"}}
	f.failOn = choice{"never", []string{"never", result.Refuted, result.Undecided}}
	f.addHow(c)
	fl := c.Flags()
	fl.Var(&f.format, "format", "how the result is printed")
	fl.BoolVar(&f.noProgress, "no-progress", false, "show no progress")
	fl.StringVar(&f.out, "out", "", "write a report into the folder `DIR`: a page, Markdown, figures, tables, a page for each run, and the numbers")
	fl.BoolVar(&f.force, "force", false, "let --out write beside other files; it replaces none of them")
	fl.StringVar(&f.cache, "cache", "", "keep measurements in the folder `DIR` instead of the user's cache folder")
	fl.StringVar(&f.blind, "blind", "", "show cables as letters; which is which is in the file `KEY`, written where there is none")
	fl.StringVar(&f.key, "key", "", "say which letters the cables had in the blind report, by its `KEY`")
	fl.Var(&f.failOn, "fail-on", "end with 3 where a claim is refuted; with undecided, where one is not supported")
	fl.StringVar(&f.fresh, "new", "", "write a first session from the captures in `FOLDER`, and measure nothing")
	fl.BoolVar(&f.fileTimes, "file-times", false, "with --new: take for start times when the files were last changed, less their length; true of recordings, not of copies")
	return c
}

// errClaim ends the command with 3; all that is to be said was printed.
var errClaim = errors.New("a claim failed")

func (f batching) run(c *cobra.Command, s screen, path string) error {
	ctx := c.Context()
	if f.force && f.out == "" {
		return misusedf("name the folder with --out", "--force without --out has nothing to write")
	}
	if f.blind != "" && f.key != "" {
		return misusedf("leave one of them out", "--blind hides what --key tells")
	}
	if f.out != "" {
		if err := publish.Check(f.out, f.force, gather.SessionNames...); err != nil {
			return offerForce(err)
		}
	}
	b, err := f.prepare(c, path)
	if err != nil {
		return err
	}
	report, end := batchProgress(s.stderr, !f.noProgress)
	b.Progress = report
	err = b.Measure(ctx)
	end()
	if err != nil {
		return resumable{err}
	}
	return f.conclude(ctx, s, b)
}

// prepare reads the session and says how its runs are measured.
func (f batching) prepare(c *cobra.Command, path string) (*batch.Batch, error) {
	loaded, err := session.Load(path)
	if err != nil {
		return nil, err
	}
	b := &batch.Batch{Session: loaded, Options: f.options(), Version: version()}
	if hz := loaded.Bench.MainsHz; hz != 0 {
		if c.Flags().Changed("mains") {
			return nil, misusedf("leave --mains out", "the session says which mains it is: %g Hz", hz)
		}
		b.Options.Nominal = hz
	}
	dir := f.cache
	if dir == "" {
		if dir, err = batch.DefaultDir(); err != nil {
			return nil, err
		}
	}
	if b.Store, err = batch.NewStore(dir, version()); err != nil {
		return nil, err
	}
	b.Scale, err = batch.Calibrated(c.Context(), loaded)
	return b, err
}

// conclude judges what was measured, prints it and writes the report. What was
// left unmeasured is named at the end.
func (f batching) conclude(ctx context.Context, s screen, b *batch.Batch) error {
	judged, capture, err := f.judge(s, b)
	if err != nil {
		return err
	}
	if err := f.show(s, judged); err != nil {
		return err
	}
	if f.out != "" {
		if err := writeSession(ctx, s, !f.noProgress, f.out, f.force, judged, capture); err != nil {
			return resumable{err}
		}
		fmt.Fprintf(s.stderr, "The report is in %s\n", words.File(filepath.Join(f.out, "report.html")))
	}
	if err := unmeasured(b.Failures()); err != nil {
		return err
	}
	return f.verdict(judged)
}

// writeSession writes a session's report into a folder, its pages made several at a
// time.
func writeSession(ctx context.Context, s screen, wanted bool, dir string, force bool, judged result.Session, capture func(int) (result.Capture, error)) error {
	files, err := gather.Session(judged, capture)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	report, end := batchProgress(s.stderr, wanted)
	defer end()
	return publish.Write(ctx, dir, force, publish.Ahead(ctx, files, func(done, total int, name string) {
		if report != nil {
			report(int64(done), int64(total), "writing "+name)
		}
	}))
}

// judge judges the runs: with the cables' names, or with letters for them. Its
// second result gives a run's whole measurement.
func (f batching) judge(s screen, b *batch.Batch) (result.Session, func(int) (result.Capture, error), error) {
	cables := b.Session.Cables()
	switch {
	case f.blind != "":
		key, err := batch.LoadKey(f.blind, cables)
		if errors.Is(err, fs.ErrNotExist) {
			key, err = batch.NewKey(f.blind, cables)
		}
		if err != nil {
			return result.Session{}, nil, err
		}
		judged, partly := key.Judge(b.Input())
		f.read(s, partly)
		return judged, func(run int) (result.Capture, error) {
			c, err := b.Capture(run)
			return key.Capture(c, run), err
		}, nil
	case f.key != "":
		key, err := batch.LoadKey(f.key, cables)
		if err != nil {
			return result.Session{}, nil, err
		}
		return key.Opened(verdict.Judge(key.Open(b.Input()))), b.Capture, nil
	}
	return verdict.Judge(b.Input()), b.Capture, nil
}

// read asks for a blind report to be read before it is published.
func (f batching) read(s screen, partly []string) {
	said := "Read the blind report before you publish it: titles, notes and claims are in it as they were written, but for the cables' names; nicknames and other spellings aren't found."
	if len(partly) > 0 {
		said += " Words that are part of a cable's name were taken out, as […], of " + words.And(partly) + "."
	}
	fmt.Fprintln(s.stderr, fold("warning: "+said, s.errWidth))
}

// show prints the conclusion; the whole is in the report.
func (f batching) show(s screen, judged result.Session) error {
	var said string
	switch f.format.value {
	case "json":
		numbers, err := gather.JSON(judged)
		if err != nil {
			return err
		}
		said = string(numbers)
	case "markdown":
		said = page.SessionMarkdown(judged, func(int) string { return "" })
	default:
		said = sessionText(judged, s.width)
	}
	if _, err := s.stdout.Write([]byte(said)); err != nil || f.format.value != "text" {
		return err
	}
	for _, w := range byCode(judged.Warnings) {
		fmt.Fprintln(s.stderr, fold("warning: "+words.Printable(w), s.errWidth))
	}
	return nil
}

// byCode is one sentence for each kind of warning: a session has many captures,
// and its report names them all.
func byCode(all []result.Warning) (said []string) {
	var first []result.Warning
	count := map[string]int{}
	for _, w := range all {
		if count[w.Code]++; count[w.Code] == 1 {
			first = append(first, w)
		}
	}
	for _, w := range first {
		s := w.Message
		if w.File != "" {
			s = w.File + ": " + s
		}
		if more := count[w.Code] - 1; more > 0 {
			s += fmt.Sprintf(" (and %d more of this kind, in the report)", more)
		}
		said = append(said, s)
	}
	return said
}

// sessionText is a session's conclusion in sentences.
func sessionText(judged result.Session, width int) string {
	lines := append([]string{words.SessionTitle(judged)}, words.SessionFound(judged)...)
	return fold(strings.Join(lines, "\n")+"\n", width)
}

// unmeasured names the runs that could not be measured; nil where all were.
func unmeasured(failures []batch.Failure) error {
	var all []error
	for _, x := range failures {
		all = append(all, &fault.Error{What: fmt.Sprintf("%s: %s", words.Run(x.Run), x.Err), Hint: fault.Hint(x.Err), Err: x.Err})
	}
	return errors.Join(all...)
}

// verdict ends with 3 where a claim failed as --fail-on says.
func (f batching) verdict(judged result.Session) error {
	for _, c := range judged.Claims {
		if f.failOn.value == result.Refuted && c.Verdict == result.Refuted || f.failOn.value == result.Undecided && c.Verdict != result.Supported {
			return errClaim
		}
	}
	return nil
}

// write writes the session that --new asks for, and says what was guessed.
func (f batching) write(s screen) error {
	guess, err := batch.Guess(f.fresh, f.fileTimes)
	if err != nil {
		return err
	}
	if err := session.Write(guess); err != nil {
		return err
	}
	lines := []string{fmt.Sprintf("%s lists %s.", words.File(guess.Locate(guess.RunsFile)), words.Count(len(guess.Runs), "run"))}
	if said := counted(guess.Guessed()); said != "" {
		lines = append(lines, "Guessed, and named in the column \"guessed\": "+said+".")
	}
	if said := counted(guess.Missing()); said != "" {
		lines = append(lines, "Not known, for you to fill in: "+said+".")
	}
	lines = append(lines, f.orderSaid(guess),
		fmt.Sprintf("Check each guess, and empty that column. In %s describe the bench, the witness and the claims: examples are in it. Then run:", words.File(guess.Path)))
	_, err = fmt.Fprintf(s.stdout, "%s  humdiff batch %q --out \"report\"\n", fold(strings.Join(lines, "\n")+"\n", s.width), filepath.ToSlash(guess.Path))
	return err
}

// orderSaid says what a first session's order rests on.
func (f batching) orderSaid(guess session.Session) string {
	timed := !slices.ContainsFunc(guess.Runs, func(r session.Run) bool { return r.Start.IsZero() })
	assumed := slices.ContainsFunc(guess.Runs, func(r session.Run) bool { return slices.Contains(r.Guessed, session.StartKey) })
	switch {
	case timed && assumed:
		return "Runs are in the order in which their files were last changed. Copying changes that: check it."
	case timed:
		return "Runs are in the order of the start times that the captures hold."
	}
	return "In which order they were recorded isn't known: they are listed by name. Fill in the column \"start\", or put the lines in that order, before you empty \"guessed\"; until then nothing is said of order and drift."
}

// counted says of how many runs each key is meant: "cable (12 runs), repeat (1 run)".
func counted(keys []session.KeyCount) string {
	var said []string
	for _, k := range keys {
		said = append(said, fmt.Sprintf("%s (%s)", k.Key, words.Count(k.Runs, "run")))
	}
	return strings.Join(said, ", ")
}
