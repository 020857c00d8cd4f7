package measure

import (
	"context"

	"humdiff/fft/capture"
	"humdiff/fft/driven"
	"humdiff/fft/fault"
	"humdiff/report/model"
)

// Driven measures a capture with a known source on: the ratio of the channel that the
// address names, or of the file's other one, to the drive's.
func Driven(ctx context.Context, addr capture.Address, drive int, opt driven.Options) (r model.DrivenRun, err error) {
	whole, err := capture.Open(capture.Address{Path: addr.Path, Start: addr.Start, End: addr.End})
	if err != nil {
		return r, err
	}
	cable, n := addr.Channel, whole.Info().Channels
	if cable == 0 && n == 2 && drive <= 2 {
		cable = 3 - drive
	}
	switch {
	case drive > n:
		return r, fault.In(addr.Path, fault.New("channels count from 1", "there is no channel %d to be the drive: it has %d", drive, n))
	case cable == 0 || cable == drive:
		return r, fault.In(addr.Path, fault.New(`name the cable's channel behind the file, as "run.wav#ch=1"`, "it isn't said which channel is the cable's"))
	}
	m, err := driven.Measure(ctx, capture.Pick(whole, drive-1, cable-1), opt)
	if err != nil {
		return r, named(ctx, whole, fault.In(addr.Path, err))
	}
	hash, err := whole.Hash(ctx)
	if err != nil {
		return r, err
	}
	r = DrivenRun(m)
	r.Side, r.DriveChannel = sideOf(whole.Info(), cable-1, hash), drive
	r.Named = true
	return r, nil
}

// DrivenRun is a measurement's part of a run.
func DrivenRun(m driven.Measurement) (r model.DrivenRun) {
	r.ClockPPM, r.Clipped, r.Tones = model.Of(model.Digits(m.PPM, 4)), m.Clipped[0]+m.Clipped[1], []model.DrivenTone{}
	for _, t := range m.Tones {
		r.Tones = append(r.Tones, model.DrivenTone{Hz: seven(t.Hz), DBFS: model.DB(t.Power),
			Re: seven(real(t.Ratio.Value)), Im: seven(imag(t.Ratio.Value)), U: seven(t.U), Steps: seven(t.Steps)})
	}
	return r
}
