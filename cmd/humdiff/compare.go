package main

import (
	"context"

	"github.com/spf13/cobra"

	"humdiff/fft/capture"
	"humdiff/report/assemble"
	"humdiff/report/result"
)

// comparing is the flags of compare.
type comparing struct {
	measuring
	showing
	quietSpan, nearSpan string
}

func compareCommand(s screen) *cobra.Command {
	var f comparing
	c := &cobra.Command{
		Use:   "compare QUIET NEAR",
		Short: "The delta of hum between a quiet capture and one with the lead near",
		Example: `  humdiff compare "quiet.wav" "near.wav"
  humdiff compare "take.wav" "take.wav" --quiet-span 0:60 --near-span 90:150
  humdiff compare "quiet.wav#ch=2" "near.wav#ch=2" --full-scale 2.0V --gain 40dB`,
		Args: takes(2, 2, `humdiff compare "QUIET" "NEAR"`),
		RunE: func(c *cobra.Command, args []string) error { return f.run(c.Context(), s, args[0], args[1]) },
	}
	f.measuring.add(c)
	f.showing.add(c)
	c.Flags().StringVar(&f.quietSpan, "quiet-span", "", "the part of QUIET to read, as `START:END` in seconds")
	c.Flags().StringVar(&f.nearSpan, "near-span", "", "the part of NEAR to read, as `START:END` in seconds")
	return c
}

func (f comparing) run(ctx context.Context, s screen, quietArg, nearArg string) error {
	quiet, near, err := f.addresses(quietArg, nearArg)
	if err != nil {
		return err
	}
	r, err := f.compare(ctx, s, quiet, near)
	if err != nil {
		return err
	}
	return f.show(s, viewCompare(r))
}

func (f comparing) addresses(quietArg, nearArg string) (quiet, near capture.Address, err error) {
	if quiet, err = f.address(quietArg); err != nil {
		return
	}
	if near, err = f.address(nearArg); err != nil {
		return
	}
	if quiet, err = within(quiet, "quiet-span", f.quietSpan); err != nil {
		return
	}
	near, err = within(near, "near-span", f.nearSpan)
	return
}

// compare measures the pair.
func (f comparing) compare(ctx context.Context, s screen, quiet, near capture.Address) (result.Compare, error) {
	scale, err := f.scale(ctx)
	if err != nil {
		return result.Compare{}, err
	}
	opt := f.options()
	report, end := progress(s.stderr, !f.noProgress)
	opt.Progress = report
	pairs, err := assemble.ReadPair(ctx, quiet, near, opt)
	end()
	if err != nil {
		return result.Compare{}, err
	}
	return assemble.Compare(version(), assemble.Settings(opt, scale), pairs), nil
}
