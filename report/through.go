package report

import (
	"context"
	"slices"
	"strings"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/report/judge"
	"humdiff/report/measure"
	"humdiff/report/model"
)

// Measure measures captures one by one.
func Measure(ctx context.Context, r Request, captures []capture.Address) (model.Measure, error) {
	r, err := r.Scaled(ctx)
	if err != nil {
		return model.Measure{}, err
	}
	measured, said, err := measure.Captures(ctx, captures, r.Options)
	if err != nil {
		return model.Measure{}, err
	}
	m := model.Measure{
		Head: r.head(model.MeasureSchema), Settings: *r.Settings, Captures: measured,
		Warnings: judge.MeasureWarnings(*r.Settings, measured, said),
	}
	m.MayPublish = judge.MayPublishMeasure(m)
	return sealed(m)
}

// Compared is what to compare: a quiet capture with a near one, and where it was
// recorded what the instrument adds by itself.
type Compared struct {
	Quiet, Near capture.Address
	Residual    *capture.Address
	Playback    *model.Playback // the chain that hum would be heard through; nil: nobody asks
}

// Compare holds a near capture against a quiet one, channel by channel.
func Compare(ctx context.Context, r Request, c Compared) (model.Compare, error) {
	r, err := r.Scaled(ctx)
	if err != nil {
		return model.Compare{}, err
	}
	sides, err := measure.Pair(ctx, c.Quiet, c.Near, r.Options)
	if err == nil && c.Residual != nil {
		err = measure.Residual(ctx, *c.Residual, sides, r.Options)
	}
	if err != nil {
		return model.Compare{}, err
	}
	var said []model.Warning
	pairs := make([]model.Pair, len(sides))
	for i, s := range sides {
		pairs[i] = judge.Pair(*r.Settings, s.Quiet, s.Near)
		if s.OneRecording {
			pairs[i] = judge.OneRecording(pairs[i])
		}
		pairs[i].Residual = s.Residual
		if c.Playback != nil {
			heard := judge.AudiblePair(*r.Settings, pairs[i], *c.Playback)
			pairs[i].Audibility = &heard
		}
		said = slices.Concat(said, s.Warnings, s.OfResidual)
	}
	compared := model.Compare{
		Head: r.head(model.CompareSchema), Settings: *r.Settings, Pairs: pairs,
		Warnings: judge.CompareWarnings(*r.Settings, pairs, said),
	}
	compared.MayPublish = judge.MayPublishCompare(compared)
	return sealed(compared)
}

// Trend follows hum through a capture step by step, harmonics each by itself
// besides their sum. Where nothing else is asked for, the sum ends at 1 kHz.
func Trend(ctx context.Context, r Request, addr capture.Address, harmonics []int) (model.Trend, error) {
	if r.UpTo == 0 {
		r.UpTo = mains.TrendUpTo
	}
	r, err := r.Scaled(ctx)
	if err != nil {
		return model.Trend{}, err
	}
	followed, said, err := measure.Trend(ctx, addr, harmonics, r.Options)
	if err != nil {
		return model.Trend{}, err
	}
	if r.Reference > 0 {
		for i := range followed {
			warned, err := byReference(ctx, r, &followed[i])
			if err != nil {
				return model.Trend{}, err
			}
			said = append(said, warned...)
		}
	}
	t := model.Trend{
		Head: r.head(model.TrendSchema), Settings: *r.Settings, Captures: followed,
		Warnings: judge.TrendWarnings(*r.Settings, followed, said),
	}
	t.MayPublish = judge.MayPublishTrend(t)
	return sealed(t)
}

// byReference measures each span in which hum stands still by the reference, and compares it
// with the first that has ratios.
func byReference(ctx context.Context, r Request, c *model.TrendCapture) (said []model.Warning, err error) {
	r.LinesOnly, r.Progress = true, nil
	var first *model.Capture
	var moved []model.Warning // once, as each span says another figure
	for i := range c.Spans {
		x := &c.Spans[i]
		if x.State != model.Still {
			continue
		}
		addr, err := capture.ParseAddress(x.Address)
		if err != nil {
			return nil, err
		}
		measured, warned, err := measure.Captures(ctx, []capture.Address{addr}, r.Options)
		if err != nil {
			return nil, err
		}
		var changed []model.Warning
		x.Referred, changed = judge.TrendReferred(*r.Settings, c.Harmonics, first, measured[0])
		if len(moved) == 0 {
			moved = changed
		}
		if first == nil && x.Referred.Why == "" {
			first = &measured[0]
		}
		if x.Referred.Why != model.ReferenceShort {
			said = append(said, slices.DeleteFunc(warned, func(w model.Warning) bool { return !strings.HasPrefix(w.Code, "reference_") })...)
		}
	}
	return append(said, moved...), nil
}

// Check looks at what captures are and what is wrong with them; unread are the
// files and folders that are known not to be readable, each a *fault.Error. What
// can't be used is no error: the result says so.
func Check(ctx context.Context, r Request, captures []capture.Address, unread ...error) (model.Check, error) {
	files, said, err := measure.Check(ctx, captures, r.Options)
	if err != nil {
		return model.Check{}, err
	}
	for _, err := range unread {
		files = append(files, measure.Unusable(err))
	}
	return sealed(model.Check{Head: r.head(model.CheckSchema), Files: files, Warnings: judge.CheckWarnings(files, said)})
}
