package wire

import (
	"cmp"
	"fmt"
	"reflect"
	"time"

	"humdiff/report/model"
)

// node is a value as it is written. JSON, its schema and tables are made of nodes alone.
type node struct {
	key    string
	kind   kind
	text   string           // of a word; of a whole number and what else stands in JSON as it is, that
	float  float64          // of a number; null where it isn't finite
	of     []node           // an object's keys
	n      int              // how many entries a list has
	at     func(i int) node // each of them; of a list, and of what is absent, -1 is a blank one
	enum   []string         // the words there are for it; nil: any
	may    bool             // be absent
	tabled bool             // a list that stands in columns
	apart  bool             // a text that is nothing a fingerprint stands for
}

type kind int

const (
	object kind = iota
	list
	word
	moment // a time as text; empty: none
	number
	whole
	yesNo
	arguments // of a note: an object with any keys
	anything
	absent
)

// maker makes nodes of values. It knows on which scale it is: that of all, or of quiet or
// near within a pair.
type maker struct {
	*context
	side  string
	apart bool
	blank bool // of types rather than values: pointers point to something
}

// context is what is one for a whole result.
type context struct {
	settings model.Settings
	caption  string // to print below the result; empty: it has none
	tabled   bool   // lists stand in columns: see columns.go
	err      error  // of what can't be written
}

// scale is the scale that levels are on where the maker is.
func (m maker) scale() model.Scale {
	scale, _ := m.settings.ScaleOf(cmp.Or(m.side, model.ForAll))
	return scale
}

// node is a value; form is that of an Estimate.
func (m maker) node(v reflect.Value, form string) node {
	switch v.Type() {
	case estimateType:
		return node{of: m.estimate(of[model.Estimate](v), form)}
	case noteType:
		return node{of: m.note(of[model.Note](v))}
	case timeType:
		n := m.word("", timeText(of[time.Time](v)))
		n.kind = moment
		return n
	}
	switch v.Kind() {
	case reflect.Struct:
		if as, ok := formed[v.Type()]; ok {
			v = as.write(m, v)
		}
		return node{of: m.members(v)}
	case reflect.Slice, reflect.Array:
		return node{kind: list, n: v.Len(), tabled: m.tabled && inColumns[v.Type().Elem()], at: func(i int) node {
			if i < 0 {
				return m.blankOf(v.Type().Elem(), form)
			}
			return m.node(v.Index(i), form)
		}}
	case reflect.Pointer:
		return m.pointed(v, form)
	case reflect.Float64:
		return node{kind: number, float: v.Float()}
	case reflect.String:
		return m.word("", v.String())
	case reflect.Interface:
		text, err := plain(v.Interface())
		m.err = cmp.Or(m.err, err)
		return node{kind: anything, text: string(text)}
	case reflect.Bool:
		return node{kind: yesNo, text: fmt.Sprint(v.Bool())}
	}
	return node{kind: whole, text: fmt.Sprint(v.Interface())}
}

// blankOf is the node of a type.
func (m maker) blankOf(t reflect.Type, form string) node {
	m.blank = true
	return m.node(reflect.New(t).Elem(), form)
}

func (m maker) pointed(v reflect.Value, form string) (n node) {
	switch {
	case !v.IsNil():
		n = m.node(v.Elem(), form)
	case m.blank:
		n = m.blankOf(v.Type().Elem(), form)
	default:
		n = node{kind: absent, at: func(int) node { return m.blankOf(v.Type().Elem(), form) }}
	}
	n.may = true
	return n
}

// members are a struct's keys, of what is embedded in it too.
func (m maker) members(v reflect.Value) []node {
	fields := fieldsOf(v.Type())
	all := make([]node, 0, len(fields))
	for _, f := range fields {
		x, in := f.in(v), m
		in.side, in.apart = cmp.Or(f.side, m.side), m.apart || f.apart
		switch {
		case f.inline && f.of == estimateType:
			all = append(all, m.estimate(of[model.Estimate](x), f.form)...)
		case f.inline:
			all = append(all, m.note(of[model.Note](x))...)
		default:
			n := in.node(x, f.form)
			n.key = f.name
			all = append(all, n)
		}
	}
	return all
}

// note is the keys of code and arguments.
func (m maker) note(n model.Note) []node {
	args, err := n.MarshalArgs()
	m.err = cmp.Or(m.err, err)
	return []node{m.word("code", n.Code), {key: "args", kind: arguments, text: string(harmless(args))}}
}

func (m maker) word(key, text string) node {
	return node{key: key, kind: word, text: text, apart: m.apart}
}

func floating(key string, x float64) node { return node{key: key, kind: number, float: x} }

// of is what v holds; where it can, without a copy on the heap.
func of[T any](v reflect.Value) T {
	if v.CanAddr() {
		return *v.Addr().Interface().(*T)
	}
	return v.Interface().(T)
}

// timeText is a time as RFC 3339 writes it; empty: none.
func timeText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}
