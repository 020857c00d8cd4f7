package report_test

import (
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/flacfile"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/model"
	"humdiff/report/session"
)

// sitting is a bench drawn at random: every recording on it has the same hum, tones
// and converter, and other noise.
type sitting struct {
	bench.Comb
	*rand.Rand
	dir string
}

func sat(t *testing.T, seed uint64, rate float64) sitting {
	s := sitting{Rand: rand.New(rand.NewPCG(seed, 31)), dir: t.TempDir()}
	s.Comb = bench.Comb{Rate: rate, Seconds: s.between(14, 20), FloorDBFSHz: s.between(-150, -130), RandomPhase: true,
		Track: bench.Track{Hz: []float64{50, 60}[s.IntN(2)] + s.between(-0.02, 0.02), WanderHz: s.between(0, 0.01), WanderSeconds: 20}}
	hum, slope := s.between(-90, -50), s.between(0.3, 1.5)
	for h := 1; h <= 12; h++ {
		s.Lines = append(s.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: hum - slope*float64(h)})
	}
	return s
}

func (s sitting) between(lo, hi float64) float64 { return lo + (hi-lo)*s.Float64() }

// record makes one more recording, of hum raised by so much.
func (s sitting) record(t *testing.T, rise float64) []float64 {
	t.Helper()
	c := s.Comb
	c.Seed, c.Lines = int64(s.Uint32()), slices.Clone(s.Lines)
	for i := range c.Lines {
		c.Lines[i].PowerDBFS += rise
	}
	made := kit.Must(c.Make())(t)
	return made.Samples
}

// save writes samples under a name, at a rate that needn't be theirs.
func (s sitting) save(t *testing.T, name string, f wavfile.Format, x ...[]float64) capture.Address {
	t.Helper()
	path := filepath.Join(s.dir, name)
	err := error(nil)
	if filepath.Ext(name) == ".flac" {
		err = flacfile.Write(path, flacfile.Format{Rate: f.Rate, Bits: f.Bits}, x...)
	} else {
		err = wavfile.Write(path, f, x...)
	}
	kit.OK(t, err)
	return capture.Address{Path: path}
}

func (s sitting) format(bits int) wavfile.Format {
	return wavfile.Format{Rate: int(s.Rate), Bits: bits}
}

// trimmed leaves twelve seconds at least.
func (s sitting) trimmed(x []float64) []float64 {
	spare := len(x) - int(12*s.Rate)
	from := s.IntN(spare)
	return x[from : len(x)-s.IntN(spare-from)]
}

func louder(x []float64, db float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = v * math.Pow(10, db/20)
	}
	return y
}

func turned(x []float64) []float64 {
	for i, v := range x {
		x[i] = -v
	}
	return x
}

// saving saves one recording once more.
type saving func(t *testing.T, s sitting, x []float64) capture.Address

// waysFor are the ways of saving again that one of three tests tries: all of CI's share;
// else a third, each test another.
func waysFor(test int) map[string]saving {
	ways := maps.Clone(savedAgain)
	for i, name := range slices.Sorted(maps.Keys(ways)) {
		if i%3 != test && !trials.Shared() {
			delete(ways, name)
		}
	}
	return ways
}

var savedAgain = map[string]saving{
	"as it is": func(t *testing.T, s sitting, x []float64) capture.Address { return s.save(t, "n.wav", s.format(24), x) },
	"trimmed": func(t *testing.T, s sitting, x []float64) capture.Address {
		return s.save(t, "n.wav", s.format(24), s.trimmed(x))
	},
	"as FLAC": func(t *testing.T, s sitting, x []float64) capture.Address {
		return s.save(t, "n.flac", s.format(24), x)
	},
	"softer": func(t *testing.T, s sitting, x []float64) capture.Address {
		return s.save(t, "n.wav", s.format(24), louder(x, s.between(-6, -1)))
	},
	"all of it, upside down": func(t *testing.T, s sitting, x []float64) capture.Address {
		return s.save(t, "n.flac", s.format(24), turned(louder(s.trimmed(x), s.between(-4, -1))))
	},
	"32-bit float": func(t *testing.T, s sitting, x []float64) capture.Address {
		return s.save(t, "n.wav", wavfile.Format{Rate: int(s.Rate), Bits: 32, Float: true}, s.trimmed(x))
	},
}

// draws are the seeds of the benches that a kind is tried on. Other kinds begin with other
// seeds, so that each rate is tried.
func draws(kind string, full int) (seeds []uint64) {
	n := 1
	switch {
	case trials.Full():
		n = full
	case trials.Shared():
		n = 2
	}
	for i := range min(n, full) {
		seeds = append(seeds, uint64(len(kind)+i))
	}
	return seeds
}

var compareRates = []float64{8000, 11025, 16000, 44100}

// One recording given as quiet and as near shows no change: the comparison says so, has no
// delta, and may not be published.
func TestOneRecordingHasNoDelta(t *testing.T) {
	kit.Unraced(t)
	for name, again := range waysFor(1) {
		for _, seed := range draws(name, 12) {
			s := sat(t, seed, compareRates[seed%4])
			x := s.record(t, 0)
			r := compare(t, report.Request{}, s.save(t, "q.wav", s.format(24), x), again(t, s, x))
			p := r.Pairs[0]
			if !slices.Contains(codes(r.Warnings), model.SameRecording) || p.Hum.Delta.Known() || p.Hum.Pickup.Known() || p.Lines[0].Delta.Known() {
				t.Errorf("%s, %d: %v, delta %v", name, seed, codes(r.Warnings), p.Hum.Delta)
			}
			if m := r.MayPublish; m.State != model.NotYet || m.Why[0].Code != model.SameRecording {
				t.Errorf("%s, %d: %+v", name, seed, m)
			}
		}
	}
}

// Separate recordings are never called copies: neither of steady hum, nor of few bits
// that one seed dithers, nor of a programme that plays in both, which may be asked about.
func TestSeparateRecordingsAreNoCopies(t *testing.T) {
	kit.Unraced(t)
	for name, two := range map[string]func(t *testing.T, s sitting) (quiet, near capture.Address){
		"one bench": func(t *testing.T, s sitting) (quiet, near capture.Address) {
			return s.save(t, "q.wav", s.format(24), s.record(t, 0)), s.save(t, "n.wav", s.format(24), s.record(t, 20))
		},
		"one dither, and a programme": func(t *testing.T, s sitting) (quiet, near capture.Address) {
			a, b := s.record(t, 0), s.record(t, 20)
			level := math.Pow(10, s.between(-90, -30)/20)
			for i := range min(len(a), len(b)) {
				v := level * s.NormFloat64() * (1 + math.Sin(float64(i)/s.Rate*9))
				a[i] += v
				b[i] += v
			}
			f := s.format([]int{16, 24}[s.IntN(2)])
			for _, x := range [][]float64{a, b} {
				dither := rand.New(rand.NewPCG(7, 7))
				for i := range x {
					x[i] += math.Ldexp(dither.Float64()-dither.Float64(), 1-f.Bits)
				}
			}
			return s.save(t, "q.wav", f, a), s.save(t, "n.wav", f, b)
		},
	} {
		for _, seed := range draws(name, 12) {
			s := sat(t, seed, compareRates[seed%4])
			quiet, near := two(t, s)
			if got := codes(compare(t, report.Request{}, quiet, near).Warnings); slices.Contains(got, model.SameRecording) || name == "one bench" && slices.Contains(got, "perhaps_copy") {
				t.Errorf("%s, %d: %v", name, seed, got)
			}
		}
	}
}

// A wrong rate label in either file or in both is said, keeps the result from print, and
// isn't said of right ones.
func TestWrongRateLabelIsSaid(t *testing.T) {
	kit.Unraced(t)
	for name, c := range map[string]struct {
		truth, label float64
		both         bool
	}{
		"48 as 44.1": {48000, 44100, false}, "96 as 48": {96000, 48000, false},
		"both 48 as 44.1": {48000, 44100, true}, "both 96 as 48": {96000, 48000, true},
	} {
		for _, seed := range draws(name, 12) {
			s := sat(t, seed, c.truth)
			s.FloorDBFSHz -= 10
			q, n := s.record(t, 0), s.record(t, 10)
			right, wrong := s.format(24), wavfile.Format{Rate: int(c.label), Bits: 24}
			quiet := s.save(t, "q.wav", right, q)
			if c.both {
				quiet = s.save(t, "q.wav", wrong, q)
			}
			r := compare(t, report.Request{}, quiet, s.save(t, "n.wav", wrong, n))
			var labelled []string
			for _, w := range r.Warnings {
				if w.Code == "rate_label" {
					labelled = append(labelled, filepath.Base(w.File))
				}
			}
			want := []string{"n.wav"}
			if c.both {
				want = []string{"q.wav", "n.wav"}
			}
			if !slices.Equal(labelled, want) || r.MayPublish.State != model.NotYet {
				t.Errorf("%s, %d: said of %v, want %v; %+v", name, seed, labelled, want, r.MayPublish)
			}
		}
	}
}

// Names that share no cable are asked about, and the result waits for no answer.
func TestPairsOfTwoCablesAreAskedAbout(t *testing.T) {
	s := sat(t, 1, 8000)
	quiet := s.save(t, "heron quiet.wav", s.format(24), s.record(t, 0))
	for name, want := range map[string]bool{"heron near 2.wav": false, "egret near.wav": true} {
		r := compare(t, report.Request{}, quiet, s.save(t, name, s.format(24), s.record(t, 20)))
		if slices.Contains(codes(r.Warnings), "other_cable") != want || r.MayPublish.State != model.OnlyAs {
			t.Errorf("%s: %v, %s", name, codes(r.Warnings), r.MayPublish.State)
		}
	}
}

// warned are the files, by their last names, of which a code is said.
func warned(list []model.Warning, code string) (files []string) {
	for _, w := range list {
		if w.Code == code {
			files = append(files, filepath.Base(w.File))
		}
	}
	return files
}

// A folder's copies are named, each once with the first, however they were saved; so are
// the files that are unlike the others; and nothing else.
func TestCheckNamesCopiesAndOddOnes(t *testing.T) {
	kit.Unraced(t)
	for name, again := range waysFor(2) {
		for _, seed := range draws(name, 1) {
			s := sat(t, seed, compareRates[seed%4])
			x := s.record(t, 0)
			folder := []capture.Address{s.save(t, "a.wav", s.format(24), x)}
			for _, other := range []string{"b.wav", "c.wav", "d.wav"} {
				folder = append(folder, s.save(t, other, s.format(24), s.record(t, 0)))
			}
			copied := again(t, s, x)
			folder = append(folder, copied, s.save(t, "odd.wav", s.format(16), louder(s.record(t, 0), 12)))
			r := kit.Must(report.Check(t.Context(), report.Request{}, folder))(t)
			if got := warned(r.Warnings, model.SameRecording); !slices.Equal(got, []string{filepath.Base(copied.Path)}) {
				t.Errorf("%s, %d: copies %v of %s", name, seed, got, copied.Path)
			}
			for _, w := range r.Warnings {
				if w.Code == model.SameRecording && w.Text("other") != folder[0].Path {
					t.Errorf("%s, %d: a copy of %s", name, seed, w.Text("other"))
				}
			}
			if got := warned(r.Warnings, "odd_bits"); !slices.Contains(got, "odd.wav") || slices.Contains(got, "b.wav") {
				t.Errorf("%s, %d: odd bits %v", name, seed, got)
			}
			if got := warned(r.Warnings, "odd_floor"); s.Rate > 16000 && !slices.Equal(got, []string{"odd.wav"}) {
				t.Errorf("%s, %d: odd floors %v", name, seed, got)
			}
		}
	}
}

// A near file saved again and listed as a further repeat is refused, both runs named; a
// first list that names it has it left out.
func TestACopyIsNoRepeat(t *testing.T) {
	kit.Unraced(t)
	for name, again := range waysFor(0) {
		s := sat(t, uint64(len(name)), compareRates[len(name)%4])
		x := s.record(t, 20)
		s.save(t, "heron quiet 1.wav", s.format(24), s.record(t, 0))
		s.save(t, "heron near 1.wav", s.format(24), x)
		copied := filepath.Base(again(t, s, x).Path)
		third := "heron near 2" + filepath.Ext(copied)
		kit.OK(t, os.Rename(filepath.Join(s.dir, copied), filepath.Join(s.dir, third)))
		f, err := session.Guess(s.dir, false)
		kit.OK(t, err)
		left := map[string]string{}
		for i := range f.Sitting.Runs {
			r := &f.Sitting.Runs[i]
			left[r.Address], r.LeftOut = r.LeftOut, ""
		}
		if left[third] != "one recording with heron near 1.wav" || left["heron near 1.wav"] != "" || left["heron quiet 1.wav"] != "" {
			t.Errorf("%s: left out %q", name, left)
		}
		cache := t.TempDir()
		for range 2 { // measured, and kept
			_, err = report.Session(t.Context(), report.Request{}, report.Sitting{File: f, Cache: cache})
			if err == nil || !strings.Contains(err.Error(), "heron near 1.wav and "+third+" hold the same") {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}
