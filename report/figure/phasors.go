package figure

import (
	"cmp"
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

// HasPhasors reports whether a reference tells the phase of what the lead added.
func HasPhasors(p model.Pair) bool { return len(phasorsOf(p)) > 0 }

// Phasors draws what the lead added to each line: its size, and as the direction of a needle its
// phase against the reference's own line.
func Phasors(set model.Settings, p model.Pair) Figure {
	return Figure{Name: "phasors", of: func(o Options) content { return phasorContent(set, p, o) }}
}

// phasor is a line's pickup in its unit, with its phase, rad.
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

func phasorContent(set model.Settings, p model.Pair, o Options) content {
	all := phasorsOf(p)
	near, known := set.ScaleOf(model.ForNear)
	one := 1.0 // of full scale
	if known {
		one = float64(near.FullScaleVolts)
	}
	drawn := all[:min(mostPhasors, len(all))]
	slices.SortFunc(drawn, func(a, b phasor) int { return a.harmonic - b.harmonic })
	f := content{FigureText: doc.PhasorText(set, p, len(drawn), len(all)), key: []entry{{doc.KeyMeasured, phasorSwatch}}}
	f.paint = func(st style, c draw.Canvas) {
		pl := axes(st, f.X, columnsOf(drawn), decadesOf(drawn, one, known))
		pl.Add(needles{st, drawn, one})
		pl.Draw(c)
	}
	return f
}

func phasorSwatch(c draw.Canvas, at vg.Point, st style) {
	c.StrokeLine2(draw.LineStyle{Color: st.Near, Width: st.line}, at.X, at.Y-st.size*0.5, at.X, at.Y+st.size*0.5)
	full(c, circle(at, st.mark), st.Near, st)
}

// columnsOf is an axis with a place for each line.
func columnsOf(all []phasor) scale {
	x := scale{lo: -0.9, hi: float64(len(all)) - 0.1}
	for i, p := range all {
		x.ticks = append(x.ticks, plot.Tick{Value: float64(i), Label: strconv.Itoa(p.harmonic)})
	}
	return x
}

// decadesOf is an axis of powers of ten, as their logarithms.
func decadesOf(all []phasor, one float64, volts bool) scale {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range all {
		lo, hi = min(lo, math.Log10(p.lo*one)), max(hi, math.Log10(p.hi*one))
	}
	y := scale{lo: math.Floor(lo), hi: math.Ceil(hi + 0.15)}
	for d := y.lo; d <= y.hi; d++ {
		y.ticks = append(y.ticks, plot.Tick{Value: d, Label: doc.DecadeLabel(d, volts)})
	}
	return y
}

// needles draw each line at its size, with its interval, and a needle that points its phase.
type needles struct {
	style
	all []phasor
	one float64
}

func (n needles) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	long := min(float64(x(1)-x(0))*0.8, float64(n.size)*1.8)
	thin, bar := draw.LineStyle{Color: n.Near, Width: n.line * 1.3}, draw.LineStyle{Color: n.Quiet, Width: n.line * 2.5}
	for i, line := range n.all {
		level := func(v float64) vg.Length { return y(math.Log10(v * n.one)) }
		at := vg.Point{X: x(float64(i)), Y: level(line.size)}
		c.StrokeLine2(bar, at.X, level(line.lo), at.X, level(line.hi))
		for _, turn := range []float64{-line.within, line.within} {
			c.StrokeLines(draw.LineStyle{Color: n.Quiet, Width: n.line}, []vg.Point{at, away(at, long, line.phase+turn)})
		}
		c.StrokeLines(thin, []vg.Point{at, away(at, long, line.phase)})
		full(c, circle(at, n.mark*0.8), n.Near, n.style)
	}
}

// away is a point at a distance in a direction, rad from the right against the clock.
func away(from vg.Point, distance, angle float64) vg.Point {
	return vg.Point{X: from.X + vg.Length(float64(distance*math.Cos(angle))), Y: from.Y + vg.Length(float64(distance*math.Sin(angle)))}
}
