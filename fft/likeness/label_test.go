package likeness

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
)

// drawnPeaks is a comb of the mains as a bench's, with a few tones beside it, read
// within a tenth of a hertz.
func drawnPeaks(r *rand.Rand, f0 float64) []Peak {
	var peaks []Peak
	slope := 0.5 + r.Float64()
	for h := 1.0; h <= 20; h++ {
		db := -60 - slope*h + 6*r.NormFloat64()
		if math.Mod(h, 2) == 0 {
			db -= 10
		}
		if db > -90 {
			peaks = append(peaks, Peak{f0*h + 0.05*r.NormFloat64(), math.Pow(10, db/10)})
		}
	}
	for range r.IntN(4) {
		peaks = append(peaks, Peak{20 + 2000*r.Float64(), math.Pow(10, -7-3*r.Float64())})
	}
	return peaks
}

// A wrong label is found from the comb, and none doubted that is right.
func TestJudgeRate(t *testing.T) {
	pairs := [][2]float64{{48000, 44100}, {44100, 48000}, {96000, 48000}, {96000, 88200}, {88200, 96000}, {88200, 44100}, {192000, 96000}, {48000, 32000}}
	const draws = 300
	found, doubted := 0, 0
	for seed := range uint64(draws) {
		r := rand.New(rand.NewPCG(seed, 5))
		f0 := []float64{50, 60}[r.IntN(2)] + 0.1*(r.Float64()-0.5)
		p := pairs[r.IntN(len(pairs))]
		truth, label := p[0], p[1]
		n, is := JudgeRate(label, drawnPeaks(r, f0*label/truth))
		if rates, _ := n.Get("rates_hz").([]float64); is && len(rates) == 1 && rates[0] == truth {
			found++
		} else {
			t.Logf("%v as %v, %.2f Hz: %v", truth, label, f0, n)
		}
		if n, is := JudgeRate(label, drawnPeaks(r, f0)); is {
			doubted++
			t.Logf("sound at %v, %.2f Hz: %v", label, f0, n)
		}
		var tones []Peak // music, or no mains
		for range 3 + r.IntN(30) {
			tones = append(tones, Peak{20 + 2000*r.Float64(), math.Pow(10, -7-3*r.Float64())})
		}
		if n, is := JudgeRate(label, tones); is {
			doubted++
			t.Logf("tones at %v: %v", label, n)
		}
	}
	t.Logf("of %d wrong labels %d found; %d of %d right ones doubted", draws, found, doubted, 2*draws)
	if found < draws*97/100 || doubted > 0 {
		t.Error("too few found, or right ones doubted")
	}
}

// 48 kHz labelled 96 has its lines at 100, 200, 300 Hz. A rectifier makes those as well:
// only where they run as the mains' harmonics do it is asked.
func TestJudgeRateTwice(t *testing.T) {
	comb := func(db ...float64) (peaks []Peak) {
		for i, v := range db {
			peaks = append(peaks, Peak{100 * float64(i+1), math.Pow(10, v/10)})
		}
		return peaks
	}
	n, is := JudgeRate(96000, comb(-60, -85, -65, -88, -70, -90, -72, -95))
	if !is || n.Code != rateLabelPerhaps || n.Get("rates_hz").([]float64)[0] != 48000 {
		t.Errorf("mains at twice its frequency: %v", n)
	}
	if n, is := JudgeRate(96000, comb(-60, -66, -71, -75, -79, -82, -85, -90)); is {
		t.Errorf("a rectifier: %v", n)
	}
}

// The whole way, from samples.
func TestJudgeRateOfMeasurement(t *testing.T) {
	c := bench.Comb{Rate: 48000, Seconds: 12, Track: bench.Track{Hz: 50.02, WanderHz: 0.01, WanderSeconds: 20}, FloorDBFSHz: -150, RandomPhase: true, Seed: 3}
	for h := 1; h <= 15; h++ {
		c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: -70 - float64(h) - 10*float64((h+1)%2)})
	}
	k := kit.Must(c.Make())(t)
	for label, wrong := range map[int]bool{44100: true, 48000: false} {
		m := kit.Must(mains.Measure(context.Background(), capture.Samples(label, k.Samples), mains.Options{}))(t)
		n, is := JudgeRate(float64(label), Peaks(m[0]))
		if is != wrong || is && n.Get("rates_hz").([]float64)[0] != 48000 {
			t.Errorf("labelled %d: %v", label, n)
		}
	}
}

func TestOddOnes(t *testing.T) {
	usual := Facts{Rate: 96000, Bits: 24, Channels: 1, Seconds: 60, NoiseDBFSPerHz: -150}
	with := func(name string, change func(*Facts)) Facts {
		f := usual
		f.Name = name
		change(&f)
		return f
	}
	files := []Facts{
		with("a", func(f *Facts) { f.Seconds = 62 }),
		with("b", func(f *Facts) { f.Rate = 48000; f.NoiseDBFSPerHz = math.NaN() }),
		with("c", func(f *Facts) { f.Seconds = 20; f.Bits = 16 }),
		with("d", func(f *Facts) { f.NoiseDBFSPerHz = -140 }),
		with("e", func(f *Facts) { f.Channels = 2 }),
		with("f", func(*Facts) {}),
	}
	want := []note.Note{
		note.New(oddRate, "files", []string{"b"}, "rates_hz", []float64{48000}, "usual_hz", 96000),
		note.New(oddBits, "files", []string{"c"}, "bits", []float64{16}, "usual_bits", 24),
		note.New(oddChannels, "files", []string{"e"}, "channels", []float64{2}, "usual_channels", 1),
		note.New(oddLength, "files", []string{"c"}, "seconds", []float64{20}, "usual_s", 60),
		note.New(oddFloor, "files", []string{"d"}, "off_db", []float64{10}, "usual_dbfs_hz", -150),
	}
	kit.Alike(t, want, OddOnes(files))
	half := append(files[:0:0], files[5], files[5], files[1], files[1])
	if notes := OddOnes(half); notes != nil {
		t.Errorf("two of four are as usual as the others: %v", notes)
	}
	if notes := OddOnes(files[:3]); notes != nil {
		t.Errorf("three files: %v", notes)
	}
}

func TestNamesDiffer(t *testing.T) {
	ask := [][2]string{
		{"Heron 20ohm quiet.wav", "Osprey 20ohm near.wav"},
		{"bench/heron-quiet.wav", `C:\bench\osprey_near_2.flac`},
		{"2026-03-01 Heron.wav", "2026-03-01 Osprey near.wav"},
	}
	for _, p := range ask {
		if n, is := NamesDiffer(p[0], p[1]); !is || n.Code != otherCable {
			t.Errorf("%q: not asked", p)
		}
	}
	fine := [][2]string{
		{"Heron 20ohm quiet.wav", "Heron 20ohm near.wav"},
		{"heron_quiet.wav", "HERON2 near.wav"},
		{"quiet.wav", "near.wav"},
		{"quiet.wav", "Heron near.wav"},
		{"Heron long quiet.wav", "Heron silver near.wav"},
		{"01 quiet 44k1.wav", "02 near 48k.wav"},
	}
	for _, p := range fine {
		if n, is := NamesDiffer(p[0], p[1]); is {
			t.Errorf("%q: %v", p, n)
		}
	}
	n, _ := NamesDiffer("Heron 20ohm quiet.wav", "Osprey 20ohm near.wav")
	kit.Alike(t, note.New(otherCable, "quiet", []string{"heron"}, "near", []string{"osprey"}), n)
}
