package figure

import (
	"math"

	"humdiff/report/doc"
	"humdiff/report/model"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Coupling draws what couples into a cable at each tone of a known source, a shape for each
// drive, with intervals; and through the middle tone of each a line that rises with
// frequency, as one capacitance or inductance would.
func Coupling(p model.Passport, cable int) Figure {
	return Figure{Name: "coupling", of: func(Options) content {
		tones := drawable(p.Cables[cable].Frequency)
		lo, hi, from, to := couplingRange(tones)
		return content{FigureText: doc.CouplingText(p, cable), key: couplingKey(tones),
			scales: func(st style, w, h vg.Length) (x, y scale) {
				return logHz(from, to, w, st.size), even(lo, hi, rows(h, st), 1)
			},
			plot: func(st style, c draw.Canvas, x, y axis) { coupledTones{st, tones, lo, x, y}.draw(c) }}
	}}
}

// drawable are the tones that have a place on axes of logarithms, whatever a file says.
func drawable(all []model.AtTone) (tones []model.AtTone) {
	for _, t := range all {
		v, _, hi := t.Size.Numbers()
		if t.Hz >= 1e-3 && t.Hz <= 1e9 && hi > 0 && (v > 0 || !t.Size.Measured()) {
			tones = append(tones, t)
		}
	}
	return tones
}

// driveMark is the shape of a drive.
func driveMark(drive string) func(at vg.Point, r vg.Length) vg.Path {
	switch drive {
	case model.DriveCoil:
		return square
	case model.DriveShield:
		return diamond
	}
	return circle
}

func couplingKey(tones []model.AtTone) (key []entry) {
	for _, drive := range model.Drives {
		for _, t := range tones {
			if t.Drive == drive {
				key = append(key, entry{drive, func(c draw.Canvas, at vg.Point, st style) { full(c, driveMark(drive)(at, st.mark), st.Near, st) }})
				break
			}
		}
	}
	return append(key, entry{doc.KeySlope, func(c draw.Canvas, at vg.Point, st style) {
		c.StrokeLine2(slopeLine(st), at.X-st.size*0.8, at.Y-st.size*0.2, at.X+st.size*0.8, at.Y+st.size*0.2)
	}})
}

func slopeLine(st style) draw.LineStyle {
	return draw.LineStyle{Color: st.Soft, Width: 1, Dashes: []vg.Length{st.size * 0.4, st.size * 0.3}}
}

// couplingRange is the range of all that is drawn, dB and Hz.
func couplingRange(tones []model.AtTone) (lo, hi, from, to float64) {
	lo, hi, from, to = math.Inf(1), math.Inf(-1), math.Inf(1), 0
	for _, t := range tones {
		if v, ok := t.Size.Upper(); ok && v > 0 {
			lo, hi = math.Min(lo, 20*math.Log10(v)), math.Max(hi, 20*math.Log10(v))
		}
		if v, ok := t.Size.Lower(); ok && v > 0 {
			lo = math.Min(lo, 20*math.Log10(v))
		}
		from, to = math.Min(from, float64(t.Hz)), math.Max(to, float64(t.Hz))
	}
	if lo > hi { // nothing is drawn
		lo, hi, from, to = -120, -60, 20, 20000
	}
	return 10 * math.Floor((lo-4)/10), 10 * math.Ceil((hi+1)/10), from / 1.3, to * 1.3
}

// coupledTones are the tones of all drives.
type coupledTones struct {
	style
	tones []model.AtTone
	lo    float64
	x, y  axis
}

func (s coupledTones) draw(c draw.Canvas) {
	db := func(v float64) vg.Length { return s.y(math.Max(20*math.Log10(v), s.lo)) }
	for _, drive := range model.Drives {
		s.rising(c, drive)
		for _, t := range s.tones {
			if t.Drive != drive {
				continue
			}
			at, mark := vg.Point{X: s.x(float64(t.Hz))}, driveMark(drive)
			v, lo, hi := t.Size.Numbers()
			if !t.Size.Measured() {
				at.Y = db(hi)
				arrow(c, at, -s.mark*2.6, s.mark*0.8, draw.LineStyle{Color: s.Soft, Width: min(1.2, s.mark*0.5)})
				open(c, mark(at, s.mark), s.Near, s.style)
				continue
			}
			at.Y = db(v)
			c.StrokeLine2(draw.LineStyle{Color: s.Near, Width: s.line}, at.X, db(lo), at.X, db(hi))
			full(c, mark(at, s.mark), s.Near, s.style)
		}
	}
}

// rising draws the line through a drive's middle tone that rises with frequency, within
// what is drawn; a shield is a resistance at low frequencies.
func (s coupledTones) rising(c draw.Canvas, drive string) {
	var found []model.AtTone
	for _, t := range s.tones {
		if t.Drive == drive && t.Size.Measured() {
			found = append(found, t)
		}
	}
	if len(found) < 2 || drive == model.DriveShield {
		return
	}
	middle := found[len(found)/2]
	v, _ := middle.Size.Value()
	at := func(hz float64) float64 { return 20 * math.Log10(v*hz/float64(middle.Hz)) }
	from, to := float64(found[0].Hz), float64(found[len(found)-1].Hz)
	if at(from) < s.lo {
		from = float64(middle.Hz) * math.Pow(10, (s.lo-20*math.Log10(v))/20)
	}
	c.StrokeLine2(slopeLine(s.style), s.x(from), s.y(at(from)), s.x(to), s.y(at(to)))
}
