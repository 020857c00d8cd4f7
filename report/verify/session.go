package verify

import (
	"context"
	"fmt"
	"runtime"
	"sync"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/report/assemble"
	"humdiff/report/batch"
	"humdiff/report/result"
	"humdiff/report/verdict"
)

// session measures a session's runs again, several at a time, and judges them
// anew. Runs whose captures aren't found are judged by what the report has of
// them: what follows from it is checked all the same.
func (v *verifier) session(ctx context.Context, s result.Session, tree map[string]any) error {
	opt, err := v.prepared(ctx, s.Settings, tree)
	if err != nil {
		return err
	}
	in, err := verdict.Again(s)
	if err != nil {
		return damaged(v.out.Report.File, err)
	}
	sides, err := v.sides(ctx, s)
	if err != nil {
		return err
	}
	var mu sync.Mutex
	opt.Progress = v.counted(len(sides))
	measure := func(hz func(i int) (float64, bool)) error {
		work, ctx := errgroup.WithContext(ctx)
		work.SetLimit(runtime.GOMAXPROCS(0))
		for i := range sides {
			around, wanted := hz(i)
			if !wanted || !sides[i].found {
				continue
			}
			work.Go(func() error {
				err := sides[i].measure(ctx, opt, around, s.Settings)
				mu.Lock()
				defer mu.Unlock()
				sides[i].put(in.Runs)
				return err
			})
		}
		return work.Wait()
	}
	if err := measure(func(int) (float64, bool) { return 0, true }); err != nil {
		return err
	}
	// As batch does where the mains isn't found in a run.
	err = measure(func(i int) (float64, bool) {
		hz, wanted := batch.Around(len(in.Runs), sides[i].run, func(run int) *result.Capture { return in.Runs[run].Capture })
		return hz, wanted && !sides[i].idle
	})
	if err != nil {
		return err
	}
	v.whole = func(run int) (result.Capture, error) { return wholeOf(ctx, sides, s, run, opt) }
	return v.judged(s, in, sides, tree)
}

// wholeOf is a run's whole measurement, as the report's pages show it: to the
// digit, so by the transform that measured first.
func wholeOf(ctx context.Context, sides []side, s result.Session, run int, opt mains.Options) (result.Capture, error) {
	for _, at := range sides {
		if at.run != run-1 || at.idle || !at.found {
			continue
		}
		opt.Engine, opt.Progress, opt.Around = nil, nil, 0
		if hz := s.Runs[at.run].Capture.AroundHz; hz.Ok() {
			opt.Around = float64(hz)
		}
		m, err := assemble.ReadMeasured(ctx, "", s.Settings, []capture.Address{at.address}, opt)
		if err != nil {
			return result.Capture{}, err
		}
		c := assemble.OnScale(s.Settings, m.Captures[0]) // as batch does: to the last digit
		c.File = at.name
		return c, nil
	}
	return result.Capture{}, fmt.Errorf("run %d: %w", run, errNotHeld)
}

// side is one channel of one run.
type side struct {
	run, index int
	idle       bool
	address    capture.Address
	name       string // as the report has it
	found      bool
	again      *result.Capture
	warnings   []result.Warning
}

// sides lists the channels of all measured runs, and where they lie now.
func (v *verifier) sides(ctx context.Context, s result.Session) ([]side, error) {
	var all []side
	for run, r := range s.Runs {
		for _, c := range []struct {
			*result.Capture
			idle bool
		}{{r.Capture, false}, {r.IdleCapture, true}} {
			if c.Capture == nil {
				continue
			}
			addr, ok, err := v.address(ctx, c.Side)
			if err != nil {
				return nil, err
			}
			all = append(all, side{run: run, index: len(all), idle: c.idle, address: addr, name: c.File, found: ok})
		}
	}
	return all, nil
}

// measure measures the channel again and states it as a session's result does.
func (s *side) measure(ctx context.Context, opt mains.Options, around float64, settings result.Settings) error {
	opt.Around = around
	m, err := assemble.ReadMeasured(ctx, "", settings, []capture.Address{s.address}, opt)
	if err != nil {
		return err
	}
	c := m.Captures[0]
	c.File = s.name
	s.again, s.warnings = verdict.Stripped(&c), m.Warnings
	return nil
}

// put puts what was measured in the place of what the report has.
func (s side) put(runs []verdict.Run) {
	switch {
	case s.again == nil:
	case s.idle:
		runs[s.run].Idle = s.again
	default:
		runs[s.run].Capture = s.again
	}
}

// counted is progress over several measurements, each of which counts as much.
func (v *verifier) counted(n int) func(done, total int64) {
	if v.progress == nil {
		return nil
	}
	var mu sync.Mutex
	ended := int64(0)
	return func(done, total int64) {
		mu.Lock()
		defer mu.Unlock()
		if done >= total {
			ended = min(ended+1, int64(n))
		}
		v.progress(ended, int64(n))
	}
}

// judged compares the runs, and all that was judged from them.
func (v *verifier) judged(s result.Session, in verdict.Input, sides []side, tree map[string]any) error {
	runs := list(tree["runs"])
	for _, at := range sides {
		key := "capture"
		if at.idle {
			key = "idle"
		}
		run, _ := runs[at.run].(map[string]any)
		where := fmt.Sprintf("runs[%d].%s", at.run, key)
		if !at.found {
			v.out.LeftOut += leftOut(run[key])
			continue
		}
		if err := v.part(where, run[key], at.again); err != nil {
			return err
		}
		v.unwarned(s, at)
	}
	again := verdict.Judge(in)
	// The runs were compared above, with their captures.
	again.Runs = nil
	rest := map[string]any{}
	for k, x := range tree {
		if k != "runs" && k != "warnings" {
			rest[k] = x
		}
	}
	return v.part("", rest, again)
}

// unwarned finds warnings of a run that the report doesn't have: leaving one out
// is how a bad capture would be hidden.
func (v *verifier) unwarned(s result.Session, at side) {
	for _, w := range at.warnings {
		if w.Code == "scale_unknown" || w.Channel == 0 {
			continue
		}
		v.compared++
		found := false
		for _, have := range s.Warnings {
			found = found || have.Code == w.Code && have.Channel == w.Channel && have.File == at.name
		}
		if !found {
			v.differs(fmt.Sprintf("warnings: %s, run %d, channel %d", w.Code, at.run+1, w.Channel), exactly, "no such warning", "warned")
		}
	}
}
