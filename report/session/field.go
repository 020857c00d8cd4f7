package session

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/formula"
)

// field is one key of a table of the session file or one column of the list of
// runs: how its value is read, and what is written back. A value is what TOML
// gives, or a cell.
type field[T any] struct {
	name string
	set  func(*T, any) error
	get  func(T) any // nil: not stated
}

// cell is a value of a CSV file, in which everything is text.
type cell string

// entry is one table, or one row, with where each value stands.
type entry struct {
	at   place
	keys []key
}

type key struct {
	name  string
	value any
	at    place
}

// has says whether a key is there.
func (e entry) has(name string) bool {
	return slices.ContainsFunc(e.keys, func(k key) bool { return k.name == name })
}

// place is where a key stands; the entry where it isn't there.
func (e entry) place(name string) place {
	for _, k := range e.keys {
		if k.name == name {
			return k.at
		}
	}
	return e.at
}

// names of fields.
func names[T any](fields []field[T]) (all []string) {
	for _, f := range fields {
		all = append(all, f.name)
	}
	return all
}

// fill sets what an entry states, and says what can't be.
func fill[T any](into *T, e entry, fields []field[T], problems *Problems) {
	for _, k := range e.keys {
		i := slices.IndexFunc(fields, func(f field[T]) bool { return f.name == k.name })
		if i < 0 {
			problems.add(k.at, meant(k.name, names(fields)), "there is no key %q here", k.name)
			continue
		}
		if err := fields[i].set(into, k.value); err != nil {
			problems.add(k.at, fault.Hint(err), "%s: %s", k.name, err)
		}
	}
}

// meant is the hint for a word that isn't known.
func meant(word string, known []string) string {
	if near := nearest(word, known); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return "there are " + strings.Join(known, ", ")
}

// hinted is an error with advice.
func hinted(hint, format string, args ...any) error {
	return &fault.Error{What: fmt.Sprintf(format, args...), Hint: hint}
}

func text[T any](name string, at func(*T) *string) field[T] {
	return field[T]{name, func(t *T, v any) (err error) { *at(t), err = asText(v); return }, func(t T) any { return stated(*at(&t)) }}
}

// number is a finite number that is at least least.
func number[T any](name string, least float64, at func(*T) *float64) field[T] {
	set := func(t *T, v any) error {
		x, err := asNumber(v)
		if err == nil && x < least {
			err = fmt.Errorf("%s is less than %s", decimal(x), decimal(least))
		}
		if err == nil {
			*at(t) = x
		}
		return err
	}
	return field[T]{name, set, func(t T) any {
		if math.IsNaN(*at(&t)) {
			return nil
		}
		return *at(&t)
	}}
}

func count[T any](name string, most int, at func(*T) *int) field[T] {
	set := func(t *T, v any) error {
		x, err := asNumber(v)
		if err == nil && (x != math.Trunc(x) || x < 1 || x > float64(most)) {
			err = fmt.Errorf("%s is no whole number from 1 to %d", decimal(x), most)
		}
		if err == nil {
			*at(t) = int(x)
		}
		return err
	}
	return field[T]{name, set, func(t T) any { return stated(*at(&t)) }}
}

func yes[T any](name string, at func(*T) *bool) field[T] {
	return field[T]{name, func(t *T, v any) (err error) { *at(t), err = asYes(v); return }, func(t T) any { return stated(*at(&t)) }}
}

// tri is yes or no, or in a cell the words for them.
func tri[T any](name string, at func(*T) *Tri, words ...string) field[T] {
	set := func(t *T, v any) error {
		if c, ok := v.(cell); ok {
			if i := slices.Index(words, strings.ToLower(strings.TrimSpace(string(c)))); i >= 0 {
				*at(t) = []Tri{Yes, No}[i]
				return nil
			}
		}
		is, err := asYes(v)
		switch {
		case err != nil:
			return err
		case is:
			*at(t) = Yes
		default:
			*at(t) = No
		}
		return nil
	}
	return field[T]{name, set, func(t T) any {
		if *at(&t) == Unstated {
			return nil
		}
		return *at(&t) == Yes
	}}
}

func instant[T any](name string, at func(*T) *time.Time) field[T] {
	return field[T]{name, func(t *T, v any) (err error) { *at(t), err = asTime(v); return }, func(t T) any { return stated(*at(&t)) }}
}

func list[T any](name string, at func(*T) *[]string) field[T] {
	return field[T]{name, func(t *T, v any) (err error) { *at(t), err = asList(v); return }, func(t T) any {
		if len(*at(&t)) == 0 {
			return nil
		}
		return *at(&t)
	}}
}

// oneOf is a word of a few.
func oneOf[T any, W ~string](name string, words []W, at func(*T) *W) field[T] {
	set := func(t *T, v any) error {
		s, err := asText(v)
		if err != nil {
			return err
		}
		w := W(strings.ToLower(strings.TrimSpace(s)))
		if !slices.Contains(words, w) {
			var known []string
			for _, each := range words {
				known = append(known, string(each))
			}
			return hinted("write one of "+strings.Join(known, ", "), "%q is not known", s)
		}
		*at(t) = w
		return nil
	}
	return field[T]{name, set, func(t T) any { return stated(string(*at(&t))) }}
}

// volts is a voltage with its unit, kept as a number of volts.
func volts[T any](name string, at func(*T) *float64) field[T] {
	return measured(name, capture.ParseVolts, "V", at)
}

// measured is a value with its unit, such as "87dB", kept as a number.
func measured[T any](name string, parse func(string) (float64, error), unit string, at func(*T) *float64) field[T] {
	set := func(t *T, v any) error {
		s, err := asText(v)
		if err == nil {
			*at(t), err = parse(s)
		}
		return err
	}
	return field[T]{name, set, func(t T) any {
		if math.IsNaN(*at(&t)) {
			return nil
		}
		return strconv.FormatFloat(*at(&t), 'f', -1, 64) + unit
	}}
}

// ohms is a resistance, or "open".
func ohms[T any](name string, at func(*T) *float64) field[T] {
	set := func(t *T, v any) error {
		if s, err := asText(v); err == nil && strings.EqualFold(strings.TrimSpace(s), "open") {
			*at(t) = Open
			return nil
		}
		x, err := asNumber(v)
		if err != nil || x < 0 {
			return hinted(`write the ohms as a number without unit, or "open"`, "%s is no resistance", quoted(v))
		}
		*at(t) = x
		return nil
	}
	return field[T]{name, set, func(t T) any {
		switch x := *at(&t); {
		case math.IsNaN(x):
			return nil
		case math.IsInf(x, 1):
			return "open"
		default:
			return x
		}
	}}
}

// stated is nil for a zero value.
func stated[V comparable](v V) any {
	var zero V
	if v == zero {
		return nil
	}
	return v
}

func asText(v any) (string, error) {
	switch v := v.(type) {
	case cell:
		return formula.Unguard(strings.TrimSpace(string(v))), nil
	case string:
		return v, nil
	}
	return "", hinted("write it in quotes", "%s is no text", quoted(v))
}

// asNumber reads a number; in a cell the decimal sign may be a comma.
func asNumber(v any) (float64, error) {
	switch v := v.(type) {
	case int64:
		return float64(v), nil
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return 0, errors.New("it has to be finite")
		}
		return v, nil
	case cell:
		s := strings.Replace(strings.TrimSpace(string(v)), ",", ".", 1)
		s = strings.Replace(s, "−", "-", 1) // a typographic minus is a minus
		x, err := strconv.ParseFloat(s, 64)
		if err == nil && !math.IsInf(x, 0) && !math.IsNaN(x) {
			return x, nil
		}
		return 0, hinted("write digits alone, without unit and without a sign between thousands", "%q is no number", string(v))
	}
	return 0, hinted("write digits, without quotes and without unit", "%s is no number", quoted(v))
}

func asYes(v any) (bool, error) {
	switch v := v.(type) {
	case bool:
		return v, nil
	case cell:
		switch strings.ToLower(strings.TrimSpace(string(v))) {
		case "yes", "true", "1":
			return true, nil
		case "no", "false", "0":
			return false, nil
		}
		return false, hinted("write yes or no", "%q is neither", string(v))
	}
	return false, hinted("write true or false, without quotes", "%s is neither", quoted(v))
}

// timeForms are the forms of times in cells: dates first in the order of ISO
// 8601, as any other order is read differently elsewhere.
var timeForms = []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02"}

// asTime reads a date, or a date and time; without a zone the clock on the wall
// is meant, and kept as UTC.
func asTime(v any) (time.Time, error) {
	switch v := v.(type) {
	case time.Time:
		return v, nil
	case toml.LocalDate:
		return v.AsTime(time.UTC), nil
	case toml.LocalDateTime:
		return v.AsTime(time.UTC), nil
	case cell:
		for _, form := range timeForms {
			if t, err := time.Parse(form, strings.TrimSpace(string(v))); err == nil {
				return t, nil
			}
		}
	}
	return time.Time{}, hinted("write 2026-05-31, or 2026-05-31 14:05", "%s is no date or time", quoted(v))
}

func asList(v any) (list []string, err error) {
	switch v := v.(type) {
	case cell:
		return strings.Fields(formula.Unguard(string(v))), nil
	case []any:
		for _, each := range v {
			s, err := asText(each)
			if err != nil {
				return nil, err
			}
			list = append(list, s)
		}
		return list, nil
	}
	return nil, hinted(`write ["this", "that"]`, "%s is no list", quoted(v))
}

// quoted is a value as it may be told to the one who wrote it.
func quoted(v any) string {
	switch v := v.(type) {
	case string:
		return strconv.Quote(v)
	case cell:
		return strconv.Quote(string(v))
	case map[string]any:
		return "a table"
	case []any:
		return "a list"
	}
	return fmt.Sprint(v)
}

// decimal writes the shortest decimal that reads back as x.
func decimal(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
