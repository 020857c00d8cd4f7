package coupling

import (
	"math"
	"math/rand/v2"
	"slices"
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

// world is a simulated bench's coupling, the truth: farads to conductor and to shield,
// whose resistance is 15 mΩ, and the loop's current.
type world struct{ farads, toShield, henries, loop float64 }

func (w world) setup(c conditions) bench.Setup {
	return bench.Setup{
		Mains: bench.Mains230(),
		Node:  bench.Node{SourceOhms: c.source, InputOhms: 100e3, InputFarads: 100e-12, CableFarads: 200e-12},
		Lead: bench.Coupling{Farads: w.farads, ToShield: w.toShield, Henries: w.henries, Amps: c.amps,
			ShieldOhms: 15e-3, ShieldAmps: w.loop, Bonded: c.bonded},
	}
}

// run is what would be measured without noise, within 0.05 dB; the shield's part
// turned against the direct one, or not.
func (w world) run(c conditions, turned bool) Run {
	p := w.setup(c).Pickup(1, 50)
	if turned {
		p.Shield = -p.Shield
	}
	v, edge := abs(p.Sum()), math.Pow(10, 0.05/20)
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

// The three controlled changes, each showing its mechanism.
func TestEachChangeTellsItsMechanism(t *testing.T) {
	low, high := conditions{source: 20}, conditions{source: 10e3}
	with := func(c conditions, amps float64, bonded bool) conditions { c.amps, c.bonded = amps, bonded; return c }
	electric, magnetic, loop := world{farads: 1e-12}, world{henries: 1e-6}, world{farads: 1e-15, loop: 1e-2}
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
		{"loop or shield: the lead is not loaded", loop, []conditions{with(low, 0, true), with(high, 0, true)}, model.NotDecided},
		{"loop: the lead is not loaded, and the bond was changed", loop, []conditions{with(low, 0, true), with(high, 0, true), low}, model.Loop},
		{"magnetic or shield: the far device is isolated", magnetic, []conditions{with(low, 2, false), with(high, 2, false)}, model.NotDecided},
		{"shield: nothing else is left", world{toShield: 60e-12}, []conditions{low, high}, model.Shield},
		{"magnetic or loop", magnetic, []conditions{with(low, 2, true), with(high, 2, true)}, model.NotDecided},
		{"different at both ends", world{farads: 0.02e-12, henries: 2e-9}, []conditions{with(low, 2, false), with(high, 2, false), low}, model.Mixed},
		{"one run", electric, []conditions{high}, model.NotDecided},
		{"an open far end and a terminated one", electric, []conditions{low, {source: math.Inf(1)}}, model.NotDecided},
		{"a termination that is not far below the input", electric, []conditions{low, {source: 80e3}}, model.NotDecided},
		{"two things at once", electric, []conditions{low, with(high, 2, false)}, model.NotDecided},
		{"two like terminations", electric, []conditions{low, {source: 40}}, model.NotDecided},
	} {
		var runs []Run
		for _, r := range c.runs {
			runs = append(runs, c.w.run(r, false))
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
	low, high := w.run(conditions{source: 20}, false), w.run(conditions{source: 10e3}, false)
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
	mute, louder := low, high // of another electric part than low and high have
	mute.Pickup, louder.Pickup = low.Pickup.Map(func(v float64) float64 { return v / 10 }), high.Pickup.Map(func(v float64) float64 { return v / 10 })
	if got := Mechanism([]Run{low, high, mute, louder}); got.Findings[0].Needs[0] != model.NeedRepeat {
		t.Errorf("two electric parts under the same conditions: %+v", got.Findings)
	}
	mute.Channel, louder.Channel = 2, 2
	if got := Mechanism([]Run{low, high, mute, louder}); got.Findings[0].Verdict != model.Electric || got.Findings[3].Verdict != model.Electric {
		t.Errorf("two channels: %+v", got.Findings)
	}
	if got := Mechanism([]Run{low, fell}); len(got.Changes) != 1 || got.Changes[0].Speaks != model.Outside {
		t.Errorf("pickup that falls with the termination: %+v", got.Changes)
	}
}

// 0.005 pF to the conductor and 65 nV by the shield's current (60 pF and 15 mΩ at 230 V,
// 50 Hz: ωC·V·R = 65.0 nV, by hand): at 20 Ω and 2 kΩ that is no contradiction, whichever
// way the two stand to each other, and the capacitance is the true one.
func TestShieldBesideDirect(t *testing.T) {
	w := world{farads: 0.005e-12, toShield: 60e-12}
	low, high := conditions{source: 20}, conditions{source: 2e3}
	for _, turned := range []bool{false, true} {
		r := Mechanism([]Run{w.run(low, turned), w.run(high, turned)})
		at20, at2k := r.Findings[0], r.Findings[1]
		if at20.Verdict != model.Shield || at2k.Verdict != model.Electric || r.Verdict != model.Mixed {
			t.Errorf("turned %t: %s, %s, together %s", turned, at20.Verdict, at2k.Verdict, r.Verdict)
		}
		if s := at20.sums[shield]; !(s.lo < 65.03e-9 && 65.02e-9 < s.hi && s.hi < 82e-9) {
			t.Errorf("turned %t: by the shield %v V, want 65 nV within", turned, s)
		}
		if c := spanOf(at2k.Farads); !(c.lo < 0.005e-12 && 0.005e-12 < c.hi && c.hi < 0.0065e-12) {
			t.Errorf("turned %t: %v F, want 0.005 pF within", turned, c)
		}
	}
}

// The same with the lead loaded and unloaded at one termination: what follows the
// lead's voltage isn't told apart by that, and there is no capacitance.
func TestLoadTellsNoCapacitance(t *testing.T) {
	w := world{farads: 0.005e-12, toShield: 60e-12}
	r := Mechanism([]Run{w.run(conditions{source: 20}, false), w.run(conditions{source: 20, amps: 2}, false)})
	for _, f := range r.Findings {
		if f.Verdict != model.NotDecided || f.Farads.Known() || f.Farads.Why() != model.WhyOneTermination || f.Needs[0] != model.ByTermination {
			t.Errorf("%s, %v, needs %v", f.Verdict, f.Farads, f.Needs)
		}
	}
}

// A class II far device is not isolated: its leakage may be all there is.
func TestClassTwoIsNotIsolated(t *testing.T) {
	w := world{toShield: 1e-12, loop: 0.25e-3}
	low, high := w.run(conditions{source: 20, bonded: true}, false), w.run(conditions{source: 2e3, bonded: true}, false)
	battery := w.run(conditions{source: 20}, false)
	low.Bonded, high.Bonded = model.ClassTwo, model.ClassTwo
	for _, f := range Mechanism([]Run{low, high}).Findings {
		if f.Verdict != model.NotDecided || !slices.Contains(f.Needs, model.ByBond) {
			t.Errorf("%s, needs %v", f.Verdict, f.Needs)
		}
	}
	if got := Mechanism([]Run{battery, low, high}); got.Verdict != model.Loop {
		t.Errorf("beside a battery: %+v", got)
	}
}

// Where a reference tells phases, plug and load tell by voltage from by current: unloaded
// 6 and 4, loaded 9 and 1, in one unit, is 6 and 4 by the lead's voltage, and 3 by its
// current, turned round with the plug (computed by hand).
func TestPlugAndLoadByPhase(t *testing.T) {
	var runs []Run
	for _, c := range []struct {
		plug        int
		amps, volts float64
	}{{1, 0, 6}, {2, 0, 4}, {1, 2, 9}, {2, 2, 1}} {
		r := runAt(conditions{source: 20, amps: c.amps}, estimate.Disc(complex(c.volts*1e-6, 0), 1e-9))
		r.Plug = c.plug
		runs = append(runs, r)
	}
	for i, f := range Mechanism(runs).Findings {
		want := []float64{6e-6, 4e-6, 6e-6, 4e-6}[i]
		if v := f.sums[electric|shield]; !near(v.mid(), want, 1e-3) || v.hi-v.lo > 4e-9 {
			t.Errorf("run %d: by voltage %v V, want %g", i, v, want)
		}
		if m := f.sums[magnetic]; i > 1 && (!near(m.mid(), 3e-6, 1e-3) || m.hi-m.lo > 4e-9) {
			t.Errorf("run %d: magnetic %v V, want 3 µV", i, m)
		}
	}
	runs[1].Pickup = estimate.Disc(4.1e-6, 1e-9)
	if f := Mechanism(runs).Findings[2]; f.sums[magnetic] != nothing || !slices.Equal(f.Needs, []string{model.NeedRepeat}) {
		t.Errorf("runs that contradict each other: %+v", f)
	}
}

// Four runs alike in all read 1 µV and, in turn, 2d more and less in steps of their standard
// deviation s: χ² is 4·4 of 6 degrees of freedom, so that the mean's interval, 1.96·s/2 to
// either side, grows by the square root of 16/6 (Birge 1932; computed by hand). Those that
// differ by less than is said don't narrow it.
func TestScatteringRuns(t *testing.T) {
	const s = 1e-9
	for steps, wider := range map[float64]float64{2: math.Sqrt(16. / 6), 0.5: 1} {
		var runs []Run
		for i := range 4 {
			off := steps * s * float64(1-2*(i%2))
			runs = append(runs, runAt(conditions{source: 20}, estimate.Disc(complex(1e-6+off, 0), within95*s)))
		}
		for _, f := range Mechanism(runs).Findings {
			if v := f.sums[electric|shield]; !near(v.mid(), 1e-6, 1e-6) || !near((v.hi-v.lo)/2, within95*s/2*wider, 1e-3) {
				t.Errorf("%g steps: by voltage %v V", steps, v)
			}
		}
	}
}

// A bond that was changed at an open far end bounds no loop at a closed one.
func TestOpenEndBoundsNoLoop(t *testing.T) {
	w, open := world{farads: 1e-12, loop: 1e-4}, conditions{source: math.Inf(1)}
	bonded, closed := open, conditions{source: 20, bonded: true}
	bonded.bonded = true
	for _, f := range Mechanism([]Run{w.run(open, false), w.run(bonded, false), w.run(closed, false)}).Findings {
		for _, s := range f.sums {
			if !s.known() {
				t.Errorf("%+v", f)
			}
		}
	}
}

// Whatever is stated of benches and pickups, phases known or not, attribution comes to an
// end, and its bounds are numbers.
func TestOddBenches(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	one := func(v ...float64) float64 { return v[r.IntN(len(v))] }
	word := func(v ...string) string { return v[r.IntN(len(v))] }
	pickup := func() model.Estimate {
		x := one(0, 1e-9, 1e-6, 1e300, 1e-300)
		return []model.Estimate{
			estimate.Of(x, x*one(0, 0.9, 1), x*one(1, 1.1)).At(one(0, 1, 3), one(0.1, 0)),
			estimate.Below(x), estimate.Between(0, x), estimate.Above(x), estimate.None(""),
		}[r.IntN(5)]
	}
	for range 2000 {
		var runs []Run
		for range 1 + r.IntN(5) {
			source := one(0, 20, 2e3, 1e-300, 1e300, math.Inf(1))
			runs = append(runs, Run{
				Pickup: pickup(), Loaded: word("", model.Yes, model.No), Bonded: word("", model.Yes, model.No, model.ClassTwo), Plug: r.IntN(3),
				Amps: []model.Estimate{{}, exactly(2), exactly(0), exactly(1e300)}[r.IntN(4)],
				Bench: Bench{MainsVolts: exactly(230), Hz: one(50, 0, 1e300), SourceOhms: exactly(source), FarEndOpen: math.IsInf(source, 1),
					InputOhms: exactly(one(1e5, 0, 1e300)), Balanced: r.IntN(9) == 0},
			})
		}
		for i, f := range Mechanism(runs).Findings {
			for m, s := range f.sums {
				if !s.known() {
					t.Fatalf("%+v: ways %04b %v", runs[i], m, s)
				}
			}
		}
	}
}
