package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"time"

	"github.com/go-json-experiment/json/jsontext"

	"humdiff/report/model"
)

// decode reads JSON into a value that can be set; form is that of an Estimate.
func decode(text []byte, v reflect.Value, form string) error {
	switch v.Addr().Interface().(type) {
	case *model.Estimate:
		keys, err := membersOf(text)
		if err == nil {
			v.Set(reflect.ValueOf(keys.estimate(form)))
		}
		return err
	case *model.Note:
		keys, err := membersOf(text)
		if err != nil {
			return err
		}
		n, err := keys.note()
		v.Set(reflect.ValueOf(n))
		return err
	case *model.Num, *[]model.Num:
		return json.Unmarshal(text, v.Addr().Interface())
	case *time.Time:
		return decodeTime(text, v)
	}
	switch v.Kind() {
	case reflect.Struct:
		if as, ok := formed[v.Type()]; ok {
			return as.read(text, v)
		}
		keys, err := membersOf(text)
		if err != nil {
			return err
		}
		return keys.into(v)
	case reflect.Slice, reflect.Array:
		return decodeList(text, v, form)
	case reflect.Pointer:
		if isNull(text) {
			v.SetZero()
			return nil
		}
		v.Set(reflect.New(v.Type().Elem()))
		return decode(text, v.Elem(), form)
	}
	if isNull(text) {
		return nil
	}
	return json.Unmarshal(text, v.Addr().Interface())
}

func decodeTime(text []byte, v reflect.Value) error {
	var s string
	if err := json.Unmarshal(text, &s); err != nil || s == "" {
		return err
	}
	t, err := time.Parse(time.RFC3339, s)
	v.Set(reflect.ValueOf(t))
	return err
}

func decodeList(text []byte, v reflect.Value, form string) error {
	if inColumns[v.Type().Elem()] && bytes.HasPrefix(text, []byte("{")) {
		return decodeColumns(text, v)
	}
	items, err := entries(text)
	if err == nil {
		err = room(text, len(items), v)
	}
	if err != nil {
		return err
	}
	if v.Kind() == reflect.Slice {
		v.Set(reflect.MakeSlice(v.Type(), len(items), len(items)))
	}
	if len(items) != v.Len() {
		return fmt.Errorf("%d numbers where %d belong", len(items), v.Len())
	}
	for i, item := range items {
		if err := decode(item, v.Index(i), form); err != nil {
			return fmt.Errorf("[%d]: %w", i, err)
		}
	}
	return nil
}

func decodeColumns(text []byte, v reflect.Value) error {
	rows, err := rowsOf(text)
	if err == nil {
		err = room(text, len(rows), v)
	}
	if err != nil {
		return err
	}
	v.Set(reflect.MakeSlice(v.Type(), len(rows), len(rows)))
	for i, row := range rows {
		err = errors.Join(err, row.into(v.Index(i)))
	}
	return err
}

// room wants of a list's n entries as much text as such entries have when they are written.
// Written "{}", a file of them would fill the memory.
func room(text []byte, n int, v reflect.Value) error {
	const most, few = 3, 1 << 16 // bytes in memory to each in the text; bytes in memory that are too few to matter
	if of := v.Type().Elem(); of.Kind() == reflect.Struct && int(of.Size())*n > most*len(text)+few {
		return fmt.Errorf("%d entries in a text of %d bytes, which holds no whole ones", n, len(text))
	}
	return nil
}

// members are the keys of an object, each with its text.
type members map[string]json.RawMessage

func membersOf(text []byte) (members, error) {
	m := members{}
	return m, parts(text, '{', func(key string, value json.RawMessage) { m[key] = value })
}

// entries are those of a list, each with its text.
func entries(text []byte) (all []json.RawMessage, err error) {
	return all, parts(text, '[', func(_ string, value json.RawMessage) { all = append(all, value) })
}

// parts gives what an object or a list holds: parts of its text, not copies, as a result is
// nested deeply. Null holds nothing. A key that stands twice, of which a reader could take
// either, is an error.
func parts(text []byte, open jsontext.Kind, give func(key string, value json.RawMessage)) error {
	d := jsontext.NewDecoder(bytes.NewBuffer(text))
	start, err := d.ReadToken()
	if err != nil || start.Kind() == 'n' {
		return err
	}
	if start.Kind() != open {
		return fmt.Errorf("%s where %s belongs", start.Kind(), open)
	}
	for key := ""; d.PeekKind() != open+2; { // "{" and "[" stand two before "}" and "]"
		if open == '{' {
			name, err := d.ReadToken()
			if err != nil {
				return err
			}
			key = name.String()
		}
		value, err := d.ReadValue()
		if err != nil {
			return err
		}
		end := int(d.InputOffset())
		give(key, json.RawMessage(text[end-len(value):end]))
	}
	return nil
}

// into sets a struct's fields.
func (m members) into(v reflect.Value) error {
	for _, f := range fieldsOf(v.Type()) {
		x := f.in(v)
		switch {
		case f.inline && f.of == estimateType:
			x.Set(reflect.ValueOf(m.estimate(f.form)))
		case f.inline:
			n, err := m.note()
			if err != nil {
				return err
			}
			x.Set(reflect.ValueOf(n))
		default:
			if text, ok := m[f.name]; ok {
				if err := decode(text, x, f.form); err != nil {
					return fmt.Errorf("%s: %w", f.name, err)
				}
			}
		}
	}
	return nil
}

func (m members) note() (n model.Note, err error) {
	n.Code = m.text("code")
	if args, ok := m["args"]; ok {
		err = n.UnmarshalArgs(args)
	}
	return n, err
}

func (m members) text(key string) (s string) {
	_ = json.Unmarshal(m[key], &s) // what is no text is none
	return s
}

func (m members) number(key string) float64 {
	x, err := strconv.ParseFloat(string(m[key]), 64)
	if err != nil { // null, say
		return math.NaN()
	}
	return x
}

func isNull(text []byte) bool { return bytes.Equal(text, []byte("null")) }
