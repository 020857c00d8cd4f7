package measure

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fft/estimate"
	"humdiff/fft/fault"
	"humdiff/fft/health"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/report/model"
	"humdiff/report/unit"
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
	kit.Unraced(t)
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

// toneOf writes four seconds of tones and says the voltage of the strongest.
func toneOf(t *testing.T, name, said string, tones ...bench.ToneSpec) unit.Tone {
	t.Helper()
	made := kit.Must(bench.Comb{Rate: rate, Seconds: 4, Track: bench.Steady(50), FloorDBFSHz: -130, Seed: 1, Tones: tones}.Make())(t)
	return saying(t, write(t, name, made.Samples), said)
}

func saying(t *testing.T, addr capture.Address, said string) unit.Tone {
	t.Helper()
	return kit.Must(unit.ParseTone(addr.Path + "=" + said))(t)
}

// A tone of 1 V that reads -6 dBFS makes full scale 10^0.3 V; limits of ±0.5 %
// are 0.0435 dB, their standard uncertainty 0.0251 dB, and 1.96 of that 0.0493.
func TestCalibrate(t *testing.T) {
	tone := toneOf(t, "tone.wav", "1000mV ±0.5%", bench.ToneSpec{Hz: 55, PowerDBFS: -6})
	s := kit.Must(Calibrate(context.Background(), Options{}, tone))(t)
	r := s.State(model.ForAll)
	kit.Near(t, "full scale, dB", 20*math.Log10(float64(r.FullScaleVolts)/math.Pow(10, 0.3)), 0, 0.003)
	kit.Near(t, "U95", float64(r.U95DB), 0.0493, 0.001)
	if want := "the 55.0 Hz tone of " + filepath.Base(tone.Path) + " is 1000mV ±0.5%"; r.Said != want || !r.Complete {
		t.Errorf("said %q, want %q", r.Said, want)
	}
	// All that is needed to do it again.
	c := r.Calibrations[0]
	level, _ := c.Level.Value()
	if len(c.SHA256) != 64 || c.File != tone.Path || c.Channel != 1 || c.EndS != 4 || c.Volts != 1 || c.Blocks < 2 ||
		math.Abs(float64(c.Hz)-55) > 0.001 || math.Abs(level+6) > 0.003 {
		t.Errorf("%+v", c)
	}
}

// Before and after differ by 0.4 dB: the scale is their middle, and anywhere
// between is as likely: 0.2/√3 = 0.1155 dB, times 1.96 is 0.2263 dB.
func TestCalibrateBeforeAndAfter(t *testing.T) {
	s, err := Calibrate(context.Background(), Options{},
		toneOf(t, "before.wav", "1V ±0%", bench.ToneSpec{Hz: 997, PowerDBFS: -6}),
		toneOf(t, "after.wav", "1V ±0%", bench.ToneSpec{Hz: 997, PowerDBFS: -6.4}))
	kit.OK(t, err)
	r := s.State(model.ForAll)
	kit.Near(t, "full scale, dBV", 20*math.Log10(float64(r.FullScaleVolts)), 6.2, 0.003)
	kit.Near(t, "drift", float64(r.DriftDB), 0.4, 0.003)
	kit.Near(t, "U95", float64(r.U95DB), 0.2263, 0.002)
	if len(r.Calibrations) != 2 || !strings.Contains(r.Said, "before.wav") || !strings.Contains(r.Said, "after.wav") {
		t.Errorf("%+v", r)
	}
}

// What would mislead is refused, and says by how much and what to do.
func TestCalibrateRefuses(t *testing.T) {
	two := toneOf(t, "two.wav", "1V", bench.ToneSpec{Hz: 997, PowerDBFS: -6}, bench.ToneSpec{Hz: 1500, PowerDBFS: -20})
	late, clipped := make([]float64, 4*rate), make([]float64, 4*rate)
	for i := range late {
		late[i] = 0.5 * math.Sin(float64(i)*0.13)
		clipped[i] = max(-1, min(1, 1.5*math.Sin(float64(i)*0.13)))
	}
	clear(late[:rate])
	for _, c := range []struct {
		tone       unit.Tone
		want, hint string
	}{
		{saying(t, write(t, "noise.wav", hum(t, 50, noHum, 1)), "1V"), "no tone", ""},
		{saying(t, write(t, "silence.wav", make([]float64, 4*rate)), "1V"), "no tone", ""},
		{saying(t, capture.Address{Path: filepath.Join(t.TempDir(), "missing.wav")}, "1V"), "", ""},
		// 14 dB below: 10·lg(1 + 10^−1.4) = 0.170 dB.
		{two, "reads 0.170 dB more", "at 997Hz"},
		{saying(t, write(t, "late.wav", late), "1V"), "lies -", "#t="},
		{saying(t, write(t, "clipped.wav", clipped), "1V"), "clipped, which takes 2.15", "lower level"},
	} {
		s, err := Calibrate(context.Background(), Options{}, c.tone)
		if err == nil || !strings.HasPrefix(err.Error(), c.tone.Path+": ") || !strings.Contains(err.Error(), c.want) || s.Known() {
			t.Errorf("%s: got %+v, %v", c.tone.Path, s, err)
		}
		kit.Has(t, c.tone.Path, fault.Hint(err), c.hint)
	}
	two.Hz = 1000 // named, the tone is taken
	if s, err := Calibrate(context.Background(), Options{}, two); err != nil || s.State("").Calibrations[0].GivenHz != 1000 {
		t.Errorf("%v", err)
	}
}
