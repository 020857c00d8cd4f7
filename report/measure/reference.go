package measure

import (
	"context"
	"math"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/fft/transfer"
	"humdiff/report/model"
)

// Another device's clock is some parts in a million off; one that is off by less than
// leastPPM, or by less than clockDeviations of its uncertainty, may be the same.
const (
	leastPPM        = 0.3
	clockDeviations = 8
)

// sameMainsShare is by how much the frequencies of one mains may differ in two channels, of
// which one may show it badly.
const sameMainsShare = 1e-3

// refer gives a file's channels their lines' ratios to the reference, which isn't one of
// them then.
func (r reader) refer(ctx context.Context, file *capture.File, channels []channel) ([]channel, error) {
	n := r.opt.Reference
	var reference *channel
	var kept []channel
	for i := range channels {
		if channels[i].Channel == n {
			reference = &channels[i]
		} else {
			kept = append(kept, channels[i])
		}
	}
	if err := hasReference(n, file, len(kept)); err != nil {
		return nil, err
	}
	if reference == nil {
		whole, err := allOf(file)
		if err != nil {
			return nil, err
		}
		alone, err := whole.Only(n)
		if err != nil {
			return nil, err
		}
		measured, err := r.part(ctx, alone, r.tally.Share(alone.Frames(), "").Reach)
		if err != nil {
			return nil, err
		}
		reference = &measured[0]
	}
	for i := range kept {
		if err := r.relate(ctx, &kept[i], reference); err != nil {
			return nil, err
		}
	}
	return kept, nil
}

// hasReference is an error where a file has no channel to be the reference, or no other.
func hasReference(channel int, file *capture.File, others int) error {
	info := file.Info()
	if channel > info.Channels {
		return fault.In(info.Path, fault.New("channels count from 1", "there is no channel %d to be the reference: it has %d", channel, info.Channels))
	}
	if others == 0 {
		return fault.In(info.Path, fault.New("record the cable and the reference as two channels of one file", "it holds nothing but the reference, channel %d", channel))
	}
	return nil
}

// allOf is a file's span with all channels.
func allOf(file *capture.File) (*capture.File, error) {
	info := file.Info()
	return capture.Open(capture.Address{Path: info.Path, Start: info.StartS, End: info.EndS})
}

// relate gives a channel's lines their ratios to a reference, and says why there are none.
func (r reader) relate(ctx context.Context, c, reference *channel) error {
	c.reference = reference
	if hz := float64(seven(reference.mainsHz)); hz > 0 && c.mainsHz == 0 && !c.Health.Silent && c.lines.Mains.Hz != hz {
		return r.again(ctx, c, hz) // which relates it
	}
	c.Reference = &model.Reference{Channel: reference.Channel, ClockPPM: model.None, SteadyDB: model.None}
	why, err := unfit(c, reference), error(nil)
	var ratios []*transfer.Ratio
	if why == "" {
		if ratios, err = r.ratios(ctx, c, reference); err != nil {
			return err
		}
		if len(ratios) == 0 {
			why = model.ReferenceWeak
		}
	}
	args := []any{"channel", reference.Channel}
	if why == "" {
		steady := transfer.Settle(ratios)
		if steady > 0 {
			c.Reference.SteadyDB = model.DB(steady * steady)
		}
		ppm, sd := transfer.Clock(ratios, reference.mainsHz)
		c.Reference.ClockPPM = seven(ppm)
		if math.Abs(ppm) > leastPPM && math.Abs(ppm) > clockDeviations*sd {
			why, args = model.ReferenceClock, append(args, "ppm", model.Digits(ppm, 3))
		}
	}
	if c.Reference.Why = why; why != "" && c.Health.Silent {
		return nil // that has been said
	}
	if why != "" {
		c.warnings = append(c.warnings, at(c.Side, note.New(why, args...))...)
		return nil
	}
	for _, ratio := range ratios {
		c.Lines[ratio.Harmonic-1].Ratio = ratioOf(*ratio, *ratios[0], reference.Lines[ratio.Harmonic-1].Level)
	}
	return nil
}

// unfit is the code of why a channel can't be a reference; empty: it may be one.
func unfit(c, reference *channel) string {
	switch {
	case reference.Health.Clipped > 0:
		return model.ReferenceClipped
	case reference.mainsHz == 0 || c.Health.Silent:
		return model.ReferenceWeak
	case c.mainsHz > 0 && math.Abs(c.mainsHz/reference.mainsHz-1) > sameMainsShare:
		return model.ReferenceOther
	}
	return ""
}

// ratios are those of the lines in which the reference stands high enough.
func (r reader) ratios(ctx context.Context, c, reference *channel) (all []*transfer.Ratio, err error) {
	file, err := allOf(c.source)
	if err != nil {
		return nil, err
	}
	both := capture.Pick(file, reference.Channel-1, c.Channel-1)
	together, err := mains.MeasureTogether(ctx, both, []mains.Measurement{reference.lines, c.lines}, r.opt.Options)
	if err != nil {
		return nil, named(ctx, file, err)
	}
	x, y := together.Of[0], together.Of[1]
	for h := range x.Phasors {
		if reference.Lines[h].Hidden || c.Lines[h].Hidden || !reference.Lines[h].Level.Measured() {
			continue
		}
		ratio, ok := transfer.Of(transfer.Line{Harmonic: h + 1, Seconds: together.Seconds, Weight: together.Weights,
			Cable: y.Phasors[h], Reference: x.Phasors[h], CableNoise: y.Noise[h], ReferenceNoise: x.Noise[h], Common: y.Common[h]})
		if ok && ratio.SNR >= transfer.LeastSNR && ratio.Spans >= transfer.LeastSpans {
			all = append(all, &ratio)
		}
	}
	return all, nil
}

// ratioOf is a line's ratio; first is that of the lowest line, which shows how the reference
// turns if it is the fundamental's. level is the reference's line's: phasors, averaged over
// seconds, lose of it what a harmonic strays from the fundamental's phase.
func ratioOf(r, first transfer.Ratio, level model.Estimate) *model.Ratio {
	turn, u := math.NaN(), math.NaN()
	if first.Harmonic == 1 {
		turn, u = r.Turn(first)
	}
	const degrees = 180 / math.Pi
	dbfs, lo, hi := level.Numbers()
	return &model.Ratio{Turn: seven(turn * degrees), TurnU: seven(u * degrees), Re: seven(real(r.Value)), Im: seven(imag(r.Value)), Lo: seven(r.Lo), Hi: seven(r.Hi), Scatter: seven(r.Scatter),
		Spans: r.Spans, DBFS: model.Of(dbfs), U95DB: seven((hi - lo) / 2)}
}
