package wire

import (
	"encoding/json"
	"maps"
	"reflect"
	"slices"

	"humdiff/report/model"
)

// Schema is the JSON Schema (draft 2020-12) of the results whose key "schema" has
// this value, such as "humdiff/compare/4", made from what Write writes; ok is false
// where there is none. Every key it names has to be there; others may be.
func Schema(id string) (schema []byte, ok bool) {
	kind, ok := kinds[id]
	if !ok {
		return nil, false
	}
	m := maker{context: &context{tabled: id == model.SessionSchema}}
	s := m.blankOf(reflect.TypeOf(kind()).Elem(), "").rules()
	s["$schema"], s["$id"] = "https://json-schema.org/draft/2020-12/schema", id
	s["properties"].(rules)["schema"] = rules{"const": id}
	schema, err := json.Marshal(s)
	return schema, err == nil
}

// Schemas are the values of the key "schema" for which there is one, in order.
func Schemas() []string { return slices.Sorted(maps.Keys(kinds)) }

// rules are a JSON Schema, or a part of one.
type rules map[string]any

// simple are the rules of what holds nothing else.
var simple = map[kind]rules{word: {"type": "string"}, number: {"type": []string{"number", "null"}}, whole: {"type": "integer"}, yesNo: {"type": "boolean"},
	moment: {"anyOf": []rules{{"const": ""}, {"type": "string", "format": "date-time"}}}, arguments: {"type": "object"}, anything: {}}

// rules are those of what a blank value becomes.
func (n node) rules() (r rules) {
	switch n.kind {
	case object:
		of, names := rules{}, []string{}
		for _, k := range n.of {
			of[k.key], names = k.rules(), append(names, k.key)
		}
		r = rules{"type": "object", "properties": of, "required": names}
	case list:
		if r = n.at(-1).rules(); n.tabled {
			r = listed(r)
		} else {
			r = rules{"type": "array", "items": r}
		}
	default:
		if r = simple[n.kind]; n.enum != nil {
			r = rules{"enum": slices.Sorted(slices.Values(n.enum))}
		}
	}
	if n.may {
		r = rules{"anyOf": []rules{r, {"type": "null"}}}
	}
	return r
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
