package measure

import (
	"slices"

	"humdiff/report/model"
	"humdiff/report/weighting"
)

// settling is how long the quasi-peak meter takes until what it reads counts, s.
const settling = 2

// quasiPeaks reads the channels of a file by the meter of ITU-R BS.468-4 as their
// samples pass: everything that is in them, hum and tones too.
type quasiPeaks struct {
	each    int // samples from one reading to the next, 10 ms
	meters  []*weighting.QuasiPeak
	pushed  int // of the samples between two readings
	seen    int // readings so far
	powers  [][]float64
	highest []float64
}

func newQuasiPeaks(rate, channels int) *quasiPeaks {
	q := &quasiPeaks{each: max(1, rate/100), powers: make([][]float64, channels), highest: make([]float64, channels)}
	for range channels {
		q.meters = append(q.meters, weighting.NewQuasiPeak(float64(rate)))
	}
	return q
}

// push takes the next frames, one slice a channel, all of equal length.
func (q *quasiPeaks) push(frames [][]float64) {
	for from, n := 0, len(frames[0]); from < n; {
		to := min(n, from+q.each-q.pushed)
		for c, x := range frames {
			q.meters[c].Push(x[from:to])
		}
		q.pushed += to - from
		if from = to; q.pushed == q.each {
			q.read()
		}
	}
}

func (q *quasiPeaks) read() {
	q.pushed = 0
	for c, m := range q.meters {
		if q.seen >= 100*settling {
			q.powers[c] = append(q.powers[c], m.Power())
			q.highest[c] = max(q.highest[c], m.Highest())
		}
		m.Restart()
	}
	q.seen++
}

// of is what was read of a channel; of one that ends before the meter has settled,
// nothing is known.
func (q *quasiPeaks) of(channel int) *model.QuasiPeak {
	r := &model.QuasiPeak{HighestDBFS: model.None, MedianDBFS: model.None}
	if all := q.powers[channel]; len(all) > 0 {
		slices.Sort(all)
		r.HighestDBFS, r.MedianDBFS = model.DB(q.highest[channel]), model.DB(all[len(all)/2])
	}
	return r
}
