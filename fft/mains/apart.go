package mains

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"humdiff/fft"
)

// A tone within a line's main lobe beats with it. Over a whole segment the two come
// apart: the line keeps to the mains' phase, the tone to its own. From the line's
// envelope the tone's frequency and phasor are had; what the blocks have of it is then
// taken off the line.

const (
	// beatShare and beatSNR are from what scatter of a line's phasors on, as a share of
	// its power and beside its noise, a tone is looked for.
	beatShare, beatSNR = 3e-4, 4.0
	// apartCycles is how many cycles a tone has to gain on the line in a segment.
	apartCycles = 3.0
	// apartStands is how far a tone has to stand above all else beside the line, and
	// oneSided above what lies as far to the other side: hum that swings has two.
	apartStands, oneSided = 30.0, 4.0
	// apartRest is what is left at the most of what lies beside the line without the tone.
	apartRest = 0.3
	// restShare is how much of what neither explains, in amplitude, may lie on the line: a
	// tone that swings has sidebands alike, of which one may.
	restShare = 1.0
	// mostRestDB is by how much a line may be off because of that and still be told.
	mostRestDB = 4.2
)

// besideTone is a tone told apart from a line.
type besideTone struct {
	hz    float64
	a     complex128 // its half-amplitude at the centre of the segment's first block
	power float64
	rest  float64 // power, beyond noise, of what neither it nor the line explains
}

// takeApart finds the tone that beats with harmonic h and takes it off the line's
// phasors, at h times the track. ok is false where there is none.
func (m *meter) takeApart(blocks []block, t track, f follower, h int, phasors []complex128) (tone besideTone, ok bool) {
	hz := float64(h) * m.found.hz
	if f.shift != nil || m.there.part != nil || hz > combEnd {
		return tone, false
	}
	e, known := m.there.beating[h]
	switch {
	case known:
	case h == m.there.now.harmonic:
		e = m.there.now.envelope
	case !m.beats(t, f, h, phasors):
		return tone, false
	default:
		e = newEnvelope(m.l, blocks, hz, m.blockNoise(hz)/m.l.lineENBW, m.scan.near(hz))
	}
	line := e.along(m.l, t, h)
	offset, ok := e.besidePeak(line)
	if !ok {
		return tone, false
	}
	if tone, ok = e.separate(line, offset); !ok {
		return tone, false
	}
	for b := range phasors {
		d := (tone.hz - float64(h)*t.hz[b]) / m.l.binHz()
		turn := 2 * math.Pi * fraction(tone.hz*float64(b)*m.l.hopSeconds())
		phasors[b] -= tone.a * cmplx.Rect(m.l.taper.Response(d), turn)
	}
	return tone, true
}

// beats says whether a line's phasors scatter about their mean, turned back by the
// track, more than noise makes them.
func (m *meter) beats(t track, f follower, h int, phasors []complex128) bool {
	mean, sum, n := complex(0, 0), 0.0, 0.0
	for b, a := range phasors {
		if f.skips(b) {
			continue
		}
		mean += a * cmplx.Rect(1, -float64(h)*t.phase[b])
		sum += power(a)
		n++
	}
	steady, noise := power(mean/complex(n, 0)), m.blockNoise(float64(h)*m.found.hz)
	return sum/n-steady > max(beatShare*sum/n, beatSNR*noise)
}

// along is what the envelope of harmonic h at amplitude 1 would be on the track.
func (e envelope) along(l layout, t track, h int) []complex128 {
	line := make([]complex128, len(e.a))
	for i := range line {
		line[i] = cmplx.Rect(1, float64(h)*t.phaseAt(e.time(i), l.hopSeconds())-2*math.Pi*fraction(e.hz*e.time(i)))
	}
	return line
}

// phaseAt is the fundamental's phase at a time from the first block's centre.
func (t track) phaseAt(seconds, hop float64) float64 {
	b := fft.Whole(math.Round(seconds/hop), 0, len(t.phase)-1)
	return t.phase[b] + 2*math.Pi*t.hz[b]*(seconds-float64(b)*hop)
}

// besidePeak is how far beside the line the strongest other tone lies, Hz.
func (e envelope) besidePeak(line []complex128) (offset float64, ok bool) {
	n := fft.PowerOfTwo(4 * len(e.a))
	rest := make([]complex128, n)
	mean := e.onto(line, e.a)
	for i, a := range e.a {
		hann := 1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(len(e.a)))
		rest[i] = (a - mean*line[i]) * complex(hann, 0)
	}
	fft.NewTransform(n).Forward(rest)
	grid := 1 / (float64(n) * e.step)
	reach := fft.Whole(0.8*e.band()/grid, 1, n/2-3)
	from := fft.Whole(apartCycles/(float64(len(e.a))*e.step*grid), 1, reach)
	at := func(k int) float64 {
		x := rest[(k+n)%n]
		return real(x)*real(x) + imag(x)*imag(x)
	}
	best, all := from, make([]float64, 0, 2*reach)
	for k := from; k <= reach; k++ {
		for _, side := range []int{-k, k} {
			all = append(all, at(side))
			if at(side) > at(best) {
				best = side
			}
		}
	}
	mirror := 0.0
	for k := -2; k <= 2; k++ {
		mirror = max(mirror, at(-best+k))
	}
	return float64(best) * grid, at(best) > max(apartStands*medianOf(all), oneSided*mirror)
}

// onto is how much of one series, at amplitude 1, is in another.
func (e envelope) onto(one, x []complex128) (sum complex128) {
	for i := range one {
		sum += x[i] * cmplx.Conj(one[i])
	}
	return sum / complex(float64(len(one)), 0)
}

// separate fits line and tone together, and improves the tone's offset by how its phase
// then runs. ok is false where much is left that neither explains.
func (e envelope) separate(line []complex128, offset float64) (t besideTone, ok bool) {
	n := float64(len(e.a))
	before, rest, a := 0.0, 0.0, complex(0, 0)
	for range 4 {
		tone := make([]complex128, len(e.a))
		for i := range tone {
			tone[i] = cmplx.Rect(1, 2*math.Pi*offset*e.time(i))
		}
		// Two unknowns: what is in either, less what each has of the other.
		x, y, both := e.onto(line, e.a), e.onto(tone, e.a), e.onto(line, tone)
		common := real(both)*real(both) + imag(both)*imag(both)
		if common > 0.5 {
			return t, false
		}
		a = (y - cmplx.Conj(both)*x) / complex(1-common, 0)
		steady := x - both*a
		before, rest = 0, 0
		first, second := complex(0, 0), complex(0, 0)
		for i, v := range e.a {
			beside := v - steady*line[i]
			before += power(beside) / n
			rest += power(beside-a*tone[i]) / n
			if turned := beside * cmplx.Conj(tone[i]); i < len(e.a)/2 {
				first += turned
			} else {
				second += turned
			}
		}
		// The halves' centres lie half the length apart.
		offset += cmplx.Phase(second*cmplx.Conj(first)) / (math.Pi * n * e.step)
	}
	rest = max(0, rest-e.noise)
	return besideTone{e.hz + offset, a, power(a), rest}, rest < apartRest*(before-e.noise)
}

// besideSum gathers a tone over segments, each by its blocks.
type besideSum struct{ hz, power, rest, blocks float64 }

func (m *meter) addBeside(h int, t besideTone, blocks int) {
	if m.beside == nil {
		m.beside = map[int]besideSum{}
	}
	s, n := m.beside[h], float64(blocks)
	m.beside[h] = besideSum{s.hz + n*t.hz, s.power + n*t.power, s.rest + n*t.rest, s.blocks + n}
}

// restDB is by how many dB a line of so much power may be off that a tone was taken off.
func (m *meter) restDB(h int, line float64) float64 {
	s, is := m.beside[h]
	if !is {
		return 0
	}
	return 20 * math.Log10(1+restShare*math.Sqrt(s.rest/s.blocks/line))
}

// tonesApart are the tones taken off lines. One that only some segments have counts for
// its mean power.
func (m *meter) tonesApart() (tones []Tone) {
	for h := 1; h <= len(m.lines); h++ {
		if s, is := m.beside[h]; is {
			tones = append(tones, Tone{Hz: s.hz / s.blocks, Power: s.power / float64(m.seen)})
		}
	}
	return tones
}

// withApart puts the tones taken off lines in the place of what peaks of the averaged
// spectrum say there.
func (m *meter) withApart(tones []Tone, peaks []peak, halfWidth float64) ([]Tone, []peak) {
	for _, t := range m.tonesApart() {
		near := func(hz float64) bool { return math.Abs(hz-t.Hz) < halfWidth }
		tones = slices.DeleteFunc(tones, func(x Tone) bool { return near(x.Hz) })
		peaks = slices.DeleteFunc(peaks, func(p peak) bool { return near(p.hz) })
		tones = append(tones, t)
		peaks = append(peaks, peak{hz: t.Hz, power: t.Power, halfWidth: halfWidth})
	}
	slices.SortStableFunc(tones, func(a, b Tone) int { return cmp.Compare(b.Power, a.Power) })
	return tones, peaks
}
