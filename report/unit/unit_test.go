package unit_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"humdiff/fft/fault"
	"humdiff/report/unit"
)

var nan = math.NaN()

// Values follow from the SI Brochure's prefixes (BIPM 2019). 0 dBu is √0.6 V, so
// +4 dBu is 1.227652988 V and 2.218487496 dBu is 1 V; −10 dBV is 0.316227766 V
// (computed; rounded to 0.775, 1.228 and 0.316 V in audio level handbooks, e.g.
// francoisgeorgy.ch/homestudio/handbook/audio-levels). Tolerances follow from
// their meaning: of a gain 5 % are −20·lg 0.95 = 0.44553 dB.
func TestParse(t *testing.T) {
	for _, c := range []struct {
		unit          unit.Unit
		in            string
		value, lo, hi float64
	}{
		{unit.Volts, "2.0V", 2, nan, nan}, {unit.Volts, "2. V", 2, nan, nan}, {unit.Volts, ".5V", 0.5, nan, nan},
		{unit.Volts, "500mV", 0.5, nan, nan}, {unit.Volts, "100uV", 1e-4, nan, nan}, {unit.Volts, "100µV", 1e-4, nan, nan},
		{unit.Volts, "100μV", 1e-4, nan, nan}, {unit.Volts, "250nV", 2.5e-7, nan, nan}, {unit.Volts, " +1.5 V ", 1.5, nan, nan},
		{unit.Volts, "1e3V", 1000, nan, nan}, {unit.Volts, "0dBV", 1, nan, nan}, {unit.Volts, "6dBV", 1.9952623149688795, nan, nan},
		{unit.Volts, "−10 dBV", 0.316227766, nan, nan}, {unit.Volts, "4dBu", 1.227652988, nan, nan}, {unit.Volts, "2.218487496dBu", 1, nan, nan},
		{unit.Volts, "2.0V+/-3%", 2, 1.94, 2.06}, {unit.Volts, "2.0V+-3 %", 2, 1.94, 2.06}, {unit.Volts, "230 V ± 10%", 230, 207, 253},
		{unit.Volts, "1V ±5mV", 1, 0.995, 1.005}, {unit.Volts, "2V ±0%", 2, 2, 2}, {unit.Volts, "0dBV ±6.020599913dB", 1, 0.5, 2},
		{unit.Gain, "40dB", 40, nan, nan}, {unit.Gain, "-6.5 dB", -6.5, nan, nan}, {unit.Gain, "−20dB", -20, nan, nan},
		{unit.Gain, "40dB ±0.2dB", 40, 39.8, 40.2}, {unit.Gain, "40dB+-5%", 40, 39.55447, 40.44553},
		{unit.Hz, "5kHz", 5000, nan, nan}, {unit.Hz, "1.02 kHz ±1Hz", 1020, 1019, 1021},
		{unit.Ohms, "20ohm", 20, nan, nan}, {unit.Ohms, "1 MΩ", 1e6, nan, nan}, {unit.Ohms, "4.7kΩ", 4700, nan, nan}, {unit.Ohms, "5mohm", 0.005, nan, nan},
		{unit.Ohms, "20ohm+-5%", 20, 19, 21}, {unit.Ohms, "10 kΩ ± 100ohm", 1e4, 9900, 10100},
		{unit.Farads, "100pF", 1e-10, nan, nan}, {unit.Farads, ".69pF", 0.69e-12, nan, nan}, {unit.Farads, "2 fF", 2e-15, nan, nan}, {unit.Farads, "1µF", 1e-6, nan, nan},
		{unit.Amps, "0A", 0, nan, nan}, {unit.Amps, "500mA±10%", 0.5, 0.45, 0.55},
		{unit.Metres, "10mm", 0.01, nan, nan}, {unit.Metres, "30 cm ±5mm", 0.3, 0.295, 0.305}, {unit.Seconds, "10min", 600, nan, nan},
		{unit.Decibels, "+3dB ±1dB", 3, 2, 4},
		{unit.DBFS, "-120dBFS ±0.5dB", -120, -120.5, -119.5}, {unit.DBFSPerHz, "−150dBFS/Hz", -150, nan, nan},
		{unit.DBPerVolt, "105dB/V", 105, nan, nan}, {unit.DBPerMilliwatt, "98dB/mW ±3dB", 98, 95, 101},
	} {
		e, err := c.unit.Parse(c.in)
		value, lo, hi := e.Numbers()
		if err != nil || !same(value, c.value) || !same(lo, c.lo) || !same(hi, c.hi) {
			t.Errorf("%q: %v (%v), want %g (%g to %g)", c.in, e, err, c.value, c.lo, c.hi)
		}
	}
}

// same to what values printed to nine digits, or decibels to five places, are good to.
func same(got, want float64) bool {
	return math.IsNaN(got) && math.IsNaN(want) || math.Abs(got-want) <= 3e-7*math.Abs(want)
}

// What can't be meant is refused, and says what to write instead.
func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		unit           unit.Unit
		in, what, hint string
	}{
		{unit.Volts, "", `"" is no number with a unit`, "such as 2.0V"},
		{unit.Volts, "V", `"V" is no number with a unit`, "such as 2.0V"},
		{unit.Volts, "2", `"2" has no unit`, "such as 2.0V"},
		{unit.Volts, "2,0V", `"2,0V" has a decimal comma`, "decimal point"},
		{unit.Volts, "2.0.1V", `"2.0.1V" is no number with a unit`, "such as 2.0V"},
		{unit.Volts, "InfV", `"InfV" is no number with a unit`, "such as 2.0V"},
		{unit.Volts, "NaN V", `"NaN V" is no number with a unit`, "such as 2.0V"},
		{unit.Volts, "2Vpp", `"2Vpp" is no voltage: its unit is "Vpp"`, "such as 2.0V"},
		{unit.Volts, "2MV", `"2MV" is no voltage: its unit is "MV"`, "such as 2.0V"},
		{unit.Volts, "0V", `"0V" is no plausible voltage`, "such as 2.0V"},
		{unit.Volts, "-1V", `"-1V" is no plausible voltage`, "such as 2.0V"},
		{unit.Volts, "9999dBV", `"9999dBV" is no plausible voltage`, "such as 2.0V"},
		{unit.Volts, "2.0V 40dB", `"2.0V 40dB" is no number with a unit`, "such as 2.0V"},
		{unit.Volts, "1e999V", `"1e999V" is out of range`, "such as 2.0V"},
		{unit.Volts, "1V ±", `"1V ±" has a tolerance that can't be read`, `such as "1V ±5%"`},
		{unit.Volts, "1V ±x", `"1V ±x" has a tolerance that can't be read`, `such as "1V ±5%"`},
		{unit.Volts, "1V ±5", `"1V ±5" says nothing that the value could be off by`, `such as "1V ±5%"`},
		{unit.Volts, "1V ±5dBV", `"1V ±5dBV" says nothing that the value could be off by`, `such as "1V ±5%"`},
		{unit.Volts, "1V ±5mV%", `"1V ±5mV%" says nothing that the value could be off by`, `such as "1V ±5%"`},
		{unit.Volts, "1V ±-1%", `"1V ±-1%" has no plausible tolerance`, `such as "1V ±5%"`},
		{unit.Volts, "1V ±100%", `"1V ±100%" leaves no value: its tolerance is all of it`, `such as "1V ±5%"`},
		{unit.Volts, "1V ±1% ±1%", `"1V ±1% ±1%" has a tolerance that can't be read`, `such as "1V ±5%"`},
		{unit.Volts, "±1%", `"" is no number with a unit`, "such as 2.0V"},
		{unit.Gain, "40", `"40" has no unit`, "such as 40dB"},
		{unit.Gain, "40dBV", `"40dBV" is no gain: its unit is "dBV"`, "such as 40dB"},
		{unit.Gain, "400dB", `"400dB" is no plausible gain`, "such as 40dB"},
		{unit.Gain, "40dB ±1mV", `"40dB ±1mV" says nothing that the value could be off by`, `such as "40dB ±0.1dB"`},
		{unit.Gain, "40dB ±100%", `"40dB ±100%" has no plausible tolerance`, `such as "40dB ±0.1dB"`},
		{unit.Hz, "0Hz", `"0Hz" is no plausible frequency`, "such as 5kHz"},
		{unit.Ohms, "20V", `"20V" is no impedance: its unit is "V"`, "such as 20ohm"},
		{unit.Ohms, "20ohm+-1dB", `"20ohm+-1dB" says nothing that the value could be off by`, `such as "20ohm ±5%"`},
		{unit.Ohms, "20ohm+-20ohm", `"20ohm+-20ohm" leaves no value: its tolerance is all of it`, `such as "20ohm ±5%"`},
		{unit.Ohms, "1e12ohm", `"1e12ohm" is no plausible impedance`, "such as 20ohm"},
		{unit.Decibels, "3dB ±5%", `"3dB ±5%" says nothing that the value could be off by`, `such as "3dB ±1dB"`},
	} {
		e, err := c.unit.Parse(c.in)
		if err == nil || err.Error() != c.what || !strings.Contains(fault.Hint(err), c.hint) {
			t.Errorf("%q: %v, %v (hint %q)", c.in, e, err, fault.Hint(err))
		}
	}
	if v, err := unit.Hz.Number("5kHz ±1%"); err == nil || fault.Hint(err) != "write 5kHz alone" {
		t.Errorf("a tolerance of which no use is made is taken: %g, %v", v, err)
	}
}

func ExampleUnit_WriteNumber() {
	for _, s := range []string{"0.5V", "0dBV", "10000ohm", "0.0000000001F", "30cm", "40dB", "1500ms"} {
		for _, u := range []unit.Unit{unit.Volts, unit.Ohms, unit.Farads, unit.Metres, unit.Gain} {
			if v, err := u.Number(s); err == nil {
				fmt.Println(u.WriteNumber(v))
			}
		}
	}
	// Output:
	// 500mV
	// 1V
	// 10kohm
	// 100pF
	// 300mm
	// 40dB
}

// What is written reads back as it was, to the last bit.
func TestWriteReadsBack(t *testing.T) {
	units := []unit.Unit{unit.Volts, unit.Ohms, unit.Farads, unit.Amps, unit.Metres, unit.Hz, unit.Seconds}
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(units).Draw(t, "unit")
		s := fmt.Sprintf("%de%d%s", rapid.IntRange(1, 999999).Draw(t, "digits"), rapid.IntRange(-9, 0).Draw(t, "exponent"), u.WriteNumber(1)[1:])
		v, err := u.Number(s)
		if err != nil {
			return // not plausible
		}
		if again, err := u.Number(u.WriteNumber(v)); err != nil || again != v {
			t.Fatalf("%s: %v written as %s, read as %v (%v)", s, v, u.WriteNumber(v), again, err)
		}
	})
}

func TestParseTone(t *testing.T) {
	for s, want := range map[string]struct {
		path, said string
		channel    int
		hz         float64
	}{
		"tone.wav=1.0V":                         {"tone.wav", "1.0V", 0, 0},
		"tone.wav=1.0V@1kHz":                    {"tone.wav", "1.0V", 0, 1000},
		"tone.wav#t=1,3&ch=2=1000mV ±1%":        {"tone.wav", "1000mV ±1%", 2, 0},
		"a=b.wav=0dBu at 60 Hz":                 {"a=b.wav", "0dBu", 0, 60},
		"tone at 1kHz.wav=1V ±0.1dB at 1.02kHz": {"tone at 1kHz.wav", "1V ±0.1dB", 0, 1020},
	} {
		got, err := unit.ParseTone(s)
		if err != nil || got.Path != want.path || got.Said != want.said || got.Channel != want.channel || got.Hz != want.hz || !got.Volts.Measured() {
			t.Errorf("%q: %+v, %v; want %+v", s, got, err, want)
		}
	}
	for _, s := range []string{"tone.wav", "tone.wav=", "=1V", "tone.wav=1", "tone.wav=1V at", "tone.wav=1V at 50", "tone.wav=1V at 0Hz", "tone.wav=1V@", "tone.wav#t=1,3"} {
		if got, err := unit.ParseTone(s); err == nil || fault.Hint(err) == "" {
			t.Errorf("%q: taken as %+v, %v", s, got, err)
		}
	}
}
