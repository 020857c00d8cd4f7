package assemble

import (
	"math"

	"humdiff/fft/health"
	"humdiff/fft/mains"
	"humdiff/report/result"
)

func healthOf(h mains.Health) result.Health {
	r := result.Health{
		PeakDBFS:    result.DB(h.Peak * h.Peak),
		PeakSeconds: result.Of(h.PeakSeconds),
		DC:          result.Of(h.DC),
		Clipped:     h.Clipped,
		Silent:      h.Silent,

		ClippedRuns: runs(h.ClippedRuns),
		FlatTops:    runs(h.FlatTops),
		Zeros:       runs(h.Zeros),
		Stuck:       runs(h.Stuck),
		Repeats:     runs(h.Repeats),
		Clicks:      runs(h.Clicks),
		BitsUsed:    h.Bits,
		SameAs:      h.SameAs,

		LowBursts:  result.Runs{Count: h.Bursts, LongestS: result.None, FirstS: result.None},
		LeftOutS:   result.Of(h.LeftOut),
		GatedS:     result.Of(h.Gated),
		GainDB:     result.Of(h.Gain),
		FadeDB:     result.Of(h.Fade),
		EndsUnlike: h.StartUnlike || h.EndUnlike,
		PhaseJumps: len(h.Jumps),
		BuzzDepth:  result.Of(h.Buzz),
		CutHz:      result.None,
		FloorsHigh: make([]result.Num, len(mains.FloorBands)),
	}
	if h.Bursts > 0 {
		r.LowBursts.FirstS = result.Of(h.BurstFirst)
	}
	if h.Cut > 0 {
		r.CutHz = result.Of(h.Cut)
	}
	for i := range r.FloorsHigh {
		r.FloorsHigh[i] = result.None
		if i < len(h.Floors) {
			r.FloorsHigh[i] = result.DB(h.Floors[i])
		}
	}
	return r
}

func runs(r health.Runs) result.Runs {
	s := result.Runs{Count: r.Count, Samples: r.Samples, LongestS: result.None, FirstS: result.None}
	if r.Count > 0 {
		s.LongestS, s.FirstS = result.Of(r.Longest), result.Of(r.First)
	}
	return s
}

const (
	// movedHz is how far apart two captures' mains may lie unsaid: a grid's usual
	// wander is 0.02 Hz over minutes.
	movedHz = 0.1
	// stepDB is the least step of the floor above 5 kHz from capture to capture
	// that is told: medians over thousands of bins scatter by 0.12 dB and less, and
	// warming by 10 K makes 0.15 dB. evenDB is by how much bands may differ in it.
	stepDB, evenDB = 0.5, 0.3
	// fewerBits is by how many bits a file may say too much unsaid.
	fewerBits = 2
)

// depth says where a file holds fewer bits than it says.
func (w *warnings) depth(c Channel) {
	if used := c.Health.Bits; !c.Side.Float && used > 0 && used+fewerBits <= c.Bits {
		w.add(c.Side, "fewer_bits", "bits", c.Bits, "used", used)
	}
}

// moved says where the two captures' mains differ more than a grid wanders in
// the meantime.
func (w *warnings) moved(q, n result.Capture) {
	if !q.Mains.Detected || !n.Mains.Detected || unlike(q, n) {
		return
	}
	if d := float64(n.Mains.Hz - q.Mains.Hz); math.Abs(d) > movedHz {
		w.add(n.Side, "mains_moved", "hz", d)
	}
}

// stepped says where the floor above 5 kHz stepped from quiet to near, by the
// same in all bands and by more than the step between the two scales, dB, accounts
// for: a gain range. It returns whether it did. On scales that differ by a gain the
// converter's own floor steps as well, so nothing is said there.
func (w *warnings) stepped(q, n result.Capture, step float64) bool {
	d, ok := floorStep(q.Health, n.Health)
	if ok = ok && math.Abs(step) < stepDB && math.Abs(d+step) > stepDB; ok {
		w.add(n.Side, "gain_changed", "db", d)
	}
	return ok
}

// floorStep is the step of the floor above 5 kHz from one capture to another, dB;
// ok is false where there is none, or one that differs from band to band.
func floorStep(a, b result.Health) (db float64, ok bool) {
	var steps []float64
	for i := range min(len(a.FloorsHigh), len(b.FloorsHigh)) {
		if a.FloorsHigh[i].Ok() && b.FloorsHigh[i].Ok() {
			steps = append(steps, float64(b.FloorsHigh[i]-a.FloorsHigh[i]))
		}
	}
	if len(steps) < 2 {
		return 0, false
	}
	lo, hi := steps[0], steps[0]
	for _, s := range steps {
		lo, hi, db = min(lo, s), max(hi, s), db+s/float64(len(steps))
	}
	return db, math.Abs(db) > stepDB && hi-lo < evenDB
}

// unlikeDB is the mean distance of two floors above 5 kHz, NaN where unknown.
func unlikeDB(a, b result.Health) float64 {
	sum, n := 0.0, 0.0
	for i := range min(len(a.FloorsHigh), len(b.FloorsHigh)) {
		if a.FloorsHigh[i].Ok() && b.FloorsHigh[i].Ok() {
			sum, n = sum+math.Abs(float64(b.FloorsHigh[i]-a.FloorsHigh[i])), n+1
		}
	}
	return sum / n
}

// swapped says where two channels of near fit each other's channel of quiet
// and not their own: each has a floor of its own.
func (w *warnings) swapped(pairs []result.Pair) {
	const same, other = 0.5, 2.0 // dB
	for i, a := range pairs {
		for _, b := range pairs[i+1:] {
			if a.Quiet.File != b.Quiet.File || a.Near.File != b.Near.File || a.Quiet.Channel == b.Quiet.Channel {
				continue
			}
			straight := min(unlikeDB(a.Health.Quiet, a.Health.Near), unlikeDB(b.Health.Quiet, b.Health.Near))
			crossed := max(unlikeDB(a.Health.Quiet, b.Health.Near), unlikeDB(b.Health.Quiet, a.Health.Near))
			if straight > other && crossed < same {
				w.add(a.Near, "channels_swapped", "channel", a.Near.Channel, "other_channel", b.Near.Channel)
			}
		}
	}
}
