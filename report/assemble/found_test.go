package assemble

import (
	"math"
	"path/filepath"
	"slices"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/raced"
	"humdiff/fixtures/wavfile"
	"humdiff/report/result"
	"humdiff/report/volts"
)

// recording is a capture of one channel as a bench makes it.
type recording struct {
	rate, bits int
	float      bool
	hz, dbfs   float64 // of the mains, and of its first line; −Inf: none
	floor      float64 // dBFS/Hz
	tones      []bench.ToneSpec
	seed       int64
}

func (r recording) samples(t *testing.T) []float64 {
	t.Helper()
	c := bench.Comb{Rate: float64(r.rate), Seconds: 10, Track: bench.Track{Hz: r.hz, WanderHz: 0.01, WanderSeconds: 20}, RandomPhase: true,
		FloorDBFSHz: r.floor, Tones: r.tones, Seed: r.seed}
	for h := 1; h <= 9 && !math.IsInf(r.dbfs, -1); h += 2 {
		c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: r.dbfs - 20*math.Log10(float64(h))})
	}
	made, err := c.Make()
	if err != nil {
		t.Fatal(err)
	}
	return made.Samples
}

func (r recording) write(t *testing.T, name string, channels ...[]float64) capture.Address {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := wavfile.Write(path, wavfile.Format{Rate: r.rate, Bits: r.bits, Float: r.float}, channels...); err != nil {
		t.Fatal(err)
	}
	return capture.Address{Path: path, End: math.Inf(1)}
}

// ofPairs are the warnings that only two captures together, or how they are
// paired, can give.
var ofPairs = []string{"left_out", "noise_interpolated", "fewer_bits", "no_mains", "mains_from_other", "mains_differ", "mains_moved", "lines_differ",
	"rates_differ", "bits_differ", "formats_differ", "channels_differ", "channels_swapped", "spans_overlap",
	"quiet_close_to_near", "near_below_quiet", "noise_differs", "gain_changed",
	"residual_differs", "residual_hum", "residual_floor", "scale_unknown", "two_scales"}

// expect holds the warnings of pairs in a comparison against those wanted.
func expect(t *testing.T, r result.Compare, want ...string) {
	t.Helper()
	var got []string
	for _, code := range codes(r.Warnings) {
		if slices.Contains(ofPairs, code) && !slices.Contains(got, code) {
			got = append(got, code)
		}
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// Whatever may differ between two captures is found where it does.
func TestFoundInPairs(t *testing.T) {
	t.Parallel()
	sound := recording{rate: 12000, bits: 24, hz: 50.01, dbfs: -75, floor: -130}
	for name, c := range map[string]struct {
		quiet, near func(*recording)
		want        []string
	}{
		"sound":         {nil, nil, nil},
		"other rate":    {nil, func(r *recording) { r.rate = 16000 }, []string{"rates_differ"}},
		"other bits":    {nil, func(r *recording) { r.bits = 16 }, []string{"bits_differ"}},
		"float":         {nil, func(r *recording) { r.bits, r.float = 32, true }, []string{"formats_differ"}},
		"60 Hz":         {nil, func(r *recording) { r.hz = 60.01 }, []string{"mains_differ"}},
		"another mains": {nil, func(r *recording) { r.hz = 50.2 }, []string{"mains_moved"}},
		"quiet is":      {func(r *recording) { r.dbfs = math.Inf(-1) }, nil, []string{"mains_from_other"}},
		"near is": {nil, func(r *recording) { r.dbfs = math.Inf(-1) },
			[]string{"mains_from_other", "near_below_quiet"}},
		"both are":         {func(r *recording) { r.dbfs = math.Inf(-1) }, func(r *recording) { r.dbfs = math.Inf(-1) }, []string{"no_mains"}},
		"hardly a rise":    {nil, func(r *recording) { r.dbfs = -95 }, []string{"quiet_close_to_near"}},
		"a fall":           {nil, func(r *recording) { r.dbfs = -110 }, []string{"near_below_quiet"}},
		"noise":            {nil, func(r *recording) { r.floor = -124 }, []string{"noise_differs"}},
		"all of it louder": {nil, func(r *recording) { r.floor, r.dbfs, r.rate = -129, -74, 48000 }, []string{"gain_changed"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			q, n := sound, sound
			q.dbfs, q.seed, n.seed = -100, 1, 2
			if c.quiet != nil {
				c.quiet(&q)
			}
			if c.near != nil {
				c.near(&n)
			}
			if slices.Contains(c.want, "gain_changed") {
				q.rate = n.rate
			}
			pairs := readPair(t, q.write(t, "q.wav", q.samples(t)), n.write(t, "n.wav", n.samples(t)))
			expect(t, Compare("", onVolts, pairs), c.want...)
		})
	}
}

// How channels are paired is said, and spans of one recording that overlap.
func TestFoundInChannels(t *testing.T) {
	t.Parallel()
	r := recording{rate: 12000, bits: 24, hz: 50.01, dbfs: -75, floor: -130, seed: 3}
	quiet := r
	quiet.dbfs, quiet.seed = -100, 4
	both := r.write(t, "both.wav", r.samples(t), r.samples(t))
	one := quiet.write(t, "one.wav", quiet.samples(t))
	first := quiet.write(t, "two.wav", quiet.samples(t), quiet.samples(t))
	second := both
	first.Channel, second.Channel = 1, 2
	expect(t, Compare("", onVolts, readPair(t, first, second)), "channels_differ")
	expect(t, Compare("", noVolt, readPair(t, one, both)), "left_out", "scale_unknown")
	early, late := one, one
	early.End, late.Start = 6, 5
	if got := codes(Compare("", onVolts, readPair(t, early, late)).Warnings); !slices.Contains(got, "spans_overlap") {
		t.Errorf("spans that overlap: %v", got)
	}
	early.End = 5
	if got := codes(Compare("", onVolts, readPair(t, early, late)).Warnings); slices.Contains(got, "spans_overlap") {
		t.Error("spans that only touch are said to overlap")
	}
}

// Where lines leave next to no room between them the noise total is interpolated.
func TestFoundWithoutRoom(t *testing.T) {
	t.Parallel()
	// Bins of 2.7 Hz, and main lobes of 8 of them.
	c := bench.Comb{Rate: 5450, Seconds: 1.5, Track: bench.Steady(50.01), RandomPhase: true, FloorDBFSHz: -140, Seed: 1}
	for h := 1; h <= 53; h++ {
		c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: -60})
		c.Tones = append(c.Tones, bench.ToneSpec{Hz: 50.01*float64(h) + 25, PowerDBFS: -60})
	}
	made, err := c.Make()
	if err != nil {
		t.Fatal(err)
	}
	r := recording{rate: 5450, bits: 24}
	crowded := r.write(t, "crowded.wav", made.Samples)
	if got := codes(Compare("", onVolts, readPair(t, crowded, crowded)).Warnings); !slices.Contains(got, "noise_interpolated") {
		t.Errorf("%v", got)
	}
}

// Of pairs that were recorded alike nothing is said but what holds of every one.
func TestSoundPairs(t *testing.T) {
	if raced.Detector {
		t.Skip("a trial")
	}
	t.Parallel()
	n := 30
	if testing.Short() {
		n = 3
	}
	for seed := range int64(n) {
		r := recording{rate: []int{8000, 44100, 48000}[seed%3], bits: 24, floor: -125 - 25*float64(seed%7)/6, hz: 50 + 0.01*float64(seed%5)}
		pair := func(dbfs float64, seed int64) capture.Address {
			left, right := r, r
			left.dbfs, right.dbfs, right.floor = dbfs, dbfs-3, r.floor+4
			left.seed, right.seed = seed, seed+1
			return r.write(t, "c.wav", left.samples(t), right.samples(t))
		}
		pairs := readPair(t, pair(-110, 4*seed), pair(-70, 4*seed+2))
		residual := recording{rate: r.rate, bits: 24, hz: 50, dbfs: math.Inf(-1), floor: r.floor - 6}
		shorted := residual.samples(t)
		residual.seed++
		if err := ReadResidual(t.Context(), residual.write(t, "r.wav", shorted, residual.samples(t)), pairs, mains.Options{}); err != nil {
			t.Fatal(err)
		}
		got := codes(Compare("", onVolts, pairs).Warnings)
		for _, code := range ofPairs {
			if slices.Contains(got, code) {
				t.Errorf("seed %d, %+v: %s", seed, r, code)
			}
		}
	}
}

// What the instrument adds by itself is told from what the cable does.
func TestFoundInResiduals(t *testing.T) {
	t.Parallel()
	sound := recording{rate: 12000, bits: 24, hz: 50.01, dbfs: -75, floor: -130, seed: 1}
	quiet := sound
	quiet.dbfs, quiet.seed = -100, 2
	near := sound.write(t, "n.wav", sound.samples(t))
	q := quiet.write(t, "q.wav", quiet.samples(t))
	for name, c := range map[string]struct {
		rate        int
		dbfs, floor float64
		want        []string
	}{
		"low":            {12000, -100, -140, nil},
		"hum of its own": {12000, -80, -140, []string{"residual_hum"}},
		"as noisy":       {12000, -100, -130.5, []string{"residual_floor"}},
		"another rate":   {16000, -100, -140, []string{"residual_differs"}},
	} {
		pairs := readPair(t, q, near)
		r := recording{rate: c.rate, bits: 24, hz: 50.02, dbfs: c.dbfs, floor: c.floor, seed: 3}
		if err := ReadResidual(t.Context(), r.write(t, "r.wav", r.samples(t)), pairs, mains.Options{}); err != nil {
			t.Fatal(err)
		}
		got := slices.DeleteFunc(codes(Compare("", onVolts, pairs).Warnings), func(code string) bool { return !slices.Contains(ofPairs, code) })
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

// tone is ten seconds of a tone as a calibrator gives it.
func tone(hz, dbfs, floor float64, also ...bench.ToneSpec) []float64 {
	c := bench.Comb{Rate: 12000, Seconds: 10, Track: bench.Steady(50), FloorDBFSHz: floor, Seed: 5,
		Tones: append([]bench.ToneSpec{{Hz: hz, PowerDBFS: dbfs}}, also...)}
	made, err := c.Make()
	if err != nil {
		panic(err)
	}
	return made.Samples
}

// What makes a calibration doubtful is found in it, and nothing in a sound one.
func TestFoundInTones(t *testing.T) {
	t.Parallel()
	shaped := func(gain func(seconds float64) float64) []float64 {
		x := tone(55, -6, -130)
		for i := range x {
			x[i] *= gain(float64(i) / 12000)
		}
		return x
	}
	for name, c := range map[string]struct {
		samples []float64
		want    []string
	}{
		"sound":       {tone(55, -6, -130), nil},
		"a kilohertz": {tone(997, -6, -130), []string{"calibration_far"}},
		// Thirty decibels down: 10·lg(1 + 10⁻³) = 0.0043 dB is nothing, 26 down 0.011 dB.
		"hardly a second tone": {tone(55, -6, -130, bench.ToneSpec{Hz: 71, PowerDBFS: -36.5}), nil},
		"a second tone":        {tone(55, -6, -130, bench.ToneSpec{Hz: 71, PowerDBFS: -32}), []string{"calibration_other_tones"}},
		// Half a second at 2 % less, of ten.
		"a dip": {shaped(func(s float64) float64 {
			if s > 5 && s < 5.5 {
				return 0.98
			}
			return 1
		}), []string{"calibration_partial"}},
		// Half a percent to either side, 0.043 dB, slower than a block: 0.03 dB rms.
		"a swing": {shaped(func(s float64) float64 { return 1 + 0.005*math.Sin(2*math.Pi*s/9) }), []string{"calibration_unsteady"}},
		// 29 dB over the noise in 1 Hz: by the Cramér–Rao bound ±0.14 dB in ten seconds.
		"noise": {tone(55, -46, -75), []string{"calibration_other_tones", "calibration_noisy"}},
		"tops barely cut": {func() []float64 {
			x := tone(55, -6, -130)
			for i := range x {
				x[i] = max(-1, min(32767.0/32768, x[i]*1.9965))
			}
			return x
		}(), []string{"calibration_clipped"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := recording{rate: 12000, bits: 24}
			said := saying(t, r.write(t, "tone.wav", c.samples), "1V ±0.1%")
			if name == "noise" { // its voltage is that of the tone alone
				said.Hz = 55
			}
			s, err := Calibrate(t.Context(), said)
			if err != nil {
				t.Fatal(err)
			}
			got := codes(Measure("", Settings(mains.Options{}, s), nil).Warnings)
			if !slices.Equal(got, c.want) {
				t.Errorf("%v, want %v: %+v", got, c.want, s.Tones[0])
			}
		})
	}
}

// Drift between two calibrations of one scale, a step between two scales, tones
// that can't be compared, and calibrations made with other settings are each found
// alone, with the figures they were simulated with.
func TestFoundInScales(t *testing.T) {
	t.Parallel()
	r := recording{rate: 12000, bits: 24, hz: 50.01, floor: -130, dbfs: -75, seed: 1}
	quiet := r
	quiet.dbfs, quiet.seed = -100, 2
	pairs := readPair(t, quiet.write(t, "q.wav", quiet.samples(t)), r.write(t, "n.wav", r.samples(t)))
	read := func(r recording, hz, gainDB float64) capture.Tone {
		x := tone(hz, -6, -130)
		for i := range x {
			x[i] *= math.Pow(10, gainDB/20)
		}
		return saying(t, r.write(t, "tone.wav", x), "1V ±0%")
	}
	scale := func(tones ...capture.Tone) volts.Scale {
		s, err := Calibrate(t.Context(), tones...)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	other := r
	other.bits = 16
	for name, c := range map[string]struct {
		scales      []volts.Scale
		want        []string
		drift, step float64 // dB
	}{
		"one":             {[]volts.Scale{scale(read(r, 55, 0))}, nil, math.NaN(), 0},
		"steady":          {[]volts.Scale{scale(read(r, 55, 0), read(r, 55, 0.05))}, nil, -0.05, 0},
		"drift":           {[]volts.Scale{scale(read(r, 55, 0), read(r, 55, -0.3))}, []string{"calibration_drift"}, 0.3, 0},
		"tones apart":     {[]volts.Scale{scale(read(r, 55, 0), read(r, 75, -0.3))}, []string{"calibration_tones_differ"}, 0.3, 0},
		"other format":    {[]volts.Scale{scale(read(other, 55, 0))}, []string{"calibration_differs"}, math.NaN(), 0},
		"a step":          {[]volts.Scale{scale(read(r, 55, 0)), scale(read(r, 55, -10))}, []string{"two_scales"}, math.NaN(), 10},
		"drift on a step": {[]volts.Scale{scale(read(r, 55, 0), read(r, 55, -0.3)), scale(read(r, 55, -10))}, []string{"calibration_drift", "two_scales"}, 0.3, 9.85},
	} {
		set := Settings(mains.Options{}, c.scales...)
		var got []string
		for _, code := range codes(Compare("", set, pairs).Warnings) {
			if (code == "two_scales" || len(code) > 12 && code[:12] == "calibration_") && !slices.Contains(got, code) {
				got = append(got, code)
			}
		}
		slices.Sort(got)
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
		if d := float64(set.Scales[0].DriftDB); !(math.Abs(d-c.drift) < 0.002) && !(math.IsNaN(d) && math.IsNaN(c.drift)) {
			t.Errorf("%s: drift of %g dB, want %g", name, d, c.drift)
		}
		if d := float64(set.Step.DB); !(math.Abs(d-c.step) < 0.002) {
			t.Errorf("%s: step of %g dB, want %g", name, d, c.step)
		}
	}
}

// Two calibrations that agree don't hide a gain that was changed after them; two
// that differ by the gain explain it.
func TestGainChangedBetweenScales(t *testing.T) {
	t.Parallel()
	q := recording{rate: 48000, bits: 24, hz: 50.01, dbfs: -100, floor: -130, seed: 1}
	n := q
	n.dbfs, n.floor, n.seed = -70, -129, 2
	pairs := readPair(t, q.write(t, "q.wav", q.samples(t)), n.write(t, "n.wav", n.samples(t)))
	for fullScale, want := range map[string]bool{"2V ±1%": true, "2.01V ±1%": true, "1.782V ±1%": false, "20V ±1%": false} { // 0, 0.04, −1, 20 dB
		quiet, err := volts.Stated("2V ±1%", "")
		if err != nil {
			t.Fatal(err)
		}
		near, err := volts.Stated(fullScale, "")
		if err != nil {
			t.Fatal(err)
		}
		r := Compare("", Settings(mains.Options{}, quiet, near), pairs)
		if got := slices.Contains(codes(r.Warnings), "gain_changed"); got != want {
			t.Errorf("%s: %v, want %v: %v", fullScale, got, want, codes(r.Warnings))
		}
	}
}
