package assemble

import (
	"context"
	"math"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/report/result"
	"humdiff/report/volts"
)

// Calibrate gives the scale that captures of tones of known rms voltage show.
// The tones have to have come through the same gain as the captures that the
// scale is for; several of them, before and after, give the drift. A capture
// that would mislead is refused. Errors name the file.
func Calibrate(ctx context.Context, tones ...capture.Tone) (volts.Scale, error) {
	var read []result.Calibration
	for _, tone := range tones {
		c, err := calibration(ctx, tone, mains.Options{})
		if err != nil {
			return volts.Scale{}, err
		}
		if err := volts.Check(c); err != nil {
			return volts.Scale{}, err
		}
		read = append(read, c)
	}
	return volts.Calibrated(read), nil
}

// calibration measures a tone and hashes its file.
func calibration(ctx context.Context, tone capture.Tone, opt mains.Options) (result.Calibration, error) {
	file, err := capture.Open(tone.Address)
	if err != nil {
		return result.Calibration{}, err
	}
	m, err := mains.MeasureTone(ctx, file, tone.Hz, opt)
	if err != nil {
		return result.Calibration{}, named(ctx, file, err)
	}
	hash, err := capture.Hash(ctx, tone.Path)
	if err != nil {
		return result.Calibration{}, err
	}
	info := file.Info()
	c := result.Calibration{
		Side: sideOf(info, 0, hash), Address: tone.String(),
		Said: tone.Volts.Said, Volts: result.Of(tone.Volts.Value), WithinDB: result.Of(tone.Volts.Within), GivenHz: result.None,
		Hz: result.Of(m.Hz), DBFS: result.DB(m.Power), LoDBFS: result.DB(m.Lo), HiDBFS: result.DB(m.Hi),
		FullScaleVolts: result.Of(tone.Volts.Value / math.Sqrt(m.Power)),
		OthersDB:       result.DB(1 + m.Others), SecondHz: result.None, SecondDB: result.None,
		Clipped: m.Clipped, ClippedDB: result.Of(m.Loss), ScatterDB: result.Of(m.Scatter), Blocks: m.Blocks,
		PartialDB: result.Of(m.Partial), HoldsFromS: result.Of(info.StartS + m.From), HoldsToS: result.Of(info.StartS + m.To),
	}
	if tone.Hz > 0 {
		c.GivenHz = result.Of(tone.Hz)
	}
	if m.Second.Power > 0 {
		c.SecondHz, c.SecondDB = result.Of(m.Second.Hz), result.DB(m.Second.Power/m.Power)
	}
	return c, nil
}

// Recalibrate measures a calibration again, the file now at an address.
func Recalibrate(ctx context.Context, c result.Calibration, at capture.Address, opt mains.Options) (result.Calibration, error) {
	tone := capture.Tone{Address: at, Volts: capture.Stated{Value: float64(c.Volts), Within: math.NaN(), Said: c.Said}}
	if c.WithinDB.Ok() {
		tone.Volts.Within = float64(c.WithinDB)
	}
	if c.GivenHz.Ok() {
		tone.Hz = float64(c.GivenHz)
	}
	again, err := calibration(ctx, tone, opt)
	again.Side.File, again.Address = c.Side.File, c.Address
	return again, err
}
