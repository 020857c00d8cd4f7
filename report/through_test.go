package report_test

import (
	"cmp"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/model"
	"humdiff/report/wire"
)

// recording is a capture of one channel as a bench makes it.
type recording struct {
	rate, bits int
	float      bool
	hz, dbfs   float64 // of the mains, and of its first line; −Inf: none
	floor      float64 // dBFS/Hz
	tones      []bench.ToneSpec
	seconds    float64 // 0: ten
	seed       int64
}

var sound = recording{rate: 12000, bits: 24, hz: 50.01, dbfs: -75, floor: -130, seed: 1}

var none = math.Inf(-1)

func (r recording) write(t *testing.T, name string) capture.Address {
	t.Helper()
	c := bench.Comb{Rate: float64(r.rate), Seconds: cmp.Or(r.seconds, 10), Track: bench.Track{Hz: r.hz, WanderHz: 0.01, WanderSeconds: 20}, RandomPhase: true,
		FloorDBFSHz: r.floor, Tones: r.tones, Seed: r.seed}
	for h := 1; h <= 9 && !math.IsInf(r.dbfs, -1); h += 2 {
		c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: r.dbfs - 20*math.Log10(float64(h))})
	}
	made := kit.Must(c.Make())(t)
	path := filepath.Join(t.TempDir(), name)
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: r.rate, Bits: r.bits, Float: r.float}, made.Samples))
	return capture.Address{Path: path, End: math.Inf(1)}
}

func compare(t *testing.T, r report.Request, quiet, near capture.Address) model.Compare {
	t.Helper()
	return kit.Must(report.Compare(t.Context(), r, report.Compared{Quiet: quiet, Near: near}))(t)
}

func codes(list []model.Warning) (c []string) {
	for _, w := range list {
		if !slices.Contains(c, w.Code) {
			c = append(c, w.Code)
		}
	}
	return c
}

// Whatever differs between two captures is found where it does, and what doesn't
// isn't said.
func TestWhatDiffersIsFound(t *testing.T) {
	all := []string{"no_mains", "mains_from_other", "mains_differ", "mains_moved", "lines_differ", "rates_differ", "bits_differ", "formats_differ",
		"quiet_close_to_near", "near_below_quiet", "noise_differs", "gain_changed", "spans_overlap"}
	for name, c := range map[string]struct {
		change func(quiet, near *recording)
		want   []string
	}{
		"nothing":       {func(q, n *recording) { n.dbfs = -50 }, nil},
		"little":        {func(q, n *recording) { n.dbfs = -70 }, []string{"quiet_close_to_near"}},
		"the rate":      {func(q, n *recording) { n.dbfs, n.rate = -50, 16000 }, []string{"rates_differ"}},
		"the bits":      {func(q, n *recording) { n.dbfs, q.bits = -50, 32 }, []string{"bits_differ"}},
		"the format":    {func(q, n *recording) { n.dbfs, q.bits, q.float = -50, 32, true }, []string{"formats_differ"}},
		"the mains":     {func(q, n *recording) { n.dbfs, n.hz = -50, 60.02 }, []string{"mains_differ"}},
		"its frequency": {func(q, n *recording) { n.dbfs, n.hz = -50, 50.2 }, []string{"mains_moved"}},
		"quiet's mains": {func(q, n *recording) { q.dbfs, n.dbfs = none, -50 }, []string{"mains_from_other"}},
		"no mains":      {func(q, n *recording) { q.dbfs, n.dbfs = none, none }, []string{"no_mains"}},
		"it fell":       {func(q, n *recording) { n.dbfs = -85 }, []string{"near_below_quiet"}},
	} {
		q, n := sound, sound
		n.seed = 2
		c.change(&q, &n)
		got := slices.DeleteFunc(codes(compare(t, report.Request{}, q.write(t, "q.wav"), n.write(t, "n.wav")).Warnings), func(code string) bool { return !slices.Contains(all, code) })
		if slices.Sort(got); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", name, got, c.want)
		}
	}
}

// A bus's tone on line 20 of one side alone leaves that line out of both totals,
// and the totals compare.
func TestLineHiddenOnOneSide(t *testing.T) {
	write := func(name string, dbfs float64, tones ...bench.ToneSpec) capture.Address {
		c, err := bench.Comb{Rate: 8000, Seconds: 30, Track: bench.Steady(50.03), FloorDBFSHz: -140, Seed: int64(dbfs), Tones: tones,
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: dbfs}, {Harmonic: 20, PowerDBFS: dbfs}}}.Make()
		kit.OK(t, err)
		path := filepath.Join(t.TempDir(), name)
		kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24}, c.Samples))
		return capture.Address{Path: path, End: math.Inf(1)}
	}
	h := compare(t, report.Request{}, write("q.wav", -110), write("n.wav", -100, bench.ToneSpec{Hz: 1000, PowerDBFS: -70})).Pairs[0].Hum
	d, _ := h.Delta.Value()
	if !slices.Equal(h.LeftOut, []int{20}) || !(math.Abs(d-10) < 0.2) {
		t.Errorf("left out %v, delta %v; want line 20 and 10 dB", h.LeftOut, h.Delta)
	}
}

// A result can be made again from its own settings, to the last digit; its
// fingerprint is the same, and another's isn't.
func TestMadeAgain(t *testing.T) {
	quiet, near := sound, sound
	near.dbfs, near.seed = -50, 2
	q, n := quiet.write(t, "q.wav"), near.write(t, "n.wav")
	asked := report.Request{Version: "v1", Scaling: report.Scaling{FullScale: "2.0V ±3%", Gain: "40dB ±0.1dB"}}
	first := compare(t, asked, q, n)
	if v := first.Settings.FullScaleVolts; v != 0.02 || !first.Settings.Scales[0].Complete || first.Tool.Version != "v1" {
		t.Errorf("%+v", first.Settings)
	}
	r := kit.Must(report.Again(first.Settings))(t)
	again := compare(t, r, q, n)
	again.Tool = first.Tool
	a := kit.Must(wire.Write(&first))(t)
	b, err := wire.Write(&again)
	if err != nil || string(a) != string(b) || len(first.Fingerprint) != 14 {
		t.Errorf("made again it differs (%v), fingerprints %s and %s", err, first.Fingerprint, again.Fingerprint)
	}
	if other := compare(t, asked, n, q); other.Fingerprint == first.Fingerprint {
		t.Error("another result has the same fingerprint")
	}
}

// Quiet recorded with 20 dB more gain reads 20 dB more for the same hum: on two
// scales the delta is that at the input.
func TestTwoGains(t *testing.T) {
	q, n := sound, sound
	q.dbfs, q.floor, n.dbfs, n.seed = -55, -110, -45, 2
	asked := report.Request{Scaling: report.Scaling{FullScale: "2V", Quiet: report.OwnScale{Gain: "60dB ±0.2dB"}, Near: report.OwnScale{Gain: "40dB ±0.2dB"}}}
	r := compare(t, asked, q.write(t, "q.wav"), n.write(t, "n.wav"))
	d, _ := r.Pairs[0].Hum.Delta.Value()
	// ±0.2 dB with each gain: √2·0.2/√3·1.96 = 0.32 dB.
	if s := r.Settings.Step; s.DB != 20 || math.Abs(float64(s.U95DB)-0.3201) > 0.0002 || !(math.Abs(d-30) < 0.1) {
		t.Errorf("step %+v, delta %v", s, r.Pairs[0].Hum.Delta)
	}
	if got := codes(r.Warnings); !slices.Contains(got, "two_scales") {
		t.Errorf("warnings %v", got)
	}
}

// Words that contradict each other, or leave something open, are the user's to
// mend: nothing is measured, and the hint says what to write.
func TestMisuse(t *testing.T) {
	tone := []string{"tone.wav=1V"}
	for _, c := range []struct {
		r    report.Request
		hint string
	}{
		{report.Request{Scaling: report.Scaling{Gain: "40dB"}}, "--full-scale 2.0V"},
		{report.Request{Scaling: report.Scaling{FullScale: "2"}}, "such as 2.0V"},
		{report.Request{Scaling: report.Scaling{FullScale: "2V", Calibration: tone}}, "leave --full-scale"},
		{report.Request{Scaling: report.Scaling{Calibration: []string{"tone.wav"}}}, "tone.wav=1.0V"},
		{report.Request{Scaling: report.Scaling{Quiet: report.OwnScale{Gain: "60dB"}}}, "give both"},
		{report.Request{Scaling: report.Scaling{Quiet: report.OwnScale{Gain: "60dB", Calibration: tone}}}, "leave --quiet-gain out"},
		{report.Request{Scaling: report.Scaling{Calibration: tone, Near: report.OwnScale{Gain: "60dB"}}}, "--gain 40dB"},
	} {
		_, err := report.Compare(t.Context(), c.r, report.Compared{})
		if !report.IsMisuse(err) || !strings.Contains(fault.Hint(err), c.hint) {
			t.Errorf("%+v: %v, hint %q", c.r, err, fault.Hint(err))
		}
	}
	missing := report.Request{Scaling: report.Scaling{Calibration: []string{"missing.wav=1V"}}}
	if _, err := report.Measure(t.Context(), missing, nil); err == nil || report.IsMisuse(err) {
		t.Errorf("a tone that isn't there: %v", err)
	}
}

// A folder that can't be read is in the result beside the files that can.
func TestCheckWithUnread(t *testing.T) {
	r, err := report.Check(t.Context(), report.Request{}, []capture.Address{sound.write(t, "a.wav")}, &fault.Error{File: "locked", What: "cannot be read"})
	if err != nil || len(r.Files) != 2 || r.Files[1].File != "locked" || r.Files[1].Problem.What != "cannot be read" || r.Fingerprint == "" {
		t.Errorf("%+v, %v", r.Files, err)
	}
}

// The same thing noticed in two files is said of both.
func TestWarningsOfTwoFilesStayApart(t *testing.T) {
	short := recording{rate: 4000, bits: 24, hz: 50.01, dbfs: -75, floor: -130, seconds: 1.5, seed: 1}
	q, n := short.write(t, "q.wav"), short.write(t, "n.wav")
	r := kit.Must(report.Check(t.Context(), report.Request{}, []capture.Address{q, n}))(t)
	files := func(list []model.Warning) (of []string) {
		for _, w := range list {
			if w.Code == "short" {
				of = append(of, w.File)
			}
		}
		return of
	}
	want := []string{q.Path, n.Path}
	if got := files(r.Warnings); !slices.Equal(got, want) {
		t.Errorf("check: %v, want %v", got, want)
	}
	if got := files(compare(t, report.Request{}, q, n).Warnings); !slices.Equal(got, want) {
		t.Errorf("compare: %v, want %v", got, want)
	}
}
