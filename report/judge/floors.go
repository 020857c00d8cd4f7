package judge

import (
	"math"
	"slices"

	"humdiff/report/model"
)

// stepDB is the least step of the floor above 5 kHz from capture to capture that
// is told: medians over thousands of bins scatter by 0.12 dB and less, and warming
// by 10 K makes 0.15 dB. evenDB is by how much bands may differ in it, and besideDB the
// middle half of the floors beside lines: what is played moves each by something else.
const stepDB, evenDB, besideDB = 0.5, 0.3, 1.0

// stepped says where the floor above 5 kHz stepped from quiet to near, by the
// same in all bands, beside the lines as well, and by more than the step between the two
// scales, dB, accounts for: a gain range. It returns whether it did. On scales that differ by a gain the
// converter's own floor steps as well, so nothing is said there.
func (l *list) stepped(p model.Pair, step float64) bool {
	d, ok := floorStep(p.Quiet.Health, p.Near.Health)
	if beside := stepsBeside(p); len(beside) > 0 {
		middle := beside[len(beside)/4 : len(beside)-len(beside)/4]
		ok = ok && d-middle[0] < besideDB && middle[len(middle)-1]-d < besideDB
	}
	if ok = ok && math.Abs(step) < stepDB && math.Abs(d+step) > stepDB; ok {
		l.add(p.Near.Side, model.GainChanged, "db", model.Places(d, 4))
	}
	return ok
}

// floorStep is the step of the floor above 5 kHz from one capture to another, dB;
// ok is false where there is none, or one that differs from band to band.
func floorStep(a, b model.Health) (db float64, ok bool) {
	steps := floorSteps(a, b)
	if len(steps) < 2 {
		return 0, false
	}
	lo, hi := steps[0], steps[0]
	for _, s := range steps {
		lo, hi, db = min(lo, s), max(hi, s), db+s/float64(len(steps))
	}
	return db, math.Abs(db) > stepDB && hi-lo < evenDB
}

// floorSteps are the steps of all bands that both have, dB.
func floorSteps(a, b model.Health) (steps []float64) {
	for i := range min(len(a.FloorsHigh), len(b.FloorsHigh)) {
		if a.FloorsHigh[i].Ok() && b.FloorsHigh[i].Ok() {
			steps = append(steps, float64(b.FloorsHigh[i]-a.FloorsHigh[i]))
		}
	}
	return steps
}

// floorMovedDB is by how much floors have to move for noise to differ.
const floorMovedDB = gainDB / 2.0

// floorsMoved says that the floor beside the lines, their middle one, or one above 5 kHz
// moved the same way as the noise did, d dB at the input; or that none is known.
func floorsMoved(p model.Pair, step, d float64) bool {
	steps := floorSteps(p.Quiet.Health, p.Near.Health)
	if beside := stepsBeside(p); len(beside) > 0 {
		steps = append(steps, beside[len(beside)/2])
	}
	return len(steps) == 0 || slices.ContainsFunc(steps, func(s float64) bool { return math.Copysign(s+step, d) == s+step && math.Abs(s+step) > floorMovedDB })
}

// stepsBeside are the steps of the floors beside lines that both have, dB, the least first.
func stepsBeside(p model.Pair) (beside []float64) {
	for h := range min(len(p.Quiet.Lines), len(p.Near.Lines)) {
		if q, n := p.Quiet.Lines[h].FloorDBFSHz, p.Near.Lines[h].FloorDBFSHz; q.Ok() && n.Ok() {
			beside = append(beside, float64(n-q))
		}
	}
	slices.Sort(beside)
	return beside
}

// floorsApart is the mean distance of two floors above 5 kHz, dB; NaN where
// unknown.
func floorsApart(a, b model.Health) float64 {
	steps := floorSteps(a, b)
	sum := 0.0
	for _, s := range steps {
		sum += math.Abs(s)
	}
	return sum / float64(len(steps))
}

// swapped says where two channels of near fit each other's channel of quiet and
// not their own: each has a floor of its own.
func (l *list) swapped(pairs []model.Pair) {
	const same, other = 0.5, 2.0 // dB
	for i, a := range pairs {
		for _, b := range pairs[i+1:] {
			if a.Quiet.File != b.Quiet.File || a.Near.File != b.Near.File || a.Quiet.Channel == b.Quiet.Channel {
				continue
			}
			straight := min(floorsApart(a.Quiet.Health, a.Near.Health), floorsApart(b.Quiet.Health, b.Near.Health))
			crossed := max(floorsApart(a.Quiet.Health, b.Near.Health), floorsApart(b.Quiet.Health, a.Near.Health))
			if straight > other && crossed < same {
				l.add(a.Near.Side, channelsSwapped, "channel", a.Near.Channel, "other_channel", b.Near.Channel)
			}
		}
	}
}
