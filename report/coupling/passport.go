package coupling

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"humdiff/fft/estimate"
	"humdiff/fft/note"
	"humdiff/report/model"
)

// Why a passport lacks something.
const (
	MissingScale       = "no_drive_scale"     // volts, or a shunt's ohms
	MissingInput       = "no_drive_input"     // the input's resistance
	MissingBalance     = "drive_balanced"     // a balanced input shows a difference of two couplings
	MissingResidual    = "no_drive_residual"  // with the drive on, at the same termination
	MissingTermination = "no_second_terminal" // two finite terminations
	MissingPlacement   = "one_driven_placement"
	MissingDrive       = "not_driven" // nothing was recorded with this drive
)

// driven is one cable under one drive.
type driven struct {
	p      model.Passport
	drive  string
	runs   []model.DrivenRun
	ends   []model.Num // its terminations
	placed []placed
	bench  setup
	off    []setup // with one thing off each
	late   float64 // s, by which the cable's channel lags
}

func drivenOf(p model.Passport, cable, drive string) driven {
	d := driven{p: p, drive: drive}
	for _, r := range p.Runs {
		if r.Cond == model.Driven && r.Cable == cable && r.Drive == drive {
			d.runs = append(d.runs, r)
			if !slices.Contains(d.ends, r.Ohms) {
				d.ends = append(d.ends, r.Ohms)
			}
		}
	}
	d.bench, d.off = setupOf(p, d.ends)
	if d.usable() {
		d.placed = placements(p, d.runs, d.scale())
	}
	switch {
	case len(d.placed) == 0:
	case drive == model.DriveWire:
		d.late = lateness(d.placed, d.bench, onlyA)
	case drive == model.DriveCoil:
		d.late = lateness(d.placed, d.bench, onlyB)
	}
	return d
}

// scale is by how much a ratio of full scales is one of volts, or of volts per ampere.
func (d driven) scale() float64 {
	f := float64(d.p.Scale.InputVolts / d.p.Scale.DriveVolts)
	if d.drive != model.DriveWire {
		f *= float64(d.p.Drive.ShuntOhms)
	}
	return f
}

// usable says that numbers follow from the drive.
func (d driven) usable() bool {
	return d.scale() > 0 && d.p.Bench.InputOhms > 0 && d.p.Bench.Balanced != model.Yes
}

// Passports fills in what a passport's runs say of each cable. Runs is all that it looks
// at, with the bench, the drive and the scale.
func Passports(p model.Passport) []model.CablePassport {
	all := []model.CablePassport{}
	for _, r := range p.Runs {
		if r.Cond == model.Driven && !slices.ContainsFunc(all, func(c model.CablePassport) bool { return c.Cable == r.Cable }) {
			all = append(all, cablePassport(p, r.Cable))
		}
	}
	return all
}

func cablePassport(p model.Passport, cable string) model.CablePassport {
	c := model.CablePassport{Cable: cable, Couplings: []model.Quotient{}, Frequency: []model.AtTone{}, Predicted: []model.Predicted{}, Missing: []model.Note{}}
	of := map[string]driven{}
	for _, drive := range model.Drives {
		d := drivenOf(p, cable, drive)
		c.Missing, of[drive] = append(c.Missing, d.lacks()...), d
		if len(d.placed) == 0 {
			continue
		}
		switch drive {
		case model.DriveWire:
			largest := slices.Max(d.ends)
			c.Couplings = append(c.Couplings, d.quotient(model.OfCapacitance, "F", onlyA), d.quotient(model.OfShieldDrop, "F·Ω", onlyB))
			c.Frequency = append(c.Frequency, d.spectrum(largest, into(largest))...)
		case model.DriveCoil:
			c.Couplings = append(c.Couplings, d.quotient(model.OfInductance, "H", onlyB))
			c.Frequency = append(c.Frequency, d.spectrum(model.None, onlyB)...)
		case model.DriveShield:
			c.Couplings = append(c.Couplings, d.transfer(d.placed[0].tones[0].hz))
			c.Frequency = append(c.Frequency, d.spectrum(model.None, onlyB)...)
		}
	}
	c.Predicted = predicted(of[model.DriveWire], of[model.DriveCoil])
	return c
}

// lacks is what a cable's runs under a drive lack.
func (d driven) lacks() (all []model.Note) {
	if len(d.runs) == 0 {
		return append(all, note.New(MissingDrive, "drive", d.drive))
	}
	again := slices.ContainsFunc(d.runs, func(r model.DrivenRun) bool { return r.Repeat != d.runs[0].Repeat })
	for _, lack := range []struct {
		is   bool
		note model.Note
	}{
		{!(d.scale() > 0), note.New(MissingScale, "drive", d.drive)},
		{!(d.p.Bench.InputOhms > 0), note.New(MissingInput, "drive", d.drive)},
		{d.p.Bench.Balanced == model.Yes, note.New(MissingBalance, "drive", d.drive)},
		{len(d.ends) < 2, note.New(MissingTermination, "drive", d.drive)},
		{!again && d.drive != model.DriveShield, note.New(MissingPlacement, "drive", d.drive)}, // a shield lies nowhere else
	} {
		if lack.is {
			all = append(all, lack.note)
		}
	}
	for _, o := range d.ends {
		if !slices.ContainsFunc(d.p.Runs, func(r model.DrivenRun) bool { return r.Cond == model.Residual && r.Drive == d.drive && r.Ohms == o }) {
			all = append(all, note.New(MissingResidual, "drive", d.drive, "ohms", float64(o)))
		}
	}
	return all
}

// readings are one quantity's in each placement, on a bench.
func (d driven) readings(b setup, of sought) (all []reading) {
	for _, one := range d.placed {
		if r := one.readingOf(b, of, d.late); r.tones > 0 {
			all = append(all, r)
		}
	}
	return all
}

// known is a quantity, with all that it stands on but its placements: what was stated of the
// scales, and besides of the mains' volts, and of the bench.
func (d driven) known(of sought, besides float64) grounds {
	s := grounds{readings: d.readings(d.bench, of)}
	for _, db := range []float64{float64(d.p.Scale.InputUDB), float64(d.p.Scale.DriveUDB), perDB * evenly * besides} {
		if db > 0 {
			s.scale = math.Hypot(s.scale, db)
		}
	}
	if within := orNone(d.p.Drive.ShuntWithin); d.drive != model.DriveWire {
		s.scale = math.Hypot(s.scale, perDB*evenly*within)
	}
	for _, r := range s.readings {
		s.bench = max(s.bench, r.steps)
	}
	for _, b := range d.off {
		s.bench = math.Hypot(s.bench, mean(d.readings(b, of))-mean(s.readings))
	}
	return s
}

// quotient is one number over all tones.
func (d driven) quotient(quantity, unit string, of sought) model.Quotient {
	q := model.Quotient{Quantity: quantity, Unit: unit, Hz: model.None}
	q.Value, q.Budget = d.known(of, 0).pool()
	q.Slope, q.Follows = slope(d.spectrum(model.None, of))
	return d.ofRuns(q)
}

// transfer is the transfer impedance at one tone: it goes with frequency.
func (d driven) transfer(hz float64) model.Quotient {
	q := model.Quotient{Quantity: model.OfTransfer, Unit: "Ω", Hz: model.Num(hz), Follows: true}
	q.Value, q.Budget = d.known(sought{onlyB.at, hz}, 0).pool()
	return d.ofRuns(q)
}

// ofRuns is a number with what of it a metre has, and its runs.
func (d driven) ofRuns(q model.Quotient) model.Quotient {
	if metres := float64(d.p.Bench.ParallelMM) / 1000; metres > 0 && q.Quantity != model.OfShieldDrop {
		q.PerMetre = q.Value.Map(func(v float64) float64 { return model.Digits(v/metres, 5) })
	}
	q.Runs = []int{}
	for _, r := range d.runs {
		q.Runs = append(q.Runs, r.Number)
	}
	return q
}

// spectrum is what couples at each tone, over the placements.
func (d driven) spectrum(ohms model.Num, of sought) (all []model.AtTone) {
	for _, s := range d.placed[0].tones {
		var sum seen
		n := 0.0
		z, share := of.at(d.bench, s.hz)
		for _, one := range d.placed {
			if i := slices.IndexFunc(one.tones, func(t shown) bool { return sameHz(t.hz, s.hz) }); i >= 0 {
				v, _ := one.tones[i].of(d.bench, z, share)
				sum, n = seen{sum.q + v.q, sum.own + v.own, sum.cross + v.cross, max(sum.steps, v.steps)}, n+1
			}
		}
		v, u := sum.q*complex(0, s.omega()/n), s.omega()*math.Sqrt(sum.own/n/n+sum.cross/n+sum.steps*sum.steps)
		size := cmplx.Abs(v)
		e := estimate.Below(model.Digits(size+within95*u, 5))
		if size > clearly*u {
			e = estimate.Of(model.Digits(size, 5), model.Digits(size-within95*u, 5), model.Digits(size+within95*u, 5))
		}
		all = append(all, model.AtTone{Drive: d.drive, Hz: model.Num(s.hz), Size: e, Phase: model.Num(model.Places(cmplx.Phase(v)*180/math.Pi, 1)), Ohms: ohms})
	}
	return all
}

// slope is the power of frequency by which tones rise, and whether they fit the first one.
func slope(all []model.AtTone) (e model.Estimate, follows bool) {
	var x, y, w []float64
	for _, t := range all {
		v, lo, hi := t.Size.Numbers()
		if !t.Size.Measured() {
			continue
		}
		u := (hi - lo) / 2 / within95 / v
		x, y, w = append(x, math.Log(float64(t.Hz))), append(y, math.Log(v)), append(w, 1/(u*u+1e-6)) // no scale is known to a thousandth
	}
	if len(x) < 3 {
		return e, true
	}
	_, beta := stat.LinearRegression(x, y, w, false)
	mean, sum := stat.Mean(x, w), 0.0
	for i := range x {
		sum += w[i] * (x[i] - mean) * (x[i] - mean)
	}
	u := within95 / math.Sqrt(sum)
	return estimate.Of(model.Digits(beta, 4), model.Digits(beta-u, 4), model.Digits(beta+u, 4)), math.Abs(beta-1) <= max(u, straight)
}

// straight is how far from 1 a slope may be and still be called that.
const straight = 0.03

// predicted is the pickup that the bench's lead would bring at each termination that was
// driven, were its live conductor where the wire lay: by its voltage, and where the current
// of a loaded lead is stated, by both, were it where the coil lay too.
func predicted(wire, coil driven) []model.Predicted {
	all, drive := []model.Predicted{}, wire.p.Drive
	for _, ohms := range wire.ends {
		l := leadOf(wire.p, ohms, model.NoLimit())
		if len(wire.placed) == 0 || !(l.bench.Hz > 0) || !l.bench.mains().known() {
			continue
		}
		one := model.Predicted{BenchConditions: conditionsOf(l.bench)}
		for once, to := range []*model.Estimate{&one.Volts, &one.Once} {
			*to, _ = wire.brings(l, l.bench.MainsVolts, once > 0)
		}
		all = append(all, one)
		if l.current = true; !drive.LeadAmps.Ok() || len(coil.placed) == 0 {
			continue
		}
		one.LeadAmps = model.Within(drive.LeadAmps, drive.LeadWithin)
		for once, to := range []*model.Estimate{&one.Volts, &one.Once} {
			magnetic, _ := coil.brings(l, one.LeadAmps, once > 0)
			*to = atAnyPhase(*to, magnetic)
		}
		all = append(all, one)
	}
	return all
}

// atAnyPhase is what two ways bring at once, at a phase between them that a load decides.
func atAnyPhase(a, b model.Estimate) model.Estimate {
	if !a.Known() || !b.Known() {
		return estimate.None("")
	}
	return either(spanOf(a), spanOf(b)).estimate()
}

// lead is one in the place of wire or coil: what it brings into a bench, by its current or by
// its voltage.
type lead struct {
	bench   Bench
	ohms    model.Num
	input   model.Num // ohms, where it isn't the input that was recorded with
	current bool
}

// leadOf is a lead on a passport's bench, where a claim's limit says nothing else.
func leadOf(p model.Passport, ohms model.Num, l model.Limit) lead {
	b := Bench{Hz: float64(p.Bench.MainsHz), MainsVolts: model.Within(p.Bench.MainsVolts, p.Bench.MainsVoltsWithin), SourceOhms: model.Within(ohms, model.None),
		InputOhms: model.Within(p.Bench.InputOhms, p.Bench.InputOhmsWithin)}
	if p.Drive.CableFarads.Ok() {
		b.CableFarads = model.Within(p.Drive.CableFarads, p.Drive.CableWithin)
	}
	if l.Hz.Ok() {
		b.Hz = float64(l.Hz)
	}
	if l.MainsVolts.Ok() {
		b.MainsVolts = model.Within(l.MainsVolts, model.None)
	}
	if l.InputOhms.Ok() {
		b.InputOhms = model.Within(l.InputOhms, model.None)
	}
	return lead{bench: b, ohms: ohms, input: l.InputOhms}
}

func (l lead) at(b setup, _ float64) (z, share complex128) {
	if l.input.Ok() {
		b.ohms = float64(l.input)
	}
	b.by = 0 // its source has the ohms that are asked for
	if z, share = b.at(l.ohms, l.bench.Hz); l.current {
		z = 0
	}
	return z, share
}

// brings is the pickup by a lead's volts or amperes: in the middle of placements, or of one
// placement more.
func (d driven) brings(l lead, by model.Estimate, once bool) (model.Estimate, model.Budget) {
	v, _, hi := by.Numbers()
	g := d.known(sought{at: l.at}, max(0, hi/v-1))
	g.once = once
	per, budget := g.pool()
	return per.Map(func(q float64) float64 { return model.Digits(q*l.bench.omega()*v, 5) }), budget
}

// Claimed is what a passport says of the number that a claim's limit is about, its budget
// and its runs; unknown where it has none.
func Claimed(p model.Passport, cable string, ohms model.Num, l model.Limit) (e model.Estimate, b model.Budget, runs []int) {
	base, perMetre := strings.CutSuffix(l.Unit, "/m")
	d := drivenOf(p, cable, map[string]string{"F": model.DriveWire, "V": model.DriveWire, "H": model.DriveCoil, "Ω": model.DriveShield}[base])
	if len(d.placed) == 0 {
		return e, b, nil
	}
	var q model.Quotient
	switch base {
	case "F":
		q = d.quotient(model.OfCapacitance, base, onlyA)
	case "H":
		q = d.quotient(model.OfInductance, base, onlyB)
	case "Ω":
		hz, ok := d.toneAt(l.Hz)
		if !ok {
			return e, b, nil
		}
		q = d.transfer(hz)
	case "V":
		lead := leadOf(p, ohms, l)
		if !lead.bench.mains().known() || !(lead.bench.Hz > 0) || !lead.bench.closed() {
			return e, b, nil
		}
		q.Value, q.Budget = d.brings(lead, lead.bench.MainsVolts, false)
		q = d.ofRuns(q)
	}
	if perMetre {
		q.Value = q.PerMetre
	}
	return q.Value, q.Budget, q.Runs
}

// nearTone is how far off, as a share, the tone may lie that a claim's frequency is tested at.
const nearTone = 0.1

// toneAt is the tone nearest to a frequency, if it is near; the lowest where none is wanted.
func (d driven) toneAt(hz model.Num) (at float64, ok bool) {
	tones := d.placed[0].tones
	if !hz.Ok() {
		return tones[0].hz, true
	}
	off := func(s shown) float64 { return math.Abs(math.Log(s.hz / float64(hz))) }
	best := slices.MinFunc(tones, func(a, b shown) int { return cmp.Compare(off(a), off(b)) })
	return best.hz, off(best) <= nearTone
}

// Held says how a prediction stands beside a real lead, which lay there once. Of placements
// that were not repeated nobody knows what once may bring: they can't disagree.
func Held(one model.Predicted) string {
	if one.Once.Known() {
		return Agrees(one.Once, one.Measured)
	}
	if Agrees(one.Volts, one.Measured) == model.Yes {
		return model.Yes
	}
	return ""
}

// Agrees says whether two intervals meet; empty where one of them is open.
func Agrees(predicted, measured model.Estimate) string {
	lo, hasLo := predicted.Lower()
	hi, hasHi := predicted.Upper()
	low, hasLow := measured.Lower()
	high, hasHigh := measured.Upper()
	switch {
	case hasHi && hasLow && low > hi || hasLo && hasHigh && high < lo:
		return model.No
	case hasHi && hasHigh:
		return model.Yes
	}
	return ""
}
