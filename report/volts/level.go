package volts

import (
	"math"

	"humdiff/fft/mains"
	"humdiff/report/result"
)

// dBu0 is 0 dBu in dBV: 1 mW in 600 Ω, √0.6 V.
var dBu0 = 10 * math.Log10(0.6)

// Place is a scale as levels need it.
type Place struct {
	FullScale result.Num // volts rms of a full-scale sine; None where unknown
	U95DB     float64    // half-width of its interval, dB
}

// PlaceOf is the place of a scale in a result; what nothing was stated of
// counts as exact.
func PlaceOf(s result.Scale) Place {
	p := Place{FullScale: s.FullScaleVolts}
	if s.U95DB.Ok() {
		p.U95DB = float64(s.U95DB)
	}
	return p
}

// Voltage is a power as a voltage.
func (p Place) Voltage(power float64) result.Voltage {
	v := p.volts(power, 0)
	return result.Voltage{Volts: v, DBV: dbv(v), DBu: dbu(v)}
}

// Absolute is a level with its interval, or its limit, as voltages. The scale's
// uncertainty is added to the interval as a square, as the two are independent.
// To a limit it is added whole, which is more than enough: how far a limit lies
// from the level has no one value.
func (p Place) Absolute(l mains.Level) (volts result.Num, a result.Absolute) {
	if !l.Detected {
		a = result.NoAbsolute()
		a.LimitVolts = p.volts(l.Limit, p.U95DB)
		a.LimitDBV, a.LimitDBu = dbv(a.LimitVolts), dbu(a.LimitVolts)
		return result.None, a
	}
	l = Widened(l, p.U95DB)
	volts = p.volts(l.Power, 0)
	a.LoVolts, a.HiVolts, a.LimitVolts = p.volts(l.Lo, 0), p.volts(l.Hi, 0), result.None
	a.DBV, a.LoDBV, a.HiDBV, a.LimitDBV = dbv(volts), dbv(a.LoVolts), dbv(a.HiVolts), result.None
	a.DBu, a.LoDBu, a.HiDBu, a.LimitDBu = dbu(volts), dbu(a.LoVolts), dbu(a.HiVolts), result.None
	return volts, a
}

// Range is a range of amplitudes, full scale 1, in volts. Its ends come from two
// levels on this one scale, so the scale's uncertainty is added to each whole.
func (p Place) Range(lo, hi float64) (loVolts, hiVolts result.Num) {
	return p.volts(lo*lo, -p.U95DB), p.volts(hi*hi, p.U95DB)
}

func (p Place) volts(power, upDB float64) result.Num {
	if !p.FullScale.Ok() {
		return result.None
	}
	return result.Of(float64(p.FullScale) * math.Sqrt(power) * math.Pow(10, upDB/20))
}

func dbv(v result.Num) result.Num { return result.DB(float64(v) * float64(v)) }
func dbu(v result.Num) result.Num { return dbv(v) - result.Num(dBu0) }

// Moved is a level, so many decibels higher, with a further uncertainty of so
// many: a level of one scale as it stands on another.
func Moved(l mains.Level, db, u95 float64) mains.Level {
	up := math.Pow(10, db/10)
	l.Power, l.Lo, l.Hi, l.Limit = l.Power*up, l.Lo*up, l.Hi*up, l.Limit*up
	return Widened(l, u95)
}

// Widened is a level whose interval holds a further, independent uncertainty,
// added as a square; to a limit it is added whole.
func Widened(l mains.Level, u95 float64) mains.Level {
	if u95 == 0 {
		return l
	}
	l.Lo, l.Hi = wider(l.Power, l.Lo, -u95), wider(l.Power, l.Hi, u95)
	l.Limit *= math.Pow(10, u95/10)
	return l
}

// wider moves an end of an interval around power away from it, down where byDB
// is negative. An end at zero stays there; one on the wrong side, as that of a
// power less its noise can be, has no distance of its own.
func wider(power, end, byDB float64) float64 {
	if end == 0 {
		return 0
	}
	distance := math.Max(0, math.Copysign(1, byDB)*10*math.Log10(end/power))
	return power * math.Pow(10, math.Copysign(math.Hypot(distance, byDB), byDB)/10)
}
