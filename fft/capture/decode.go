package capture

import (
	"encoding/binary"
	"math"
)

// The loops below differ only in how a word becomes a number; written out, each
// takes about a nanosecond a sample. Full slice expressions (p:p+4:p+4) spare the
// compiler a second bounds check.

// A decoder turns sample words into float64, full scale ±1: word i lies at
// src[i*stride]. The slice must reach slack bytes past the last word.
type decoder func(dst []float64, src []byte, stride int)

// slack lets a word of two or three bytes be loaded as four.
const slack = 2

// maxMagnitude is the largest float sample taken for a signal. Anything beyond
// is treated like NaN: no capture holds it, and its powers would overflow.
const maxMagnitude = 1e12

// decoderFor picks the decoder of a format that scan accepted. Integers divide by
// 2^(container bits − 1): fewer valid bits are left-justified in their container
// (WAVEFORMATEXTENSIBLE, "Multiple Channel Audio Data and WAVE Files"; the same
// for plain PCM whose bits don't fill the bytes).
func decoderFor(f format) decoder {
	switch {
	case f.float && f.container == 64:
		return decodeFloat64
	case f.float:
		return decodeFloat32
	case f.container == 8:
		return decode8
	}
	return decodeInts(f.container)
}

// 8-bit words are unsigned, 128 is zero; all wider ones are signed.
func decode8(dst []float64, src []byte, stride int) {
	for i := range dst {
		p := i * stride
		dst[i] = float64(int(src[p])-128) * 0x1p-7
	}
}

// decodeInts loads four bytes and shifts those out that belong to others. Inlined, its
// loop would call a function for each sample.
//
//go:noinline
func decodeInts(bits int) decoder {
	foreign := uint(32 - bits)
	return func(dst []float64, src []byte, stride int) {
		for i := range dst {
			p := i * stride
			dst[i] = float64(int32(binary.LittleEndian.Uint32(src[p:p+4:p+4])<<(foreign&31))) * 0x1p-31
		}
	}
}

func decodeFloat32(dst []float64, src []byte, stride int) {
	for i := range dst {
		p := i * stride
		dst[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(src[p : p+4 : p+4])))
	}
}

func decodeFloat64(dst []float64, src []byte, stride int) {
	for i := range dst {
		p := i * stride
		dst[i] = math.Float64frombits(binary.LittleEndian.Uint64(src[p : p+8 : p+8]))
	}
}

// finite puts 0 in the place of what is no number, and says how many there were and
// which was the first.
func finite(x []float64) (bad, first int) {
	for i, v := range x {
		if !(math.Abs(v) <= maxMagnitude) {
			if x[i] = 0; bad == 0 {
				first = i
			}
			bad++
		}
	}
	return bad, first
}
