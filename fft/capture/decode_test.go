package capture

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
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
		bad, _ := decoderFor(c.format)(dst, []byte(c.word+"\xa5"), 0) // the byte of slack must not matter
		if dst[0] != c.want || bad != 0 {
			t.Errorf("%d bits, float %t, % x: %v (%d bad), want %v", c.format.container, c.format.float, c.word, dst[0], bad, c.want)
		}
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
		bad, first := decoderFor(format{container: bits, float: true})(got, []byte(words+"\x00"), bits/8)
		if bad != 4 || first != 1 || fmt.Sprint(got) != fmt.Sprint(want) {
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

// Any number of words at any distance is what the definition says; the bytes are at
// the end of what may be read.
func TestDecodeLengths(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for size := 1; size <= 4; size++ {
		for _, channels := range []int{1, 2, 3, 8} {
			for n := range 40 {
				src := make([]byte, n*channels*size, n*channels*size+slack)
				for i := range src {
					src[i] = byte(r.Uint32())
				}
				for c := range channels {
					if n == 0 {
						break
					}
					dst := make([]float64, n)
					decoderFor(format{container: 8 * size})(dst, src[:cap(src)][c*size:], channels*size)
					for i, got := range dst {
						at := (i*channels + c) * size
						if want := slowDecode(src[at : at+size]); got != want {
							t.Fatalf("%d bytes, channel %d of %d, word %d of %d: %v, want %v", size, c+1, channels, i, n, got, want)
						}
					}
				}
			}
		}
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte("\x80\x00\x00\x00\x80\xff\xff\xff\x7f\xff\xff\xff"), uint8(3), uint8(2))
	f.Add([]byte("some more bytes to be taken for samples"), uint8(1), uint8(1))
	f.Add([]byte("\x00\x00\xc0\x7f\x00\x00\x80\xff"), uint8(4), uint8(1))
	f.Fuzz(func(t *testing.T, src []byte, word, channels uint8) {
		size, n := int(word%4)+1, int(channels%5)+1
		frames := len(src) / (size * n)
		dst := make([]float64, frames)
		padded := append(append([]byte(nil), src[:frames*size*n]...), 0xa5)
		for c := range n {
			if frames == 0 {
				break
			}
			decoderFor(format{container: 8 * size})(dst, padded[c*size:], n*size)
			for i, got := range dst {
				at := (i*n + c) * size
				if want := slowDecode(src[at : at+size]); got != want {
					t.Fatalf("%d bytes, channel %d of %d, frame %d: %v, want %v", size, c+1, n, i, got, want)
				}
			}
		}
		for _, bits := range []int{32, 64} {
			dst := make([]float64, len(src)/(bits/8))
			bad, first := decoderFor(format{container: bits, float: true})(dst, padFloat(src), bits/8)
			for i, x := range dst {
				if !(math.Abs(x) <= maxMagnitude) || bad > 0 && i == first && x != 0 {
					t.Fatalf("%d-bit float %d is %v (%d bad from %d)", bits, i, x, bad, first)
				}
			}
		}
	})
}

func padFloat(src []byte) []byte { return append(append([]byte(nil), src...), 0) }

// BenchmarkDecode is decoding alone, from the cache.
func BenchmarkDecode(b *testing.B) {
	for _, f := range []format{{container: 16}, {container: 24}, {container: 32}, {container: 32, float: true}, {container: 64, float: true}} {
		for _, channels := range []int{1, 2} {
			b.Run(fmt.Sprintf("%d,float=%t,%dch", f.container, f.float, channels), func(b *testing.B) {
				const n = 16384
				stride := channels * f.container / 8
				src, dst := make([]byte, n*stride+slack), make([]float64, n)
				decode := decoderFor(f)
				for b.Loop() {
					decode(dst, src, stride)
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/sample")
			})
		}
	}
}
