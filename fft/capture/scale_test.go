package capture_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"humdiff/fft/capture"
)

// Levels: 0 dBu is √0.6 V, +4 dBu is 1.227652988 V, −10 dBV is 0.316227766 V (computed;
// rounded to 0.775 V, 1.228 V, 0.316 V in audio level handbooks, e.g.
// francoisgeorgy.ch/homestudio/handbook/audio-levels); 0 dBV is +2.218487496 dBu and
// −10 dBV is −7.781513 dBu (the same).
func TestParseVolts(t *testing.T) {
	for s, want := range map[string]float64{
		"2.0V":           2,
		"2V":             2,
		"2. V":           2,
		".5V":            0.5,
		"500mV":          0.5,
		"100uV":          1e-4,
		"100µV":          1e-4, // micro sign
		"100μV":          1e-4, // Greek mu
		"250nV":          2.5e-7,
		"+1.5V":          1.5,
		" 2.0 V ":        2,
		"0dBV":           1,
		"6dBV":           1.9952623149688795, // 10^0.3
		"-10dBV":         0.316227766016838,
		"−10 dBV":        0.316227766016838, // a typographic minus
		"0dBu":           0.774596669241483,
		"4dBu":           1.227652988,
		"+4dBu":          1.227652988,
		"2.218487496dBu": 1,
		"-7.781513dBu":   0.316227766,
		"20dBu":          7.74596669241483,
	} {
		got, err := capture.ParseVolts(s)
		// levels printed to six decimals are good to 5e-7 dB, 6e-8 of the voltage
		if err != nil || math.Abs(got/want-1) > 6e-8 {
			t.Errorf("%q: %v, %v; want %v V", s, got, err, want)
		}
	}
}

func TestParseVoltsRefuses(t *testing.T) {
	for s, want := range map[string]string{
		"":          `"" is no number with a unit`,
		"V":         `"V" is no number with a unit`,
		"2":         `"2" has no unit`,
		"2,0V":      `"2,0V" has a decimal comma`,
		"-0,5dBV":   `"-0,5dBV" has a decimal comma`,
		"2.0.1V":    `"2.0.1V" is no number with a unit`,
		"1e3V":      `"1e3V" is no number with a unit`,
		"InfV":      `"InfV" is no number with a unit`,
		"NaN V":     `"NaN V" is no number with a unit`,
		"2Vpp":      `"2Vpp" has a unit that is not known: "Vpp"`,
		"2MV":       `"2MV" has a unit that is not known: "MV"`,
		"2dBv":      `"2dBv" has a unit that is not known: "dBv"`,
		"40dB":      `"40dB" has a unit that is not known: "dB"`,
		"0V":        `"0V" is no plausible voltage`,
		"-1V":       `"-1V" is no plausible voltage`,
		"0.1nV":     `"0.1nV" is no plausible voltage`,
		"9999999V":  `"9999999V" is no plausible voltage`,
		"9999dBV":   `"9999dBV" is no plausible voltage`,
		"-9999dBu":  `"-9999dBu" is no plausible voltage`,
		"2.0V 40dB": `"2.0V 40dB" is no number with a unit`,

		strings.Repeat("9", 400) + "V": `"` + strings.Repeat("9", 400) + `V" is out of range`,
	} {
		got, err := capture.ParseVolts(s)
		if err == nil || err.Error() != want || capture.Hint(err) == "" {
			t.Errorf("%q: %v, %v (hint %q); want error %s", s, got, err, capture.Hint(err), want)
		}
	}
}

func TestParseGain(t *testing.T) {
	for s, want := range map[string]float64{"40dB": 40, "-6.5 dB": -6.5, "0dB": 0, "−20dB": -20} {
		if got, err := capture.ParseGain(s); err != nil || got != want {
			t.Errorf("%q: %v, %v; want %v", s, got, err, want)
		}
	}
	for s, want := range map[string]string{
		"40":     `"40" has no unit`,
		"40dBV":  `"40dBV" is no gain in dB`,
		"40,5dB": `"40,5dB" has a decimal comma`,
		"x":      `"x" is no number with a unit`,
		"400dB":  `"400dB" is no plausible gain`,
	} {
		if got, err := capture.ParseGain(s); err == nil || err.Error() != want || capture.Hint(err) == "" {
			t.Errorf("%q: %v, %v; want error %s", s, got, err, want)
		}
	}
}

func TestNewScale(t *testing.T) {
	for _, c := range []struct {
		fullScale, gain string
		want            capture.Scale
	}{
		{"", "", capture.Scale{}},
		{"2.0V", "", capture.Scale{Volts: 2, Said: "2.0V"}},
		{"2.0V", "40dB", capture.Scale{Volts: 0.02, Said: "2.0V less 40 dB of gain"}},
		{"1V", "-20 dB", capture.Scale{Volts: 10, Said: "1V less -20 dB of gain"}},
	} {
		got, err := capture.NewScale(c.fullScale, c.gain)
		if err != nil || got.Said != c.want.Said || math.Abs(got.Volts-c.want.Volts) > 1e-12 {
			t.Errorf("%q, %q: %+v, %v; want %+v", c.fullScale, c.gain, got, err, c.want)
		}
	}
	for _, c := range []struct{ fullScale, gain, want, hint string }{
		{"", "40dB", "a gain of 40dB alone gives no volts", "say what full scale is too, e.g. --full-scale 2.0V"},
		{"2", "40dB", `"2" has no unit`, "write the rms voltage of a full-scale sine, e.g. 2.0V, 500mV, 6dBV or 4dBu"},
		{"2V", "40", `"40" has no unit`, "write the gain ahead of the converter in dB, e.g. 40dB"},
	} {
		_, err := capture.NewScale(c.fullScale, c.gain)
		var e *capture.Error
		if !errors.As(err, &e) || e.Error() != c.want || e.Hint != c.hint {
			t.Errorf("%q, %q: %v; want %s", c.fullScale, c.gain, err, c.want)
		}
	}
}
