package wire

import (
	"encoding/json"
	"maps"
	"reflect"
	"slices"
	"time"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Schema is the JSON Schema (draft 2020-12) of the results whose key "schema" has
// this value, such as "humdiff/compare/3", made from what Write writes; ok is false
// where there is none. Every key it names has to be there; others may be.
func Schema(id string) (schema []byte, ok bool) {
	kind, ok := kinds[id]
	if !ok {
		return nil, false
	}
	s := shape{tabled: id == model.SessionSchema}.of(reflect.TypeOf(kind()).Elem(), "")
	s["$schema"], s["$id"] = "https://json-schema.org/draft/2020-12/schema", id
	s["properties"].(rules)["schema"] = rules{"const": id}
	schema, err := json.Marshal(s)
	return schema, err == nil
}

// Schemas are the values of the key "schema" for which there is one, in order.
func Schemas() []string { return slices.Sorted(maps.Keys(kinds)) }

// rules are a JSON Schema, or a part of one.
type rules map[string]any

func kindOf(name string) rules { return rules{"type": name} }
func orNull(r rules) rules     { return rules{"anyOf": []rules{r, kindOf("null")}} }
func numberOrNull() rules      { return rules{"type": []string{"number", "null"}} }

// shape is how a result is written.
type shape struct{ tabled bool }

// of are the rules of what a value of a type becomes.
func (s shape) of(t reflect.Type, form string) rules {
	switch t {
	case estimateType:
		return objectOf(func(o *objectRules) { o.estimate(form) })
	case noteType:
		return objectOf((*objectRules).note)
	case reflect.TypeFor[model.Num]():
		return numberOrNull()
	case reflect.TypeFor[time.Time]():
		return rules{"anyOf": []rules{{"const": ""}, {"type": "string", "format": "date-time"}}}
	}
	switch t.Kind() {
	case reflect.Struct:
		if as, ok := formed[t]; ok {
			t = as.shape
		}
		return objectOf(func(o *objectRules) { o.members(s, t) })
	case reflect.Slice, reflect.Array:
		each := s.of(t.Elem(), form)
		if s.tabled && inColumns[t.Elem()] {
			return listed(each)
		}
		return rules{"type": "array", "items": each}
	case reflect.Pointer:
		return orNull(s.of(t.Elem(), form))
	case reflect.Float64:
		return numberOrNull()
	case reflect.Bool:
		return kindOf("boolean")
	case reflect.String:
		return kindOf("string")
	case reflect.Interface:
		return rules{}
	}
	return kindOf("integer")
}

// objectRules gathers an object's keys.
type objectRules struct {
	names []string
	of    rules
}

func objectOf(fill func(*objectRules)) rules {
	o := objectRules{of: rules{}}
	fill(&o)
	return rules{"type": "object", "properties": o.of, "required": o.names}
}

func (o *objectRules) add(name string, r rules) {
	o.names, o.of[name] = append(o.names, name), r
}

func (o *objectRules) members(s shape, t reflect.Type) {
	for _, f := range fieldsOf(t) {
		switch {
		case f.inline && f.of == estimateType:
			o.estimate(f.form)
		case f.inline:
			o.note()
		default:
			o.add(f.name, s.of(f.of, f.form))
		}
	}
}

func (o *objectRules) note() {
	o.add("code", kindOf("string"))
	o.add("args", kindOf("object"))
}

// estimate are the keys of an estimate's form, taken from what one becomes.
func (o *objectRules) estimate(form string) {
	for _, p := range new(encoder).estimate(estimate.None(""), form) {
		if p.isText {
			o.add(p.key, kindOf("string"))
		} else {
			o.add(p.key, numberOrNull())
		}
	}
	if words := stateWords(form); words != nil {
		o.of["state"] = rules{"enum": words}
	}
}

// stateWords are the words for what is known, of a form.
func stateWords(form string) (words []string) {
	if form == levelForm {
		return []string{detected, undetected}
	}
	for _, word := range states {
		if word == unknown && form == deltaForm {
			word = notMeasurable
		}
		words = append(words, word)
	}
	slices.Sort(words)
	return words
}
