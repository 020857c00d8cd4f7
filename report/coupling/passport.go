package coupling

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/stat"

	"humdiff/fft/estimate"
	"humdiff/fft/note"
	"humdiff/report/model"
)

// Why a passport lacks something.
const (
	MissingScale       = "no_drive_scale"     // volts, or a shunt's ohms
	MissingResidual    = "no_drive_residual"  // with the drive on, at the same termination
	MissingTermination = "no_second_terminal" // two finite terminations
	MissingPlacement   = "one_driven_placement"
	MissingDrive       = "not_driven" // nothing was recorded with this drive
)

// Passports fills in what a passport's runs say of each cable. Runs is all that it looks
// at, with the bench and the scale.
func Passports(p model.Passport) []model.CablePassport {
	all := []model.CablePassport{}
	var cables []string
	for _, r := range p.Runs {
		if r.Cond == model.Driven && !slices.Contains(cables, r.Cable) {
			cables = append(cables, r.Cable)
		}
	}
	for _, cable := range cables {
		c := model.CablePassport{Cable: cable, Couplings: []model.Quotient{}, Frequency: []model.AtTone{}, Predicted: []model.Predicted{}, Missing: []model.Note{}}
		for _, drive := range model.Drives {
			c.Missing = append(c.Missing, lacks(p, cable, drive)...)
			if of := placements(p, cable, drive); len(of) > 0 && volts(p, drive) > 0 {
				drives[drive](p, of, &c)
			}
		}
		all = append(all, c)
	}
	return all
}

// drives are what each drive shows.
var drives = map[string]func(p model.Passport, of []placed, c *model.CablePassport){
	model.DriveWire: func(p model.Passport, of []placed, c *model.CablePassport) {
		c.Couplings = append(c.Couplings, quotient(p, of, model.OfCapacitance, "F", onlyA), quotient(p, of, model.OfShieldDrop, "F·Ω", onlyB))
		ohms := largest(p, c.Cable)
		c.Frequency = append(c.Frequency, spectrum(of, model.DriveWire, ohms, func(hz float64) (complex128, complex128) {
			b := driveBench(p, ohms, hz)
			return b.z(), b.share()
		})...)
		c.Predicted = predicted(p, of, c.Cable)
	},
	model.DriveCoil: func(p model.Passport, of []placed, c *model.CablePassport) {
		c.Couplings = append(c.Couplings, quotient(p, of, model.OfInductance, "H", onlyB))
		c.Frequency = append(c.Frequency, spectrum(of, model.DriveCoil, model.None, onlyB)...)
	},
	model.DriveShield: func(p model.Passport, of []placed, c *model.CablePassport) {
		at := spectrum(of, model.DriveShield, model.None, onlyB)
		c.Frequency = append(c.Frequency, at...)
		c.Couplings = append(c.Couplings, transfers(p, of)...)
	},
}

func onlyA(float64) (z, share complex128) { return 1, 0 }
func onlyB(float64) (z, share complex128) { return 0, 1 }

// lacks is what a cable's runs under a drive lack.
func lacks(p model.Passport, cable, drive string) (all []model.Note) {
	var ohms []model.Num
	repeats := map[int]bool{}
	for _, r := range p.Runs {
		if r.Cond == model.Driven && r.Cable == cable && r.Drive == drive {
			repeats[r.Repeat] = true
			if !slices.Contains(ohms, r.Ohms) {
				ohms = append(ohms, r.Ohms)
			}
		}
	}
	switch {
	case len(ohms) == 0:
		return append(all, note.New(MissingDrive, "drive", drive))
	case !(volts(p, drive) > 0):
		all = append(all, note.New(MissingScale, "drive", drive))
	}
	if len(ohms) < 2 {
		all = append(all, note.New(MissingTermination, "drive", drive))
	}
	for _, o := range ohms {
		if !slices.ContainsFunc(p.Runs, func(r model.DrivenRun) bool { return r.Cond == model.Residual && r.Drive == drive && r.Ohms == o }) {
			all = append(all, note.New(MissingResidual, "drive", drive, "ohms", float64(o)))
		}
	}
	if len(repeats) == 1 && drive != model.DriveShield { // which lies nowhere else
		all = append(all, note.New(MissingPlacement, "drive", drive))
	}
	return all
}

// largest is the largest termination of a cable under a wire.
func largest(p model.Passport, cable string) (ohms model.Num) {
	for _, r := range p.Runs {
		if r.Cond == model.Driven && r.Cable == cable && r.Drive == model.DriveWire {
			ohms = max(ohms, r.Ohms)
		}
	}
	return ohms
}

// readings are one quantity's in each placement.
func readings(of []placed, at func(hz float64) (z, share complex128)) (all []reading) {
	for _, one := range of {
		all = append(all, one.readingOf(at))
	}
	return all
}

// scaleDB is the standard uncertainty of all that is stated, dB: both full scales, the shunt,
// and for what goes by the node, its impedance. Limits are taken as equally likely between.
func scaleDB(p model.Passport, drive string, nodes float64) float64 {
	squares := 0.0
	add := func(db float64) {
		if db > 0 {
			squares += db * db
		}
	}
	add(float64(p.Scale.InputUDB))
	add(float64(p.Scale.DriveUDB))
	if drive != model.DriveWire {
		add(perDB * float64(p.Drive.ShuntWithin) / math.Sqrt(3))
	}
	add(perDB * nodes / math.Sqrt(3))
	return math.Sqrt(squares)
}

// quotient is one quantity over all tones.
func quotient(p model.Passport, of []placed, quantity, unit string, at func(hz float64) (z, share complex128)) model.Quotient {
	drive, nodes := model.DriveWire, 0.0
	switch quantity {
	case model.OfInductance:
		drive = model.DriveCoil
	case model.OfCapacitance:
		nodes = driveBench(p, largest(p, cableOf(p, of)), 1000).tolerance()
	}
	q := model.Quotient{Quantity: quantity, Unit: unit, Hz: model.None, Runs: []int{}}
	q.Value, q.Budget = pool(readings(of, at), scaleDB(p, drive, nodes))
	if metres := float64(p.Bench.ParallelMM) / 1000; metres > 0 && quantity != model.OfShieldDrop {
		q.PerMetre = q.Value.Map(func(v float64) float64 { return model.Digits(v/metres, 5) })
	}
	for _, one := range of {
		q.Runs = append(q.Runs, one.runs...)
	}
	q.Slope, q.Follows = slope(spectrum(of, drive, model.None, at))
	return q
}

// cableOf is whose placements these are.
func cableOf(p model.Passport, of []placed) string {
	i := slices.IndexFunc(p.Runs, func(r model.DrivenRun) bool { return r.Number == of[0].runs[0] })
	return p.Runs[i].Cable
}

// transfers are the transfer impedance at the lowest tone: above, it goes with frequency.
func transfers(p model.Passport, of []placed) []model.Quotient {
	var all []reading
	lowest := of[0].tones[0]
	for _, one := range of {
		for _, s := range one.tones {
			if sameTone(model.Num(s.hz), model.Num(lowest.hz)) {
				v, own, cross := s.of(0, 1)
				ω := s.omega()
				all = append(all, reading{day: one.day, value: ω * cmplx.Abs(v), own: own * ω * ω, cross2: cross * ω * ω, tones: 1})
			}
		}
	}
	q := model.Quotient{Quantity: model.OfTransfer, Unit: "Ω", Hz: model.Num(lowest.hz), Runs: []int{}, Follows: true}
	q.Value, q.Budget = pool(all, scaleDB(p, model.DriveShield, 0))
	if metres := float64(p.Bench.ParallelMM) / 1000; metres > 0 {
		q.PerMetre = q.Value.Map(func(v float64) float64 { return model.Digits(v/metres, 5) })
	}
	for _, one := range of {
		q.Runs = append(q.Runs, one.runs...)
	}
	return []model.Quotient{q}
}

// spectrum is what couples at each tone, over the placements.
func spectrum(of []placed, drive string, ohms model.Num, at func(hz float64) (z, share complex128)) (all []model.AtTone) {
	for _, s := range of[0].tones {
		var sum complex128
		own, cross, n := 0.0, 0.0, 0.0
		for _, one := range of {
			i := slices.IndexFunc(one.tones, func(t solved) bool { return sameTone(model.Num(t.hz), model.Num(s.hz)) })
			if i < 0 {
				continue
			}
			z, share := at(s.hz)
			v, o, x := one.tones[i].of(z, share)
			sum, own, cross, n = sum+v, own+o, cross+x, n+1
		}
		v, u := sum*complex(0, s.omega())/complex(n, 0), s.omega()*math.Sqrt(own/n/n+cross/n)
		size := cmplx.Abs(v)
		e := estimate.Below(model.Digits(size+within95*u, 5))
		if size > clearly*u {
			e = estimate.Of(model.Digits(size, 5), model.Digits(size-within95*u, 5), model.Digits(size+within95*u, 5))
		}
		all = append(all, model.AtTone{Drive: drive, Hz: model.Num(s.hz), Size: e, Phase: model.Num(model.Places(cmplx.Phase(v)*180/math.Pi, 1)), Ohms: ohms})
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
// driven, were its live conductor where the wire lay.
func predicted(p model.Passport, of []placed, cable string) []model.Predicted {
	all := []model.Predicted{}
	hz := float64(p.Bench.MainsHz)
	if !(hz > 0) || !p.Bench.MainsVolts.Ok() {
		return all
	}
	var ends []model.Num
	for _, r := range p.Runs {
		if r.Cond == model.Driven && r.Cable == cable && r.Drive == model.DriveWire && !slices.Contains(ends, r.Ohms) {
			ends = append(ends, r.Ohms)
		}
	}
	for _, ohms := range ends {
		b := driveBench(p, ohms, hz)
		b.MainsVolts = model.Within(p.Bench.MainsVolts, p.Bench.MainsVoltsWithin)
		z, share := b.z(), b.share()
		mains := 0.0
		if p.Bench.MainsVoltsWithin > 0 {
			mains = perDB * float64(p.Bench.MainsVoltsWithin) / math.Sqrt(3)
		}
		per, _ := pool(readings(of, func(float64) (complex128, complex128) { return z, share }), math.Hypot(scaleDB(p, model.DriveWire, 0), mains))
		to := b.omega() * float64(p.Bench.MainsVolts)
		all = append(all, model.Predicted{BenchConditions: conditionsOf(b), Volts: per.Map(func(v float64) float64 { return model.Digits(v*to, 5) })})
	}
	return all
}
