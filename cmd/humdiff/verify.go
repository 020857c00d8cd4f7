package main

import (
	"context"
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/verify"
)

// verifying is the flags of verify.
type verifying struct {
	showing
	captures []string
}

func verifyCommand(s screen) *cobra.Command {
	var f verifying
	c := &cobra.Command{
		Use:   "verify REPORT",
		Short: "Recompute a report from its captures, and say whether it stands",
		Long: `REPORT is a report's JSON file, its folder, or a bundle. verify finds its captures
by their content, measures them again with transforms that share no code with the
first, and compares every value. Page, tables and figures are made again and compared
to the byte, if this version made them. It ends with 1 unless the report stands.`,
		Example: `  humdiff verify "hum-report/compare.json"
  humdiff verify "compare.json" --captures "downloads"
  humdiff verify "hum-report.zip"`,
		Args: takes(1, 1, "report", `humdiff verify "REPORT"`),
		RunE: func(c *cobra.Command, args []string) error { return f.run(c.Context(), s, args[0]) },
	}
	c.Flags().StringArrayVar(&f.captures, "captures", nil, "look for the captures in the folder `DIR` too, under any name")
	f.format, f.full = choice{"text", []string{"text", "markdown", "json"}}, true
	c.Flags().Var(&f.format, "format", "how the result is printed")
	c.Flags().BoolVar(&f.noProgress, "no-progress", false, "show no progress")
	return c
}

// errDoesNotStand ends the command where all that is to be said was printed.
var errDoesNotStand = errors.New("the report was not shown to stand")

func (f verifying) run(ctx context.Context, s screen, path string) error {
	if publish.IsBundle(path) {
		if err := unpacks(s, path); err != nil {
			return err
		}
	}
	shown, end := progress(s.stderr, !f.noProgress)
	all, err := verify.Path(ctx, version(), path, f.captures, shown)
	end()
	if err != nil {
		return err
	}
	stands := true
	for _, v := range all {
		if err := f.show(s, &v); err != nil {
			return err
		}
		stands = stands && v.Verdict == model.Stands
	}
	if !stands {
		return errDoesNotStand
	}
	return nil
}

// saidFrom is from which size on, bytes, it is said what a bundle unpacks to.
const saidFrom = 100e6

// unpacks says of a large bundle where it is unpacked.
func unpacks(s screen, path string) error {
	b, err := publish.OpenBundle(path)
	if err != nil {
		return err
	}
	defer b.Close()
	if b.Bytes > saidFrom {
		fmt.Fprintf(s.stderr, "%s is unpacked into %s while it is verified.\n", publish.SizeSaid(b.Bytes), doc.Printable(os.TempDir()))
	}
	return nil
}
