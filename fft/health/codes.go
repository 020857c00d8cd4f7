package health

import (
	"math"
	"math/bits"
	"slices"
)

const (
	codeWindow = 1 << 16 // codes around the first that are told apart
	codeEvery  = 8       // samples from one looked at to the next
	// Codes seen so many times on average, and so many of them, of which next to
	// none has a neighbour that is seen, are apart by system: where values crowd
	// like that, a converter's would fill all codes between.
	combLooks = 32
	combCodes = 32
	combPairs = 0.02
	combEven  = 0.7 // share of the gaps that are all alike
	mostBits  = 32
)

// codes finds the finest binary digit that any sample uses, one code of the
// converter whatever the file's header says, and which codes come at all.
type codes struct {
	digits  int64
	shift   int
	base    int64
	looks   int64
	outside int64
	seen    [codeWindow / 64]uint64
}

func (c *codes) add(x []float64, digits int64) {
	c.digits |= digits
	if c.digits == 0 {
		c.looks += int64(len(x)+codeEvery-1) / codeEvery
		return
	}
	if shift := bits.TrailingZeros64(uint64(c.digits)); c.looks == 0 || shift != c.shift {
		*c = codes{digits: c.digits, shift: shift, base: inDigits(x[0]) >> shift}
	}
	for i := 0; i < len(x); i += codeEvery {
		code := inDigits(x[i])>>c.shift - c.base
		c.looks++
		if code < -codeWindow/2 || code >= codeWindow/2 {
			c.outside++
			continue
		}
		code += codeWindow / 2
		c.seen[code/64] |= 1 << (code % 64)
	}
}

// step is one code, full scale is ±1; 0 where no sample differs from zero.
func (c *codes) step() float64 {
	if c.digits == 0 {
		return 0
	}
	return math.Ldexp(1, bits.TrailingZeros64(uint64(c.digits))-finestDigit)
}

func (c *codes) facts(f *Facts) {
	f.Step, f.Comb = c.step(), 1
	if f.Step == 0 {
		return
	}
	if b := finestDigit + 1 - bits.TrailingZeros64(uint64(c.digits)); b <= mostBits {
		f.Bits = b
	}
	if f.Bits == 0 {
		return
	}
	gaps := c.gaps()
	n := float64(len(gaps) + 1)
	if c.outside == 0 {
		f.Codes = len(gaps) + 1
	}
	if n < combCodes || float64(c.looks-c.outside) < combLooks*n {
		return
	}
	slices.Sort(gaps)
	pairs, _ := slices.BinarySearch(gaps, 2)
	nearest := gaps[pairs:]
	if float64(pairs) > combPairs*n {
		return
	}
	// Scaling makes gaps that differ by one at most.
	if even, _ := slices.BinarySearch(nearest, nearest[0]+2); float64(even) >= combEven*n {
		f.Comb = float64(nearest[0])
	}
}

// gaps are the distances from each code seen to the next.
func (c *codes) gaps() (gaps []int) {
	last := -1
	for i, w := range c.seen {
		for ; w != 0; w &= w - 1 {
			code := 64*i + bits.TrailingZeros64(w)
			if last >= 0 {
				gaps = append(gaps, code-last)
			}
			last = code
		}
	}
	return gaps
}
