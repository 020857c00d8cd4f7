package plan

import (
	"math"
	"math/rand/v2"
	"slices"

	"humdiff/report/session"
)

// Calibration is a step in which a tone of known voltage is recorded. It is no
// run of a session: the session's bench names its capture.
const Calibration session.Condition = "calibration"

// Sitting is what is to be recorded.
type Sitting struct {
	Cables       []string
	Terminations []float64 // ohms; at least one, NaN where none is stated
	Exposures    []string
	Repeats      int
	Witness      string // empty: none
	Seed         uint64
}

// Step is one capture to be made. Steps of one block are made without touching
// the cable.
type Step struct {
	Block       int // from 1
	Condition   session.Condition
	Cable       string // empty: none is connected
	Termination float64
	Exposure    string // of near and dead
	Repeat      int    // from 1
	Replaced    bool
	Plug        int // 0: the lead is away
}

// Order is the order in which to record. Quiet is recorded before and after each
// near, so that a drift of the bench shows; dead right after the first near of
// each kind, the lead unplugged where it lies. Within each repeat cables and
// terminations are shuffled so that each comes first, second, … as often (where
// repeats are no multiple of their number, to within one), which keeps a drift
// from falling on one cable. The plug is one way round as often as the other, in
// one repeat the same for all cables. The witness, the residual and the calibration come before and
// after everything. The same sitting gives the same order.
func Order(s Sitting) []Step {
	o := &order{quiets: map[place]int{}}
	r := rand.New(rand.NewPCG(s.Seed, 7))
	terminations := rows(r, len(s.Terminations), s.Repeats)
	exposures := rows(r, len(s.Exposures), s.Repeats)
	var cables [][][]int // by termination and repeat
	for range s.Terminations {
		cables = append(cables, rows(r, len(s.Cables), s.Repeats))
	}
	o.alone(Calibration, 1)
	o.alone(session.Residual, 1)
	o.witness(s, 1)
	for i := range s.Repeats {
		under := pick(s.Exposures, exposures[i])
		for _, t := range terminations[i] {
			for _, cable := range pick(s.Cables, cables[t][i]) {
				o.block(place{cable, s.Terminations[t]}, under, i+1, i == 0)
			}
		}
	}
	o.witness(s, 2)
	o.alone(session.Residual, 2)
	o.alone(Calibration, 2)
	return o.steps
}

// place is a cable and what it is closed with.
type place struct {
	cable string
	ohms  float64
}

type order struct {
	steps  []Step
	blocks int
	quiets map[place]int // so far
}

func (o *order) alone(c session.Condition, repeat int) {
	o.blocks++
	o.steps = append(o.steps, Step{Block: o.blocks, Condition: c, Repeat: repeat, Termination: none})
}

func (o *order) witness(s Sitting, repeat int) {
	if s.Witness == "" {
		return
	}
	for _, t := range s.Terminations {
		o.block(place{s.Witness, t}, s.Exposures, repeat, false)
	}
}

func (o *order) block(p place, exposures []string, repeat int, dead bool) {
	o.blocks++
	o.quiet(p)
	for _, e := range exposures {
		near := Step{Block: o.blocks, Condition: session.Near, Cable: p.cable, Termination: p.ohms, Exposure: e,
			Repeat: repeat, Replaced: repeat > 1, Plug: plugs[(repeat-1)%len(plugs)]}
		o.steps = append(o.steps, near)
		if dead {
			near.Condition = session.Dead
			o.steps = append(o.steps, near)
		}
		o.quiet(p)
	}
}

// plugs are its orientations by repeat: turned round each time, but for every
// second, so that it doesn't go in step with orders of two.
var plugs = []int{1, 2, 2, 1}

func (o *order) quiet(p place) {
	key := p
	if key.ohms != key.ohms { // NaN is no key
		key.ohms = -1
	}
	o.quiets[key]++
	o.steps = append(o.steps, Step{Block: o.blocks, Condition: session.Quiet, Cable: p.cable, Termination: p.ohms, Repeat: o.quiets[key]})
}

func pick[T any](from []T, which []int) (out []T) {
	for _, i := range which {
		out = append(out, from[i])
	}
	return out
}

// rows are count orders of n things, shuffled squares of n orders one after the
// other.
func rows(r *rand.Rand, n, count int) (all [][]int) {
	for len(all) < count {
		name := r.Perm(n)
		all = append(append(all, square(r, name, false)...), square(r, name, true)...)
	}
	return all[:count]
}

// square is n orders of n things in which each is once in each place, and for
// even n follows each other once (E. J. Williams 1949, from memory); for odd n a
// square and its mirror image together do that. The orders are shuffled.
func square(r *rand.Rand, name []int, mirrored bool) (all [][]int) {
	n := len(name)
	for _, shift := range r.Perm(n) {
		row := make([]int, n)
		for j := range row {
			step := (j + 1) / 2 // 0, 1, n−1, 2, n−2 …
			if j%2 == 0 {
				step = n - step
			}
			row[j] = name[(step+shift)%n]
		}
		if mirrored {
			slices.Reverse(row)
		}
		all = append(all, row)
	}
	return all
}

// none is a termination that isn't stated.
var none = math.NaN()
