package quantity

import (
	"math"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
)

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Abs(b) }

// Values follow from the SI Brochure's prefixes (BIPM 2019).
func TestParse(t *testing.T) {
	for _, c := range []struct {
		unit Unit
		in   string
		want float64
	}{
		{Ohms, "20ohm", 20}, {Ohms, "10kohm", 1e4}, {Ohms, "1 MΩ", 1e6}, {Ohms, "4.7kΩ", 4700}, {Ohms, "5mohm", 0.005},
		{Farads, "100pF", 1e-10}, {Farads, ".69pF", 0.69e-12}, {Farads, "2 fF", 2e-15}, {Farads, "1µF", 1e-6},
		{Amps, "0A", 0}, {Amps, "500mA", 0.5}, {Metres, "10mm", 0.01}, {Metres, "1.5m", 1.5}, {Metres, "30 cm", 0.3},
		{Seconds, "10min", 600}, {Percent, "80%", 0.8}, {Percent, "95 %", 0.95},
		{DBFSPerHz, "−150dBFS/Hz", -150}, {DBPerMilli, "98dB/mW", 98}, {Decibels, "+3dB", 3},
	} {
		got, err := c.unit.Parse(c.in)
		if err != nil || math.Abs(got-c.want) > 1e-12*math.Abs(c.want) {
			t.Errorf("%q: got %g, %v, want %g", c.in, got, err, c.want)
		}
	}
}

func TestTolerance(t *testing.T) {
	for in, want := range map[string]Range{
		"20ohm":        {20, 20},
		"20ohm+-5%":    {19, 21},
		"10 kΩ ± 10 %": {9000, 11000},
	} {
		got, err := Ohms.Range(in)
		if err != nil || !near(got.Lo, want.Lo) || !near(got.Hi, want.Hi) {
			t.Errorf("%q: got %v, %v", in, got, err)
		}
	}
	if r, err := WithTolerance("230V+-10%", capture.ParseVolts); err != nil || !near(r.Lo, 207) || !near(r.Hi, 253) || !near(r.Mid(), 230) {
		t.Errorf("got %v, %v", r, err)
	}
}

// What can't be meant is refused, and says what to write instead.
func TestRefused(t *testing.T) {
	for in, hint := range map[string]string{
		"20": "such as 20ohm", "20V": "such as 20ohm", "ohm": "such as 20ohm", "": "such as 20ohm", "2,2kohm": "decimal point",
		"-3ohm": "such as 20ohm", "1e12ohm": "such as 20ohm", "20ohm+-": "percent", "20ohm+-1ohm": "percent",
		"20ohm+-100%": "below 100", "NaN ohm": "such as 20ohm", "20 ohm 30": "such as 20ohm",
	} {
		_, err := Ohms.Range(in)
		if err == nil || !strings.Contains(fault.Hint(err), hint) {
			t.Errorf("%q: %v, hint %q", in, err, fault.Hint(err))
		}
	}
}
