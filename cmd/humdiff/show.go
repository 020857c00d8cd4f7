package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/text"
	"humdiff/report/wire"
)

// showing is the flags that say how a result is printed.
type showing struct {
	format     choice
	levels     choice
	full       bool
	noProgress bool
}

// addForms adds the flags of a command that prints in some forms.
func (s *showing) addForms(c *cobra.Command, forms ...string) {
	s.format = choice{forms[0], forms}
	c.Flags().Var(&s.format, "format", "how the result is printed")
	c.Flags().BoolVar(&s.full, "full", false, "print all, not the short form")
	c.Flags().BoolVar(&s.noProgress, "no-progress", false, "show no progress")
}

func (s *showing) add(c *cobra.Command) {
	s.addForms(c, "text", "markdown", "html", "bbcode", "csv", "json")
	s.levels = choice{"auto", []string{"auto", "dBFS", "dBV", "dBu", "volts"}}
	c.Flags().Var(&s.levels, "levels", "unit of levels; auto is dBFS, or dBV for a pair on two scales")
}

// unit is what levels are printed in, of a result with these settings.
func (s showing) unit(set model.Settings) doc.Unit {
	if s.levels.value == "auto" || s.levels.value == "" {
		return doc.UnitFor(set)
	}
	return doc.Unit(s.levels.value)
}

// scaled reads a request's scales, and refuses levels in volts without one before
// anything is measured.
func (s showing) scaled(ctx context.Context, r report.Request) (report.Request, error) {
	r, err := r.Scaled(ctx)
	if err != nil || r.Settings.Volts() || s.levels.value == "auto" || s.levels.value == "" || s.levels.value == string(doc.InDBFS) {
		return r, err
	}
	return r, misusedf("give the input's full scale, e.g. --full-scale 2.0V, or a --calibration", "--levels %s needs a voltage scale", s.levels.value)
}

// show prints a result. What CSV can't hold, its warnings, go to standard error.
func (s showing) show(out screen, r wire.Result) error {
	said, err := s.form(r, out.width)
	if err != nil {
		return err
	}
	if _, err := io.WriteString(out.stdout, said); err != nil {
		return err
	}
	if s.format.value == "csv" {
		for _, w := range doc.WarningList(wire.WarningsOf(r)).Items {
			fmt.Fprintln(out.stderr, text.Fold("warning: "+w, out.errWidth))
		}
	}
	return nil
}

// form is a result as it is printed.
func (s showing) form(r wire.Result, width int) (string, error) {
	switch s.format.value {
	case "json":
		numbers, err := wire.Write(r)
		return string(numbers), err
	case "csv":
		return string(wire.CSV(r)), nil
	}
	told := doc.Told(r, s.unit(wire.SettingsOf(r)))
	switch s.format.value {
	case "markdown":
		return text.Markdown(told), nil
	case "html":
		return text.HTML(told), nil
	case "bbcode":
		return text.BBCode(told), nil
	}
	if s.full {
		return text.Full(told, width), nil
	}
	return text.Short(told, width), nil
}
