package unit

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/fft/fault"
)

// Parse reads a quantity, and behind "±", "+-" or "+/-" what it may be off by: a
// percentage, an amount in the unit itself, or for voltages decibels. With a
// tolerance the estimate has ends, without one it has none: nothing was said of
// them. Errors are *fault.Error whose hint names an example.
func (u Unit) Parse(s string) (estimate.Estimate, error) {
	value, off, said := cutTolerance(s)
	v, err := u.number(value)
	if err != nil {
		return estimate.Estimate{}, err
	}
	if !said {
		return estimate.Of(v, math.NaN(), math.NaN()), nil
	}
	return u.within(s, v, off)
}

// Number reads a quantity for which a tolerance has no use, and refuses one.
func (u Unit) Number(s string) (float64, error) {
	if value, _, said := cutTolerance(s); said {
		return 0, fault.New("write "+value+" alone", "%q has a tolerance, of which no use is made here", s)
	}
	return u.number(s)
}

// Has says whether a text ends in one of the unit's spellings.
func (u Unit) Has(s string) bool {
	value, _, _ := cutTolerance(s)
	_, _, text, err := split(value, "")
	_, ok := u.sign(text)
	return err == nil && ok
}

func (u Unit) hint() string { return "write the " + u.name + " with its unit, such as " + u.example }

// number reads a value without tolerance.
func (u Unit) number(s string) (float64, error) {
	v, text, err := u.value(s, u.hint())
	switch {
	case err != nil:
		return 0, err
	case text == "":
		return 0, fault.New(u.hint(), "%q has no unit", s)
	case math.IsNaN(v):
		return 0, fault.New(u.hint(), "%q is no %s: its unit is %q", s, u.name, text)
	case !(v >= u.lo && v <= u.hi):
		return 0, fault.New(u.hint(), "%q is no plausible %s", s, u.name)
	}
	return v, nil
}

// value reads a number in any of the unit's spellings, NaN in others. Powers of
// ten are put to the digits before these are read: 100pF is 1e-10 to the last bit.
func (u Unit) value(s, hint string) (v float64, text string, err error) {
	digits, exp, text, err := split(s, hint)
	if err != nil {
		return 0, "", err
	}
	g, ok := u.sign(text)
	if !ok {
		g = sign{times: math.NaN()}
	}
	x, err := strconv.ParseFloat(digits+"e"+strconv.Itoa(exp+g.exp), 64)
	switch {
	case err != nil:
		return 0, "", fault.New(hint, "%q is out of range", s)
	case g.level:
		return g.times * math.Pow(10, x/20), text, nil
	}
	return x * g.times, text, nil
}

var (
	form      = regexp.MustCompile(`^([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))(?:[eE]([+-]?[0-9]{1,3}))? ?([^0-9 ]*)$`)
	comma     = regexp.MustCompile(`^[+-]?[0-9]*,[0-9]`)
	plusMinus = regexp.MustCompile(`±|\+/?-`)
)

// split takes a number's digits and power of ten off its unit.
func split(s, hint string) (digits string, exp int, text string, err error) {
	s = strings.Replace(strings.TrimSpace(s), "−", "-", 1) // a typographic minus is a minus
	if comma.MatchString(s) {
		return "", 0, "", fault.New("write it with a decimal point", "%q has a decimal comma", s)
	}
	m := form.FindStringSubmatch(s)
	if m == nil {
		return "", 0, "", fault.New(hint, "%q is no number with a unit", s)
	}
	exp, _ = strconv.Atoi(m[2]) // three digits, or none
	return m[1], exp, m[3], nil
}

// cutTolerance takes off what a quantity may be off by.
func cutTolerance(s string) (value, off string, said bool) {
	at := plusMinus.FindStringIndex(s)
	if at == nil {
		return strings.TrimSpace(s), "", false
	}
	return strings.TrimSpace(s[:at[0]]), strings.TrimSpace(s[at[1]:]), true
}

// within gives a value its ends.
func (u Unit) within(s string, v float64, off string) (estimate.Estimate, error) {
	hint := u.toleranceHint(s)
	wrong := func(format string) (estimate.Estimate, error) { return estimate.Estimate{}, fault.New(hint, format, s) }
	x, text, err := tolerance(off, hint)
	if err != nil {
		return wrong("%q has a tolerance that can't be read")
	}
	var lo, hi float64
	own, ofOwn := u.sign(text)
	switch {
	case text == "%" && u.tells&inPercent != 0 && u.ratio:
		x = -20 * math.Log10(1-x/100)
		lo, hi = v-x, v+x
	case text == "%" && u.tells&inPercent != 0:
		lo, hi = v*(1-x/100), v*(1+x/100)
	case text == "dB" && u.tells&inDecibels != 0 && u.ratio:
		lo, hi = v-x, v+x
	case text == "dB" && u.tells&inDecibels != 0:
		lo, hi = v*math.Pow(10, -x/20), v*math.Pow(10, x/20)
	case ofOwn && u.tells&inOwn != 0 && !own.level:
		x, _, err = u.value(off, hint)
		lo, hi = v-x, v+x
	default:
		return wrong("%q says nothing that the value could be off by")
	}
	switch {
	case err != nil || !(x >= 0) || math.IsNaN(lo) || math.IsInf(hi, 0):
		return wrong("%q has no plausible tolerance")
	case !u.ratio && v > 0 && !(lo > 0):
		return wrong("%q leaves no value: its tolerance is all of it")
	}
	return estimate.Of(v, lo, hi), nil
}

// tolerance reads a number and what it is in.
func tolerance(off, hint string) (x float64, text string, err error) {
	digits, exp, text, err := split(strings.Replace(off, " %", "%", 1), hint)
	if err != nil {
		return 0, "", err
	}
	x, err = strconv.ParseFloat(digits+"e"+strconv.Itoa(exp), 64)
	return x, text, err
}

func (u Unit) toleranceHint(s string) string {
	value, _, _ := cutTolerance(s)
	example := "±5%"
	switch {
	case u.tells&inPercent == 0 && u.ratio:
		example = "±1dB"
	case u.tells&inPercent == 0:
		example = "±2" + u.signs[0].text
	case u.ratio:
		example = "±0.1dB"
	}
	return "write what it may be off by behind it, such as \"" + value + " " + example + "\"; \"+-\" is read as \"±\""
}
