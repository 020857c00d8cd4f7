package health

import (
	"math"
	"slices"
)

const (
	// clickSigmas is how far a second difference lies beyond the block's own rms
	// to be a click: Gaussian noise does so once in 10¹⁵ samples.
	clickSigmas = 8.0
	// clickSurely is how many times as far even that of words and drums doesn't lie: of some
	// 250 in recordings of speech and music, none beyond 9 times, most within 3.
	clickSurely = 10.0
	// clickCodes is the least of it in codes: rounding makes up to two.
	clickCodes = 4.0
	clickBlock = 1024 // samples at least that the rms is taken over
	clickLong  = 32   // samples; what goes on for longer is no click
	// clickBurst is how many such samples a block may have: more are a burst of
	// noise.
	clickBurst = 64
	// mostClicks a second: more of them are a buzz.
	mostClicks = 5.0
	// clickBeside is how many samples to either side of a click are looked at, and
	// clickLeast how many there have to be: where a gate opens or a note sets in, what
	// comes after is as sharp.
	clickBeside, clickLeast = 256, 16
)

// clicks looks for single samples that jump and for breaks in the waveform, as
// lost samples leave them, in the second difference: hum has next to none.
type clicks struct {
	runs runs
	sure runs        // of them, those that no word or drum makes
	tail []float64   // the samples ahead of the next block
	open []clickSpan // at the end of what was seen: what comes after them isn't known yet
	work []float64   // the tail and a block, one behind the other
}

// clickSpan is the first and the last sample of what may be a click.
type clickSpan struct{ from, last int64 }

func (c *clicks) add(x []float64, before [2]float64, g glance, step float64, at int64) {
	found := append(c.open, beyondUsual(x, before, g, step, at)...)
	if len(found) > 0 {
		c.judge(found, x, at)
	}
	keep := min(len(c.tail)+len(x), 2*clickBeside)
	if len(x) >= keep {
		c.tail = append(c.tail[:0], x[len(x)-keep:]...)
	} else {
		c.tail = append(slices.Clone(c.tail[len(c.tail)+len(x)-keep:]), x...)
	}
}

// beyondUsual are the short runs of samples of a block that bend far more than it does on
// the whole; none where there are too many.
func beyondUsual(x []float64, before [2]float64, g glance, step float64, at int64) (found []clickSpan) {
	n := len(x)
	if n < clickBlock {
		return nil
	}
	least := max(clickSigmas*math.Sqrt(g.bend/float64(n)), clickCodes*step)
	if g.sharpest <= least {
		return nil
	}
	beyond := 0
	a, b := before[0], before[1]
	for i, v := range x {
		d := (v - b) - (b - a)
		a, b = b, v
		if math.Abs(d) <= least {
			continue
		}
		beyond++
		here := at + int64(i)
		if last := len(found) - 1; last >= 0 && here-found[last].last <= clickLong {
			found[last].last = here
		} else {
			found = append(found, clickSpan{here, here})
		}
	}
	if beyond > clickBurst {
		return nil
	}
	return found
}

// judge counts those that stand out of what lies beside them. x begins at a sample, and
// the tail ends there.
func (c *clicks) judge(found []clickSpan, x []float64, at int64) {
	c.work = append(append(c.work[:0], c.tail...), x...)
	y, start := c.work, at-int64(len(c.tail))
	c.open = nil
	for i, s := range found {
		switch {
		case i+1 < len(found) && found[i+1].from-s.last <= clickLong: // one, on both sides of a block's end
			found[i+1].from = s.from
		case s.last+clickLeast+3 > at+int64(len(x)):
			c.open = append(c.open, s)
		case s.last-s.from < clickLong && sharper(y, int(s.from-start), int(s.last-start), clickSigmas):
			c.runs.add(s.from, s.last-s.from+1)
			if sharper(y, int(s.from-start), int(s.last-start), clickSurely*clickSigmas) {
				c.sure.add(s.from, s.last-s.from+1)
			}
		}
	}
}

// sharper says that samples bend so many standard deviations further than those on either
// side of them do: the middle one of those tells a normal distribution's deviation.
func sharper(x []float64, from, last int, sigmas float64) bool {
	most := 0.0
	for i := max(from, 2); i <= last; i++ {
		most = max(most, bendAt(x, i))
	}
	limit := most / sigmas * 0.6745
	beside := func(from, to int) bool {
		n, as := 0, 0
		for i := max(from, 2); i < min(to, len(x)); i++ {
			n++
			if bendAt(x, i) >= limit {
				as++
			}
		}
		return n >= clickLeast && 2*as < n
	}
	return beside(from-clickBeside, from) && beside(last+3, last+3+clickBeside)
}

// bendAt is the magnitude of the second difference that ends at a sample.
func bendAt(x []float64, i int) float64 { return math.Abs((x[i] - x[i-1]) - (x[i-1] - x[i-2])) }

func (c *clicks) facts(f *Facts, n int64) {
	// Where tops are cut off, their corners are as sharp.
	if f.Clipped+f.FlatTops.Count > 0 {
		return
	}
	if float64(c.runs.count) <= max(1, mostClicks*float64(n)/f.Rate) {
		f.Clicks, f.Breaks = c.runs.at(f.Rate), c.sure.at(f.Rate)
	}
}
