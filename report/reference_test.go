package report_test

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fft/fault"
	"humdiff/fixtures/antenna"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/judge"
	"humdiff/report/model"
	"humdiff/report/session"
)

// steady is a bench with a reference that leaves nothing to be desired.
func steady() antenna.Bench {
	b := antenna.Draw(5)
	b.Seconds, b.Cable.Unsteady = 30, bench.Unsteady{}
	b.Cable.Room.Farads, b.Cable.Lead.Farads, b.Antenna.Room.Farads = 3e-12, 1e-12, 2e-12
	return b
}

// compared records a bench and compares by its reference.
func compared(t *testing.T, b antenna.Bench) model.Compare {
	t.Helper()
	return kit.Must(b.Compare(t.Context()))(t)
}

// A reference that is no good is found, said, and not used; the comparison stands without it.
func TestUselessReferences(t *testing.T) {
	kit.Unraced(t)
	for code, spoil := range map[string]func(*antenna.Bench){
		model.ReferenceClipped: func(b *antenna.Bench) { b.Antenna.Recorder.FullScale = 20e-6 },
		model.ReferenceWeak:    func(b *antenna.Bench) { b.Antenna.Recorder.NoiseVolts = 1.2e-2 },
		model.ReferenceClock:   func(b *antenna.Bench) { b.Antenna.Recorder.ClockPPM = 2.5 },
	} {
		b := steady()
		spoil(&b)
		c := compared(t, b)
		if !slices.ContainsFunc(c.Warnings, func(w model.Warning) bool { return w.Code == code }) {
			t.Errorf("%s isn't said, but %v", code, c.Warnings)
		}
		p := c.Pairs[0]
		if p.Near.Reference == nil || p.Near.Reference.Why != code || p.Hum.Pickup.Measured() {
			t.Errorf("%s: reference %+v, pickup %v", code, p.Near.Reference, p.Hum.Pickup)
		}
	}
	sound := compared(t, steady())
	if p := sound.Pairs[0]; !p.Hum.Pickup.Measured() || p.Near.Reference.Why != "" {
		t.Errorf("a good reference isn't used: %+v, pickup %v, %v", p.Near.Reference, p.Hum.Pickup, sound.Warnings)
	}
}

// An antenna that the lead reaches is found by its own level: where that changes more than
// a mains' voltage does, or where the pickup is so small that less would make it.
func TestReferenceThatTheLeadReaches(t *testing.T) {
	kit.Unraced(t)
	for _, k := range []struct {
		stray, pickup float64 // shares of what the room does
		said          bool
	}{{0.2, 0.3, true}, {0.01, 0.003, true}, {0.01, 0.3, false}, {0, 0.003, false}} {
		b := steady()
		b.Antenna.Lead = bench.Coupling{Farads: k.stray * b.Antenna.Room.Farads, Turn: 0.3}
		b.Cable.Lead.Farads = k.pickup * b.Cable.Room.Farads
		c := compared(t, b)
		if said := slices.ContainsFunc(c.Warnings, func(w model.Warning) bool { return w.Code == "reference_moved" }); said != k.said {
			t.Errorf("%+v: said %t, pickup %v, %v", k, said, c.Pairs[0].Hum.Pickup, c.Warnings)
		}
	}
}

// The reference has to be another channel of the same file.
func TestReferenceOfAnotherFile(t *testing.T) {
	b, dir := steady(), t.TempDir()
	b.Seconds = 5
	addr := kit.Must(b.Record(bench.Quiet, filepath.Join(dir, "quiet.wav")))(t)
	for reference, says := range map[int]string{3: "there is no channel 3", 2: "nothing but the reference"} {
		var r report.Request
		r.Reference = reference
		addr.Channel = 2
		_, err := report.Compare(t.Context(), r, report.Compared{Quiet: addr, Near: addr})
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("reference %d: %v", reference, err)
		}
		if said := new(fault.Error); !errors.As(err, &said) {
			t.Errorf("reference %d: %v names no file", reference, err)
		}
	}
}

// Without ends or channel named, the span of an address counts for the reference too.
func TestReferenceInASpan(t *testing.T) {
	b, dir := steady(), t.TempDir()
	quiet := kit.Must(b.Record(bench.Quiet, filepath.Join(dir, "quiet.wav")))(t)
	near, err := b.Record(bench.Near, filepath.Join(dir, "near.wav"))
	kit.OK(t, err)
	near.Start, near.End = 4, 27.5
	var r report.Request
	r.Reference, r.UpTo = antenna.ReferenceChannel, 500
	c := kit.Must(report.Compare(t.Context(), r, report.Compared{Quiet: quiet, Near: near}))(t)
	if p := c.Pairs[0]; len(c.Pairs) != 1 || p.Near.Channel != 1 || !p.Lines[0].Pickup.Measured() {
		t.Errorf("%d pairs; of channel %d, pickup %v", len(c.Pairs), p.Near.Channel, p.Lines[0].Pickup)
	}
}

const unit = 10e-6 // V

// plugAndLoad is a session of quiet runs, and of near ones with the plug both ways round, the lead
// unloaded and loaded: in one unit pickups of 6 and 4, and of 9 and 1. The lead reaches the
// antenna by a share of what the room does.
func plugAndLoad(t *testing.T, stray float64) *report.Judged {
	t.Helper()
	dir := t.TempDir()
	file := session.File{Path: filepath.Join(dir, "session.toml"), RunsFile: "runs.csv", Sitting: session.Blank()}
	s := &file.Sitting
	s.Title, s.Bench.FullScale, s.Bench.MainsVolts, s.Bench.InputOhms = "Plug and load", "2V", 230, 100e3
	s.Bench.InputFarads = 100e-12
	b := steady()
	b.Cable.Mains = bench.Mains230()
	b.Antenna.Mains = b.Cable.Mains
	b.Cable.Lead = bench.Coupling{Farads: 1e-12, Henries: 1e-6, Amps: 1}
	one := b.Cable.Pickup(1, 50)
	farad, henry := unit/cmplx.Abs(one.Electric)*1e-12, unit/cmplx.Abs(one.Magnetic)*1e-6
	for i, r := range []struct {
		plug               int
		electric, magnetic float64
	}{{0, 0, 0}, {1, 6, 0}, {1, 6, 3}, {2, 4, 0}, {2, 4, -3}, {0, 0, 0}} {
		b.Seed = int64(100 + i)
		b.Cable.Lead = bench.Coupling{Farads: r.electric * farad, Henries: r.magnetic * henry, Amps: 1}
		b.Antenna.Lead = bench.Coupling{Farads: stray * b.Antenna.Room.Farads}
		cond, name := bench.Near, fmt.Sprintf("run%d.wav", i+1)
		run := session.BlankRun()
		run.Condition = model.Near
		if r.plug == 0 {
			cond, run.Condition = bench.Quiet, model.Quiet
		}
		kit.Must(b.Record(cond, filepath.Join(dir, name)))(t)
		run.Cable, run.Exposure, run.Repeat, run.Replaced, run.Address, run.Reference = "Grebe", "beside", 1+i, true, name+"#ch=1", antenna.ReferenceChannel
		run.Plug, run.Termination.Ohms, run.Bonded = r.plug, 1000, model.No
		if run.Condition == model.Near {
			run.Loaded = map[bool]string{true: model.Yes, false: model.No}[r.magnetic != 0]
			if r.magnetic != 0 {
				run.LoadAmps = 1
			}
		}
		s.Runs = append(s.Runs, run)
	}
	kit.OK(t, file.Write())
	loaded := kit.Must(session.Load(file.Path))(t)
	var r report.Request
	r.UpTo = 500
	return kit.Must(report.Session(t.Context(), r, report.Sitting{File: loaded, Cache: filepath.Join(dir, "kept")}))(t)
}

// By their phases these are electric 6 and 4, and magnetic +3 and −3 (arithmetic).
func TestPlugAndLoadOfASession(t *testing.T) {
	judged := plugAndLoad(t, 0)
	pickup := func(run int) model.Estimate { // volts at full scale 2 V, over 10 µV
		p := judge.Pair(judged.Settings, *judged.Runs[0].Capture, *judged.Runs[run-1].Capture).Lines[0].Pickup
		return p.Map(func(fs float64) float64 { return fs * 2 / unit })
	}
	is := func(what string, e model.Estimate, want float64) {
		if v, lo, hi := e.Numbers(); !(lo <= want && want <= hi) || math.Abs(v/want-1) > 0.05 {
			t.Errorf("%s is %v, not %g", what, e, want)
		}
	}
	first, second := estimate.Minus(pickup(3), pickup(2)), estimate.Minus(pickup(5), pickup(4))
	is("electric, plug 1", pickup(2), 6)
	is("electric, plug 2", pickup(4), 4)
	is("magnetic, plug 1", first, 3)
	is("magnetic, plug 2", second, 3)
	a, _, _ := first.Phase()
	z, _, _ := second.Phase()
	kit.Near(t, "the plug turns the magnetic part", math.Abs(math.Remainder(a-z, 2*math.Pi)), math.Pi, 0.1)
	if moves(judged) {
		t.Error("the reference moves, it says, and it doesn't")
	}
	if len(judged.Mechanisms) != 1 || len(judged.Mechanisms[0].Parts) != 4 {
		t.Fatalf("mechanisms %+v", judged.Mechanisms)
	}
	for i, want := range []float64{6, 4, 9, 1} {
		is("pickup of a part", judged.Mechanisms[0].Parts[i].Pickup.Map(func(v float64) float64 { return v / unit }), want)
	}
}

// An antenna that the lead reaches a little shows by how its level goes with the lead.
func TestReferenceThatMovesWithTheLead(t *testing.T) {
	kit.Unraced(t)
	if !moves(plugAndLoad(t, 0.02)) {
		t.Error("it isn't said")
	}
}

func moves(j *report.Judged) bool {
	return slices.ContainsFunc(j.Findings, func(f model.Finding) bool { return f.Code == model.ReferenceMoves })
}

// By a reference a survey tells what bringing the lead near added, though hum hardly
// changes: here 25 dB below the room's own, a quarter turn off it.
func TestASurveyByReference(t *testing.T) {
	b := steady()
	b.Seconds = 60
	b.Cable.Lead = bench.Coupling{Farads: b.Cable.Room.Farads / 18, Turn: b.Cable.Room.Turn + math.Pi/2}
	addr := kit.Must(b.Survey(filepath.Join(t.TempDir(), "survey.wav")))(t)
	var r report.Request
	r.UpTo, r.Reference = 500, antenna.ReferenceChannel
	trend := kit.Must(report.Trend(t.Context(), r, addr, []int{1, 3}))(t)
	if len(trend.Captures) != 1 || trend.Captures[0].Channel == antenna.ReferenceChannel {
		t.Fatalf("%d channels are followed", len(trend.Captures))
	}
	c := trend.Captures[0]
	truth := 0.0
	for h := 1; h <= 9; h++ {
		pickup := b.Cable.Pickup(h, float64(c.Mains.Hz)).Sum()
		truth += real(pickup*cmplx.Conj(pickup)) / (b.Cable.Recorder.FullScale * b.Cable.Recorder.FullScale)
	}
	truth = math.Sqrt(truth)
	if c.FirstReferred() != 0 || len(c.Spans) < 5 {
		t.Fatalf("%d spans, of which %d is the first with ratios", len(c.Spans), c.FirstReferred())
	}
	for i, x := range c.Spans[1:] {
		lo, hi := 0.0, math.Inf(1)
		if x.Referred != nil {
			_, lo, hi = x.Referred.Added.Numbers()
		}
		t.Logf("%v to %v s: %v, %+v", x.StartS, x.EndS, x.Hum, x.Referred)
		switch near := x.StartS >= 60; {
		case near && !(x.Referred.Added.Measured() && lo <= truth && truth <= hi):
			t.Errorf("span %d: the lead added %v, not %.3g", i+2, x.Referred.Added, truth)
		case !near && x.EndS <= 60 && x.Referred.Added.Measured():
			t.Errorf("span %d: %v came, though nothing did", i+2, x.Referred.Added)
		}
	}
	said := doc.Trend(trend, doc.InDBFS)
	t.Log(said.Sections[1].Blocks[0])
}
