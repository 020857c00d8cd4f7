package wire

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"

	"humdiff/report/model"
)

// A session has hundreds of lists of lines. In it they stand in columns, an object of
// lists instead of a list of objects, each key once: {"harmonic":[1,2],"hz":[50,100]}.

// inColumns are the types that lists of a session hold in columns.
var inColumns = map[reflect.Type]bool{reflect.TypeFor[model.Line](): true, reflect.TypeFor[model.AudibleLine](): true}

// columns writes what items, all of type t, have under each key.
func (e *encoder) columns(items []reflect.Value, t reflect.Type, first *bool) error {
	for _, f := range fieldsOf(t) {
		inside := make([]reflect.Value, len(items))
		for i, x := range items {
			inside[i] = f.in(x)
		}
		if !f.inline {
			e.key(f.name, first)
		}
		switch {
		case f.of == estimateType && f.inline:
			e.estimates(inside, f.form, first)
		case f.of == estimateType:
			e.WriteByte('{')
			e.estimates(inside, f.form, new(true))
			e.WriteByte('}')
		case f.of.Kind() == reflect.Struct:
			e.WriteByte('{')
			if err := e.columns(inside, f.of, new(true)); err != nil {
				return err
			}
			e.WriteByte('}')
		default:
			if err := e.each(len(items), func(i int) error { return e.value(inside[i], f.form) }); err != nil {
				return err
			}
		}
	}
	return nil
}

// estimates writes estimates of one form in columns.
func (e *encoder) estimates(all []reflect.Value, form string, first *bool) {
	pairs := make([][]pair, len(all))
	for i, x := range all {
		pairs[i] = e.estimate(of[model.Estimate](x), form)
	}
	for k, p := range e.estimate(model.Estimate{}, form) {
		e.key(p.key, first)
		_ = e.each(len(all), func(i int) error {
			e.word(pairs[i][k])
			return nil
		})
	}
}

// rowsOf are the objects that stand in columns; of lists of unequal length an error.
func rowsOf(text []byte) (rows []members, err error) {
	columns, err := object(text)
	if err != nil {
		return nil, err
	}
	for key, column := range columns {
		items, err := itemsOf(column)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", key, err)
		}
		if rows == nil {
			rows = make([]members, len(items))
			for i := range rows {
				rows[i] = make(members, len(columns))
			}
		}
		if len(items) != len(rows) {
			return nil, fmt.Errorf("%s: %d entries where %d belong", key, len(items), len(rows))
		}
		for i, item := range items {
			rows[i][key] = item
		}
	}
	return rows, nil
}

// itemsOf are the entries of a column, which may be one of objects in columns itself.
func itemsOf(column []byte) (items []json.RawMessage, err error) {
	if !bytes.HasPrefix(column, []byte("{")) {
		return entries(column)
	}
	inner, err := rowsOf(column)
	for _, m := range inner {
		item, err := json.Marshal(m)
		if err != nil {
			return nil, err
		}
		items = append(items, item)
	}
	return items, err
}

// listed turns the rules of an object into those of its columns.
func listed(r rules) rules {
	if of, ok := r["properties"].(rules); ok {
		columns := rules{}
		for key, each := range of {
			columns[key] = listed(each.(rules))
		}
		return rules{"type": "object", "properties": columns, "required": r["required"]}
	}
	return rules{"type": "array", "items": r}
}
