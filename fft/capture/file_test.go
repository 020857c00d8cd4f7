package capture_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fixtures/wavfile"
)

// formats are all the writer knows, with the bits whose grid it rounds to.
var formats = []struct {
	wavfile.Format
	grid int // bits of the integer grid test values lie on
	text string
}{
	{wavfile.Format{Bits: 8}, 8, "8-bit PCM"},
	{wavfile.Format{Bits: 16}, 16, "16-bit PCM"},
	{wavfile.Format{Bits: 24}, 24, "24-bit PCM"},
	{wavfile.Format{Bits: 32}, 32, "32-bit PCM"},
	{wavfile.Format{Bits: 32, Float: true}, 24, "32-bit float"},
	{wavfile.Format{Bits: 64, Float: true}, 53, "64-bit float"},
	{wavfile.Format{Bits: 8, Extensible: true}, 8, "8-bit PCM"},
	{wavfile.Format{Bits: 16, Extensible: true}, 16, "16-bit PCM"},
	{wavfile.Format{Bits: 16, Extensible: true, ValidBits: 12}, 12, "12-bit PCM in 16-bit words"},
	{wavfile.Format{Bits: 24, Extensible: true, ValidBits: 20}, 20, "20-bit PCM in 24-bit words"},
	{wavfile.Format{Bits: 32, Extensible: true, ValidBits: 24}, 24, "24-bit PCM in 32-bit words"},
	{wavfile.Format{Bits: 32, Extensible: true}, 32, "32-bit PCM"},
	{wavfile.Format{Bits: 32, Extensible: true, Float: true}, 24, "32-bit float"},
	{wavfile.Format{Bits: 64, Extensible: true, Float: true}, 53, "64-bit float"},
}

// onGrid makes n values of steps of 2^-(bits−1), both ends of the range among them.
func onGrid(n, channel, bits int) []float64 {
	full := math.Ldexp(1, bits-1)
	x := make([]float64, n)
	for i := range x {
		x[i] = math.Round(full*math.Sin(float64(3*i*(channel+1)+channel))*0.9) / full
	}
	x[0], x[1], x[2], x[3] = -1, (full-1)/full, 0, 1/full
	return x
}

func TestEveryFormatComesBackExactly(t *testing.T) {
	const frames = 5001 // odd, so that 8 and 24 bit mono need a pad byte
	for _, f := range formats {
		for _, channels := range []int{1, 2, 5} {
			for _, rf64 := range []bool{false, true} {
				format := f.Format
				format.Rate, format.RF64 = 96000, rf64
				t.Run(fmt.Sprintf("%+v/%d", format, channels), func(t *testing.T) {
					want := make([][]float64, channels)
					for c := range want {
						want[c] = onGrid(frames, c, f.grid)
					}
					path := filepath.Join(t.TempDir(), "a.wav")
					if err := wavfile.Write(path, format, want...); err != nil {
						t.Fatal(err)
					}
					file := open(t, capture.Address{Path: path})
					wantInfo := capture.Info{Path: path, Format: f.text, Rate: 96000, Bits: validBits(format), Float: format.Float,
						Channels: channels, FileFrames: frames, EndS: frames / 96000., FirstChannel: 1}
					if got := file.Info(); got != wantInfo {
						t.Errorf("info %+v, want %+v", got, wantInfo)
					}
					if w := file.Warnings(); len(w) > 0 {
						t.Errorf("warnings %v", w)
					}
					same(t, readAll(t, file, 1000), want)
				})
			}
		}
	}
}

func validBits(f wavfile.Format) int {
	if f.ValidBits > 0 {
		return f.ValidBits
	}
	return f.Bits
}

func open(t testing.TB, addr capture.Address) *capture.File {
	t.Helper()
	f, err := capture.Open(addr)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// readAll reads a source by blocks and checks what it says about itself.
func readAll(t testing.TB, s capture.Source, block int) [][]float64 {
	t.Helper()
	r, err := s.Open(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	out := make([][]float64, s.Channels())
	dst := make([][]float64, s.Channels())
	for c := range dst {
		dst[c] = make([]float64, block)
	}
	for {
		n, err := r.Read(dst)
		if errors.Is(err, io.EOF) && n == 0 {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		for c := range out {
			out[c] = append(out[c], dst[c][:n]...)
		}
	}
	for c := range out {
		if int64(len(out[c])) != s.Frames() {
			t.Fatalf("channel %d has %d frames, source says %d", c+1, len(out[c]), s.Frames())
		}
	}
	return out
}

func same(t testing.TB, got, want [][]float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d channels, want %d", len(got), len(want))
	}
	for c := range want {
		if len(got[c]) != len(want[c]) {
			t.Fatalf("channel %d: %d frames, want %d", c+1, len(got[c]), len(want[c]))
		}
		for i := range want[c] {
			if got[c][i] != want[c][i] {
				t.Fatalf("channel %d frame %d: %v, want %v", c+1, i, got[c][i], want[c][i])
			}
		}
	}
}
