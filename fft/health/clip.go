package health

import "math"

// clipLevel is just below the largest positive 16-bit sample.
const clipLevel = 0.9999

// clip counts samples at full scale that equal their neighbour: a converter at
// its end gives one value, while floats beyond full scale still move.
type clip struct {
	runs runs
	run  int64   // length of the run that may go on
	last float64 // its value
	from int64
}

func (c *clip) add(x []float64, g glance, at int64) {
	if max(-g.lowest, g.most) < clipLevel {
		c.end()
		return
	}
	for i, v := range x {
		if math.Abs(v) < clipLevel {
			c.end()
			continue
		}
		if c.run == 0 || v != c.last {
			c.end()
			c.last, c.from = v, at+int64(i)
		}
		c.run++
	}
}

func (c *clip) end() {
	if c.run >= 2 {
		c.runs.add(c.from, c.run)
	}
	c.run = 0
}

func (c *clip) facts(f *Facts) {
	done := *c
	done.end()
	f.ClippedRuns, f.Clipped = done.runs.at(f.Rate), int(done.runs.samples)
}
