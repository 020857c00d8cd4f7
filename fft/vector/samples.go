package vector

// DigitsEnd is the magnitude that all samples have to lie below for Look's
// Digits to mean anything.
const DigitsEnd = 1 << 11

// Looked is what a look at samples gives.
type Looked struct {
	Sum          float64
	Lowest, Most float64
	Digits       int64   // every binary digit to 2⁻⁴⁰ that a sample uses, in two's complement of 51 bits
	Bend         float64 // sum of the squares of second differences
	Sharpest     float64 // the largest of these squares
}

// lanes are the sums of every fourth sample. Four run side by side in either
// form, so that neither waits for the sum before.
type lanes struct {
	sum, lowest, most, bend, sharpest [4]float64
	digits                            [4]int64
}

const digitsMask = 1<<51 - 1

// Look looks at the samples from the third on; the first two are what their
// second differences begin with. There have to be three.
func Look(x []float64) Looked {
	n, i := len(x), 2
	var l lanes
	for k := range l.lowest {
		l.lowest[k], l.most[k] = x[2], x[2]
	}
	if wide && n >= 6 {
		i = 2 + (n-2)&^3
		lookWide(&l, &x[2], i-2)
	}
	for ; i+4 <= n; i += 4 {
		v := x[i-2:][:6]
		l.take(0, v[0], v[1], v[2])
		l.take(1, v[1], v[2], v[3])
		l.take(2, v[2], v[3], v[4])
		l.take(3, v[3], v[4], v[5])
	}
	for k := 0; i < n; k, i = k+1, i+1 {
		l.take(k, x[i-2], x[i-1], x[i])
	}
	return l.together()
}

// take takes in sample v with the two before it.
func (l *lanes) take(k int, before, last, v float64) {
	l.sum[k] += v
	if v < l.lowest[k] {
		l.lowest[k] = v
	}
	if v > l.most[k] {
		l.most[k] = v
	}
	l.digits[k] |= int64(v*(1<<40)) & digitsMask
	d := (v - last) - (last - before)
	d = float64(d * d)
	l.bend[k] += d
	if d > l.sharpest[k] {
		l.sharpest[k] = d
	}
}

func (l *lanes) together() Looked {
	return Looked{
		Sum:    (l.sum[0] + l.sum[1]) + (l.sum[2] + l.sum[3]),
		Lowest: min(l.lowest[0], l.lowest[1], l.lowest[2], l.lowest[3]),
		Most:   max(l.most[0], l.most[1], l.most[2], l.most[3]),
		// What the vector form leaves above the digits is cut off here.
		Digits:   (l.digits[0] | l.digits[1] | l.digits[2] | l.digits[3]) & digitsMask,
		Bend:     (l.bend[0] + l.bend[1]) + (l.bend[2] + l.bend[3]),
		Sharpest: max(l.sharpest[0], l.sharpest[1], l.sharpest[2], l.sharpest[3]),
	}
}
