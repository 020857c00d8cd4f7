package wire

import (
	"reflect"
	"sync"
	"time"

	"humdiff/report/model"
)

var (
	estimateType = reflect.TypeFor[model.Estimate]()
	noteType     = reflect.TypeFor[model.Note]()
	timeType     = reflect.TypeFor[time.Time]()
	pairType     = reflect.TypeFor[model.Pair]()
	publishType  = reflect.TypeFor[model.MayPublish]()
	warningType  = reflect.TypeFor[model.Warning]()
)

// field is what a struct's field becomes.
type field struct {
	index  int
	name   string // of its key
	form   string // of an Estimate: see forms.go
	side   string // whose scale levels in it are on
	inline bool   // its keys stand on the level of the struct's own
}

var fieldsByType sync.Map // reflect.Type to []field

// fieldsOf are the fields of a struct that are written, in their order. What is
// embedded, and what has the name "", is inline.
func fieldsOf(t reflect.Type) []field {
	if known, ok := fieldsByType.Load(t); ok {
		return known.([]field)
	}
	var all []field
	for i := range t.NumField() {
		f := t.Field(i)
		name, named := f.Tag.Lookup("json")
		if name == "-" || !f.IsExported() {
			continue
		}
		inline := f.Anonymous || named && name == ""
		if !inline && name == "" {
			name = f.Name
		}
		all = append(all, field{i, name, f.Tag.Get("est"), f.Tag.Get("side"), inline})
	}
	fieldsByType.Store(t, all)
	return all
}
