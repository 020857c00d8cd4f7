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

// placed is one placement of one cable under one drive: A and B at each tone, as sums
// over its terminations.
type placed struct {
	repeat int
	day    string
	runs   []int
	tones  []solved
}

// solved is one tone: A = Σ a·y and B = Σ b·y, y what each termination shows with the
// crosstalk taken off.
type solved struct {
	hz      float64
	y, a, b []complex128
	own     []float64 // variance of either part of y, by its own noise
	cross   []float64 // by the residual's, which all placements share
}

func (s solved) omega() float64 { return 2 * math.Pi * s.hz }

// of is z·A + s·B over jω, as what doesn't change with frequency, with the variances of
// either of its parts.
func (s solved) of(z, share complex128) (q complex128, own, cross float64) {
	for t, y := range s.y {
		g := (z*s.a[t] + share*s.b[t]) / complex(0, s.omega())
		q += g * y
		size := real(g)*real(g) + imag(g)*imag(g)
		own, cross = own+size*s.own[t], cross+size*s.cross[t]
	}
	return q, own, cross
}

// sameTone says that two runs' tones are one: the clock may have moved meanwhile.
func sameTone(a, b model.Num) bool { return math.Abs(float64(a/b)-1) < 1e-4 }

// driveBench is a passport's bench at a termination and a frequency.
func driveBench(p model.Passport, ohms model.Num, hz float64) Bench {
	return Bench{Hz: hz, SourceOhms: model.Within(ohms, model.None), InputOhms: model.Within(p.Bench.InputOhms, p.Bench.InputOhmsWithin),
		InputFarads: farads0(p.Bench.InputFarads, p.Bench.InputFaradsWithin), CableFarads: farads0(p.Drive.CableFarads, p.Drive.CableWithin)}
}

// farads0 is a capacitance that may not have been stated.
func farads0(v, within model.Num) (e model.Estimate) {
	if v.Ok() {
		return model.Within(v, within)
	}
	return e
}

// volts is by how much a ratio of full scales is one of volts, or of volts per ampere.
func volts(p model.Passport, drive string) float64 {
	f := float64(p.Scale.InputVolts / p.Scale.DriveVolts)
	if drive != model.DriveWire {
		f *= float64(p.Drive.ShuntOhms)
	}
	return f
}

// crosstalk is the residual of a drive at a termination; several are averaged.
func crosstalk(p model.Passport, drive string, ohms model.Num, hz model.Num) (x complex128, variance float64, ok bool) {
	n := 0.0
	for _, r := range p.Runs {
		if r.Cond != model.Residual || r.Drive != drive || r.Ohms != ohms {
			continue
		}
		if i := slices.IndexFunc(r.Tones, func(t model.DrivenTone) bool { return sameTone(t.Hz, hz) }); i >= 0 {
			t := r.Tones[i]
			x, variance, n = x+complex(float64(t.Re), float64(t.Im)), variance+float64(t.U*t.U), n+1
		}
	}
	return x / complex(max(n, 1), 0), variance / max(n*n, 1), n > 0
}

// placements are those of one cable under one drive.
func placements(p model.Passport, cable, drive string) (all []placed) {
	byRepeat := map[int][]model.DrivenRun{}
	var order []int
	for _, r := range p.Runs {
		if r.Cond == model.Driven && r.Cable == cable && r.Drive == drive {
			if byRepeat[r.Repeat] == nil {
				order = append(order, r.Repeat)
			}
			byRepeat[r.Repeat] = append(byRepeat[r.Repeat], r)
		}
	}
	for _, repeat := range order {
		runs := byRepeat[repeat]
		one := placed{repeat: repeat, day: runs[0].Day}
		for _, r := range runs {
			one.runs = append(one.runs, r.Number)
		}
		for _, t := range runs[0].Tones {
			if s, ok := solve(p, runs, t.Hz); ok {
				one.tones = append(one.tones, s)
			}
		}
		if len(one.tones) > 0 {
			all = append(all, one)
		}
	}
	return all
}

// solve finds A and B at a tone by least squares over the terminations; not ok where two of
// them, or their residuals, aren't there.
func solve(p model.Passport, runs []model.DrivenRun, hz model.Num) (s solved, ok bool) {
	s.hz = float64(hz)
	var z, share []complex128
	scale := complex(volts(p, runs[0].Drive), 0)
	for _, r := range runs {
		i := slices.IndexFunc(r.Tones, func(t model.DrivenTone) bool { return sameTone(t.Hz, hz) })
		if i < 0 {
			continue
		}
		t := r.Tones[i]
		x, variance, has := crosstalk(p, r.Drive, r.Ohms, t.Hz)
		if !has {
			continue
		}
		b := driveBench(p, r.Ohms, s.hz)
		z, share = append(z, b.z()), append(share, b.share())
		s.y = append(s.y, scale*(complex(float64(t.Re), float64(t.Im))-x))
		unit := real(scale) * real(scale)
		s.own, s.cross = append(s.own, unit*float64(t.U*t.U)), append(s.cross, unit*variance)
	}
	return s, s.invert(z, share)
}

// invert fills in a and b: the weighted least squares of y = z·A + s·B.
func (s *solved) invert(z, share []complex128) bool {
	var zz, ss float64
	var zs complex128
	weight := make([]complex128, len(z))
	for t := range z {
		w := 1 / (s.own[t] + s.cross[t])
		weight[t] = complex(w, 0)
		zz += w * (real(z[t])*real(z[t]) + imag(z[t])*imag(z[t]))
		ss += w * (real(share[t])*real(share[t]) + imag(share[t])*imag(share[t]))
		zs += weight[t] * cmplx.Conj(z[t]) * share[t]
	}
	det := zz*ss - (real(zs)*real(zs) + imag(zs)*imag(zs))
	if !(det > 1e-6*zz*ss) { // one termination, or two alike
		return false
	}
	for t := range z {
		cz, cs := weight[t]*cmplx.Conj(z[t]), weight[t]*cmplx.Conj(share[t])
		s.a = append(s.a, (complex(ss, 0)*cz-zs*cs)/complex(det, 0))
		s.b = append(s.b, (complex(zz, 0)*cs-cmplx.Conj(zs)*cz)/complex(det, 0))
	}
	return true
}

// reading is one quantity of one placement, over all its tones.
type reading struct {
	day                string
	value, own, cross2 float64 // value, and variances by own and by shared noise
	chi2               float64 // of the tones around it
	tones              int
}

// readingOf is z·A + s·B over jω, whose real part is a capacitance times an impedance, a
// time, or an inductance; z and s as they stand at each frequency.
func (one placed) readingOf(at func(hz float64) (z, share complex128)) (r reading) {
	r.day, r.tones = one.day, len(one.tones)
	var weight, cross float64
	var values, variances []float64
	for _, s := range one.tones {
		q, own, x := s.of(at(s.hz))
		w := 1 / (own + x)
		r.value, weight = r.value+w*real(q), weight+w
		r.own, cross = r.own+w*w*own, cross+w*w*x
		values, variances = append(values, real(q)), append(variances, own+x)
	}
	r.value, r.own, r.cross2 = r.value/weight, r.own/weight/weight, cross/weight/weight
	for i, v := range values {
		r.chi2 += (v - r.value) * (v - r.value) / variances[i]
	}
	return r
}
