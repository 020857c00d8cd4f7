package fft

// Spectrum is an averaged power spectrum: Density[j] is the one-sided power
// density at j·Rate/N hertz, relative to the mean square of a full-scale sine
// and per hertz.
type Spectrum struct {
	Rate     float64
	N        int       // block length
	Window   string    // name
	ENBW     float64   // equivalent noise bandwidth, bins
	Averages float64   // effective number of independent averages, overlap counted
	Density  []float64 // N/2+1 bins
}

// BinHz is the spacing of the bins.
func (s Spectrum) BinHz() float64 { return s.Rate / float64(s.N) }

// ENBWHz is the equivalent noise bandwidth of a bin in hertz.
func (s Spectrum) ENBWHz() float64 { return s.ENBW * s.BinHz() }
