package doc

import (
	"math"
	"strconv"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Numbers are written the same everywhere: a minus sign (−), a point as decimal
// sign, a space before the unit. What isn't there is never given a number: an
// estimate gives out only what is known, and an absent number is "unknown".
// CSV and JSON don't come by here: they have the plain numbers.

// unknown stands where a number is absent.
const unknown = "unknown"

// Fixed writes v with so many decimals; what rounds to zero has no sign.
func Fixed(v model.Num, decimals int) string {
	if !v.Ok() {
		return unknown
	}
	s := strconv.FormatFloat(float64(v), 'f', decimals, 64)
	if digits, negative := strings.CutPrefix(s, "-"); negative {
		if strings.Trim(digits, "0.") == "" {
			return digits
		}
		return "−" + digits
	}
	return s
}

// decimals is how many decimals decibels deserve whose interval runs from lo
// to hi: one, or two where the interval is narrower than 0.2 dB.
func decimals(lo, hi model.Num) int {
	if lo.Ok() && hi.Ok() && hi-lo < 0.2 {
		return 2
	}
	return 1
}

func ends(e model.Estimate) (lo, hi model.Num) {
	_, l, h := e.Numbers()
	return model.Of(l), model.Of(h)
}

func value(e model.Estimate) model.Num {
	v, _ := e.Value()
	return model.Of(v)
}

// exactly is a plain number as an estimate without an interval.
func exactly(v model.Num) model.Estimate {
	return estimate.Of(v.Float(), math.NaN(), math.NaN())
}

// down and up round to a tenth away from the claim: what is "at least" or
// "below" something must stay true as it is printed.
func down(v model.Num) model.Num { return model.Num(math.Floor(float64(v)*10+1e-6) / 10) }
func up(v model.Num) model.Num   { return model.Num(math.Ceil(float64(v)*10-1e-6) / 10) }

// DB writes a plain ratio, e.g. "14.2 dB".
func DB(v model.Num) string { return withUnit(v, 1, "dB") }

func withUnit(v model.Num, decimals int, unit string) string {
	if !v.Ok() {
		return unknown
	}
	return Fixed(v, decimals) + " " + unit
}

// Delta writes what is known of a change, e.g. "14.2 dB", "at least 9.1 dB".
func Delta(e model.Estimate) string { return bare(e, "at least ", "at most ", " dB", notMeasurable) }

// deltaShort is Delta without its unit, for tables and figures that name it.
func deltaShort(e model.Estimate) string { return bare(e, "at least ", "at most ", "", notMeasurable) }

const notMeasurable = "not measurable"

// deltaLong is a change with its interval, e.g. "14.2 dB (95 % interval 13.9 to
// 14.5 dB)".
func deltaLong(e model.Estimate, confidence float64) string {
	v, lo, hi := e.Numbers()
	if !e.Measured() || Interval(e) == "" {
		return Delta(e)
	}
	return Fixed(model.Num(v), decimals(model.Num(lo), model.Num(hi))) + " dB (" + Percent(confidence) + " interval " + Interval(e) + ")"
}

// Level writes what is known of a level in dBFS, e.g. "−104.0 dBFS", "below
// −160.1 dBFS".
func Level(e model.Estimate) string { return levelIn(e, "dBFS") }

// levelShort is Level without its unit.
func levelShort(e model.Estimate) string { return bare(e, "above ", "below ", "", "not found") }

// DBFS writes a plain level.
func DBFS(v model.Num) string { return withUnit(v, 1, "dBFS") }

func levelIn(e model.Estimate, unit string) string {
	return bare(e, "above ", "below ", " "+unit, unknown)
}

// bare writes decibels, or none where nothing is known; bounds are rounded away from
// the claim.
func bare(e model.Estimate, least, most, unit, none string) string {
	lo, hi := ends(e)
	v, measured := e.Value()
	switch {
	case measured:
		return Fixed(model.Num(v), 1) + unit
	case lo.Ok() && hi.Ok():
		return dbRange(lo, hi) + unit
	case lo.Ok():
		return least + Fixed(down(lo), 1) + unit
	case hi.Ok():
		return most + Fixed(up(hi), 1) + unit
	}
	return none
}

// Interval writes an estimate's interval in decibels, e.g. "13.9 to 14.5 dB";
// empty where it has none.
func Interval(e model.Estimate) string {
	lo, hi := ends(e)
	if !lo.Ok() || !hi.Ok() {
		return ""
	}
	return dbRange(lo, hi) + " dB"
}

// dbRange writes two ends in decibels, or one where they are printed the same.
func dbRange(lo, hi model.Num) string {
	d := decimals(lo, hi)
	return between(Fixed(lo, d), Fixed(hi, d))
}

func between(lo, hi string) string {
	if lo == hi {
		return lo
	}
	return lo + " to " + hi
}

// spread writes how far an interval's ends lie from its value, e.g. "±0.1",
// "−0.4/+0.5"; empty where it has none. A side that rounds to zero is
// printed as the other: zero has no sign.
func spread(e model.Estimate, decimals int, scale float64) string {
	v, measured := e.Value()
	lo, hi := ends(e)
	if !measured || !lo.Ok() || !hi.Ok() {
		return ""
	}
	below, above := Fixed(model.Num((v-float64(lo))/scale), decimals), Fixed(model.Num((float64(hi)-v)/scale), decimals)
	if zero := Fixed(0, decimals); below == zero {
		below = above
	} else if above == zero {
		above = below
	}
	if below == above {
		return "±" + above
	}
	return "−" + below + "/+" + above
}

// Hz writes a frequency to a hundredth of a hertz, e.g. "49.98 Hz", "5 kHz".
func Hz(v model.Num) string {
	if !v.Ok() {
		return unknown
	}
	if f := float64(v); math.Abs(f) >= 1000 {
		return trimZeros(Fixed(model.Num(f/1000), 5)) + " kHz"
	}
	return trimZeros(Fixed(v, 2)) + " Hz"
}

// ToneHz writes a tone's frequency, to a hundredth of a hertz whatever its size,
// so that those of a list compare, e.g. "1000.2 Hz".
func ToneHz(hz float64) string { return trimZeros(Fixed(model.Num(hz), 2)) + " Hz" }

// mainsHz writes a measured mains frequency with the half-width of its
// interval, in as many digits as that allows, e.g. "49.9812 Hz ±0.0004 Hz".
func mainsHz(v, u95 model.Num) string {
	if !v.Ok() {
		return unknown
	}
	if !u95.Ok() || u95 <= 0 {
		return Hz(v)
	}
	d := decimalsFor(float64(u95), 1, 4)
	half := math.Max(float64(u95), math.Pow(10, -float64(d)))
	return Fixed(v, d) + " Hz ±" + Fixed(model.Num(half), d) + " Hz"
}

// decimalsFor is how many decimals show the first digit of a half-width.
func decimalsFor(half float64, least, most int) int {
	d := math.Ceil(-math.Log10(half))
	switch {
	case !(d > float64(least)):
		return least
	case d > float64(most):
		return most
	}
	return int(d)
}

// Seconds writes a time to a millisecond, e.g. "60 s".
func Seconds(v float64) string { return trimZeros(Fixed(model.Num(v), 3)) + " s" }

// tenths writes seconds that aren't known any closer.
func tenths(v float64) string { return Seconds(math.Round(10*v) / 10) }

// Percent writes a share, e.g. "95 %".
func Percent(share float64) string { return trimZeros(Fixed(model.Num(100*share), 2)) + " %" }

func trimZeros(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

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
