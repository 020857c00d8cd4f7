package batch

import (
	"context"
	"slices"
	"strings"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/report/model"
	"humdiff/report/session"
)

// Failure is a run that could not be measured.
type Failure struct {
	Run int // from 1, as listed
	Err error
}

// Failures are the runs that could not be measured, those left out aside: their
// captures may be gone.
func (b *Batch) Failures() (all []Failure) {
	for i, o := range b.runs {
		if o.err != nil && b.File.Sitting.Runs[i].LeftOut == "" {
			all = append(all, Failure{i + 1, o.err})
		}
	}
	return all
}

// Sitting is the session's sitting with what was found out about its runs and the
// bench's photos, and what was noticed of the captures, each once. Files are
// called in it as the session calls them: where they lie is nobody's business.
func (b *Batch) Sitting(ctx context.Context) (model.Sitting, []model.Warning) {
	s, noticed := b.File.Sitting, make([][]model.Warning, len(b.runs))
	s.Runs, s.Bench.Photos = slices.Clone(s.Runs), slices.Clone(s.Bench.Photos)
	for i, o := range b.runs {
		r := &s.Runs[i]
		r.Capture, r.IdleCapture, r.Start = o.cable, o.idle, b.start(*r)
		if o.err != nil {
			r.Failed = r.LeftOut == ""
			r.Unused = NotMeasured(NameOf(b.File, *r), b.File.Locate(NameOf(b.File, *r)), o.err)
		}
		noticed[i] = o.warnings
	}
	for i := range s.Bench.Photos {
		p := &s.Bench.Photos[i]
		p.SHA256, _ = capture.Hash(ctx, b.File.Locate(p.File)) // empty: could not be read
	}
	return s, Noticed(b.File, noticed)
}

// Noticed is what was noticed while a session was read and then of its runs, each once.
func Noticed(f session.File, runs [][]model.Warning) []model.Warning {
	all := slices.Clone(f.Warnings)
	for i, warnings := range runs {
		for _, w := range warnings {
			if w.File != "" {
				w.File = NameOf(f, f.Sitting.Runs[i])
			}
			if w.Code != scaleUnknown {
				all = append(all, w)
			}
		}
	}
	return model.Once(all)
}

// scaleUnknown is said by runs that are measured without a scale; the session
// knows its own.
const scaleUnknown = "scale_unknown"

// NotMeasured says why a run could not be measured, whose file lies somewhere, called as
// its session does.
func NotMeasured(name, at string, err error) model.Note {
	told := func(text string) string { return strings.ReplaceAll(text, at, name) }
	return note.New(model.NotMeasured, "error", told(err.Error()), "hint", told(fault.Hint(err)))
}

// Unmeasured are the files of runs that could not be measured, each once, by content:
// nothing else in a result speaks for them. What can't even be opened isn't there.
func (b *Batch) Unmeasured(ctx context.Context) (all []model.Input, err error) {
	for i, r := range b.File.Sitting.Runs {
		name := NameOf(b.File, r)
		if b.runs[i].cable != nil || slices.ContainsFunc(all, func(in model.Input) bool { return in.File == name }) {
			continue
		}
		hash, err := capture.Hash(ctx, b.File.Locate(name))
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err == nil {
			all = append(all, model.Input{File: name, SHA256: hash})
		}
	}
	return all, nil
}

// start is when a run began: as the session says, or else the capture itself.
func (b *Batch) start(r model.Run) time.Time {
	if !r.Start.IsZero() {
		return r.Start
	}
	f, err := b.open(r)
	if err != nil || f.Info().Metadata.DayOnly {
		return time.Time{}
	}
	return f.Info().Metadata.Recorded
}
