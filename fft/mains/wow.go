package mains

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"
)

// A recorder whose speed swings, and a generating set that hunts, swing all lines' phases
// alike, within blocks. What the track doesn't have of that is read off the envelope of
// the line that fixes it best, where another line's has the same.

const (
	// swingsAlike is the correlation from which two lines' phases swing alike.
	swingsAlike = 0.7
	// wowDoubtDB and wowDoubtShare are what a level corrected for such a swing may be off
	// by: so much, and so much of the correction; leastKept is the least that is given back.
	wowDoubtDB, wowDoubtShare, leastKept = 0.02, 0.15, 0.05
)

// wow gathers what the swing of the phase takes off lines.
type wow struct {
	now    []float64 // rad, of the fundamental, beyond the segment's track, by values of best; nil: it doesn't swing
	best   envelope
	rate   float64   // mean square of how fast now changes, rad²/s²
	keeps  []float64 // share of each line's power that blocks keep, summed over those of segments that swing
	swings float64   // number of these
	others float64   // of the others
	step   float64   // rad, the largest step of the fundamental's phase in the segment that may be one
	steps  bool      // any segment has one: samples may be lost, and the track leaps
}

// look finds the swing in a segment by the lines that beat with something.
func (w *wow) look(m *meter, t track, blocks int) {
	w.now, w.step = nil, 0
	all := m.swinging(t)
	if len(all) > 0 && m.there.now.harmonic == 0 {
		w.step = all[0].steps()
		w.steps = w.steps || w.step > 0
	}
	if len(all) > 0 && m.there.now.harmonic == 0 && w.step == 0 && all[0].stands() && (len(all) > 1 && all[0].like(all[1]) || all[0].unexplained(all[1:], m.l, t)) {
		w.best, w.now, w.rate = all[0].envelope, all[0].phase, 0
		for i := 1; i < len(w.now); i++ {
			d := (w.now[i] - w.now[i-1]) / w.best.step
			w.rate += d * d / float64(len(w.now)-1)
		}
		w.addKept(m, t, all[0].noise)
		return
	}
	w.others += float64(blocks)
}

// swingingLine is a line that beats with something.
type swingingLine struct {
	envelope
	h     int
	phase []float64 // of the fundamental, beyond the track
	noise float64   // variance of that, rad²
	all   float64   // its mean square
}

// swinging are the lines that beat with something, the one that fixes the phase best first.
func (m *meter) swinging(t track) (all []swingingLine) {
	for h, e := range m.there.beating {
		s := swingingLine{envelope: e, h: h, phase: e.beyond(m.l, t, h)}
		mean := 0.0
		for i, a := range e.a {
			mean += power(a) / float64(len(e.a))
			s.all += s.phase[i] * s.phase[i] / float64(len(e.a))
		}
		s.noise = e.noise / (2 * mean * float64(h*h))
		all = append(all, s)
	}
	slices.SortFunc(all, func(a, b swingingLine) int { return cmp.Compare(a.noise, b.noise) })
	return all
}

// steps is the largest step of the fundamental's phase beyond what it does elsewhere, 0 of
// none.
func (s swingingLine) steps() float64 {
	p := presence{envelope: s.envelope, harmonic: s.h, on: make([]bool, len(s.a))}
	for i := range p.on {
		p.on[i] = true
	}
	steps, limit := p.phaseSteps(p.values(breakSide))
	if most := biggest(steps, 0, len(steps)); most > limit {
		return most / float64(s.h)
	}
	return 0
}

// stands says whether the phase swings beyond noise.
func (s swingingLine) stands() bool { return s.all > 3*s.noise }

// like says whether another line's phase swings with it.
func (s swingingLine) like(o swingingLine) bool {
	var xx, yy, xy float64
	for i, x := range s.phase {
		if k := o.at(s.time(i) - s.step/2); k < len(o.phase) {
			xx, yy, xy = xx+x*x, yy+o.phase[k]*o.phase[k], xy+x*o.phase[k]
		}
	}
	return xy > swingsAlike*math.Sqrt(xx*yy)
}

// unexplained says that no other line stands high enough to tell, nor a tone beside it.
func (s swingingLine) unexplained(others []swingingLine, l layout, t track) bool {
	if slices.ContainsFunc(others, func(o swingingLine) bool { return o.noise < s.all }) {
		return false
	}
	_, tone := s.besidePeak(s.along(l, t, s.h))
	return !tone
}

// beyond is the fundamental's phase by an envelope of harmonic h, rad beyond the track.
func (e envelope) beyond(l layout, t track, h int) []float64 {
	out, before := make([]float64, len(e.a)), 0.0
	for i, line := range e.along(l, t, h) {
		before += math.Remainder(cmplx.Phase(e.a[i]*cmplx.Conj(line))-before, 2*math.Pi)
		out[i] = before / float64(h)
	}
	mean := 0.0
	for _, x := range out {
		mean += x / float64(len(out))
	}
	for i := range out {
		out[i] -= mean
	}
	return out
}

// addKept takes in what blocks keep of each line.
// noise is the phase's variance by noise: it would take off as much.
func (w *wow) addKept(m *meter, t track, noise float64) {
	if w.keeps == nil {
		w.keeps = make([]float64, len(m.lines))
	}
	e, length, hop := w.best, 1/m.l.binHz(), m.l.hopSeconds()
	for b := range t.phase {
		centre := float64(b) * hop
		sums, weight := make([]complex128, len(m.lines)), 0.0
		for i := e.at(centre - length/2); i < e.at(centre+length/2); i++ {
			dt := e.time(i) - centre
			taper := windowAt(m.l, dt/length)
			taper *= taper
			weight += taper
			turn := cmplx.Rect(1, t.phaseAt(e.time(i), hop)+w.now[i]-t.phase[b]-2*math.Pi*t.hz[b]*dt)
			each := complex(taper, 0)
			for h := range sums {
				each *= turn
				sums[h] += each
			}
		}
		for h, sum := range sums {
			harmonic := float64(h + 1)
			w.keeps[h] += min(1, power(sum/complex(weight, 0))/4*math.Exp(min(1, harmonic*harmonic*noise)))
		}
		w.swings++
	}
}

// lossDB is what the swing takes off harmonic h.
func (w *wow) lossDB(h int) float64 {
	if w.swings == 0 {
		return 0
	}
	return -10 * math.Log10(max(leastKept, (w.keeps[h-1]+w.others)/(w.swings+w.others)))
}

// advance is by how much more than the track the phase goes on from a time to another, in
// cycles, with the variance of that: what the swing does where the envelope isn't known.
func (w *wow) advance(from, to float64) (cycles, variance float64) {
	if w.now == nil {
		return 0, w.step * w.step / (4 * math.Pi * math.Pi)
	}
	at := func(t float64) (phase, unseen float64) {
		i := max(0, min(w.best.at(t), len(w.now)-1))
		return w.now[i], w.best.time(i) - t
	}
	first, before := at(from)
	last, after := at(to)
	const turn = 2 * math.Pi
	return (last - first) / turn, w.rate * (before*before + after*after + 2*w.best.step*w.best.step) / (turn * turn)
}

// hz is how far the fundamental's frequency swings about the track's.
func (w *wow) hz() float64 {
	if w.now == nil {
		return 0
	}
	return math.Sqrt(2*w.rate) / (2 * math.Pi)
}
