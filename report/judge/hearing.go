package judge

import (
	"math"
	"sort"
)

// hearingHz and hearingSPL are the reference threshold of hearing for pure tones in a free field,
// dB SPL, ISO 389-7:2019 and ISO 226:2023 (the same to 12.5 kHz).
var (
	hearingHz = []float64{
		20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800,
		1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500,
	}
	hearingSPL = []float64{
		78.1, 68.7, 59.5, 51.1, 44.0, 37.5, 31.5, 26.5, 22.1, 17.9, 14.4, 11.4, 8.6, 6.2, 4.4, 3.0, 2.2,
		2.4, 3.5, 1.7, -1.3, -4.2, -6.0, -5.4, -1.5, 6.0, 12.6, 13.9, 12.3,
	}
)

// threshold is the threshold of hearing of a pure tone, dB SPL, a median of young
// listeners: half of them hear what lies at it. It is interpolated between the
// standard's frequencies in the logarithm of frequency (a choice, not the standard's).
// Outside 20 Hz to 12.5 kHz it is NaN.
func threshold(f float64) float64 {
	last := len(hearingHz) - 1
	if !(f >= hearingHz[0] && f <= hearingHz[last]) {
		return math.NaN()
	}
	i := max(1, sort.SearchFloat64s(hearingHz, f))
	x := math.Log(f/hearingHz[i-1]) / math.Log(hearingHz[i]/hearingHz[i-1])
	return hearingSPL[i-1] + x*(hearingSPL[i]-hearingSPL[i-1])
}
