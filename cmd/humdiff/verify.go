package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/report/gather"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/verify"
	"humdiff/report/words"
)

// verifying is the flags of verify.
type verifying struct {
	captures   []string
	format     choice
	noProgress bool
}

func verifyCommand(s screen) *cobra.Command {
	f := verifying{format: choice{"text", []string{"text", "json"}}}
	c := &cobra.Command{
		Use:   "verify REPORT",
		Short: "Recompute a report from its captures, and say whether it stands",
		Long: `REPORT is a report's JSON file, its folder, or a bundle. verify finds the
captures that it names, by their content, measures them again with transforms
that share no code with those that made it, and compares every value. Then it
makes the page, tables and figures again from these values and compares what
lies beside the report to the byte, if this version made it. It ends with 1
unless the report stands.`,
		Example: `  humdiff verify "hum-report/compare.json"
  humdiff verify "compare.json" --captures "downloads"
  humdiff verify "hum-report.zip"`,
		Args:    takesOneReport,
		PreRunE: noEmptyFlags,
		RunE:    func(c *cobra.Command, args []string) error { return f.run(c.Context(), s, args[0]) },
	}
	c.Flags().StringArrayVar(&f.captures, "captures", nil, "look for the captures in the folder `DIR` too, under any name")
	c.Flags().Var(&f.format, "format", "how the result is printed")
	c.Flags().BoolVar(&f.noProgress, "no-progress", false, "show no progress")
	return c
}

func takesOneReport(_ *cobra.Command, args []string) error {
	if len(args) == 1 {
		return nil
	}
	return misusedf(`write humdiff verify "REPORT"`, "verify was given %s", words.Count(len(args), "report"))
}

// errDoesNotStand ends the command where all that is to be said was printed.
var errDoesNotStand = errors.New("the report was not shown to stand")

func (f verifying) run(ctx context.Context, s screen, path string) error {
	report, end := progress(s.stderr, !f.noProgress)
	all, err := f.verify(ctx, s, path, report)
	end()
	if err != nil {
		return err
	}
	stands := true
	for _, v := range all {
		if err := f.show(s, v); err != nil {
			return err
		}
		stands = stands && v.Verdict == result.Stands
	}
	if !stands {
		return errDoesNotStand
	}
	return nil
}

// saidFrom is from which size on, bytes, it is said what a bundle unpacks to.
const saidFrom = 100e6

// verify recomputes what a path names: every report of a folder or a bundle.
func (f verifying) verify(ctx context.Context, s screen, path string, progress func(done, total int64)) (all []result.Verification, err error) {
	if publish.IsBundle(path) {
		b, err := publish.OpenBundle(path)
		if err != nil {
			return nil, err
		}
		defer b.Close()
		if b.Bytes > saidFrom {
			fmt.Fprintf(s.stderr, "%s is unpacked into %s while it is verified.\n", publish.SizeSaid(b.Bytes), words.File(os.TempDir()))
		}
		return verify.Bundle(ctx, version(), b, f.captures, progress)
	}
	reports, err := verify.Reports(path)
	for _, report := range reports {
		v, err := verify.Report(ctx, version(), report, f.captures, progress)
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, err
}

func (f verifying) show(s screen, v result.Verification) error {
	if f.format.value == "json" {
		data, err := gather.JSON(v)
		if err != nil {
			return err
		}
		_, err = s.stdout.Write(data)
		return err
	}
	_, err := io.WriteString(s.stdout, fold(strings.Join(words.Verify(v), "\n")+"\n", s.width))
	return err
}
