package verify

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"humdiff/report/result"
)

// Tolerances. Two transforms that share no code, and processors that fuse
// multiplication and addition, agree to some 10⁻¹³ of the strongest line; what
// a report states is far coarser.
const (
	toleranceDB       = 1e-5
	toleranceHz       = 1e-8
	toleranceRelative = 1e-7
	// rounding is the level below which a spectrum holds the rounding of
	// transforms rather than a capture's noise: no converter comes near it.
	roundingDBFS = -220
)

// kind is how values are compared.
type kind struct {
	name      string
	tolerance float64
	distance  func(a, b float64) float64
}

var (
	inDB       = kind{"dB", toleranceDB, apart}
	inHz       = kind{"Hz", toleranceHz, apart}
	asRatio    = kind{"relative", toleranceRelative, relative}
	exactly    = kind{"exact", 0, apart}
	exactWords = []string{"harmonic", "channel", "rate_hz", "bits", "lines", "clipped", "left_out", "averages"}
)

func apart(a, b float64) float64 { return math.Abs(a - b) }

// relative is a difference as a share of the larger. Below a part in 10¹² of
// full scale nothing in a report means anything.
func relative(a, b float64) float64 {
	return math.Abs(a-b) / math.Max(1e-12, math.Max(math.Abs(a), math.Abs(b)))
}

// kindOf tells from a key's name, which says the unit, how its value is compared.
func kindOf(key string) kind {
	switch {
	case slices.Contains(exactWords, key):
		return exactly
	case isDB(key):
		return inDB
	case key == "hz" || strings.HasSuffix(key, "_hz"):
		return inHz
	}
	return asRatio
}

func isDB(key string) bool {
	for part := range strings.SplitSeq(key, "_") {
		switch part {
		case "db", "dbfs", "dbv", "dbu", "dba":
			return true
		}
	}
	return false
}

// skipped are keys that say where and by what a result was made, or put
// warnings into words: they may differ and the report still stand.
var skipped = []string{"file", "tool", "message", "schema", "confidence", "false_alarm_share"}

// ledger gathers what comparing two results shows.
type ledger struct {
	compared int
	worst    map[string]*result.VerifiedKind
	differ   []result.Difference
	unmade   map[string]bool // keys that nothing recomputes
}

func newLedger() *ledger {
	return &ledger{worst: map[string]*result.VerifiedKind{}, unmade: map[string]bool{}}
}

// compare walks both values, decoded from JSON. What is reported and not
// recomputed is a difference; what is recomputed and not reported is a key that
// came later.
func (l *ledger) compare(where, key string, reported, again any) {
	switch a := reported.(type) {
	case map[string]any:
		b, ok := again.(map[string]any)
		if !ok {
			l.differs(where, exactly, reported, again)
			return
		}
		for _, k := range slices.Sorted(maps.Keys(a)) {
			if slices.Contains(skipped, k) {
				continue
			}
			if _, known := b[k]; !known {
				l.unmade[k] = true
				continue
			}
			l.compare(join(where, k), k, a[k], b[k])
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
		l.number(where, kindOf(key), a, again)
	default: // string, bool, nil
		l.compared++
		if reported != again {
			l.differs(where, exactly, reported, again)
		}
	}
}

func (l *ledger) number(where string, k kind, reported json.Number, again any) {
	l.compared++
	n, ok := again.(json.Number)
	if !ok {
		l.differs(where, k, reported, again)
		return
	}
	a, errA := reported.Float64()
	b, errB := n.Float64()
	if errA != nil || errB != nil {
		l.differs(where, k, reported, again)
		return
	}
	if k.name == inDB.name && math.Max(a, b) < roundingDBFS {
		return
	}
	d := k.distance(a, b)
	w := l.worst[k.name]
	if w == nil {
		w = &result.VerifiedKind{Kind: k.name, Tolerance: k.tolerance}
		l.worst[k.name] = w
	}
	w.Compared++
	if !(d <= k.tolerance) {
		l.differs(where, k, reported, again)
		return
	}
	if d > float64(w.Largest) {
		w.Largest, w.Where = result.Of(d), where
	}
}

func (l *ledger) differs(where string, k kind, reported, again any) {
	l.differ = append(l.differ, result.Difference{Where: where, Reported: reported, Recomputed: again, Kind: k.name, Tolerance: k.tolerance})
}

// leftOut counts the values of a part of a report that can't be recomputed.
func leftOut(reported any) int {
	switch a := reported.(type) {
	case map[string]any:
		n := 0
		for k, v := range a {
			if !slices.Contains(skipped, k) {
				n += leftOut(v)
			}
		}
		return n
	case []any:
		n := 0
		for _, v := range a {
			n += leftOut(v)
		}
		return n
	}
	return 1
}

// summary stands for a list or an object in a difference.
func summary(v any) any {
	if list, ok := v.([]any); ok {
		return fmt.Sprintf("a list of %d", len(list))
	}
	return v
}

func join(where, key string) string {
	if where == "" {
		return key
	}
	return where + "." + key
}
