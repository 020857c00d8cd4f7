package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/fft/mains"
	"humdiff/report/assemble"
	"humdiff/report/gather"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

// harmonics is a flag that lists harmonics, such as 1,2,3.
type harmonics []int

const (
	mostHarmonics   = 20
	highestHarmonic = highestUpTo / 50
)

func (h *harmonics) Type() string { return "H,H,..." }

func (h *harmonics) String() string {
	var parts []string
	for _, n := range *h {
		parts = append(parts, strconv.Itoa(n))
	}
	return strings.Join(parts, ",")
}

func (h *harmonics) Set(s string) error {
	var all harmonics
	for part := range strings.SplitSeq(s, ",") {
		n, err := strconv.ParseUint(strings.TrimSpace(part), 10, 16)
		if err != nil || n == 0 || n > highestHarmonic || slices.Contains(all, int(n)) {
			return errors.New("list harmonics, each once, such as 1,2,3")
		}
		all = append(all, int(n))
	}
	if len(all) > mostHarmonics {
		return fmt.Errorf("that are more than %d", mostHarmonics)
	}
	*h = all
	return nil
}

// trending is the flags of trend.
type trending struct {
	measuring
	showing
	lines harmonics
	out   string
	force bool
}

func trendCommand(s screen) *cobra.Command {
	f := trending{}
	c := &cobra.Command{
		Use:   "trend CAPTURE",
		Short: "Hum against time, and where it stands still",
		Long: `trend follows hum through a capture in steps of 10 cycles of a 50 Hz mains or
12 of a 60 Hz one, 200 ms: for a survey in which the lead is moved while
recording. It finds the spans in which the hum stands still and prints their
addresses, ready for compare. Work near mains can kill: move only an intact,
certified lead, its free end touch-proof.`,
		Example: `  humdiff trend "survey.wav"
  humdiff trend "survey.wav#t=10,&ch=1" --lines 1,2,3 --out "survey"
  humdiff trend "survey.wav" --format csv`,
		Args:    takes(1, 1, `humdiff trend "CAPTURE"`),
		PreRunE: noEmptyFlags,
		RunE:    func(c *cobra.Command, args []string) error { return f.run(c.Context(), s, args[0]) },
	}
	f.measuring.add(c)
	f.measuring.upTo = frequency(mains.TrendUpTo)
	c.Flags().Lookup("up-to").DefValue = f.measuring.upTo.String()
	f.showing.add(c)
	c.Flags().Var(&f.lines, "lines", "follow these harmonics each by itself, such as 1,2,3")
	c.Flags().StringVar(&f.out, "out", "", "write figure, tables and numbers into the folder `DIR`")
	c.Flags().BoolVar(&f.force, "force", false, "let --out write beside other files; it replaces none of them")
	return c
}

func (f trending) run(ctx context.Context, s screen, arg string) error {
	if f.force && f.out == "" {
		return misusedf("name the folder with --out", "--force without --out has nothing to write")
	}
	addr, err := f.address(arg)
	if err != nil {
		return err
	}
	if f.out != "" {
		if err := publish.Check(f.out, f.force, gather.TrendNames...); err != nil {
			return offerForce(err)
		}
	}
	scale, err := f.scale(ctx)
	if err != nil {
		return err
	}
	opt := f.options()
	settings := assemble.Settings(opt, scale)
	if err := f.checkLevels(settings.Volts()); err != nil {
		return err
	}
	report, end := progress(s.stderr, !f.noProgress)
	opt.Progress = report
	followed, err := assemble.Follow(ctx, addr, opt, f.lines)
	end()
	if err != nil {
		return err
	}
	r := assemble.Trend(version(), settings, followed, f.lines)
	u := f.unit(settings)
	return errors.Join(f.show(s, f.view(r, u)), f.write(ctx, s, r, u))
}

// view is the spans, or as CSV every step.
func (f trending) view(r result.Trend, u table.Unit) view {
	said := r
	said.Warnings = slices.DeleteFunc(slices.Clone(r.Warnings), inSentences)
	return view{
		result: r, sentences: words.Trend(r), warnings: r.Warnings,
		table: asIs(table.Trend(said, u)),
		csv:   func() string { return table.TrendSteps(r).CSV() },
	}
}

func (f trending) write(ctx context.Context, s screen, r result.Trend, u table.Unit) error {
	if f.out == "" {
		return nil
	}
	files, err := gather.Trend(r, u)
	if err != nil {
		return err
	}
	if err := publish.Write(ctx, f.out, f.force, files); err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.stderr, "Figure, tables and numbers are in %s\n", words.File(filepath.Clean(f.out)))
	return err
}
