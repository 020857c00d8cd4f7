package unit

import (
	"regexp"
	"strings"

	"humdiff/fft/capture"
	"humdiff/fft/estimate"
	"humdiff/fft/fault"
)

// Tone is a calibration as it was given: a capture, and the rms voltage of the
// tone in it.
type Tone struct {
	capture.Address
	Name  string // of its file, where results aren't to call that by its path; empty: they are
	Volts estimate.Estimate
	Said  string  // the voltage as given, without blanks around it
	Hz    float64 // which tone is meant; 0: the strongest
}

const toneHint = `write a capture and its tone's rms voltage, such as --calibration "tone.wav=1.0V", or "tone.wav=1.0V ±0.5% at 1kHz"`

var atForm = regexp.MustCompile(`^(.*[^ ]) *(?: at +|@ *)([^ ].*)$`)

// ParseTone reads CAPTURE=VOLTAGE, with the voltage's tolerance and the tone's
// frequency behind it if they are given: "tone.wav=1.0V ±0.5% at 1kHz", or
// "tone.wav=1.0V@1kHz".
func ParseTone(s string) (Tone, error) {
	at := strings.LastIndex(s, "=")
	if at < 0 || !strings.ContainsAny(s[at+1:], "0123456789") {
		return Tone{}, fault.New(toneHint, "%q names no voltage", s)
	}
	tone := Tone{Said: strings.TrimSpace(s[at+1:])}
	var err error
	if m := atForm.FindStringSubmatch(tone.Said); m != nil {
		if tone.Hz, err = Hz.Number(m[2]); err != nil {
			return Tone{}, err
		}
		tone.Said = m[1]
	}
	if tone.Volts, err = Volts.Parse(tone.Said); err != nil {
		if e, ok := err.(*fault.Error); ok && e.Hint == Volts.hint() {
			e.Hint = toneHint
		}
		return Tone{}, err
	}
	tone.Address, err = capture.ParseAddress(s[:at])
	return tone, err
}
