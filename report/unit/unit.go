// Package unit takes in quantities as people write them, on a command line or in
// a file, and gives out estimates; and writes them again. A quantity is a decimal
// number with its unit, and where wanted what it may be off by: "2.0V ±3%",
// "40dB +-0.2dB", "10 kohm +/- 100ohm". There is this one grammar for all of
// them; what is done with a quantity isn't known here.
package unit

import "math"

// Unit is what a quantity is measured in: its spellings, which values are
// plausible, and in what a tolerance may be said.
type Unit struct {
	name    string // "voltage"
	example string
	lo, hi  float64 // plausible values, both included
	signs   []sign
	tells   tolerances
	ratio   bool // its numbers are decibels, to which a tolerance is added
}

// sign is one spelling of a unit. A number before it counts 10^exp · times, or
// where level is set is a level in decibels over times.
type sign struct {
	text  string
	exp   int
	times float64
	level bool
}

// tolerances are what the tolerance of a quantity may be said in.
type tolerances uint8

const (
	inPercent  tolerances = 1 << iota // of the value; of a level in decibels, of its amplitude
	inDecibels                        // also of a value that isn't a level
	inOwn                             // in the unit itself, levels aside
)

// The units. Where an SI prefix may stand before a unit, those that make sense do.
var (
	Volts   = Unit{"voltage", "2.0V, 500mV, 6dBV or 4dBu", 1e-9, 1e6, voltSigns(), inPercent | inDecibels | inOwn, false}
	Gain    = decibel("gain", "40dB", -200, 200, "dB", inPercent|inOwn)
	Hz      = Unit{"frequency", "5kHz or 800Hz", 1e-6, 1e6, si([]string{"Hz"}, "k"), inPercent | inOwn, false}
	Ohms    = Unit{"impedance", "20ohm or 10kohm", 1e-3, 1e9, si([]string{"ohm", "ohms", "Ohm", "Ω", "Ω"}, "m", "k", "M"), inPercent | inOwn, false}
	Farads  = Unit{"capacitance", "100pF", 1e-18, 1, si([]string{"F"}, "f", "p", "n", "u", "µ", "μ"), inPercent | inOwn, false}
	Henries = Unit{"inductance", "20nH", 1e-15, 1, si([]string{"H"}, "p", "n", "u", "µ", "μ", "m"), inPercent | inOwn, false}
	Amps    = Unit{"current", "2A or 500mA", 0, 1e3, si([]string{"A"}, "u", "µ", "μ", "m"), inPercent | inOwn, false}
	Metres  = Unit{"length", "10mm or 1.5m", 1e-6, 1e4, si([]string{"m"}, "m", "c"), inPercent | inOwn, false}
	Seconds = Unit{"time", "60s or 10min", 1e-3, 1e6, []sign{plain("s"), {"min", 0, 60, false}, {"h", 0, 3600, false}}, inPercent | inOwn, false}

	Decibels       = decibel("ratio", "3dB", -300, 300, "dB", inOwn)
	DBFS           = decibel("level", "-120dBFS", -300, 10, "dBFS", inDecibels)
	DBFSPerHz      = decibel("noise density", "-150dBFS/Hz", -300, 10, "dBFS/Hz", inDecibels)
	DBPerVolt      = decibel("sensitivity", "105dB/V", 0, 200, "dB/V", inDecibels)
	DBPerMilliwatt = decibel("sensitivity", "98dB/mW", 0, 200, "dB/mW", inDecibels)
)

// prefixes of the SI, as powers of ten; both micros are read, the Greek letter
// and the sign that was made for it.
var prefixes = map[string]int{"f": -15, "p": -12, "n": -9, "u": -6, "µ": -6, "μ": -6, "m": -3, "c": -2, "k": 3, "M": 6}

func plain(text string) sign { return sign{text, 0, 1, false} }

// si spells a unit with and without prefixes; what comes first is written.
func si(names []string, before ...string) (signs []sign) {
	for _, name := range names {
		signs = append(signs, plain(name))
		for _, p := range before {
			signs = append(signs, sign{p + name, prefixes[p], 1, false})
		}
	}
	return signs
}

// voltSigns are those of volts rms. 0 dBV is 1 V; 0 dBu is √0.6 V, 1 mW in 600 Ω.
func voltSigns() []sign {
	return append(si([]string{"V"}, "n", "u", "µ", "μ", "m"), sign{"dBV", 0, 1, true}, sign{"dBu", 0, math.Sqrt(0.6), true})
}

func decibel(name, example string, lo, hi float64, text string, tells tolerances) Unit {
	return Unit{name, example, lo, hi, []sign{plain(text)}, tells, true}
}

// sign is the spelling of a unit that a text ends in.
func (u Unit) sign(text string) (sign, bool) {
	for _, s := range u.signs {
		if s.text == text {
			return s, true
		}
	}
	return sign{}, false
}
