package session

import (
	"context"
	"math"
	"path/filepath"
	"runtime"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/fft/likeness"
	"humdiff/report/model"
)

// leaveCopiesOut names in the list which run is one recording with one before it: its
// file saved again, trimmed, softer or in another format. It reads every file once. Of
// what can't be read, and where a file has several channels by any but the first that
// sounds, nothing is told. The error is ctx's.
func (f *File) leaveCopiesOut(ctx context.Context) error {
	runs := f.Sitting.Runs
	found, err := f.Copies(ctx, runs)
	if err != nil {
		return ctx.Err() // of what changes while it is read, a batch will tell
	}
	for _, c := range found {
		runs[c.At].LeftOut = "one recording with " + filepath.Base(runs[c.Of].Address)
	}
	return nil
}

// Copies are the runs that are surely one recording with one before them, by their places.
func (f File) Copies(ctx context.Context, runs []model.Run) (found []likeness.Copy, err error) {
	read := make([]*likeness.Side, len(runs))
	var work errgroup.Group
	work.SetLimit(runtime.GOMAXPROCS(0))
	for i, r := range runs {
		work.Go(func() error {
			if at, err := f.Capture(r); err == nil && r.LeftOut == "" {
				read[i] = sounding(ctx, at)
			}
			return ctx.Err()
		})
	}
	if err := work.Wait(); err != nil {
		return nil, err
	}
	var list []likeness.Side
	var of []int
	for i, side := range read {
		if side != nil {
			list, of = append(list, *side), append(of, i)
		}
	}
	all, err := likeness.Copies(ctx, list, func(int, int) bool { return false })
	for _, c := range all {
		if c.Of, c.At = of[c.Of], of[c.At]; c.Verdict == likeness.Same {
			found = append(found, c)
		}
	}
	return found, err
}

// sounding is the first channel of a capture that isn't silent, which is read for it;
// nil where there is none.
func sounding(ctx context.Context, at capture.Address) *likeness.Side {
	file, err := capture.Open(at)
	if err != nil {
		return nil
	}
	marks, err := likeness.Read(ctx, file)
	if err != nil {
		return nil
	}
	for i, m := range marks {
		if m.Silent {
			continue
		}
		only, err := file.Only(file.Info().FirstChannel + i)
		if err != nil {
			return nil
		}
		return &likeness.Side{Source: only, Mark: m, StartS: math.Max(at.Start, 0)}
	}
	return nil
}
