package verify_test

import (
	"bytes"
	"errors"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/situation"
	"humdiff/fixtures/trials"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/batch"
	"humdiff/report/model"
	"humdiff/report/session"
	"humdiff/report/wire"
)

// formats are those that the captures here are written in.
var formats = []wavfile.Format{{Bits: 24}, {Bits: 16}, {Bits: 32, Float: true}, {Bits: 64, Float: true}}

// hardToTell are captures of which numbers hold what transforms round to: nothing but
// one loud tone, what repeats to the bit, what is fainter than any converter.
var hardToTell = map[string]func(t float64) float64{
	"a full-scale sine":        func(t float64) float64 { return math.Sin(2 * math.Pi * 50 * t) },
	"a square wave":            func(t float64) float64 { return 0.5 - math.Floor(math.Mod(100*t+0.001, 2)) },
	"hum on a full-scale step": func(t float64) float64 { return 0.9 + 1e-6*math.Sin(2*math.Pi*50.02*t) },
	"hum beside a loud tone":   func(t float64) float64 { return 0.98*math.Sin(2*math.Pi*1000.3*t) + 1e-7*math.Sin(2*math.Pi*50.02*t) },
	"hum far below full scale": func(t float64) float64 { return 1e-11 * math.Sin(2*math.Pi*50.02*t) },
	"a ramp":                   func(t float64) float64 { return math.Mod(t, 1) },
}

// Honest results of captures of every kind stand, in every format, however hard their
// numbers are to tell by other transforms.
func TestHonestCaptures(t *testing.T) {
	tried := 0
	try := func(name string, rate int, samples []float64, format wavfile.Format) {
		tried++
		format.Rate = rate
		dir := t.TempDir()
		path := filepath.Join(dir, "a.wav")
		kit.OK(t, wavfile.Write(path, format, samples))
		r := kit.Must(report.Measure(t.Context(), asked(), []capture.Address{whole(path)}))(t)
		at := filepath.Join(dir, "measure.json")
		kit.OK(t, os.WriteFile(at, kit.Must(wire.Write(&r))(t), 0o644))
		if v := verified(t, at); v.Verdict != model.Stands {
			t.Errorf("%s, %d bits: %s\n%s", name, format.Bits, v.Verdict, told(v))
		}
	}
	for i, name := range slices.Sorted(maps.Keys(hardToTell)) {
		for k, noise := range []float64{0, 1e-12, 1e-9, 1e-7} {
			format := formats[(i+k)%len(formats)]
			if format.Bits == 64 && noise < 1e-9 {
				continue // nothing stands there but what a transform rounds to
			}
			try(name, hardRate, hard(hardToTell[name], noise), format)
		}
	}
	for seed := range uint64(trials.Count(40)) {
		try("hum within one step", hardRate, oneStep(seed), wavfile.Format{Bits: 16})
	}
	singles := situation.Singles()
	for i := range trials.Count(10 * len(singles)) {
		k, seed := singles[i%len(singles)], i
		if !trials.Full() {
			seed += 7 * i
		}
		c := k.Draw(uint64(seed))
		try(k.Name, c.Rate, c.Samples, formats[seed%len(formats)])
	}
	t.Logf("%d honest results tried", tried)
}

const hardRate = 8000

// hard is four seconds of a signal in noise.
func hard(signal func(t float64) float64, noise float64) []float64 {
	r := rand.New(rand.NewPCG(1, 2))
	samples := make([]float64, 4*hardRate)
	for i := range samples {
		samples[i] = signal(float64(i)/hardRate) + noise*r.NormFloat64()
	}
	return samples
}

// oneStep is four seconds of hum in the noise of a converter of 16 bits that hardly leaves
// its middle: of samples −1, 0 and 1 many blocks are alike.
func oneStep(seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 3))
	hum, noise := 0.5*r.Float64(), 0.3*r.Float64()
	samples := make([]float64, 4*hardRate)
	for i := range samples {
		x := hum*math.Sin(2*math.Pi*50.02*float64(i)/hardRate) + noise*r.NormFloat64()
		samples[i] = math.Round(max(-1, min(1, x))) / (1 << 15)
	}
	return samples
}

// A session recorded blind and opened, listed on a computer that wrote no UTF-8: its
// report stands, alone and bundled, with its key's file as it was only.
func TestHonestOpened(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a")
	sitting(t, dir)
	bench := filepath.Join(dir, "bench")
	key := filepath.Join(bench, "key.toml")
	made := kit.Must(batch.NewKey(key, []string{"Grebe", "Plover"}))(t)
	for letter, cable := range made.Cables {
		for _, name := range []string{"session.toml", "runs.csv"} {
			kit.OK(t, replaceAllIn(filepath.Join(bench, name), cable, letter))
		}
	}
	kit.OK(t, replaceAllIn(filepath.Join(bench, "runs.csv"), "beside", "neben \xfcber"))
	kit.OK(t, os.RemoveAll(filepath.Join(dir, "report")))
	path := judgedReport(t, dir, key, false)
	s := kit.Must(wire.Read(kit.Must(os.ReadFile(path))(t)))(t).(*model.Session)
	if len(s.Inputs) != 3 || !slices.ContainsFunc(s.Warnings, func(w model.Warning) bool { return w.Code == "list_no_utf8" }) {
		t.Fatalf("inputs %v, warnings %v", s.Inputs, s.Warnings)
	}
	if v := verified(t, path); v.Verdict != model.Stands {
		t.Errorf("%s, not compared %v\n%s", v.Verdict, v.NotCompared, told(v))
	}
	h := honest{"opened", dir, path}
	bundle := filepath.Join(t.TempDir(), "b.zip")
	kit.OK(t, os.WriteFile(bundle, bundled(t, h, filepath.Dir(path)), 0o644))
	if v := verified(t, bundle); v.Verdict != model.Stands {
		t.Errorf("bundled: %s, not compared %v\n%s", v.Verdict, v.NotCompared, told(v))
	}
	kit.OK(t, replaceAllIn(key, "Grebe", "Heron"))
	if v := verified(t, path); v.Verdict != model.Incomplete {
		t.Errorf("with another key: %s", v.Verdict)
	}
}

// A session that names its captures, its tone and its photo by whole paths says in its
// report nothing of the folders they lay in, and stands wherever that is moved.
func TestHonestWholePaths(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "whole")
	bench := filepath.Join(dir, "bench")
	sitting(t, dir)
	tone(t, filepath.Join(bench, "tone.wav"))
	kit.OK(t, os.WriteFile(filepath.Join(bench, "bench.jpg"), []byte("a photo"), 0o644))
	for file, turns := range map[string][2]string{
		"runs.csv":     {"run", bench + "/run"},
		"session.toml": {"full_scale = '2V'\ngain = '40dB'", "calibration = [\"" + bench + "/tone.wav=0.1V\"]\nphotos = [\"" + bench + "/bench.jpg\"]"},
	} {
		text := string(kit.Must(os.ReadFile(filepath.Join(bench, file)))(t))
		edited := strings.ReplaceAll(text, turns[0], turns[1])
		if file == "runs.csv" {
			head, rows, _ := strings.Cut(text, "\n")
			edited = head + "\n" + strings.ReplaceAll(rows, turns[0], turns[1])
		}
		if edited == text {
			t.Fatalf("%s:\n%s", file, text)
		}
		kit.OK(t, os.WriteFile(filepath.Join(bench, file), []byte(edited), 0o644))
	}
	kit.OK(t, os.RemoveAll(filepath.Join(dir, "report")))
	path := sessionReport(t, dir, false)
	entries := kit.Must(os.ReadDir(filepath.Dir(path)))(t)
	for _, e := range entries {
		if text := kit.Must(os.ReadFile(filepath.Join(filepath.Dir(path), e.Name())))(t); bytes.Contains(text, []byte("/whole")) || bytes.Contains(text, []byte(filepath.Dir(dir))) {
			t.Errorf("%s names a folder", e.Name())
		}
	}
	if v := verified(t, path); v.Verdict != model.Stands || len(v.Captures) != 9 {
		t.Errorf("%s, %d captures, not compared %v\n%s", v.Verdict, len(v.Captures), v.NotCompared, told(v))
	}
	kit.OK(t, os.Rename(dir, dir+"-moved"))
	if v := verified(t, strings.Replace(path, dir, dir+"-moved", 1)); v.Verdict != model.Stands {
		t.Errorf("moved: %s, not compared %v\n%s", v.Verdict, v.NotCompared, told(v))
	}
}

// A session that takes a measurement made elsewhere in a capture's place stands, and not
// where that was forged before: the capture is measured again.
func TestMeasuredElsewhere(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a")
	sitting(t, dir)
	bench := filepath.Join(dir, "bench")
	r := asked()
	r.Scaling = report.Scaling{}
	m := kit.Must(report.Measure(t.Context(), r, []capture.Address{whole(filepath.Join(bench, "run2.wav"))}))(t)
	file := kit.Must(session.Load(filepath.Join(bench, "session.toml")))(t)
	file.Sitting.Runs[1].Measured, file.Sitting.Runs[1].Address = "run2.json", ""
	kit.OK(t, errors.Join(os.Remove(file.Path), os.Remove(filepath.Join(bench, file.RunsFile)), file.Write()))
	for _, forged := range []bool{false, true} {
		if forged {
			m.Captures[0].Hum.Level = m.Captures[0].Hum.Level.Shift(-3)
		}
		kit.OK(t, os.WriteFile(filepath.Join(bench, "run2.json"), kit.Must(wire.Write(&m))(t), 0o644))
		kit.OK(t, os.RemoveAll(filepath.Join(dir, "report")))
		if v := verified(t, sessionReport(t, dir, false)); forged != (v.Verdict == model.Differs) || forged == (v.Verdict == model.Stands) {
			t.Errorf("forged %v: %s, not compared %v\n%s", forged, v.Verdict, v.NotCompared, told(v))
		}
	}
}

func replaceAllIn(path, old, new string) error {
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	return os.WriteFile(path, bytes.ReplaceAll(text, []byte(old), []byte(new)), 0o644)
}
