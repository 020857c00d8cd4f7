package capture_test

import (
	"math"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
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
		if err == nil || err.Error() != want || fault.Hint(err) == "" {
			t.Errorf("%q: %v, %v (hint %q); want error %s", s, got, err, fault.Hint(err), want)
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
		if got, err := capture.ParseGain(s); err == nil || err.Error() != want || fault.Hint(err) == "" {
			t.Errorf("%q: %v, %v; want error %s", s, got, err, want)
		}
	}
}

// Limits in dB: −20·lg(1 − p), computed: 0.5 % is 0.04354 dB, 5 % 0.44553 dB.
func TestParseStated(t *testing.T) {
	for s, want := range map[string]capture.Stated{
		"1.0V":             {Value: 1, Within: math.NaN(), Said: "1.0V"},
		"1.0V ±0.5%":       {Value: 1, Within: 0.04354, Said: "1.0V ±0.5%"},
		"1.0V+-0.5 %":      {Value: 1, Within: 0.04354, Said: "1.0V+-0.5 %"},
		"500mV +/- 5%":     {Value: 0.5, Within: 0.44553, Said: "500mV +/- 5%"},
		" -10dBV ±0.1 dB ": {Value: 0.316227766, Within: 0.1, Said: "-10dBV ±0.1 dB"},
		"1V ±5mV":          {Value: 1, Within: 0.04354, Said: "1V ±5mV"},
		"2V ±0%":           {Value: 2, Within: 0, Said: "2V ±0%"},
	} {
		got, err := capture.ParseStatedVolts(s)
		if err != nil || math.Abs(got.Value-want.Value) > 1e-9 || got.Said != want.Said ||
			math.IsNaN(got.Within) != math.IsNaN(want.Within) || math.Abs(got.Within-want.Within) > 1e-5 {
			t.Errorf("%q: %+v, %v; want %+v", s, got, err, want)
		}
	}
	got, err := capture.ParseStatedGain("40dB ±0.2dB")
	if err != nil || got.Value != 40 || got.Within != 0.2 {
		t.Errorf("gain: %+v, %v", got, err)
	}
	for _, s := range []string{"1V ±", "1V ±x", "1V ±5", "1V ±5dBV", "1V ±-1%", "1V ±100%", "1V ±9dB", "1V ±5mV%", "1V ±1% ±1%", "±1%"} {
		if got, err := capture.ParseStatedVolts(s); err == nil || fault.Hint(err) == "" {
			t.Errorf("%q: taken as %+v (hint %q)", s, got, fault.Hint(err))
		}
	}
	for _, s := range []string{"40dB ±1mV", "40 ±1dB", "40dB ±"} {
		if got, err := capture.ParseStatedGain(s); err == nil || fault.Hint(err) == "" {
			t.Errorf("%q: taken as %+v", s, got)
		}
	}
}

func TestParseTone(t *testing.T) {
	for s, want := range map[string]struct {
		path, said string
		channel    int
		hz         float64
	}{
		"tone.wav=1.0V":                         {"tone.wav", "1.0V", 0, 0},
		"tone.wav#t=1,3&ch=2=1000mV ±1%":        {"tone.wav", "1000mV ±1%", 2, 0},
		"a=b.wav=0dBu at 60 Hz":                 {"a=b.wav", "0dBu", 0, 60},
		"tone at 1kHz.wav=1V ±0.1dB at 1.02kHz": {"tone at 1kHz.wav", "1V ±0.1dB", 0, 1020},
	} {
		got, err := capture.ParseTone(s)
		if err != nil || got.Path != want.path || got.Volts.Said != want.said || got.Channel != want.channel || got.Hz != want.hz {
			t.Errorf("%q: %+v, %v; want %+v", s, got, err, want)
		}
	}
	for _, s := range []string{"tone.wav", "tone.wav=", "=1V", "tone.wav=1", "tone.wav=1V at", "tone.wav=1V at 50", "tone.wav=1V at 0Hz", "tone.wav#t=1,3"} {
		if got, err := capture.ParseTone(s); err == nil || fault.Hint(err) == "" {
			t.Errorf("%q: taken as %+v, %v", s, got, err)
		}
	}
}
