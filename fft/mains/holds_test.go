package mains

import (
	"context"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"

	"gonum.org/v1/gonum/mat"
)

// Blocks read again are the same to the bit as those held from the first pass; where
// each channel is read by itself, to the rounding of the transforms, which it then shares with
// nobody; and those of held samples to these samples' rounding.
func TestReadAgain(t *testing.T) {
	const rate, frames = 8000, 8000*12 + 345
	r := rand.New(rand.NewPCG(4, 4))
	x, y := make([]float64, frames), make([]float64, frames)
	for i := range x {
		x[i], y[i] = 0.1*r.NormFloat64(), 0.001*r.NormFloat64()
	}
	src := capture.Samples(rate, x, y)
	l := kit.Must(newLayout(rate, frames, Options{Window: fft.Nuttall, UpTo: 1000}.filled()))(t)
	passes := func(mayHold, mayAgain int) (blocks [2][][]complex64, held int) {
		l := l
		l.mayHold, l.mayAgain = mayHold, mayAgain
		obs, err := observe(context.Background(), src, l, nil, Options{})
		kit.OK(t, err)
		held = len(obs[0].blocks)
		err = eachSegment(context.Background(), src, l, obs, func(c int, all []block) {
			for _, b := range all {
				blocks[c] = append(blocks[c], slices.Clone(b))
			}
		})
		kit.OK(t, err)
		return blocks, held
	}
	once, held := passes(heldBytes, againBytes)
	twice, none := passes(0, 2*l.segmentBytes())
	alone, _ := passes(0, 0)
	again, _ := passes(0, againBytes)
	if !l.holdsSignal(2) {
		t.Fatal("no samples are held")
	}
	if held != l.blocks || none != 0 {
		t.Fatalf("%d blocks held, and %d; want %d and 0", held, none, l.blocks)
	}
	for c := range once {
		if len(once[c]) != l.blocks || !slices.EqualFunc(once[c], twice[c], slices.Equal[[]complex64]) {
			t.Errorf("channel %d: %d and %d blocks of %d, or other ones", c+1, len(once[c]), len(twice[c]), l.blocks)
		}
		likeBlocks(t, alone[c], once[c], 1e-6, 1e-12)
		// Rounding in steps of 2⁻³¹ of the largest sample, here below 0.5, is noise of 7e-11
		// rms, and 3e-9 in a bin: 8192 samples under a window whose mean square is 0.26.
		likeBlocks(t, again[c], once[c], 1e-6, 5*3e-9)
	}
}

// likeBlocks holds blocks together: their bins differ by a share, or by so much.
func likeBlocks(t *testing.T, got, want [][]complex64, share, most float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d blocks, not %d", len(got), len(want))
	}
	for b := range got {
		for j, x := range got[b] {
			if d := complex128(x - want[b][j]); cmplx.Abs(d) > share*cmplx.Abs(complex128(x))+most {
				t.Fatalf("block %d, bin %d: %g, not %g", b, j, x, want[b][j])
			}
		}
	}
}

// As many channels are read together as there is room for.
func TestTogether(t *testing.T) {
	for _, c := range []struct {
		rate, channels, want int
		seconds              int64
	}{
		{192000, 2, 2, 50}, {192000, 2, 1, 60}, {48000, 2, 1, 3600}, {48000, 8, 1, 60}, {48000, 8, 5, 20}, {48000, 8, 3, 30}, {48000, 1, 1, 86400},
	} {
		l := kit.Must(newLayout(c.rate, c.seconds*int64(c.rate), Options{}.filled()))(t)
		kit.Same(t, l.together(c.channels), c.want, "%d s of %d channels at %d Hz: together", c.seconds, c.channels, c.rate)
	}
}

// Where the limits lie: blocks are held, or samples, or nothing.
func TestHolds(t *testing.T) {
	const blocks, samples, nothing = "blocks", "samples", "nothing"
	for _, c := range []struct {
		rate, channels int
		seconds        int64
		want           string
	}{
		{48000, 2, 61, blocks}, {48000, 2, 63, samples}, {48000, 2, 70, nothing}, {48000, 1, 90, blocks}, {48000, 1, 91, nothing},
		{96000, 2, 30, blocks}, {96000, 2, 60, samples}, {192000, 2, 60, samples}, {192000, 2, 70, nothing}, {48000, 8, 60, nothing},
	} {
		l := kit.Must(newLayout(c.rate, c.seconds*int64(c.rate), Options{}.filled()))(t)
		got := nothing
		switch {
		case l.holds(c.channels):
			got = blocks
		case l.holdsSignal(c.channels):
			got = samples
		}
		kit.Same(t, got, c.want, "%d s of %d channels at %d Hz: held", c.seconds, c.channels, c.rate)
	}
}

// Hum above the highest line that is measured is hum too: noise isn't read
// there.
func TestNoNoiseIsReadOnLinesBeyondTheLast(t *testing.T) {
	var lines []bench.LineSpec
	for h := 1; h <= 300; h++ {
		lines = append(lines, bench.LineSpec{Harmonic: h, PowerDBFS: -90, Phase: float64(h * h)})
	}
	made := kit.Must(bench.Comb{Rate: 48000, Seconds: 10, Track: bench.Steady(50.01), FloorDBFSHz: -130, Lines: lines, Seed: 1}.Make())(t)
	all := kit.Must(Measure(t.Context(), made.Source(), Options{UpTo: 1000}))(t)
	m := all[0]
	in := func(hz float64) bool {
		for _, b := range m.Occupied {
			if b.Lo <= hz && hz <= b.Hi {
				return true
			}
		}
		return false
	}
	for h := 1; h <= 300; h++ {
		if hz := float64(h) * 50.01; !in(hz) {
			t.Errorf("harmonic %d at %.1f Hz counts as noise", h, hz)
		}
	}
	if in(50.01 * 100.5) {
		t.Error("no noise is left between lines")
	}
}

// The table's weights are those of the window's transform, to 1e-11 of the
// largest: a cubic in steps of h is off by at most 3/128·h⁴ times the fourth
// derivative, and that of a bandlimited function of height 1 is at most π⁴.
func TestKernelTable(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, w := range fft.Windows {
		l := kit.Must(newLayout(48000, 48000*20, Options{Window: w, UpTo: 5000}))(t)
		k := newKernel(l)
		for i := range 2000 {
			offset := r.Float64()
			switch i {
			case 0:
				offset = 0
			case 1:
				offset = 0.5
			case 2:
				offset = 1
			}
			middle := 0.25
			if offset >= 0.5 {
				middle = 0.75
			}
			got, want := k.weights(nil, offset), k.normal(offset, middle)
			for j := range want {
				if d := math.Abs(got[j]-want[j]) / k.whole[k.reach()]; !(d < 1e-11) {
					t.Fatalf("%s, %g bins above: weight %d is %g, want %g", w.Name, offset, j, got[j], want[j])
				}
			}
		}
	}
}

// A smoother that some phases are kept from says what the walk's own covariance
// says of the rest: the mean and the variance, given what was observed, of a
// Gaussian vector, by Cholesky's decomposition.
func TestSmoothOverGaps(t *testing.T) {
	const n, dt, v, q = 14, 0.5, 0.01, 0.3
	r := rand.New(rand.NewPCG(5, 5))
	for _, missing := range [][]int{nil, {4}, {4, 5, 6, 7}, {0, 1}, {12, 13}, {0, 6, 13}} {
		p := phases{missing: make([]bool, n)}
		for b := range n {
			p.at = append(p.at, 0.8*float64(b)+0.4*r.NormFloat64())
		}
		for _, b := range missing {
			p.missing[b], p.at[b] = true, 1e6 // must not be looked at
		}
		first, last := p.known()
		slope := (p.at[last] - p.at[first]) / (dt * float64(last-first))
		// The prior, as filterWalk has it: of the phase and of the rate at the first
		// block, and of the walk's rate from there.
		rr := ratePrior(n, dt, v, q)
		start, pp := p.at[first]-dt*float64(first)*slope, v
		if first > 0 {
			pp += dt * dt * float64(first*first) * rr
		}
		covariance := func(i, j int) float64 {
			s, u := dt*float64(min(i, j)), dt*float64(max(i, j))
			return pp + s*u*rr + q*s*s*(3*u-s)/6
		}
		mean := func(i int) float64 { return start + slope*dt*float64(i) }
		// The first phase observed is where the prior starts; it counts again only
		// where it isn't the first block.
		var seen []int
		for b := range n {
			if !p.missing[b] && b > 0 {
				seen = append(seen, b)
			}
		}
		k := mat.NewSymDense(len(seen), nil)
		y := mat.NewVecDense(len(seen), nil)
		for i, a := range seen {
			y.SetVec(i, p.at[a]-mean(a))
			for j := i; j < len(seen); j++ {
				c := covariance(a, seen[j])
				if i == j {
					c += v
				}
				k.SetSym(i, j, c)
			}
		}
		var chol mat.Cholesky
		if !chol.Factorize(k) {
			t.Fatal("no covariance")
		}
		for b, got := range smoothWalk(p, dt, v, q) {
			cross, x := mat.NewVecDense(len(seen), nil), mat.NewVecDense(len(seen), nil)
			for i, a := range seen {
				cross.SetVec(i, covariance(b, a))
			}
			kit.OK(t, chol.SolveVecTo(x, cross))
			phase, variance := mean(b)+mat.Dot(x, y), covariance(b, b)-mat.Dot(x, cross)
			if math.Abs(got.phase-phase) > 1e-6 || math.Abs(got.pp/variance-1) > 1e-6 {
				t.Errorf("without %v: block %d is %.9f with %.9g, want %.9f with %.9g", missing, b, got.phase, got.pp, phase, variance)
			}
		}
	}
}

// What wander within blocks takes off high harmonics is what walkLoss says, at
// two block lengths, two strengths of walk, and for every window.
func TestWanderLoss(t *testing.T) {
	kit.Unraced(t)
	t.Parallel()
	for _, c := range []struct {
		rate, walk float64
		window     fft.Window
	}{
		{11025, 0.005, fft.Nuttall}, // blocks of 1.49 s
		{11025, 0.015, fft.Nuttall},
		{12000, 0.01, fft.Nuttall}, // blocks of 1.37 s
		{12000, 0.01, fft.Hann},
		{12000, 0.01, fft.BlackmanHarris},
		{12000, 0.01, fft.FlatTop},
	} {
		const level, trials = 1e-6, 10
		loss, want := make(map[int]float64), make(map[int]float64)
		for seed := range int64(trials) {
			m := walkingComb(t, c.rate, c.walk, level, seed, c.window)
			for _, h := range []int{40, 90} {
				loss[h] -= 10 * math.Log10(m.lines[h-1].blockPower.mean/level) / trials
				want[h] = m.l.wanderLoss * float64(h*h) * math.Pow(2*math.Pi*c.walk, 2)
			}
		}
		for h, got := range loss {
			if want[h] < 0.2 && math.Abs(got/want[h]-1) > 0.15 { // scatter of 10 walks: 5 %
				t.Errorf("rate %g, walk %g Hz/√s, %s, h %d: lost %.4f dB, want %.4f", c.rate, c.walk, c.window.Name, h, got, want[h])
			}
		}
	}
}

func walkingComb(t *testing.T, rate, walk, level float64, seed int64, w fft.Window) *meter {
	t.Helper()
	c := bench.Comb{Rate: rate, Seconds: 15, Track: bench.Track{Hz: 50, Walk: walk}, FloorDBFSHz: -160, RandomPhase: true, Seed: seed}
	for h := 1; h <= 92; h++ {
		c.Lines = append(c.Lines, bench.LineSpec{Harmonic: h, PowerDBFS: 10 * math.Log10(level)})
	}
	made := kit.Must(c.Make())(t)
	opt := Options{Window: w}.filled()
	l := kit.Must(newLayout(int(rate), int64(len(made.Samples)), opt))(t)
	obs := kit.Must(observe(context.Background(), made.Source(), l, nil, opt))(t)
	f, ok := search(&obs[0], l, opt)
	if !ok {
		t.Fatal("mains not found")
	}
	m := newMeter(&obs[0], f)
	m.add(obs[0].blocks)
	return m
}

func TestMedian(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want float64
	}{{nil, 0}, {[]float64{3}, 3}, {[]float64{3, 1}, 2}, {[]float64{9, 1, 4}, 4}, {[]float64{9, 1, 4, 6}, 5}, {[]float64{2, 2, 2, 2}, 2}} {
		kit.Same(t, median(c.x), c.want, "median")
	}
}

// A sum lies within its interval, whatever its lines say: of some the lower end is all of it.
func TestSumWithinItsInterval(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	for range 2000 {
		var sum total
		for range 1 + r.IntN(4) {
			x := math.Exp(4 * r.NormFloat64())
			line := Line{Level: Level{Detected: true, Power: x, Lo: x * (0.9 + 0.1*r.Float64()), Hi: 1.1 * x}}
			line.Share = Share{Excess: x * r.NormFloat64(), Noise: x * r.Float64(), Variance: math.Pow(x*r.Float64(), 2), Model: 0.01 * x}
			sum.add(line, 1)
		}
		if l := sum.level(); l.Detected && !(l.Lo <= l.Power && l.Power <= l.Hi) {
			t.Fatalf("%+v of %+v", l, sum)
		}
	}
}
