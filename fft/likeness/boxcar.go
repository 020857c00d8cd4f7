package likeness

import "slices"

// boxcar adds up every 2, 4, 8 or 16 samples, a first step down in rate that costs a
// fraction of a filter's. It lets a tenth of what lies above in; to tell one noise from
// another that does.
type boxcar struct {
	factor int
	left   []float64 // samples that wait for the rest of their box
	out    []float64
}

// boxedRate is the lowest rate a boxcar leaves.
const boxedRate = 5_000

func newBoxcar(rate int) *boxcar {
	b := &boxcar{factor: 1}
	for b.factor < 16 && rate >= 2*boxedRate {
		rate /= 2
		b.factor *= 2
	}
	return b
}

// push returns the sums that are complete, valid until the next call.
func (b *boxcar) push(x []float64) []float64 {
	if b.factor == 1 {
		return x
	}
	b.out = b.out[:0]
	if len(b.left) > 0 {
		n := min(len(x), b.factor-len(b.left))
		b.left, x = append(b.left, x[:n]...), x[n:]
		if len(b.left) < b.factor {
			return nil
		}
		b.sums(b.left)
		b.left = b.left[:0]
	}
	b.sums(x)
	b.left = append(b.left, x[len(x)/b.factor*b.factor:]...)
	return b.out
}

// sums adds up whole boxes.
func (b *boxcar) sums(x []float64) {
	at, n := len(b.out), len(x)/b.factor
	b.out = slices.Grow(b.out, n)[:at+n]
	out := b.out[at:]
	switch b.factor {
	case 2:
		for i := range out {
			y := x[2*i : 2*i+2 : 2*i+2]
			out[i] = y[0] + y[1]
		}
	case 4:
		for i := range out {
			y := x[4*i : 4*i+4 : 4*i+4]
			out[i] = (y[0] + y[1]) + (y[2] + y[3])
		}
	case 16:
		for i := range out {
			y := x[16*i : 16*i+16 : 16*i+16]
			out[i] = (((y[0] + y[1]) + (y[2] + y[3])) + ((y[4] + y[5]) + (y[6] + y[7]))) +
				(((y[8] + y[9]) + (y[10] + y[11])) + ((y[12] + y[13]) + (y[14] + y[15])))
		}
	default:
		for i := range out {
			y := x[8*i : 8*i+8 : 8*i+8]
			out[i] = ((y[0] + y[1]) + (y[2] + y[3])) + ((y[4] + y[5]) + (y[6] + y[7]))
		}
	}
}
