package verify

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/report"
	"humdiff/report/batch"
	"humdiff/report/judge"
	"humdiff/report/model"
	"humdiff/report/session"
	"humdiff/report/wire"
)

// sessionAgain is a session's runs, measured again.
type sessionAgain struct {
	v        *verifier
	reported *model.Session
	request  report.Request
	channels []channel
	file     *session.File // nil: not at hand
}

// channel is one channel of one run.
type channel struct {
	run     int // from 0
	idle    bool
	address capture.Address
	found   bool
	said    *model.Capture
	again   *model.Capture
	warned  []model.Warning
}

// sessionAgain measures a session's runs again, several at a time, compares each, and
// holds the report's statements against the session file, where that is there.
func (v *verifier) sessionAgain(ctx context.Context, s *model.Session) (*sessionAgain, error) {
	set := s.Settings
	set.Asked = model.Asked{FullScale: s.Bench.FullScale, Gain: s.Bench.Gain, Calibration: s.Bench.Calibration}
	req, err := v.scaledAgain(ctx, set)
	if err != nil {
		return nil, err
	}
	scales := *req.Settings
	scales.Asked = model.Asked{} // the bench says it
	a := &sessionAgain{v: v, reported: s, request: req}
	if err := a.find(ctx); err != nil {
		return nil, err
	}
	if a.file, err = v.stated(ctx, s, a.all()); err != nil {
		return nil, err
	}
	if err := a.measure(ctx, func(int) (float64, bool) { return 0, true }); err != nil {
		return nil, err
	}
	// As a batch does where the mains isn't found in a run.
	if err := a.measure(ctx, a.around); err != nil {
		return nil, err
	}
	if err := v.parts("settings", s.Settings, scales); err != nil {
		return nil, err
	}
	return a, a.compare(ctx)
}

// all says that every capture was found.
func (a *sessionAgain) all() bool {
	return !slices.ContainsFunc(a.channels, func(c channel) bool { return !c.found })
}

// find lists the channels of all measured runs, and where they lie now.
func (a *sessionAgain) find(ctx context.Context) error {
	for i := range a.reported.Runs {
		r := &a.reported.Runs[i]
		for _, c := range []struct {
			*model.Capture
			idle bool
		}{{r.Capture, false}, {r.IdleCapture, true}} {
			if c.Capture == nil {
				continue
			}
			addr, ok, err := a.v.address(ctx, c.Side)
			if err != nil {
				return err
			}
			a.channels = append(a.channels, channel{run: i, idle: c.idle, address: addr, found: ok, said: c.Capture})
		}
	}
	return nil
}

// around is the mains of the nearest run that shows it, for one that doesn't.
func (a *sessionAgain) around(i int) (float64, bool) {
	if a.channels[i].idle {
		return 0, false
	}
	byRun := map[int]*model.Capture{}
	for _, c := range a.channels {
		if !c.idle {
			byRun[c.run] = c.again
		}
	}
	return batch.Around(len(a.reported.Runs), a.channels[i].run, func(run int) *model.Capture { return byRun[run] })
}

func (a *sessionAgain) measure(ctx context.Context, around func(i int) (float64, bool)) error {
	work, ctx := errgroup.WithContext(ctx)
	work.SetLimit(runtime.GOMAXPROCS(0))
	done := a.counted()
	for i := range a.channels {
		hz, wanted := around(i)
		if !wanted || !a.channels[i].found {
			continue
		}
		work.Go(func() error {
			defer done()
			return a.one(ctx, &a.channels[i], hz)
		})
	}
	return work.Wait()
}

// one measures a channel as the batch did, if it carries a signal now.
func (a *sessionAgain) one(ctx context.Context, c *channel, around float64) error {
	got, warned, err := a.measured(ctx, *c, around, a.request.Engine)
	if got != nil {
		c.again, c.warned = judge.Stripped(got), warned
	}
	return err
}

// measured measures a channel by itself, on no scale; nil: it carries no signal now.
func (a *sessionAgain) measured(ctx context.Context, c channel, around float64, engine func(n int) fft.Engine) (*model.Capture, []model.Warning, error) {
	req := a.request
	req.Reference = a.reported.Runs[c.run].Reference
	req.Settings, req.Scaling, req.Progress, req.Around, req.Engine = nil, model.Asked{}, nil, around, engine
	m, err := report.Measure(ctx, req, []capture.Address{c.address})
	if err != nil {
		return nil, nil, err
	}
	for i := range m.Captures {
		if got := &m.Captures[i]; got.Channel == c.said.Channel {
			got.File = c.said.File
			return got, m.Warnings, nil
		}
	}
	return nil, nil, nil
}

// counted is progress over several measurements, each of which counts as much.
func (a *sessionAgain) counted() func() {
	var mu sync.Mutex
	ended := 0
	return func() {
		mu.Lock()
		defer mu.Unlock()
		if ended++; a.v.progress != nil {
			a.v.progress(int64(min(ended, len(a.channels))), int64(len(a.channels)))
		}
	}
}

// compare compares the runs' captures and their warnings.
func (a *sessionAgain) compare(ctx context.Context) error {
	for _, c := range a.channels {
		key := "capture"
		if c.idle {
			key = "idle"
		}
		where := fmt.Sprintf("runs[%d].%s", c.run, key)
		switch {
		case !c.found:
			a.v.out.LeftOut++
			continue
		case c.again == nil:
			a.v.differs(where, exactly, "measured", "the channel carries no signal")
			continue
		}
		if err := a.v.parts(where, *c.said, *c.again); err != nil {
			return err
		}
	}
	return a.warnings(ctx)
}

// whole is a run's whole measurement, as the report's pages show it: to the digit,
// so by the transforms that measured first.
func (a *sessionAgain) whole(ctx context.Context) func(run int) (model.Capture, error) {
	return func(run int) (model.Capture, error) {
		for _, c := range a.channels {
			if c.run != run-1 || c.idle || !c.found {
				continue
			}
			around := 0.0
			if hz := c.said.AroundHz; hz.Ok() {
				around = float64(hz)
			}
			got, _, err := a.measured(ctx, c, around, nil)
			if err != nil {
				return model.Capture{}, err
			}
			if got != nil {
				return *got, nil
			}
		}
		return model.Capture{}, fmt.Errorf("run %d: %w", run, errNotHeld)
	}
}

// stated compares what the report says was stated with the session file, which can't
// be read without all its captures.
func (v *verifier) stated(ctx context.Context, s *model.Session, all bool) (*session.File, error) {
	at := ""
	for i, in := range s.Inputs {
		path, ok, err := v.find(ctx, in.File, in.SHA256)
		if err != nil {
			return nil, err
		}
		if i == 0 && ok {
			at = path
		}
		if !ok {
			v.unmade[in.File] = true
		}
	}
	if at == "" {
		v.unmade["session file"] = true
	}
	if at == "" || !all {
		return nil, nil
	}
	file, err := session.Load(at)
	var wrong session.Problems
	if err != nil && !(errors.As(err, &wrong) && wrong.OnlyGone()) { // captures lie elsewhere now, those of runs that failed perhaps nowhere
		v.differs("inputs", exactly, "a session", "its file can't be read: "+err.Error())
		return nil, nil
	}
	again, err := v.statedAgain(ctx, s, file)
	if err != nil {
		return nil, err
	}
	if err := v.inputs(ctx, s, file); err != nil {
		return nil, err
	}
	return &file, v.parts("", stripped(s.Sitting), stripped(again))
}

// inputs compares what a report says it was read from with what was read now: a list
// of runs may lie elsewhere as it was, and another one beside the session file.
func (v *verifier) inputs(ctx context.Context, s *model.Session, file session.File) error {
	read := []model.Input{s.Inputs[0]}
	if file.RunsFile != "" {
		hash, err := capture.Hash(ctx, file.Locate(file.RunsFile))
		if err != nil {
			return err
		}
		read = append(read, model.Input{File: file.RunsFile, SHA256: hash})
	}
	v.same("file", s.File, read[0].File)
	for _, w := range s.Warnings {
		if in, ok := keyIn(s, w); ok {
			read = append(read, in)
		}
	}
	unmeasured, err := v.unmeasured(ctx, s, file)
	if err != nil {
		return err
	}
	return v.parts("inputs", s.Inputs, append(read, unmeasured...))
}

// statedAgain is what a session file states, with what is taken from captures and
// photos, and with the names or letters that a key gave its cables.
func (v *verifier) statedAgain(ctx context.Context, s *model.Session, file session.File) (again model.Sitting, err error) {
	again = file.Sitting
	for _, w := range s.Warnings {
		switch w.Code {
		case batch.Blinded:
			again.Blind = true
		case batch.Unveiled:
			if again, err = v.opened(ctx, s, w, again); err != nil {
				return again, err
			}
		}
	}
	for i := range again.Runs {
		r := &again.Runs[i]
		if r.Start.IsZero() && i < len(s.Runs) {
			r.Start = v.recorded(ctx, file, *r, s.Runs[i].Capture)
		}
	}
	for i := range again.Bench.Photos {
		if i >= len(s.Bench.Photos) {
			break
		}
		p := s.Bench.Photos[i]
		if _, ok, err := v.find(ctx, p.File, p.SHA256); err != nil {
			return again, err
		} else if !ok && p.SHA256 != "" {
			v.unmade[p.File] = true
		}
		again.Bench.Photos[i].SHA256 = p.SHA256
		if p.SHA256 == "" { // it could not be read
			again.Bench.Photos[i].SHA256, _ = capture.Hash(ctx, file.Locate(p.File))
		}
	}
	return again, nil
}

// keyIn is the file of the key that a warning says a session was opened by.
func keyIn(s *model.Session, w model.Warning) (model.Input, bool) {
	hash, _ := w.Get("sha256").(string)
	for _, in := range s.Inputs[1:] {
		if w.Code == batch.Unveiled && in.SHA256 == hash {
			return in, true
		}
	}
	return model.Input{}, false
}

// opened puts names for letters as the key says: whoever swaps two names turns a result
// round. Without the key the warning's own words are taken, and counted as not compared.
func (v *verifier) opened(ctx context.Context, s *model.Session, w model.Warning, sitting model.Sitting) (model.Sitting, error) {
	letters, _ := w.Get("letters").([]string)
	cables, _ := w.Get("cables").([]string)
	hash, _ := w.Get("sha256").(string)
	key := batch.Key{Cables: map[string]string{}, Hash: hash}
	for i, letter := range letters {
		if i < len(cables) {
			key.Cables[letter] = cables[i]
		}
	}
	at, found := "", false
	if in, ok := keyIn(s, w); ok {
		var err error
		if at, found, err = v.find(ctx, in.File, in.SHA256); err != nil {
			return sitting, err
		}
	}
	if !found {
		v.unmade["key"] = true
	} else if its, err := batch.LoadKey(at, session.Cables(sitting)); err != nil {
		return sitting, v.damaged(err)
	} else {
		key = its
	}
	sitting, again := key.Open(sitting)
	return sitting, v.parts("warnings: "+w.Code, w, again)
}

// recorded is when a run's capture says it was recorded, wherever that lies now; zero:
// it doesn't.
func (v *verifier) recorded(ctx context.Context, file session.File, r model.Run, measured *model.Capture) time.Time {
	addr, err := file.Capture(r)
	if measured != nil {
		addr, _, err = v.address(ctx, measured.Side)
	}
	if err != nil || r.Address == "" {
		return time.Time{}
	}
	f, err := capture.Open(addr)
	if err != nil || f.Info().Metadata.DayOnly {
		return time.Time{}
	}
	return f.Info().Metadata.Recorded
}

// stripped is a sitting without what was found out.
func stripped(s model.Sitting) model.Sitting {
	runs := make([]model.Run, len(s.Runs))
	for i, r := range s.Runs {
		r.Used, r.Unused, r.Failed, r.Against, r.Capture, r.IdleCapture = false, model.Note{}, false, nil, nil, nil
		runs[i] = r
	}
	claims := make([]model.Claim, len(s.Claims))
	for i, c := range s.Claims {
		c.Late, c.P, c.Together, c.Verdict, c.Parts, c.Reasons = "", model.None, false, "", nil, nil
		claims[i] = c
	}
	s.Runs, s.Claims = runs, claims
	return s
}

// parts compares two parts of a result as humdiff writes them.
func (v *verifier) parts(where string, reported, again any) error {
	said, err := partOf(reported)
	if err != nil {
		return err
	}
	made, err := partOf(again)
	if err != nil {
		return err
	}
	v.ledger.skip = func(string) bool { return false }
	v.compare(where, said, v.renamed(made))
	return nil
}

func partOf(x any) (any, error) {
	text, err := wire.WritePart(x)
	if err != nil {
		return nil, err
	}
	t, _, err := tree(text)
	return t, err
}
