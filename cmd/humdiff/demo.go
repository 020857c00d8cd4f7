package main

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"humdiff/fft/capture"
	"humdiff/fixtures/demo"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/session"
	"humdiff/report/text"
)

// demoFolder is where the demo goes if no folder is named.
const demoFolder = "humdiff-demo"

func demoCommand(s screen) *cobra.Command {
	var f comparing
	c := &cobra.Command{
		Use:   "demo [DIR]",
		Short: "Simulate a small bench, compare and judge its captures, and show the truth beside",
		Long: `demo writes the captures of a simulated bench into DIR (` + demoFolder + ` if none is
named), compares a pair, judges a session of three cables, and prints the truth
beside. Nothing has to be prepared.`,
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
	sitting, passport := writing{out: filepath.Join(dir, "session-report")}, writing{out: filepath.Join(dir, "passport")}
	for _, w := range []writing{f.writing, sitting, passport} {
		if err := publish.Check(w.out, false); err != nil {
			return err
		}
	}
	files, err := demo.Write(ctx, dir)
	if err != nil {
		return err
	}
	r, err := f.pair(ctx, s, files)
	if err != nil {
		return err
	}
	said := fmt.Sprint(made(files), "\n", text.Short(doc.Compare(r, doc.UnitFor(r.Settings)), s.width), "\n")
	if _, err := fmt.Fprint(s.stdout, text.Fold(said, s.width), beside(files.Answer, r), "\n"); err != nil {
		return err
	}
	if err := f.sitting(ctx, s, dir, sitting); err != nil {
		return err
	}
	if err := f.driven(ctx, s, dir, passport); err != nil {
		return err
	}
	_, err = fmt.Fprint(s.stdout, next(files, f.page(), sitting.page(), passport.page()))
	return err
}

// pair compares the demo's pair and writes its report.
func (f comparing) pair(ctx context.Context, s screen, files demo.Files) (model.Compare, error) {
	at := func(path string) capture.Address { return capture.Address{Path: path, End: math.Inf(1)} }
	residual := at(files.Residual)
	f.FullScale = strconv.FormatFloat(files.FullScaleVolts, 'g', -1, 64) + "V"
	r := f.request()
	compared, err := during(s, f.noProgress, &r, func() (model.Compare, error) {
		return report.Compare(ctx, r, report.Compared{Quiet: at(files.Quiet), Near: at(files.Near), Residual: &residual})
	})
	if err != nil {
		return compared, err
	}
	seen, err := report.Beside(&compared, f.out)
	if err != nil {
		return compared, err
	}
	views, err := report.Files(seen)
	if err != nil {
		return compared, err
	}
	return compared, publish.Write(ctx, f.out, false, views)
}

// sitting simulates and judges the session.
func (f comparing) sitting(ctx context.Context, s screen, dir string, out writing) error {
	made, err := demo.WriteSession(ctx, dir)
	if err != nil {
		return err
	}
	file, err := session.Load(made.File)
	if err != nil {
		return err
	}
	judged, err := f.judge(ctx, s, f.noProgress, report.Sitting{File: file, Cache: filepath.Join(dir, "session", "measured")})
	if err != nil {
		return err
	}
	if err := unmeasured(judged); err != nil {
		return err
	}
	if err := out.session(ctx, s, judged, false, !f.noProgress); err != nil {
		return err
	}
	_, err = fmt.Fprint(s.stdout, text.Fold(made.Truth.Story+"\n\n", s.width), text.Short(doc.Session(judged.Session, nil), s.width), "\n", truthOf(made.Truth, judged.Session), "\n")
	return err
}

// driven simulates a known source, and makes the passport of its cable.
func (f comparing) driven(ctx context.Context, s screen, dir string, out writing) error {
	path, truth, err := demo.WriteDriven(ctx, dir)
	if err != nil {
		return err
	}
	file, err := session.Load(path)
	if err != nil {
		return err
	}
	r := report.Request{Version: version()}
	p, err := during(s, f.noProgress, &r, func() (model.Passport, error) { return report.Passport(ctx, r, file) })
	if err != nil {
		return err
	}
	views, err := report.Files(&p)
	if err != nil {
		return err
	}
	if err := publish.Write(ctx, out.out, false, views); err != nil {
		return err
	}
	said := fmt.Sprintf("In truth it couples by %s and %s, in the middle placement, with a transfer impedance of %s.\n\n",
		doc.SI(model.Num(truth.Farads), "F"), doc.SI(model.Num(truth.Henries), "H"), doc.SI(model.Num(truth.TransferOhms), "Ω"))
	_, err = fmt.Fprint(s.stdout, text.Fold(truth.Story+"\n\n", s.width), text.Short(doc.Passport(p), s.width), "\n", text.Fold(said, s.width))
	return err
}

// truthOf sets the cables' pickups and the claims' verdicts beside their truth.
func truthOf(truth demo.SessionTruth, judged model.Session) string {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "cable\tterminated in\tpickup, true\tmeasured")
	for _, r := range judged.Rankings {
		for _, p := range r.Places {
			volts, ok := truth.Pickup[p.Cable][fmt.Sprint(float64(r.Termination.Ohms))]
			if ok {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", p.Cable, doc.Termination(r.Termination), doc.SI(model.Num(volts), "V"), doc.PickupSaid(judged.Settings, p.Pickup))
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
func beside(truth demo.Answer, r model.Compare) string {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "harmonic\tdelta, true\tmeasured\tpickup, true\tmeasured\t")
	shown := 0
	scale, _ := r.Settings.ScaleOf(model.ForNear)
	for _, l := range r.Pairs[0].Rows() {
		if !l.Near.Level.Measured() || shown == shownLines {
			continue
		}
		for _, t := range truth.Pair {
			if t.Harmonic == l.Harmonic {
				shown++
				fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\t\n", l.Harmonic, doc.DB(model.Num(t.DeltaDB)), measured(l.Delta),
					doc.SI(model.Num(t.PickupVolts), "V"), doc.Volts(scale.AmplitudeInVolts(l.Pickup)))
			}
		}
	}
	w.Flush()
	return b.String()
}

// measured is a delta with its interval.
func measured(d model.Estimate) string {
	if !d.Measured() {
		return doc.Delta(d)
	}
	return doc.Delta(d) + " (" + doc.Interval(d) + ")"
}

// next says where to look and what to try.
func next(f demo.Files, page, sitting, passport string) string {
	again := func(near string) string {
		return fmt.Sprintf("  humdiff compare %q %q --full-scale %gV\n", filepath.ToSlash(f.Quiet), filepath.ToSlash(near), f.FullScaleVolts)
	}
	folder := filepath.Dir(f.Quiet)
	told := strings.TrimSuffix(again(filepath.Join(folder, f.Answer.Reference.Near)), "\n")
	told = strings.Replace(told, filepath.ToSlash(f.Quiet), filepath.ToSlash(filepath.Join(folder, f.Answer.Reference.Quiet)), 1)
	return fmt.Sprintf("The whole reports: open %s, %s and %s in a browser.\nTry the same yourself, the lead unplugged, and with a reference channel:\n%s%s%s --reference ch=%d\nAnd the session, which lies in session/session.toml:\n  humdiff batch %q --out \"session-report\"\n",
		doc.Printable(page), doc.Printable(sitting), doc.Printable(passport), again(f.Near), again(f.Dead), told, f.Answer.Reference.Channel,
		filepath.ToSlash(filepath.Join(filepath.Dir(f.Quiet), "session", "session.toml")))
}
