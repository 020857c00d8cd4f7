package likeness

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
)

// digest hashes decoded samples: as float64, full scale ±1, they are the same from
// any container, at any word length that holds them. It tells accidents, not
// forgeries. Four lanes, so that no sample waits for the one before; a published hash of
// bytes took three times as long, half of it to turn samples into bytes.
type digest struct {
	lanes [4]uint64
	count int64
	first float64
	moves bool // some sample isn't as the first
}

func newDigest() digest {
	return digest{lanes: [4]uint64{1, 2, 3, 4}}
}

const (
	digestFactor = 0x9E3779B97F4A7C15 // 2⁶⁴ over the golden ratio
	// digestTurn brings a sample's leading bits, the only ones that vary at 24 bits, to
	// where the factor carries them through the whole word.
	digestTurn = 29
)

func turn(lane uint64, x float64) uint64 {
	return bits.RotateLeft64(lane^math.Float64bits(x+0), digestTurn) * digestFactor // −0 is 0
}

func (d *digest) push(x []float64) {
	if d.count == 0 && len(x) > 0 {
		d.first = x[0]
	}
	d.moves = d.moves || slices.ContainsFunc(x, func(v float64) bool { return v != d.first })
	for len(x) > 0 && d.count&3 != 0 {
		d.one(x[0])
		x = x[1:]
	}
	whole := len(x) &^ 3
	d.lanes = turnAll(d.lanes, x[:whole])
	d.count += int64(whole)
	for _, v := range x[whole:] {
		d.one(v)
	}
}

// turnAll deals samples out to the lanes; their number divides by four.
func turnAll(lanes [4]uint64, x []float64) [4]uint64 {
	a, b, c, d := lanes[0], lanes[1], lanes[2], lanes[3]
	for i := 0; i+4 <= len(x); i += 4 {
		y := x[i : i+4 : i+4]
		a, b, c, d = turn(a, y[0]), turn(b, y[1]), turn(c, y[2]), turn(d, y[3])
	}
	return [4]uint64{a, b, c, d}
}

func (d *digest) one(x float64) {
	lane := &d.lanes[d.count&3]
	*lane = turn(*lane, x)
	d.count++
}

// text is the hash: the count of samples and 16 hexadecimal digits.
func (d *digest) text() string {
	sum := uint64(d.count)
	for _, lane := range d.lanes {
		sum = bits.RotateLeft64(sum^lane^lane>>31, digestTurn) * digestFactor
	}
	return fmt.Sprintf("%d:%016x", d.count, sum^sum>>32)
}
