package batch

import (
	"context"
	"fmt"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/internal/tally"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/session"
)

// storeError is a failure of the place where measurements are kept.
type storeError struct{ error }

// run measures one run, or reads what was measured of it.
func (b *Batch) run(ctx context.Context, r model.Run, around float64, p *tally.Share) (o outcome, err error) {
	var m *model.Measure
	if r.Measured != "" {
		m, err = Elsewhere(b.File.Locate(r.Measured), b.Settings)
	} else {
		m, o.key, err = b.measured(ctx, r, around, p)
		o.kept = err == nil
	}
	if err != nil {
		return o, err
	}
	if o.cable, o.idle, err = Choose(b.File, r, m); err != nil {
		return o, err
	}
	for _, c := range []*model.Capture{o.cable, o.idle} {
		if c != nil {
			light(c)
		}
	}
	o.warnings = m.Warnings
	return o, nil
}

// measured is the measurement of a capture, kept or made now.
func (b *Batch) measured(ctx context.Context, r model.Run, around float64, p *tally.Share) (*model.Measure, key, error) {
	file, err := b.open(r)
	if err != nil {
		return nil, key{}, err
	}
	content, err := file.Hash(ctx)
	if err != nil {
		return nil, key{}, err
	}
	at, err := Address(b.File, r)
	if err != nil {
		return nil, key{}, err
	}
	set := b.Settings
	set.Reference = r.Reference
	k := b.Store.key(content, at, set, around)
	if m, ok := b.Store.get(k); ok {
		p.Reach(0, 0) // by it nobody can tell how long the rest takes
		return m, k, nil
	}
	m, err := b.fresh(ctx, at, k, p)
	return m, k, err
}

// fresh measures a capture and keeps what was measured.
func (b *Batch) fresh(ctx context.Context, at capture.Address, k key, p *tally.Share) (*model.Measure, error) {
	m, err := b.Measurer(ctx, at, How{k.Around, k.Settings.Reference, p.Part})
	if err != nil {
		return nil, err
	}
	if len(m.Captures) == 0 || m.Captures[0].SHA256 != k.Content {
		return nil, &fault.Error{File: at.Path, What: "it changed while it was measured", Hint: "is it still being recorded?"}
	}
	if err := b.Store.put(k, m); err != nil {
		return nil, storeError{err}
	}
	return m, nil
}

const elsewhereHint = `humdiff measure --format json "CAPTURE" > "FILE" makes one`

// Elsewhere reads a measurement made elsewhere, which has to be made as the settings say.
func Elsewhere(path string, want model.Settings) (*model.Measure, error) {
	const most = 64 << 20 // bytes; many times what 64 channels take
	wrong := func(hint, format string, args ...any) (*model.Measure, error) {
		return nil, &fault.Error{File: path, What: fmt.Sprintf(format, args...), Hint: hint}
	}
	text, err := publish.ReadFile(path, most, elsewhereHint)
	if err != nil {
		return nil, err
	}
	m, err := measurement(text)
	if err != nil {
		return wrong(elsewhereHint, "it is no measurement: %s", err)
	}
	s := m.Settings
	if s.UpToHz != want.UpToHz || s.Window != want.Window || s.Mains != "auto" && want.Mains != "auto" && s.Mains != want.Mains {
		return wrong("measure with the flags that the batch is given", "measured with mains %s, lines up to %g Hz, window %s; the session is measured with %s, %g Hz, %s",
			s.Mains, s.UpToHz, s.Window, want.Mains, want.UpToHz, want.Window)
	}
	return m, nil
}

// Choose picks the cable's channel and the idle one out of a measurement of a session's
// run, and names their file as the session does. The error says which can't be told.
func Choose(f session.File, r model.Run, m *model.Measure) (cable, idle *model.Capture, err error) {
	named := 0
	if r.Address != "" {
		at, err := f.Capture(r)
		if err != nil {
			return nil, nil, err
		}
		named = at.Channel
	}
	var rest []model.Capture
	for _, c := range m.Captures {
		if r.Address != "" {
			c.File = f.Named(r)
		}
		switch {
		case f.Sitting.Idle > 0 && c.Channel == f.Sitting.Idle && named != c.Channel:
			idle = &c
		case named == 0 || named == c.Channel:
			rest = append(rest, c)
		}
	}
	switch name := NameOf(f, r); {
	case len(rest) == 1:
		return &rest[0], idle, nil
	case len(rest) == 0:
		return nil, nil, &fault.Error{File: name, What: "the cable's channel carries no signal", Hint: "check which channel the cable was on"}
	default:
		return nil, nil, &fault.Error{File: name, What: fmt.Sprintf("%d channels carry a signal, and it isn't said which is the cable's", len(rest)),
			Hint: fmt.Sprintf(`name it in the run's file, as "%s#ch=1", or the other one as idle_channel`, f.Named(r))}
	}
}

// NameOf is the file that a run was measured from, as the session names it.
func NameOf(f session.File, r model.Run) string {
	if r.Measured != "" {
		return r.Measured
	}
	return f.Named(r)
}

// light takes off what only figures need, and what is not kept.
func light(c *model.Capture) {
	window := c.Trace.Window
	c.Trace = model.NoTrace()
	c.Trace.Window = window
	c.Cycle.Samples = []model.Num{}
	c.Notes = nil
}

// Whole is a run's whole measurement, with its spectrum; run counts from 1.
func (b *Batch) Whole(ctx context.Context, run int) (model.Capture, error) {
	o, r := b.runs[run-1], b.File.Sitting.Runs[run-1]
	var m *model.Measure
	var err error
	if !o.kept {
		m, err = Elsewhere(b.File.Locate(r.Measured), b.Settings)
	} else if kept, ok := b.Store.whole(o.key); ok {
		m = kept
	} else { // the store was emptied meanwhile
		var at capture.Address
		if at, err = Address(b.File, r); err == nil {
			m, err = b.fresh(ctx, at, o.key, new(tally.Tally).Share(0, ""))
		}
	}
	if err != nil {
		return model.Capture{}, err
	}
	c, _, err := Choose(b.File, r, m)
	if err != nil {
		return model.Capture{}, err
	}
	return *c, nil
}
