package assemble

import (
	"context"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/report/noise"
	"humdiff/report/result"
)

// Measure is the result of measuring channels one by one.
func Measure(version string, settings result.Settings, channels []Channel) result.Measure {
	return gather(version, settings, []stated{stateAll(settings, channels)})
}

// ReadMeasured reads captures as Read does and states each as soon as it is
// measured, so that of many captures no more is held than the result has.
func ReadMeasured(ctx context.Context, version string, settings result.Settings, captures []capture.Address, opt mains.Options) (result.Measure, error) {
	return reader{opt: opt, tally: &tally{report: opt.Progress}}.stated(ctx, version, settings, captures)
}

// ReadLines is ReadMeasured without spectra, mains cycles, noise totals and the files'
// hashes, which a list of lines doesn't show: they are stated as not known, and
// nothing warns of them.
func ReadLines(ctx context.Context, version string, settings result.Settings, captures []capture.Address, opt mains.Options) (result.Measure, error) {
	return reader{opt: opt, tally: &tally{report: opt.Progress}, lines: true}.stated(ctx, version, settings, captures)
}

func (r reader) stated(ctx context.Context, version string, settings result.Settings, captures []capture.Address) (result.Measure, error) {
	each := make([]stated, len(captures))
	err := r.readEach(ctx, captures, func(i int, channels []Channel) { each[i] = stateAll(settings, channels) })
	return gather(version, settings, each), err
}

// stated is what a result says of some channels.
type stated struct {
	captures []result.Capture
	warnings []result.Warning
}

func stateAll(settings result.Settings, channels []Channel) (s stated) {
	var w warnings
	for _, c := range channels {
		one := scaleOf(settings, result.ForAll).capture(c)
		s.captures = append(s.captures, one)
		w.channel(c)
		w.calibrated(settings, result.ForAll, c.Side)
		w.unfound(one)
	}
	s.warnings = w.said
	return s
}

// gather makes one result of what was stated, in its order.
func gather(version string, settings result.Settings, all []stated) result.Measure {
	r := result.Measure{
		Schema:   result.MeasureSchema,
		Tool:     result.Tool{Version: version},
		Settings: settings,
		Captures: make([]result.Capture, 0, len(all)),
	}
	var w warnings
	w.scales(settings)
	for _, s := range all {
		r.Captures = append(r.Captures, s.captures...)
		for _, said := range s.warnings {
			w.once(said)
		}
	}
	r.Warnings = w.list()
	return r
}

func (s scale) capture(c Channel) result.Capture {
	m := c.Measurement
	hum, humA := humOf(m)
	r := result.Capture{
		Side:   c.Side,
		Mains:  captureMains(m.Mains),
		Lines:  make([]result.CaptureLine, 0, len(m.Lines)),
		Hum:    s.level(hum),
		HumA:   s.level(humA),
		Noise:  s.captureNoise(c.noise()),
		Tones:  s.tones(m),
		Health: healthOf(m.Health),
		Trace:  spectrum(m),
		Cycle:  cycle(m),

		UpToHz:     m.UpTo,
		AroundHz:   around(m.Mains),
		FinestDBFS: result.DB(m.Finest),
	}
	for _, l := range m.Lines {
		r.Lines = append(r.Lines, result.CaptureLine{Harmonic: l.Harmonic, Hz: result.Of(l.Hz), Line: s.line(l)})
	}
	return r
}

func captureMains(m mains.Mains) result.CaptureMains {
	return result.CaptureMains{
		Detected:  m.Detected,
		NominalHz: nominal(m.Nominal),
		Hz:        found(m, m.Hz),
		U95Hz:     found(m, m.U95),
		MinHz:     found(m, m.Min),
		MaxHz:     found(m, m.Max),
	}
}

func (s scale) captureNoise(t noise.Totals) result.CaptureNoise {
	return result.CaptureNoise{
		BandHz:      [2]float64{t.Lo, t.Hi},
		DBFS:        result.DB(t.Flat),
		ADBFS:       result.DB(t.A),
		W468DBFS:    result.DB(t.W468),
		Detector468: noise.Detector,
		Voltage:     s.noise(t),
	}
}
