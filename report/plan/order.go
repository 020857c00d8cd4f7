package plan

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"humdiff/report/model"
)

// Calibration is a step in which a tone of known voltage is recorded. It is no
// run of a session: the session's bench names its capture.
const Calibration = "calibration"

// Sitting is what is to be recorded.
type Sitting struct {
	Cables       []string
	Terminations []model.Termination // at least one, maybe not stated
	Exposures    []string
	Repeats      int
	Control      string // the positive control; empty: none
	Seed         uint64
}

// Order is the order in which to record. Quiet is recorded before and after each
// near, so that a drift of the bench shows; unplugged right after the first near
// of each kind, the lead where it lies. Within each repeat cables and
// terminations are shuffled so that each comes first, second, … as often (where
// repeats are no multiple of their number, to within one), which keeps a drift
// from falling on one cable. The plug is one way round as often as the other, in
// one repeat the same for all cables. The positive control, the residual and the
// calibration come before and after everything. The same sitting gives the same
// order.
func Order(s Sitting) []model.PlanRun {
	o := &order{quiets: map[place]int{}}
	r := rand.New(rand.NewPCG(s.Seed, 7))
	terminations := rows(r, len(s.Terminations), s.Repeats)
	exposures := rows(r, len(s.Exposures), s.Repeats)
	var cables [][][]int // by termination and repeat
	for range s.Terminations {
		cables = append(cables, rows(r, len(s.Cables), s.Repeats))
	}
	o.alone(Calibration, 1)
	o.alone(model.Residual, 1)
	o.control(s, 1)
	for i := range s.Repeats {
		under := pick(s.Exposures, exposures[i])
		for _, t := range terminations[i] {
			for _, cable := range pick(s.Cables, cables[t][i]) {
				o.block(placeOf(cable, s.Terminations[t]), under, i+1, i == 0)
			}
		}
	}
	o.control(s, 2)
	o.alone(model.Residual, 2)
	o.alone(Calibration, 2)
	return o.runs
}

// place is a cable and what it is terminated in, ohms; -1 where nothing is stated
// or the far end is open.
type place struct {
	cable string
	ohms  model.Num
	open  bool
}

func placeOf(cable string, t model.Termination) place {
	if !t.Ohms.Ok() { // NaN is no key
		t.Ohms = -1
	}
	return place{cable, t.Ohms, t.Open}
}

type order struct {
	runs   []model.PlanRun
	blocks int
	quiets map[place]int // so far
}

// add numbers a run and names its file.
func (o *order) add(p place, r model.PlanRun) {
	r.Block, r.Number, r.Cable = o.blocks, len(o.runs)+1, p.cable
	if r.Termination, r.Open = p.ohms, p.open; p.ohms < 0 {
		r.Termination = model.None
	}
	r.File = fmt.Sprintf("run%03d-%s.wav", r.Number, r.Condition)
	o.runs = append(o.runs, r)
}

func (o *order) alone(condition string, repeat int) {
	o.blocks++
	o.add(place{ohms: -1}, model.PlanRun{Condition: condition, Repeat: repeat})
}

func (o *order) control(s Sitting, repeat int) {
	if s.Control == "" {
		return
	}
	for _, t := range s.Terminations {
		o.block(placeOf(s.Control, t), s.Exposures, repeat, false)
	}
}

func (o *order) block(p place, exposures []string, repeat int, unplugged bool) {
	o.blocks++
	o.quiet(p)
	for _, e := range exposures {
		near := model.PlanRun{Condition: model.Near, Exposure: e, Repeat: repeat, Replaced: repeat > 1, Plug: plugs[(repeat-1)%len(plugs)]}
		o.add(p, near)
		if unplugged {
			near.Condition = model.Unplugged
			o.add(p, near)
		}
		o.quiet(p)
	}
}

// plugs are its orientations by repeat: turned round each time, but for every
// second, so that it doesn't go in step with orders of two.
var plugs = []int{1, 2, 2, 1}

func (o *order) quiet(p place) {
	o.quiets[p]++
	o.add(p, model.PlanRun{Condition: model.Quiet, Repeat: o.quiets[p]})
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
