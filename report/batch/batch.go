// Package batch takes in a session and gives it out with what was measured in
// its runs: several are measured at a time, each is kept as soon as it is
// measured, so that what was measured before is not measured again. How a capture
// is measured it is handed; it judges nothing. It holds no more of a run than its
// lines: spectra are read again from the store when they are wanted.
package batch

import (
	"context"
	"errors"
	"runtime"
	"strings"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/report/internal/tally"
	"humdiff/report/model"
	"humdiff/report/session"
)

// Measurer measures the capture at an address: the channel that it names, or all
// that carry a signal. The result's settings have no scale; levels are in dBFS.
type Measurer func(ctx context.Context, at capture.Address, how How) (*model.Measure, error)

// How is what a run has of its own.
type How struct {
	Around    float64 // mains frequency to seek lines at where the capture shows none; 0: none
	Reference int     // channel that records the field; 0: none
	Progress  func(done, total int64)
}

// Batch is a session to be measured.
type Batch struct {
	File     session.File
	Settings model.Settings // how Measurer measures, without scale
	Measurer Measurer
	Store    Store
	Workers  int                                  // 0: as many as there are processors
	Progress func(done, total int64, what string) // frames; nil: nobody asks
	runs     []outcome
}

// outcome is what became of a run.
type outcome struct {
	cable, idle *model.Capture
	err         error
	key         key  // of the measurement kept; unused of one made elsewhere
	kept        bool // it lies in the store
	warnings    []model.Warning
}

// Measure measures every run. Those left out are measured too where they can be,
// so that it can be said what would follow with them. What else can't be measured
// is a failure and doesn't stop the rest; the error is ctx's, or the store's, or
// that two runs are one recording. Where the mains isn't found in a run, lines are
// sought around the frequency of the nearest run in the list that shows it.
func (b *Batch) Measure(ctx context.Context) error {
	b.runs = make([]outcome, len(b.File.Sitting.Runs))
	if err := b.each(ctx, "", func(int) (float64, bool) { return 0, true }); err != nil {
		return err
	}
	if err := b.each(ctx, "once more, ", b.around); err != nil {
		return err
	}
	if err := b.oneRecording(); err != nil {
		return err
	}
	return b.copies(ctx)
}

// each measures the runs for which around says so, around the frequency it says;
// doing stands before a run's name where progress is told.
func (b *Batch) each(ctx context.Context, doing string, around func(run int) (hz float64, wanted bool)) error {
	workers := b.Workers
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	work, ctx := errgroup.WithContext(ctx)
	work.SetLimit(workers)
	t := &tally.Tally{Report: b.Progress}
	type job struct {
		run  int
		hz   float64
		part *tally.Share
	}
	var jobs []job
	for i, r := range b.File.Sitting.Runs {
		if hz, wanted := around(i); wanted {
			jobs = append(jobs, job{i, hz, t.Share(b.frames(r), strings.TrimSpace(doing+session.Name(r)))})
		}
	}
	for _, j := range jobs {
		work.Go(func() error {
			got, err := b.run(ctx, b.File.Sitting.Runs[j.run], j.hz, j.part)
			j.part.End()
			if ctx.Err() != nil {
				return ctx.Err()
			}
			var fatal storeError
			if errors.As(err, &fatal) {
				return fatal.error
			}
			got.err = err
			b.runs[j.run] = got
			return nil
		})
	}
	return work.Wait()
}

// frames is how long a run's capture is; 0 where that isn't known.
func (b *Batch) frames(r model.Run) int64 {
	f, err := b.open(r)
	if err != nil {
		return 0
	}
	return f.Frames()
}

func (b *Batch) open(r model.Run) (*capture.File, error) {
	if r.Measured != "" {
		return nil, errors.New("it was measured elsewhere")
	}
	at, err := Address(b.File, r)
	if err != nil {
		return nil, err
	}
	return capture.Open(at)
}

// Address is where the capture of a session's run is. With an idle channel every
// channel is measured.
func Address(f session.File, r model.Run) (capture.Address, error) {
	at, err := f.Capture(r)
	if f.Sitting.Idle > 0 {
		at.Channel = 0
	}
	return at, err
}

// around is the mains of the nearest run that shows it, for a run that doesn't.
func (b *Batch) around(i int) (hz float64, wanted bool) {
	if !b.runs[i].kept {
		return 0, false
	}
	return Around(len(b.runs), i, func(run int) *model.Capture { return b.runs[run].cable })
}

// Around is the mains of the nearest of n runs that shows it, for a run that
// doesn't; wanted is false where there is none, or no need. of gives a run's
// capture, nil where it wasn't measured; runs count from 0 here.
func Around(n, run int, of func(run int) *model.Capture) (hz float64, wanted bool) {
	if c := of(run); c == nil || c.Mains.Detected || c.Health.Silent {
		return 0, false
	}
	for d := 1; d < n; d++ {
		for _, j := range []int{run - d, run + d} {
			if j < 0 || j >= n {
				continue
			}
			if c := of(j); c != nil && c.Mains.Detected {
				return float64(c.Mains.Hz), true
			}
		}
	}
	return 0, false
}
