package judge

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"humdiff/fft/estimate"
	"humdiff/fft/mains"
	"humdiff/fft/transfer"
	"humdiff/report/model"
)

const (
	// foundAlarm is the chance, for all lines of a pair together, of a pickup that is none.
	foundAlarm = 0.005
	// strayDB is by how much a reference may change from quiet to near: mains voltage does
	// by some tenths of a decibel.
	strayDB = 0.5
	// leastMoves is how many near runs show by less than that, leastMoveDB at the least, that it
	// changes with them; by chance, at 1 %.
	leastMoves  = 4
	leastMoveDB = 0.02
	movesTail   = 0.005
	// rounded is by how much a phase may be off as it is printed: six digits of degrees.
	rounded = 1e-5
)

// phasor is what the lead added to one line, relative to full scale and to the reference's
// phase, with the radius of its 95 % region.
type phasor struct {
	harmonic int
	hz       float64
	value    complex128
	radius   float64
	strayed  float64 // part of the radius, by how ratios scatter: other lines' may do alike
	scaled   float64 // share of its size by which the reference's level may be off; its phase isn't
	turn     float64 // by which the reference itself may have turned, rad: so may the phase
}

// errors are the mean powers of a phasor's error: by noise, and by scatter.
func (p phasor) errors() (noise, scatter float64) {
	scatter = p.strayed * p.strayed / transfer.HalfChi2
	return max(0, p.radius*p.radius/transfer.HalfChi2-scatter), scatter
}

// stands says that chance makes so long a phasor in too few pairs, of so many lines.
func (p phasor) stands(lines int) bool {
	size := cmplx.Abs(p.value)
	return transfer.HalfChi2*size*size/(p.radius*p.radius) > math.Log(float64(lines)/foundAlarm)
}

// estimate states the phasor: with value, interval and phase where it stands.
func (p phasor) estimate(lines int) model.Estimate {
	size := cmplx.Abs(p.value)
	if !p.stands(lines) {
		return estimate.Below(model.Digits(size+p.radius, 7))
	}
	phase, within := model.Digits(cmplx.Phase(p.value), 7), model.Digits(min(math.Pi, math.Asin(p.radius/size)+p.turn+rounded), 7)
	along := math.Hypot(p.radius, size*p.scaled)
	return estimate.Of(model.Digits(size, 7), model.Digits(size-along, 7), model.Digits(size+along, 7)).At(phase, within)
}

// phasorOf is what the lead added to a line that has a ratio to the reference in both
// captures: near's ratio less quiet's, times near's reference. Where the room's own hum
// doesn't hold its ratio from span to span, it needn't from quiet to near: what either may
// differ by counts on its side. So does what turned the reference, in either direction: what
// it added along the reference doesn't show.
func phasorOf(step model.Step, quiet, near model.Line, turn float64) (p phasor, ok bool) {
	q, n := quiet.Ratio, near.Ratio
	if q == nil || n == nil || !step.DB.Ok() {
		return p, false
	}
	scale := math.Pow(10, -step.DB.Float()/20)
	hq, hn := complex(q.Re.Float()*scale, q.Im.Float()*scale), complex(n.Re.Float(), n.Im.Float())
	_, rq := transfer.Disc(hq, q.Lo.Float()*scale, q.Hi.Float()*scale)
	_, rn := transfer.Disc(hn, n.Lo.Float(), n.Hi.Float())
	student := distuv.StudentsT{Sigma: 1, Nu: 2 * float64(q.Spans+n.Spans-2)}.Quantile(0.975)
	strayed := student * math.Hypot(q.Scatter.Float()*scale, n.Scatter.Float()) / math.Sqrt2
	stepped := cmplx.Abs(hq) * (math.Pow(10, step.U95DB.OrZero()/20) - 1)
	reference := amplitude(n.DBFS.Float())
	p = phasor{harmonic: near.Harmonic, hz: near.Hz.Float(), value: (hn - hq) * complex(reference, 0), turn: math.Sqrt2 * math.Abs(turn)}
	p.scaled = math.Pow(10, n.U95DB.Float()/20) - 1
	p.strayed = reference * math.Hypot(p.turn*cmplx.Abs(hq), math.Hypot(strayed, stepped))
	p.radius = math.Hypot(reference*math.Hypot(rq, rn), p.strayed)
	return p, p.radius > 0
}

// phasorsOf are those of all lines of a pair that have one.
func phasorsOf(step model.Step, quiet, near model.Capture) (all []phasor) {
	turn := turned(quiet, near)
	for h := 1; h <= min(len(quiet.Lines), len(near.Lines)); h++ {
		if p, ok := phasorOf(step, quiet.Lines[h-1], near.Lines[h-1], turn); ok {
			all = append(all, p)
		}
	}
	return all
}

// sumByPhase is the pickup over a set of lines of which some have phasors, relative to full
// scale; ok is false where none has. Of the others the phase isn't known, and their
// pickup is a range: where that matters, so is the sum.
func sumByPhase(step model.Step, quiet, near model.Capture, set mains.Set) (sum model.Estimate, ok bool) {
	var t sumOfPowers
	found := false
	rest := mains.Set{Lines: set.Lines, Without: append([]int{}, set.Without...), Weight: set.Weight}
	phasors := phasorsOf(step, quiet, near)
	for _, p := range phasors {
		if p.harmonic > set.Lines || slices.Contains(set.Without, p.harmonic) {
			continue
		}
		w := 1.0
		if set.Weight != nil {
			w = set.Weight(p.hz)
		}
		t.add(p, w)
		found = found || p.stands(len(phasors))
		rest.Without = append(rest.Without, p.harmonic)
		ok = true
	}
	if !ok {
		return sum, false
	}
	lo, hi := t.ends()
	if !found {
		lo = 0
	}
	size := math.Sqrt(max(t.power, 0))
	loRest, hiRest := restOf(step, quiet, near, rest)
	return combined(found, size, lo, hi, loRest, hiRest), true
}

// sumOfPowers gathers phasors' powers, noise taken off. A line of power a in noise v has the
// variance 2av + v². The scatters of lines' ratios may all go one way, their noises don't.
type sumOfPowers struct {
	power, there                  float64 // there: of the lines whose power is above noise
	noiseAt, scatterAt            float64 // what goes with the lines' powers
	noiseBare, scatterBare, worst float64
	scaled                        float64 // by which the power there may be off as the reference's levels may: all one way
}

func (t *sumOfPowers) add(p phasor, w float64) {
	noise, scatter := p.errors()
	excess := real(p.value)*real(p.value) + imag(p.value)*imag(p.value) - noise - scatter
	a := max(excess, 0)
	t.power, t.there = t.power+float64(w*excess), t.there+float64(w*a)
	t.noiseAt, t.scatterAt = t.noiseAt+float64(w*w*2*a*noise), t.scatterAt+float64(w*math.Sqrt(2*a*scatter))
	t.noiseBare, t.scatterBare = t.noiseBare+float64(w*w*noise*noise), t.scatterBare+float64(w*scatter)
	t.worst = max(t.worst, w*(noise+scatter))
	t.scaled += 2 * float64(w*a*p.scaled)
}

// ends are those amplitudes A² of which the power read is 1.96 of its standard deviations
// off, the variance being that at A².
func (t *sumOfPowers) ends() (lo, hi float64) {
	const z2 = 1.96 * 1.96
	v := t.worst
	if t.there > 0 {
		v = (t.noiseAt + float64(t.scatterAt*t.scatterAt)) / (2 * t.there)
	}
	bare := t.noiseBare + float64(t.scatterBare*t.scatterBare)
	middle := t.power + float64(z2*v)
	half := math.Sqrt(max(0, float64(z2*v*z2*v)+float64(z2*(2*t.power*v+bare))+float64(t.scaled*t.scaled)))
	return math.Sqrt(max(0, middle-half)), math.Sqrt(max(0, middle+half))
}

// restOf is the range of the pickup over the lines that have no phasors.
func restOf(step model.Step, quiet, near model.Capture, rest mains.Set) (lo, hi float64) {
	if len(rest.Without) >= rest.Lines {
		return 0, 0
	}
	lo, hi = apart(endsOf(onNear(step, total(quiet, rest))), endsOf(total(near, rest)))
	if math.IsNaN(lo) {
		lo = 0
	}
	return lo, hi
}

// restShare is how far, as a share of an amplitude, lines without phasors may move the
// sum's upper end before it is no value any more.
const restShare = 1.12 // 1 dB

// combined adds the two parts, as powers.
func combined(found bool, size, lo, hi, loRest, hiRest float64) model.Estimate {
	from, to := model.Digits(math.Hypot(lo, loRest), 7), model.Digits(math.Hypot(hi, hiRest), 7)
	switch {
	case found && lo > 0 && to <= restShare*hi:
		return estimate.Of(model.Digits(math.Hypot(size, loRest), 7), from, to)
	case from > 0:
		return estimate.Between(from, to)
	}
	return estimate.Below(to)
}

// referenceChange is by how many dB the reference's strongest line that both have lies higher
// in near than in quiet; not ok where there is none.
func referenceChange(quiet, near model.Capture) (harmonic int, db float64, ok bool) {
	top := math.Inf(-1)
	for h := range min(len(quiet.Lines), len(near.Lines)) {
		if q, n := quiet.Lines[h].Ratio, near.Lines[h].Ratio; q != nil && n != nil && n.DBFS.Float() > top {
			top, harmonic, db, ok = n.DBFS.Float(), h+1, float64(n.DBFS-q.DBFS), true
		}
	}
	return harmonic, db, ok
}

// hidesBelow is how far below the room's own hum a pickup has to lie to be hidden by such a
// change of the reference, dB.
func hidesBelow(db float64) float64 {
	return model.Places(-20*math.Log10(1-math.Pow(10, -math.Abs(db)/20)), 1)
}

// hides says that a change of the reference would, were it the lead's doing, make half of a
// pair's pickup or more, and stands out of the ratios' noise.
func hides(p model.Pair, harmonic int, db float64) bool {
	pickup, ok := p.Hum.Pickup.Upper()
	hum, measured := p.Hum.Quiet.Value()
	if !ok || !measured {
		return false
	}
	noise := 0.0
	for _, c := range []model.Capture{p.Quiet, p.Near} {
		r := c.Lines[harmonic-1].Ratio
		noise = math.Hypot(noise, float64(r.Hi-r.Lo)/2/math.Hypot(float64(r.Re), float64(r.Im)))
	}
	share := 1 - math.Pow(10, -math.Abs(db)/20)
	return math.Abs(db) > leastMoveDB && share > noise && share*amplitude(hum) > pickup/2
}

// reference says that a pair's reference itself changed from quiet to near, by more than a
// mains' voltage does or by as much as the pickup is small, or turned, as no mains does: by
// the lead or a hand, it may be.
func (l *list) reference(p model.Pair) {
	if φ := turned(p.Quiet, p.Near); turnMakes(p, φ) {
		l.add(p.Near.Side, referenceMoved, "channel", p.Near.Reference.Channel, "turn_deg", model.Places(φ*180/math.Pi, 2), "below_db", model.Places(-20*math.Log10(math.Abs(φ)), 1))
		return
	}
	if h, db, ok := referenceChange(p.Quiet, p.Near); ok && (math.Abs(db) > strayDB || hides(p, h, db)) {
		l.add(p.Near.Side, referenceMoved, "channel", p.Near.Reference.Channel, "db", model.Places(db, 2), "harmonic", h, "below_db", hidesBelow(db))
	}
}

// referenceMoves says that the reference lies higher, or lower, in near runs than in quiet
// ones, by enough to make more than its share of a pickup: the mains' voltage changes without
// regard to them, but the lead, and hands, don't.
func (b *bench) referenceMoves() []model.Finding {
	var near []*run
	var all []float64
	least := math.Inf(1) // of pickup over quiet's hum
	for _, c := range b.gathered(model.Quantity{}) {
		for _, r := range c.readings {
			sum, n := 0.0, 0.0
			for _, q := range r.quiets() {
				if _, _, hum := b.level(q, false, model.Quantity{}).Numbers(); r.known {
					least = min(least, amplitude(r.pickup.hi-hum))
				}
				if _, db, ok := referenceChange(*q.Capture, *r.near.Capture); ok {
					sum, n = sum+db, n+1
				}
			}
			if n > 0 {
				near, all = append(near, r.near), append(all, sum/n)
			}
		}
	}
	if len(all) < leastMoves {
		return nil
	}
	m := meanOf(all).truth()
	if !(m.lower(movesTail) > 0 || m.upper(movesTail) < 0) || math.Abs(m.value) < leastMoveDB || 1-math.Pow(10, -math.Abs(m.value)/20) < turnShare*least {
		return nil
	}
	return counted(model.ReferenceMoves, near, "db", model.Places(m.value, 2), "below_db", hidesBelow(m.value))
}
