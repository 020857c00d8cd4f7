package judge

import (
	"math"
	"slices"

	"humdiff/report/model"
)

// mixedShare is how much of the spread of near runs' places in the order may lie
// between cables for these to have taken turns: what drifts evenly with time then
// shows more within cables than between them.
const mixedShare = 0.5

func (b *bench) quietMoved() (out []model.Finding) {
	if b.OrderUnknown {
		return nil
	}
	for _, e := range b.bookends() {
		if d := e.delta; (d.lo > 0 || d.hi < 0) && !(math.Abs(d.mid) < movedDB) {
			out = append(out, finding(model.QuietMoved, e.first.Cable, e.first.Where(), []int{e.first.Number, e.last.Number},
				"db", d.mid, "lo_db", d.lo, "hi_db", d.hi))
		}
	}
	return out
}

func (b *bench) driftUnknown() []model.Finding {
	var one []*run
	for _, r := range b.readings() {
		if len(r.quiets()) == 1 {
			one = append(one, r.near)
		}
	}
	step := b.largestStep(model.Quantity{}).db
	if len(b.moves(model.Quantity{})) == 0 {
		step = math.NaN()
	}
	return counted(model.DriftUnknown, one, "db", step)
}

// inBlocks says that the near runs of each cable were made one after the other, with
// no other cable's between: then cable and time can't be told apart.
func (b *bench) inBlocks() []model.Finding {
	if b.OrderUnknown {
		return nil
	}
	nears := b.of(model.Near)
	blocks := 0
	for i, r := range nears {
		if i == 0 || nears[i-1].Cable != r.Cable {
			blocks++
		}
	}
	cables := len(cablesOf(nears))
	if cables < 2 || blocks > cables || len(nears) <= cables {
		return nil
	}
	return []model.Finding{finding(model.InBlocks, "", nowhere, numbers(nears), "count", cables)}
}

// betweenCables is the share of the spread (sum of squares) of near runs' places in
// their order that lies between cables: 1 where each cable's were made at one time,
// near 0 where all took turns.
func betweenCables(nears []*run) float64 {
	sum, count := map[string]float64{}, map[string]float64{}
	for i, r := range nears {
		sum[r.Cable], count[r.Cable] = sum[r.Cable]+float64(i), count[r.Cable]+1
	}
	middle := float64(len(nears)-1) / 2
	between, all := 0.0, 0.0
	for i, r := range nears {
		between += math.Pow(sum[r.Cable]/count[r.Cable]-middle, 2)
		all += math.Pow(float64(i)-middle, 2)
	}
	return between / all
}

// pickupMoves says that pickups rose or fell over the repeats, cells taken together:
// the last placement against the first in each.
func (b *bench) pickupMoves() []model.Finding {
	if b.OrderUnknown {
		return nil
	}
	var change []float64
	var runs []*run
	for _, c := range b.gathered(model.Quantity{}) {
		first, last := c.readings[0], c.readings[len(c.readings)-1]
		if d := last.pickup.mid - first.pickup.mid; c.n() > 2 && !math.IsNaN(d) {
			change, runs = append(change, d), append(runs, first.near, last.near)
		}
	}
	if len(change) < 3 {
		return nil
	}
	m := meanOf(change)
	half := m.truth().reach(b.tail())
	if math.Abs(m.value) <= half {
		return nil
	}
	return []model.Finding{finding(model.PickupMoves, "", nowhere, numbers(runs),
		"count", len(change), "db", m.value, "lo_db", m.value-half, "hi_db", m.value+half)}
}

// noOrder says that nothing is known of the order of the runs.
func (b *bench) noOrder() []model.Finding {
	if !b.OrderUnknown {
		return nil
	}
	return []model.Finding{finding(model.NoOrder, "", nowhere, nil)}
}

// startsGuessed are the runs of whose start nobody is sure.
func (b *bench) startsGuessed() []*run {
	return b.each(func(r *run) bool { return slices.Contains(r.Guessed, model.StartKey) })
}
