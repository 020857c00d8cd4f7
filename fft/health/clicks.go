package health

import "math"

const (
	// clickSigmas is how far a second difference lies beyond the block's own rms
	// to be a click: Gaussian noise does so once in 10¹⁵ samples.
	clickSigmas = 8.0
	// clickCodes is the least of it in codes: rounding makes up to two.
	clickCodes = 4.0
	clickBlock = 1024 // samples at least that the rms is taken over
	clickLong  = 32   // samples; what goes on for longer is no click
	// clickBurst is how many such samples a block may have: more are a burst of
	// noise.
	clickBurst = 64
	// mostClicks a second: more of them are a buzz.
	mostClicks = 5.0
)

// clicks looks for single samples that jump and for breaks in the waveform, as
// lost samples leave them, in the second difference: hum has next to none.
type clicks struct{ runs runs }

func (c *clicks) add(x []float64, before [2]float64, g glance, step float64, at int64) {
	n := len(x)
	if n < clickBlock {
		return
	}
	least := max(clickSigmas*math.Sqrt(g.bend/float64(n)), clickCodes*step)
	if g.sharpest <= least {
		return
	}
	var found runs
	beyond, from, last := 0, -1, -1
	a, b := before[0], before[1]
	end := func() {
		if from >= 0 && last-from < clickLong {
			found.add(at+int64(from), int64(last-from+1))
		}
	}
	for i, v := range x {
		d := (v - b) - (b - a)
		a, b = b, v
		if math.Abs(d) <= least {
			continue
		}
		beyond++
		if from < 0 || i-last > clickLong {
			end()
			from = i
		}
		last = i
	}
	end()
	if beyond <= clickBurst && found.count > 0 {
		c.runs.join(found)
	}
}

func (c *clicks) facts(f *Facts, n int64) {
	if float64(c.runs.count) <= max(1, mostClicks*float64(n)/f.Rate) {
		f.Clicks = c.runs.at(f.Rate)
	}
}
