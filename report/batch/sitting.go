package batch

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/report/model"
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
	s, warnings := b.File.Sitting, slices.Clone(b.File.Warnings)
	s.Runs, s.Bench.Photos = slices.Clone(s.Runs), slices.Clone(s.Bench.Photos)
	seen := map[string]bool{}
	for i, o := range b.runs {
		r := &s.Runs[i]
		r.Capture, r.IdleCapture, r.Start = o.cable, o.idle, b.start(*r)
		if o.err != nil {
			r.Failed = r.LeftOut == ""
			r.Unused = note.New(model.NotMeasured, "error", b.told(*r, o.err.Error()), "hint", b.told(*r, fault.Hint(o.err)))
		}
		for _, w := range o.warnings {
			if w.File != "" {
				w.File = nameOf(b.File, *r)
			}
			if same := fmt.Sprint(w.Note, "\x00", w.File, "\x00", w.Channel); w.Code != scaleUnknown && !seen[same] {
				seen[same] = true
				warnings = append(warnings, w)
			}
		}
	}
	for i := range s.Bench.Photos {
		p := &s.Bench.Photos[i]
		p.SHA256, _ = capture.Hash(ctx, b.File.Locate(p.File)) // empty: could not be read
	}
	return s, warnings
}

// scaleUnknown is said by runs that are measured without a scale; the session
// knows its own.
const scaleUnknown = "scale_unknown"

// told is a text with the run's file as the session names it.
func (b *Batch) told(r model.Run, text string) string {
	for _, name := range []string{b.File.Named(r), r.Measured} {
		if name != "" {
			text = strings.ReplaceAll(text, b.File.Locate(name), name)
		}
	}
	return text
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
