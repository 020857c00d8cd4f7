package coupling

import (
	"math"
	"math/cmplx"
	"slices"

	"humdiff/report/model"
)

// A known source's tones couple as hum does: what a cable's input shows of one volt (of a
// wire) or one ampere (of a coil, or along the shield) is z·A + s·B, z the node's impedance
// and s the share of an EMF in the loop that stands at the input. Two terminations tell A,
// the electric field's, from B, what comes by the loop: by the shield's resistance, by the
// magnetic field, or by the transfer impedance. What the output sends into the input by
// itself is in a residual with the drive on, and is taken off first, as a phasor.

const (
	resistor = 0.01            // a termination may be off what it is called by this share
	evenly   = 0.5773502691896 // 1/√3: a limit's standard uncertainty, all between being equally likely
)

// setup is a bench as the session has it, or with one thing off.
type setup struct {
	end                 model.Num // the termination that is off, and by what share
	by                  float64
	ohms, farads, cable float64 // of the input; of the cable
}

// setupOf are the bench as stated, and one for each thing stated, off by its standard
// uncertainty.
func setupOf(p model.Passport, ends []model.Num) (said setup, off []setup) {
	said = setup{ohms: float64(p.Bench.InputOhms), farads: orNone(p.Bench.InputFarads), cable: float64(p.Drive.CableFarads)}
	cable := said.cable * orNone(p.Drive.CableWithin)
	if !p.Drive.CableFarads.Ok() {
		said.cable, cable = unknownCable/2, unknownCable/2
	}
	for _, move := range []func(s *setup){
		func(s *setup) { s.ohms *= 1 + evenly*orNone(p.Bench.InputOhmsWithin) },
		func(s *setup) { s.farads *= 1 + evenly*orNone(p.Bench.InputFaradsWithin) },
		func(s *setup) { s.cable += evenly * cable },
	} {
		one := said
		move(&one)
		off = append(off, one)
	}
	for _, end := range ends {
		one := said
		one.end, one.by = end, evenly*resistor
		off = append(off, one)
	}
	return said, off
}

// orNone is what was stated, 0 where nothing was.
func orNone(n model.Num) float64 {
	if n.Ok() {
		return float64(n)
	}
	return 0
}

// at is the node's impedance, and the share of an EMF, at a termination and a frequency.
func (s setup) at(end model.Num, hz float64) (z, share complex128) {
	source, ω := float64(end), 2*math.Pi*hz
	if end == s.end {
		source *= 1 + s.by
	}
	return node(source, s.ohms, s.farads+s.cable, ω), divided(source, s.ohms, s.farads, ω)
}

// placed is one placement of one cable under one drive: what each of its tones shows.
type placed struct {
	day   string
	tones []shown
}

// shown is one tone at each termination, with the crosstalk taken off.
type shown struct {
	hz    float64
	ends  []model.Num
	y     []complex128 // volts for one volt, or one ampere
	own   []float64    // variance of either part of y, by its own noise
	cross []float64    // by the residual's, which all placements share
	steps []float64    // by how much either part may be off by a converter's steps
}

// seen is a quantity at one tone, with the variances of either of its parts, and by how much
// converters' steps may put both off.
type seen struct {
	q                 complex128
	own, cross, steps float64
}

func (s seen) variance() float64 { return s.own + s.cross }

func (s shown) omega() float64 { return 2 * math.Pi * s.hz }

// of is z·A + s·B over jω, as what doesn't change with frequency: A and B by least squares
// over the terminations. It is not ok of one termination, or of two alike.
func (s shown) of(b setup, z, share complex128) (v seen, ok bool) {
	var zz, ss float64
	var zs complex128
	zt, st := make([]complex128, len(s.y)), make([]complex128, len(s.y)) // conjugated and weighted
	for t := range s.y {
		zk, sk := b.at(s.ends[t], s.hz)
		w := complex(1/(s.own[t]+s.cross[t]), 0)
		zt[t], st[t] = w*cmplx.Conj(zk), w*cmplx.Conj(sk)
		zz, ss, zs = zz+real(zt[t]*zk), ss+real(st[t]*sk), zs+zt[t]*sk
	}
	det := zz*ss - square(zs)
	for t, y := range s.y {
		A := complex(ss, 0)*zt[t] - zs*st[t]
		B := complex(zz, 0)*st[t] - cmplx.Conj(zs)*zt[t]
		g := (z*A + share*B) / complex(0, s.omega()*det)
		v.q, v.own, v.cross, v.steps = v.q+g*y, v.own+square(g)*s.own[t], v.cross+square(g)*s.cross[t], v.steps+cmplx.Abs(g)*s.steps[t]
	}
	return v, det > 1e-6*zz*ss
}

func square(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// toneAt finds a run's tone: the clock may have moved meanwhile.
func toneAt(r model.DrivenRun, hz model.Num) (t model.DrivenTone, ok bool) {
	i := slices.IndexFunc(r.Tones, func(t model.DrivenTone) bool { return sameHz(float64(t.Hz), float64(hz)) })
	if i < 0 {
		return t, false
	}
	return r.Tones[i], true
}

func sameHz(a, b float64) bool { return math.Abs(a/b-1) < 1e-4 }

// crosstalk is the residual of a drive at a termination; several are averaged.
func crosstalk(p model.Passport, drive string, ohms, hz model.Num) (x complex128, variance, steps float64, ok bool) {
	n := 0.0
	for _, r := range p.Runs {
		if t, has := toneAt(r, hz); has && r.Cond == model.Residual && r.Drive == drive && r.Ohms == ohms {
			x, variance, steps, n = x+complex(float64(t.Re), float64(t.Im)), variance+float64(t.U*t.U), max(steps, float64(t.Steps)), n+1
		}
	}
	return x / complex(max(n, 1), 0), variance / max(n*n, 1), steps, n > 0
}

// placements are those of one cable under one drive, scale being by how much a ratio of full
// scales is one of volts, or of volts per ampere.
func placements(p model.Passport, runs []model.DrivenRun, scale float64) (all []placed) {
	byRepeat := map[int][]model.DrivenRun{}
	var order []int
	for _, r := range runs {
		if byRepeat[r.Repeat] == nil {
			order = append(order, r.Repeat)
		}
		byRepeat[r.Repeat] = append(byRepeat[r.Repeat], r)
	}
	for _, repeat := range order {
		of := byRepeat[repeat]
		one := placed{day: of[0].Day}
		for _, t := range of[0].Tones {
			if s := shownBy(p, of, t.Hz, scale); len(s.y) > 0 {
				if _, told := s.of(setupAs(p), 1, 0); told {
					one.tones = append(one.tones, s)
				}
			}
		}
		if len(one.tones) > 0 {
			all = append(all, one)
		}
	}
	return all
}

func setupAs(p model.Passport) setup { said, _ := setupOf(p, nil); return said }

// shownBy is what a placement's runs show of a tone, where their residuals are there.
func shownBy(p model.Passport, runs []model.DrivenRun, hz model.Num, scale float64) (s shown) {
	s.hz = float64(hz)
	for _, r := range runs {
		t, has := toneAt(r, hz)
		x, variance, steps, known := crosstalk(p, r.Drive, r.Ohms, hz)
		if has && known {
			s.ends, s.y = append(s.ends, r.Ohms), append(s.y, complex(scale, 0)*(complex(float64(t.Re), float64(t.Im))-x))
			s.own, s.cross = append(s.own, scale*scale*float64(t.U*t.U)), append(s.cross, scale*scale*variance)
			s.steps = append(s.steps, scale*(float64(t.Steps)+steps))
		}
	}
	return s
}

// reading is one quantity of one placement, over all its tones.
type reading struct {
	day                       string
	value, own, cross2, steps float64 // value, variances by own and by shared noise, what steps may do
	chi2                      float64 // of the tones around it
	tones                     int
}

// sought is a quantity: z·A + s·B over jω, z and s as they stand at each frequency on a
// bench. Its real part is a capacitance times an impedance, a time, or an inductance; of one
// tone, it is its size times ω, which goes with frequency.
type sought struct {
	at   func(b setup, hz float64) (z, share complex128)
	tone float64 // Hz; 0: all
}

var (
	onlyA = sought{at: func(setup, float64) (z, share complex128) { return 1, 0 }}
	onlyB = sought{at: func(setup, float64) (z, share complex128) { return 0, 1 }}
)

// into is what stands at the input with a termination.
func into(end model.Num) sought {
	return sought{at: func(b setup, hz float64) (z, share complex128) { return b.at(end, hz) }}
}

// readingOf is a quantity of a placement, on a bench, the cable's channel being late.
func (one placed) readingOf(b setup, of sought, late float64) (r reading) {
	r.day = one.day
	weight := 0.0
	var all []seen
	for _, s := range one.tones {
		if of.tone > 0 && !sameHz(s.hz, of.tone) {
			continue
		}
		z, share := of.at(b, s.hz)
		v, _ := s.of(b, z, share)
		ω := complex(s.omega(), 0)
		if v.q *= cmplx.Rect(1, s.omega()*late); of.tone > 0 {
			v = seen{complex(cmplx.Abs(v.q), 0) * ω, v.own * real(ω*ω), v.cross * real(ω*ω), v.steps * real(ω)}
		}
		w := 1 / v.variance()
		r.value, weight, r.steps = r.value+w*real(v.q), weight+w, r.steps+w*v.steps
		r.own, r.cross2 = r.own+w*w*v.own, r.cross2+w*w*v.cross
		all = append(all, v)
	}
	r.tones = len(all)
	r.value, r.steps, r.own, r.cross2 = r.value/weight, r.steps/weight, r.own/weight/weight, r.cross2/weight/weight
	for _, v := range all {
		r.chi2 += (real(v.q) - r.value) * (real(v.q) - r.value) / v.variance()
	}
	return r
}

// lateness is by how many seconds the cable's channel lags the drive's, as a quantity that
// is one capacitance or inductance shows it: by how its phase falls with frequency. It is 0
// where noise may have done that.
func lateness(of []placed, b setup, what sought) (late float64) {
	slope := 0.0
	for range 4 {
		turned := 0.0
		slope = 0
		for _, one := range of {
			for _, s := range one.tones {
				z, share := what.at(b, s.hz)
				v, _ := s.of(b, z, share)
				ω, w := s.omega(), 1/v.variance()
				q := v.q * cmplx.Rect(1, ω*late)
				turned, slope = turned-w*ω*imag(q)*real(q), slope+w*ω*ω*real(q)*real(q)
			}
		}
		late += turned / slope
	}
	if math.Abs(late)*math.Sqrt(slope) < clearly {
		return 0
	}
	return late
}
