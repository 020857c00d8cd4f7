package likeness

import (
	"cmp"
	"math"
	"slices"

	"humdiff/fft/mains"
	"humdiff/fft/note"
)

// Codes about a rate label.
const (
	// The lines make a comb of the mains at another common rate, and none at the one
	// stated: the label is likely wrong.
	rateLabel = "rate_label" // stated_hz, rates_hz, nominal_hz, share, stated_share
	// Likely, not surely: only every second harmonic of the mains is there, and those as
	// strong and weak in turn as all harmonics use to be, as where the label is twice the
	// rate.
	rateLabelPerhaps = "rate_label_perhaps" // the same
)

const (
	peaksJudged   = 24     // the strongest
	peaksBelow    = 2500.0 // Hz
	gridRange     = 0.004  // by which a public grid leaves its nominal frequency, with the clock's error
	statedRange   = 0.02   // by which a mains at the stated rate may
	labelStep     = 0.5e-4 // of f0, from one that is tried to the next
	fitsShare     = 0.9    // of the power, and …
	fitsCount     = 0.7    // … of the peaks that a comb explains which fits
	failsShare    = 0.5    // of the power, or …
	failsCount    = 0.35   // … of the peaks that one explains at most which doesn't
	leastHarmonic = 4      // different ones
	oddShare      = 0.05   // of the power that odd harmonics hold: else the comb is twice as wide
)

// commonRates are rates that files are labelled with, Hz.
var commonRates = []float64{8000, 11025, 16000, 22050, 24000, 32000, 44100, 48000, 64000, 88200, 96000, 176400, 192000, 352800, 384000}

// Peak is a line or tone: its frequency at the stated rate, and its power.
type Peak struct{ Hz, Power float64 }

// noPeaks are warnings of what makes a comb of any rate: a voice's overtones, or what a
// converter that no noise dithers adds to hum.
var noPeaks = []string{"noise_unsteady", "undithered", "few_codes", "floor_of_rounding"}

// Peaks are the lines that were found and the tones of a measurement; none where warnings
// speak against them.
func Peaks(m mains.Measurement) (peaks []Peak) {
	if slices.ContainsFunc(m.Warnings, func(n note.Note) bool { return slices.Contains(noPeaks, n.Code) }) {
		return nil
	}
	for _, l := range m.Lines {
		if l.Detected {
			peaks = append(peaks, Peak{l.Hz, l.Power})
		}
	}
	for _, t := range m.Tones {
		peaks = append(peaks, Peak{t.Hz, t.Power})
	}
	return peaks
}

// fit is a comb laid over peaks.
type fit struct {
	rate, nominal float64
	share, count  float64 // of the power and of the peaks that it explains
	harmonics     int     // different ones
	odd           float64 // share of the explained power
	powers        map[int]float64
}

// JudgeRate says whether a stated rate in hertz is likely wrong: whether the comb that
// the peaks would make at another common rate, between half and twice the stated one,
// is far better than at that one. Nothing is said of peaks that make a comb at neither.
// Where several rates fit, all are named, the best first: then the rate is unknown.
func JudgeRate(stated float64, peaks []Peak) (n note.Note, doubtful bool) {
	peaks = strongest(peaks)
	at := bestFit(stated, stated, statedRange, peaks)
	if at.fits() && at.odd >= oddShare {
		return n, false
	}
	var better []fit
	for _, rate := range commonRates {
		if ratio := rate / stated; rate == stated || ratio < 0.45 || ratio > 2.2 {
			continue
		}
		if f := bestFit(rate, stated, gridRange, peaks); f.fits() && f.odd >= oddShare {
			better = append(better, f)
		}
	}
	slices.SortStableFunc(better, func(a, b fit) int { return cmp.Compare(b.share, a.share) })
	switch {
	case len(better) == 0:
		return n, false
	case at.fails():
		return labelNote(rateLabel, stated, better, at), true
	case slices.ContainsFunc(better, func(f fit) bool { return 2*f.rate == stated && f.alternates() }):
		better = slices.DeleteFunc(better, func(f fit) bool { return 2*f.rate != stated })
		return labelNote(rateLabelPerhaps, stated, better, at), true
	}
	return n, false
}

func labelNote(code string, stated float64, better []fit, at fit) note.Note {
	var rates, nominal []float64
	for _, f := range better {
		rates, nominal = append(rates, f.rate), append(nominal, f.nominal)
	}
	return note.New(code, "stated_hz", stated, "rates_hz", rates, "nominal_hz", nominal, "share", better[0].share, "stated_share", at.share)
}

// strongest are the peaks that are judged.
func strongest(peaks []Peak) []Peak {
	low := slices.DeleteFunc(slices.Clone(peaks), func(p Peak) bool { return !(p.Hz > 0 && p.Hz < peaksBelow && p.Power > 0) })
	slices.SortStableFunc(low, func(a, b Peak) int { return cmp.Compare(b.Power, a.Power) })
	return low[:min(len(low), peaksJudged)]
}

// bestFit is the best comb of either mains, were the rate another than stated.
func bestFit(rate, stated, reach float64, peaks []Peak) fit {
	best, at, nominal := 0.0, 0.0, 0.0
	for _, mains := range []float64{50, 60} {
		for off := -reach; off <= reach; off += labelStep {
			f0 := mains * stated / rate * (1 + off)
			power, count := 0.0, 0.0
			for _, p := range peaks {
				if harmonic(p.Hz, f0) > 0 {
					power, count = power+p.Power, count+1
				}
			}
			if power*count > best {
				best, at, nominal = power*count, f0, mains
			}
		}
	}
	f := lay(at, peaks)
	f.rate, f.nominal = rate, nominal
	return f
}

// harmonic is which harmonic of f0 a peak is; 0 where it is none.
func harmonic(hz, f0 float64) int {
	h := math.RoundToEven(hz / f0) // one instruction
	if h < 1 || math.Abs(hz-h*f0) > 0.2+3e-4*hz {
		return 0
	}
	return int(h)
}

// lay puts a comb over peaks; one of 0 Hz explains none.
func lay(f0 float64, peaks []Peak) fit {
	f := fit{powers: map[int]float64{}}
	if f0 == 0 {
		return f
	}
	all, odd, explained, n := 0.0, 0.0, 0.0, 0
	for _, p := range peaks {
		all += p.Power
		h := harmonic(p.Hz, f0)
		if h == 0 {
			continue
		}
		n++
		explained += p.Power
		f.powers[h] += p.Power
		if h%2 == 1 {
			odd += p.Power
		}
	}
	f.harmonics, f.odd = len(f.powers), odd/explained
	f.share, f.count = explained/all, float64(n)/float64(len(peaks))
	return f
}

func (f fit) fits() bool {
	return f.share >= fitsShare && f.count >= fitsCount && f.harmonics >= leastHarmonic
}

func (f fit) fails() bool {
	return f.share <= failsShare || f.count <= failsCount || f.harmonics < leastHarmonic-1
}

// alternates says that odd harmonics are stronger than the even ones beside them, as
// those of the mains are, but for one in five that a lead's position cancels. A rectifier's
// fall steadily.
func (f fit) alternates() bool {
	n, fail := 0, 0
	for h := 3; h <= 15; h += 2 {
		p, below, above := f.powers[h], f.powers[h-1], f.powers[h+1]
		if p == 0 && above == 0 {
			continue // beyond what was found
		}
		if n++; p <= below || p <= above {
			fail++
		}
	}
	return n >= 3 && 5*fail <= n
}
