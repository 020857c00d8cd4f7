package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/fft/mains"
	"humdiff/report"
	"humdiff/report/model"
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
	writing
}

func trendCommand(s screen) *cobra.Command {
	f := trending{}
	c := &cobra.Command{
		Use:   "trend CAPTURE",
		Short: "Hum against time, and where it is steady",
		Long: `trend follows hum through a capture in steps of 200 ms: for a survey in which the
lead is moved while recording. It prints where hum is steady, as addresses for
compare; with --reference also what came since the first of them. Work near mains can
kill: move only an intact, certified lead, its free end touch-proof.`,
		Example: `  humdiff trend "survey.wav"
  humdiff trend "survey.wav#t=10,&ch=1" --lines 1,2,3 --out "survey"
  humdiff trend "survey.wav" --reference ch=2
  humdiff trend "survey.wav" --format csv`,
		Args: takes(1, 1, "capture", `humdiff trend "CAPTURE"`),
		RunE: func(c *cobra.Command, args []string) error { return f.run(c.Context(), s, args[0]) },
	}
	f.measuring.add(c)
	f.measuring.upTo = frequency(mains.TrendUpTo)
	c.Flags().Lookup("up-to").DefValue = f.measuring.upTo.String()
	f.showing.add(c)
	f.measuring.addReference(c)
	c.Flags().Var(&f.lines, "lines", "follow these harmonics each by itself, such as 1,2,3")
	f.writing.add(c, "page, figures, tables and numbers")
	return c
}

func (f trending) run(ctx context.Context, s screen, arg string) error {
	addr, err := f.address(arg)
	if err != nil {
		return err
	}
	if err := f.check(report.TrendNames...); err != nil {
		return err
	}
	r, err := f.scaled(ctx, f.request())
	if err != nil {
		return err
	}
	followed, err := during(s, f.noProgress, &r, func() (model.Trend, error) { return report.Trend(ctx, r, addr, f.lines) })
	if err != nil {
		return err
	}
	shown := f.show(s, &followed)
	seen, err := seenFrom(f.writing, &followed) // addresses on the screen are for the next command
	if err != nil {
		return err
	}
	return errors.Join(shown, f.all(ctx, s, seen))
}
