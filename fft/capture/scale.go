package capture

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"humdiff/fft/fault"
)

const (
	voltsHint = `write the rms voltage of a full-scale sine, e.g. 2.0V, 500mV, 6dBV or 4dBu`
	gainHint  = `write the gain ahead of the converter in dB, e.g. 40dB`
	maxGain   = 200 // dB either way; beyond is a slip
)

// dBu0 is 0 dBu in volts: 1 mW in 600 Ω, √0.6 V.
var dBu0 = math.Sqrt(0.6)

// ParseVolts reads a voltage in V, mV, uV (µV), nV, dBV (0 dBV is 1 V) or dBu
// (0 dBu is √0.6 V) and returns volts rms. A space before the unit is allowed.
func ParseVolts(s string) (float64, error) {
	x, unit, err := quantity(s, voltsHint)
	if err != nil {
		return 0, err
	}
	volts, err := toVolts(s, x, unit)
	if err != nil {
		return 0, err
	}
	if !(volts >= 1e-9 && volts <= 1e6) {
		return 0, fault.New(voltsHint, "%q is no plausible voltage", s)
	}
	return volts, nil
}

func toVolts(s string, x float64, unit string) (float64, error) {
	switch unit {
	case "V":
		return x, nil
	case "mV":
		return x / 1e3, nil
	case "uV", "µV", "μV": // micro sign and Greek mu
		return x / 1e6, nil
	case "nV":
		return x / 1e9, nil
	case "dBV":
		return math.Pow(10, x/20), nil
	case "dBu":
		return dBu0 * math.Pow(10, x/20), nil
	case "":
		return 0, fault.New(voltsHint, "%q has no unit", s)
	}
	return 0, fault.New(voltsHint, "%q has a unit that is not known: %q", s, unit)
}

// ParseGain reads a gain in dB.
func ParseGain(s string) (float64, error) {
	x, unit, err := quantity(s, gainHint)
	switch {
	case err != nil:
		return 0, err
	case unit == "":
		return 0, fault.New(gainHint, "%q has no unit", s)
	case unit != "dB":
		return 0, fault.New(gainHint, "%q is no gain in dB", s)
	case math.Abs(x) > maxGain:
		return 0, fault.New(gainHint, "%q is no plausible gain", s)
	}
	return x, nil
}

var (
	quantityForm = regexp.MustCompile(`^([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)) ?([A-Za-zµμ]*)$`)
	commaForm    = regexp.MustCompile(`^[+-]?[0-9]*,[0-9]`)
)

// quantity splits a decimal number from its unit.
func quantity(s, hint string) (x float64, unit string, err error) {
	s = strings.TrimSpace(s)
	if commaForm.MatchString(s) {
		return 0, "", fault.New("write it with a decimal point", "%q has a decimal comma", s)
	}
	m := quantityForm.FindStringSubmatch(strings.Replace(s, "−", "-", 1)) // a typographic minus is a minus
	if m == nil {
		return 0, "", fault.New(hint, "%q is no number with a unit", s)
	}
	x, err = strconv.ParseFloat(m[1], 64)
	if err != nil {
		return 0, "", fault.New(hint, "%q is out of range", s)
	}
	return x, m[2], nil
}
