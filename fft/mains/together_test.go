package mains_test

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fft/transfer"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
)

// ratios measures two channels and gives the second's ratio to the first by harmonic − 1; nil
// where there is none.
func ratios(t *testing.T, rate int, reference, cable []float64) []*transfer.Ratio {
	t.Helper()
	src := capture.Samples(rate, reference, cable)
	of := kit.Must(mains.Measure(context.Background(), src, mains.Options{}))(t)
	together := kit.Must(mains.MeasureTogether(context.Background(), src, of, mains.Options{}))(t)
	x, y := together.Of[0], together.Of[1]
	all := make([]*transfer.Ratio, len(x.Phasors))
	for h := range all {
		r, ok := transfer.Of(transfer.Line{Harmonic: h + 1, Seconds: together.Seconds, Weight: together.Weights,
			Cable: y.Phasors[h], Reference: x.Phasors[h], CableNoise: y.Noise[h], ReferenceNoise: x.Noise[h], Common: y.Common[h]})
		if ok {
			all[h] = &r
		}
	}
	return all
}

// Real mains as a reference, and its own copy, weaker, later and with noise, as the cable:
// the ratio is what the copy was made by, at the second harmonic too, whose phase turns
// against the fundamental's.
func TestRatioOnRealMains(t *testing.T) {
	files, _ := filepath.Glob(filepath.Join(recordings, "*.wav"))
	if len(files) == 0 {
		t.Skip("the real mains recordings are not here")
	}
	rng := rand.New(rand.NewPCG(5, 6))
	inside, turned, all := [4]int{}, [4]int{}, [4]int{}
	for _, file := range files {
		x, rate := wholeOf(t, file)
		for start := 0.0; start+60 < float64(len(x))/float64(rate); start += 60 * 5 / float64(trials.Count(5)) {
			from := int(start) * rate
			x := x[from : from+60*rate]
			const delay = 3 // samples
			gain := math.Pow(10, -(10+40*rng.Float64())/20)
			reference, cable := make([]float64, len(x)-delay), make([]float64, len(x)-delay)
			for i := range cable {
				reference[i] = x[i+delay] + 1e-4*rng.NormFloat64()
				cable[i] = gain*x[i] + 1e-5*rng.NormFloat64()
			}
			f0 := meanHz(t, rate, reference)
			found := ratios(t, rate, reference, cable)
			for _, h := range []int{1, 2, 3} {
				r := found[h-1]
				if r == nil || r.SNR < transfer.LeastSNR {
					continue // too weak there
				}
				all[h]++
				if r.Lo <= gain && gain <= r.Hi {
					inside[h]++
				}
				centre, _ := r.Disc()
				// The mains wanders by some 0.03 Hz meanwhile, and a delay's phase with it.
				turn, wander := 2*math.Pi*float64(h)*delay/float64(rate), 0.03
				if math.Abs(cmplx.Phase(centre*cmplx.Rect(1, turn*f0))) <= transfer.Angle(r.Lo, r.Hi)+turn*wander {
					turned[h]++
				}
			}
		}
	}
	t.Logf("modulus inside %v, phase inside %v of %v", inside, turned, all)
	for _, h := range []int{1, 2, 3} {
		if n := all[h]; n == 0 || n-min(inside[h], turned[h]) > trials.AtMost(n, 0.05, 0.001) {
			t.Errorf("harmonic %d: %d moduli and %d phases of %d within their intervals", h, inside[h], turned[h], n)
		}
	}
}

func meanHz(t *testing.T, rate int, x []float64) float64 {
	t.Helper()
	m := kit.Must(mains.Measure(context.Background(), capture.Samples(rate, x), mains.Options{}))(t)
	return m[0].Mains.Hz
}

// wholeOf reads the only channel of a file.
func wholeOf(t *testing.T, file string) (x []float64, rate int) {
	t.Helper()
	src := kit.Must(capture.Open(capture.Address{Path: file}))(t)
	kit.OK(t, capture.Each(t.Context(), src, nil, func(frames [][]float64) { x = append(x, frames[0]...) }))
	return x, src.Rate()
}

func measureTone(t *testing.T, c bench.Comb, hz float64) (mains.ToneReading, error) {
	t.Helper()
	c.Track = bench.Steady(50)
	made := kit.Must(c.Make())(t)
	return mains.MeasureTone(context.Background(), made.Source(), hz, mains.Options{})
}

func TestMeasureTone(t *testing.T) {
	for _, want := range []float64{50, 60, 997, 1000.37, 12345.6, 23000} {
		for _, seconds := range []float64{1.6, 5, 100} {
			if seconds == 100 && want != 997 {
				continue
			}
			r, err := measureTone(t, bench.Comb{Rate: 48000, Seconds: seconds, FloorDBFSHz: -130, Seed: 1,
				Tones: []bench.ToneSpec{{Hz: want, PowerDBFS: -6.3}}}, 0)
			if err != nil || math.Abs(r.Hz-want) > 0.0005 || math.Abs(db(r.Power)+6.3) > 0.002 {
				t.Errorf("tone of %g Hz at -6.3 dBFS, %g s: %.4f Hz, %.4f dBFS, %v", want, seconds, r.Hz, db(r.Power), err)
			}
			if math.Abs(r.Partial) > 0.001 || r.From != 0 || math.Abs(r.To-seconds) > 0.001 || r.Scatter > 0.001 || r.Clipped != 0 || r.Loss != 0 {
				t.Errorf("%g Hz, %g s: %+v", want, seconds, r)
			}
			// -130 dBFS/Hz over 24 kHz lies 79.9 dB below the tone; what the window
			// leaks beside its main lobe, at most 10 bins at -93 dB and as much on
			// the other side, lies at -80 at the most, so both at -77.
			if got := db(r.Others); got < -80.2 || got > -77 {
				t.Errorf("%g Hz, %g s: all else at %.2f dB", want, seconds, got)
			}
		}
	}
}

// Intervals of weak tones, 20 dB over the noise in a block, hold in 95 % of
// captures, neither less nor more often.
func TestToneIntervalsHold(t *testing.T) {
	if testing.Short() {
		t.Skip("300 captures")
	}
	held, n := 0, trials.Count(300)
	random := rand.New(rand.NewPCG(1, 2))
	for seed := range n {
		r, err := measureTone(t, bench.Comb{Rate: 4000, Seconds: 8, FloorDBFSHz: -60, Seed: int64(seed), RandomPhase: true,
			Tones: []bench.ToneSpec{{Hz: 300 + 100*random.Float64(), PowerDBFS: -38}}}, 0)
		kit.OK(t, err)
		if db(r.Lo) <= -38 && db(r.Hi) >= -38 {
			held++
		}
	}
	if n-held > trials.AtMost(n, 0.05, 0.001) || held > trials.AtMost(n, 0.95, 0.001) {
		t.Errorf("%d of %d intervals hold", held, n)
	}
}

func TestToneGiven(t *testing.T) {
	comb := bench.Comb{Rate: 8000, Seconds: 5, FloorDBFSHz: -130, Seed: 1,
		Tones: []bench.ToneSpec{{Hz: 1000, PowerDBFS: -10}, {Hz: 61, PowerDBFS: -30}}}
	r, err := measureTone(t, comb, 60)
	if err != nil || math.Abs(r.Hz-61) > 0.001 || math.Abs(db(r.Power)+30) > 0.002 || math.Abs(r.Second.Hz-1000) > 0.1 {
		t.Errorf("%+v, %v", r, err)
	}
	r, err = measureTone(t, comb, 0)
	if err != nil || math.Abs(r.Hz-1000) > 0.001 || math.Abs(db(r.Others)+20) > 0.01 || math.Abs(db(r.Second.Power)+30) > 0.01 {
		t.Errorf("%+v, %v", r, err)
	}
	if _, err = measureTone(t, comb, 300); err == nil || !strings.Contains(err.Error(), "at 300 Hz") {
		t.Error(err)
	}
}

// A tone that drifts by 3 Hz in 30 s: 0.03 bins in a block, which the window
// makes 0.003 dB.
func TestToneDrifts(t *testing.T) {
	x := make([]float64, 30*8000)
	for i := range x {
		s := float64(i) / 8000
		x[i] = 0.5 * math.Sin(2*math.Pi*(1000*s+0.05*s*s))
	}
	r, err := mains.MeasureTone(context.Background(), capture.Samples(8000, x), 0, mains.Options{})
	if err != nil || math.Abs(r.Hz-1001.5) > 0.01 || math.Abs(db(r.Power)-20*math.Log10(0.5)) > 0.005 {
		t.Errorf("%.3f Hz, %.4f dBFS, %v", r.Hz, db(r.Power), err)
	}
}

// A tone switched on after 3 of 12 s: a quarter is missing, 10·lg 0.75 =
// −1.25 dB but for the edges, where blocks weigh less.
func TestTonePartOfTheCapture(t *testing.T) {
	x := sine(8000, 12, 0.5, 440)
	clear(x[:3*8000])
	r, err := mains.MeasureTone(context.Background(), capture.Samples(8000, x), 0, mains.Options{})
	if err != nil || r.Partial > -0.7 || r.Partial < -1.4 {
		t.Errorf("%+v, %v", r, err)
	}
	if r.From < 3 || r.From > 4.5 || r.To != 12 {
		t.Errorf("holds from %.2f to %.2f s, want 3 to 12", r.From, r.To)
	}
}

// A level that swings by ±0.2 dB has a standard deviation of 0.14 dB.
func TestToneScatters(t *testing.T) {
	x := sine(8000, 40, 0.5, 440)
	for i := range x {
		x[i] *= math.Pow(10, 0.2*math.Sin(2*math.Pi*float64(i)/8000/10)/20)
	}
	r, err := mains.MeasureTone(context.Background(), capture.Samples(8000, x), 0, mains.Options{})
	if err != nil || math.Abs(r.Scatter-0.14) > 0.02 || r.Blocks < 10 {
		t.Errorf("scatter %.3f dB of %d blocks, %v", r.Scatter, r.Blocks, err)
	}
}

func sine(rate, seconds, amplitude, hz float64) []float64 {
	x := make([]float64, int(rate*seconds))
	for i := range x {
		x[i] = amplitude * math.Sin(2*math.Pi*hz*float64(i)/rate)
	}
	return x
}

// A sine of amplitude 1.5 cut off at 1: by Fourier's integral, done here
// numerically, its fundamental falls by so much.
func TestClippedTone(t *testing.T) {
	for _, amplitude := range []float64{1.02, 1.05, 1.5} {
		x := sine(48000, 4, amplitude, 997)
		sum, clipped := 0.0, 0
		for i := range x {
			if math.Abs(x[i]) >= 1 {
				clipped++
			}
			x[i] = max(-1, min(1, x[i]))
			sum += 2 * x[i] * math.Sin(2*math.Pi*997*float64(i)/48000) / float64(len(x))
		}
		want := 20 * math.Log10(amplitude/sum)
		r, err := mains.MeasureTone(context.Background(), capture.Samples(48000, x), 0, mains.Options{})
		if err != nil || math.Abs(r.Loss-want) > 0.02*want+1e-4 {
			t.Errorf("amplitude %g: %d samples clipped, loss %.5f dB, want %.5f; %v", amplitude, r.Clipped, r.Loss, want, err)
		}
		kit.Near(t, fmt.Sprintf("amplitude %g", amplitude), db(r.Power), 20*math.Log10(sum), 0.001)
	}
}

func TestMeasureToneRefuses(t *testing.T) {
	if _, err := measureTone(t, bench.Comb{Rate: 8000, Seconds: 5, FloorDBFSHz: -130, Seed: 1}, 0); err == nil || !strings.Contains(err.Error(), "no tone") {
		t.Error(err)
	}
	x := sine(8000, 4, 0.5, 440)
	if _, err := mains.MeasureTone(context.Background(), capture.Samples(8000, x, x), 0, mains.Options{}); err == nil || !strings.Contains(err.Error(), "channels") {
		t.Errorf("two channels: %v", err)
	}
	if _, err := mains.MeasureTone(context.Background(), capture.Samples(8000, make([]float64, 40000)), 0, mains.Options{}); err == nil {
		t.Error("silence was taken for a tone")
	}
}
