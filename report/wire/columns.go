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

// columns writes what n rows, all with the keys of names, have under each key.
func (e *encoder) columns(names node, n int, row func(i int) *node) {
	e.object(names.of, func(k int) {
		inside := func(i int) *node { return &row(i).of[k] }
		if name := names.of[k]; name.kind == object && !name.may {
			e.columns(name, n, inside)
		} else {
			e.list(n, inside)
		}
	})
}

// rowsOf are the objects that stand in columns; of lists of unequal length an error.
func rowsOf(text []byte) (rows []members, err error) {
	columns, err := membersOf(text)
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
