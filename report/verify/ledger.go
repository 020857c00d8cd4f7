package verify

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"humdiff/report/model"
)

// Tolerances. Two transforms that share no code agree to some 10⁻¹³ of the
// strongest line; the model rounds to 10⁻⁴ dB and to seven digits, and a value near
// the middle between two roundings may come out as either.
const (
	toleranceDB       = 2.1e-4
	toleranceRelative = 2.1e-6
	// roundingDBFS is the level below which a spectrum holds the rounding of
	// transforms rather than a capture's noise: no converter comes near it.
	roundingDBFS = -220
	// toleranceSaid is that of a warning's arguments, which are differences and shares
	// of such values, as a share of them.
	toleranceSaid = 1e-3
)

// nothing is below what a value means nothing, by its key: amplitudes as parts of
// full scale, powers as parts of its square.
var nothing = map[string]float64{"": 1e-12, "excess": 1e-19, "noise": 1e-19, "model": 1e-19, "variance": 1e-37}

// quantity is how values are compared.
type quantity struct {
	name      string
	tolerance float64
	nothing   float64 // that a difference may amount to whatever the values are
}

var (
	inDB    = quantity{"dB", toleranceDB, 0}
	asRatio = quantity{"relative", toleranceRelative, nothing[""]}
	said    = quantity{"said", toleranceSaid, 1e-9}
	exactly = quantity{"exact", 0, 0}
)

// distance is how far apart two values are: in decibels, or as a share of the larger.
func (q quantity) distance(a, b float64) float64 {
	apart := math.Abs(a - b)
	switch {
	case q.name == inDB.name:
		return apart
	case apart <= q.nothing:
		return 0
	}
	return apart / math.Max(math.Abs(a), math.Abs(b))
}

// quantityOf tells from a value's place how it is compared: its key's name says the
// unit.
func quantityOf(where, key string) quantity {
	if strings.Contains(where, ".args.") {
		return said
	}
	for part := range strings.SplitSeq(key, "_") {
		switch part {
		case "db", "dbfs":
			return inDB
		}
	}
	q := asRatio
	if least, ok := nothing[key]; ok {
		q.nothing = least
	}
	return q
}

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

// compare walks both values, decoded from JSON: a key or an entry that only one has
// is a difference.
func (l *ledger) compare(where, key string, reported, again any) {
	switch a := reported.(type) {
	case map[string]any:
		b, ok := again.(map[string]any)
		if !ok {
			l.differs(where, exactly, summary(reported), summary(again))
			return
		}
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
			l.compare(join(where, k), k, x, y)
		}
	case []any:
		b, ok := again.([]any)
		if !ok || len(a) != len(b) {
			l.differs(where, exactly, summary(reported), summary(again))
			return
		}
		for i := range a {
			l.compare(fmt.Sprintf("%s[%d]", where, i), key, a[i], b[i])
		}
	case json.Number:
		l.number(where, quantityOf(where, key), a, again)
	default: // string, bool, nil
		l.compared++
		if reported != again {
			l.differs(where, exactly, reported, summary(again))
		}
	}
}

func thereOrNot(there bool) string {
	if there {
		return "there"
	}
	return "not there"
}

func (l *ledger) number(where string, q quantity, reported json.Number, again any) {
	l.compared++
	n, ok := again.(json.Number)
	a, errA := reported.Float64()
	b, errB := n.Float64()
	if !ok || errA != nil || errB != nil || l.strict && reported != n {
		l.differs(where, q, reported, summary(again))
		return
	}
	if q.name == inDB.name && math.Max(a, b) < roundingDBFS {
		return
	}
	w := l.worst[q.name]
	if w == nil {
		w = &model.VerifiedKind{Kind: q.name, Tolerance: q.tolerance}
		l.worst[q.name] = w
	}
	w.Compared++
	d := q.distance(a, b)
	if !(d <= q.tolerance) {
		l.differs(where, q, reported, again)
		return
	}
	if d > float64(w.Largest) {
		w.Largest, w.Where = model.Of(model.Digits(d, 3)), where
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

// tree decodes JSON with numbers as they are written, and lists the keys that stand
// twice in an object, or a second time but for capitals.
func tree(text []byte) (v any, doubled []string, err error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	v, err = value(d, "", &doubled)
	if err == nil && d.More() {
		err = fmt.Errorf("something follows the object")
	}
	return v, doubled, err
}

func value(d *json.Decoder, where string, doubled *[]string) (any, error) {
	t, err := d.Token()
	if err != nil {
		return nil, err
	}
	switch t {
	case json.Delim('{'):
		object, folded := map[string]any{}, map[string]bool{}
		for d.More() {
			k, err := d.Token()
			if err != nil {
				return nil, err
			}
			key := k.(string)
			if folded[strings.ToLower(key)] {
				*doubled = append(*doubled, join(where, key))
			}
			folded[strings.ToLower(key)] = true
			if object[key], err = value(d, join(where, key), doubled); err != nil {
				return nil, err
			}
		}
		_, err = d.Token()
		return object, err
	case json.Delim('['):
		list := []any{}
		for d.More() {
			x, err := value(d, fmt.Sprintf("%s[%d]", where, len(list)), doubled)
			if err != nil {
				return nil, err
			}
			list = append(list, x)
		}
		_, err = d.Token()
		return list, err
	}
	return t, nil
}
