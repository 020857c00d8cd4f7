package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"

	"github.com/spf13/cobra"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/report/assemble"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

func checkCommand(s screen) *cobra.Command {
	p := showing{format: choice{"text", []string{"text", "markdown", "csv", "json"}}}
	c := &cobra.Command{
		Use:   "check CAPTURE...",
		Short: "What each file is, and what is wrong with it",
		Long: `check says of each capture how its samples are written, what its metadata says,
how long it is, and whether its samples are healthy. Of a folder it checks
every WAV and FLAC file in it and in the folders below, sorted by name; hidden
ones are left out. A file that can't be used doesn't stop the others, but the
command then ends with 1.`,
		Example: `  humdiff check "quiet.wav" "near.wav"
  humdiff check "recordings" --format csv`,
		Args:    takes(1, -1, `humdiff check "CAPTURE"`),
		PreRunE: noEmptyFlags,
		RunE:    func(c *cobra.Command, args []string) error { return check(c.Context(), s, p, args) },
	}
	c.Flags().Var(&p.format, "format", "how the result is printed")
	c.Flags().BoolVar(&p.noProgress, "no-progress", false, "show no progress")
	return c
}

func check(ctx context.Context, s screen, p showing, args []string) error {
	captures, unread, err := toCheck(args)
	if err != nil {
		return err
	}
	report, end := progress(s.stderr, !p.noProgress)
	checked, err := assemble.Check(ctx, captures, mains.Options{Progress: report})
	end()
	if err != nil {
		return err
	}
	for _, err := range unread {
		checked = append(checked, assemble.Checked{Path: fileOf(err), Err: err})
	}
	r := assemble.CheckResult(version(), checked)
	if err := p.show(s, viewCheck(r)); err != nil {
		return err
	}
	return notUsable(s, checked)
}

// toCheck is the captures that the words name, and the folders among them that
// can't be read.
func toCheck(args []string) (captures []capture.Address, unread []error, err error) {
	for _, arg := range args {
		if st, err := os.Stat(arg); err == nil && st.IsDir() {
			paths, faults := capture.Folder(arg)
			if len(paths)+len(faults) == 0 {
				faults = append(faults, &fault.Error{File: arg, What: "no WAV or FLAC file is in this folder", Hint: "name a folder that holds captures, or a capture"})
			}
			for _, path := range paths {
				captures = append(captures, capture.Address{Path: path, End: math.Inf(1)})
			}
			unread = append(unread, faults...)
			continue
		}
		addr, err := capture.ParseAddress(arg)
		if err != nil {
			return nil, nil, misused(err)
		}
		captures = append(captures, addr)
	}
	return captures, unread, nil
}

// fileOf is the file an error names.
func fileOf(err error) string {
	var e *fault.Error
	if errors.As(err, &e) {
		return e.File
	}
	return ""
}

func viewCheck(r result.Check) view {
	return view{result: r, sentences: words.Check(r), table: asIs(table.Check(r)), warnings: r.Warnings}
}

// notUsable names the files that can't be used, in an error of their own each.
func notUsable(s screen, checked []assemble.Checked) error {
	bad := 0
	for _, c := range checked {
		if c.Err != nil {
			complain(s.stderr, c.Err)
			bad++
		}
	}
	if bad == 0 {
		return nil
	}
	return fmt.Errorf("%d of %s can't be used", bad, words.Count(len(checked), "file"))
}
