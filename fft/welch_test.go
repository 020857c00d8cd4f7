package fft

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"humdiff/fixtures/kit"
)

// Equivalent degrees of freedom, 2·PowerAverages, of Welch's average: P. D.
// Welch 1967 (form from memory), evaluated with NumPy for windows of 4096
// samples, the hop rounded. Correlations are printed to five decimals.
func TestWelchDegreesOfFreedom(t *testing.T) {
	const n = 4096
	for _, c := range []struct {
		w               Window
		overlap         float64
		corr            []float64 // c_1, c_2 … as far as printed
		edf10, edf100   float64
		perBlockAtLarge float64 // EDF/2K as K grows
	}{
		{Hann, 0.50, []float64{0.166667}, 19.0476, 189.5735, 0.94737},
		{Hann, 0.75, []float64{0.65915, 0.16667, 0.00751}, 10.9493, 104.4477, 0.51958},
		{BlackmanHarris, 0.50, []float64{0.03760}, 19.9492, 199.4417, 0.99718},
		{BlackmanHarris, 0.66, []float64{0.23267, 0.00142}, 18.2242, 180.6378, 0.90231},
		{BlackmanHarris, 0.75, []float64{0.45999, 0.03760, 0.00024}, 14.4601, 140.6754, 0.70126},
		{hft144d, 0.80, []float64{0.07302, -0.02271, 0.00086}, 19.7937, 197.7125, 0.98844},
	} {
		name := fmt.Sprintf("%s, %g %% overlap", c.w.Name, 100*c.overlap)
		got := overlaps(c.w, n, int(math.Round(n*(1-c.overlap))))
		for j, want := range c.corr {
			kit.Near(t, fmt.Sprintf("%s: c_%d", name, j+1), got[j+1], want, 0.51e-5)
		}
		kit.Near(t, name+": EDF of 10", 2*powerAverages(got, 10), c.edf10, 0.51e-4)
		kit.Near(t, name+": EDF of 100", 2*powerAverages(got, 100), c.edf100, 0.51e-4)
		kit.Near(t, name+": of many, per block", powerAverages(got, 1e9)/1e9, c.perBlockAtLarge, 0.51e-5)
	}
}

// The two averages from their definition: the variance of a mean of k values
// whose correlations are c_|i−j|, for powers c², is Σ_i Σ_j c_|i−j| / k², of those that
// are not left out.
func TestAveragesFromDefinition(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for _, w := range append(Windows, hft144d) {
		for _, hop := range []int{16, 23, 32, 50, 64} {
			c := overlaps(w, 64, hop)
			for _, k := range []int{1, 2, 3, 7, 30} {
				for _, share := range []float64{0, 0.3} {
					out := make([]bool, k)
					for i := 1; i < k; i++ {
						out[i] = r.Float64() < share
					}
					kept, phasor, power := 0.0, 0.0, 0.0
					for i := range k {
						if !out[i] {
							kept++
						}
						for j := range k {
							if lag := max(i-j, j-i); lag < len(c) && !out[i] && !out[j] {
								phasor += c[lag]
								power += c[lag] * c[lag]
							}
						}
					}
					if share == 0 {
						out = nil
					}
					name := fmt.Sprintf("%s hop %d k %d, %v", w.Name, hop, k, out)
					kit.Near(t, name+": phasors", phasorAverages(c, k, out...), kept*kept/phasor, 1e-9*kept*kept)
					kit.Near(t, name+": powers", powerAverages(c, k, out...), kept*kept/power, 1e-9*kept*kept)
				}
			}
		}
	}
	kit.Same(t, powerAverages([]float64{1}, 1, true), 0, "of nothing")
}

func TestOverlapsEndWhereBlocksPart(t *testing.T) {
	for hop, want := range map[int]int{64: 1, 63: 2, 32: 2, 31: 3, 16: 4, 100: 1} {
		if c := overlaps(Hann, 64, hop); len(c) != want || c[0] != 1 {
			t.Errorf("hop %d: %d correlations from %g, want %d from 1", hop, len(c), c[0], want)
		}
	}
}

func overlaps(w Window, n, hop int) []float64 {
	_, c := w.Taper(n, hop)
	return c
}

func powerAverages(c []float64, k int, out ...bool) float64 {
	power, _ := Averages(c, k, out)
	return power
}

func phasorAverages(c []float64, k int, out ...bool) float64 {
	_, phasor := Averages(c, k, out)
	return phasor
}

// whiteNoise is Gaussian with standard deviation 1.
func whiteNoise(seed uint64, n int) []float64 {
	r := rand.New(rand.NewPCG(seed, 0))
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}

// welchOf averages one channel's blocks.
func welchOf(x []float64, rate float64, n, hop int, w Window) Spectrum {
	welch := NewWelch(rate, n, hop, w)
	b := NewBlocks(NewEngine, n, hop, 1, w, func(_ int, bins []complex128) { welch.Add(bins) })
	b.Push([][]float64{x})
	b.Flush()
	return welch.Spectrum()
}

// Averages of powers alone are those of the blocks' bins, by either engine and
// for any number of channels; a lone last block counts.
func TestBlocksIntoAverages(t *testing.T) {
	const n, hop = 64, 24
	for name, engine := range engines {
		for channels := 1; channels <= 3; channels++ {
			var x [][]float64
			var averages []*Welch
			for c := range channels {
				x = append(x, whiteNoise(uint64(c), n+4*hop))
				averages = append(averages, NewWelch(48000, n, hop, Hann))
			}
			b := NewBlocksInto(averages, engine)
			b.Push(x)
			b.Flush()
			for c := range x {
				got, want := averages[c].Spectrum(), welchOf(x[c], 48000, n, hop, Hann)
				kit.Near(t, name+": averages", got.Averages, want.Averages, 0)
				for j := range want.Density {
					kit.Near(t, fmt.Sprintf("%s: channel %d bin %d", name, c, j), got.Density[j]/want.Density[j], 1, 1e-12)
				}
			}
		}
	}
}

// White noise of standard deviation σ has a one-sided density of 2σ²/R, over
// the mean square of a full-scale sine, 1/2, hence 4σ²/R; half of that at 0 Hz
// and at half the rate, which have no other side. Its scatter from bin to bin
// is that of Averages independent blocks.
func TestWelchOfWhiteNoise(t *testing.T) {
	const rate, n, sigma = 48000.0, 256, 0.01
	for _, w := range Windows {
		for _, hop := range []int{n / 2, n / 4, 96} {
			const k, runs = 16, 150
			var mean, square, ends float64
			count := 0
			for seed := range uint64(runs) {
				x := whiteNoise(seed, n+(k-1)*hop)
				for i := range x {
					x[i] *= sigma
				}
				s := welchOf(x, rate, n, hop, w)
				unit := 4 * sigma * sigma / rate
				for j := 2 * w.MainLobe(); j <= n/2-2*w.MainLobe(); j++ {
					p := s.Density[j] / unit
					mean += p
					square += p * p
					count++
				}
				ends += (s.Density[0] + s.Density[n/2]) / unit / (2 * runs)
			}
			name := fmt.Sprintf("%s, hop %d", w.Name, hop)
			mean /= float64(count)
			variance := square/float64(count) - mean*mean
			edf := powerAverages(overlaps(w, n, hop), k)
			// Neighbouring bins are correlated over the noise bandwidth; so many are independent.
			free := float64(count) / (2 * w.ENBW())
			kit.Near(t, name+": density", mean, 1, 4/math.Sqrt(edf*free))
			// A mean of edf exponentials has excess kurtosis 6/edf.
			kit.Near(t, name+": scatter", variance*edf, 1, 4*math.Sqrt((2+6/edf)/free))
			// At the ends powers are real, not complex: twice the variance.
			kit.Near(t, name+": at 0 Hz and half the rate", ends, 0.5, 0.5*4*math.Sqrt(2/(edf*2*runs)))
			s := welchOf(whiteNoise(1, n+(k-1)*hop), rate, n, hop, w)
			kit.Near(t, name+": averages as stated", s.Averages, edf, 1e-12)
		}
	}
}

// A sine of amplitude A holds the power A² of full scale, in the bin it stands
// on as density times noise bandwidth, between bins less the scalloping.
func TestWelchOfASine(t *testing.T) {
	const rate, n, amplitude = 44100.0, 1024, 0.25
	for _, w := range Windows {
		for _, off := range []float64{0, 0.1, 0.25, 0.5, -0.37} {
			x := make([]float64, 5*n)
			for i := range x {
				x[i] = amplitude * math.Cos(2*math.Pi*(100+off)*float64(i)/n+0.7)
			}
			s := welchOf(x, rate, n, n/4, w)
			want := amplitude * w.Response(off)
			// The other half of the sine leaks in from 200 bins away; its phase
			// isn't known.
			leak := amplitude * w.SidelobeBound(200+off)
			got := math.Sqrt(s.Density[100] * s.ENBWHz())
			kit.Near(t, fmt.Sprintf("%s, %g bins off: rms", w.Name, off), got, want, 1.1*leak+1e-12)
		}
	}
}

// The worked test of section 13 of Heinzel, Rüdiger and Schilling (2002);
// signal from memory, values computed: 10 kHz, 2√2 sin(2π·1234t) +
// sin(2π·2500.2157t) volts, rounded to whole millivolts. It reads 2.000 V and
// 0.7071 V rms, and rounding leaves a floor of 1 mV/√(6·10 kHz) =
// 4.082483 µV/√Hz.
func TestHeinzelWorkedExample(t *testing.T) {
	const rate, n, lsb, blocks = 10000.0, 8192, 1e-3, 100
	w := FlatTop
	hop := n / 4
	x := make([]float64, n+(blocks-1)*hop)
	for i := range x {
		s := float64(i) / rate
		v := 2*math.Sqrt2*math.Sin(2*math.Pi*1234*s) + math.Sin(2*math.Pi*2500.2157*s)
		x[i] = math.Round(v/lsb) * lsb
	}
	s := welchOf(x, rate, n, hop, w)

	// With the flat-top the highest bin alone reads a line, up to half a bin
	// off, between −0.00387 and +0.00441 dB (window_test.go).
	volts := func(power float64) float64 { return math.Sqrt(power / 2) } // a full-scale sine of 1 V peak
	for hz, want := range map[float64]float64{1234: 2, 2500.2157: math.Sqrt(0.5)} {
		peak := 0.0
		for j := int(hz/s.BinHz()) - 2; j <= int(hz/s.BinHz())+3; j++ {
			peak = max(peak, s.Density[j])
		}
		// Noise adds at random: five times its rms in a bin, 4.08 µV/√Hz over
		// 4.65 Hz, is 44 µV beside 0.7 V, 6e-5; its average is far less.
		got := db(volts(peak*s.ENBWHz()) / want)
		if got < -0.00387-1e-4 || got > 0.00441+1e-4 {
			t.Errorf("%g Hz: %+.5f dB", hz, got)
		}
		nearest := math.Round(hz / s.BinHz())
		exact := volts(s.Density[int(nearest)]*s.ENBWHz()) / w.Response(nearest-hz/s.BinHz())
		kit.Near(t, fmt.Sprintf("%g Hz: rms, response taken out", hz), exact, want, 6e-5*want)
	}

	// Floor over 2.6–4.9 kHz as a mean of powers, less what the lines leak
	// there (the published run's window leaks nothing: HFT248D); the rounding
	// noise of two sines isn't quite white, hence 1 %.
	lo, hi := int(2600/s.BinHz()), int(4900/s.BinHz())
	mean, leak := 0.0, 0.0
	for j := lo; j < hi; j++ {
		mean += s.Density[j] / 2 / float64(hi-lo) // V²/Hz, as 1 V peak is full scale
		for hz, rms := range map[float64]float64{1234: 2, 2500.2157: math.Sqrt(0.5)} {
			side := rms * w.Response(float64(j)-hz/s.BinHz())
			leak += side * side / s.ENBWHz() / float64(hi-lo)
		}
	}
	const floor = 4.082483e-6
	if share := leak / (floor * floor); share > 0.02 {
		t.Errorf("the lines leak %.2g of the floor", share)
	}
	kit.Near(t, "floor, V/√Hz", math.Sqrt(mean-leak), floor, 0.01*floor)
}

func TestSpectrumStatesItsBins(t *testing.T) {
	s := welchOf(whiteNoise(1, 4096), 48000, 1024, 256, Nuttall)
	if s.Rate != 48000 || s.N != 1024 || s.Window != "nuttall" || len(s.Density) != 513 {
		t.Errorf("rate %g, N %d, window %s, %d bins", s.Rate, s.N, s.Window, len(s.Density))
	}
	kit.Near(t, "bin", s.BinHz(), 46.875, 0)
	kit.Near(t, "noise bandwidth", s.ENBWHz(), 46.875*2.0212325783, 1e-7)
}

// No block yet: no power, and no NaN.
func TestWelchOfNothing(t *testing.T) {
	for j, p := range NewWelch(48000, 64, 32, Hann).Spectrum().Density {
		kit.Same(t, p, 0, "bin %d", j)
	}
}

// total is a spectrum's power without the bins within lobe of each of some
// frequencies.
func total(s Spectrum, lobe int, but ...float64) float64 {
	sum := 0.0
	for j, p := range s.Density {
		free := true
		for _, hz := range but {
			free = free && math.Abs(float64(j)-hz/s.BinHz()) > float64(lobe)
		}
		if free {
			sum += p * s.BinHz()
		}
	}
	return sum
}

// 0 dBFS is the rms of a full-scale sine (AES17, IEC 61606, ITU-T P.381, through
// handwiki.org/wiki/DBFS); a full-scale square wave then reads 20 lg √2 =
// +3.010299957 dBFS, and a sine whose peak is the largest sample of 16 or 24
// bits −0.00026508 or −0.00000104 dB (computed). All power of a spectrum's bins
// adds up to that of the signal, whatever the window.
func TestZeroDBFS(t *testing.T) {
	const rate, n = 48000.0, 4096
	sine, square := make([]float64, 8*n), make([]float64, 8*n)
	for i := range sine {
		sine[i] = math.Sin(2 * math.Pi * 85 * float64(i) / n)
		square[i] = 1
		if i%n*128/n%2 == 1 {
			square[i] = -1
		}
	}
	for _, w := range Windows {
		level := func(x []float64, peak float64) float64 {
			scaled := make([]float64, len(x))
			for i := range x {
				scaled[i] = peak * x[i]
			}
			return 10 * math.Log10(total(welchOf(scaled, rate, n, n/2, w), 0))
		}
		kit.Near(t, w.Name+": full-scale sine, dBFS", level(sine, 1), 0, 1e-9)
		kit.Near(t, w.Name+": full-scale square wave, dBFS", level(square, 1), 3.010299957, 1e-8)
		kit.Near(t, w.Name+": 16-bit sine, dBFS", level(sine, 1-0x1p-15), -0.00026508, 0.51e-8)
		kit.Near(t, w.Name+": 24-bit sine, dBFS", level(sine, 1-0x1p-23), -0.00000104, 0.51e-8)
	}
}

// An ideal quantiser's noise beside a full-scale sine: 6.0206·bits + 1.7609 dB
// below it, 4.7712 dB less with triangular dither.
func TestQuantisingNoise(t *testing.T) {
	const rate, n = 48000.0, 8192
	for _, c := range []struct {
		bits   int
		dither bool
		want   float64
	}{{16, false, 98.0905}, {16, true, 93.3193}, {24, false, 146.2553}, {24, true, 141.4841}} {
		r := rand.New(rand.NewPCG(1, 2))
		x := make([]float64, 60*n)
		scale := math.Ldexp(1, c.bits-1)
		for i := range x {
			v := 0.999 * scale * math.Sin(2*math.Pi*997.3*float64(i)/rate)
			if c.dither {
				v += r.Float64() - r.Float64()
			}
			x[i] = math.Round(v) / scale
		}
		// Away from the sine, which leaks −213 dB at 1000 bins, and scaled up for
		// the bins left out.
		s := welchOf(x, rate, n, n/2, Nuttall)
		const skirt = 1000
		noise := total(s, skirt, 997.3) * (rate / 2) / (rate/2 - 997.3 - skirt*s.BinHz())
		// 120 half-overlapping blocks of 2900 bins: 0.008 dB, four times of it.
		kit.Near(t, fmt.Sprintf("%d bits, dither %v: dB below", c.bits, c.dither), -10*math.Log10(noise), c.want, 0.03)
	}
}

// What a Welch average leaves out is as if it never came: the average of the
// others by hand, whether bins are handed over or powers added up at once.
func TestLeaveOut(t *testing.T) {
	const n, hop = 64, 32
	x := [][]float64{whiteNoise(1, 500), whiteNoise(2, 500)}
	without := []bool{false, true, false, false, true}
	sum, kept := make([]float64, n/2+1), 0.0
	block := 0
	b := NewBlocks(NewEngine, n, hop, 1, Hann, func(_ int, bins []complex128) {
		if block >= len(without) || !without[block] {
			kept++
			for j, v := range bins {
				sum[j] += real(v)*real(v) + imag(v)*imag(v)
			}
		}
		block++
	})
	b.Push(x[:1])
	b.Flush()
	energy := 0.0
	for _, w := range Hann.Samples(n) {
		energy += w * w
	}
	added := NewWelch(1000, n, hop, Hann)
	added.LeaveOut(without)
	each := NewBlocks(NewEngine, n, hop, 1, Hann, func(_ int, bins []complex128) { added.Add(bins) })
	each.Push(x[:1])
	each.Flush()
	into := []*Welch{NewWelch(1000, n, hop, Hann), NewWelch(1000, n, hop, Hann)}
	into[0].LeaveOut(without)
	both := NewBlocksInto(into, NewEngine)
	both.Push(x)
	both.Flush()
	out := append(slices.Clone(without), make([]bool, block-len(without))...)
	for name, s := range map[string]Spectrum{"added": added.Spectrum(), "at once": into[0].Spectrum()} {
		kit.Near(t, name+": averages", s.Averages, powerAverages(overlaps(Hann, n, hop), len(out), out...), 1e-12)
		for j := 1; j < n/2; j++ {
			want := 4 * sum[j] / kept / (1000 * energy)
			kit.Near(t, fmt.Sprintf("%s: bin %d", name, j), s.Density[j]/want, 1, 1e-12)
		}
	}
	if all := into[1].Spectrum(); all.Averages != powerAverages(overlaps(Hann, n, hop), block) {
		t.Errorf("the other channel has %g averages", all.Averages)
	}
}
