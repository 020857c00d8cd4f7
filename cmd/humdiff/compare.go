package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/assemble"
	"humdiff/report/audibility"
	"humdiff/report/gather"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/words"
)

// comparing is the flags of compare.
type comparing struct {
	measuring
	showing
	sides
	playing
	quietSpan, nearSpan string
	residual            string
	out                 string
	force               bool
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
		Args:    takes(2, 2, `humdiff compare "QUIET" "NEAR"`),
		PreRunE: noEmptyFlags,
		RunE:    func(c *cobra.Command, args []string) error { return f.run(c.Context(), s, args[0], args[1]) },
	}
	f.measuring.add(c)
	f.showing.add(c)
	f.sides.add(c)
	f.playing.add(c)
	c.Flags().StringVar(&f.quietSpan, "quiet-span", "", "the part of QUIET to read, as `START:END` in seconds")
	c.Flags().StringVar(&f.nearSpan, "near-span", "", "the part of NEAR to read, as `START:END` in seconds")
	c.Flags().StringVar(&f.residual, "residual", "", "a `CAPTURE` with the input shorted at its connector: what the instrument adds by itself")
	c.Flags().StringVar(&f.out, "out", "", "write a report into the folder `DIR`: a page, figures, tables and the numbers")
	c.Flags().BoolVar(&f.force, "force", false, "let --out write beside other files; it replaces none of them")
	return c
}

func (f comparing) run(ctx context.Context, s screen, quietArg, nearArg string) error {
	if f.force && f.out == "" {
		return misusedf("name the folder with --out", "--force without --out has nothing to write")
	}
	quiet, near, err := f.addresses(quietArg, nearArg)
	if err != nil {
		return err
	}
	var residual *capture.Address
	if f.residual != "" {
		addr, err := f.address(f.residual)
		if err != nil {
			return err
		}
		residual = &addr
	}
	playback, err := f.playback()
	if err != nil {
		return err
	}
	if f.out != "" {
		if err := publish.Check(f.out, f.force, gather.CompareNames...); err != nil {
			return offerForce(err)
		}
	}
	r, err := f.compare(ctx, s, quiet, near, residual)
	if err != nil {
		return err
	}
	audibility.Judge(&r, playback)
	// A report that can't be written doesn't take the result with it.
	return errors.Join(f.show(s, viewCompare(r, f.unit(r.Settings))), f.report(ctx, s, r))
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

// report writes the report that --out asks for, and says where it is.
func (f comparing) report(ctx context.Context, s screen, r result.Compare) error {
	if f.out == "" {
		return nil
	}
	page, err := f.publish(ctx, r)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.stderr, "The report is in %s\n", words.File(page))
	return err
}

// publish writes the report into the folder out and names its page.
func (f comparing) publish(ctx context.Context, r result.Compare) (page string, err error) {
	files, err := gather.Compare(r)
	if err != nil {
		return "", err
	}
	return filepath.Join(f.out, "report.html"), publish.Write(ctx, f.out, f.force, files)
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

// compare measures the pair, and the residual where there is one.
func (f comparing) compare(ctx context.Context, s screen, quiet, near capture.Address, residual *capture.Address) (result.Compare, error) {
	scales, err := f.scales(ctx)
	if err != nil {
		return result.Compare{}, err
	}
	settings := assemble.Settings(f.options(), scales...)
	if err := f.checkLevels(settings.Volts()); err != nil {
		return result.Compare{}, err
	}
	opt := f.options()
	report, end := progress(s.stderr, !f.noProgress)
	opt.Progress = report
	pairs, err := assemble.ReadPair(ctx, quiet, near, opt)
	if err == nil && residual != nil {
		err = assemble.ReadResidual(ctx, *residual, pairs, opt)
	}
	end()
	if err != nil {
		return result.Compare{}, err
	}
	return assemble.Compare(version(), settings, pairs), nil
}
