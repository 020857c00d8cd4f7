// Package note has what is noticed while measuring and judging: a code with
// named arguments. A note holds no sentence; package doc makes one of it.
package note

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Note is one thing noticed. Equal notes have equal arguments in equal order.
type Note struct {
	Code string
	Args []Arg
}

// Arg is one argument: a number, a text, or a list of either. The name says the
// unit, as in "first_s" or "level_db".
type Arg struct {
	Name  string
	Value any // float64, string, []float64 or []string
}

// New is a note; arguments come as name, value, name, value … Values are any
// integer or float, bool (1 or 0), string, and lists of int, float64 or string.
func New(code string, namesAndValues ...any) Note {
	n := Note{Code: code}
	for i := 0; i+1 < len(namesAndValues); i += 2 {
		n.Args = append(n.Args, Arg{namesAndValues[i].(string), plain(namesAndValues[i+1])})
	}
	return n
}

// plain gives a value one of the types of Arg.
func plain(v any) any {
	switch v := v.(type) {
	case int:
		return float64(v)
	case int64:
		return float64(v)
	case bool:
		if v {
			return 1.0
		}
		return 0.0
	case []int:
		list := make([]float64, len(v))
		for i, x := range v {
			list[i] = float64(x)
		}
		return list
	case float64:
		return v + 0 // never -0
	case string, []float64, []string:
		return v
	}
	panic(fmt.Sprintf("note: no argument can be a %T", v))
}

// Get is an argument's value, nil where the note has none of that name.
func (n Note) Get(name string) any {
	for _, a := range n.Args {
		if a.Name == name {
			return a.Value
		}
	}
	return nil
}

// Num is an argument's number, NaN where the note has none of that name.
func (n Note) Num(name string) float64 {
	if x, ok := n.Get(name).(float64); ok {
		return x
	}
	return math.NaN()
}

// Text is an argument's text, empty where the note has none of that name.
func (n Note) Text(name string) string {
	s, _ := n.Get(name).(string)
	return s
}

// Ints is an argument's list of whole numbers.
func (n Note) Ints(name string) []int {
	list, _ := n.Get(name).([]float64)
	out := make([]int, len(list))
	for i, x := range list {
		if math.Abs(x) < 1<<53 { // what isn't turned into an int alike everywhere stays 0
			out[i] = int(x)
		}
	}
	return out
}

// String is for messages of tests, and where a sentence is missing:
// "truncated promised_s=2 read_s=1".
func (n Note) String() string {
	var b strings.Builder
	b.WriteString(n.Code)
	for _, a := range n.Args {
		fmt.Fprintf(&b, " %s=%v", a.Name, a.Value)
	}
	return b.String()
}

// MarshalArgs writes the arguments as one JSON object in their order; numbers
// that aren't finite are null.
func (n Note) MarshalArgs() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, a := range n.Args {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(a.Name)
		if err != nil {
			return nil, err
		}
		b.Write(name)
		b.WriteByte(':')
		value := a.Value
		if x, ok := value.(float64); ok && (math.IsNaN(x) || math.IsInf(x, 0)) {
			value = nil
		}
		text, err := json.Marshal(value)
		if err != nil {
			return nil, err
		}
		b.Write(text)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// UnmarshalArgs reads what MarshalArgs wrote, in its order.
func (n *Note) UnmarshalArgs(text []byte) error {
	d := json.NewDecoder(bytes.NewReader(text))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return fmt.Errorf("arguments are no object")
	}
	n.Args = nil
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return err
		}
		name := t.(string)
		if slices.ContainsFunc(n.Args, func(a Arg) bool { return a.Name == name }) {
			return fmt.Errorf("argument %q stands twice", name)
		}
		var v any
		if err := d.Decode(&v); err != nil {
			return err
		}
		if v, err = read(v); err != nil {
			return fmt.Errorf("argument %q: %w", name, err)
		}
		n.Args = append(n.Args, Arg{name, v})
	}
	return nil
}

// read gives a decoded value one of the types of Arg.
func read(v any) (any, error) {
	switch v := v.(type) {
	case nil:
		return math.NaN(), nil
	case float64, string:
		return v, nil
	case []any:
		numbers, texts := []float64{}, []string{}
		for _, x := range v {
			switch x := x.(type) {
			case float64:
				numbers = append(numbers, x)
			case string:
				texts = append(texts, x)
			}
		}
		switch len(v) {
		case len(numbers):
			return numbers, nil
		case len(texts):
			return texts, nil
		}
	}
	return nil, fmt.Errorf("neither a number nor a text nor a list of either")
}
