package main

import (
	"context"
	"fmt"
	"math"
	"os"

	"github.com/spf13/cobra"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
)

func checkCommand(s screen) *cobra.Command {
	var p showing
	c := &cobra.Command{
		Use:   "check CAPTURE...",
		Short: "What each file is, and what is wrong with it",
		Long: `check says what each capture is, and what is wrong or odd with its samples. Of a
folder it checks every WAV and FLAC file, in the folders below too. It ends with 1
if a file can't be used.`,
		Example: `  humdiff check "quiet.wav" "near.wav"
  humdiff check "recordings" --format csv`,
		Args: takes(1, -1, "capture", `humdiff check "CAPTURE"`),
		RunE: func(c *cobra.Command, args []string) error { return check(c.Context(), s, p, args) },
	}
	p.addForms(c, "text", "markdown", "csv", "json")
	return c
}

func check(ctx context.Context, s screen, p showing, args []string) error {
	captures, unread, err := toCheck(args)
	if err != nil {
		return err
	}
	r := report.Request{Version: version()}
	checked, err := during(s, p.noProgress, &r, func() (model.Check, error) { return report.Check(ctx, r, captures, unread...) })
	if err != nil {
		return err
	}
	if err := p.show(s, &checked); err != nil {
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

// notUsable names the files that can't be used, in an error of their own each.
func notUsable(s screen, r model.Check) error {
	bad := 0
	for _, f := range r.Files {
		if f.Problem.What != "" {
			complain(s.stderr, &fault.Error{File: f.File, What: f.Problem.What, Hint: f.Problem.Hint})
			bad++
		}
	}
	if bad == 0 {
		return nil
	}
	return fmt.Errorf("%d of %s can't be used", bad, doc.Count(len(r.Files), "file"))
}
