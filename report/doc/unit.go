package doc

import (
	"fmt"
	"math"
	"strings"

	"humdiff/report/model"
)

// Unit is what a table's levels are in.
type Unit string

// Units of levels. Other than DBFS they need a voltage scale.
const (
	InDBFS  Unit = "dBFS"
	InDBV   Unit = "dBV"
	InDBu   Unit = "dBu"
	InVolts Unit = "volts"
)

// UnitFor is the unit for a result of which nobody said otherwise: dBFS, or on
// two scales, where levels in dBFS can't be compared, dBV.
func UnitFor(set model.Settings) Unit {
	if set.TwoScales() && set.Volts() {
		return InDBV
	}
	return InDBFS
}

// of is a level in the unit; unknown where it needs volts and there are none.
func (u Unit) of(dbfs model.Estimate, s model.Scale) model.Estimate {
	switch u {
	case InDBV:
		return model.DBV(s.InVolts(dbfs))
	case InDBu:
		return model.DBu(s.InVolts(dbfs))
	case InVolts:
		return s.InVolts(dbfs)
	}
	return dbfs
}

// plain is a level without an interval in the unit, as of a tone.
func (u Unit) plain(dbfs model.Num, s model.Scale) string {
	if !dbfs.Ok() {
		return unknown
	}
	return u.write(u.of(exactly(dbfs), s))
}

// write writes what is known of a level that is in the unit.
func (u Unit) write(e model.Estimate) string {
	if u == InVolts {
		return Volts(e)
	}
	return levelIn(e, string(u))
}

// levels is a unit with what it takes to print in it.
type levels struct {
	Unit
	prefix, floor Prefix // of volts, and of V/√Hz
}

// head and floorHead are the units as columns name them.
func (u levels) head() string {
	if u.Unit == InVolts {
		return u.prefix.Name + "V rms"
	}
	return string(u.Unit)
}

func (u levels) floorHead() string {
	switch u.Unit {
	case InDBFS:
		return "dBFS/Hz"
	case InVolts:
		return u.floor.Name + "V/√Hz"
	}
	return string(u.Unit) + "/√Hz"
}

// cell prints a level with its interval, or the limit it lies below.
func (u levels) cell(dbfs model.Estimate, s model.Scale) Cell {
	e := u.of(dbfs, s)
	if u.Unit == InVolts {
		return u.voltsCell(e)
	}
	return dbCell(e)
}

// voltsCell prints a voltage and its interval to the interval's first digit, or
// three digits where it has none.
func (u levels) voltsCell(e model.Estimate) Cell {
	lo, hi := ends(e)
	v := value(e)
	switch {
	case !v.Ok() && hi.Ok():
		return Cell{Text: "below " + u.prefix.digitsUp(hi), Value: hi}
	case !v.Ok():
		return Cell{Text: "not found", Value: model.None}
	}
	half := float64(hi-lo) / 2 / u.prefix.Scale
	if !(half > 0) {
		return Cell{Text: u.prefix.Digits(v), Value: v}
	}
	d := decimalsFor(half, 0, 6)
	return Cell{Text: Fixed(v/model.Num(u.prefix.Scale), d), Spread: spread(e, d, u.prefix.Scale), Value: v}
}

// floorCell prints the noise density at a line.
func (u levels) floorCell(l model.Line, s model.Scale) Cell {
	density := u.of(exactly(l.FloorDBFSHz), s)
	v := value(density)
	if !v.Ok() {
		return Cell{Value: model.None}
	}
	if u.Unit == InVolts {
		return Cell{Text: u.floor.Digits(v), Value: v}
	}
	return Cell{Text: Fixed(v, 1), Value: v}
}

// suited is a unit whose prefixes suit the highest level and floor of captures on
// their scales.
func suited(u Unit, scaled []onScale) levels {
	top, floor := 0.0, 0.0
	for _, c := range scaled {
		for _, l := range c.Lines {
			if l.Level.Measured() {
				top = highest(top, c.InVolts(l.Level))
			}
			floor = highest(floor, c.InVolts(exactly(l.FloorDBFSHz)))
		}
		top = highest(top, c.InVolts(c.Hum.Level))
	}
	return levels{u, PrefixFor(model.Num(top)), PrefixFor(model.Num(floor))}
}

// onScale is a capture with its scale.
type onScale struct {
	model.Capture
	model.Scale
}

// highest is the higher of a number and what is printed of an estimate.
func highest(top float64, e model.Estimate) float64 {
	v, ok := e.Value()
	if !ok {
		v, ok = e.Upper()
	}
	if !ok {
		return top
	}
	return math.Max(top, v)
}

// levelOn writes what is known of a level of one side: as a voltage alone where
// the two captures are on two scales, since levels in dBFS can't be compared then.
func levelOn(set model.Settings, side string, dbfs model.Estimate) string {
	scale, known := set.ScaleOf(side)
	switch {
	case !known:
		return Level(dbfs)
	case set.TwoScales():
		return Volts(scale.InVolts(dbfs))
	}
	volts := strings.TrimPrefix(Volts(scale.InVolts(dbfs)), "below ")
	return fmt.Sprintf("%s (%s)", Level(dbfs), volts)
}

// Scales says what 0 dBFS is in volts: one phrase for each known scale.
func Scales(set model.Settings) []string {
	var said []string
	for _, s := range set.Scales {
		known := s
		if s.For == model.ForAll {
			known, _ = set.ScaleOf(model.ForAll)
		}
		if known.FullScaleVolts.Ok() {
			said = append(said, scaleIs(known))
		}
	}
	return said
}

// scaleIs says what 0 dBFS is in volts, how far that is known, and from what,
// e.g. "0 dBFS is 20.0 mV rms at the input, −33.98 dBV, −31.76 dBu, ±0.05 dB
// (2.0V ±0.5% less 40 dB of gain)".
func scaleIs(s model.Scale) string {
	full := exactly(s.FullScaleVolts)
	var missing []string // what the user stated no limits for
	for _, p := range s.Parts {
		if !p.UDB.Ok() {
			missing = append(missing, p.What)
		}
	}
	return tellOne("scale", map[string]any{"scale": s, "volts": full, "dbv": value(model.DBV(full)), "dbu": value(model.DBu(full)), "missing": missing})
}
