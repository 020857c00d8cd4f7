package capture

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"humdiff/fixtures/kit"
)

func TestDecodeWords(t *testing.T) {
	float32s := format{container: 32, float: true}
	float64s := format{container: 64, float: true}
	for _, c := range []struct {
		format format
		word   string
		want   float64
	}{
		{format{container: 8}, "\x80", 0},
		{format{container: 8}, "\x00", -1},
		{format{container: 8}, "\xff", 127. / 128},
		{format{container: 16}, "\x00\x80", -1},
		{format{container: 16}, "\xff\x7f", 32767. / 32768},
		{format{container: 16}, "\xff\xff", -1. / 32768},
		{format{container: 16}, "\x02\x01", 258. / 32768},
		{format{container: 24}, "\x00\x00\x80", -1},
		{format{container: 24}, "\xff\xff\x7f", 8388607. / 8388608},
		{format{container: 24}, "\xff\xff\xff", -1. / 8388608},
		{format{container: 24}, "\x03\x02\x01", 0x010203 / 8388608.},
		{format{container: 24, bits: 20}, "\x10\x00\x00", 1. / 524288}, // the least step of 20 bits
		{format{container: 32}, "\x00\x00\x00\x80", -1},
		{format{container: 32}, "\xff\xff\xff\x7f", 2147483647. / 2147483648},
		{format{container: 32}, "\x04\x03\x02\x01", 0x01020304 / 2147483648.},
		{format{container: 32, bits: 24}, "\x00\x01\x00\x00", 1. / 8388608}, // the least step of 24 bits
		// IEEE 754: 1.0, -0.5, the largest single below 1
		{float32s, "\x00\x00\x80\x3f", 1},
		{float32s, "\x00\x00\x00\xbf", -.5},
		{float32s, "\xff\xff\x7f\x3f", 1 - 0x1p-24},
		{float64s, "\x00\x00\x00\x00\x00\x00\xf0\x3f", 1},
		{float64s, "\x00\x00\x00\x00\x00\x00\xe0\xbf", -.5},
		{float64s, "\xff\xff\xff\xff\xff\xff\xef\x3f", 1 - 0x1p-53},
	} {
		dst := []float64{math.NaN()}
		decoderFor(c.format)(dst, []byte(c.word+"\xa5"), 0) // the byte of slack must not matter
		kit.Same(t, dst[0], c.want, "%d bits, float %t, % x", c.format.container, c.format.float, c.word)
	}
}

func TestDecodeCountsWhatIsNoNumber(t *testing.T) {
	single := []float32{0.5, float32(math.NaN()), float32(math.Inf(1)), -0.25, float32(math.Inf(-1)), 2e12, 1e12, -3}
	want := []float64{0.5, 0, 0, -0.25, 0, 0, float64(float32(1e12)), -3}
	var words32, words64 string
	for _, x := range single {
		words32 += le32(math.Float32bits(x))
		words64 += le64(math.Float64bits(float64(x)))
	}
	for bits, words := range map[int]string{32: words32, 64: words64} {
		got := make([]float64, len(want))
		decoderFor(format{container: bits, float: true})(got, []byte(words+"\x00\x00"), bits/8)
		if bad, first := finite(got); bad != 4 || first != 1 || fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%d bits: %v, %d bad from %d; want %v, 4 from 1", bits, got, bad, first, want)
		}
	}
}

// slowDecode is the definition: the word's bytes, least first, as a two's complement
// number over 2^(bits−1); 8 bits as offset binary.
func slowDecode(word []byte) float64 {
	var v, scale float64 = 0, 1
	for _, b := range word {
		v += float64(b) * scale
		scale *= 256
	}
	if len(word) == 1 {
		v -= scale / 2
	} else if v >= scale/2 {
		v -= scale
	}
	return v / (scale / 2)
}

// checkWords holds each channel's words against the definition; the bytes are at the
// end of what may be read.
func checkWords(t *testing.T, src []byte, size, channels int) {
	t.Helper()
	frames := len(src) / (size * channels)
	padded := append(bytes.Clone(src[:frames*size*channels]), 0xa5, 0x5a)
	for c := range channels {
		if frames == 0 {
			return
		}
		dst := make([]float64, frames)
		decoderFor(format{container: 8 * size})(dst, padded[c*size:len(padded):len(padded)], channels*size)
		for i, got := range dst {
			at := (i*channels + c) * size
			if want := slowDecode(padded[at : at+size]); got != want {
				t.Fatalf("%d bytes, channel %d of %d, word %d of %d: %v, want %v", size, c+1, channels, i, frames, got, want)
			}
		}
	}
}

func TestDecodeLengths(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for size := 1; size <= 4; size++ {
		for _, channels := range []int{1, 2, 3, 8} {
			for n := range 40 {
				src := make([]byte, n*channels*size)
				for i := range src {
					src[i] = byte(r.Uint32())
				}
				checkWords(t, src, size, channels)
			}
		}
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte("\x80\x00\x00\x00\x80\xff\xff\xff\x7f\xff\xff\xff"), uint8(3), uint8(2))
	f.Add([]byte("some more bytes to be taken for samples"), uint8(1), uint8(1))
	f.Add([]byte("\x00\x00\xc0\x7f\x00\x00\x80\xff"), uint8(4), uint8(1))
	f.Fuzz(func(t *testing.T, src []byte, word, channels uint8) {
		checkWords(t, src, int(word%4)+1, int(channels%5)+1)
		for _, bits := range []int{32, 64} {
			dst := make([]float64, len(src)/(bits/8))
			decoderFor(format{container: bits, float: true})(dst, append(bytes.Clone(src), 0, 0), bits/8)
			bad, first := finite(dst)
			for i, x := range dst {
				if !(math.Abs(x) <= maxMagnitude) || bad > 0 && i == first && x != 0 {
					t.Fatalf("%d-bit float %d is %v (%d bad from %d)", bits, i, x, bad, first)
				}
			}
		}
	})
}
