package coupling

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

func near(got, want, rel float64) bool { return math.Abs(got-want) <= rel*math.Abs(want) }

// sevenDigits is half a unit in the last of a figure's seven digits, at worst;
// results are rounded to as many again.
const sevenDigits = 1e-6

func exactly(v float64) model.Estimate { return estimate.Of(v, v, v) }

// plain is a bench without tolerances; an infinite source is an open far end.
func plain(volts, hz, source, input, cable float64) Bench {
	return Bench{MainsVolts: exactly(volts), Hz: hz, SourceOhms: exactly(source), FarEndOpen: math.IsInf(source, 1), InputOhms: exactly(input),
		InputFarads: exactly(0), CableFarads: exactly(cable)}
}

// 1 pF, both ways, computed with NumPy from the formulas of Ott, Noise Reduction
// Techniques (2nd ed.), ch. 2 (from memory).
func TestOnePicofarad(t *testing.T) {
	const pF = 1e-12
	open := math.Inf(1)
	for _, c := range []struct{ volts, hz, ohms, farads, want float64 }{
		{120, 60, 20, 0, 0.9047787e-6},
		{120, 60, 50, 0, 2.261947e-6},
		{120, 60, 600, 0, 27.14336e-6},
		{120, 60, 1e3, 0, 45.23893e-6},
		{120, 60, 10e3, 0, 452.3893e-6},
		{120, 60, 100e3, 0, 4.523893e-3},
		{120, 60, 100e3, 100 * pF, 4.523861e-3},
		{120, 60, 1e6, 100 * pF, 45.20618e-3},
		{120, 60, 10e6, 100 * pF, 0.4227792},
		{120, 60, 26.26319e6, 100 * pF, 1.188119 / math.Sqrt2}, // at the corner
		{120, 60, 1e15, 100 * pF, 1.188119},                    // the high-R asymptote
		{230, 50, 20, 0, 1.445133e-6},
		{230, 50, 100e3, 0, 7.225663e-3},
	} {
		b := plain(c.volts, c.hz, open, c.ohms, c.farads)
		if v := spanOf(Numbers{Farads: exactly(pF)}.Expected(b, model.Estimate{})); !near(v.lo, c.want, sevenDigits) || v.lo != v.hi {
			t.Errorf("%g V, %g Hz into %g Ω: %v V, want %g", c.volts, c.hz, c.ohms, v, c.want)
		}
		if got := spanOf(Capacitance(exactly(c.want), b)); !near(got.lo, pF, sevenDigits) || !near(got.hi, pF, sevenDigits) {
			t.Errorf("%g V into %g Ω: %v, want 1 pF", c.want, c.ohms, got)
		}
	}
}

// What current adds, computed with NumPy from the same formulas: the shield's displacement
// current by 60 pF, through 15 mΩ; 1 µH with 1 A in the lead, at 50 and 60 Hz. Beside a part
// by the lead's voltage that is as large, both together are anything from none to twice that.
func TestCurrents(t *testing.T) {
	open, none := 1e12, model.Estimate{}
	drop := spanOf(Numbers{Farads: exactly(0), Drop: exactly(60e-12 * 0.015)}.Expected(plain(230, 50, 20, open, 0), none))
	if !near(drop.lo, 65.0e-9, 1e-3) || drop.lo != drop.hi {
		t.Errorf("60 pF through 15 mΩ: %v V", drop)
	}
	for hz, want := range map[float64]float64{50: 0.3141593e-3, 60: 0.3769911e-3} {
		n := Numbers{Farads: exactly(0), Henries: exactly(1e-6)}
		if v := spanOf(n.Expected(plain(230, hz, 20, open, 0), exactly(1))); !near(v.lo, want, sevenDigits) || v.lo != v.hi {
			t.Errorf("1 µH, 1 A, %g Hz: %v V, want %g", hz, v, want)
		}
		if v := spanOf(n.Expected(plain(230, hz, 20, open, 0), none)); v.hi != 0 {
			t.Errorf("without a current: %v V", v)
		}
		n.Farads = exactly(want / (230 * 2 * math.Pi * hz * 20))
		if v := spanOf(n.Expected(plain(230, hz, 20, open, 0), exactly(1))); v.lo > 1e-6*want || !near(v.hi, 2*want, 1e-5) {
			t.Errorf("both at %g Hz: %v V, want 0 to %g", hz, v, 2*want)
		}
	}
}

// Below 1 µV when terminated by 20 Ω holds for couplings below 0.69 pF at 230 V,
// 50 Hz, and 1.1 pF at 120 V, 60 Hz (1 µV over ω·20 Ω·V, by hand).
func TestOneMicrovolt(t *testing.T) {
	for _, c := range []struct{ volts, hz, want float64 }{{230, 50, 0.69e-12}, {120, 60, 1.1e-12}} {
		if got := spanOf(Capacitance(exactly(1e-6), plain(c.volts, c.hz, 20, 1e9, 0))); !near(got.lo, c.want, 0.006) {
			t.Errorf("1 µV at %g V: %v F, want %g", c.volts, got, c.want)
		}
	}
}

// 1 µH, 1 A: 0.3769911 mV at 60 Hz (2π·60·1e-6, by hand); half of it where source
// and input are alike.
func TestInductance(t *testing.T) {
	b := plain(120, 60, 1e3, 1e3, 0)
	if got := inductance(spanOf(exactly(0.3769911e-3/2)), spanOf(exactly(1)), true, b); !near(spanOf(got).lo, 1e-6, sevenDigits) {
		t.Errorf("got %v", got)
	}
}

// √(4kTRB) at 293.15 K, computed with NumPy: 1 kΩ in 20 kHz, 0.5690253 µV; 10 kΩ
// in 10 kHz, 1.272379 µV; 150, 200 Ω in 20 kHz; 50 Ω in 1 Hz; and kT/C of 100 pF, 6.361896 µV, over all frequencies,
// whatever the resistance (√(1.380649e-23·293.15/100e-12), by hand).
func TestThermal(t *testing.T) {
	open := math.Inf(1)
	for _, c := range []struct{ ohms, farads, band, want float64 }{
		{1e3, 0, 20e3, 0.5690253e-6}, {10e3, 0, 10e3, 1.272379e-6}, {150, 0, 20e3, 0.2203826e-6}, {200, 0, 20e3, 0.2544759e-6}, {50, 0, 1, 0.8997080e-9},
		{1e6, 100e-12, 1e15, 6.361896e-6}, {1e9, 100e-12, 1e15, 6.361896e-6},
	} {
		if got := plain(230, 50, open, c.ohms, c.farads).thermalBand(0, c.band); !near(got, c.want, sevenDigits) {
			t.Errorf("%g Ω, %g F to %g Hz: %.7g V, want %g", c.ohms, c.farads, c.band, got, c.want)
		}
	}
	if got := plain(230, 50, open, 1e3, 0).thermal() * math.Sqrt(20e3); !near(got, 0.5690253e-6, sevenDigits) {
		t.Errorf("density: %g", got)
	}
}

// Where nothing follows, it says why.
func TestNoNumber(t *testing.T) {
	b := plain(230, 50, 20, 100e3, 100e-12)
	v, none := estimate.Between(1e-6, 2e-6), estimate.None("")
	with := func(f func(*Bench)) Bench { c := b; f(&c); return c }
	for _, c := range []struct {
		got  model.Estimate
		want string
	}{
		{Capacitance(v, with(func(b *Bench) { b.Balanced = true })), model.WhyBalanced},
		{Capacitance(none, b), model.WhyNoVolts},
		{Capacitance(v, with(func(b *Bench) { b.MainsVolts = none })), model.WhyNoMains},
		{Capacitance(v, with(func(b *Bench) { b.SourceOhms = none })), model.WhyNoImpedance},
		{Capacitance(exactly(240), b), model.WhyTooMuch},
		{inductance(spanOf(v), spanOf(exactly(0)), true, b), model.WhyNoCurrent},
		{inductance(spanOf(v), spanOf(none), true, b), model.WhyNoCurrent},
		{inductance(spanOf(v), spanOf(exactly(1)), true, with(func(b *Bench) { b.FarEndOpen = true })), model.WhyOpenEnd},
	} {
		if c.got.Why() != c.want || c.got.Known() {
			t.Errorf("got %v, want %q", c.got, c.want)
		}
	}
	if got := spanOf(Capacitance(estimate.Between(0, 1e-6), b)); got.lo != 0 || !(got.hi > 0) {
		t.Errorf("an upper bound alone: %v", got)
	}
}

// Whatever bench lies within what is known of it, its capacitance lies within the
// interval.
func TestIntervalHoldsEveryCorner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := func(name string, lo, hi float64) float64 {
			return math.Pow(10, rapid.Float64Range(math.Log10(lo), math.Log10(hi)).Draw(t, name))
		}
		around := func(name string, v float64) model.Estimate {
			tol := rapid.Float64Range(0, 0.2).Draw(t, name+" tolerance")
			return estimate.Of(v, v*(1-tol), v*(1+tol))
		}
		within := func(name string, e model.Estimate) model.Estimate {
			r, x := spanOf(e), rapid.Float64Range(0, 1).Draw(t, name+" true")
			return exactly(r.lo + x*(r.hi-r.lo))
		}
		known := Bench{MainsVolts: around("mains", 230), Hz: 50, SourceOhms: around("source", log("source", 1, 1e7)),
			InputOhms: around("input", log("input", 1e3, 1e7)), InputFarads: around("in", 1e-10), CableFarads: around("cable", 3e-10)}
		real := Bench{MainsVolts: within("mains", known.MainsVolts), Hz: 50, SourceOhms: within("source", known.SourceOhms),
			InputOhms: within("input", known.InputOhms), InputFarads: within("in", known.InputFarads), CableFarads: within("cable", known.CableFarads)}
		c := log("coupling", 1e-15, 1e-10)
		v := spanOf(Numbers{Farads: exactly(c)}.Expected(real, model.Estimate{}))
		if got := spanOf(Capacitance(exactly(v.lo), known)); got.lo > c*(1+sevenDigits) || got.hi < c*(1-sevenDigits) {
			t.Fatalf("%g F is not within %v", c, got)
		}
		if got := spanOf(Numbers{Farads: exactly(c)}.Expected(known, model.Estimate{})); got.lo > v.lo*(1+sevenDigits) || got.hi < v.hi*(1-sevenDigits) {
			t.Fatalf("%g V is not within %v", v.lo, got)
		}
	})
}
