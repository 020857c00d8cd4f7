package figure

import (
	"cmp"
	"image/color"
	"math"
	"slices"
	"strconv"

	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// mostPhasors is how many lines have room beside each other.
const mostPhasors = 16

// Phasors draws what the lead added to each line: its size, and as the direction of a needle its
// phase against the reference's own line.
func Phasors(set model.Settings, p model.Pair) Figure {
	return Figure{Name: doc.PhasorsOf, of: func(Options) content {
		all, lv := phasorsOf(p), levels{unit: doc.InDBFS}
		if near, known := set.ScaleOf(model.ForNear); known {
			lv = levels{unit: doc.InVolts, above: 20 * math.Log10(float64(near.FullScaleVolts))}
		}
		drawn := all[:min(mostPhasors, len(all))]
		slices.SortFunc(drawn, func(a, b phasor) int { return a.harmonic - b.harmonic })
		return content{FigureText: doc.PhasorText(set, p, len(drawn), len(all)), key: []entry{{doc.KeyMeasured, phasorSwatch}},
			scales: func(st style, _, h vg.Length) (x, y scale) {
				lo, hi := math.Inf(1), math.Inf(-1)
				for _, p := range drawn {
					lo, hi = min(lo, 20*math.Log10(p.lo)), max(hi, 20*math.Log10(p.hi))
				}
				return columnsOf(drawn, func(p phasor) string { return strconv.Itoa(p.harmonic) }), lv.axis(10*math.Floor(lo/10), 10*math.Ceil((hi+3)/10), rows(h, st))
			},
			plot: func(st style, c draw.Canvas, x, y axis) {
				needles(st, c, drawn, x, func(v float64) vg.Length { return y(20 * math.Log10(v)) })
			}}
	}}
}

// phasor is a line's pickup of full scale, with its phase, rad.
type phasor struct {
	harmonic      int
	size, lo, hi  float64
	phase, within float64
}

// phasorsOf are the strongest first.
func phasorsOf(p model.Pair) (all []phasor) {
	for _, l := range p.Lines {
		if phase, within, ok := l.Pickup.Phase(); ok {
			v, lo, hi := l.Pickup.Numbers()
			all = append(all, phasor{l.Harmonic, v, lo, hi, phase, within})
		}
	}
	slices.SortStableFunc(all, func(a, b phasor) int { return cmp.Compare(b.size, a.size) })
	return all
}

func phasorSwatch(c draw.Canvas, at vg.Point, st style) {
	c.StrokeLine2(draw.LineStyle{Color: st.Near, Width: st.line}, at.X, at.Y-st.size*0.5, at.X, at.Y+st.size*0.5)
	full(c, circle(at, st.mark), st.Near, st)
}

// columnsOf is an axis with a place for each of some, under its name.
func columnsOf[T any](all []T, name func(T) string) scale {
	x := scale{lo: -0.8, hi: float64(len(all)) - 0.2}
	for i, of := range all {
		x.ticks = append(x.ticks, plot.Tick{Value: float64(i), Label: name(of)})
	}
	return x
}

// needles draw each line at its size, with its interval, and a needle that points its phase.
func needles(st style, c draw.Canvas, all []phasor, x, level axis) {
	long := min(float64(x(1)-x(0))*0.8, float64(st.size)*1.8)
	for i, line := range all {
		at := vg.Point{X: x(float64(i)), Y: level(line.size)}
		needle := func(color color.Color, width vg.Length, angle float64) {
			c.StrokeLines(draw.LineStyle{Color: color, Width: width}, []vg.Point{at, away(at, long, angle)})
		}
		c.StrokeLine2(draw.LineStyle{Color: st.Quiet, Width: st.line * 2.5}, at.X, level(line.lo), at.X, level(line.hi))
		needle(st.Quiet, st.line, line.phase-line.within)
		needle(st.Quiet, st.line, line.phase+line.within)
		needle(st.Near, st.line*1.3, line.phase)
		full(c, circle(at, st.mark*0.8), st.Near, st)
	}
}

// away is a point at a distance in a direction, rad from the right against the clock.
func away(from vg.Point, distance, angle float64) vg.Point {
	return vg.Point{X: from.X + vg.Length(float64(distance*math.Cos(angle))), Y: from.Y + vg.Length(float64(distance*math.Sin(angle)))}
}
