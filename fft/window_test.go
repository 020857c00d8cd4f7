package fft

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"humdiff/fixtures/kit"
)

// published is one window of the table in section 1 of G. Heinzel, A. Rüdiger,
// R. Schilling, "Spectrum and spectral density estimation by the DFT" (2002),
// read through a library's copy of it (LTPDA, classes/@specwin/win_*.m at
// c445bdf), and the same figures computed from the coefficients with NumPy to
// more digits. Coefficients of the flat-tops are normalised to a0 = 1.
type published struct {
	Window

	nenbw  [2]float64 // table, computed
	width  [2]float64 // 3 dB width in bins; the table's is at −3.000 dB, not at half power
	half   float64    // width at half power, computed
	peak   [2]float64 // highest sidelobe, dB below the main lobe
	edge   float64    // response half a bin off, dB, computed
	most   float64    // the largest response within half a bin, dB, computed
	printd float64    // largest deviation within half a bin as the table prints it, dB
}

var published2002 = []published{
	{Hann, [2]float64{1.5, 1.5000000000}, [2]float64{1.4382, 1.4382}, 1.4406, [2]float64{31.5, 31.47}, -1.42362281, 0, -1.4236},
	{BlackmanHarris, [2]float64{2.0044, 2.0043529382}, [2]float64{1.8962, 1.8962}, 1.8994, [2]float64{92, 92.01}, -0.82557223, 0, -0.8256},
	{Nuttall, [2]float64{2.0212, 2.0212325783}, [2]float64{1.9122, 1.9122}, 1.9155, [2]float64{93.3, 93.32}, -0.81175530, 0, -0.8118},
	{FlatTop, [2]float64{3.8112, 3.8112130091}, [2]float64{3.7590, 3.7592}, 3.7629, [2]float64{95, 95.01}, -0.00386592, 0.00440579, 0.0044},
	// Windows this package doesn't offer, through the same code.
	{Window{"nuttall4c", []float64{0.3635819, 0.4891775, 0.1365995, 0.0106411}},
		[2]float64{1.9761, 1.9761092852}, [2]float64{1.8687, 1.8687}, 1.8719, [2]float64{98.1, 98.17}, -0.85055651, 0, -0.8506},
	{Window{"FTSRS", []float64{1, 1.93, 1.29, 0.388, 0.028}},
		[2]float64{3.7702, 3.7701640000}, [2]float64{3.7274, 3.7274}, 3.7312, [2]float64{76.6, 76.62}, -0.01561706, 0.00072610, -0.0156},
	{Window{"HFT70", []float64{1, 1.90796, 1.07349, 0.18199}},
		[2]float64{3.4129, 3.4129062509}, [2]float64{3.3720, 3.3721}, 3.3754, [2]float64{70.4, 70.45}, -0.00650496, 0.00650812, -0.0065},
	{Window{"HFT90D", []float64{1, 1.942604, 1.340318, 0.440811, 0.043097}},
		[2]float64{3.8832, 3.8831671655}, [2]float64{3.8320, 3.8321}, 3.8359, [2]float64{90.2, 90.22}, -0.00390297, 0.00390595, -0.0039},
	{Window{"HFT116D", []float64{1, 1.9575375, 1.4780705, 0.6367431, 0.1228389, 0.0066288}},
		[2]float64{4.2186, 4.2186102893}, [2]float64{4.1579, 4.1579}, 4.1621, [2]float64{116.8, 116.80}, -0.00283199, 0.00283462, -0.0028},
	{hft144d,
		[2]float64{4.5386, 4.5386047886}, [2]float64{4.4697, 4.4698}, 4.4743, [2]float64{144.1, 144.05}, -0.00212692, 0.00212982, 0.0021},
}

var (
	rectangle = Window{"rectangle", []float64{1}}
	hft144d   = Window{"HFT144D", []float64{1, 1.96760033, 1.57983607, 0.81123644, 0.22583558, 0.02773848, 0.00090360}}
	hft248d   = Window{"HFT248D", []float64{1, 1.985844164102, 1.791176438506, 1.282075284005, 0.667777530266,
		0.240160796576, 0.056656381764, 0.008134974479, 0.000624544650, 0.000019808998, 0.000000132974}}
)

func db(amplitude float64) float64 { return 20 * math.Log10(math.Abs(amplitude)) }

// response is either way to the transform of a window at d bins, relative to
// its value at 0: the closed form, or a sum over samples.
type response func(d float64) float64

// transformOf sums a window's samples against a sine d bins off, phases counted
// from the middle, as Response does. Samples repeat the transform every N bins:
// against the continuous form it differs by about (d/N)² of itself.
func transformOf(samples []float64) response {
	n := len(samples)
	sum := 0.0
	for _, w := range samples {
		sum += w
	}
	return func(d float64) float64 {
		re := 0.0
		for i, w := range samples {
			re += w * math.Cos(2*math.Pi*d*(float64(i)-float64(n)/2)/float64(n))
		}
		return re / sum
	}
}

// width is twice the offset at which the response has fallen to level dB.
func (r response) width(level float64) float64 {
	lo, hi := 0.5, 4.0
	for range 60 {
		if mid := (lo + hi) / 2; db(r(mid)) > level {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + hi
}

// peak is the largest magnitude between two offsets: a scan, then a
// golden-section search about each of its tops, as sidelobes can be level
// within what the scan misses.
func (r response) peak(from, to, step float64) float64 {
	var scan []float64
	for d := from; d < to+step/2; d += step {
		scan = append(scan, math.Abs(r(d)))
	}
	most := max(scan[0], scan[len(scan)-1])
	for i := 1; i+1 < len(scan); i++ {
		if scan[i] >= scan[i-1] && scan[i] >= scan[i+1] {
			at := from + float64(i)*step
			most = max(most, r.top(at-step, at+step))
		}
	}
	return most
}

// top is the largest magnitude between two offsets with one top between them.
func (r response) top(lo, hi float64) float64 {
	const golden = 0.6180339887498949
	for range 24 {
		a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
		if math.Abs(r(a)) > math.Abs(r(b)) {
			hi = b
		} else {
			lo = a
		}
	}
	return math.Abs(r((lo + hi) / 2))
}

// Figures of every window, from the closed form and from samples.
func TestWindowFigures(t *testing.T) {
	const n = 2048 // (d/N)² at the sidelobes looked at is below 6e-5, 5e-4 dB
	for _, w := range published2002 {
		samples := w.Samples(n)
		sum, energy := 0.0, 0.0
		for _, v := range samples {
			sum += v
			energy += v * v
		}
		for from, got := range map[string]float64{"ENBW()": w.ENBW(), "samples": n * energy / (sum * sum)} {
			kit.Near(t, w.Name+" NENBW, "+from, got, w.nenbw[1], 1e-10)
			kit.Near(t, w.Name+" NENBW as printed, "+from, got, w.nenbw[0], 0.5e-4)
		}
		for from, r := range map[string]response{"Response": w.Response, "samples": transformOf(samples)} {
			w.check(t, from, r)
		}
	}
}

func (w published) check(t *testing.T, from string, r response) {
	t.Helper()
	name := w.Name + ", " + from
	kit.Near(t, name+": width at -3 dB", r.width(-3), w.width[1], 0.5e-4)
	// The table's widths of the flat-tops are short of the computed ones by up
	// to 2e-4, its root search having stopped there.
	kit.Near(t, name+": width as printed", r.width(-3), w.width[0], 2.5e-4)
	kit.Near(t, name+": width at half power", r.width(10*math.Log10(0.5)), w.half, 0.5e-4)

	step := 0.05
	first := float64(w.MainLobe())
	side := -db(r.peak(first, first+10, step))
	kit.Near(t, name+": sidelobe", side, w.peak[1], 0.0051)
	kit.Near(t, name+": sidelobe as printed", side, w.peak[0], 0.08) // some rounded, some cut off

	kit.Near(t, name+": half a bin off", db(r(0.5)), w.edge, 1e-6)
	most := db(r.peak(0, 0.5, step))
	kit.Near(t, name+": most within half a bin", most, w.most, 1e-6)
	worst := db(r(0.5))
	if w.printd > 0 {
		worst = most
	}
	kit.Near(t, name+": deviation as printed", worst, w.printd, 0.6e-4)
}

// F. J. Harris, "On the use of windows for harmonic analysis with the discrete
// Fourier transform", Proc. IEEE 66 (1978), table I; from memory. Its 6 dB
// width of the Blackman–Harris window, 2.72, is not what the coefficients give
// (2.662) and is left out; so are its sidelobes, rounded to whole decibels.
func TestHarrisTable(t *testing.T) {
	for _, c := range []struct {
		w                                         Window
		gain, enbw, width, scallop, worst, width6 float64
		corr75, corr50                            float64
	}{
		{Hann, 0.50, 1.50, 1.44, 1.42, 3.18, 2.00, 65.9, 16.7},
		{BlackmanHarris, 0.36, 2.00, 1.90, 0.83, 3.85, math.NaN(), 46.0, 3.8},
	} {
		r := response(c.w.Response)
		scallop := -db(r(0.5))
		kit.Near(t, c.w.Name+" coherent gain", c.w.Coeff[0], c.gain, 0.005)
		kit.Near(t, c.w.Name+" ENBW", c.w.ENBW(), c.enbw, 0.005)
		kit.Near(t, c.w.Name+" 3 dB width", r.width(-3), c.width, 0.005)
		kit.Near(t, c.w.Name+" scallop loss", scallop, c.scallop, 0.005)
		kit.Near(t, c.w.Name+" worst-case processing loss", scallop+10*math.Log10(c.w.ENBW()), c.worst, 0.005)
		if !math.IsNaN(c.width6) {
			kit.Near(t, c.w.Name+" 6 dB width", r.width(-6), c.width6, 0.005)
		}
		kit.Near(t, c.w.Name+" correlation at 75 %", 100*overlaps(c.w, 4096, 1024)[1], c.corr75, 0.05)
		kit.Near(t, c.w.Name+" correlation at 50 %", 100*overlaps(c.w, 4096, 2048)[1], c.corr50, 0.05)
	}
	kit.Near(t, "Hann 6 dB width", response(Hann.Response).width(-6), 1.9968, 0.5e-4) // computed
	kit.Near(t, "Blackman–Harris 6 dB width", response(BlackmanHarris.Response).width(-6), 2.662, 0.5e-3)
}

// A periodic window's transform holds nothing but its coefficients, at whole
// bins; a symmetric one's doesn't. And sample n mirrors sample N−n.
func TestWindowsArePeriodic(t *testing.T) {
	const n = 64
	for _, w := range append(Windows, hft248d) {
		s := w.Samples(n)
		for i := 1; i < n; i++ {
			kit.Near(t, fmt.Sprintf("%s: sample %d", w.Name, i), s[i], s[n-i], 1e-14)
		}
		for k, x := range fourier.NewFFT(n).Coefficients(nil, s) {
			want := 0.0
			if k < len(w.Coeff) {
				want = n * w.Coeff[k] / 2
			}
			if k == 0 {
				want *= 2
			}
			if k%2 == 1 {
				want = -want
			}
			if math.Abs(real(x)-want) > 1e-12 || math.Abs(imag(x)) > 1e-12 {
				t.Errorf("%s: bin %d holds %g, want %g", w.Name, k, x, want)
			}
		}
	}
}

// The closed form divides by d² − k² beside bin k, where a line on a bin puts
// it to within rounding: it must not lose its digits there. Between k and k+ε
// the response changes by less than 2ε.
func TestResponseBesideWholeBins(t *testing.T) {
	for _, w := range append(Windows, hft144d) {
		for k := range 12 {
			for _, e := range []float64{1e-16, 5e-16, 1e-15, 1e-14, 1e-13, 1e-12, 1e-10, 1e-8, 1e-6} {
				for _, d := range []float64{float64(k) - e, float64(k) + e, -float64(k) - e} {
					kit.Near(t, fmt.Sprintf("%s at %.17g", w.Name, d), w.Response(d), w.Response(float64(k)), 2*math.Abs(math.Abs(d)-float64(k))+2e-15)
				}
			}
		}
		if a, b := w.Response(2.3), w.Response(-2.3); a != b {
			t.Errorf("%s: %g at 2.3, %g at -2.3", w.Name, a, b)
		}
	}
}

func TestSidelobeBound(t *testing.T) {
	for _, w := range append(Windows, rectangle, hft144d) {
		terms := float64(w.MainLobe())
		for d := terms; d < 400; d += 0.0173 {
			if got, bound := math.Abs(w.Response(d)), w.SidelobeBound(d); got > bound*(1+1e-12) {
				t.Fatalf("%s: %g at %g bins, above the bound %g", w.Name, got, d, bound)
			}
			if w.SidelobeBound(d) != w.SidelobeBound(-d) {
				t.Fatalf("%s: the bound at %g differs from that at %g", w.Name, d, -d)
			}
		}
		// It is reached between bins: no looser than it must be.
		for d := terms + 0.5; d < 400; d++ {
			kit.Near(t, fmt.Sprintf("%s at %g bins over the bound", w.Name, d), math.Abs(w.Response(d))/w.SidelobeBound(d), 1, 1e-9)
		}
		kit.Same(t, w.SidelobeBound(terms-0.5), 1, "%s: the bound within the main lobe", w.Name)
	}
}

// A sine between bins leaks what the bound allows, and no more, into a real
// transform of its windowed samples, where its other half, at the negative
// frequency, leaks too. A transform of samples repeats every N bins: where a
// rectangle's is sinc, 1/πd, its samples' is 1/(N sin(πd/N)), and smoother
// windows' grow about as much or less: 1 % is allowed for that.
func TestSampledSidelobesKeepTheBound(t *testing.T) {
	const n, at = 4096, 300.43
	for _, w := range Windows {
		bound := func(d float64) float64 {
			x := math.Pi * math.Abs(d) / n
			return w.SidelobeBound(d) * x / math.Sin(x)
		}
		s, sum := w.Samples(n), 0.0
		for i := range s {
			sum += s[i]
			s[i] *= 2 * math.Cos(2*math.Pi*at*float64(i)/n+0.3)
		}
		for j, x := range fourier.NewFFT(n).Coefficients(nil, s) {
			d := float64(j) - at
			if math.Abs(d) < float64(w.MainLobe()) {
				continue
			}
			got, most := math.Hypot(real(x), imag(x))/sum, bound(d)+bound(float64(j)+at)
			if got > 1.01*most+1e-15 {
				t.Errorf("%s: bin %d holds %.3g, bound %.3g", w.Name, j, got, most)
			}
		}
	}
}

// How fast sidelobes fall: 18 dB an octave for Hann and for Nuttall's window
// with continuous first derivative, 6 dB for Blackman–Harris (Harris 1978,
// Nuttall 1981, from memory) and for HFT95, which is not differentiable at its
// ends (Heinzel et al. mark those that are with a D).
func TestSidelobeDecay(t *testing.T) {
	for _, c := range []struct {
		w      Window
		octave float64
	}{{Nuttall, 18}, {Hann, 18}, {BlackmanHarris, 6}, {FlatTop, 6}, {rectangle, 6}} {
		fall := db(c.w.SidelobeBound(2000)) - db(c.w.SidelobeBound(4000))
		kit.Near(t, c.w.Name+" dB an octave", fall, c.octave*20*math.Log10(2)/6, 0.01)
	}
}

func TestWindowByName(t *testing.T) {
	for _, w := range Windows {
		if got, err := WindowByName(w.Name); err != nil || got.Name != w.Name || !slices.Equal(got.Coeff, w.Coeff) {
			t.Errorf("%s: %v, %v", w.Name, got, err)
		}
	}
	want := `no window "box": there are nuttall, hann, blackman-harris, flat-top`
	if _, err := WindowByName("box"); err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// AddSidelobes is SidelobeBound squared at every bin but the nearest. The terms
// of a sidelobe cancel each other, so either is known to the rounding of the
// terms: 1e-15 of the main lobe's height.
func TestAddSidelobes(t *testing.T) {
	for _, w := range Windows {
		for _, line := range []float64{0, 3.3, 40, 40.7} {
			sum := make([]float64, 300)
			w.AddSidelobes(sum, line, 2)
			for j, got := range sum {
				side := 0.0
				if d := float64(j) - line; math.Abs(d) > 1 {
					side = w.SidelobeBound(d)
				}
				if d := math.Abs(math.Sqrt(got/2) - side); !(d <= 1e-15*math.Max(1, side)) {
					t.Fatalf("%s: line at %g, bin %d: got %g, want %g", w.Name, line, j, got, 2*side*side)
				}
			}
		}
	}
}
