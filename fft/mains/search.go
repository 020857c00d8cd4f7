package mains

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"humdiff/fft"
)

const (
	// searchHarmonics is how many lines the search sums. Above 24·51 Hz, where
	// neighbouring lines' search ranges meet, every tone lies on some line.
	searchHarmonics = 24
	// shareCap caps one line's surprise (−ln of the probability that noise
	// alone reaches it), so that one loud tone isn't taken for mains.
	shareCap = 15.0
	// loneShare (1e-4) is by how much one of the first three lines must stand
	// out, or a second line, or all lines without the strongest: one loud tone
	// and some luck is no mains.
	loneShare = 9.2
	// trials is the number of independent looks at noise in a search of ±1 Hz
	// around one nominal frequency, all subsets of lines included, per bin of
	// 1 Hz; found by simulation (the cases "noise alone" of fixtures/proof).
	trialsPerHertz = 110.0
)

// subsets of harmonics that hum may show: the fundamental alone, few, many.
func subsets(harmonics int) [][]int {
	all := func(to, step int) []int {
		var s []int
		for h := 1; h <= min(to, harmonics); h += step {
			s = append(s, h)
		}
		return s
	}
	sets := [][]int{all(1, 1), {min(2, harmonics)}, {min(3, harmonics)}, all(3, 1), all(9, 2), all(8, 1), all(searchHarmonics, 1)}
	return slices.CompactFunc(sets, slices.Equal)
}

// searchRange is where the mains of a nominal frequency is looked for.
func searchRange(nominal float64, wide bool) Band {
	switch {
	case wide && nominal == 50:
		return Band{42.5, 57.5}
	case wide:
		return Band{51, 69}
	}
	return Band{nominal * 0.98, nominal * 1.02}
}

const (
	// gridLines is how many lines a mains has to show where no public grid goes:
	// one is a tone, two are a tone and its octave.
	gridLines = 3
	// mostTonesAside is how many such tones are looked past.
	mostTonesAside = 4
)

// locked counts the lines that lie on multiples of f0 as lines of one mains do,
// however it wanders: within what noise and the peaks' interpolation leave.
func locked(lines []combPeak, f0, bin float64) (n int) {
	for _, p := range lines {
		if math.Abs(p.hz-p.h*f0) < 0.04*bin+3*p.sd+0.002*p.h {
			n++
		}
	}
	return n
}

// searchOne looks for a comb around one nominal frequency. Tones that would make
// a mains where no grid is are set aside, lest they keep one from being found; and
// one line off the nominal frequency is taken for one where no lines beside it agree.
func searchOne(o *observation, l layout, surprise []float64, nominal float64, wide bool, threshold float64) (c candidate, ok bool) {
	harmonics := min(searchHarmonics, l.harmonics(nominal, nominal))
	within := searchRange(nominal, wide)
	var aside []float64
	var lone *candidate
	for range mostTonesAside {
		hz, score := bestComb(surprise, &o.scan, within, harmonics)
		if score <= threshold {
			break
		}
		f := found{nominal: nominal}
		var lines []combPeak
		var astray []float64
		if f.hz, f.u95, lines, astray, ok = refine(o, l, hz, aside, surprise); !ok {
			break
		}
		f.aside = append(slices.Clone(aside), astray...)
		// What it was refined to may be the other nominal frequency's comb.
		half := o.scan.binHz / 2
		inside := f.hz > within.Lo-half && f.hz < within.Hi+half
		onGrid := math.Abs(f.hz/nominal-1) <= publicGrid
		few := len(lines) == 1 || !onGrid && locked(lines, f.hz, o.scan.binHz) < gridLines
		switch {
		case lone != nil && !agreeing(lines, f.hz, o.scan.binHz):
			return *lone, true
		case wide || len(lines) == 0 || !few || lone != nil || math.Abs(f.hz-nominal) <= usualOffset:
			return candidate{found: f, score: score}, inside
		case onGrid && inside:
			lone = &candidate{found: f, score: score}
		}
		surprise, aside = without(lines, o, l, surprise, aside)
	}
	if lone != nil {
		return *lone, true
	}
	return c, false
}

// without sets lines aside as tones.
func without(lines []combPeak, o *observation, l layout, surprise, aside []float64) (left, asides []float64) {
	surprise = slices.Clone(surprise)
	reach := 2 * l.window.MainLobe()
	for _, p := range lines {
		aside = append(aside, p.hz)
		clear(surprise[max(0, min(o.scan.at(p.hz)-reach, len(surprise))):max(0, min(o.scan.at(p.hz)+reach+1, len(surprise)))])
	}
	return surprise, aside
}

// found is the mains as the averaged spectrum shows it.
type found struct {
	nominal float64
	hz      float64
	u95     float64
	aside   []float64 // Hz; tones that made a mains where none is, and peaks that lead away from it
	// ambiguous: the other nominal frequency explains the lines as well.
	ambiguous bool
}

// search is the likeliest mains in an observation; ok is false where there is none.
func search(o *observation, l layout, opt Options) (best found, ok bool) {
	all := candidates(o, l, opt)
	if len(all) == 0 {
		return found{}, false
	}
	return all[0].found, true
}

// candidates looks for the mains in an observation: at most one comb a nominal
// frequency, the likelier one first. None where noise alone would look as good more
// often than the stated rate of false alarms.
func candidates(o *observation, l layout, opt Options) []candidate {
	nominals := []float64{50, 60}
	if opt.Nominal != 0 {
		nominals = []float64{opt.Nominal}
	}
	surprise := surprises(o, l)
	hertz := 0.0
	for _, n := range nominals {
		r := searchRange(n, opt.Wide)
		hertz += r.Hi - r.Lo
	}
	falseAlarm := searchFalseAlarm
	if opt.Around > 0 {
		falseAlarm = surelyFalseAlarm
	}
	// Resolution of f0 follows that of the bins.
	threshold := math.Log(hertz * trialsPerHertz * (longestBin / l.binHz()) / falseAlarm)
	var all []candidate
	for _, n := range nominals {
		if c, found := searchOne(o, l, surprise, n, opt.Wide, threshold); found {
			all = append(all, byPower(c, o, l, surprise))
		}
	}
	weigh(all, o, l, surprise)
	return all
}

// outweighs is how much more power than a comb's has to stand where a grid usually is.
const outweighs = 100.0

// byPower is the comb of the strongest line right beside the nominal frequency, where that
// outweighs the one found: notes and speech have many lines in its range, each of which
// surprises as much.
func byPower(c candidate, o *observation, l layout, surprise []float64) candidate {
	bin := o.scan.binHz / 2
	hz, _ := interpolatedPeak(&o.scan, peakNear(&o.scan, c.nominal, fft.Whole(math.Ceil(usualOffset/bin), 1, 1000)))
	if math.Abs(hz-c.nominal) > usualOffset || math.Abs(hz-c.hz) < bin {
		return c
	}
	f, ok := found{nominal: c.nominal}, false
	if f.hz, f.u95, _, f.aside, ok = refine(o, l, hz, nil, surprise); !ok || math.Abs(f.hz-hz) > bin {
		return c
	}
	other := candidate{found: f, score: c.score}
	if beside, _ := c.power(o, l, surprise, &other); o.scan.mean[o.scan.at(hz)] < outweighs*beside {
		return c
	}
	return other
}

// surprises is, for every half bin of the scan, −ln of the probability that
// noise alone reads as much there.
func surprises(o *observation, l layout) []float64 {
	e := make([]float64, min(len(o.scan.mean), o.scan.at(searchHarmonics*69)+4))
	end, bias := 0.0, 1.0
	var table surpriseTable
	for i := range e {
		if hz := o.scan.hz(i); hz >= end { // the next band
			share := o.even.share(hz)
			table, bias = newSurpriseTable(o.power*share), medianBias(max(1, o.low.Averages*share))/medianBias(o.low.Averages)
			end = evenBands[slices.IndexFunc(evenBands, func(end float64) bool { return hz < end })]
		}
		noise := o.rough[i/2] / bias * l.lineENBW
		if noise > 0 && onTop(o.scan.mean, i, 4*l.window.MainLobe()) {
			e[i] = table.at(o.scan.mean[i] / noise)
		}
	}
	return e
}

// onTop reports whether half bin i is no lower than an eighth of what stands
// within reach of it: on the slope of a strong line there is no other.
func onTop(power []float64, i, reach int) bool {
	for j := max(0, i-reach); j <= min(i+reach, len(power)-1); j++ {
		if power[j] > 8*power[i] {
			return false
		}
	}
	return true
}

// gammaSurprise is −ln P(X ≥ r) of a gamma variable of mean 1 and shape k,
// with enough reach for a strong line.
func gammaSurprise(k, r float64) float64 {
	if !(k > 0) {
		return 0 // of no look nothing is known
	}
	if p := mathext.GammaIncRegComp(k, k*r); p > 1e-280 {
		return -math.Log(p)
	}
	return 644 // −ln 1e-280
}

// surpriseTable is gammaSurprise of one shape, from a table where noise mostly
// reads: thousands of bins are asked for it. It is cubic between rows, which lie
// a sixteenth of the standard deviation apart.
type surpriseTable struct {
	shape, perUnit float64
	rows           []float64 // at 0, 1/perUnit, 2/perUnit …
}

func newSurpriseTable(shape float64) surpriseTable {
	const rowsToSD, reach, mostRows = 16, 5, 1 << 20
	deviations := math.Sqrt(max(shape, 1)) // in a unit
	s := surpriseTable{shape, rowsToSD * deviations, make([]float64, fft.Whole(rowsToSD*(deviations+reach), 0, mostRows))}
	for i := range s.rows {
		s.rows[i] = gammaSurprise(shape, float64(i)/s.perUnit)
	}
	return s
}

func (s surpriseTable) at(r float64) float64 {
	const bent = 5 // rows near zero between which it is no cubic
	place := r * s.perUnit
	if !(place >= bent && place < float64(len(s.rows)-2)) { // nor where r is no number
		return gammaSurprise(s.shape, r)
	}
	i := int(place)
	// Lagrange's cubic through the two rows on either side.
	x, y := r*s.perUnit-float64(i), s.rows[i-1:i+3]
	return max(y[1]+x*(-y[0]/3-y[1]/2+y[2]-y[3]/6+x*((y[0]+y[2])/2-y[1]+x*((y[3]-y[0])/6+(y[1]-y[2])/2))), 0)
}

// bestComb finds the f0 in a range whose lines surprise most together.
func bestComb(surprise []float64, s *scan, r Band, harmonics int) (hz, score float64) {
	if harmonics < 1 {
		return 0, 0
	}
	sets := subsets(harmonics)
	step := s.binHz / 2 / float64(harmonics)
	support := -1.0
	for f0 := r.Lo; f0 <= r.Hi; f0 += step {
		g := combScore(surprise, s, f0, sets)
		if g == 0 || g < score-1e-9 {
			continue
		}
		// A strong comb is capped over a whole plateau: take the place where
		// the power is.
		total := 0.0
		for h := 1; h <= harmonics; h++ {
			if i := s.at(float64(h) * f0); i < len(surprise) {
				total += surprise[i]
			}
		}
		if g > score+1e-9 || total > support {
			hz, score, support = f0, max(score, g), total
		}
	}
	return hz, score
}

// combScore is −ln of the probability that noise makes the lines of the most
// surprising subset sum to so much; 0 where a single line above the third makes
// all of it.
func combScore(surprise []float64, s *scan, f0 float64, sets [][]int) float64 {
	score := 0.0
	for _, set := range sets {
		sum, first, second, low := 0.0, 0.0, 0.0, false
		for _, h := range set {
			i := s.at(float64(h) * f0)
			if i >= len(surprise) {
				break
			}
			e := min(surprise[i], shareCap)
			sum += e
			first, second = max(first, e), max(second, min(first, e))
			low = low || h <= 3 && e > loneShare
		}
		if low || second > loneShare || sumSurprise(sum-first, len(set)-1) > loneShare {
			score = max(score, sumSurprise(sum, len(set)))
		}
	}
	return score
}

// sumSurprise is −ln of the probability that the surprises of n lines of noise
// add up to so much.
func sumSurprise(sum float64, n int) float64 {
	if n == 0 {
		return 0
	}
	return gammaSurprise(float64(n), sum/float64(n))
}

// refine improves f0 from the peaks of the lines that stand out (see refineBy). A
// thump's peak on or right beside a low line leads away from the others: where two
// lines and more are explained better by far without it, they say what f0 is. astray
// are then the peaks that they leave aside, Hz.
func refine(o *observation, l layout, f0 float64, aside []float64, surprise []float64) (hz, u95 float64, lines []combPeak, astray []float64, ok bool) {
	bin, all, at := o.scan.binHz, combPeaks(o, l, f0, true, aside), combPeaks(o, l, f0, false, nil)
	sets := subsets(min(searchHarmonics, l.harmonics(nearestNominal(f0), f0)))
	score := 0.0
	if hz, u95, lines, ok = refineBy(all, bin, f0, aside); ok && hz > 0 {
		score = combScore(surprise, &o.scan, hz, sets) + leadsAway
	}
	for _, peaks := range [][]combPeak{at, at[min(1, len(at)):], all[min(1, len(all)):]} {
		otherHz, otherU95, others, otherOK := refineBy(peaks, bin, f0, aside)
		if !otherOK || !agreeing(others, otherHz, bin) {
			continue
		}
		// Two lines and more that agree, where the others say nothing but one: that one is
		// a tone, however strong.
		outvoted := ok && len(lines) == 1
		if s := combScore(surprise, &o.scan, otherHz, sets); s > score || outvoted {
			hz, u95, lines, ok, score = otherHz, otherU95, others, true, s+leadsAway
			astray = nil
			for _, p := range all {
				if !p.agrees(hz, bin) {
					astray = append(astray, p.hz)
				}
			}
		}
	}
	return hz, u95, lines, astray, ok
}

// refineBy improves f0 from peaks, lowest first, each weighted by how well it fixes
// f0. ok is false where the peaks are no comb: neither one of the first three lines nor
// two others lie on its multiples. lines are the clear peaks that do: none where many
// faint ones make the comb. Peaks of tones set aside are no lines.
func refineBy(peaks []combPeak, binHz, f0 float64, aside []float64) (hz, u95 float64, lines []combPeak, ok bool) {
	peaks = slices.DeleteFunc(slices.Clone(peaks), func(p combPeak) bool {
		return p.isNear(aside, binHz)
	})
	hz = f0
	weight, sum := 0.0, 0.0
	for _, p := range peaks {
		if weight > 0 && math.Abs(p.hz-p.h*hz) > binHz*0.75 {
			continue // something else is there
		}
		w := p.h * p.h / (p.sd * p.sd)
		weight += w
		sum += p.hz / p.h * w
		hz = sum / weight
	}
	if weight == 0 {
		return f0, 1.96 * binHz / 2, nil, true
	}
	clear, agree := 0, 0
	for _, p := range peaks {
		if p.snr < 3 {
			continue
		}
		clear++
		if p.liesOn(hz, binHz) {
			agree++
			lines = append(lines, p)
			if p.h <= 3 {
				agree++
			}
		}
	}
	return hz, 1.96 / math.Sqrt(weight), lines, clear == 0 || agree >= 2
}

// combPeak is a line's peak in the scan.
type combPeak struct{ h, hz, snr, sd float64 }

// liesOn says whether the peak is where f0 has a line, as near as can be told.
func (p combPeak) liesOn(f0, binHz float64) bool {
	return math.Abs(p.hz-p.h*f0) < 0.35*binHz+3*p.sd+p.h*usualWander
}

// agrees says whether the peak is where f0 has a line, closer than any tone beside it
// that shows within a minute.
func (p combPeak) agrees(f0, binHz float64) bool {
	return math.Abs(p.hz-p.h*f0) < 0.1*binHz+3*p.sd+0.01*p.h
}

// agreeing says whether two peaks or more agree, not all of them on multiples of 300 Hz,
// where the other nominal frequency has lines too.
func agreeing(lines []combPeak, f0, binHz float64) bool {
	n, own := 0, false
	for _, p := range lines {
		if p.agrees(f0, binHz) {
			n++
			own = own || math.Abs(math.Remainder(p.h*nearestNominal(f0), 300)) > 1
		}
	}
	return n >= 2 && own
}

// isNear says whether the peak is one of the tones set aside.
func (p combPeak) isNear(aside []float64, binHz float64) bool {
	return slices.ContainsFunc(aside, func(hz float64) bool { return math.Abs(p.hz-hz) < 2*binHz })
}

// leadsAway is by how much −ln of a probability has to be larger.
const leadsAway = 3.0

// combPeaks lists the peaks that stand out near the multiples of f0, as the first of them
// says it is; or, where they aren't to follow that, at the multiples themselves.
func combPeaks(o *observation, l layout, f0 float64, follow bool, aside []float64) (peaks []combPeak) {
	reach := 2
	if follow {
		reach = 4
	}
	// The time that the taper keeps of a block, in seconds.
	time := 0.4 / l.binHz()
	hz := f0
	for h := 1; h <= min(60, l.harmonics(nearestNominal(f0), f0)); h++ {
		i := peakNear(&o.scan, float64(h)*hz, reach)
		p := combPeak{h: float64(h)}
		p.hz, _ = interpolatedPeak(&o.scan, i)
		p.snr = o.scan.mean[i]/(o.rough[i/2]*l.lineENBW) - 1
		if !(p.snr > 1) || h > 3 && p.snr < 3 || p.isNear(aside, o.scan.binHz) || !follow && !onPeak(&o.scan, i) {
			continue
		}
		// The bound for a tone of this power in that time, as often as there are blocks.
		p.sd = 0.39 / (time * math.Sqrt(o.phasor*p.snr)) * math.Sqrt(1+1/p.snr)
		if follow && len(peaks) == 0 {
			hz = p.hz / p.h // look for the next ones where this one says
		}
		peaks = append(peaks, p)
	}
	return peaks
}

// peakNear is the half bin with the most power within reach half bins of hz.
func peakNear(s *scan, hz float64, reach int) int {
	best := min(max(s.at(hz), 0), len(s.mean)-1)
	for i := s.at(hz) - reach; i <= s.at(hz)+reach; i++ {
		if i > 0 && i < len(s.mean)-1 && s.mean[i] > s.mean[best] {
			best = i
		}
	}
	return best
}

// onPeak says whether no neighbour of half bin i has more power.
func onPeak(s *scan, i int) bool {
	return i > 0 && i+1 < len(s.mean) && s.mean[i] >= max(s.mean[i-1], s.mean[i+1])
}

// interpolatedPeak is where the parabola through the logarithms of a peak and its
// neighbours has its top, and how high that is.
func interpolatedPeak(s *scan, i int) (hz, height float64) {
	i = min(max(i, 0), len(s.mean)-1)
	hz, height = s.hz(i), s.mean[i]
	if i < 1 || i+1 >= len(s.mean) || s.mean[i-1] <= 0 || height <= 0 || s.mean[i+1] <= 0 {
		return hz, height
	}
	a, b, c := math.Log(s.mean[i-1]), math.Log(s.mean[i]), math.Log(s.mean[i+1])
	d := a - 2*b + c
	if d < 0 {
		hz += 0.5 * (a - c) / d * s.binHz / 2
	}
	if d < 0 && b >= a && b >= c {
		height = math.Exp(b - (a-c)*(a-c)/(8*d))
	}
	return hz, height
}
