package measure

import (
	"context"
	"math"
	"slices"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/fft/estimate"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/report/model"
)

// Trend follows hum through a capture step by step, in the channel that its
// address names, or in every one that carries a signal. harmonics are those
// wanted each by itself besides their sum.
func Trend(ctx context.Context, addr capture.Address, harmonics []int, opt Options) ([]model.TrendCapture, []model.Warning, error) {
	file, err := capture.Open(addr)
	if err != nil {
		return nil, nil, err
	}
	var hash string
	var steps []mains.Steps
	both, ctx := errgroup.WithContext(ctx)
	both.Go(func() (err error) { hash, err = capture.Hash(ctx, addr.Path); return err })
	both.Go(func() (err error) {
		if steps, err = mains.MeasureSteps(ctx, file, opt.Options, harmonics); err != nil {
			return named(ctx, file, err)
		}
		return nil
	})
	if err := both.Wait(); err != nil {
		return nil, nil, err
	}
	followed := make([]follow, len(steps))
	for i, s := range steps {
		followed[i] = follow{sideOf(file.Info(), i, hash), s}
	}
	if followed, err = beside(opt.Reference, file, followed); err != nil {
		return nil, nil, err
	}
	kept, _ := sounding(followed, func(f follow) bool { return f.Health.Silent })
	said := [][]model.Warning{at(model.Side{File: addr.Path}, file.Warnings()...)}
	all := make([]model.TrendCapture, len(kept))
	for i, f := range kept {
		all[i] = f.capture(harmonics, opt.Reference > 0)
		said = append(said, at(f.side, f.Warnings...))
		if !f.Mains.Detected && !f.Health.Silent {
			said = append(said, at(f.side, note.New("no_mains", "captures", 1, "limits", false, "followed", true)))
		}
	}
	return all, model.Once(said...), nil
}

// beside are the channels followed but for the reference.
func beside(reference int, file *capture.File, all []follow) ([]follow, error) {
	if reference == 0 {
		return all, nil
	}
	kept := slices.DeleteFunc(all, func(f follow) bool { return f.side.Channel == reference })
	return kept, hasReference(reference, file, len(kept))
}

// follow is a channel, followed.
type follow struct {
	side model.Side
	mains.Steps
}

func (f follow) capture(harmonics []int, referred bool) model.TrendCapture {
	r := model.TrendCapture{
		Side: f.side, Mains: mainsOf(f.Mains, nil), StepS: model.None, Lines: f.Harmonics,
		LeftOut: append([]int{}, f.LeftOut...), Harmonics: append([]int{}, harmonics...),
		Steps: []model.TrendStep{}, Spans: []model.TrendSpan{}, Loudest: -1,
	}
	if len(f.Hum) == 0 {
		return r
	}
	r.StepS = seven(f.Seconds)
	for i, l := range f.Hum {
		r.Steps = append(r.Steps, model.TrendStep{StartS: seven(f.at(i)), Hum: level(l.Level), Lines: f.lines(harmonics, i+1, func(steps []mains.StepLevel) mains.Level { return steps[i].Level })})
	}
	loudest := math.Inf(-1)
	spans := spansOf(f.Hum, f.Seconds)
	if referred {
		spans = divided(spans, f.Hum, f.Seconds, referredSeconds)
	}
	for _, x := range spans {
		if x.still && x.Detected && x.Power > loudest {
			loudest, r.Loudest = x.Power, len(r.Spans)
		}
		r.Spans = append(r.Spans, f.span(x, harmonics))
	}
	return r
}

// at is when step i begins, counted from the file's start.
func (f follow) at(i int) float64 { return f.side.StartS + f.Start + float64(float64(i)*f.Seconds) }

// lines are the chosen harmonics' levels, as of says of their steps; none of one that has
// fewer than to.
func (f follow) lines(harmonics []int, to int, of func(steps []mains.StepLevel) mains.Level) []model.Estimate {
	out := make([]model.Estimate, len(harmonics))
	for k, h := range harmonics {
		out[k] = estimate.None("")
		if list := f.Steps.Lines[h]; to <= len(list) {
			out[k] = level(of(list))
		}
	}
	return out
}

// span states a span. Its address is that of the part that is safe from its
// edges, in tenths of a second; the capture's own ends are edges of nothing.
func (f follow) span(x span, harmonics []int) model.TrendSpan {
	from, to := x.measured(len(f.Hum))
	r := model.TrendSpan{State: model.Moving, StartS: seven(f.at(x.from)), EndS: seven(f.at(x.to)), Hum: level(x.Level),
		Lines: f.lines(harmonics, to, func(steps []mains.StepLevel) mains.Level { return mains.MeanOfSteps(steps[from:to]) })}
	first, last := x.from == 0, x.to == len(f.Hum)
	if first {
		r.StartS = seven(f.side.StartS)
	}
	if last {
		r.EndS = seven(f.side.EndS)
	}
	if !x.still {
		return r
	}
	r.State = model.Still
	start, end := math.Ceil(f.at(from)*10)/10, math.Floor(f.at(to)*10)/10
	if first {
		start = f.side.StartS
	}
	if last {
		end = f.side.EndS
	}
	r.Address = capture.Address{Path: f.side.File, Channel: f.side.Channel, Start: start, End: math.Floor(end*1000) / 1000}.String()
	return r
}
