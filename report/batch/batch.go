// Package batch measures the runs of a session: several at a time, each kept as
// soon as it is measured, so that what was measured before is not measured
// again. It judges nothing. It holds no more of a run than its lines; spectra
// are read again from the store when they are wanted.
package batch

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/report/assemble"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/verdict"
	"humdiff/report/volts"
)

// Batch is a session to be measured.
type Batch struct {
	Session  session.Session
	Options  mains.Options
	Scale    volts.Scale
	Store    Store
	Version  string
	Workers  int                                  // 0: as many as there are processors
	Progress func(done, total int64, what string) // frames; nil: nobody asks
	settings result.Settings                      // without scale
	runs     []outcome
}

// outcome is what became of a run.
type outcome struct {
	verdict.Run
	err      error
	key      key  // of the measurement kept; unused of one that came as JSON
	kept     bool // it lies in the store
	warnings []result.Warning
}

// Failure is a run that could not be measured.
type Failure struct {
	Run int // from 1, as listed
	Err error
}

// Settings are how the runs are measured, on the session's scale.
func (b *Batch) Settings() result.Settings { return assemble.Settings(b.Options, b.Scale) }

// Measure measures every run. Those left out are measured too where they can be,
// so that it can be said what would follow with them. What else can't be measured
// is a failure and doesn't stop the rest; the error is ctx's alone, or the store's.
// Where the mains isn't found in a run, lines are sought around the frequency
// of the nearest run in the list that shows it.
func (b *Batch) Measure(ctx context.Context) error {
	b.settings = assemble.Settings(b.Options)
	b.runs = make([]outcome, len(b.Session.Runs))
	if err := b.each(ctx, "", func(int) (float64, bool) { return 0, true }); err != nil {
		return err
	}
	return b.each(ctx, "once more, ", b.around)
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
	t := &tally{report: b.Progress}
	type job struct {
		run  int
		hz   float64
		part *part
	}
	var jobs []job
	for i, r := range b.Session.Runs {
		if hz, wanted := around(i); wanted && b.runs[i].err == nil && b.runs[i].Why == "" {
			jobs = append(jobs, job{i, hz, t.part(b.frames(r), doing+r.Name())})
		}
	}
	for _, j := range jobs {
		work.Go(func() error {
			got, err := b.run(ctx, b.Session.Runs[j.run], j.hz, j.part)
			j.part.end()
			if ctx.Err() != nil {
				return ctx.Err()
			}
			var fatal storeError
			if errors.As(err, &fatal) {
				return fatal.error
			}
			if err != nil {
				got.Why = b.named(b.Session.Runs[j.run], err.Error())
			}
			if got.err = err; b.Session.Runs[j.run].LeftOut != "" {
				got.err = nil // it may be gone
			}
			b.runs[j.run] = got
			return nil
		})
	}
	return work.Wait()
}

// named is an error's text with the run's file as the session names it: where it
// lies is nobody's business.
func (b *Batch) named(r session.Run, text string) string {
	for _, name := range []string{r.Address.Path, r.Measured} {
		if name != "" {
			text = strings.ReplaceAll(text, b.Session.Locate(name), name)
		}
	}
	return text
}

// frames is how long a run's capture is; 0 where that isn't known.
func (b *Batch) frames(r session.Run) int64 {
	if r.Measured != "" {
		return 0
	}
	f, err := capture.Open(b.Session.In(r.Address))
	if err != nil {
		return 0
	}
	return f.Frames()
}

// around is the mains of the nearest run that shows it, for a run that doesn't.
func (b *Batch) around(i int) (hz float64, wanted bool) {
	if !b.runs[i].kept {
		return 0, false
	}
	return Around(len(b.runs), i, func(run int) *result.Capture { return b.runs[run].Capture })
}

// Around is the mains of the nearest of n runs that shows it, for a run that
// doesn't; wanted is false where there is none, or no need. of gives a run's
// capture, nil where it wasn't measured; runs count from 0 here.
func Around(n, run int, of func(run int) *result.Capture) (hz float64, wanted bool) {
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

// storeError is a failure of the place where measurements are kept.
type storeError struct{ error }

// run measures one run, or reads what was measured of it.
func (b *Batch) run(ctx context.Context, r session.Run, around float64, p *part) (o outcome, err error) {
	var m result.Measure
	if r.Measured != "" {
		m, err = b.elsewhere(r)
	} else {
		m, o.key, err = b.measured(ctx, r.Address, around, p)
		o.kept = true
	}
	if err != nil {
		return o, err
	}
	if o.Capture, o.Idle, err = b.choose(r, m); err != nil {
		return o, err
	}
	*o.Capture, o.warnings = b.finish(r, *o.Capture), m.Warnings
	light(o.Capture)
	if o.Idle != nil {
		*o.Idle = b.finish(r, *o.Idle)
		light(o.Idle)
	}
	return o, nil
}

// measured is the measurement of a capture, kept or made now. With an idle
// channel every channel is measured.
func (b *Batch) measured(ctx context.Context, a capture.Address, around float64, p *part) (result.Measure, key, error) {
	if b.Session.Roles.Idle > 0 {
		a.Channel = 0
	}
	at := b.Session.In(a)
	file, err := capture.Open(at)
	if err != nil {
		return result.Measure{}, key{}, err
	}
	content, err := file.Hash(ctx)
	if err != nil {
		return result.Measure{}, key{}, err
	}
	k := b.Store.key(content, a, b.settings, around)
	if m, ok := b.Store.get(k); ok {
		p.spare()
		return m, k, nil
	}
	m, err := b.fresh(ctx, a, k, p)
	return m, k, err
}

// fresh measures a capture and keeps what was measured.
func (b *Batch) fresh(ctx context.Context, a capture.Address, k key, p *part) (result.Measure, error) {
	if b.Session.Roles.Idle > 0 {
		a.Channel = 0
	}
	at := b.Session.In(a)
	opt := b.Options
	opt.Around, opt.Progress = k.Around, p.progress
	m, err := assemble.ReadMeasured(ctx, b.Version, b.settings, []capture.Address{at}, opt)
	if err != nil {
		return result.Measure{}, err
	}
	if got := m.Captures[0].SHA256; got != k.Content {
		return result.Measure{}, &fault.Error{File: at.Path, What: "it changed while it was measured", Hint: "is it still being recorded?"}
	}
	if err := b.Store.put(k, m); err != nil {
		return result.Measure{}, storeError{err}
	}
	return m, nil
}

// elsewhere reads a measurement made elsewhere.
func (b *Batch) elsewhere(r session.Run) (m result.Measure, err error) {
	path := b.Session.Locate(r.Measured)
	wrong := func(hint, format string, args ...any) (result.Measure, error) {
		return m, &fault.Error{File: path, What: fmt.Sprintf(format, args...), Hint: hint}
	}
	text, err := publish.ReadFile(path, publish.LargestResult, `humdiff measure --format json "CAPTURE" > "FILE" makes one`)
	if err != nil {
		return m, err
	}
	if err := json.Unmarshal(text, &m); err != nil || m.Schema != result.MeasureSchema {
		return wrong(`humdiff measure --format json "CAPTURE" > "FILE" makes one`, "it is no measurement")
	}
	s, want := m.Settings, b.settings
	if s.UpToHz != want.UpToHz || s.Window != want.Window || s.Mains != "auto" && want.Mains != "auto" && s.Mains != want.Mains {
		return wrong("measure with the flags that the batch is given", "measured with mains %s, lines up to %g Hz, window %s; the session is measured with %s, %g Hz, %s",
			s.Mains, s.UpToHz, s.Window, want.Mains, want.UpToHz, want.Window)
	}
	for _, c := range m.Captures {
		for _, l := range c.Lines {
			if !l.Share.Noise.Ok() && l.State == result.Detected {
				return wrong("measure again with this humdiff", "it comes from a humdiff that didn't state what totals rest on")
			}
		}
	}
	return m, nil
}

// choose picks the cable's channel and the idle one out of a measurement.
func (b *Batch) choose(r session.Run, m result.Measure) (cable, idle *result.Capture, err error) {
	named := r.Address.Channel
	var rest []result.Capture
	for _, c := range m.Captures {
		switch {
		case b.Session.Roles.Idle > 0 && c.Channel == b.Session.Roles.Idle && named != c.Channel:
			idle = &c
		case named == 0 || named == c.Channel:
			rest = append(rest, c)
		}
	}
	name := r.Address.Path
	if r.Measured != "" {
		name = r.Measured
	}
	switch {
	case len(rest) == 1:
		return &rest[0], idle, nil
	case len(rest) == 0:
		return nil, nil, &fault.Error{File: name, What: "the cable's channel carries no signal", Hint: "check which channel the cable was on"}
	}
	return nil, nil, &fault.Error{File: name, What: fmt.Sprintf("%d channels carry a signal, and it isn't said which is the cable's", len(rest)),
		Hint: fmt.Sprintf(`name it in the run's file, as "%s#ch=1", or the other one as idle_channel`, r.Address.Path)}
}

// finish names a capture as the session does and puts it on the session's scale.
func (b *Batch) finish(r session.Run, c result.Capture) result.Capture {
	if r.Address.Path != "" {
		c.File = r.Address.Path
	}
	return assemble.OnScale(b.Settings(), c)
}

// light takes off what only figures need.
func light(c *result.Capture) {
	c.Trace = result.Trace{BinHz: result.None, ENBWHz: result.None, Seconds: result.None, Window: c.Trace.Window, Hz: []result.Num{}, LoDBFS: []result.Num{}, HiDBFS: []result.Num{}}
	c.Cycle.Samples = []result.Num{}
}

// Capture is a run's whole measurement, with its spectrum; run counts from 1.
func (b *Batch) Capture(run int) (result.Capture, error) {
	o, r := b.runs[run-1], b.Session.Runs[run-1]
	if !o.kept {
		m, err := b.elsewhere(r)
		if err != nil {
			return result.Capture{}, err
		}
		return b.whole(r, m)
	}
	m, ok := b.Store.whole(o.key)
	if !ok { // the store was emptied meanwhile
		var err error
		if m, err = b.fresh(context.Background(), r.Address, o.key, &part{t: &tally{}}); err != nil {
			return result.Capture{}, err
		}
	}
	return b.whole(r, m)
}

func (b *Batch) whole(r session.Run, m result.Measure) (result.Capture, error) {
	c, _, err := b.choose(r, m)
	if err != nil {
		return result.Capture{}, err
	}
	return b.finish(r, *c), nil
}

// Failures are the runs that could not be measured.
func (b *Batch) Failures() (all []Failure) {
	for i, o := range b.runs {
		if o.err != nil {
			all = append(all, Failure{i + 1, o.err})
		}
	}
	return all
}

// Input is what the session is judged by.
func (b *Batch) Input() verdict.Input {
	in := verdict.Input{Session: b.Session, Settings: b.Settings(), Version: b.Version, Photos: b.photos(), Warnings: []result.Warning{}}
	in.Session.Runs = append([]session.Run{}, b.Session.Runs...)
	in.Session.Path = filepath.Base(b.Session.Path) // where it lies is nobody's business
	seen := map[result.Warning]bool{}
	for i, o := range b.runs {
		in.Runs = append(in.Runs, o.Run)
		in.Session.Runs[i].Start = b.start(in.Session.Runs[i])
		for _, w := range o.warnings {
			if w.File != "" && b.Session.Runs[i].Address.Path != "" {
				w.File = b.Session.Runs[i].Address.Path
			}
			if w.Code != "scale_unknown" && !seen[w] {
				seen[w] = true
				in.Warnings = append(in.Warnings, w)
			}
		}
	}
	return in
}

// start is when a run began: as the session says, or else the capture itself.
func (b *Batch) start(r session.Run) time.Time {
	if !r.Start.IsZero() || r.Measured != "" {
		return r.Start
	}
	f, err := capture.Open(b.Session.In(r.Address))
	if err != nil || f.Info().Metadata.DayOnly {
		return time.Time{}
	}
	return f.Info().Metadata.Recorded
}

// photos are the bench's pictures by their hashes.
func (b *Batch) photos() []result.Photo {
	all := []result.Photo{}
	for _, name := range b.Session.Bench.Photos {
		hash, _ := capture.Hash(context.Background(), b.Session.Locate(name)) // empty: could not be read
		all = append(all, result.Photo{File: name, SHA256: hash})
	}
	return all
}

// Calibrated is the scale that a session's bench states.
func Calibrated(ctx context.Context, s session.Session) (volts.Scale, error) {
	if len(s.Bench.Calibration) == 0 {
		return volts.StatedFull(s.Bench.FullScale, s.Bench.Gain)
	}
	var tones []capture.Tone
	for _, said := range s.Bench.Calibration {
		tone, err := capture.ParseTone(s.Locate(said)) // relative to the session, as its runs are
		if err != nil {
			return volts.Scale{}, err
		}
		tones = append(tones, tone)
	}
	scale, err := assemble.Calibrate(ctx, tones...)
	if err != nil {
		return scale, err
	}
	for i, said := range s.Bench.Calibration {
		away := strings.TrimSuffix(s.Locate(said), filepath.FromSlash(said)) // where the session lies is nobody's business
		scale.Said = strings.ReplaceAll(scale.Said, away, "")
		t := &scale.Tones[i]
		t.File, t.Address = strings.TrimPrefix(t.File, away), strings.TrimPrefix(t.Address, away)
	}
	return scale, nil
}

// tally adds up the progress of runs that are measured at the same time.
type tally struct {
	mu          sync.Mutex
	report      func(done, total int64, what string)
	done, total int64
}

// part is one run's share.
type part struct {
	t          *tally
	what       string
	done, size int64
}

func (t *tally) part(frames int64, what string) *part {
	t.total += frames
	return &part{t: t, what: strings.TrimSpace(what), size: frames}
}

// progress takes in how far one pass over the capture is; long ones are read
// twice, which shows as standing still near the end.
func (p *part) progress(done, total int64) {
	if total > 0 {
		p.reach(int64(float64(p.size) * float64(done) / float64(total)))
	}
}

func (p *part) end() { p.reach(p.size) }

// spare takes a run out of the sum that needs no measuring: by it nobody can tell
// how long the rest takes.
func (p *part) spare() {
	p.t.mu.Lock()
	defer p.t.mu.Unlock()
	p.t.total -= p.size
	p.size = 0
}

func (p *part) reach(done int64) {
	p.t.mu.Lock()
	defer p.t.mu.Unlock()
	if done <= p.done {
		return
	}
	p.t.done += done - p.done
	p.done = done
	if p.t.report != nil {
		p.t.report(p.t.done, p.t.total, p.what)
	}
}
