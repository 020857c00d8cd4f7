package main

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/situation"
	"humdiff/fixtures/wavfile"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/text"
	"humdiff/report/wire"
)

// noNumber is what a computation that failed would print: NaN, infinity, or a zero with
// a sign.
var noNumber = regexp.MustCompile(`(?i:\bnan\b|\binf(?:inity)?\b)|∞|(?:^|[^\w.])[-−]0(?:\.0*)?(?:$|[^\d.\w])`)

// odd makes samples that captures shouldn't have, n of them.
var odd = []func(r *rand.Rand, n int) []float64{
	func(r *rand.Rand, n int) []float64 { return filled(n, func(int) float64 { return 0 }) },
	func(r *rand.Rand, n int) []float64 { return filled(n, func(int) float64 { return 1 }) },
	func(r *rand.Rand, n int) []float64 {
		return filled(n, func(int) float64 { return math.Ldexp(-1, -r.IntN(30)) })
	},
	func(r *rand.Rand, n int) []float64 {
		return filled(n, func(i int) float64 { return float64(1 - 2*(i%2)) })
	},
	func(r *rand.Rand, n int) []float64 {
		return filled(n, func(i int) float64 { return float64(1 - 2*(i/80%2)) })
	},
	func(r *rand.Rand, n int) []float64 {
		return filled(n, func(i int) float64 { return float64(i) / float64(n) })
	},
	func(r *rand.Rand, n int) []float64 {
		return filled(n, func(i int) float64 { return math.Sin(2 * math.Pi * float64(i) / 160) })
	},
	func(r *rand.Rand, n int) []float64 {
		return filled(n, func(i int) float64 { return 3 * math.Sin(2*math.Pi*float64(i)/160) })
	},
	func(r *rand.Rand, n int) []float64 {
		return filled(n, func(int) float64 { return r.NormFloat64() * 1e-310 })
	},
	func(r *rand.Rand, n int) []float64 {
		return filled(n, func(int) float64 { return r.NormFloat64() * 1e300 })
	},
	func(r *rand.Rand, n int) []float64 {
		return filled(n, func(int) float64 { return r.NormFloat64() * 1e-7 })
	},
	func(r *rand.Rand, n int) []float64 {
		return filled(n, func(int) float64 { return []float64{0, 0, 0, 0, 1, -1, 1e-5}[r.IntN(7)] })
	},
	func(r *rand.Rand, n int) []float64 {
		at := r.IntN(n + 1)
		return filled(n, func(i int) float64 { return []float64{0, 1}[b2i(i == at)] })
	},
	func(r *rand.Rand, n int) []float64 {
		at := r.IntN(n + 1)
		return filled(n, func(i int) float64 { return r.NormFloat64() * 1e-3 * float64(b2i(i > at)) })
	},
	func(r *rand.Rand, n int) []float64 {
		at, bad := r.IntN(n+1), []float64{math.NaN(), math.Inf(1), math.Inf(-1)}[r.IntN(3)]
		return filled(n, func(i int) float64 { return []float64{r.NormFloat64() * 1e-3, bad}[b2i(i == at)] })
	},
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

func filled(n int, of func(i int) float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = of(i)
	}
	return out
}

// swept is a capture: of a situation, odd, or of hum, with another one in a second
// channel at times; and a third of them damaged as files.
func swept(t *testing.T, r *rand.Rand, path string) {
	t.Helper()
	const seconds = 4
	f := wavfile.Format{Rate: []int{8000, 8000, 8000, 12000, 96000, 800, 50, 1}[r.IntN(8)]}
	var samples []float64
	switch singles := situation.Singles(); r.IntN(5) {
	case 0, 1:
		c := singles[r.IntN(len(singles))].Draw(r.Uint64() % 1e6)
		f.Rate, samples = c.Rate, c.Samples[:min(len(c.Samples), seconds*c.Rate)]
	case 2:
		made, err := bench.Comb{Rate: 8000, Seconds: 1 + 3*r.Float64(), Track: bench.Steady(50 + 0.1*r.NormFloat64()), FloorDBFSHz: -140 + 100*r.Float64(), Seed: r.Int64(),
			Lines: []bench.LineSpec{{Harmonic: 1 + r.IntN(5), PowerDBFS: -130 * r.Float64()}}}.Make()
		kit.OK(t, err)
		f.Rate, samples = 8000, made.Samples
	default:
		n := []int{0, 1, 2, 3, 7, 100, 1000, seconds * f.Rate, seconds * f.Rate, seconds * f.Rate}[r.IntN(10)]
		samples = odd[r.IntN(len(odd))](r, min(n, 96000))
	}
	f.Bits = []int{8, 16, 24, 24, 32}[r.IntN(5)]
	if f.Float = r.IntN(4) == 0 || slices.ContainsFunc(samples, func(x float64) bool { return x != x }); f.Float {
		f.Bits = 32 * (1 + r.IntN(2))
	}
	channels := [][]float64{samples}
	if r.IntN(4) == 0 {
		channels = append(channels, filled(len(samples), func(i int) float64 { return -samples[len(samples)-1-i] }))
	}
	kit.OK(t, wavfile.Write(path, f, channels...))
	if r.IntN(3) == 0 {
		damage(t, r, path)
	}
}

// damage changes some bytes of a file, at times in its head.
func damage(t *testing.T, r *rand.Rand, path string) {
	t.Helper()
	data := kit.Must(os.ReadFile(path))(t)
	among := []int{min(60, len(data)), len(data)}[r.IntN(2)]
	for range 1 + r.IntN(20) {
		data[r.IntN(among)] = []byte{byte(r.IntN(256)), 0, 0x7f, 0x80, 0xff}[r.IntN(5)]
	}
	kit.OK(t, os.WriteFile(path, data, 0o666))
}

// sweep is one seed's captures and what is made of them.
type sweep struct {
	*testing.T
	seed  uint64
	texts int
}

// scan fails where a text holds what is no number.
func (s *sweep) scan(what, text string) {
	s.texts++
	text = strings.ReplaceAll(text, "(NaN, infinite or beyond any signal)", "") // as samples may be
	if at := noNumber.FindStringIndex(text); at != nil {
		s.Errorf("seed %d: %s: %q", s.seed, what, text[max(0, at[0]-80):min(len(text), at[1]+40)])
	}
}

// does runs a command, scans what it prints, and gives the result where that is JSON.
// It may fail, but for no other reason than the captures.
func (s *sweep) does(args ...string) (printed string) {
	var out, errs bytes.Buffer
	if code := run(context.Background(), args, &out, &errs); code != done && code != failed {
		s.Errorf("seed %d: %v: exit %d: %s", s.seed, args, code, &errs)
	}
	s.scan(fmt.Sprint(args, " printed"), out.String())
	s.scan(fmt.Sprint(args, " said"), errs.String())
	return out.String()
}

// folder scans all files of a report, and every form of the result in it.
func (s *sweep) folder(dir, result string) {
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) == ".png" {
			return nil // nothing was made
		}
		data, err := os.ReadFile(path)
		s.scan(path, string(data))
		if d.Name() == result {
			s.forms(string(data))
		}
		return err
	})
	if err != nil {
		s.Error(err)
	}
}

// forms scans every form in which a result is printed.
func (s *sweep) forms(numbers string) {
	if numbers == "" {
		return
	}
	r, err := wire.Read([]byte(numbers))
	if err != nil {
		s.Errorf("seed %d: %v", s.seed, err)
		return
	}
	units := []doc.Unit{doc.InDBFS}
	var d func(doc.Unit) doc.Document
	switch r := r.(type) {
	case *model.Compare:
		units, d = append(units, unitsOf(r.Settings)...), func(u doc.Unit) doc.Document { return doc.Compare(*r, u) }
	case *model.Measure:
		units, d = append(units, unitsOf(r.Settings)...), func(u doc.Unit) doc.Document { return doc.Measure(*r, u) }
	case *model.Trend:
		d = func(doc.Unit) doc.Document { return doc.Trend(*r, doc.InDBFS) }
	default:
		return
	}
	for _, u := range units {
		told := d(u)
		for i, made := range []string{text.Full(told, 100), text.Short(told, 100), text.Markdown(told), text.HTML(told), text.BBCode(told)} {
			s.scan(fmt.Sprintf("%T in %s, form %d", r, u, i), made)
		}
	}
}

func unitsOf(set model.Settings) []doc.Unit {
	if !set.Volts() {
		return nil
	}
	return []doc.Unit{"dBV", "dBu", "volts"}
}

// all puts three captures through every command that takes them.
func (s *sweep) all() {
	r := rand.New(rand.NewPCG(s.seed, 16))
	dir := s.TempDir()
	var paths []string
	for _, name := range []string{"a", "b", "c"} {
		paths = append(paths, filepath.Join(dir, name+".wav"))
		swept(s.T, r, paths[len(paths)-1])
	}
	common := []string{"--no-progress"}
	if r.IntN(2) == 0 {
		common = append(common, "--full-scale", []string{"2V", "1uV ±5%", "900V"}[r.IntN(3)], "--gain", []string{"40dB", "-60dB", "0dB"}[r.IntN(3)])
	}
	s.does("check", paths[0], paths[1], "--full")
	s.does("check", dir, "--format", "json")
	s.forms(s.does(append([]string{"measure", paths[0], "--format", "json"}, common...)...))
	s.does(append([]string{"measure", paths[1], "--format", "csv"}, common...)...)
	more := append([]string{"--out", filepath.Join(dir, "compare")}, common...)
	if r.IntN(2) == 0 {
		more = append(more, "--residual", paths[2])
	}
	if len(common) > 1 && r.IntN(2) == 0 {
		more = append(more, "--programme", "1V", "--playback-gain", "30dB", "--speaker", "87dB", "--distance", "2m")
	}
	s.does(append([]string{"compare", paths[0], paths[1]}, more...)...)
	s.folder(filepath.Join(dir, "compare"), "compare.json")
	s.does(append([]string{"trend", paths[2], "--out", filepath.Join(dir, "trend")}, common...)...)
	s.folder(filepath.Join(dir, "trend"), "trend.json")
	s.session(r, dir)
}

// session has the captures as runs of one.
func (s *sweep) session(r *rand.Rand, dir string) {
	var text strings.Builder
	text.WriteString([]string{"", "[bench]\nfull_scale = \"2V\"\nmains_volts = 230\ninput_ohms = 100000\n"}[r.IntN(2)])
	for i, name := range []string{"a", "b", "c"} {
		fmt.Fprintf(&text, "[[run]]\ncable = \"Grebe\"\ncondition = %q\nexposure = \"beside\"\nrepeat = %d\ntermination_ohms = 20\nfile = %q\n",
			[]string{"quiet", "near", "near"}[i], 1+i/2, name+".wav")
	}
	file := filepath.Join(dir, "session.toml")
	if err := os.WriteFile(file, []byte(text.String()), 0o666); err != nil {
		s.Fatal(err)
	}
	s.does("batch", file, "--no-progress", "--out", filepath.Join(dir, "session"))
	s.folder(filepath.Join(dir, "session"), "")
}

// Whatever captures hold, no output says NaN or infinity, nor puts a sign before zero.
// HUMDIFF_SWEEP=N tries N seeds, HUMDIFF_SWEEP_FROM says the first.
func TestNoNumberIsOdd(t *testing.T) {
	kit.Unraced(t)
	for text, bad := range map[string]bool{"-0.00 dB": true, "−0 dB": true, "NaN %": true, "+Inf dB": true, `{"x":-0,`: true,
		"-0.001": false, "2026-03-02": false, "run-0": false, "1e-07": false, "information": false, "M1-0.5,2": false} {
		kit.Same(t, noNumber.MatchString(text), bad, "%q", text)
	}
	number := func(name string, otherwise uint64) uint64 {
		if n, err := strconv.ParseUint(os.Getenv(name), 10, 64); err == nil {
			return n
		}
		return otherwise
	}
	seeds, texts := number("HUMDIFF_SWEEP", 6), 0
	for seed := range seeds {
		s := &sweep{t, number("HUMDIFF_SWEEP_FROM", 1) + seed, 0}
		s.all()
		texts += s.texts
	}
	t.Logf("%d texts of %d seeds", texts, seeds)
}
