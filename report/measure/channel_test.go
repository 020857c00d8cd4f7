package measure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fft"
	"humdiff/fft/estimate"
	"humdiff/fft/health"
	"humdiff/fft/mains"
	"humdiff/fixtures/kit"
	"humdiff/report/model"
)

func power(dB float64) float64 { return math.Pow(10, dB/10) }

func found(dB float64) mains.Level {
	return mains.Level{Detected: true, Power: power(dB), Lo: power(dB - 1), Hi: power(dB + 1), Limit: math.NaN()}
}

func notFound(limit float64) mains.Level {
	return mains.Level{Power: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), Limit: power(limit)}
}

// whiteAt48k is white noise of a density at 48 kHz.
func whiteAt48k(density float64) fft.Spectrum {
	s := fft.Spectrum{Rate: 48000, N: 1 << 14, Window: "nuttall", ENBW: 2.02, Averages: 10, Density: make([]float64, 1<<13+1)}
	for j := range s.Density {
		s.Density[j] = density
	}
	return s
}

// heard is a measurement in which mains was found.
func heard() mains.Measurement {
	line := func(h int, l mains.Level) mains.Line {
		return mains.Line{Harmonic: h, Hz: float64(h) * 49.97, Level: l, Share: mains.Share{Excess: l.Power, Noise: power(-165)}, Floor: power(-150), Steadiness: math.NaN(), Method: mains.MethodBlocks}
	}
	return mains.Measurement{
		Rate: 48000, Seconds: 60, UpTo: 5000,
		Mains:    mains.Mains{Detected: true, Nominal: 50, Hz: 49.97, U95: 0.0004, Min: 49.96, Max: 49.98, Tracked: true},
		Lines:    []mains.Line{line(1, found(-100)), line(2, notFound(-165)), line(3, found(-120))},
		Hum:      found(-99.96),
		Cycle:    &mains.Cycle{Hz: 49.97, Samples: []float64{0, 1e-5, 0, -1e-5}, Crest: 1.5},
		Tones:    []mains.Tone{{Hz: 1234.5, Power: power(-110)}},
		Spectrum: whiteAt48k(power(-150)),
		Health:   mains.Health{Facts: health.Facts{Peak: 0.5, PeakSeconds: 3, DC: -0.001}},
	}
}

func stateOf(m mains.Measurement) model.Capture {
	return newReader(Options{}).channel(model.Side{File: "a.wav", Channel: 1}, m).Capture
}

func TestNumbersReachTheirPlaces(t *testing.T) {
	c := stateOf(heard())
	for what, x := range map[string][2]float64{
		"mains": {float64(c.Mains.Hz), 49.97}, "u95": {float64(c.Mains.U95Hz), 0.0004}, "line 3": {float64(c.Lines[2].Hz), 149.91},
		"floor": {float64(c.Lines[0].FloorDBFSHz), -150}, "noise": {float64(c.Noise.DBFS), -150 + 10*math.Log10(19980)},
		"A-weighted": {float64(c.Noise.ADBFS - c.Noise.DBFS), -2.048}, // see noise_test.go
		"peak":       {float64(c.Health.PeakDBFS), 20 * math.Log10(0.5)}, "tone": {float64(c.Tones[0].DBFS), -110}, "crest": {float64(c.Cycle.Crest), 1.5},
	} {
		kit.Near(t, what, x[0], x[1], 0.002)
	}
	kit.Same(t, c.Lines[0].Level, estimate.Of(-100, -101, -99), "line 1")
	kit.Same(t, c.Lines[1].Level, estimate.Below(-165), "line 2")
	if v, _ := c.Hum.Level.Value(); v != -99.96 || c.Hum.Lines != 3 {
		t.Errorf("hum: %+v", c.Hum)
	}
}

// Times count from the file's start, where a span of it was read, too.
func TestPresentFromFileStart(t *testing.T) {
	m := heard()
	m.Present = []mains.On{{Span: mains.Span{Start: 2.5, End: 4}, Level: found(-99)}}
	c := newReader(Options{}).channel(model.Side{File: "a.wav", Channel: 1, StartS: 30}, m).Capture
	if got := c.Hum.Present[0]; got.StartS != 32.5 || got.EndS != 34 {
		t.Errorf("%+v", got)
	}
}

// Nothing found is no number at all, least of all zero.
func TestNothingFoundIsNoNumber(t *testing.T) {
	m := heard()
	nan := math.NaN()
	m.Mains = mains.Mains{Hz: nan, U95: nan, Min: nan, Max: nan}
	m.Lines, m.Cycle, m.Tones, m.Hum = nil, nil, nil, mains.Level{}
	c := stateOf(m)
	if c.Mains.NominalHz.Ok() || c.Mains.Hz.Ok() || c.Hum.Level.Known() || c.HumA.Level.Known() || c.Cycle.Hz.Ok() || c.AroundHz.Ok() {
		t.Errorf("%+v", c)
	}
	m.Health.Silent = true
	c = stateOf(m)
	if c.Noise.DBFS.Ok() || c.Noise.ADBFS.Ok() || c.Health.FloorsHigh[0].Ok() {
		t.Errorf("noise of digital silence: %+v", c.Noise)
	}
}

// pieces hands frames on as files do, in pieces of any length.
func pieces(q *quasiPeaks, channels ...[]float64) {
	r := rand.New(rand.NewPCG(1, 2))
	for at := 0; at < len(channels[0]); {
		to := min(len(channels[0]), at+1+r.IntN(5000))
		part := make([][]float64, len(channels))
		for c, x := range channels {
			part[c] = x[at:to]
		}
		q.push(part)
		at = to
	}
}

// A sine at 1 kHz of -20 dBFS reads -20, steadily, and 63 Hz by 23.9 dB less (BS.468-4,
// table 1, to its 0.1 dB). A single burst of 5 kHz that lasts 10 ms, 40 dB above it, reads
// 6.4 dB less than a steady one (from memory of the Recommendation, 41 to 55 %), 11.7 dB
// more for its frequency, and leaves the median alone.
func TestQuasiPeakReadings(t *testing.T) {
	const rate, seconds = 48000, 6
	sine := func(hz, dbfs float64) []float64 {
		x := make([]float64, seconds*rate)
		for i := range x {
			x[i] = math.Pow(10, dbfs/20) * math.Sin(2*math.Pi*math.Mod(hz*float64(i)/rate, 1))
		}
		return x
	}
	steady, low, burst := sine(1000, -20), sine(63, -20), sine(1000, -60)
	for i := 4 * rate; i < 4*rate+rate/100; i++ {
		burst[i] += 0.1 * math.Sin(2*math.Pi*math.Mod(5000*float64(i)/rate, 1))
	}
	q := newQuasiPeaks(rate, 3)
	pieces(q, steady, low, burst)
	for _, c := range []struct {
		channel              int
		highest, median, tol float64
	}{{0, -20, -20, 0.02}, {1, -43.9, -43.9, 0.12}, {2, -20 + 11.7 - 6.4, -60, 1.4}} {
		r := q.of(c.channel)
		for name, x := range map[string][2]float64{"highest": {float64(r.HighestDBFS), c.highest}, "median": {float64(r.MedianDBFS), c.median}} {
			kit.Near(t, fmt.Sprintf("channel %d, %s", c.channel, name), x[0], x[1], c.tol)
		}
	}
}

// What is shorter than the meter takes to settle has no reading.
func TestQuasiPeakOfAShortCapture(t *testing.T) {
	q := newQuasiPeaks(44100, 1)
	pieces(q, make([]float64, 2*44100))
	if r := q.of(0); r.HighestDBFS.Ok() || r.MedianDBFS.Ok() {
		t.Errorf("%+v", r)
	}
}
