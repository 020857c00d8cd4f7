package words

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"humdiff/report/result"
)

// Numbers are written the same everywhere, on the screen, in tables, figures
// and the page: a plain hyphen as minus sign, so that they can be searched for
// and pasted into a spreadsheet; a point as decimal sign; a space before the
// unit. The only letters beyond ASCII are the µ of microvolts and the ±.

// unknown stands where a number is absent.
const unknown = "unknown"

// Fixed writes v with so many decimals; what rounds to zero has no sign.
func Fixed(v result.Num, decimals int) string {
	if !v.Ok() {
		return unknown
	}
	s := strconv.FormatFloat(float64(v), 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

// Decimals is how many decimals decibels deserve whose interval runs from lo
// to hi: one, or two where the interval is narrower than 0.2 dB.
func Decimals(lo, hi result.Num) int {
	if lo.Ok() && hi.Ok() && hi-lo < 0.2 {
		return 2
	}
	return 1
}

// DB writes a ratio, e.g. "14.2 dB".
func DB(v result.Num) string { return Fixed(v, 1) + " dB" }

// DBFS writes a level, e.g. "-104.0 dBFS".
func DBFS(v result.Num) string { return Fixed(v, 1) + " dBFS" }

// Down and Up round to a tenth away from the claim: what is "at least" or
// "below" something must stay true as it is printed.
func Down(v result.Num) result.Num { return result.Num(math.Floor(float64(v)*10+1e-6) / 10) }

// Up rounds up to a tenth: see Down.
func Up(v result.Num) result.Num { return result.Num(math.Ceil(float64(v)*10-1e-6) / 10) }

// DBRange writes an interval in decibels without its unit, e.g. "13.9 to 14.5".
func DBRange(lo, hi result.Num) string {
	d := Decimals(lo, hi)
	return Fixed(lo, d) + " to " + Fixed(hi, d)
}

// Hz writes a frequency to a hundredth of a hertz, e.g. "49.98 Hz", "5 kHz".
func Hz(v result.Num) string {
	if !v.Ok() {
		return unknown
	}
	if f := float64(v); math.Abs(f) >= 1000 {
		return trimZeros(strconv.FormatFloat(f/1000, 'f', 5, 64)) + " kHz"
	}
	return trimZeros(strconv.FormatFloat(float64(v), 'f', 2, 64)) + " Hz"
}

// ToneHz writes a tone's frequency, to a hundredth of a hertz whatever its size,
// so that those of a list compare, e.g. "1000.2 Hz".
func ToneHz(hz float64) string {
	return trimZeros(strconv.FormatFloat(hz, 'f', 2, 64)) + " Hz"
}

// MainsHz writes a measured mains frequency with the half-width of its
// interval, in as many digits as that allows, e.g. "49.9812 Hz ±0.0004 Hz".
func MainsHz(v, u95 result.Num) string {
	if !v.Ok() {
		return unknown
	}
	if !u95.Ok() || u95 <= 0 {
		return Hz(v)
	}
	d := min(max(int(math.Ceil(-math.Log10(float64(u95)))), 1), 4)
	half := math.Max(float64(u95), math.Pow(10, -float64(d)))
	return Fixed(v, d) + " Hz ±" + Fixed(result.Num(half), d) + " Hz"
}

// Mains says at which frequency a capture has its mains, e.g.
// "mains 49.9812 Hz ±0.0004 Hz".
func Mains(found bool, hz, u95 result.Num) string {
	if !found {
		return "no mains frequency found"
	}
	return "mains " + MainsHz(hz, u95)
}

// Seconds writes a time to a millisecond, e.g. "60 s".
func Seconds(v float64) string { return trimZeros(strconv.FormatFloat(v, 'f', 3, 64)) + " s" }

// Percent writes a share, e.g. "95 %".
func Percent(share float64) string {
	return trimZeros(strconv.FormatFloat(100*share, 'f', 2, 64)) + " %"
}

// Volts writes a voltage in three digits with an SI prefix, e.g. "0 V",
// "126 nV", "1.45 µV".
func Volts(v result.Num) string {
	if !v.Ok() {
		return unknown
	}
	p := PrefixFor(v)
	return p.Digits(v) + " " + p.Name + "V"
}

// VoltsUp is Volts rounded up, for what lies below it.
func VoltsUp(v result.Num) string {
	if !v.Ok() {
		return unknown
	}
	p := PrefixFor(v)
	return p.DigitsUp(v) + " " + p.Name + "V"
}

// VoltsRange writes two voltages in the prefix of the higher, e.g. "145 to 203
// nV"; a lower one too far below for that has its own, e.g. "1.00 pV to 203 µV".
func VoltsRange(lo, hi result.Num) string {
	if !lo.Ok() || !hi.Ok() {
		return unknown
	}
	p := PrefixFor(hi)
	if lo > 0 && lo < hi*negligible {
		return Volts(lo) + " to " + Volts(hi)
	}
	return p.Digits(lo) + " to " + p.Digits(hi) + " " + p.Name + "V"
}

// negligible is the share below which the lower end of a range of voltages
// is as good as none.
const negligible = 1e-3

// Negligible reports whether a range's lower end is as good as none.
func Negligible(lo, hi result.Num) bool { return !(lo > hi*negligible) }

// Prefix is an SI prefix and its power of ten.
type Prefix struct {
	Name  string
	Scale float64
}

var prefixes = []Prefix{{"p", 1e-12}, {"n", 1e-9}, {"µ", 1e-6}, {"m", 1e-3}, {"", 1}, {"k", 1e3}}

// PrefixFor is the SI prefix in which v has one to three digits before the
// point once it is rounded to three digits.
func PrefixFor(v result.Num) Prefix {
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
func (p Prefix) Digits(v result.Num) string {
	if !v.Ok() {
		return unknown
	}
	x := math.Abs(float64(v) / p.Scale)
	if x == 0 {
		return "0"
	}
	order := int(math.Floor(math.Log10(x) + 0.0002)) // of the first digit, once rounded to three
	if order >= -1 {
		return Fixed(v/result.Num(p.Scale), max(2-order, 0))
	}
	order = int(math.Floor(math.Log10(x) + 0.002)) // once rounded to two
	return Fixed(v/result.Num(p.Scale), 1-order)
}

// DigitsUp is Digits of v rounded up: what is "below" something must stay true
// as it is printed.
func (p Prefix) DigitsUp(v result.Num) string {
	s := p.Digits(v)
	printed, err := strconv.ParseFloat(s, 64)
	if err != nil || printed*p.Scale >= float64(v)*(1-1e-9) {
		return s
	}
	_, decimals, _ := strings.Cut(s, ".")
	return p.Digits(result.Num((printed + math.Pow(10, -float64(len(decimals)))) * p.Scale))
}

// Count writes a count with its noun, e.g. "1 line", "3 lines".
func Count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func trimZeros(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// File writes a file's name, or any text from outside, so that it can neither
// command a terminal nor change the direction of the text around it: characters
// that print nothing are written as their code.
func File(name string) string {
	if name == "" {
		return "(no name)"
	}
	return Printable(name)
}

// Printable writes the characters of s that print nothing as their code.
func Printable(s string) string {
	var b strings.Builder
	for _, r := range strings.ToValidUTF8(s, "\ufffd") {
		switch {
		case r == ' ' || unicode.IsPrint(r):
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, "<U+%04X>", r)
		}
	}
	return b.String()
}

// Span writes which part of a file a side is, e.g. "90 s to 150 s".
func Span(s result.Side) string { return Seconds(s.StartS) + " to " + Seconds(s.EndS) }

// Averaged is Span, with what is left out of it.
func Averaged(s result.Side, h result.Health) string {
	if !(h.LeftOutS > 0) {
		return Span(s)
	}
	return Span(s) + " without " + tenths(float64(h.LeftOutS)) + " of bursts"
}

// tenths writes seconds that aren't known any closer.
func tenths(s float64) string { return Seconds(math.Round(10*s) / 10) }

// Format writes how a side's samples are written, e.g. "24 bit", "32-bit float".
func Format(s result.Side) string {
	if s.Float {
		return fmt.Sprintf("%d-bit float", s.Bits)
	}
	return fmt.Sprintf("%d bit", s.Bits)
}
