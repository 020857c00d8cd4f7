package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"time"

	"humdiff/report/model"
)

// decode reads JSON into a value that can be set; form is that of an Estimate.
func decode(text []byte, v reflect.Value, form string) error {
	switch v.Addr().Interface().(type) {
	case *model.Estimate:
		keys, err := object(text)
		if err == nil {
			v.Set(reflect.ValueOf(keys.estimate(form)))
		}
		return err
	case *model.Note:
		keys, err := object(text)
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
		keys, err := object(text)
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
	if inColumns[v.Type().Elem()] && bytes.HasPrefix(bytes.TrimSpace(text), []byte("{")) {
		return decodeColumns(text, v)
	}
	var items []json.RawMessage
	if err := json.Unmarshal(text, &items); err != nil {
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
	v.Set(reflect.MakeSlice(v.Type(), len(rows), len(rows)))
	for i, row := range rows {
		err = errors.Join(err, row.into(v.Index(i)))
	}
	return err
}

// members are the keys of an object, each with its text.
type members map[string]json.RawMessage

func object(text []byte) (m members, err error) {
	err = json.Unmarshal(text, &m)
	return m, err
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

func (m members) estimate(form string) model.Estimate { return estimateOf(form, m.text, m.number) }

func (m members) text(key string) (s string) {
	_ = json.Unmarshal(m[key], &s) // what is no text is none
	return s
}

func (m members) number(key string) float64 {
	x := math.NaN()
	if text, ok := m[key]; ok && !isNull(text) {
		if json.Unmarshal(text, &x) != nil {
			return math.NaN()
		}
	}
	return x
}

func isNull(text []byte) bool { return bytes.Equal(bytes.TrimSpace(text), []byte("null")) }
