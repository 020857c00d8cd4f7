package wire

import (
	"bytes"
	"cmp"
	"encoding/json"
	"math"
	"reflect"
	"strconv"
	"time"

	"humdiff/report/model"
)

// encoder writes values one after the other. It knows on which scale it is: that
// of all, or of quiet or near within a pair.
type encoder struct {
	bytes.Buffer
	settings model.Settings
	side     string
	caption  string   // to print below the result; empty: it has none
	tabled   bool     // lists stand in columns: see columns.go
	apart    bool     // texts are nothing that a fingerprint stands for
	words    [][2]int // where such texts are
}

// scale is the scale that levels are on where the encoder is.
func (e *encoder) scale() model.Scale {
	scale, _ := e.settings.ScaleOf(cmp.Or(e.side, model.ForAll))
	return scale
}

// value writes one value; form is that of an Estimate.
func (e *encoder) value(v reflect.Value, form string) error {
	switch v.Type() {
	case estimateType:
		e.object(e.estimate(of[model.Estimate](v), form))
		return nil
	case noteType:
		e.WriteByte('{')
		first := true
		err := e.note(of[model.Note](v), &first)
		e.WriteByte('}')
		return err
	case timeType:
		e.text(timeText(of[time.Time](v)))
		return nil
	}
	switch v.Kind() {
	case reflect.Struct:
		if as, ok := formed[v.Type()]; ok {
			v = as.write(e, v)
		}
		return e.structure(v)
	case reflect.Slice, reflect.Array:
		return e.list(v, form)
	case reflect.Pointer:
		if v.IsNil() {
			e.WriteString("null")
			return nil
		}
		return e.value(v.Elem(), form)
	case reflect.Float64:
		e.number(v.Float())
		return nil
	case reflect.String:
		e.text(v.String())
		return nil
	case reflect.Int, reflect.Int64:
		e.Write(strconv.AppendInt(e.AvailableBuffer(), v.Int(), 10))
		return nil
	case reflect.Bool:
		e.Write(strconv.AppendBool(e.AvailableBuffer(), v.Bool()))
		return nil
	}
	return e.plain(v.Interface())
}

// of is what v holds; where it can, without a copy on the heap.
func of[T any](v reflect.Value) T {
	if v.CanAddr() {
		return *v.Addr().Interface().(*T)
	}
	return v.Interface().(T)
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
		x := f.in(v)
		switch {
		case f.inline && f.of == estimateType:
			e.keys(e.estimate(of[model.Estimate](x), f.form), first)
		case f.inline:
			if err := e.note(of[model.Note](x), first); err != nil {
				return err
			}
		default:
			e.key(f.name, first)
			if err := e.field(f, x); err != nil {
				return err
			}
		}
	}
	return nil
}

// field writes a field's value, levels on the scale of its side.
func (e *encoder) field(f field, v reflect.Value) error {
	side, apart := e.side, e.apart
	e.side, e.apart = cmp.Or(f.side, side), apart || f.apart
	err := e.value(v, f.form)
	e.side, e.apart = side, apart
	return err
}

func (e *encoder) list(v reflect.Value, form string) error {
	if e.tabled && inColumns[v.Type().Elem()] {
		items := make([]reflect.Value, v.Len())
		for i := range items {
			items[i] = v.Index(i)
		}
		e.WriteByte('{')
		err := e.columns(items, v.Type().Elem(), new(true))
		e.WriteByte('}')
		return err
	}
	return e.each(v.Len(), func(i int) error { return e.value(v.Index(i), form) })
}

// each writes a list of n.
func (e *encoder) each(n int, write func(i int) error) error {
	e.WriteByte('[')
	for i := range n {
		if i > 0 {
			e.WriteByte(',')
		}
		if err := write(i); err != nil {
			return err
		}
	}
	e.WriteByte(']')
	return nil
}

// note writes code and arguments.
func (e *encoder) note(n model.Note, first *bool) error {
	e.key("code", first)
	e.text(n.Code)
	e.key("args", first)
	args, err := n.MarshalArgs()
	e.Write(harmless(args))
	return err
}

// pair is a key and its value.
type pair struct {
	key    string
	number float64 // null where it is not finite
	text   string
	isText bool
}

func word(key, text string) pair             { return pair{key: key, text: text, isText: true} }
func number(key string, number float64) pair { return pair{key: key, number: number} }

func (e *encoder) object(pairs []pair) {
	e.WriteByte('{')
	first := true
	e.keys(pairs, &first)
	e.WriteByte('}')
}

func (e *encoder) keys(pairs []pair, first *bool) {
	for _, p := range pairs {
		e.key(p.key, first)
		e.word(p)
	}
}

// word writes a pair's value.
func (e *encoder) word(p pair) {
	if p.isText {
		e.text(p.text)
	} else {
		e.number(p.number)
	}
}

// key writes a name, of letters and lines.
func (e *encoder) key(name string, first *bool) {
	if !*first {
		e.WriteByte(',')
	}
	*first = false
	e.WriteByte('"')
	e.WriteString(name)
	e.WriteString(`":`)
}

// number writes the shortest digits that tell a number from all others: as encoding/json
// does, which is four times slower.
func (e *encoder) number(x float64) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		e.WriteString("null")
		return
	}
	x += 0 // -0 is 0
	if size := math.Abs(x); size == 0 || size >= 1e-6 && size < 1e21 {
		e.Write(strconv.AppendFloat(e.AvailableBuffer(), x, 'f', -1, 64))
		return
	}
	text := strconv.AppendFloat(e.AvailableBuffer(), x, 'e', -1, 64)
	if n := len(text); text[n-2] == '0' && text[n-3] == '-' {
		text[n-2], text = text[n-1], text[:n-1] // e-09 is e-9
	}
	e.Write(text)
}

// text writes a string.
func (e *encoder) text(s string) {
	from := e.Len()
	if isPlain(s) {
		e.WriteByte('"')
		e.WriteString(s)
		e.WriteByte('"')
	} else {
		_ = e.plain(s) // a string can be written
	}
	if e.apart {
		e.words = append(e.words, [2]int{from, e.Len()})
	}
}

// plain writes a value as encoding/json does.
func (e *encoder) plain(x any) error {
	var b bytes.Buffer
	j := json.NewEncoder(&b)
	j.SetEscapeHTML(false)
	if err := j.Encode(x); err != nil {
		return err
	}
	e.Write(harmless(bytes.TrimRight(b.Bytes(), "\n")))
	return nil
}

// isPlain says that a string stands in JSON as it is.
func isPlain(s string) bool {
	for i := range len(s) {
		if c := s[i]; c < ' ' || c > '~' || c == '"' || c == '\\' {
			return false
		}
	}
	return true
}

// timeText is a time as RFC 3339 writes it; empty: none.
func timeText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}
