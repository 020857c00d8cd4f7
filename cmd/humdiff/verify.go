package main

import (
	"context"
	"errors"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/verify"
	"humdiff/report/words"
)

// verifying is the flags of verify.
type verifying struct {
	captures   string
	format     choice
	noProgress bool
}

func verifyCommand(s screen) *cobra.Command {
	f := verifying{format: choice{"text", []string{"text", "json"}}}
	c := &cobra.Command{
		Use:   "verify REPORT.json",
		Short: "Recompute a report from its captures, and say whether it stands",
		Long: `verify finds the captures that a report names, by their content, measures them
again with transforms that share no code with those that made the report, and
compares every value. It ends with 1 unless the report stands.`,
		Example: `  humdiff verify "hum-report/compare.json"
  humdiff verify "compare.json" --captures "downloads"`,
		Args:    takesOneReport,
		PreRunE: noEmptyFlags,
		RunE:    func(c *cobra.Command, args []string) error { return f.run(c.Context(), s, args[0]) },
	}
	c.Flags().StringVar(&f.captures, "captures", "", "look for the captures in the folder `DIR` too, under any name")
	c.Flags().Var(&f.format, "format", "how the result is printed")
	c.Flags().BoolVar(&f.noProgress, "no-progress", false, "show no progress")
	return c
}

func takesOneReport(_ *cobra.Command, args []string) error {
	if len(args) == 1 {
		return nil
	}
	return misusedf(`write humdiff verify "REPORT.json"`, "verify was given %s", words.Count(len(args), "report"))
}

// errDoesNotStand ends the command where all that is to be said was printed.
var errDoesNotStand = errors.New("the report was not shown to stand")

func (f verifying) run(ctx context.Context, s screen, path string) error {
	report, end := progress(s.stderr, !f.noProgress)
	v, err := verify.Report(ctx, version(), path, f.captures, report)
	end()
	if err != nil {
		return err
	}
	if err := f.show(s, v); err != nil {
		return err
	}
	if v.Verdict != result.Stands {
		return errDoesNotStand
	}
	return nil
}

func (f verifying) show(s screen, v result.Verification) error {
	if f.format.value == "json" {
		data, err := publish.JSON(v)
		if err != nil {
			return err
		}
		_, err = s.stdout.Write(data)
		return err
	}
	_, err := io.WriteString(s.stdout, fold(strings.Join(words.Verify(v), "\n")+"\n", s.width))
	return err
}
