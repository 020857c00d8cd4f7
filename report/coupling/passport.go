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
		c.Frequency = append(c.Frequency, spectrum(of, model.DriveShield, model.None, onlyB)...)
		c.Couplings = append(c.Couplings, transfer(p, of, of[0].tones[0].hz))
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
	q := model.Quotient{Quantity: quantity, Unit: unit, Hz: model.None}
	q.Value, q.Budget = pool(readings(of, at), scaleDB(p, drive, nodes))
	q = ofPlaced(p, q, of)
	q.Slope, q.Follows = slope(spectrum(of, drive, model.None, at))
	return q
}

// cableOf is whose placements these are.
func cableOf(p model.Passport, of []placed) string {
	i := slices.IndexFunc(p.Runs, func(r model.DrivenRun) bool { return r.Number == of[0].runs[0] })
	return p.Runs[i].Cable
}

// transfer is the transfer impedance at one tone: it goes with frequency.
func transfer(p model.Passport, of []placed, hz float64) model.Quotient {
	var all []reading
	for _, one := range of {
		for _, s := range one.tones {
			if sameTone(model.Num(s.hz), model.Num(hz)) {
				v, own, cross := s.of(0, 1)
				ω := s.omega()
				all = append(all, reading{day: one.day, value: ω * cmplx.Abs(v), own: own * ω * ω, cross2: cross * ω * ω, tones: 1})
			}
		}
	}
	q := model.Quotient{Quantity: model.OfTransfer, Unit: "Ω", Hz: model.Num(hz), Follows: true}
	q.Value, q.Budget = pool(all, scaleDB(p, model.DriveShield, 0))
	return ofPlaced(p, q, of)
}

// ofPlaced is a number with what of it a metre has, and its runs.
func ofPlaced(p model.Passport, q model.Quotient, of []placed) model.Quotient {
	if metres := float64(p.Bench.ParallelMM) / 1000; metres > 0 && q.Quantity != model.OfShieldDrop {
		q.PerMetre = q.Value.Map(func(v float64) float64 { return model.Digits(v/metres, 5) })
	}
	q.Runs = runsOf(of)
	return q
}

func runsOf(of []placed) []int {
	all := []int{}
	for _, one := range of {
		all = append(all, one.runs...)
	}
	return all
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
	if !(p.Bench.MainsHz > 0) || !p.Bench.MainsVolts.Ok() {
		return all
	}
	var ends []model.Num
	for _, r := range p.Runs {
		if r.Cond == model.Driven && r.Cable == cable && r.Drive == model.DriveWire && !slices.Contains(ends, r.Ohms) {
			ends = append(ends, r.Ohms)
		}
	}
	for _, ohms := range ends {
		b := leadBench(p, ohms, model.NoLimit())
		volts, _ := predict(p, of, b)
		all = append(all, model.Predicted{BenchConditions: conditionsOf(b), Volts: volts})
	}
	return all
}

// leadBench is a passport's bench with a lead in the wire's place, as the bench has it where
// a claim's limit says nothing else.
func leadBench(p model.Passport, ohms model.Num, l model.Limit) Bench {
	hz := p.Bench.MainsHz
	if l.Hz.Ok() {
		hz = l.Hz
	}
	b := driveBench(p, ohms, float64(hz))
	b.MainsVolts = model.Within(p.Bench.MainsVolts, p.Bench.MainsVoltsWithin)
	if l.MainsVolts.Ok() {
		b.MainsVolts = model.Within(l.MainsVolts, model.None)
	}
	if l.InputOhms.Ok() {
		b.InputOhms = model.Within(l.InputOhms, model.None)
	}
	return b
}

// predict is the pickup that a lead would bring.
func predict(p model.Passport, of []placed, b Bench) (model.Estimate, model.Budget) {
	z, share := b.z(), b.share()
	volts, _, hi := b.MainsVolts.Numbers()
	mains := 0.0
	if within := hi/volts - 1; within > 0 {
		mains = perDB * within / math.Sqrt(3)
	}
	per, budget := pool(readings(of, func(float64) (complex128, complex128) { return z, share }), math.Hypot(scaleDB(p, model.DriveWire, 0), mains))
	to := b.omega() * volts
	return per.Map(func(v float64) float64 { return model.Digits(v*to, 5) }), budget
}

// nearTone is how far off, as a share, the tone may lie that a claim's frequency is tested at.
const nearTone = 0.1

// Claimed is what a passport says of the number that a claim's limit is about, its budget
// and its runs; unknown where it has none.
func Claimed(p model.Passport, cable string, ohms model.Num, l model.Limit) (e model.Estimate, b model.Budget, runs []int) {
	base, perMetre := strings.CutSuffix(l.Unit, "/m")
	drive := map[string]string{"F": model.DriveWire, "V": model.DriveWire, "H": model.DriveCoil, "Ω": model.DriveShield}[base]
	of := placements(p, cable, drive)
	if len(of) == 0 || !(volts(p, drive) > 0) {
		return e, b, nil
	}
	var q model.Quotient
	switch base {
	case "F":
		q = quotient(p, of, model.OfCapacitance, base, onlyA)
	case "H":
		q = quotient(p, of, model.OfInductance, base, onlyB)
	case "Ω":
		hz, ok := toneAt(of[0].tones, l.Hz)
		if !ok {
			return e, b, nil
		}
		q = transfer(p, of, hz)
	case "V":
		lead := leadBench(p, ohms, l)
		if !lead.mains().known() || !(lead.Hz > 0) || !lead.closed() {
			return e, b, nil
		}
		q.Value, q.Budget = predict(p, of, lead)
		q = ofPlaced(p, q, of)
	}
	if perMetre {
		q.Value = q.PerMetre
	}
	return q.Value, q.Budget, q.Runs
}

// toneAt is the tone nearest to a frequency, if it is near; the lowest where none is wanted.
func toneAt(tones []solved, hz model.Num) (at float64, ok bool) {
	if !hz.Ok() {
		return tones[0].hz, true
	}
	off := func(s solved) float64 { return math.Abs(math.Log(s.hz / float64(hz))) }
	best := slices.MinFunc(tones, func(a, b solved) int { return cmp.Compare(off(a), off(b)) })
	return best.hz, off(best) <= nearTone
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
