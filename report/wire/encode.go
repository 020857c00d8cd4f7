package wire

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"time"

	"humdiff/report/doc"
	"humdiff/report/model"
)

// encoder writes values one after the other. It knows on which scale it is: that
// of all, or of quiet or near within a pair.
type encoder struct {
	bytes.Buffer
	settings model.Settings
	side     string
	caption  string // to print below the result; empty: it has none
}

// scale is the scale that levels are on where the encoder is.
func (e *encoder) scale() model.Scale {
	side := e.side
	if side == "" {
		side = model.ForAll
	}
	scale, _ := e.settings.ScaleOf(side)
	return scale
}

// value writes one value; form is that of an Estimate.
func (e *encoder) value(v reflect.Value, form string) error {
	switch x := v.Interface().(type) {
	case model.Estimate:
		e.object(e.estimate(x, form))
		return nil
	case model.Num:
		e.number(float64(x))
		return nil
	case model.Note:
		e.WriteByte('{')
		first := true
		err := e.note(x, &first)
		e.WriteByte('}')
		return err
	case time.Time:
		return e.plain(written(x))
	case model.Pair:
		return e.value(reflect.ValueOf(formOf(x)), "")
	case model.MayPublish:
		return e.value(reflect.ValueOf(publishForm(x, e.caption)), "")
	}
	switch v.Kind() {
	case reflect.Struct:
		return e.structure(v)
	case reflect.Slice, reflect.Array:
		return e.list(v, form)
	case reflect.Pointer:
		if v.IsNil() {
			return e.plain(nil)
		}
		return e.value(v.Elem(), form)
	case reflect.Float64:
		e.number(v.Float())
		return nil
	}
	return e.plain(v.Interface())
}

// structure writes a struct as an object, what is embedded in it on its level.
func (e *encoder) structure(v reflect.Value) error {
	e.WriteByte('{')
	first := true
	if err := e.members(v, &first); err != nil {
		return err
	}
	e.WriteByte('}')
	return nil
}

func (e *encoder) members(v reflect.Value, first *bool) error {
	for _, f := range fieldsOf(v.Type()) {
		x := v.Field(f.index)
		switch {
		case f.inline && x.Type() == estimateType:
			e.keys(e.estimate(x.Interface().(model.Estimate), f.form), first)
		case f.inline && x.Type() == noteType:
			if err := e.note(x.Interface().(model.Note), first); err != nil {
				return err
			}
		case f.inline:
			if err := e.members(x, first); err != nil {
				return err
			}
		default:
			e.key(f.name, first)
			if err := e.on(f.side, func() error { return e.value(x, f.form) }); err != nil {
				return err
			}
		}
	}
	if w, ok := v.Interface().(model.Warning); ok {
		e.key("message", first)
		return e.plain(doc.Says(w.Note))
	}
	return nil
}

// on does something while levels are on the scale of a side.
func (e *encoder) on(side string, do func() error) error {
	if side == "" {
		return do()
	}
	before := e.side
	e.side = side
	defer func() { e.side = before }()
	return do()
}

func (e *encoder) list(v reflect.Value, form string) error {
	e.WriteByte('[')
	for i := range v.Len() {
		if i > 0 {
			e.WriteByte(',')
		}
		if err := e.value(v.Index(i), form); err != nil {
			return err
		}
	}
	e.WriteByte(']')
	return nil
}

// note writes code and arguments.
func (e *encoder) note(n model.Note, first *bool) error {
	e.key("code", first)
	if err := e.plain(n.Code); err != nil {
		return err
	}
	e.key("args", first)
	args, err := n.MarshalArgs()
	e.Write(args)
	return err
}

// pair is a key and its value: a string, or a float64 that is null where it is
// not finite.
type pair struct {
	key   string
	value any
}

func (e *encoder) object(pairs []pair) {
	e.WriteByte('{')
	first := true
	e.keys(pairs, &first)
	e.WriteByte('}')
}

func (e *encoder) keys(pairs []pair, first *bool) {
	for _, p := range pairs {
		e.key(p.key, first)
		switch x := p.value.(type) {
		case float64:
			e.number(x)
		case string:
			_ = e.plain(x) // a string can be written
		}
	}
}

func (e *encoder) key(name string, first *bool) {
	if !*first {
		e.WriteByte(',')
	}
	*first = false
	fmt.Fprintf(e, "%q:", name)
}

func (e *encoder) number(x float64) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		e.WriteString("null")
		return
	}
	text, _ := json.Marshal(x + 0) // a finite number can be written; -0 is 0
	e.Write(text)
}

func (e *encoder) plain(x any) error {
	var b bytes.Buffer
	j := json.NewEncoder(&b)
	j.SetEscapeHTML(false)
	if err := j.Encode(x); err != nil {
		return err
	}
	e.Write(bytes.TrimRight(b.Bytes(), "\n"))
	return nil
}

// written is a time as RFC 3339 writes it; empty: none.
func written(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}
