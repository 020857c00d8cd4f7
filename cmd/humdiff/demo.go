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
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/publish"
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

// demo writes the captures and has the commands themselves report on them, each result with
// its truth beside it.
func (f comparing) demo(ctx context.Context, s screen, dir string) error {
	f.out = filepath.Join(dir, "report")
	sitting := batching{measuring: f.measuring, showing: f.showing, writing: writing{out: filepath.Join(dir, "session-report")}, cache: filepath.Join(dir, "session", "measured")}
	passport := coupled{showing: f.showing, writing: writing{out: filepath.Join(dir, "passport")}}
	for _, w := range []writing{f.writing, sitting.writing, passport.writing} {
		if err := publish.Check(w.out, false); err != nil {
			return err
		}
	}
	files, err := demo.Write(ctx, dir)
	if err != nil {
		return err
	}
	fmt.Fprintln(s.stdout, text.Fold(made(files), s.width))
	f.FullScale, f.residual = strconv.FormatFloat(files.FullScaleVolts, 'g', -1, 64)+"V", address(files.Residual)
	r, err := f.result(ctx, s, address(files.Quiet), address(files.Near))
	if err != nil {
		return err
	}
	fmt.Fprintf(s.stdout, "\n%s\n", beside(files.Answer, r))
	told, err := demo.WriteSession(ctx, dir)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.stdout, "%s\n\n", text.Fold(told.Truth.Story, s.width))
	judged, err := sitting.result(ctx, s, told.File)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.stdout, "\n%s\n", truthOf(told.Truth, judged.Session))
	path, truth, err := demo.WriteDriven(ctx, dir)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.stdout, "%s\n\n", text.Fold(truth.Story, s.width))
	if err := passport.passport(ctx, s, path); err != nil {
		return err
	}
	said := fmt.Sprintf("\nIn truth it couples by %s and %s, in the middle placement, with a transfer impedance of %s.\n",
		doc.SI(model.Num(truth.Farads), "F"), doc.SI(model.Num(truth.Henries), "H"), doc.SI(model.Num(truth.TransferOhms), "Ω"))
	_, err = fmt.Fprintf(s.stdout, "%s\n%s", text.Fold(said, s.width), next(files))
	return err
}

// address is a file's, whatever its name holds.
func address(path string) string { return capture.Address{Path: path, End: math.Inf(1)}.String() }

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

// next says what to try.
func next(f demo.Files) string {
	folder := filepath.Dir(f.Quiet)
	again := func(quiet, near, more string) string {
		return fmt.Sprintf("  humdiff compare %q %q --full-scale %gV%s\n", filepath.ToSlash(quiet), filepath.ToSlash(near), f.FullScaleVolts, more)
	}
	of := f.Answer.Reference
	return "Try the same yourself, the lead unplugged, with a reference channel, and the session:\n" + again(f.Quiet, f.Near, "") + again(f.Quiet, f.Dead, "") +
		again(filepath.Join(folder, of.Quiet), filepath.Join(folder, of.Near), fmt.Sprintf(" --reference ch=%d", of.Channel)) +
		fmt.Sprintf("  humdiff batch %q --out \"session-report\"\n", filepath.ToSlash(filepath.Join(folder, "session", "session.toml")))
}
