package doc

import (
	"math"
	"strconv"
	"strings"

	"humdiff/report/model"
)

// Prefix is an SI prefix and its power of ten.
type Prefix struct {
	Name  string
	Scale float64
}

var prefixes = []Prefix{{"p", 1e-12}, {"n", 1e-9}, {"µ", 1e-6}, {"m", 1e-3}, {"", 1}, {"k", 1e3}}

// PrefixFor is the SI prefix in which v has one to three digits before the
// point once it is rounded to three digits.
func PrefixFor(v model.Num) Prefix {
	size := math.Abs(float64(v))
	if size == 0 || !v.Ok() {
		return Prefix{"", 1}
	}
	best := prefixes[0]
	for _, p := range prefixes {
		if size/p.Scale >= 0.9995 {
			best = p
		}
	}
	return best
}

// Digits writes v in the prefix's units to three digits, and to two where it is
// smaller than a tenth of them.
func (p Prefix) Digits(v model.Num) string {
	if !v.Ok() {
		return unknown
	}
	x := math.Abs(float64(v) / p.Scale)
	if x == 0 {
		return "0"
	}
	order := math.Floor(math.Log10(x) + 0.0002) // of the first digit, once rounded to three
	if order >= -1 {
		return Fixed(v/model.Num(p.Scale), int(max(2-order, 0)))
	}
	order = math.Floor(math.Log10(x) + 0.002) // once rounded to two
	return Fixed(v/model.Num(p.Scale), int(1-order))
}

// digitsUp is Digits of v rounded up: what is "below" something must stay true
// as it is printed.
func (p Prefix) digitsUp(v model.Num) string {
	s := p.Digits(v)
	printed, err := strconv.ParseFloat(s, 64)
	if err != nil || printed*p.Scale >= float64(v)*(1-1e-9) {
		return s
	}
	_, decimals, _ := strings.Cut(s, ".")
	return p.Digits(model.Num((printed + math.Pow(10, -float64(len(decimals)))) * p.Scale))
}

// SI writes a plain value in three digits with an SI prefix, e.g. "1.45 µV".
func SI(v model.Num, unit string) string {
	if !v.Ok() {
		return unknown
	}
	p := PrefixFor(v)
	return p.Digits(v) + " " + p.Name + unit
}

// Quantity writes what is known of a positive quantity, e.g. "1.45 µV", "0.95 to
// 1.05 pF", "below 1.2 µV", "none" where it is at most nothing.
func Quantity(e model.Estimate, unit string) string {
	lo, hi := ends(e)
	v, measured := e.Value()
	switch {
	case measured:
		return SI(model.Num(v), unit)
	case lo.Ok() && hi.Ok() && !negligible(lo, hi):
		return siRange(lo, hi, unit)
	case hi.Ok() && hi == 0:
		return "none"
	case hi.Ok():
		p := PrefixFor(hi)
		return "below " + p.digitsUp(hi) + " " + p.Name + unit
	case lo.Ok():
		return "at least " + SI(lo, unit)
	}
	return unknown
}

// siRange writes two ends in the prefix of the higher.
func siRange(lo, hi model.Num, unit string) string {
	p := PrefixFor(hi)
	return between(p.Digits(lo), p.Digits(hi)) + " " + p.Name + unit
}

// Volts writes what is known of a voltage.
func Volts(e model.Estimate) string { return Quantity(e, "V") }

// negligible reports whether a range's lower end is as good as none: below a
// thousandth of the upper one.
func negligible(lo, hi model.Num) bool { return !(lo > hi*1e-3) }

// short writes a value in four digits at most.
func short(v model.Num) string {
	rounded := model.Digits(float64(v), 4)
	return strings.Replace(strconv.FormatFloat(rounded, 'f', -1, 64), "-", "−", 1)
}

// Ohms writes an impedance, e.g. "20 Ω", "4.7 kΩ".
func Ohms(v model.Num) string {
	switch x := math.Abs(float64(v)); {
	case !v.Ok():
		return unknown
	case x >= 1e6:
		return short(v/1e6) + " MΩ"
	case x >= 1e3:
		return short(v/1e3) + " kΩ"
	}
	return short(v) + " Ω"
}

// Metres writes a distance, e.g. "2.5 m", "12 mm".
func Metres(v model.Num) string {
	switch {
	case !v.Ok():
		return unknown
	case v < 1:
		return short(v*1000) + " mm"
	}
	return short(v) + " m"
}
