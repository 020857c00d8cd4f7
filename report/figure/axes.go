package figure

import (
	"math"
	"strconv"

	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// The font that widths are measured with; the SVG names it and its likes.
var (
	sans    = font.Font{Typeface: "Liberation", Variant: "Sans"}
	faces   = font.NewCache(liberation.Collection())
	handler = anchored{Plain: text.Plain{Fonts: faces}}
)

// axes is a plot with nothing in it but its axes and a grid at their ticks.
func axes(st style, xTitle string, x, y scale) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	p.TextHandler = st.handler
	p.X.Label.Text = xTitle
	p.X.Label.TextStyle = st.text(0.95, false, st.Ink)
	p.X.Label.TextStyle.XAlign = text.XCenter
	p.X.Label.TextStyle.YAlign = text.YBottom
	p.X.Label.Padding = st.size * 0.3
	for _, a := range []struct {
		*plot.Axis
		scale
	}{{&p.X, x}, {&p.Y, y}} {
		a.Min, a.Max = a.lo, a.hi
		a.Padding = 0
		a.LineStyle = draw.LineStyle{Color: st.Ink, Width: 1}
		a.Tick.LineStyle = a.LineStyle
		a.Tick.Length = st.size * 0.35
		x, y := a.Tick.Label.XAlign, a.Tick.Label.YAlign
		a.Tick.Label = st.text(0.9, false, st.Ink)
		a.Tick.Label.XAlign, a.Tick.Label.YAlign = x, y
		a.Tick.Marker = plot.ConstantTicks(a.ticks)
		if a.log {
			a.Scale = plot.LogScale{}
		}
	}
	p.Add(grid(st, x, y))
	return p
}

// scale is the range of an axis and its ticks.
type scale struct {
	lo, hi float64
	ticks  []plot.Tick
	log    bool
}

// plotting is a part of a plot, as gonum takes it.
type plotting func(c draw.Canvas, x, y axis)

// Plot is a part of plot.Plotter.
func (p plotting) Plot(c draw.Canvas, pl *plot.Plot) {
	x, y := pl.Transforms(&c)
	p(c, x, y)
}

// grid is lines at the axes' ticks.
func grid(st style, xs, ys scale) plotting {
	line := draw.LineStyle{Color: st.Grid, Width: 1}
	return func(c draw.Canvas, x, y axis) {
		for _, t := range xs.ticks {
			if !t.IsMinor() && t.Value > xs.lo {
				c.StrokeLine2(line, x(t.Value), c.Min.Y, x(t.Value), c.Max.Y)
			}
		}
		for _, t := range ys.ticks {
			if !t.IsMinor() && t.Value > ys.lo {
				c.StrokeLine2(line, c.Min.X, y(t.Value), c.Max.X, y(t.Value))
			}
		}
	}
}

// logHz is a frequency axis from lo to hi, labelled at 1, 2 and 5 times powers
// of ten where there is room, and at 1 and 2 or 1 alone where there is less.
func logHz(lo, hi float64, width, size vg.Length) scale {
	if hi < 3*lo { // too few of those in it
		s := even(lo, hi, int(width/(size*4)), 1e-3)
		s.log = true
		return s
	}
	s := scale{lo: lo, hi: hi, log: true}
	decade := float64(width/size) / math.Log10(hi/lo) // its width in characters
	for power := math.Pow(10, math.Floor(math.Log10(lo))); power <= hi; power *= 10 {
		for n := 1.0; n < 10; n++ {
			if f := n * power; f >= lo*0.999 && f <= hi*1.001 {
				label := ""
				if n == 1 || n == 2 && decade > 4 || n == 5 && decade > 7 {
					label = hzTick(f)
				}
				s.ticks = append(s.ticks, plot.Tick{Value: f, Label: label})
			}
		}
	}
	return s
}

func hzTick(f float64) string {
	if f >= 1000 {
		return strconv.FormatFloat(f/1000, 'f', -1, 64) + "k"
	}
	return strconv.FormatFloat(f, 'f', -1, 64)
}

// rows is how many labels stand well above each other along a plot's height, columns
// how many beside each other along its width.
func rows(h vg.Length, st style) int    { return int(h / (st.size * 2.6)) }
func columns(w vg.Length, st style) int { return int(w / (st.size * 4)) }

// even is an axis from lo to hi with at most so many ticks, on whole multiples
// of 1, 2 or 5 times a power of ten no smaller than least.
func even(lo, hi float64, most int, least float64) scale {
	step := stepFor((hi-lo)/float64(max(most, 1)), least)
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	s := scale{lo: lo, hi: hi}
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+step*1e-9; k++ {
		s.ticks = append(s.ticks, plot.Tick{Value: k * step, Label: doc.Fixed(model.Num(k*step), decimals)})
	}
	return s
}

func stepFor(atLeast, least float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(math.Max(atLeast, least))))
	for _, n := range []float64{1, 2, 5, 10} {
		if step := n * power; step >= atLeast*(1-1e-9) && step >= least {
			return step
		}
	}
	return 10 * power
}
