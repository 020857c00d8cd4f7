package verify

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"

	"humdiff/report/model"
)

// ledger gathers what comparing two results shows.
type ledger struct {
	skip     func(key string) bool // keys that aren't compared
	strict   bool                  // numbers too are compared to the digit
	compared int
	worst    map[string]*model.VerifiedKind
	differ   []model.Difference
	unmade   map[string]bool // what nothing makes again
}

func newLedger() *ledger {
	return &ledger{skip: func(string) bool { return false }, worst: map[string]*model.VerifiedKind{}, unmade: map[string]bool{}}
}

// same compares two texts.
func (l *ledger) same(where, reported, again string) {
	l.compared++
	if reported != again {
		l.differs(where, exactly, reported, again)
	}
}

// compare compares two values, decoded from JSON: a key or an entry that only one has
// is a difference.
func (l *ledger) compare(where string, reported, again any) {
	l.walk(where, "", around{peak: loudest(again)}, reported, again)
}

func (l *ledger) walk(where, key string, near around, reported, again any) {
	switch a := reported.(type) {
	case map[string]any:
		if b, ok := again.(map[string]any); ok {
			l.object(where, near.in(b), a, b)
			return
		}
	case []any:
		if b, ok := again.([]any); ok && len(a) == len(b) {
			for i := range a {
				l.walk(fmt.Sprintf("%s[%d]", where, i), key, near, a[i], b[i])
			}
			return
		}
	case json.Number:
		if b, ok := again.(json.Number); ok {
			l.number(where, key, near, a, b)
			return
		}
	default: // string, bool, nil
		if reported == again {
			l.compared++
			return
		}
	}
	l.compared++
	l.differs(where, exactly, summary(reported), summary(again))
}

func (l *ledger) object(where string, near around, a, b map[string]any) {
	keys := maps.Clone(a)
	maps.Copy(keys, b)
	for _, k := range slices.Sorted(maps.Keys(keys)) {
		if l.skip(k) {
			continue
		}
		x, reported := a[k]
		y, made := b[k]
		if reported != made {
			l.differs(join(where, k), exactly, thereOrNot(reported), thereOrNot(made))
			continue
		}
		l.walk(join(where, k), k, near, x, y)
	}
}

func thereOrNot(there bool) string {
	if there {
		return "there"
	}
	return "not there"
}

func (l *ledger) number(where, key string, near around, reported, again json.Number) {
	l.compared++
	q := quantityOf(where, key)
	apart, ok := q.apart(key, near, reported, again)
	if !ok || l.strict && reported != again {
		l.differs(where, q, reported, again)
		return
	}
	w := l.worst[q.name]
	if w == nil {
		w = &model.VerifiedKind{Kind: q.name, Tolerance: q.tolerance}
		l.worst[q.name] = w
	}
	w.Compared++
	w.Tolerance = math.Max(w.Tolerance, q.tolerance)
	if apart > float64(w.Largest) {
		w.Largest, w.Where = model.Of(model.Digits(apart, 3)), where
	}
}

func (l *ledger) differs(where string, q quantity, reported, again any) {
	l.differ = append(l.differ, model.Difference{Where: where, Reported: plain(reported), Recomputed: plain(again), Kind: q.name, Tolerance: q.tolerance})
}

// plain is a number as JSON has it.
func plain(v any) any {
	if n, ok := v.(json.Number); ok {
		if x, err := n.Float64(); err == nil {
			return x
		}
		return string(n)
	}
	return v
}

// values counts the values of a part of a report that can't be made again.
func values(reported any) (n int) {
	switch a := reported.(type) {
	case map[string]any:
		for _, v := range a {
			n += values(v)
		}
		return n
	case []any:
		for _, v := range a {
			n += values(v)
		}
		return n
	}
	return 1
}

// summary stands for a list or an object in a difference.
func summary(v any) any {
	switch v := v.(type) {
	case []any:
		return fmt.Sprintf("a list of %d", len(v))
	case map[string]any:
		return fmt.Sprintf("an object of %d keys", len(v))
	}
	return v
}

func join(where, key string) string {
	if where == "" {
		return key
	}
	return where + "." + key
}

// written decodes JSON with numbers as they are written.
func written(text []byte) (v any, err error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	err = d.Decode(&v)
	return v, err
}
