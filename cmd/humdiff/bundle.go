package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"humdiff/report/doc"
	"humdiff/report/publish"
	"humdiff/report/verify"
)

// bundling is the flags of bundle.
type bundling struct {
	captures   []string
	out        string
	hashesOnly bool
	force      bool
}

func bundleCommand(s screen) *cobra.Command {
	var f bundling
	c := &cobra.Command{
		Use:   "bundle REPORT",
		Short: "Pack a report and its captures into one archive, for a reader to verify",
		Long: `bundle packs a report's folder, the captures it was made from and a list of
their hashes into one zip archive. Who gets it runs humdiff verify on it.`,
		Example: `  humdiff bundle "hum-report"
  humdiff bundle "hum-report" --hashes-only --out "to-publish.zip"`,
		Args: takes(1, 1, "report", `humdiff bundle "REPORT"`),
		RunE: func(c *cobra.Command, args []string) error { return f.run(c.Context(), s, args[0]) },
	}
	c.Flags().StringArrayVar(&f.captures, "captures", nil, "look for the captures in the folder `DIR` too, under any name")
	c.Flags().StringVar(&f.out, "out", "", "write the archive to `FILE` (default: the folder's name with .zip)")
	c.Flags().BoolVar(&f.hashesOnly, "hashes-only", false, "leave the captures out: name them by their hashes alone")
	c.Flags().BoolVar(&f.force, "force", false, "replace FILE if it is there")
	return c
}

func (f bundling) run(ctx context.Context, s screen, dir string) error {
	out := f.out
	if out == "" {
		out = filepath.Clean(dir) + ".zip"
	}
	err := publish.Stream(ctx, out, f.force, func(w io.Writer) error {
		_, err := publish.Pack(ctx, w, dir, publish.Packing{IsReport: verify.Remakes, Version: version(), Captures: f.captures, HashesOnly: f.hashesOnly})
		return err
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.stderr, "The bundle is %s\n", doc.Printable(out))
	return err
}
