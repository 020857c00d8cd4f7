package likeness

import "humdiff/fft"

const (
	// sketchBytes is the most a sketch's samples take: with the rest of it, and
	// written as base64 in JSON, below 64 kB.
	sketchBytes = 46_000
	// sketchHz is where a sketch's band begins, wherever the rate allows: common to
	// all rates from 4730 Hz on, above the strongest hum, kept by any codec. (At 48 kb/s
	// one kept a tenth of the noise at 900 Hz, four tenths at 2.5 kHz.)
	sketchHz = 1700.0
	// sketchShare is where it begins, of the rate, at lower ones: below its half by twice its width.
	sketchShare = 0.36
	// sketchRate is the lowest rate that a stream is halved to.
	sketchRate = 4840.0
	// sketchBlock is the longest block in seconds.
	sketchBlock = 1.7
)

// Sketch is the whitened noise of one channel in a narrow band, moved down to 0 Hz:
// two bits each for the real and the imaginary part of every sample. It is about
// 190 bytes a second; of more than four minutes the band is halved until it fits, of
// more than two hours the beginning is kept. Gain, offset, re-encoding and trimming leave it
// alike; separate recordings share nothing of it.
type Sketch struct {
	Rate   float64 `json:"rate_hz"` // of its complex samples, and width of its band
	LowHz  float64 `json:"low_hz"`  // lower end of the band
	StartS float64 `json:"start_s"` // of its first sample, from the capture's start
	Data   []byte  `json:"data"`    // two samples a byte
}

// Seconds is how long it is.
func (s Sketch) Seconds() float64 {
	if s.Rate == 0 {
		return 0
	}
	return float64(2*len(s.Data)) / s.Rate
}

// sketchPlan is how a stream becomes a sketch.
type sketchPlan struct {
	boxed    int     // samples a boxcar adds up
	halvings int     // behind it
	rate     float64 // after them
	edge     float64 // Hz; what has to stay clean
	n        int     // block
	low      int     // first bin
	bins     int     // that are whitened
	kept     int     // that go into the sketch, and its complex samples a block
}

func planSketch(rate int, frames int64) sketchPlan {
	p := sketchPlan{boxed: newBoxcar(rate).factor}
	p.rate = float64(rate) / float64(p.boxed)
	for p.rate/2 >= sketchRate {
		p.rate /= 2
		p.halvings++
	}
	p.n = fft.PowerOfTwo(int(p.rate*sketchBlock/2) + 1)
	// A multiple of four, so that the shift to 0 Hz turns by whole turns from block
	// to block.
	p.low = int(min(sketchHz, sketchShare*p.rate)/p.rate*float64(p.n)/4) * 4
	p.bins = max(p.n/16, 2)
	p.edge = float64(p.low+p.bins) * p.rate / float64(p.n)
	seconds := float64(frames) / float64(rate)
	p.kept = p.bins
	for p.kept > 16 && seconds*p.complexRate() > 2*sketchBytes {
		p.kept /= 2
	}
	return p
}

func (p sketchPlan) complexRate() float64 { return p.rate * float64(p.kept) / float64(p.n) }

// sketcher makes the sketch of one channel from blocks of bins.
type sketcher struct {
	*band
	plan    sketchPlan
	samples []byte
	half    bool // the last byte has room for one more
}

func newSketcher(p sketchPlan) *sketcher {
	s := &sketcher{plan: p}
	s.band = newBand(p.n, p.low, p.bins, p.kept, fineSegment, s.keep)
	return s
}

// keep writes the next sample.
func (s *sketcher) keep(z complex128) {
	code := s.code(real(z)) | s.code(imag(z))<<2
	switch {
	case s.half:
		s.samples[len(s.samples)-1] |= code << 4
	case len(s.samples) == sketchBytes:
		return
	default:
		s.samples = append(s.samples, code)
	}
	s.half = !s.half
}

// code is one of four steps: below −1, below 0, below 1, above, for a mean square of 1
// (0.98 is best for Gaussian noise: J. Max 1960).
func (s *sketcher) code(x float64) byte {
	switch {
	case x < -0.98:
		return 0
	case x < 0:
		return 1
	case x < 0.98:
		return 2
	}
	return 3
}

// steps are what the codes stand for, but for a factor.
var steps = [4]float64{-3.3, -1, 1, 3.3}

// unpack is the sketch's samples.
func (s Sketch) unpack() []complex128 {
	x := make([]complex128, 2*len(s.Data))
	for i, b := range s.Data {
		x[2*i] = complex(steps[b&3], steps[b>>2&3])
		x[2*i+1] = complex(steps[b>>4&3], steps[b>>6])
	}
	return x
}

func (s *sketcher) sketch(delay float64) Sketch {
	p := s.plan
	out := Sketch{
		Rate: p.complexRate(), LowHz: float64(p.low) * p.rate / float64(p.n),
		StartS: delay + float64(p.n/2)/p.rate, Data: s.samples,
	}
	if 2*s.noisy < s.blocks {
		out.Data = nil // mostly digital silence
	}
	return out
}
