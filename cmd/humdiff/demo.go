package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"humdiff/fft/capture"
	"humdiff/fixtures/demo"
	"humdiff/report/batch"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/verdict"
	"humdiff/report/words"
)

// demoFolder is where the demo goes if no folder is named.
const demoFolder = "humdiff-demo"

func demoCommand(s screen) *cobra.Command {
	var f comparing
	c := &cobra.Command{
		Use:   "demo [DIR]",
		Short: "Simulate a small bench, compare and judge its captures, and show the truth beside",
		Long: `demo writes the captures of a simulated bench into DIR (` + demoFolder + ` if none is
named), compares a pair of them as compare would, judges a session of three cables as
batch would, and prints what was measured beside what is really in them. Nothing has to
be prepared.`,
		Example: `  humdiff demo
  humdiff demo "trial"`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return misusedf(`write humdiff demo "DIR"`, "demo takes one folder, and was given %d", len(args))
			}
			if len(args) == 1 && args[0] == "" {
				return misusedf(`write humdiff demo "DIR", or leave the folder out`, "the folder has no name")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			return f.demo(c.Context(), s, append(args, demoFolder)[0])
		},
	}
	f.measuring.defaults()
	c.Flags().BoolVar(&f.noProgress, "no-progress", false, "show no progress")
	return c
}

func (f comparing) demo(ctx context.Context, s screen, dir string) error {
	f.out = filepath.Join(dir, "report")
	sitting := filepath.Join(dir, "session-report")
	for _, out := range []string{f.out, sitting} {
		if err := publish.Check(out, false); err != nil {
			return err
		}
	}
	files, err := demo.Write(ctx, dir)
	if err != nil {
		return err
	}
	f.fullScale = strconv.FormatFloat(files.FullScaleVolts, 'g', -1, 64) + "V"
	r, err := f.compare(ctx, s, capture.Address{Path: files.Quiet}, capture.Address{Path: files.Near}, &capture.Address{Path: files.Residual})
	if err != nil {
		return err
	}
	page, err := f.publish(ctx, r)
	if err != nil {
		return err
	}
	said := fmt.Sprint(made(files), "\n", strings.Join(words.Compare(r), "\n"), "\n\n")
	if _, err := fmt.Fprint(s.stdout, fold(said, s.width), beside(files.Answer, r), "\n"); err != nil {
		return err
	}
	if err := f.sitting(ctx, s, dir, sitting); err != nil {
		return err
	}
	_, err = fmt.Fprint(s.stdout, next(files, page, sitting))
	return err
}

// sitting simulates and judges the session.
func (f comparing) sitting(ctx context.Context, s screen, dir, out string) error {
	made, err := demo.WriteSession(ctx, dir)
	if err != nil {
		return err
	}
	loaded, err := session.Load(made.File)
	if err != nil {
		return err
	}
	store, err := batch.NewStore(filepath.Join(dir, "session", "measured"), version())
	if err != nil {
		return err
	}
	b := &batch.Batch{Session: loaded, Store: store, Version: version(), Options: f.options()}
	b.Options.Nominal = loaded.Bench.MainsHz
	if b.Scale, err = batch.Calibrated(ctx, loaded); err != nil {
		return err
	}
	report, end := batchProgress(s.stderr, !f.noProgress)
	b.Progress = report
	err = b.Measure(ctx)
	end()
	if err := errors.Join(err, unmeasured(b.Failures())); err != nil {
		return err
	}
	judged := verdict.Judge(b.Input())
	if err := writeSession(ctx, s, !f.noProgress, out, false, judged, b.Capture); err != nil {
		return err
	}
	_, err = fmt.Fprint(s.stdout, fold(made.Truth.Story+"\n\n", s.width), sessionText(judged, s.width), "\n", truthOf(made.Truth, judged), "\n")
	return err
}

// truthOf sets the cables' pickups and the claims' verdicts beside their truth.
func truthOf(truth demo.SessionTruth, judged result.Session) string {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "cable\tclosed with\tpickup, true\tmeasured")
	for _, r := range judged.Rankings {
		for _, p := range r.Places {
			volts, ok := truth.Pickup[p.Cable][fmt.Sprint(float64(r.Termination.Ohms))]
			if ok {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", p.Cable, words.Termination(r.Termination), words.Volts(result.Num(volts)), words.VoltsInterval(p.Volts))
			}
		}
	}
	fmt.Fprintln(w, "\nclaim\tverdict by the truth\tby the runs")
	for _, c := range judged.Claims {
		fmt.Fprintf(w, "%s\t%s\t%s\n", c.Name, truth.Claims[c.Name], c.Verdict)
	}
	w.Flush()
	return b.String()
}

// made says what the demo wrote.
func made(f demo.Files) string {
	return fmt.Sprintf("Simulated: %s\n%s\nCaptures: %s\nTheir truth: %s\n",
		f.Answer.Cable, f.Answer.Story, strings.Join([]string{f.Quiet, f.Near, f.Dead, f.Residual}, ", "), f.Truth)
}

// shownLines is how many lines the demo shows beside their truth.
const shownLines = 5

// beside sets the first lines found in near beside their truth.
func beside(truth demo.Answer, r result.Compare) string {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "harmonic\tdelta, true\tmeasured\tpickup, true\tmeasured\t")
	shown := 0
	for _, l := range r.Pairs[0].Lines {
		if l.Near.State != result.Detected || shown == shownLines {
			continue
		}
		for _, t := range truth.Pair {
			if t.Harmonic == l.Harmonic {
				shown++
				fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\t\n", l.Harmonic, words.DB(result.Num(t.DeltaDB)), measured(l.Delta),
					words.Volts(result.Num(t.PickupVolts)), words.VoltsRange(l.Pickup.LoVolts, l.Pickup.HiVolts))
			}
		}
	}
	w.Flush()
	return b.String()
}

// measured is a delta with its interval.
func measured(d result.Delta) string {
	if d.State != result.Measured {
		return words.Delta(d)
	}
	return words.Delta(d) + " (" + words.DBRange(d.LoDB, d.HiDB) + ")"
}

// next says where to look and what to try.
func next(f demo.Files, page, sitting string) string {
	again := func(near string) string {
		return fmt.Sprintf("  humdiff compare %q %q --full-scale %gV\n", filepath.ToSlash(f.Quiet), filepath.ToSlash(near), f.FullScaleVolts)
	}
	return fmt.Sprintf("The whole reports: open %s and %s in a browser.\nTry the same yourself, and the lead unplugged:\n%s%sAnd the session, which lies in session/session.toml:\n  humdiff batch %q --out \"session-report\"\n",
		words.File(page), words.File(filepath.Join(sitting, "report.html")), again(f.Near), again(f.Dead),
		filepath.ToSlash(filepath.Join(filepath.Dir(f.Quiet), "session", "session.toml")))
}
