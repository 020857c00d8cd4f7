package coupling

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fixtures/bench"
	"humdiff/report/model"
)

// conditions of a run on the simulated bench.
type conditions struct {
	source float64
	amps   float64
	bonded bool
}

// world is a simulated bench's coupling, the truth.
type world struct{ farads, henries, shield float64 }

func (w world) setup(c conditions, turn float64) bench.Setup {
	return bench.Setup{
		Mains: bench.Mains230(),
		Node:  bench.Node{SourceOhms: c.source, InputOhms: 100e3, InputFarads: 100e-12, CableFarads: 200e-12},
		Lead: bench.Coupling{Farads: w.farads, Henries: w.henries, Amps: c.amps,
			ShieldOhms: 1, ShieldAmps: w.shield, Bonded: c.bonded, Turn: turn},
	}
}

// run is what would be measured without noise, within a given interval.
func (w world) run(c conditions, phases [3]complex128, db float64) Run {
	p := w.setup(c, 0).Pickup(1, 50)
	v := cmplx.Abs(p.Electric*phases[0] + p.Magnetic*phases[1] + p.Loop*phases[2])
	edge := math.Pow(10, db/20)
	return runAt(c, estimate.Between(v/edge, v*edge))
}

func runAt(c conditions, pickup model.Estimate) Run {
	r := Run{Pickup: pickup, Loaded: model.No, Amps: exactly(c.amps), Bonded: model.No,
		Bench: Bench{MainsVolts: exactly(230), Hz: 50, SourceOhms: exactly(c.source), FarEndOpen: math.IsInf(c.source, 1), InputOhms: exactly(100e3),
			InputFarads: exactly(100e-12), CableFarads: exactly(200e-12)}}
	if c.amps > 0 {
		r.Loaded = model.Yes
	}
	if c.bonded {
		r.Bonded = model.Yes
	}
	return r
}

var inPhase = [3]complex128{1, 1, 1}

// The three controlled changes, each showing its mechanism.
func TestEachChangeTellsItsMechanism(t *testing.T) {
	low, high := conditions{source: 20}, conditions{source: 10e3}
	with := func(c conditions, amps float64, bonded bool) conditions { c.amps, c.bonded = amps, bonded; return c }
	electric, magnetic, loop := world{farads: 1e-12}, world{henries: 1e-6}, world{farads: 1e-15, shield: 1e-4}
	for _, c := range []struct {
		name string
		w    world
		runs []conditions
		want string
	}{
		{"two terminations", electric, []conditions{low, high}, model.Electric},
		{"two terminations, loaded, bonded", electric, []conditions{with(low, 2, true), with(high, 2, true)}, model.Electric},
		{"load", magnetic, []conditions{with(low, 1e-9, false), with(low, 2, false)}, model.Magnetic},
		{"bond", loop, []conditions{with(low, 0, false), with(low, 0, true)}, model.Loop},
		{"loop by two terminations: the lead is not loaded", loop, []conditions{with(low, 0, true), with(high, 0, true)}, model.Loop},
		{"magnetic by two terminations: the far device is isolated", magnetic, []conditions{with(low, 2, false), with(high, 2, false)}, model.Magnetic},
		{"magnetic or loop", magnetic, []conditions{with(low, 2, true), with(high, 2, true)}, model.NotDecided},
		{"different at both ends", world{farads: 0.02e-12, henries: 2e-9}, []conditions{with(low, 2, false), with(high, 2, false)}, model.Mixed},
		{"one run", electric, []conditions{high}, model.NotDecided},
		{"an open far end and a terminated one", electric, []conditions{low, {source: math.Inf(1)}}, model.NotDecided},
		{"a termination that is not far below the input", electric, []conditions{low, {source: 80e3}}, model.NotDecided},
		{"two things at once", electric, []conditions{low, with(high, 2, false)}, model.NotDecided},
		{"two like terminations", electric, []conditions{low, {source: 40}}, model.NotDecided},
	} {
		var runs []Run
		for _, r := range c.runs {
			runs = append(runs, c.w.run(r, inPhase, 0.05))
		}
		if got := Mechanism(runs); got.Verdict != c.want {
			t.Errorf("%s: %s, want %s: %+v", c.name, got.Verdict, c.want, got)
		}
	}
}

// Intervals too wide, contradictions, plugs turned, unknown conditions: nothing
// is named, and what would decide is.
func TestNotDecided(t *testing.T) {
	w := world{farads: 1e-12}
	low, high := w.run(conditions{source: 20}, inPhase, 0.05), w.run(conditions{source: 10e3}, inPhase, 0.05)
	turned, unstated, balanced := high, high, high
	turned.Plug = 2
	low1 := low
	low1.Plug = 1
	unstated.Loaded, unstated.Amps = "", estimate.None("")
	balanced.Bench.Balanced = true
	fell := high
	fell.Pickup = low.Pickup.Map(func(v float64) float64 { return v / 10 })
	wide := estimate.Between(0, 1e-3)
	vague, none := low, high
	vague.Pickup, none.Pickup = wide, wide
	for name, runs := range map[string][]Run{
		"plugs turned": {low1, turned}, "load stated once": {low, unstated}, "balanced": {low, balanced},
		"no lower ends": {vague, none}, "none": nil,
	} {
		got := Mechanism(runs)
		if got.Verdict != model.NotDecided {
			t.Errorf("%s: %+v", name, got)
		}
		for _, f := range got.Findings {
			if len(f.Needs) == 0 {
				t.Errorf("%s: undecided, and nothing would decide: %+v", name, f)
			}
		}
	}
	if got := Mechanism([]Run{low, low, fell}[1:]); got.Findings[0].Needs[0] != model.NeedRepeat {
		t.Errorf("unloaded and isolated, and yet not electric: %+v", got.Findings)
	}
	if got := Mechanism([]Run{low, fell}); len(got.Changes) != 1 || got.Changes[0].Speaks != model.Outside {
		t.Errorf("pickup that falls with the termination: %+v", got.Changes)
	}
}

// trial is a bench drawn at random, each mechanism's size over 80 dB.
func trial(r *rand.Rand) (world, [3]complex128) {
	size := func(at float64) float64 { return at * math.Pow(10, 4*r.Float64()-2) }
	turn := func() complex128 { return cmplx.Rect(1, 2*math.Pi*r.Float64()) }
	w := world{farads: size(0.5e-12), henries: size(2e-9), shield: size(1e-6)}
	return w, [3]complex128{turn(), turn(), turn()}
}

// Random benches, blind: what is proved holds always (there is no noise here),
// what is said to explain the pickup is the larger part in most, and enough is
// decided for the word to be of use.
func TestBlind(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	sets := [][]conditions{
		{{20, 0, false}, {10e3, 0, false}},
		{{20, 2, false}, {10e3, 2, false}, {20, 0, false}},
		{{20, 2, true}, {10e3, 2, true}, {20, 0, true}, {20, 2, false}},
		{{20, 2, true}, {1e3, 2, true}, {10e3, 2, true}, {20, 0, true}, {20, 2, false}, {10e3, 0, true}},
	}
	for n, set := range sets {
		count := map[string]int{}
		trials := 300
		for range trials {
			w, phases := trial(r)
			var runs []Run
			for _, c := range set {
				runs = append(runs, w.run(c, phases, 0.05))
			}
			for i, f := range Mechanism(runs).Findings {
				tally(t, count, f, w.setup(set[i], 0).Pickup(1, 50), phases)
			}
		}
		all := float64(trials * len(set))
		t.Logf("set %d: %v", n, count)
		if count["wrong"] > 0 {
			t.Errorf("set %d: %d findings proved that are not so", n, count["wrong"])
		}
		if share := float64(count["lucky"]) / float64(count[model.Explains]+1); share > 0.03 {
			t.Errorf("set %d: of those explained, %.1f %% are not so", n, 100*share)
		}
		if share := float64(count[model.NotDecided]) / all; share > 0.5 {
			t.Errorf("set %d: %.0f %% undecided", n, 100*share)
		}
	}
}

// tally holds a finding against the truth.
func tally(t *testing.T, count map[string]int, f Finding, truth bench.Pickup, phases [3]complex128) {
	parts := [3]complex128{truth.Electric * phases[0], truth.Magnetic * phases[1], truth.Loop * phases[2]}
	count[f.Verdict]++
	for k, r := range []span{f.electric, f.magnetic, f.loop, f.other} {
		size := 0.0
		if k < 3 {
			size = cmplx.Abs(parts[k])
		} else {
			size = cmplx.Abs(parts[1] + parts[2])
		}
		if size < r.lo*(1-1e-6) || size > r.hi*(1+1e-6) {
			t.Errorf("part %d is %g V, not within %v", k, size, r)
		}
	}
	if f.Verdict == model.NotDecided {
		return
	}
	count[f.How]++
	if f.Verdict == model.Mixed {
		largest := math.Max(cmplx.Abs(parts[0]), math.Max(cmplx.Abs(parts[1]), cmplx.Abs(parts[2])))
		second := 0
		for _, p := range parts {
			if cmplx.Abs(p) >= largest/6 {
				second++
			}
		}
		if second < 2 {
			count["wrong"]++
		}
		return
	}
	k := map[string]int{model.Electric: 0, model.Magnetic: 1, model.Loop: 2}[f.Verdict]
	of, rest := cmplx.Abs(parts[k]), cmplx.Abs(parts[(k+1)%3]+parts[(k+2)%3])
	switch {
	case f.How == model.Proved && of < dominates*rest*(1-1e-6):
		count["wrong"]++
	case f.How == model.Explains && of < rest:
		count["lucky"]++
	}
}

// A bond that was changed at an open far end bounds no loop at a closed one.
func TestOpenEndBoundsNoLoop(t *testing.T) {
	w, open := world{farads: 1e-12, shield: 1e-6}, conditions{source: math.Inf(1)}
	bonded, closed := open, conditions{source: 20, bonded: true}
	bonded.bonded = true
	for _, f := range Mechanism([]Run{w.run(open, inPhase, 0.05), w.run(bonded, inPhase, 0.05), w.run(closed, inPhase, 0.05)}).Findings {
		for _, s := range []span{f.electric, f.magnetic, f.loop, f.other} {
			if !s.known() {
				t.Errorf("%+v", f)
			}
		}
	}
}
