package measure

import (
	"math"
	"math/rand/v2"
	"testing"
)

// pieces hands frames on as files do, in pieces of any length.
func pieces(q *quasiPeaks, channels ...[]float64) {
	r := rand.New(rand.NewPCG(1, 2))
	for at := 0; at < len(channels[0]); {
		to := min(len(channels[0]), at+1+r.IntN(5000))
		part := make([][]float64, len(channels))
		for c, x := range channels {
			part[c] = x[at:to]
		}
		q.push(part)
		at = to
	}
}

// A sine at 1 kHz of -20 dBFS reads -20, steadily, and 63 Hz by 23.9 dB less (BS.468-4,
// table 1, to its 0.1 dB). A single burst of 5 kHz that lasts 10 ms, 40 dB above it, reads
// 6.4 dB less than a steady one (from memory of the Recommendation, 41 to 55 %), 11.7 dB
// more for its frequency, and leaves the median alone.
func TestQuasiPeakReadings(t *testing.T) {
	const rate, seconds = 48000, 6
	sine := func(hz, dbfs float64) []float64 {
		x := make([]float64, seconds*rate)
		for i := range x {
			x[i] = math.Pow(10, dbfs/20) * math.Sin(2*math.Pi*math.Mod(hz*float64(i)/rate, 1))
		}
		return x
	}
	steady, low, burst := sine(1000, -20), sine(63, -20), sine(1000, -60)
	for i := 4 * rate; i < 4*rate+rate/100; i++ {
		burst[i] += 0.1 * math.Sin(2*math.Pi*math.Mod(5000*float64(i)/rate, 1))
	}
	q := newQuasiPeaks(rate, 3)
	pieces(q, steady, low, burst)
	for _, c := range []struct {
		channel              int
		highest, median, tol float64
	}{{0, -20, -20, 0.02}, {1, -43.9, -43.9, 0.12}, {2, -20 + 11.7 - 6.4, -60, 1.4}} {
		r := q.of(c.channel)
		for name, x := range map[string][2]float64{"highest": {float64(r.HighestDBFS), c.highest}, "median": {float64(r.MedianDBFS), c.median}} {
			if math.Abs(x[0]-x[1]) > c.tol {
				t.Errorf("channel %d, %s: %.2f dBFS, want %.2f", c.channel, name, x[0], x[1])
			}
		}
	}
}

// What is shorter than the meter takes to settle has no reading.
func TestQuasiPeakOfAShortCapture(t *testing.T) {
	q := newQuasiPeaks(44100, 1)
	pieces(q, make([]float64, 2*44100))
	if r := q.of(0); r.HighestDBFS.Ok() || r.MedianDBFS.Ok() {
		t.Errorf("%+v", r)
	}
}
