package table

import (
	"math"

	"humdiff/report/result"
	"humdiff/report/words"
)

// Unit is what a table's levels are in.
type Unit string

// Units of levels. Other than DBFS they need a voltage scale.
const (
	DBFS  Unit = "dBFS"
	DBV   Unit = "dBV"
	DBu   Unit = "dBu"
	Volts Unit = "volts"
)

// UnitsOf lists the units in which levels measured with these settings can be
// given.
func UnitsOf(set result.Settings) []Unit {
	if !set.Volts() {
		return []Unit{DBFS}
	}
	return []Unit{DBFS, DBV, DBu, Volts}
}

// UnitFor is the unit for a result of which nobody said otherwise: dBFS, or on
// two scales, where levels in dBFS can't be compared, dBV.
func UnitFor(set result.Settings) Unit {
	if set.TwoScales() && set.Volts() {
		return DBV
	}
	return DBFS
}

// said writes a level in a sentence, given relative to full scale and as a voltage.
func (u Unit) said(dbfs result.Num, v result.Voltage) string {
	switch u {
	case DBV:
		return words.Fixed(v.DBV, 1) + " dBV"
	case DBu:
		return words.Fixed(v.DBu, 1) + " dBu"
	case Volts:
		return words.Volts(v.Volts)
	}
	return words.DBFS(dbfs)
}

// limit is a line's detection limit.
func (u Unit) limit(l result.Line) result.Num {
	switch u {
	case DBV:
		return l.LimitDBV
	case DBu:
		return l.LimitDBu
	case Volts:
		return l.LimitVolts
	}
	return l.LimitDBFS
}

// levels is a unit with what it takes to print in it.
type levels struct {
	Unit
	prefix, floor words.Prefix // of volts, and of V/√Hz
}

// head and floorHead are the units as columns name them.
func (u levels) head() string {
	if u.Unit == Volts {
		return u.prefix.Name + "V rms"
	}
	return string(u.Unit)
}

func (u levels) floorHead() string {
	switch u.Unit {
	case DBFS:
		return "dBFS/Hz"
	case Volts:
		return u.floor.Name + "V/√Hz"
	}
	return string(u.Unit) + "/√Hz"
}

// cell prints a level with its interval, or the limit it lies below.
func (u levels) cell(h result.HumSide) Cell {
	switch u.Unit {
	case DBV:
		return levelCell(h.State, h.DBV, h.LoDBV, h.HiDBV, h.LimitDBV)
	case DBu:
		return levelCell(h.State, h.DBu, h.LoDBu, h.HiDBu, h.LimitDBu)
	case Volts:
		return u.voltsCell(h)
	}
	return levelCell(h.State, h.DBFS, h.LoDBFS, h.HiDBFS, h.LimitDBFS)
}

func (u levels) voltsCell(h result.HumSide) Cell {
	switch {
	case h.State == result.Detected && h.Volts.Ok():
		return u.within(h.Volts, h.LoVolts, h.HiVolts)
	case h.State != result.Detected && h.LimitVolts.Ok():
		return Cell{Text: "below " + u.prefix.DigitsUp(h.LimitVolts), Value: h.LimitVolts}
	}
	return Cell{Text: "not found", Value: result.None}
}

// within prints a voltage and its interval to the interval's first digit, or
// three digits where it has none.
func (u levels) within(v, lo, hi result.Num) Cell {
	half := float64(hi-lo) / 2 / u.prefix.Scale
	if !(half > 0) {
		return Cell{Text: u.prefix.Digits(v), Value: v}
	}
	d := min(max(int(math.Ceil(-math.Log10(half))), 0), 6)
	scaled := func(x result.Num) string { return words.Fixed(x/result.Num(u.prefix.Scale), d) }
	below, above := scaled(v-lo), scaled(hi-v)
	if below == above {
		return Cell{Text: scaled(v), Spread: "±" + above, Value: v}
	}
	return Cell{Text: scaled(v), Spread: "-" + below + "/+" + above, Value: v}
}

// floorCell prints the noise density at a line.
func (u levels) floorCell(l result.Line) Cell {
	dbv := result.DB(float64(l.FloorVolts * l.FloorVolts))
	switch u.Unit {
	case DBV:
		return Cell{Text: words.Fixed(dbv, 1), Value: dbv}
	case DBu:
		return Cell{Text: words.Fixed(dbv-result.DB(0.6), 1), Value: dbv}
	case Volts:
		return Cell{Text: u.floor.Digits(l.FloorVolts), Value: l.FloorVolts}
	}
	return Cell{Text: words.Fixed(l.FloorDBFSHz, 1), Value: l.FloorDBFSHz}
}

// prefixed is a unit whose volts suit a result's highest level and floor.
func prefixed(u Unit, lines []result.Line, totals ...result.HumSide) levels {
	top, floor := result.Num(0), result.Num(0)
	for _, l := range lines {
		if detected(l) && l.Volts.Ok() {
			top = max(top, l.Volts)
		}
		if l.FloorVolts.Ok() {
			floor = max(floor, l.FloorVolts)
		}
	}
	for _, h := range totals {
		for _, v := range []result.Num{h.Volts, h.LimitVolts} {
			if v.Ok() {
				top = max(top, v)
			}
		}
	}
	return levels{u, words.PrefixFor(top), words.PrefixFor(floor)}
}

// level is a line's level without what only lines have.
func level(l result.Line) result.HumSide {
	return result.HumSide{State: l.State, DBFS: l.DBFS, LoDBFS: l.LoDBFS, HiDBFS: l.HiDBFS, LimitDBFS: l.LimitDBFS, Volts: l.Volts, Absolute: l.Absolute}
}

// absolute are the plain columns of a level in volts, dBV and dBu.
func absolute(a result.Absolute) []any {
	return []any{a.LoVolts, a.HiVolts, a.LimitVolts, a.DBV, a.LoDBV, a.HiDBV, a.LimitDBV, a.DBu, a.LoDBu, a.HiDBu, a.LimitDBu}
}

var absolutePlain = []string{"lo_volts_rms", "hi_volts_rms", "limit_volts_rms", "dbv", "lo_dbv", "hi_dbv", "limit_dbv", "dbu", "lo_dbu", "hi_dbu", "limit_dbu"}
