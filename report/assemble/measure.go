package assemble

import (
	"humdiff/fft/mains"
	"humdiff/report/noise"
	"humdiff/report/result"
)

// Measure is the result of measuring channels one by one.
func Measure(version string, settings result.Settings, channels []Channel) result.Measure {
	r := result.Measure{
		Schema:   result.MeasureSchema,
		Tool:     result.Tool{Version: version},
		Settings: settings,
		Captures: make([]result.Capture, 0, len(channels)),
	}
	var w warnings
	w.scales(settings)
	for _, c := range channels {
		stated := scaleOf(settings, result.ForAll).capture(c)
		r.Captures = append(r.Captures, stated)
		w.channel(c)
		w.calibrated(settings, result.ForAll, c.Side)
		w.unfound(stated)
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
		Noise:  s.captureNoise(m),
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

func (s scale) captureNoise(m mains.Measurement) result.CaptureNoise {
	t, band := totals(m, noise.High)
	return result.CaptureNoise{
		BandHz:      band,
		DBFS:        result.DB(t.Flat),
		ADBFS:       result.DB(t.A),
		W468DBFS:    result.DB(t.W468),
		Detector468: noise.Detector,
		Voltage:     s.noise(t),
	}
}
