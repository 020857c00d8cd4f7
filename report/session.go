package report

import (
	"context"
	"fmt"
	"path/filepath"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/report/batch"
	"humdiff/report/judge"
	"humdiff/report/measure"
	"humdiff/report/model"
	"humdiff/report/session"
)

// Sitting is a session to be measured and judged.
type Sitting struct {
	File     session.File
	Cache    string                               // folder in which measurements are kept; empty: the user's
	Anew     bool                                 // none is taken from there, nor kept
	Key      string                               // file that tells which letter is which cable; empty: none
	Open     bool                                 // put names for letters, by Key; else Key's cables stay letters
	Progress func(done, total int64, what string) // frames; nil: nobody asks
}

// Judged is a session that was measured and judged.
type Judged struct {
	model.Session
	Failures []batch.Failure // runs that could not be measured
	batch    *batch.Batch
}

// Whole is a run's whole measurement, with its spectrum; runs count from 1.
func (j Judged) Whole(ctx context.Context) func(run int) (model.Capture, error) {
	return func(run int) (model.Capture, error) { return j.batch.Whole(ctx, run) }
}

// Session measures the runs of a session and judges it. Its bench says what volts
// stand on, and may say which mains it is.
func Session(ctx context.Context, r Request, s Sitting) (*Judged, error) {
	s.File = s.File.Short()
	bench := s.File.Sitting.Bench
	if bench.MainsHz.Ok() {
		if r.Nominal != 0 {
			return nil, wrong("leave --mains out", "the session says which mains it is: %g Hz", float64(bench.MainsHz))
		}
		r.Nominal = float64(bench.MainsHz)
	}
	scale, err := r.benchScale(ctx, s.File)
	if err != nil {
		return nil, err
	}
	var key batch.Key
	if s.Key != "" {
		if key, err = batch.LoadKey(s.Key, session.Cables(s.File.Sitting.Runs)); err != nil {
			return nil, err
		}
	}
	b, err := r.batch(s)
	if err != nil {
		return nil, err
	}
	if err := b.Measure(ctx); err != nil {
		return nil, err
	}
	out := model.Session{Head: r.head(model.SessionSchema), Settings: measure.Settings(r.Options, scale), File: filepath.Base(s.File.Path)}
	if out.Inputs, err = s.inputs(ctx); err != nil {
		return nil, err
	}
	out.Sitting, out.Warnings = b.Sitting(ctx)
	if len(out.Driven) > 0 {
		numbers, err := r.numbers(ctx, s.File)
		if err != nil {
			return nil, err
		}
		out.Passport, out.Warnings = &numbers, append(out.Warnings, judge.DriveWarnings(numbers.Runs)...)
	}
	if s.Key != "" {
		apply := key.Blind
		if s.Open { // only then may anybody see it
			apply = key.Open
			out.Inputs = append(out.Inputs, model.Input{File: filepath.Base(s.Key), SHA256: key.Hash})
		}
		var said model.Warning
		out, said = apply(out)
		out.Warnings = append(out.Warnings, said)
	}
	unmeasured, err := b.Unmeasured(ctx)
	if err != nil {
		return nil, err
	}
	out.Inputs = append(out.Inputs, unmeasured...)
	out, err = sealed(judge.Session(out))
	return &Judged{out, b.Failures(), b}, err
}

// inputs are the session file and the list of runs that it names.
func (s Sitting) inputs(ctx context.Context) (all []model.Input, err error) {
	names := []string{filepath.Base(s.File.Path)}
	if s.File.RunsFile != "" {
		names = append(names, s.File.RunsFile)
	}
	for _, name := range names {
		hash, err := capture.Hash(ctx, s.File.Locate(name))
		if err != nil {
			return nil, err
		}
		all = append(all, model.Input{File: name, SHA256: hash})
	}
	return all, nil
}

// benchScale is the scale that a session's bench states.
func (r Request) benchScale(ctx context.Context, f session.File) (measure.Scale, error) {
	tones, err := f.Tones()
	if err != nil {
		return measure.Scale{}, fault.In(f.Path, err)
	}
	if len(tones) == 0 {
		scale, err := measure.StatedScale(f.Sitting.Bench.FullScale, f.Sitting.Bench.Gain)
		return scale, fault.In(f.Path, err)
	}
	return measure.Calibrate(ctx, measure.Options{Options: mains.Options{Engine: r.Engine}}, tones...)
}

// batch is the session's batch, which measures each run as it comes, on no scale.
func (r Request) batch(s Sitting) (*batch.Batch, error) {
	store, err := r.store(s)
	if err != nil {
		return nil, err
	}
	settings := measure.Settings(r.Options)
	return &batch.Batch{
		File: s.File, Settings: settings, Store: store, Progress: s.Progress,
		Measurer: func(ctx context.Context, at capture.Address, how batch.How) (*model.Measure, error) {
			one, set := r, settings
			set.Reference = how.Reference
			one.Settings, one.Around, one.Reference, one.Progress = &set, how.Around, how.Reference, how.Progress
			m, err := Measure(ctx, one, []capture.Address{at})
			return &m, err
		},
	}, nil
}

// store is where a sitting's measurements are kept.
func (r Request) store(s Sitting) (store batch.Store, err error) {
	dir := s.Cache
	if dir == "" && !s.Anew {
		dir, err = batch.DefaultDir()
	}
	if err != nil || s.Anew {
		return store, err
	}
	return batch.NewStore(dir, fmt.Sprintf("%s, method %d", r.Version, mains.Method))
}
