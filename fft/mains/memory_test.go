package mains_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"runtime"
	"runtime/debug"
	"testing"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/kit"
)

// stream is a capture made as it is read: hum of 49.98 Hz at −60 dBFS, its
// third harmonic 20 dB below, in noise. However long, it holds nothing.
type stream struct {
	rate, channels int
	frames         int64
	onRead         func(share float64) // called now and then
}

func (s stream) Rate() int     { return s.rate }
func (s stream) Channels() int { return s.channels }
func (s stream) Frames() int64 { return s.frames }

func (s stream) Read(_ context.Context, do func(frames [][]float64) error) error {
	turn := 2 * math.Pi * 49.98 / float64(s.rate)
	r := streaming{at: complex(0, 0.001), turn: complex(math.Cos(turn), math.Sin(turn)), seed: 1}
	x, frames := make([]float64, capture.Block), make([][]float64, s.channels)
	for pos := int64(0); pos < s.frames; {
		n := min(int64(len(x)), s.frames-pos)
		r.fill(x[:n])
		for c := range frames {
			frames[c] = x[:n]
		}
		if err := do(frames); err != nil {
			return err
		}
		if grain := s.frames / 40; s.onRead != nil && pos/grain != (pos+n)/grain {
			s.onRead(float64(pos) / float64(s.frames))
		}
		pos += n
	}
	return nil
}

type streaming struct {
	at, turn complex128 // the fundamental as a phasor that turns
	seed     uint64
}

func (r *streaming) fill(x []float64) {
	for i := range x {
		r.at *= r.turn
		// Marsaglia's xorshift (2003): even noise is all that is wanted.
		r.seed ^= r.seed << 13
		r.seed ^= r.seed >> 7
		r.seed ^= r.seed << 17
		third := real(r.at * r.at * r.at)
		x[i] = real(r.at) + third*1e5 + float64(int64(r.seed))*0x1p-83
	}
}

// measured checks that the stream's hum was found.
func measured(t *testing.T, s stream, opt mains.Options) {
	t.Helper()
	m := kit.Must(mains.Measure(context.Background(), s, opt))(t)
	for c := range m {
		if l := m[c].Lines[0]; !l.Detected || math.Abs(10*math.Log10(l.Power)+60) > 0.1 || math.Abs(m[c].Mains.Hz-49.98) > 1e-4 {
			t.Errorf("channel %d: %g dBFS at %g Hz, want −60 at 49.98", c+1, 10*math.Log10(l.Power), m[c].Mains.Hz)
		}
	}
}

// What is held doesn't grow with a capture's length, but for the noise of each
// block in four bands, 4 bytes a band (and twice that while a slice grows): 16
// bytes every third of a second. 30 KiB are left for the rest of the program.
func TestMemoryIndependentOfLength(t *testing.T) {
	kit.Unraced(t)
	most := func(seconds int64) (bytes float64) {
		for range 2 { // what other tests lent goes with the second
			runtime.GC()
		}
		var before runtime.MemStats
		runtime.ReadMemStats(&before)
		measured(t, stream{rate: 8000, channels: 1, frames: 8000 * seconds, onRead: func(float64) {
			runtime.GC()
			var now runtime.MemStats
			runtime.ReadMemStats(&now)
			bytes = max(bytes, float64(now.HeapAlloc)-float64(before.HeapAlloc))
		}}, mains.Options{UpTo: 1000})
		return bytes
	}
	const short, long = 180, 1800 // both are cut into segments of 90 s
	a, b := most(short), most(long)
	if grown := 3 * 16 * 3.0 * (long - short); b > a+grown+30<<10 {
		t.Errorf("%d s hold %.0f KiB at most, %d s %.0f KiB", short, a/1024, long, b/1024)
	}
	if a < 1<<20 {
		t.Errorf("%d s are said to hold %.0f KiB: a segment alone is a megabyte", short, a/1024)
	}
}

// A day at 192 kHz in two channels, within 96 MiB all told. It takes a quarter
// of an hour, so it runs on request:
//
//	HUMDIFF_DAY=24h go test -run TestDay -timeout 0 -v ./fft/mains
func TestDay(t *testing.T) {
	length, err := time.ParseDuration(os.Getenv("HUMDIFF_DAY"))
	if err != nil {
		t.Skip("HUMDIFF_DAY says how long a capture to measure")
	}
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(60 << 20)) // as cmd/humdiff does
	start := time.Now()
	measured(t, stream{rate: 192000, channels: 2, frames: int64(length.Seconds() * 192000)}, mains.Options{})
	peak := peakMiB(t)
	t.Logf("%v of two channels at 192 kHz: %.0f MiB at most, %.0f s", length, peak, time.Since(start).Seconds())
	if peak > 96 {
		t.Errorf("%.0f MiB, may be 96", peak)
	}
}

// peakMiB is the most memory this process has held.
func peakMiB(t *testing.T) float64 {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Skip("only Linux says how much memory was held")
	}
	var kib float64
	_, after, _ := bytes.Cut(status, []byte("VmHWM:"))
	kit.Must(fmt.Sscan(string(after), &kib))(t)
	return kib / 1024
}
