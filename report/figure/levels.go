package figure

import (
	"fmt"
	"math"

	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot"
)

// Units are those that the levels of a figure can be drawn in.
func Units(set model.Settings) []doc.Unit {
	if set.FullScaleVolts.Ok() && set.FullScaleVolts > 0 {
		return []doc.Unit{doc.InDBFS, doc.InDBV, doc.InVolts}
	}
	return []doc.Unit{doc.InDBFS}
}

// levels is a level axis. What is drawn keeps its dBFS; the axis says what that
// is in the unit.
type levels struct {
	unit  doc.Unit
	above float64 // what 0 dBFS is, in dBV
	cut   [2]float64
}

func levelsFor(set model.Settings, o Options) levels {
	l := levels{unit: doc.InDBFS, cut: o.Level}
	for _, u := range Units(set) {
		if u == o.Unit && u != doc.InDBFS {
			l.unit, l.above = u, 20*math.Log10(float64(set.FullScaleVolts))
		}
	}
	return l
}

// name is the unit as it stands on the axis.
func (l levels) name() string {
	return map[doc.Unit]string{doc.InDBFS: "dBFS rms", doc.InDBV: "dBV (0 dBV is 1 V rms)", doc.InVolts: "V rms"}[l.unit]
}

// within is the range to show: the part asked for, or from lo to hi dBFS.
func (l levels) within(lo, hi float64) (float64, float64) {
	if l.cut[0] < l.cut[1] {
		return l.cut[0] - l.above, l.cut[1] - l.above
	}
	return lo, hi
}

// axis is the axis from lo to hi dBFS, with at most so many labels.
func (l levels) axis(lo, hi float64, most int) scale {
	if l.unit == doc.InVolts {
		return l.volts(lo, hi, most)
	}
	s := even(lo+l.above, hi+l.above, most, 1)
	s.lo, s.hi = lo, hi
	for i := range s.ticks {
		s.ticks[i].Value -= l.above
	}
	return s
}

// volts has its labels at powers of ten, or at every second or third where there
// is less room, and at 1, 2 and 5 times them where there is more.
func (l levels) volts(lo, hi float64, most int) scale {
	s := scale{lo: lo, hi: hi}
	decades := (hi - lo) / 20
	every := max(1, int(math.Ceil(decades/float64(max(most, 1)))))
	dense := decades*3 <= float64(most)
	for k := int(math.Floor((lo + l.above) / 20)); float64(k)*20 <= hi+l.above; k++ {
		for n := 1; n < 10; n++ {
			volts := float64(n) * math.Pow(10, float64(k))
			at := 20*math.Log10(volts) - l.above
			if at < lo-1e-9 || at > hi+1e-9 {
				continue
			}
			label := ""
			if n == 1 && k%every == 0 || dense && (n == 2 || n == 5) {
				label = voltTick(volts)
			}
			s.ticks = append(s.ticks, plot.Tick{Value: at, Label: label})
		}
	}
	return s
}

// voltTick writes a round voltage, e.g. "10 nV".
func voltTick(v float64) string {
	p := doc.PrefixFor(model.Num(v))
	return fmt.Sprintf("%.0f %sV", v/p.Scale, p.Name)
}
