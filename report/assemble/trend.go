package assemble

import (
	"context"
	"math"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/report/result"
	"humdiff/report/trend"
)

// Followed is one channel of a capture, step by step.
type Followed struct {
	result.Side
	mains.Steps
	FileWarnings []note.Note
}

// Follow measures a capture step by step: the channel that its address names, or
// every one that carries a signal.
func Follow(ctx context.Context, addr capture.Address, opt mains.Options, chosen []int) ([]Followed, error) {
	file, err := capture.Open(addr)
	if err != nil {
		return nil, err
	}
	var hash string
	var steps []mains.Steps
	both, ctx := errgroup.WithContext(ctx)
	both.Go(func() (err error) { hash, err = capture.Hash(ctx, addr.Path); return err })
	both.Go(func() (err error) {
		if steps, err = mains.MeasureSteps(ctx, file, opt, chosen); err != nil {
			return named(ctx, file, err)
		}
		return nil
	})
	if err := both.Wait(); err != nil {
		return nil, err
	}
	var all []Followed
	for c, s := range steps {
		all = append(all, Followed{Side: sideOf(file.Info(), c, hash), Steps: s, FileWarnings: file.Warnings()})
	}
	kept, _ := sounding(all, func(f Followed) bool { return f.Health.Silent })
	return kept, nil
}

// Trend is the result of following channels.
func Trend(version string, settings result.Settings, channels []Followed, chosen []int) result.Trend {
	r := result.Trend{
		Schema: result.TrendSchema, Tool: result.Tool{Version: version}, Settings: settings,
		Captures: make([]result.TrendCapture, 0, len(channels)),
	}
	var w warnings
	w.scales(settings)
	for _, c := range channels {
		r.Captures = append(r.Captures, scaleOf(settings, result.ForAll).followed(c, chosen))
		file := c.Side
		file.Channel = 0
		w.pass(file, c.FileWarnings)
		w.pass(c.Side, c.Warnings)
		w.calibrated(settings, result.ForAll, c.Side)
		if !c.Mains.Detected && !c.Health.Silent {
			w.add(c.Side, "no_mains", "captures", 1, "limits", false, "followed", true)
		}
	}
	r.Warnings = w.list()
	return r
}

func (s scale) followed(c Followed, chosen []int) result.TrendCapture {
	r := result.TrendCapture{
		Side: c.Side, Mains: captureMains(c.Mains), StepS: result.None, Lines: c.Steps.Harmonics,
		LeftOut: append([]int{}, c.LeftOut...), Harmonics: append([]int{}, chosen...),
		Steps: []result.TrendStep{}, Spans: []result.TrendSpan{}, Loudest: -1,
	}
	if len(c.Hum) == 0 {
		return r
	}
	r.StepS = result.Of(c.Steps.Seconds)
	for i, l := range c.Hum {
		step := result.TrendStep{StartS: result.Of(c.at(i)), Hum: s.step(l.Level), Lines: []result.StepLevel{}}
		for _, h := range chosen {
			level := unknown
			if list := c.Steps.Lines[h]; i < len(list) {
				level = list[i].Level
			}
			step.Lines = append(step.Lines, s.step(level))
		}
		r.Steps = append(r.Steps, step)
	}
	for _, x := range trend.Spans(c.Hum, c.Steps.Seconds) {
		r.Spans = append(r.Spans, s.span(c, x))
		r.Spans[len(r.Spans)-1].Lines = s.spanLines(c, x, chosen)
		last := len(r.Spans) - 1
		if x.Still && x.Detected && (r.Loudest < 0 || r.Spans[last].Hum.DBFS > r.Spans[r.Loudest].Hum.DBFS) {
			r.Loudest = last
		}
	}
	return r
}

// at is when step i begins, counted from the file's start.
func (c Followed) at(i int) float64 { return c.StartS + c.Start + float64(i)*c.Steps.Seconds }

func (s scale) step(l mains.Level) result.StepLevel {
	h := s.level(l)
	return result.StepLevel{State: h.State, DBFS: h.DBFS, LoDBFS: h.LoDBFS, HiDBFS: h.HiDBFS, LimitDBFS: h.LimitDBFS, Volts: h.Volts, LimitVolts: h.LimitVolts}
}

// spanLines is the mean of each chosen line over the part of a span that its
// hum's mean is taken over.
func (s scale) spanLines(c Followed, x trend.Span, chosen []int) []result.HumSide {
	from, to := x.From, x.To
	if x.Still {
		from, to = trend.Inner(x, len(c.Hum))
	}
	out := []result.HumSide{}
	for _, h := range chosen {
		level := unknown
		if list := c.Steps.Lines[h]; to <= len(list) {
			level = mains.MeanOfSteps(list[from:to])
		}
		out = append(out, s.level(level))
	}
	return out
}

// span states a span. Its address is that of the part that is safe from its
// edges, in tenths of a second; the capture's own ends are edges of nothing.
func (s scale) span(c Followed, x trend.Span) result.TrendSpan {
	r := result.TrendSpan{State: result.Moving, StartS: result.Of(c.at(x.From)), EndS: result.Of(c.at(x.To)), Hum: s.level(x.Level)}
	if x.From == 0 {
		r.StartS = result.Of(c.StartS)
	}
	if x.To == len(c.Hum) {
		r.EndS = result.Of(c.EndS)
	}
	if !x.Still {
		return r
	}
	r.State = result.Still
	from, to := trend.Inner(x, len(c.Hum))
	start, end := math.Ceil(c.at(from)*10)/10, math.Floor(c.at(to)*10)/10
	if x.From == 0 {
		start = c.StartS
	}
	if x.To == len(c.Hum) {
		end = c.EndS
	}
	r.Address = capture.Address{Path: c.File, Channel: c.Channel, Start: start, End: math.Floor(end*1000) / 1000}.String()
	return r
}
