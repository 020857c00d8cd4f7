package main

import (
	"context"

	"github.com/spf13/cobra"

	"humdiff/fft/capture"
	"humdiff/report/assemble"
)

func measureCommand(s screen) *cobra.Command {
	var m measuring
	var p showing
	c := &cobra.Command{
		Use:   "measure CAPTURE...",
		Short: "Mains, hum lines, floor and noise of each capture",
		Example: `  humdiff measure "quiet.wav" "near.wav"
  humdiff measure "take.wav#t=90,150&ch=2" --mains 50 --format csv`,
		Args:    takes(1, -1, `humdiff measure "CAPTURE"`),
		PreRunE: noEmptyFlags,
		RunE:    func(c *cobra.Command, args []string) error { return measure(c.Context(), s, m, p, args) },
	}
	m.add(c)
	p.add(c)
	return c
}

func measure(ctx context.Context, s screen, m measuring, p showing, args []string) error {
	var captures []capture.Address
	for _, arg := range args {
		addr, err := m.address(arg)
		if err != nil {
			return err
		}
		captures = append(captures, addr)
	}
	scale, err := m.scale(ctx)
	if err != nil {
		return err
	}
	opt := m.options()
	settings := assemble.Settings(opt, scale)
	if err := p.checkLevels(settings.Volts()); err != nil {
		return err
	}
	report, end := progress(s.stderr, !p.noProgress)
	opt.Progress = report
	read := assemble.ReadMeasured
	if p.format.value == "csv" {
		read = assemble.ReadLines
	}
	measured, err := read(ctx, version(), settings, captures, opt)
	end()
	if err != nil {
		return err
	}
	return p.show(s, viewMeasure(measured, p.unit(settings)))
}
