package verify

import (
	"encoding/json"
	"math"
	"strings"
)

// Tolerances. Two transforms that share no code agree to some 10⁻¹⁶ of the loudest
// sample; the model rounds to 10⁻⁴ dB, a spectrum to 10⁻³ dB, all else to seven digits,
// and a value near the middle between two roundings may come out as either.
const (
	toleranceDB       = 1.1e-4
	toleranceTrace    = 1.1e-3
	toleranceRelative = 2.1e-6
	toleranceSaid     = 1e-4 // of what warnings say, which are differences and shares of such values
	// rounding is what a transform may add to an amplitude, as a share of the loudest
	// sample's.
	rounding = 1e-15
	// ratioRounding is the same of a ratio to a reference's line, as a share of its modulus.
	ratioRounding = 1e-7
	// roundingHz is the same of a frequency.
	roundingHz = 1e-12
)

// quantity is how values are compared.
type quantity struct {
	name      string
	tolerance float64
}

var (
	inDB    = quantity{"dB", toleranceDB}
	inTrace = quantity{"dB", toleranceTrace}
	asRatio = quantity{"relative", toleranceRelative}
	said    = quantity{"said", toleranceSaid}
	exactly = quantity{"exact", 0}
)

// apart is how far apart two values are, in decibels or as a share of the larger: 0 for
// what the rounding of transforms may make of one value. ok says that it is tolerated.
func (q quantity) apart(key string, near around, reported, again json.Number) (apart float64, ok bool) {
	a, errA := reported.Float64()
	b, errB := again.Float64()
	if errA != nil || errB != nil {
		return 0, false
	}
	apart = math.Abs(a - b)
	switch {
	case apart == 0:
		return 0, true
	case !q.written(reported) || q.name != inDB.name && isWhole(a) && isWhole(b):
		return apart, false // nothing that was measured comes out as either
	case apart <= near.nothing(key, a, b):
		return 0, true
	case q.name != inDB.name:
		apart /= math.Max(math.Abs(a), math.Abs(b))
	}
	return apart, apart <= q.tolerance
}

func isWhole(x float64) bool { return x == math.Trunc(x) }

// written says that a number has no more digits than humdiff writes where transforms
// may differ.
func (q quantity) written(n json.Number) bool {
	digits, _, _ := strings.Cut(n.String(), "e")
	if q.name == inDB.name {
		_, digits, _ = strings.Cut(digits, ".")
		return len(digits) <= 4
	}
	return len(strings.Trim(strings.ReplaceAll(digits, ".", ""), "-0")) <= 7
}

// quantityOf tells from a value's place how it is compared: its key's name says the
// unit.
func quantityOf(where, key string) quantity {
	switch {
	case hasPart(key, "db") || hasPart(key, "dbfs"):
		if strings.Contains(where, "trace.") {
			return inTrace
		}
		return inDB
	case strings.Contains(where, ".args."):
		return said
	}
	return asRatio
}

// hasPart says that a key's name has a part, such as the unit at its end.
func hasPart(key, part string) bool {
	return strings.Contains("_"+key+"_", "_"+part+"_")
}

// around is what stands beside a value and says how well it can be known: a difference
// of two numbers no better than they.
type around struct {
	peak  float64 // the loudest sample's amplitude, of all captures
	power float64 // of a line with its noise
	size  float64 // modulus of a ratio
}

// in is what surrounds the values of an object.
func (a around) in(object map[string]any) around {
	number := func(key string) float64 {
		n, _ := object[key].(json.Number)
		x, _ := n.Float64()
		return math.Abs(x)
	}
	a.power = math.Max(number("excess"), number("noise"))
	a.size = math.Hypot(number("re"), number("im"))
	return a
}

// nothing is what a difference between two values under a key may amount to, however
// small they are: what the rounding of transforms makes of them.
func (a around) nothing(key string, x, y float64) float64 {
	amplitude := rounding * a.peak
	power := 2*amplitude*math.Sqrt(a.power) + amplitude*amplitude
	switch key {
	case "samples", "dc":
		return amplitude
	case "excess", "noise", "model":
		return power
	case "variance":
		return 2*power*a.power + power*power
	case "re", "im", "lo", "hi", "scatter":
		return ratioRounding * a.size
	case "reference_deg", "reference_u_deg":
		return ratioRounding * 180
	}
	switch {
	case hasPart(key, "dbfs"):
		// Amplitudes that far apart are these decibels apart.
		return 20 * math.Log10(1+amplitude/math.Pow(10, math.Min(x, y)/20))
	case hasPart(key, "hz"):
		return roundingHz
	}
	return 0
}

// loudest is the amplitude of the loudest sample that a result tells of, 1 being full
// scale; of one that tells of none, full scale.
func loudest(tree any) float64 {
	most := 0.0
	var walk func(key string, v any)
	walk = func(key string, v any) {
		switch x := v.(type) {
		case map[string]any:
			for k, v := range x {
				walk(k, v)
			}
		case []any:
			for _, v := range x {
				walk(key, v)
			}
		case json.Number:
			if db, err := x.Float64(); err == nil && key == "peak_dbfs" {
				most = math.Max(most, math.Pow(10, db/20))
			}
		}
	}
	walk("", tree)
	if most == 0 {
		return 1
	}
	return most
}
