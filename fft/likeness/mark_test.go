package likeness

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fixtures/flacfile"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
)

func noise(seed uint64, n int) []float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	for i := range x {
		x[i] = math.Round(1000*r.NormFloat64()) * 0x1p-23
	}
	return x
}

// fileMarks are the marks of a file, whose blocks are cut into shorter ones.
func fileMarks(t *testing.T, path string, block int) []Mark {
	f := kit.Must(capture.Open(capture.Address{Path: path}))(t)
	p := NewPass(f.Rate(), f.Frames(), f.Channels())
	kit.OK(t, capture.Each(t.Context(), f, nil, func(frames [][]float64) {
		for at, n := 0, len(frames[0]); at < n; at += block {
			part := make([][]float64, len(frames))
			for c, x := range frames {
				part[c] = x[at:min(at+block, n)]
			}
			p.Push(part)
		}
	}))
	return p.Marks()
}

// The hash is that of the samples: not of the container, nor of what stands beside
// them, nor of how they are read; and of every sample.
func TestHashOfSamples(t *testing.T) {
	dir := t.TempDir()
	left, right := noise(1, 30011), noise(2, 30011)
	in := func(name string) string { return filepath.Join(dir, name) }
	must := func(err error) {
		kit.OK(t, err)
	}
	must(wavfile.Write(in("a.wav"), wavfile.Format{Rate: 8000, Bits: 24}, left, right))
	must(wavfile.Write(in("b.wav"), wavfile.Format{Rate: 8000, Bits: 32, RF64: true, After: []wavfile.Chunk{wavfile.Info("INAM", "Heron")}}, left, right))
	must(wavfile.Write(in("c.wav"), wavfile.Format{Rate: 8000, Bits: 32, Float: true}, left, right))
	must(flacfile.Write(in("d.flac"), flacfile.Format{Rate: 8000, Bits: 24}, left, right))
	want := fileMarks(t, in("a.wav"), 8192)
	if want[0].Hash == want[1].Hash {
		t.Error("two channels hash alike")
	}
	for name, block := range map[string]int{"a.wav": 777, "b.wav": 1, "c.wav": 4099, "d.flac": 8192} {
		for c, m := range fileMarks(t, in(name), block) {
			kit.Same(t, m.Hash, want[c].Hash, "%s, channel %d", name, c+1)
		}
	}
	seen := map[string]bool{want[0].Hash: true}
	for _, i := range []int{0, 1, 2, 3, 4, 15000, 30007, 30008, 30009, 30010} {
		other := append([]float64(nil), left...)
		other[i] += 0x1p-23
		seen[hashOf(other)] = true
	}
	seen[hashOf(left[:30010])], seen[hashOf(append(left, 0))] = true, true
	kit.Same(t, len(seen), 13, "hashes of 13 sequences")
}

func hashOf(x []float64) string {
	d := newDigest()
	d.push(x)
	return d.text()
}

// A sketch stays below 64 kB however long the capture, at any rate.
func TestSketchSize(t *testing.T) {
	for _, rate := range []int{400, 2000, 8000, 9679, 44100, 48000, 96000, 384000} {
		for _, seconds := range []float64{5, 60, 600, 3600, 6 * 3600} {
			p := planSketch(rate, int64(seconds*float64(rate)))
			bytes := min(int(seconds*p.complexRate()/2), sketchBytes)
			whole := float64(bytes) >= 0.99*seconds*p.complexRate()/2
			text, err := json.Marshal(Mark{"1:0", false, Sketch{p.complexRate(), 700, 1, make([]byte, bytes)}})
			if err != nil || len(text) > 64000 {
				t.Errorf("%d Hz, %g s: %d bytes, %v", rate, seconds, len(text), err)
			}
			if !whole && seconds <= 3600 {
				t.Errorf("%d Hz, %g s: only the first %d bytes", rate, seconds, bytes)
			}
			if nyquist := p.rate / 2; p.edge > nyquist || p.low%4 != 0 {
				t.Errorf("%d Hz: band ends at %g Hz of %g, first bin %d", rate, p.edge, nyquist, p.low)
			}
		}
	}
}

// A long capture's narrower band is found in the full band of a part of it, and what was
// resampled to another rate in what it came from.
func TestSketchesOfOtherBands(t *testing.T) {
	const rate = 3000
	x := noise(3, 500*rate)
	long, part := side(rate, x).Mark.Sketch, side(rate, x[200*rate+7:230*rate]).Mark.Sketch
	if long.Rate >= part.Rate {
		t.Fatalf("bands of %g and %g Hz", long.Rate, part.Rate)
	}
	if got := agree(long, part); !got.Agree || math.Abs(got.LagS-(200+7.0/rate)) > 0.02 {
		t.Errorf("part of a long capture: %+v", got)
	}
	other := side(2756, resampled(x[:20*rate], 3000.0/2756, 0)).Mark.Sketch
	if got := agree(side(rate, x[5*rate:25*rate]).Mark.Sketch, other); !got.Agree || math.Abs(got.LagS+5) > 0.02 {
		t.Errorf("at another rate: %+v", got)
	}
	if got := agree(long, side(rate, noise(4, 30*rate)).Mark.Sketch); got.Agree {
		t.Errorf("separate noise: %+v", got)
	}
}

// Of silence, and of less than five seconds, nothing is said.
func TestNothingToCompare(t *testing.T) {
	zeros := make([]float64, 20*8000)
	one := append(make([]float64, 0, len(zeros)), zeros...)
	for i := range one {
		one[i] = 0x1p-15
	}
	for name, pair := range map[string][2][]float64{
		"silence": {zeros, noise(1, 20*8000)}, "short": {noise(1, 20*8000), noise(1, 20*8000)[:4*8000]}, "both silent": {zeros, zeros[1:]}, "equally silent": {zeros, zeros}, "one value": {one, one},
	} {
		if a := compared(t, 8000, pair[0], 8000, pair[1]); a.Verdict != different {
			t.Errorf("%s: %+v", name, a)
		}
	}
}

// Of a list, those that are copies are suspected, by hash or by sketch, and no others.
func TestSuspects(t *testing.T) {
	a, b, c := noise(1, 20*8000), noise(2, 25*8000), noise(3, 15*8000)
	var marks []Mark
	for _, x := range [][]float64{a, b, c, b[20000:], c, noise(4, 20*8000), c[:4*8000], nil} {
		marks = append(marks, side(8000, x).Mark)
	}
	marks = append(marks, side(7000, resampled(a, 8.0/7, 0)).Mark)
	found := map[[2]int]float64{}
	for _, p := range Suspects(marks) {
		found[[2]int{p.First, p.Second}] = math.Round(10*p.LagS) / 10
	}
	kit.Alike(t, map[[2]int]float64{{1, 3}: 2.5, {2, 4}: 0, {0, 8}: 0}, found)
}
