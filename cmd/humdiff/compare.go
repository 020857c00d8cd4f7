package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"humdiff/fft/capture"
	"humdiff/report"
	"humdiff/report/model"
)

// comparing is the flags of compare.
type comparing struct {
	measuring
	showing
	sides
	playing
	quietSpan, nearSpan string
	residual            string
	writing
}

func compareCommand(s screen) *cobra.Command {
	var f comparing
	c := &cobra.Command{
		Use:   "compare QUIET NEAR",
		Short: "The delta of hum between a quiet capture and one with the lead near",
		Example: `  humdiff compare "quiet.wav" "near.wav"
  humdiff compare "take.wav" "take.wav" --quiet-span 0:60 --near-span 90:150
  humdiff compare "quiet.wav#ch=2" "near.wav#ch=2" --full-scale 2.0V --gain 40dB
  humdiff compare "quiet.wav" "near.wav" --calibration "before.wav=1.0V ±0.5%" --calibration "after.wav=1.0V ±0.5%"
  humdiff compare "quiet.wav" "near.wav" --full-scale 2.0V --quiet-gain 60dB --near-gain 40dB
  humdiff compare "quiet.wav" "near.wav" --residual "shorted.wav" --out "hum-report"`,
		Args: takes(2, 2, "capture", `humdiff compare "QUIET" "NEAR"`),
		RunE: func(c *cobra.Command, args []string) error {
			_, err := f.result(c.Context(), s, args[0], args[1])
			if f.out == "" && s.width > 0 && err == nil {
				fmt.Fprintln(s.stderr, hintOut)
			}
			return err
		},
	}
	f.measuring.add(c)
	f.addWeighting(c)
	f.showing.add(c)
	f.sides.add(c)
	f.playing.add(c)
	f.addReference(c)
	c.Flags().StringVar(&f.quietSpan, "quiet-span", "", "the part of QUIET to read, as `START:END` in seconds")
	c.Flags().StringVar(&f.nearSpan, "near-span", "", "the part of NEAR to read, as `START:END` in seconds")
	c.Flags().StringVar(&f.residual, "residual", "", "a `CAPTURE` with the input shorted, or terminated in the source's resistance")
	f.writing.add(c, "page, figures, tables and numbers")
	return c
}

// result compares two captures, and prints and writes what was asked for.
func (f comparing) result(ctx context.Context, s screen, quietArg, nearArg string) (compared model.Compare, err error) {
	c := report.Compared{}
	if c.Quiet, c.Near, err = f.addresses(quietArg, nearArg); err != nil {
		return compared, err
	}
	if f.residual != "" {
		residual, err := f.address(f.residual)
		if err != nil {
			return compared, err
		}
		c.Residual = &residual
	}
	if c.Playback, err = f.playback(); err != nil {
		return compared, err
	}
	if err := f.check(report.CompareNames...); err != nil {
		return compared, err
	}
	r, err := f.scaled(ctx, f.request())
	if err != nil {
		return compared, err
	}
	compared, err = during(s, f.noProgress, &r, func() (model.Compare, error) { return report.Compare(ctx, r, c) })
	if err != nil {
		return compared, err
	}
	seen, err := seenFrom(f.writing, &compared)
	if err != nil {
		return compared, err
	}
	// A report that can't be written doesn't take the result with it.
	return compared, errors.Join(f.show(s, seen), f.all(ctx, s, seen))
}

// hintOut is what a reader of a terminal is told, in one line of a narrow one.
const hintOut = "hint: --out DIR also writes a page, figures and tables"

// request is what the flags ask for.
func (f comparing) request() report.Request {
	r := f.measuring.request()
	r.Scaling.Quiet, r.Scaling.Near = f.quiet, f.near
	return r
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
