package main

import (
	"context"

	"github.com/spf13/cobra"

	"humdiff/fft/capture"
	"humdiff/report"
	"humdiff/report/model"
)

func measureCommand(s screen) *cobra.Command {
	var m measuring
	var p showing
	c := &cobra.Command{
		Use:   "measure CAPTURE...",
		Short: "Mains, hum lines, floor and noise of each capture",
		Example: `  humdiff measure "quiet.wav" "near.wav"
  humdiff measure "take.wav#t=90,150&ch=2" --mains 50 --format csv`,
		Args: takes(1, -1, "capture", `humdiff measure "CAPTURE"`),
		RunE: func(c *cobra.Command, args []string) error { return measure(c.Context(), s, m, p, args) },
	}
	m.add(c)
	m.addWeighting(c)
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
	r, err := p.scaled(ctx, m.request())
	if err != nil {
		return err
	}
	r.LinesOnly = p.format.value == "csv"
	measured, err := during(s, p.noProgress, &r, func() (model.Measure, error) { return report.Measure(ctx, r, captures) })
	if err != nil {
		return err
	}
	return p.show(s, &measured)
}
