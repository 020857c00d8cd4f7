package judge_test

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"humdiff/fft/estimate"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/report/judge"
	"humdiff/report/measure"
	"humdiff/report/model"
)

// Two levels make a difference, a bound or nothing. By MOVER the first reaches from
// 20 − √(3² + 4²) to 20 + √(5² + 12²).
func TestDelta(t *testing.T) {
	found := func(v, lo, hi float64) model.Estimate { return estimate.Of(v, lo, hi) }
	nan := math.NaN()
	for name, c := range map[string]struct{ quiet, near, want model.Estimate }{
		"both found":            {found(-120, -132, -116), found(-100, -103, -95), found(20, 15, 33)},
		"near below quiet":      {found(-100, -100, -100), found(-107, -107, -107), found(-7, -7, -7)},
		"near alone":            {estimate.Below(-140), found(-110, -112, -109), estimate.Above(28)},
		"quiet alone":           {found(-110, -112, -109), estimate.Below(-140), estimate.Below(-28)},
		"neither":               {estimate.Below(-140), estimate.Below(-140), estimate.None(judge.WhyNotFound)},
		"no limit known":        {estimate.None(""), found(-110, -112, -109), estimate.None(judge.WhyNoLevel)},
		"lower end is no power": {found(-120, -121, -119), found(-100, nan, -99), found(20, nan, 21.4142)},
	} {
		if got := judge.Delta(c.quiet, c.near); got.String() != c.want.String() {
			t.Errorf("%s: got %v, want %v", name, got, c.want)
		}
	}
}

// Hum adds as phasors: with −120 and −100 dBFS, 1e-6 and 1e-5 of full scale, what the
// lead added lies between their difference and their sum, whichever is the larger.
func TestPickup(t *testing.T) {
	exactly := func(v float64) model.Estimate { return estimate.Of(v, v, v) }
	for name, c := range map[string]struct{ quiet, near, want model.Estimate }{
		"near far above":  {exactly(-120), exactly(-100), estimate.Between(9e-6, 1.1e-5)},
		"near below":      {exactly(-100), exactly(-120), estimate.Between(9e-6, 1.1e-5)},
		"intervals meet":  {estimate.Of(-100, -101, -98), estimate.Of(-99, -100, -97), estimate.Between(0, 2.671462e-5)},
		"quiet not found": {estimate.Below(-120), exactly(-100), estimate.Between(9e-6, 1.1e-5)},
		"neither":         {estimate.Below(-120), estimate.Below(-100), estimate.Between(0, 1.1e-5)},
		"may be no power": {exactly(-120), estimate.Of(-119, math.NaN(), -100), estimate.Between(0, 1.1e-5)},
		"no limit":        {estimate.None(""), estimate.Below(-100), estimate.None(judge.WhyNoLevel)},
	} {
		if got := judge.Pickup(c.quiet, c.near); got.String() != c.want.String() {
			t.Errorf("%s: got %v, want %v", name, got, c.want)
		}
	}
}

// Whatever the phases of however many lines, a pickup holds what was added.
func TestPickupHoldsForEveryPhase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var q, n, added float64
		for range rapid.IntRange(1, 20).Draw(t, "lines") {
			amplitude := func(name string) complex128 {
				return cmplx.Rect(math.Pow(10, -rapid.Float64Range(2, 6).Draw(t, name)), rapid.Float64Range(-math.Pi, math.Pi).Draw(t, name+" phase"))
			}
			a, b := amplitude("quiet"), amplitude("near")
			q, n, added = q+sq(a), n+sq(b), added+sq(b-a)
		}
		exact := func(p float64) model.Estimate { db := 10 * math.Log10(p); return estimate.Of(db, db, db) }
		e := judge.Pickup(exact(q), exact(n))
		if got := math.Sqrt(added); !(lo(e) <= got*(1+1e-6) && got <= hi(e)*(1+1e-6)) {
			t.Fatalf("%v leaves out %g", e, got)
		}
	})
}

func sq(a complex128) float64 { return real(a)*real(a) + imag(a)*imag(a) }

// took is a simulated capture, measured.
func took(t *testing.T, c bench.Comb, opt mains.Options) model.Capture {
	t.Helper()
	c.Rate, c.Seconds = 8000, 20
	made := kit.Must(c.Make())(t)
	all := kit.Must(mains.Measure(t.Context(), made.Source(), opt))(t)
	return measure.Measured(model.Side{File: "a.wav", Channel: 1, EndS: 20, RateHz: 8000, Bits: 24}, all[0])
}

func comb(seed int64, tones []bench.ToneSpec, levels ...bench.LineSpec) bench.Comb {
	return bench.Comb{Track: bench.Steady(50.03), FloorDBFSHz: -140, Seed: seed, Lines: levels, Tones: tones}
}

// Sums of what is known, over the lines that no tone hides on either side: without the
// 20th, −80 and −100 dBFS in near, 20 dB less in quiet; A-weighted the 50.03 Hz line
// counts −30.26 dB (table 3 of IEC 61672-1:2013 has −30.2 at 50.1 Hz), the 100.06 Hz line
// −19.13 dB. Noise scatters levels this high by some 0.02 dB.
func TestPairOfCaptures(t *testing.T) {
	line := func(h int, dbfs float64) bench.LineSpec { return bench.LineSpec{Harmonic: h, PowerDBFS: dbfs} }
	tone := []bench.ToneSpec{{Hz: 1000.5, PowerDBFS: -70}}
	quiet := took(t, comb(7, tone, line(1, -100), line(2, -120)), mains.Options{})
	near := took(t, comb(4, nil, line(1, -80), line(2, -100), line(20, -90)), mains.Options{})
	p := judge.Pair(model.Settings{}, quiet, near)
	if !slices.Equal(p.Hum.LeftOut, []int{20}) || p.Hum.Lines != len(near.Lines)-1 {
		t.Fatalf("left out %v of %d", p.Hum.LeftOut, p.Hum.Lines)
	}
	db := func(levels ...float64) (sum float64) {
		for _, l := range levels {
			sum += math.Pow(10, l/10)
		}
		return 10 * math.Log10(sum)
	}
	for name, c := range map[string]struct {
		got  model.Estimate
		want float64
	}{
		"near": {p.Hum.Near, db(-80, -100)}, "quiet": {p.Hum.Quiet, db(-100, -120)}, "rise": {p.Hum.Delta, 20},
		"near, A": {p.HumA.Near, db(-80-30.26, -100-19.13)}, "line 2": {p.Lines[1].Delta, 20},
	} {
		if v, ok := c.got.Value(); !ok || math.Abs(v-c.want) > 0.4 || lo(c.got) > c.want || hi(c.got) < c.want {
			t.Errorf("%s: %v, want %.3f", name, c.got, c.want)
		}
	}
	if p.Lines[19].Delta.Measured() || !near.Lines[19].Level.Measured() {
		t.Errorf("line 20, which a tone hides in quiet: %v", p.Lines[19].Delta)
	}
}

// On two scales a delta is that at the input, and what the step may be off by is in it;
// where the step isn't known there is none.
func TestPairOnTwoScales(t *testing.T) {
	c := took(t, comb(3, nil, bench.LineSpec{Harmonic: 1, PowerDBFS: -80}), mains.Options{})
	one := judge.Pair(model.Settings{}, c, c).Hum.Delta
	two := judge.Pair(model.Settings{Step: model.Step{DB: 6, U95DB: 0.5}}, c, c).Hum.Delta
	if value(two)-value(one) != 6 || math.Abs(hi(two)-6-math.Hypot(0.5, hi(one))) > 0.01 {
		t.Errorf("one %v, two %v", one, two)
	}
	none := judge.Pair(model.Settings{Step: model.Step{DB: model.None}}, c, c)
	if none.Hum.Delta.Why() != judge.WhyTwoScales || none.Hum.Pickup.Known() {
		t.Errorf("%+v", none.Hum)
	}
}

// What a reader has to know of two captures, in its order.
func TestPairWarnings(t *testing.T) {
	line := bench.LineSpec{Harmonic: 1, PowerDBFS: -80}
	base := took(t, comb(3, nil, line), mains.Options{})
	as := func(change func(*model.Capture)) model.Capture { c := base; c.File = "b.wav"; change(&c); return c }
	for name, c := range map[string]struct {
		near model.Capture
		want []string
	}{
		"alike":        {as(func(*model.Capture) {}), []string{judge.QuietCloseToNear}},
		"other files":  {as(func(c *model.Capture) { c.RateHz, c.Bits, c.Channel = 96000, 16, 2 }), []string{judge.RatesDiffer, judge.BitsDiffer, judge.ChannelsDiffer, judge.QuietCloseToNear}},
		"other mains":  {as(func(c *model.Capture) { c.Mains.NominalHz = 60 }), []string{judge.MainsDiffer}},
		"moved mains":  {as(func(c *model.Capture) { c.Mains.Hz += 0.15 }), []string{judge.MainsMoved, judge.QuietCloseToNear}},
		"badly known":  {as(func(c *model.Capture) { c.Mains.Hz += 0.15; c.Mains.U95Hz = 0.2 }), []string{judge.QuietCloseToNear}},
		"more noise":   {as(func(c *model.Capture) { c.Noise.DBFS += 4; floors(c, 4) }), []string{judge.QuietCloseToNear, model.NoiseDiffers}},
		"less noise":   {as(func(c *model.Capture) { c.Noise.DBFS -= 4; floors(c, -4) }), []string{judge.QuietCloseToNear, model.NoiseDiffers}},
		"hum's skirts": {as(func(c *model.Capture) { c.Noise.DBFS += 15; floors(c, 0.5) }), []string{judge.QuietCloseToNear}},
		"other floors": {as(func(c *model.Capture) { c.Noise.DBFS += 15; floors(c, -4) }), []string{judge.QuietCloseToNear}},
		"noise alone":  {as(func(c *model.Capture) { c.Noise.DBFS += 4; c.Lines, c.Health.FloorsHigh = nil, nil }), []string{judge.LinesDiffer, model.NoiseDiffers}},
		"few bits":     {as(func(c *model.Capture) { c.Health.BitsUsed = 16 }), []string{judge.FewerBits, judge.QuietCloseToNear}},
		"silent":       {as(func(c *model.Capture) { c.Health.Silent = true }), nil},
		"not found":    {as(func(c *model.Capture) { c.Mains = model.Mains{NominalHz: 50}; c.AroundHz = base.Mains.Hz }), []string{judge.MainsFromOther, judge.QuietCloseToNear}},
		"far above":    {took(t, comb(5, nil, bench.LineSpec{Harmonic: 1, PowerDBFS: -50}), mains.Options{}), nil},
		"below":        {took(t, comb(6, nil, bench.LineSpec{Harmonic: 1, PowerDBFS: -90}), mains.Options{}), []string{judge.NearBelowQuiet}},
		"same span":    {as(func(c *model.Capture) { c.SHA256 = "x" }), []string{judge.QuietCloseToNear}},
		"same samples": {as(func(c *model.Capture) { c.Decoded = "y" }), []string{model.SameRecording}},
		"gain switched": {as(func(c *model.Capture) {
			c.Health.FloorsHigh = []model.Num{-126, -126}
			c.Noise.DBFS += 4
			floors(c, 4)
		}), []string{judge.QuietCloseToNear, model.GainChanged}},
		"programme": {as(func(c *model.Capture) {
			c.Health.FloorsHigh = []model.Num{-126, -126}
			c.Noise.DBFS += 4
			floors(c, 12)
		}), []string{judge.QuietCloseToNear, model.NoiseDiffers}},
	} {
		quiet := base
		quiet.Decoded, quiet.Health.FloorsHigh = "y", []model.Num{-130, -130}
		var got []string
		for _, w := range judge.PairWarnings(model.Settings{}, judge.Pair(model.Settings{}, quiet, c.near)) {
			got = append(got, w.Code)
		}
		if d := cmp.Diff(c.want, got); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

// floors moves the floor beside every line.
func floors(c *model.Capture, db model.Num) {
	c.Lines = slices.Clone(c.Lines)
	for i := range c.Lines {
		c.Lines[i].FloorDBFSHz += db
	}
}

// A list has each warning once.
func TestWarnedOnce(t *testing.T) {
	c := took(t, comb(3, nil, bench.LineSpec{Harmonic: 1, PowerDBFS: -80}), mains.Options{})
	set := model.Settings{FullScaleVolts: model.None}
	p := judge.Pair(set, c, c)
	all := judge.CompareWarnings(set, []model.Pair{p, p}, nil)
	var got []string
	for _, w := range all {
		got = append(got, w.Code)
	}
	kit.Alike(t, []string{model.ScaleUnknown, model.OnePlacement, judge.QuietCloseToNear}, got)
}
