package verify_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"humdiff/fft/capture"
	"humdiff/fixtures/antenna"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/source"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/model"
	"humdiff/report/plan"
	"humdiff/report/publish"
	"humdiff/report/session"
	"humdiff/report/verify"
	"humdiff/report/wire"
)

// version is the program's that makes and verifies.
const version = "1"

// record simulates four seconds of hum at a level.
func record(t testing.TB, path string, dBFS float64, seed int64, count int64, before ...wavfile.Chunk) {
	t.Helper()
	var channels [][]float64
	for i := range count {
		c := bench.Comb{Rate: 8000, Seconds: 4, Track: bench.Steady(50.02), FloorDBFSHz: -125, Seed: seed + i}
		if !math.IsNaN(dBFS) {
			c.Lines = []bench.LineSpec{{Harmonic: 1, PowerDBFS: dBFS}, {Harmonic: 3, PowerDBFS: dBFS - 12}}
		}
		made := kit.Must(c.Make())(t)
		channels = append(channels, made.Samples)
	}
	kit.OK(t, os.MkdirAll(filepath.Dir(path), 0o755))
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24, Before: before}, channels...))
}

func whole(path string) capture.Address { return capture.Address{Path: path, End: math.Inf(1)} }

func asked() report.Request {
	r := report.Request{Version: version, Scaling: report.Scaling{FullScale: "2.0V ±1%", Gain: "40dB"}}
	r.UpTo = 500
	return r
}

// comparison makes captures and a report of them in a folder, and names its JSON.
func comparison(t testing.TB, dir string) string {
	t.Helper()
	quiet, near := filepath.Join(dir, "quiet.wav"), filepath.Join(dir, "near.wav")
	record(t, quiet, -95, 1, 2)
	record(t, near, -80, 11, 2)
	r := kit.Must(report.Compare(t.Context(), asked(), report.Compared{Quiet: whole(quiet), Near: whole(near)}))(t)
	return filepath.Join(written(t, filepath.Join(dir, "report"), &r), "compare.json")
}

func written(t testing.TB, out string, r wire.Result) string {
	t.Helper()
	files := kit.Must(report.Files(r))(t)
	kit.OK(t, publish.Write(t.Context(), out, false, files))
	return out
}

// sitting makes a small session with a claim, and its report.
func sitting(t testing.TB, dir string) string {
	t.Helper()
	file := session.File{Path: filepath.Join(dir, "bench", "session.toml"), RunsFile: "runs.csv", Sitting: session.Blank()}
	s := &file.Sitting
	s.Title, s.Bench.FullScale, s.Bench.Gain = "A sitting", "2V", "40dB"
	s.Claims = []model.Claim{{Name: "rise", Says: "Grebe rises by 30 dB at most", Written: time.Date(2031, 2, 1, 0, 0, 0, 0, time.UTC), Kind: model.ClaimRise, Cable: "Grebe", DB: 30, Volts: model.None,
		Termination: model.Termination{Ohms: model.None}}}
	for i, r := range []struct {
		cable, as string
		dBFS      float64 // NaN: no hum at all
	}{{"Grebe", model.Quiet, -104}, {"Grebe", model.Near, -80}, {"Grebe", model.Near, -81}, {"Plover", model.Quiet, -100}, {"Plover", model.Near, -70}} {
		name := fmt.Sprintf("run%d.wav", i+1)
		record(t, filepath.Join(dir, "bench", name), r.dBFS, int64(20*i), 1)
		run := session.BlankRun()
		run.Cable, run.Exposure, run.Condition, run.Repeat, run.Replaced, run.Address = r.cable, "beside", r.as, 1+i%3, true, name
		run.Termination.Ohms = 20
		s.Runs = append(s.Runs, run)
	}
	kit.OK(t, file.Write())
	return sessionReport(t, dir, false)
}

// sessionReport judges the session in the folder bench of dir, and writes its report
// beside that.
func sessionReport(t testing.TB, dir string, pages bool) string {
	t.Helper()
	return judgedReport(t, dir, "", pages)
}

// judgedReport is that of a session whose key, if it has one, is opened.
func judgedReport(t testing.TB, dir, key string, pages bool) string {
	t.Helper()
	loaded := kit.Must(session.Load(filepath.Join(dir, "bench", "session.toml")))(t)
	r := asked()
	r.Scaling = report.Scaling{}
	judged := kit.Must(report.Session(t.Context(), r, report.Sitting{File: loaded, Cache: filepath.Join(dir, "kept"), Key: key, Open: key != ""}))(t)
	files := kit.Must(report.SessionFiles(&judged.Session, judged.Whole(t.Context()), pages))(t)
	out := filepath.Join(dir, "report")
	kit.OK(t, publish.Write(t.Context(), out, false, files))
	return filepath.Join(out, "session.json")
}

// passported makes a session of a known source, and its passport.
func passported(t testing.TB, dir string) string {
	file := driven(t, dir)
	p := kit.Must(report.Passport(t.Context(), report.Request{Version: version}, kit.Must(session.Load(file))(t)))(t)
	return filepath.Join(written(t, filepath.Join(dir, "report"), &p), "passport.json")
}

// drivenSession makes one that is judged with its passport for a ground.
func drivenSession(t testing.TB, dir string) string {
	driven(t, dir)
	return sessionReport(t, dir, false)
}

// driven makes a session of a known source, and of claims about its cable.
func driven(t testing.TB, dir string) (path string) {
	t.Helper()
	b := source.Bench{Rate: 8000, Seconds: 9, OutputVolts: 2, SeriesOhms: 50, ShuntOhms: 10, FullScale: 0.02, DriveFullScale: 4, InputOhms: 100e3, InputFarads: 100e-12,
		CrossFarads: 0.1e-12, Noise: 10e-9, DriveNoise: 1e-7, PPM: 20}
	for _, tone := range plan.Tones(8000) {
		b.Tones = append(b.Tones, source.Tone{Hz: tone.Hz, Peak: tone.Peak, Phase: tone.Phase})
	}
	cable := source.Cable{Farads: 2e-12, NodeFarads: 100e-12}
	file := session.File{Path: filepath.Join(dir, "bench", "session.toml"), RunsFile: "runs.csv", Sitting: session.Blank()}
	s := &file.Sitting
	s.Title, s.Bench.FullScale, s.Bench.Gain, s.Bench.InputOhms, s.Bench.MainsVolts, s.Bench.MainsHz = "A passport", "2V ±1%", "40dB", 100e3, 230, 50
	s.Drive.FullScale = "4V ±1%"
	kit.OK(t, os.MkdirAll(filepath.Join(dir, "bench"), 0o755))
	for _, l := range []model.Limit{{Value: 30e-12, Unit: "F", Hz: model.None, MainsVolts: model.None, InputOhms: model.None}, {Value: 1e-6, Unit: "V", Hz: 60, MainsVolts: 120, InputOhms: 10e3}} {
		s.Claims = append(s.Claims, model.Claim{Name: l.Unit, Written: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC), Kind: model.ClaimCoupling, Cable: "Grebe", Limit: l,
			Termination: model.Termination{Ohms: 20}, DB: model.None, Volts: model.None})
	}
	for i, ohms := range []float64{20, 2000, 20, 2000, 20, 2000} {
		r := session.BlankRun()
		r.Condition, r.Drive, r.Termination.Ohms, r.Reference, r.Address = model.Residual, model.DriveWire, model.Num(ohms), 2, fmt.Sprintf("driven%d.wav", i+1)
		if i > 1 {
			r.Condition, r.Cable, r.Repeat = model.Driven, "Grebe", i/2
		}
		y, x := b.Capture(cable, source.Wire, ohms, 1+0.02*float64(i/2), i < 2, uint64(i))
		kit.OK(t, wavfile.Write(filepath.Join(dir, "bench", r.Address), wavfile.Format{Rate: 8000, Bits: 24}, y, x))
		s.Driven = append(s.Driven, r)
	}
	for i, condition := range []string{model.Quiet, model.Near} {
		r := session.BlankRun()
		r.Cable, r.Condition, r.Exposure, r.Repeat, r.Replaced, r.Termination.Ohms, r.Address = "Grebe", condition, "beside", 1, true, 20, condition+".wav"
		record(t, filepath.Join(dir, "bench", r.Address), []float64{-100, -80}[i], int64(40*i), 1)
		s.Runs = append(s.Runs, r)
	}
	kit.OK(t, file.Write())
	return file.Path
}

// followed makes a capture and a trend of it.
func followed(t testing.TB, dir string) string {
	t.Helper()
	path := filepath.Join(dir, "survey.wav")
	record(t, path, -80, 5, 1)
	r := kit.Must(report.Trend(t.Context(), asked(), whole(path), []int{1, 3}))(t)
	return filepath.Join(written(t, filepath.Join(dir, "report"), &r), "trend.json")
}

// tone records a kilohertz of a known voltage.
func tone(t testing.TB, path string) string {
	t.Helper()
	made, err := bench.Comb{Rate: 8000, Seconds: 4, Track: bench.Steady(50.02), FloorDBFSHz: -125, Seed: 77,
		Tones: []bench.ToneSpec{{Hz: 1000, PowerDBFS: -20}}}.Make()
	kit.OK(t, err)
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: 8000, Bits: 24}, made.Samples))
	return path
}

// fullComparison is of one channel of each capture, with a residual, a calibration
// and a playback chain.
func fullComparison(t testing.TB, dir string) string {
	t.Helper()
	at := map[string]capture.Address{}
	for i, name := range []string{"quiet", "near", "residual"} {
		path := filepath.Join(dir, name+".wav")
		record(t, path, []float64{-95, -80, math.NaN()}[i], int64(1+10*i), 1)
		at[name] = capture.Address{Path: path, Channel: 1, Start: 0.5, End: 3.5}
	}
	req := asked()
	req.Scaling = report.Scaling{Calibration: []string{tone(t, filepath.Join(dir, "tone.wav")) + "=0.1V ±1% at 1kHz"}}
	residual := at["residual"]
	r, err := report.Compare(t.Context(), req, report.Compared{Quiet: at["quiet"], Near: at["near"], Residual: &residual, Playback: &model.Playback{
		ProgrammeVolts: 2, GainDB: 26, Kind: model.KindLoudspeaker, SensitivityDB: 87, DistanceMetres: 2.5, Loudspeakers: 2, MarginDB: 10}})
	kit.OK(t, err)
	return filepath.Join(written(t, filepath.Join(dir, "report"), &r), "compare.json")
}

// fullSession states all that a session may: a positive control, a playback chain, a
// photo, a calibration, claims of each kind, runs left out and runs that fail.
const fullSession = `title = "All of it"
[bench]
mains_volts = 230
mains_hz = 50
calibration = ["tone.wav=0.1V"]
input_ohms = 100000
input_farads = 1e-10
balanced = false
spacing_mm = 10
parallel_mm = 1000
notes = "A bench of wood."
photos = ["bench.jpg"]
[roles]
witness = "Old wire"
[playback]
programme = "2V"
gain = "26dB"
speaker = "87dB"
distance = "2.5m"
speakers = 2
room_margin = "10dB"
[[claim]]
name = "less"
says = "Grebe picks up less than Plover"
written = 2026-03-01
by = "a shop"
kind = "less"
cable = "Grebe"
than = "Plover"
db = 3
[[claim]]
name = "below"
says = "Plover stays below a millivolt"
written = 2026-03-03
kind = "below"
cable = "Plover"
volts = "1mV"
termination_ohms = 20
exposure = "beside"
[[claim]]
name = "rise"
says = "Grebe rises by 30 dB at most"
written = 2026-03-01
kind = "rise"
cable = "Grebe"
db = 30
[[claim]]
name = "same"
says = "Grebe and Plover are alike"
written = 2026-03-01
kind = "same"
cable = "Grebe"
than = "Plover"
db = 30
`

// fullSitting is the report of such a session, with a page for each run.
func fullSitting(t testing.TB, dir string) string {
	t.Helper()
	var text strings.Builder
	text.WriteString(fullSession)
	n := 0
	for _, c := range []struct {
		cable, ohms string
		dBFS        float64
	}{{"Grebe", "20", -80}, {"Grebe", "1000", -63}, {"Plover", "20", -70}, {"Old wire", "20", -60}} {
		for repeat := range 2 {
			for i, condition := range []string{"quiet", "near"} {
				dBFS := []float64{-104, c.dBFS + float64(repeat)}[i]
				n++
				name := fmt.Sprintf("wav/run%d.wav", n)
				began := wavfile.Broadcast{Began: time.Date(2026, 3, 2, 10, n, 0, 0, time.UTC)}
				record(t, filepath.Join(dir, "bench", name), dBFS, int64(20*n), 1, began.Chunk())
				fmt.Fprintf(&text, "[[run]]\ncable = %q\ncondition = %q\nexposure = \"beside\"\nrepeat = %d\nreplaced = true\ntermination_ohms = %s\nfile = %q\n",
					c.cable, condition, repeat+1, c.ohms, name)
			}
		}
	}
	record(t, filepath.Join(dir, "bench", "unplugged.wav"), -104, 900, 1)
	text.WriteString("[[run]]\ncable = \"Grebe\"\ncondition = \"dead\"\nexposure = \"beside\"\ntermination_ohms = 20\nfile = \"unplugged.wav\"\n")
	text.WriteString("[[run]]\ncable = \"Plover\"\ncondition = \"near\"\nexposure = \"beside\"\ntermination_ohms = 20\nfile = \"wav/run4.wav\"\nleft_out = \"a door slammed\"\n")
	text.WriteString("[[run]]\ncable = \"Plover\"\ncondition = \"near\"\nexposure = \"beside\"\ntermination_ohms = 20\nrepeat = 3\nfile = \"broken.wav\"\n")
	tone(t, filepath.Join(dir, "bench", "tone.wav"))
	for name, data := range map[string]string{"session.toml": text.String(), "bench.jpg": "a photo", "broken.wav": "RIFF"} {
		kit.OK(t, os.WriteFile(filepath.Join(dir, "bench", name), []byte(data), 0o644))
	}
	return sessionReport(t, dir, true)
}

// alone makes captures and the JSON of measuring them, with nothing beside it.
func alone(t testing.TB, dir string) string { return measured(t, dir, "quiet.wav") }

func aloneOfTwo(t testing.TB, dir string) string {
	return measured(t, dir, "quiet.wav", "other.wav")
}

func measured(t testing.TB, dir string, names ...string) string {
	t.Helper()
	var at []capture.Address
	for i, name := range names {
		path := filepath.Join(dir, name)
		record(t, path, -80, int64(5+10*i), int64(1+i))
		at = append(at, whole(path))
	}
	r := kit.Must(report.Measure(t.Context(), asked(), at))(t)
	text := kit.Must(wire.Write(&r))(t)
	out := filepath.Join(dir, "measure.json")
	kit.OK(t, os.WriteFile(out, text, 0o644))
	return out
}

// kinds are all reports that can be verified; some with all that they may hold.
var kinds = map[string]func(testing.TB, string) string{"compare": comparison, "compare of all": fullComparison, "passport": passported, "session of a known source": drivenSession,
	"compare by reference": comparisonByReference, "session by reference": sittingByReference,
	"session": sitting, "session of all": fullSitting, "trend": followed, "trend by reference": followedByReference, "measure": alone, "measure of two": aloneOfTwo}

func verified(t testing.TB, path string) model.Verification {
	t.Helper()
	all := kit.Must(verify.Path(t.Context(), version, path, nil, nil))(t)
	return all[0]
}

// An honest report stands, though its folder was moved.
func TestStands(t *testing.T) {
	eachHonest(t, func(t *testing.T, h honest) {
		v := verified(t, h.copyOf(t))
		if v.Verdict != model.Stands || v.LeftOut != 0 || v.Compared < 100 {
			t.Errorf("%s, %d compared, %d left out, not compared %v\n%s", v.Verdict, v.Compared, v.LeftOut, v.NotCompared, told(v))
		}
		if v.Report.Fingerprint == "" || v.Report.Headline == "" {
			t.Errorf("fingerprint %q, headline %q", v.Report.Fingerprint, v.Report.Headline)
		}
	})
}

// told lists some of what doesn't agree.
func told(v model.Verification) string {
	var b strings.Builder
	for i, d := range v.Differences {
		if i < 12 {
			fmt.Fprintf(&b, "%s: %v, made again %v\n", d.Where, d.Reported, d.Recomputed)
		}
	}
	for _, f := range v.Files {
		if f.State != model.Same {
			fmt.Fprintf(&b, "%s: %s\n", f.File, f.State)
		}
	}
	return b.String()
}

// A capture that isn't there leaves its values out; nothing is said to stand.
func TestMissingCapture(t *testing.T) {
	eachHonest(t, func(t *testing.T, h honest) {
		names := h.files(t)
		path := h.copyOf(t)
		at := slices.IndexFunc(names, func(name string) bool {
			return filepath.Ext(name) == ".wav" && !strings.HasSuffix(name, "tone.wav") && !strings.HasSuffix(name, "broken.wav")
		})
		kit.OK(t, os.Remove(filepath.Join(h.root(path), names[at])))
		if v := verified(t, path); v.Verdict != model.Incomplete || v.LeftOut == 0 {
			t.Errorf("%s, %d left out\n%s", v.Verdict, v.LeftOut, told(v))
		}
	})
}

// comparisonByReference is a comparison by a reference channel.
func comparisonByReference(t testing.TB, dir string) string {
	t.Helper()
	kit.OK(t, os.MkdirAll(dir, 0o777))
	b := antenna.Draw(3)
	b.Seconds = 12
	quiet := kit.Must(b.Record(bench.Quiet, filepath.Join(dir, "quiet.wav")))(t)
	near := kit.Must(b.Record(bench.Near, filepath.Join(dir, "near.wav")))(t)
	r := asked()
	r.Reference = antenna.ReferenceChannel
	c := kit.Must(report.Compare(t.Context(), r, report.Compared{Quiet: quiet, Near: near}))(t)
	return filepath.Join(written(t, filepath.Join(dir, "report"), &c), "compare.json")
}

// followedByReference makes a survey with a reference channel, and a trend of it.
func followedByReference(t testing.TB, dir string) string {
	t.Helper()
	kit.OK(t, os.MkdirAll(dir, 0o777))
	b := antenna.Draw(5)
	b.Seconds = 16
	addr := kit.Must(b.Survey(filepath.Join(dir, "survey.wav")))(t)
	r := asked()
	r.Reference = antenna.ReferenceChannel
	followed := kit.Must(report.Trend(t.Context(), r, addr, []int{1}))(t)
	if spans := followed.Captures[0].Spans; spans[len(spans)-1].Referred == nil || !spans[len(spans)-1].Referred.Added.Known() {
		t.Fatalf("%+v", spans)
	}
	return filepath.Join(written(t, filepath.Join(dir, "report"), &followed), "trend.json")
}

// sittingByReference is a session whose runs have a reference channel.
func sittingByReference(t testing.TB, dir string) string {
	t.Helper()
	kit.OK(t, os.MkdirAll(filepath.Join(dir, "bench"), 0o777))
	file := session.File{Path: filepath.Join(dir, "bench", "session.toml"), RunsFile: "runs.csv", Sitting: session.Blank()}
	s := &file.Sitting
	s.Bench.FullScale = "2V"
	b := antenna.Draw(3)
	b.Seconds = 12
	for i, cond := range []bench.Condition{bench.Quiet, bench.Near, bench.Near, bench.Quiet} {
		b.Seed = int64(i)
		name := fmt.Sprintf("run%d.wav", i+1)
		kit.Must(b.Record(cond, filepath.Join(dir, "bench", name)))(t)
		run := session.BlankRun()
		run.Cable, run.Exposure, run.Condition, run.Repeat, run.Replaced, run.Address = "Grebe", "beside", cond.String(), 1+i, true, name
		run.Reference, run.Termination.Ohms = antenna.ReferenceChannel, 1000
		s.Runs = append(s.Runs, run)
	}
	kit.OK(t, file.Write())
	return sessionReport(t, dir, false)
}
