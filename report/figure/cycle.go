package figure

import (
	"math"

	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Cycle draws one averaged mains cycle of both captures over time, in volts
// where the scale is known and in millionths of full scale where it is not.
func Cycle(set model.Settings, p model.Pair) Figure {
	return Figure{Name: doc.CycleOf, of: func(Options) content {
		set, p, step := oneScale(set, p)
		unit, top := cycleUnit(set, p), cycleTop(p)
		return content{FigureText: doc.CycleText(set, p, doc.Drawn{StepDB: step, Unit: unit.name}), key: cycleKey(p),
			scales: func(st style, w, h vg.Length) (x, y scale) {
				top := top * unit.scale * 1.08
				return even(0, cycleMS(p), columns(w, st), 1e-3), even(-top, top, rows(h, st), 1e-12)
			},
			plot: func(st style, c draw.Canvas, x, y axis) {
				drawCycles(st, c, p, x, func(v float64) vg.Length { return y(v * unit.scale) })
			}}
	}}
}

// unit turns a sample, full scale ±1, into what the axis shows.
type unit struct {
	name  string
	scale float64
}

// cycleUnit: a full-scale sine has amplitude 1, and its rms in volts is known
// or not; so one is √2 times that in volts.
func cycleUnit(set model.Settings, p model.Pair) unit {
	if !set.FullScaleVolts.Ok() {
		return unit{doc.MillionthsOfFullScale, 1e6}
	}
	one := float64(set.FullScaleVolts) * math.Sqrt2
	prefix := doc.PrefixFor(model.Num(cycleTop(p) * one))
	return unit{prefix.Name + "V", one / prefix.Scale}
}

// cycleTop is the largest magnitude in either cycle.
func cycleTop(p model.Pair) float64 {
	top := 0.0
	for _, c := range []model.Cycle{p.Quiet.Cycle, p.Near.Cycle} {
		for _, s := range c.Samples {
			if s.Ok() {
				top = math.Max(top, math.Abs(float64(s)))
			}
		}
	}
	if top == 0 {
		return 1e-6
	}
	return top
}

// cycleMS is how long the longest cycle lasts, the nominal one included.
func cycleMS(p model.Pair) float64 {
	ms := 0.0
	if n := p.NominalHz(); n.Ok() && n > 0 {
		ms = 1000 / float64(n)
	}
	for _, c := range []model.Cycle{p.Quiet.Cycle, p.Near.Cycle} {
		if len(c.Samples) > 1 && c.Hz.Ok() && c.Hz > 0 {
			ms = math.Max(ms, 1000/float64(c.Hz))
		}
	}
	if ms == 0 {
		return 20
	}
	return ms
}

func cycleKey(p model.Pair) []entry {
	var key []entry
	if len(p.Quiet.Cycle.Samples) > 1 {
		key = append(key, entry{doc.KeyQuiet, areaSwatch})
	}
	if len(p.Near.Cycle.Samples) > 1 {
		key = append(key, entry{doc.KeyNear, lineSwatch})
	}
	return key
}

// drawCycles draws samples, of full scale, over milliseconds.
func drawCycles(st style, c draw.Canvas, p model.Pair, x, y axis) {
	points := func(cy model.Cycle) []vg.Point {
		n := len(cy.Samples)
		if n < 2 || !cy.Hz.Ok() {
			return nil
		}
		var out []vg.Point
		for i := 0; i <= n; i++ { // the cycle closes with its first sample
			if v := cy.Samples[i%n]; v.Ok() {
				out = append(out, vg.Point{X: x(1000 / float64(cy.Hz) * float64(i) / float64(n)), Y: y(float64(v))})
			}
		}
		return out
	}
	if quiet := points(p.Quiet.Cycle); quiet != nil {
		area := append([]vg.Point{{X: quiet[0].X, Y: y(0)}}, quiet...)
		c.SetColor(st.Quiet)
		c.Fill(polygon(append(area, vg.Point{X: quiet[len(quiet)-1].X, Y: y(0)})...))
	}
	c.StrokeLine2(draw.LineStyle{Color: st.Ink, Width: 1}, c.Min.X, y(0), c.Max.X, y(0))
	if near := points(p.Near.Cycle); near != nil {
		c.StrokeLines(draw.LineStyle{Color: st.Near, Width: st.line * 1.2}, near)
	}
}
