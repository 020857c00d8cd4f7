package mains

import (
	"math"
	"slices"

	"humdiff/fft"
	"humdiff/fft/note"
)

// What the averaged spectrum and the lines give away of where they come from.

// FloorBands are where the floor above the lines is read, Hz: what it does there
// from capture to capture is the recorder's doing.
var FloorBands = []Band{{5000, 8000}, {8000, 12000}, {12000, 16000}, {16000, 20000}}

// floorsOf are the median densities of FloorBands, NaN where the capture's rate
// doesn't reach.
func floorsOf(s fft.Spectrum) []float64 {
	floors := make([]float64, len(FloorBands))
	for i, band := range FloorBands {
		floors[i] = math.NaN()
		if band.Hi <= 0.45*s.Rate {
			part := s.Density[fft.Whole(band.Lo/s.BinHz(), 0, len(s.Density)):fft.Whole(band.Hi/s.BinHz(), 0, len(s.Density))]
			floors[i] = medianOf(part) / medianBias(s.Averages)
		}
	}
	return floors
}

const (
	cutParts = 64     // of half the rate, by which a spectrum's end is looked at
	cutDrop  = 30.0   // 15 dB from one part to the next but one: 10 dB a percent of half the rate
	cutRate  = 8000.0 // below it, lines fill too much of a part
	cutTop   = 58     // the highest part that may be cut: a converter's own filter begins above 0.9
)

// cutAt is where a spectrum breaks off below half the rate, Hz; 0 where it
// doesn't.
func cutAt(s fft.Spectrum) float64 {
	n := len(s.Density) / cutParts
	if s.Rate < cutRate {
		return 0
	}
	var level [cutParts]float64
	for i := range level {
		level[i] = medianOf(s.Density[i*n : (i+1)*n])
	}
	highest := level[cutParts-2] // beyond the cut, the loudest part
	for i := cutParts - 2; i > cutParts/4; i-- {
		highest = max(highest, level[i])
		if below := level[i-2]; i <= cutTop && below > cutDrop*highest {
			return float64((i-1)*n) * s.BinHz()
		}
	}
	return 0
}

const (
	// roundingFloor is the noise, in squares of a code, up to which rounding with
	// the usual dither (½ of full-scale sines: 1/6 + 1/12 of a square, times 2) is
	// half of it or more.
	roundingFloor = 1.0
	// fewFloor is the noise below which it dithers too little: a Gaussian one of
	// 0.26 of a code, where the gain for the smallest signals goes from 0.47 to
	// 1.53 within a code (1 ± 2·exp(−2π²σ²), Widrow and Kollár 2008, from memory).
	fewFloor = 0.3
	fewCodes = 64
	coarsest = 20 // bits; finer ones lie below any converter's own noise
)

// codeDB is by how many dB a line of so much power, the strongest, may be off because too
// little noise dithers the converter: its gain goes 2·exp(−2π²σ²) to either side of 1 for
// the smallest signals, of so many codes, and by 2·J₁(x)/x, x = 2π·amplitude, of that for
// others (Widrow and Kollár 2008, from memory).
func (o *observation) codeDB(l layout, power float64) float64 {
	h := o.health
	if h.Bits == 0 || h.Bits > coarsest || o.codePower(l) > 0 {
		return 0
	}
	step := h.Step * h.Step
	noise := o.noise() / step
	x := 2 * math.Pi * math.Sqrt(power/step)
	gain := 2 * math.Exp(-2*math.Pi*math.Pi*max(0, noise/2-1.0/12))
	if noise > roundingFloor {
		return 0
	}
	return 20 * math.Log10(1+gain*min(1, 2/x*math.Sqrt(2/(math.Pi*x))))
}

// rounding says what the converter's steps do to the floor.
func (o *observation) rounding(l layout) []note.Note {
	h := o.health
	if h.Bits == 0 || h.Bits > coarsest || o.codePower(l) > 0 {
		return nil
	}
	noise := o.noise()
	switch step := h.Step * h.Step; {
	case noise < fewFloor*step && h.Codes > 0 && h.Codes < fewCodes:
		return []note.Note{note.New("few_codes", "codes", h.Codes, "bits", h.Bits, "step_dbfs", 10*math.Log10(step))}
	case noise < roundingFloor*step:
		return []note.Note{note.New("floor_of_rounding", "bits", h.Bits)}
	}
	return nil
}

// busShare is the least power of a bus's tone beside all other tones: of many, one lies
// anywhere.
const busShare = 0.01

// busTones lists the frequencies of a bus on which tones lie that no comb explains, Hz.
// Of one that can't be told from a line that is said already.
func busTones(r Measurement) (hz []float64) {
	bin, all := r.Spectrum.BinHz(), 0.0
	for _, t := range r.Tones {
		all += t.Power
	}
	for k := 1.0; k <= 16; k++ {
		if k > 8 && k < 16 {
			continue
		}
		on := func(x float64) bool { return math.Abs(x-k*clockHz) < k*clockSlack+0.5*bin }
		ofComb := slices.ContainsFunc(r.AlsoFound, func(c Comb) bool { return on(c.Hz * math.Round(k*clockHz/c.Hz)) })
		said := slices.ContainsFunc(r.Warnings, func(n note.Note) bool { return n.Code == "bus_or_mains" && n.Num("bus_hz") == k*clockHz })
		if !ofComb && !said && slices.ContainsFunc(r.Tones, func(t Tone) bool { return t.Harmonic == 0 && on(t.Hz) && t.Power > busShare*all }) {
			hz = append(hz, k*clockHz)
		}
	}
	return hz
}
