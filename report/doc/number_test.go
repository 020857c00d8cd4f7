package doc

import (
	"math"
	"testing"

	"humdiff/fixtures/kit"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// Expected strings follow from the SI Brochure (BIPM 2019, tables of prefixes)
// and from rounding by hand.
func TestNumbers(t *testing.T) {
	nan := model.Num(math.NaN())
	for _, c := range []struct{ got, want string }{
		{SI(1.449e-6, "V"), "1.45 µV"},
		{SI(126.4e-9, "V"), "126 nV"},
		{SI(999.4e-9, "V"), "999 nV"},
		{SI(999.6e-9, "V"), "1.00 µV"},
		{SI(99.96e-9, "V"), "100 nV"},
		{SI(9.996e-9, "V"), "10.0 nV"},
		{SI(0.0123, "V"), "12.3 mV"},
		{SI(2, "V"), "2.00 V"},
		{SI(0, "V"), "0 V"},
		{SI(-3.3e-6, "V"), "−3.30 µV"},
		{SI(3e-15, "V"), "0.0030 pV"},
		{SI(nan, "V"), "unknown"},
		{Quantity(estimate.Between(0.09e-6, 1.2e-6), "V"), "0.090 to 1.20 µV"},
		{Quantity(estimate.Between(0, 203e-9), "V"), "below 203 nV"},
		{Quantity(estimate.Between(1e-12, 203e-6), "V"), "below 203 µV"},
		{Prefix{"µ", 1e-6}.Digits(1.23e-9), "0.0012"},
		{Prefix{"µ", 1e-6}.Digits(0.00996e-6), "0.010"},
		{Prefix{"µ", 1e-6}.Digits(0.0402e-6), "0.040"},
		{Prefix{"µ", 1e-6}.Digits(0.3064e-6), "0.306"},
		{Prefix{"µ", 1e-6}.Digits(0.09996e-6), "0.100"},
		{DB(14.25), "14.2 dB"}, // 14.25 is exact in binary: half to even
		{DB(-0.04), "0.0 dB"},
		{DB(-0.06), "−0.1 dB"},
		{DBFS(-104), "−104.0 dBFS"},
		{DBFS(model.None), "unknown"},
		{dbRange(13.91, 14.52), "13.9 to 14.5"},
		{dbRange(13.91, 13.95), "13.91 to 13.95"},
		{DB(down(19.88)), "19.8 dB"},
		{DB(down(-2.11)), "−2.2 dB"},
		{DB(down(0.3)), "0.3 dB"}, // 0.3·10 is 3 but for the last bit
		{DB(up(-141.38)), "−141.3 dB"},
		{DB(up(-141.3)), "−141.3 dB"},
		{DB(up(-0.04)), "0.0 dB"},
		{DB(up(model.None)), "unknown"},
		{dbRange(-80.61, -80.59), "−80.61 to −80.59"},
		{dbRange(-80.601, -80.599), "−80.60"},
		{Delta(estimate.Of(14.23, 13.91, 14.52)), "14.2 dB"},
		{deltaLong(estimate.Of(14.23, 13.91, 14.52), 0.95), "14.2 dB (95 % interval 13.9 to 14.5 dB)"},
		{Delta(estimate.Above(9.19)), "at least 9.1 dB"},
		{Delta(estimate.Below(-9.19)), "at most −9.1 dB"},
		{Delta(estimate.None("")), "not measurable"},
		{Level(estimate.Below(-160.16)), "below −160.1 dBFS"},
		{Level(estimate.None("")), "unknown"},
		{Quantity(estimate.Below(1.2341e-6), "V"), "below 1.24 µV"},
		{Quantity(estimate.Below(0), "V"), "none"},
		{Quantity(estimate.Between(0.95e-12, 1.05e-12), "F"), "0.950 to 1.05 pF"},
		{Quantity(estimate.Between(1.0001e-12, 1.0002e-12), "F"), "1.00 pF"},
		{Hz(50), "50 Hz"},
		{Hz(49.98), "49.98 Hz"},
		{Hz(999.996), "1000 Hz"},
		{Hz(5000), "5 kHz"},
		{Hz(11200.41), "11.20041 kHz"},
		{ToneHz(1000.2), "1000.2 Hz"},
		{ToneHz(50.014), "50.01 Hz"},
		{Samples(model.Side{Bits: 24}), "24 bit"},
		{Samples(model.Side{Bits: 32, Float: true}), "32-bit float"},
		{mainsHz(49.98123, 0.0004), "49.9812 Hz ±0.0004 Hz"},
		{mainsHz(49.98123, 0.03), "49.98 Hz ±0.03 Hz"},
		{mainsHz(49.98123, 1e-9), "49.9812 Hz ±0.0001 Hz"},
		{mainsHz(50, model.None), "50 Hz"},
		{Seconds(60), "60 s"},
		{Seconds(1.5), "1.5 s"},
		{Percent(0.95), "95 %"},
		{Percent(0.975), "97.5 %"},
		{Count(1, "line"), "1 line"},
		{Count(0, "line"), "0 lines"},
		{File(""), "(no name)"},
		{File("a\x1b[31m\u202eb\n\xffc"), "a<U+001B>[31m<U+202E>b<U+000A>\ufffdc"},
		{File("/home/somebody/Example Ltd/Kabel 1.wav"), "Kabel 1.wav"},
		{File(`C:\Users\somebody\Kabel 1.wav#t=0,60`), "Kabel 1.wav#t=0,60"},
		{File("Kabel für Gerät.wav"), "Kabel für Gerät.wav"},
	} {
		kit.Same(t, c.got, c.want, "c.got")
	}
}

// One prefix and three digits give back the number within half a unit of the
// third digit, over the whole range of voltages.
func TestPrefixKeepsTheValue(t *testing.T) {
	for v := 1.1e-12; v < 900; v *= 1.07 {
		p := PrefixFor(model.Num(v))
		if x := v / p.Scale; x < 0.9995 || x >= 999.5 {
			t.Errorf("%g V is %g %sV", v, x, p.Name)
		}
	}
}
