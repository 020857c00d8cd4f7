// Package quantity reads values as people write them on a command line or in a
// table: a decimal number and its unit, such as 20ohm, 100pF, 1.5m or 10A, and
// where wanted a tolerance behind it, such as 230V+-3%. It comes before
// everything that calculates.
package quantity

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"humdiff/fft/fault"
)

// Range is a value known to lie between two ends; both alike where it is taken
// as exact.
type Range struct{ Lo, Hi float64 }

// Exactly is a value without tolerance.
func Exactly(v float64) Range { return Range{v, v} }

// Known reports whether there is a value at all.
func (r Range) Known() bool { return !math.IsNaN(r.Lo) && !math.IsNaN(r.Hi) }

// Mid is the middle of a range; infinite where its upper end is.
func (r Range) Mid() float64 {
	if math.IsInf(r.Hi, 1) {
		return r.Hi
	}
	return (r.Lo + r.Hi) / 2
}

// Unknown is no value.
var Unknown = Range{math.NaN(), math.NaN()}

// Unit is what a value is measured in: its spellings, each with what it is
// worth, and which values are plausible.
type Unit struct {
	name    string
	example string
	worth   map[string]float64
	lo, hi  float64
}

// The units read here. An SI prefix may stand before those that have them.
var (
	Ohms       = si("impedance", "20ohm or 10kohm", 1e-3, 1e9, []string{"ohm", "ohms", "Ohm", "Ω", "Ω"}, "m", "k", "M")
	Farads     = si("capacitance", "100pF", 1e-18, 1, []string{"F"}, "f", "p", "n", "u", "µ", "μ")
	Amps       = si("current", "2A or 500mA", 0, 1e3, []string{"A"}, "u", "µ", "μ", "m")
	Metres     = si("length", "10mm or 1.5m", 1e-6, 1e4, []string{"m"}, "m", "c")
	Seconds    = Unit{"time", "60s or 10min", map[string]float64{"s": 1, "min": 60, "h": 3600}, 1e-3, 1e6}
	Percent    = Unit{"share", "80%", map[string]float64{"%": 0.01}, 0, 1}
	Decibels   = Unit{"ratio", "3dB", map[string]float64{"dB": 1}, -300, 300}
	DBFS       = Unit{"level", "-120dBFS", map[string]float64{"dBFS": 1}, -300, 10}
	DBFSPerHz  = Unit{"noise density", "-150dBFS/Hz", map[string]float64{"dBFS/Hz": 1}, -300, 10}
	DBPerVolt  = Unit{"sensitivity", "105dB/V", map[string]float64{"dB/V": 1}, 0, 200}
	DBPerMilli = Unit{"sensitivity", "98dB/mW", map[string]float64{"dB/mW": 1}, 0, 200}
)

var prefixes = map[string]float64{"f": 1e-15, "p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "m": 1e-3, "c": 1e-2, "k": 1e3, "M": 1e6}

func si(name, example string, lo, hi float64, symbols []string, before ...string) Unit {
	u := Unit{name, example, map[string]float64{}, lo, hi}
	for _, s := range symbols {
		u.worth[s] = 1
		for _, p := range before {
			u.worth[p+s] = prefixes[p]
		}
	}
	return u
}

// Has reports whether s ends in one of the unit's spellings.
func (u Unit) Has(s string) bool {
	_, unit, err := split(s, "")
	_, ok := u.worth[unit]
	return err == nil && ok
}

// Parse reads one value. Its errors are *fault.Error with a hint.
func (u Unit) Parse(s string) (float64, error) {
	hint := "write the " + u.name + " with its unit, such as " + u.example
	x, unit, err := split(s, hint)
	if err != nil {
		return 0, err
	}
	worth, ok := u.worth[unit]
	switch {
	case unit == "":
		return 0, fault.New(hint, "%q has no unit", s)
	case !ok:
		return 0, fault.New(hint, "%q is no %s: its unit is %q", s, u.name, unit)
	}
	if v := x * worth; v >= u.lo && v <= u.hi {
		return v, nil
	}
	return 0, fault.New(hint, "%q is no plausible %s", s, u.name)
}

// Range reads a value and, behind ± or +-, its tolerance in percent.
func (u Unit) Range(s string) (Range, error) { return WithTolerance(s, u.Parse) }

// WithTolerance reads a value by parse and, behind ± or +-, its tolerance in
// percent, such as 230V+-3%.
func WithTolerance(s string, parse func(string) (float64, error)) (Range, error) {
	value, tolerance, has := strings.Cut(strings.Replace(s, "±", "+-", 1), "+-")
	v, err := parse(strings.TrimSpace(value))
	if err != nil || !has {
		return Exactly(v), err
	}
	t, err := Percent.Parse(tolerance)
	switch {
	case err != nil:
		return Range{}, fault.New("write the tolerance in percent, such as "+strings.TrimSpace(value)+"+-5%", "%q has a tolerance that can't be read", s)
	case t >= 1:
		return Range{}, fault.New("write a tolerance below 100 %", "%q leaves no value", s)
	}
	return Range{v * (1 - t), v * (1 + t)}, nil
}

var (
	form  = regexp.MustCompile(`^([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?) ?([^0-9 ]*)$`)
	comma = regexp.MustCompile(`^[+-]?[0-9]*,[0-9]`)
)

// split takes the number off its unit.
func split(s, hint string) (float64, string, error) {
	s = strings.Replace(strings.TrimSpace(s), "−", "-", 1) // a typographic minus is a minus
	if comma.MatchString(s) {
		return 0, "", fault.New("write it with a decimal point", "%q has a decimal comma", s)
	}
	m := form.FindStringSubmatch(s)
	if m == nil {
		return 0, "", fault.New(hint, "%q is no number with a unit", s)
	}
	x, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		return 0, "", fault.New(hint, "%q is out of range", s)
	}
	return x, m[2], nil
}
