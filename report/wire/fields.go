package wire

import (
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"

	"humdiff/report/model"
)

var (
	estimateType = reflect.TypeFor[model.Estimate]()
	noteType     = reflect.TypeFor[model.Note]()
	timeType     = reflect.TypeFor[time.Time]()
)

// field is what a struct's field becomes.
type field struct {
	index  []int
	of     reflect.Type
	name   string // of its key
	form   string // of an Estimate: see forms.go
	side   string // whose scale levels in it are on
	inline bool   // an Estimate or a Note whose keys stand on the level of the struct's own
	apart  bool   // its texts are nothing that a fingerprint stands for
}

func (f field) in(v reflect.Value) reflect.Value { return v.FieldByIndex(f.index) }

var fieldsByType sync.Map // reflect.Type to []field

// fieldsOf are the fields of a struct that are written, in their order, with those of what
// is embedded in it, but for those that its tag goes without.
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
		if inline && f.Type != estimateType && f.Type != noteType {
			without := strings.Split(f.Tag.Get("without"), ",")
			for _, x := range fieldsOf(f.Type) {
				if x.index = slices.Insert(slices.Clone(x.index), 0, i); !slices.Contains(without, x.name) || x.name == "" {
					all = append(all, x)
				}
			}
			continue
		}
		if !inline && name == "" {
			name = f.Name
		}
		all = append(all, field{[]int{i}, f.Type, name, f.Tag.Get("est"), f.Tag.Get("side"), inline, f.Tag.Get("seal") == "-"})
	}
	fieldsByType.Store(t, all)
	return all
}
