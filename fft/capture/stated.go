package capture

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"humdiff/fft/fault"
)

// Stated is a voltage or a gain as it was given, with the limits within which
// it is said to lie.
type Stated struct {
	Value  float64 // volts rms, or dB of gain
	Within float64 // dB to either side; NaN where nothing was said
	Said   string  // as given, without blanks around it
}

// Tone is a calibration as it was given: a capture, and the rms voltage of the
// tone in it.
type Tone struct {
	Address
	Volts Stated
	Hz    float64 // which tone is meant; 0: the strongest
}

const (
	withinHint = `write what it may be off by behind it, e.g. "1.0V ±0.5%" or "40dB ±0.1dB"; "+-" is read as "±"`
	toneHint   = `write a capture and its tone's rms voltage, such as --calibration "tone.wav=1.0V", or "tone.wav=1.0V ±0.5% at 1kHz"`
	// widest is the limit beyond which a scale says nothing worth having.
	widest = 6 // dB
)

// ParseStatedVolts reads a voltage as ParseVolts does, and behind it, if it is
// there, "±" and what it may be off by: a percentage, decibels, or volts.
func ParseStatedVolts(s string) (Stated, error) {
	value, within, said := cutWithin(s)
	volts, err := ParseVolts(value)
	if err != nil {
		return Stated{}, err
	}
	db, err := parseWithin(within, said, volts)
	return Stated{volts, db, strings.TrimSpace(s)}, err
}

// ParseStatedGain reads a gain as ParseGain does, with its limits as above.
func ParseStatedGain(s string) (Stated, error) {
	value, within, said := cutWithin(s)
	gain, err := ParseGain(value)
	if err != nil {
		return Stated{}, err
	}
	db, err := parseWithin(within, said, math.NaN())
	return Stated{gain, db, strings.TrimSpace(s)}, err
}

var (
	plusMinus = regexp.MustCompile(`±|\+/?-`)
	atForm    = regexp.MustCompile(`^(.*[^ ]) +at +([^ ].*)$`)
)

func cutWithin(s string) (value, within string, said bool) {
	at := plusMinus.FindStringIndex(s)
	if at == nil {
		return strings.TrimSpace(s), "", false
	}
	return strings.TrimSpace(s[:at[0]]), strings.TrimSpace(s[at[1]:]), true
}

// parseWithin is limits in dB; where they lie unevenly in dB, the wider one.
func parseWithin(s string, said bool, volts float64) (float64, error) {
	if !said {
		return math.NaN(), nil
	}
	share, isShare := strings.CutSuffix(s, "%")
	if isShare {
		share += " " // a number alone
	}
	x, unit, err := quantity(strings.TrimSpace(share), withinHint)
	if err != nil {
		return 0, err
	}
	switch {
	case isShare && unit == "":
		x = -20 * math.Log10(1-x/100)
	case unit == "dB":
	case !math.IsNaN(volts) && !isShare && unit != "" && !strings.HasPrefix(unit, "dB"):
		off, err := toVolts(s, x, unit)
		if err != nil {
			return 0, err
		}
		x = -20 * math.Log10(1-off/volts)
	default:
		return 0, fault.New(withinHint, "%q says nothing that a value could be off by", s)
	}
	if !(x >= 0 && x <= widest) { // NaN too
		return 0, fault.New(withinHint, "±%s is no plausible uncertainty", s)
	}
	return x, nil
}

// ParseTone reads CAPTURE=VOLTAGE, with the voltage's limits and the tone's
// frequency behind it if they are given: "tone.wav=1.0V ±0.5% at 1kHz".
func ParseTone(s string) (Tone, error) {
	at := strings.LastIndex(s, "=")
	if at < 0 || !strings.ContainsAny(s[at+1:], "0123456789") {
		return Tone{}, fault.New(toneHint, "%q names no voltage", s)
	}
	said, hz := strings.TrimSpace(s[at+1:]), 0.0
	if m := atForm.FindStringSubmatch(said); m != nil {
		var err error
		if hz, err = ParseHz(m[2]); err != nil {
			return Tone{}, err
		}
		said = m[1]
	}
	volts, err := ParseStatedVolts(said)
	if err != nil {
		return Tone{}, hinted(err, toneHint)
	}
	addr, err := ParseAddress(s[:at])
	if err != nil {
		return Tone{}, err
	}
	return Tone{addr, volts, hz}, nil
}

// hinted gives an error another hint, unless what is wrong is the limits.
func hinted(err error, hint string) error {
	if e, ok := err.(*fault.Error); ok && e.Hint == voltsHint {
		e.Hint = hint
	}
	return err
}

// ParseHz reads a frequency in Hz or kHz.
func ParseHz(s string) (float64, error) {
	const hint = "write a number and its unit, such as 5kHz or 800Hz"
	x, unit, err := quantity(s, hint)
	switch {
	case err != nil:
		return 0, err
	case unit == "kHz":
		x *= 1000
	case unit != "Hz":
		return 0, fault.New(hint, "%q is no frequency", s)
	}
	if !(x > 0 && x < 1e6) {
		return 0, fault.New(hint, "%q is no plausible frequency", s)
	}
	return x, nil
}

// Decimal writes the shortest decimal that reads back as x.
func Decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
