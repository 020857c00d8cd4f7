package words

import (
	"math"
	"strconv"

	"humdiff/report/result"
)

// Ohms writes an impedance, e.g. "20 Ω", "4.7 kΩ".
func Ohms(v result.Num) string {
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

// short writes a value in four digits at most.
func short(v result.Num) string { return strconv.FormatFloat(roundTo(float64(v), 4), 'f', -1, 64) }

func roundTo(x float64, digits int) float64 {
	y, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
	return y
}

// Between writes a range with its unit, e.g. "0.95 to 1.05 pF", "below 1.2 µV",
// "1.00 pF" where both ends are the same as printed, "none" where both are 0.
func Between(e result.Ends, unit string) string {
	if !e.Hi.Ok() {
		return unknown
	}
	if e.Hi == 0 {
		return "none"
	}
	p := PrefixFor(e.Hi)
	hi := p.Digits(e.Hi) + " " + p.Name + unit
	switch {
	case !e.Lo.Ok() || Negligible(e.Lo, e.Hi):
		return "below " + hi
	case p.Digits(e.Lo) == p.Digits(e.Hi):
		return hi
	}
	return p.Digits(e.Lo) + " to " + hi
}

// Stated writes a value of the bench with its tolerance, e.g. "20 Ω",
// "19 to 21 Ω"; write writes one end.
func Stated(e result.Ends, write func(result.Num) string) string {
	lo, hi := write(e.Lo), write(e.Hi)
	if lo == hi {
		return lo
	}
	return lo + " to " + hi
}

// FarEnd writes what stands at a cable's far end, e.g. "20 Ω", "open".
func FarEnd(b result.BenchConditions) string {
	if b.FarEndOpen {
		return "open"
	}
	return Stated(b.SourceOhms, Ohms)
}

// Lead writes the lead's voltage and frequency, e.g. "230 V, 50 Hz".
func Lead(b result.BenchConditions) string {
	return Stated(b.MainsVolts, func(v result.Num) string {
		if !v.Ok() {
			return "unknown voltage"
		}
		return short(v) + " V"
	}) + ", " + Hz(b.Hz)
}
