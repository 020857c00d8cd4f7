package likeness

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"humdiff/fft"
)

const (
	// clearPiece is the correlation at which a piece's lag is no chance.
	clearPiece = 0.05
	// leastSpeed is a difference of speeds that costs a piece's correlation nothing.
	leastSpeed = 2e-6
	// luck is how many standard deviations chance may reach with the best lag and speed of
	// all, the bands being few samples wide.
	luck = 12.0
	// codecScatter is by how much a codec may make a copy more or less alike from piece to
	// piece, as a share.
	codecScatter = 0.03
)

// alike is how much of two stretches' noise is the same.
type alike struct {
	correlation float64 // median over bands, −1 … 1
	lagS        float64 // the first has at t + lagS what the second has at t, in the middle
	ppm         float64 // by which the second runs faster
	uneven      bool    // it comes and goes, as a programme is loud or soft
	gainDB      float64 // of the second against the first
	chance      float64 // below which a correlation may be the luck of the best lag and speed
}

// line is a lag that runs with time.
type line struct{ lag, slope, midS float64 }

// compareNoise correlates two stretches of one band, whose lag is about so many seconds.
func compareNoise(a, b *stretch, about float64) alike {
	x, y, rate := atOneRate(a, b)
	startA, startB := a.startS, b.startS
	if skip := int(math.Round((startA - about - startB) * rate)); skip > 0 {
		skip = min(skip, len(y))
		y, startB = y[skip:], startB+float64(skip)/rate
	} else {
		skip = min(-skip, len(x))
		x, startA = x[skip:], startA+float64(skip)/rate
	}
	flatten(x)
	flatten(y)
	c := newPieces(rate, a.low, a.high)
	found := c.lags(x, y)
	if len(found) == 0 {
		return alike{}
	}
	line := fitLag(found)
	speed := 0.0
	if math.Abs(line.slope) > leastSpeed {
		// Within a piece the highest band is then turned by much: taken back.
		speed = line.slope
		y = warped(y, rate, (a.low+a.high)/2, 1/(1+speed))
		line = fitLag(c.lags(x, y))
	}
	cells := c.cells(x, y, line)
	fine := refine(cells, bandCentres(a.low, a.high))
	k := alike{ppm: 1e6 * (speed + line.slope), uneven: uneven(cells, pieceSeconds*(a.high-a.low)/bands)}
	k.lagS = line.lag + fine + speed*line.midS + startA - startB
	k.correlation, k.gainDB = sum(cells, a, b)
	k.chance = luck / math.Sqrt(float64(len(cells))*pieceSeconds*(a.high-a.low))
	return k
}

// atOneRate brings the faster of two stretches to the other's rate.
func atOneRate(a, b *stretch) (x, y []complex128, rate float64) {
	switch {
	case a.rate > b.rate:
		return part(a.x, a.rate, 0, 0, b.rate), b.x, b.rate
	case b.rate > a.rate:
		return a.x, part(b.x, b.rate, 0, 0, a.rate), a.rate
	}
	return a.x, b.x, a.rate
}

// flatten holds down what stands still over the whole stretch.
func flatten(x []complex128) {
	t := fft.NewTransform(fft.PowerOfTwo(len(x)))
	bins := make([]complex128, t.N)
	copy(bins, x)
	t.Forward(bins)
	holdDown(bins)
	t.Inverse(bins)
	copy(x, bins)
}

func bandCentres(low, high float64) (hz [bands]float64) {
	for i := range hz {
		hz[i] = low + (float64(i)+0.5)*(high-low)/bands
	}
	return hz
}

// fitLag is a line through the pieces' lags, by medians (Theil 1950, Sen 1968), as a
// piece's lag may be chance.
func fitLag(all []pieceAt) line {
	l := line{midS: (all[0].atS + all[len(all)-1].atS) / 2}
	var sound []pieceAt
	for _, p := range all {
		if p.peak >= clearPiece {
			sound = append(sound, p)
		}
	}
	if len(sound) < 3 {
		sound = all
	}
	var slopes, lags []float64
	for i, p := range sound {
		for _, q := range sound[:i] {
			slopes = append(slopes, (p.lag-q.lag)/(p.atS-q.atS))
		}
	}
	if l.slope = medianOf(slopes); math.Abs(l.slope) > 2*mostPPM*1e-6 {
		l.slope = 0
	}
	for _, p := range sound {
		lags = append(lags, p.lag-l.slope*(p.atS-l.midS))
	}
	l.lag = medianOf(lags)
	return l
}

// refine turns the cells back by what the lag still lacks, by the phases of the
// bands, and returns it.
func refine(rows [][bands]cell, hz [bands]float64) float64 {
	var cross [bands]complex128
	for _, row := range rows {
		for i, c := range row {
			cross[i] += c.cross
		}
	}
	best, at := 0.0, 0.0
	const step = 0.25e-6 // s
	for k := -240; k <= 240; k++ {
		sum := 0.0
		for i, c := range cross {
			sum += real(c * turned(hz[i], float64(k)*step))
		}
		if math.Abs(sum) > best {
			best, at = math.Abs(sum), float64(k)*step
		}
	}
	for k := range rows {
		for i := range rows[k] {
			rows[k][i].cross *= turned(hz[i], at)
		}
	}
	return at
}

// sum is the median of the bands' correlations, and of their gains.
func sum(rows [][bands]cell, a, b *stretch) (correlation, gainDB float64) {
	var rho, gain []float64
	densityA, densityB := medians(a.density), medians(b.density)
	for i := range bands {
		var all cell
		for _, row := range rows {
			all.cross, all.aa, all.bb = all.cross+row[i].cross, all.aa+row[i].aa, all.bb+row[i].bb
		}
		if all.aa == 0 || all.bb == 0 || densityA[i] == 0 || densityB[i] == 0 {
			continue
		}
		r := real(all.cross) / math.Sqrt(all.aa*all.bb)
		rho = append(rho, r)
		gain = append(gain, 20*math.Log10(math.Abs(r))+10*math.Log10(densityB[i]/densityA[i]))
	}
	return medianOf(rho), medianOf(gain)
}

// uneven says that the correlation runs from piece to piece by more than chance: its
// variance within a band over that of stretches which are alike all the time, the mean of
// the bands. perCell is how many independent samples a cell holds.
func uneven(rows [][bands]cell, perCell float64) bool {
	var ratios []float64
	for i := range bands {
		var rho []float64
		for _, row := range rows {
			if c := row[i]; c.aa > 0 && c.bb > 0 {
				rho = append(rho, real(c.cross)/math.Sqrt(c.aa*c.bb))
			}
		}
		if len(rho) < 3 {
			continue
		}
		mean, variance := stat.MeanVariance(rho, nil)
		chance := (1 - mean*mean) * (1 - mean*mean) / (2 * perCell)
		ratios = append(ratios, variance/(chance+codecScatter*codecScatter*mean*mean))
	}
	// A variance of n values scatters by √(2/(n−1)), the mean of the bands' by a fourth of
	// that; four times that is allowed.
	most := 1 + 4*math.Sqrt(2/math.Max(float64(len(rows)-1), 1)/bands)
	return stat.Mean(ratios, nil) > most
}

// medians are the columns' medians.
func medians(rows [][]float64) (out [bands]float64) {
	for i := range out {
		var column []float64
		for _, row := range rows {
			column = append(column, row[i])
		}
		out[i] = medianOf(column)
	}
	return out
}

// medianOf is the median of x, which stays as it is; 0 of none.
func medianOf(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	s := sorted(x)
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

func sorted(x []float64) []float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	return s
}
