package wire

import (
	"reflect"

	"humdiff/fft/estimate"
	"humdiff/report/doc"
	"humdiff/report/model"
)

// pairForm is a pair as it is written: line by line quiet beside near, and the
// numbers that readers ask for most restated together.
type pairForm struct {
	Quiet sideForm    `json:"quiet" side:"quiet"`
	Near  sideForm    `json:"near" side:"near"`
	Mains mainsForm   `json:"mains"`
	Lines []model.Row `json:"lines"`
	Hum   humForm     `json:"hum"`
	HumA  humForm     `json:"hum_a"`

	Noise      model.PairNoise   `json:"noise"`
	Tones      tonesForm         `json:"tones"`
	Residual   *model.Capture    `json:"residual" side:"near"`
	Audibility *model.Audibility `json:"audibility"`
}

// sideForm is a capture without what stands beside the other's.
type sideForm struct {
	model.Capture `without:"lines,tones"`
	LineCount     int          `json:"line_count"` // that were measured in it
	MoreLines     []model.Line `json:"more_lines"` // beyond those that the pair has
}

// mainsForm is restated.
type mainsForm struct {
	NominalHz model.Num `json:"nominal_hz"`
	QuietHz   model.Num `json:"quiet_hz"`
	NearHz    model.Num `json:"near_hz"`
}

type humForm struct {
	QuietDBFS model.Num `json:"quiet_dbfs"` // restated
	NearDBFS  model.Num `json:"near_dbfs"`  // restated
	model.Change
}

type tonesForm struct {
	Quiet []model.Tone `json:"quiet"`
	Near  []model.Tone `json:"near"`
}

func pairOf(_ maker, p model.Pair) pairForm {
	return pairForm{
		Quiet: sideOf(p.Quiet, len(p.Lines)), Near: sideOf(p.Near, len(p.Lines)),
		Mains: mainsForm{p.NominalHz(), p.Quiet.Mains.Hz, p.Near.Mains.Hz},
		Lines: p.Rows(), Hum: humOf(p.Hum), HumA: humOf(p.HumA), Noise: p.Noise,
		Tones:    tonesForm{p.Quiet.Tones, p.Near.Tones},
		Residual: p.Residual, Audibility: p.Audibility,
	}
}

func sideOf(c model.Capture, shared int) sideForm {
	return sideForm{c, len(c.Lines), c.Lines[min(shared, len(c.Lines)):]}
}

func humOf(c model.Change) humForm { return humForm{valueOf(c.Quiet), valueOf(c.Near), c} }

func valueOf(e estimate.Estimate) model.Num {
	v, _ := e.Value()
	return model.Of(v)
}

func (f pairForm) pair() model.Pair {
	p := model.Pair{Hum: f.Hum.Change, HumA: f.HumA.Change, Noise: f.Noise, Residual: f.Residual, Audibility: f.Audibility, Lines: []model.LineChange{}}
	p.Quiet = f.Quiet.capture(f.Lines, f.Tones.Quiet, func(l model.Row) model.Line { return l.Quiet })
	p.Near = f.Near.capture(f.Lines, f.Tones.Near, func(l model.Row) model.Line { return l.Near })
	for _, l := range f.Lines {
		p.Lines = append(p.Lines, model.LineChange{Harmonic: l.Harmonic, Hz: l.Hz, Delta: l.Delta, Pickup: l.Pickup})
	}
	return p
}

func (s sideForm) capture(lines []model.Row, tones []model.Tone, mine func(model.Row) model.Line) model.Capture {
	c := s.Capture
	c.Lines, c.Tones = []model.Line{}, tones
	for _, l := range lines[:max(0, min(s.LineCount, len(lines)))] {
		c.Lines = append(c.Lines, mine(l))
	}
	c.Lines = append(c.Lines, s.MoreLines...)
	return c
}

// publish is what may be published, with its sentences restated.
type publish struct {
	State   string       `json:"state"`
	Why     []string     `json:"why" seal:"-"`
	Notes   []model.Note `json:"codes"`
	Caption string       `json:"caption" seal:"-"`
}

func publishForm(m maker, may model.MayPublish) publish {
	f := publish{State: may.State, Notes: may.Why, Caption: m.caption}
	for _, n := range may.Why {
		f.Why = append(f.Why, doc.Says(n))
	}
	return f
}

// warning is one with its sentence.
type warning struct {
	model.Warning
	Message string `json:"message" seal:"-"`
}

// form is how the values of a type are written that have one of their own.
type form struct {
	shape reflect.Type
	write func(m maker, v reflect.Value) reflect.Value
	read  func(text []byte, v reflect.Value) error
}

func formOf[Value, Form any](write func(maker, Value) Form, read func(Form) Value) form {
	return form{reflect.TypeFor[Form](),
		func(m maker, v reflect.Value) reflect.Value {
			f := write(m, of[Value](v))
			return reflect.ValueOf(&f).Elem()
		},
		func(text []byte, v reflect.Value) error {
			var f Form
			if err := decode(text, reflect.ValueOf(&f).Elem(), ""); err != nil {
				return err
			}
			v.Set(reflect.ValueOf(read(f)))
			return nil
		}}
}

// formed are the types that have a form of their own.
var formed map[reflect.Type]form

func init() { // not where it stands: what reads a form reads others in it
	formed = map[reflect.Type]form{
		reflect.TypeFor[model.Pair]():       formOf(pairOf, pairForm.pair),
		reflect.TypeFor[model.MayPublish](): formOf(publishForm, func(f publish) model.MayPublish { return model.MayPublish{State: f.State, Why: f.Notes} }),
		reflect.TypeFor[model.Warning](): formOf(func(_ maker, w model.Warning) warning { return warning{w, doc.Says(w.Note)} },
			func(w warning) model.Warning { return w.Warning }),
	}
}
