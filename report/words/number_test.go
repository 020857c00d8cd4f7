package words

import (
	"math"
	"testing"

	"humdiff/report/result"
)

// Expected strings follow from the SI Brochure (BIPM 2019, tables of prefixes)
// and from rounding by hand.
func TestNumbers(t *testing.T) {
	nan := result.Num(math.NaN())
	for _, c := range []struct{ got, want string }{
		{Volts(1.449e-6), "1.45 µV"},
		{Volts(126.4e-9), "126 nV"},
		{Volts(999.4e-9), "999 nV"},
		{Volts(999.6e-9), "1.00 µV"},
		{Volts(99.96e-9), "100 nV"},
		{Volts(9.996e-9), "10.0 nV"},
		{Volts(0.0123), "12.3 mV"},
		{Volts(2), "2.00 V"},
		{Volts(0), "0 V"},
		{Volts(-3.3e-6), "-3.30 µV"},
		{Volts(3e-15), "0.0030 pV"},
		{Volts(nan), "unknown"},
		{VoltsRange(0.09e-6, 1.2e-6), "0.090 to 1.20 µV"},
		{VoltsRange(0, 203e-9), "0 to 203 nV"},
		{VoltsRange(1e-12, 203e-6), "1.00 pV to 203 µV"},
		{Prefix{"µ", 1e-6}.Digits(1.23e-9), "0.0012"},
		{Prefix{"µ", 1e-6}.Digits(0.00996e-6), "0.010"},
		{Prefix{"µ", 1e-6}.Digits(0.0402e-6), "0.040"},
		{Prefix{"µ", 1e-6}.Digits(0.3064e-6), "0.306"},
		{Prefix{"µ", 1e-6}.Digits(0.09996e-6), "0.100"},
		{DB(14.25), "14.2 dB"}, // 14.25 is exact in binary: half to even
		{DB(-0.04), "0.0 dB"},
		{DB(-0.06), "-0.1 dB"},
		{DBFS(-104), "-104.0 dBFS"},
		{DBFS(result.None), "unknown dBFS"},
		{DBRange(13.91, 14.52), "13.9 to 14.5"},
		{DBRange(13.91, 13.95), "13.91 to 13.95"},
		{DB(Down(19.88)), "19.8 dB"},
		{DB(Down(-2.11)), "-2.2 dB"},
		{DB(Down(0.3)), "0.3 dB"}, // 0.3·10 is 3 but for the last bit
		{DB(Up(-141.38)), "-141.3 dB"},
		{DB(Up(-141.3)), "-141.3 dB"},
		{DB(Up(-0.04)), "0.0 dB"},
		{DB(Up(result.None)), "unknown dB"},
		{Hz(50), "50 Hz"},
		{Hz(49.98), "49.98 Hz"},
		{Hz(999.996), "1000 Hz"},
		{Hz(5000), "5 kHz"},
		{Hz(11200.41), "11.20041 kHz"},
		{ToneHz(1000.2), "1000.2 Hz"},
		{ToneHz(50.014), "50.01 Hz"},
		{Format(result.Side{Bits: 24}), "24 bit"},
		{Format(result.Side{Bits: 32, Float: true}), "32-bit float"},
		{MainsHz(49.98123, 0.0004), "49.9812 Hz ±0.0004 Hz"},
		{MainsHz(49.98123, 0.03), "49.98 Hz ±0.03 Hz"},
		{MainsHz(49.98123, 1e-9), "49.9812 Hz ±0.0001 Hz"},
		{MainsHz(50, result.None), "50 Hz"},
		{Seconds(60), "60 s"},
		{Seconds(1.5), "1.5 s"},
		{Percent(0.95), "95 %"},
		{Percent(0.975), "97.5 %"},
		{Count(1, "line"), "1 line"},
		{Count(0, "line"), "0 lines"},
		{File(""), "(no name)"},
		{File("a\x1b[31m\u202eb\n\xffc"), "a<U+001B>[31m<U+202E>b<U+000A>\ufffdc"},
		{File("Kabel für Gerät.wav"), "Kabel für Gerät.wav"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

// One prefix and three digits give back the number within half a unit of the
// third digit, over the whole range of voltages.
func TestPrefixKeepsTheValue(t *testing.T) {
	for v := 1.1e-12; v < 900; v *= 1.07 {
		p := PrefixFor(result.Num(v))
		if x := v / p.Scale; x < 0.9995 || x >= 999.5 {
			t.Errorf("%g V is %g %sV", v, x, p.Name)
		}
	}
}
