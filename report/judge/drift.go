package judge

import (
	"math"
	"slices"

	"humdiff/report/model"
)

// move is a change of quiet from one run to another of the same bench.
type move struct {
	from, to *run
	db       float64 // its size
}

// moves are all changes between successive quiet runs of one bench; between any two
// where their order is unknown.
func (b *bench) moves(of model.Quantity) []move {
	if _, ok := b.moved[of]; !ok {
		b.moved[of] = b.movesOf(of, b.OrderUnknown)
	}
	return b.moved[of]
}

// movesOf are the changes from each quiet run to the next of its bench, or to every
// later one.
func (b *bench) movesOf(of model.Quantity, every bool) []move {
	out := []move{}
	quiets := b.of(model.Quiet)
	for i, q := range quiets {
		for _, r := range quiets[i+1:] {
			if !q.SameBench(r.Run) {
				continue
			}
			if d := math.Abs(b.change(q, r, of)); !math.IsNaN(d) {
				out = append(out, move{q, r, d})
			}
			if !every {
				break
			}
		}
	}
	return out
}

// largest is the first of the largest; none of 0 dB where there is none.
func largest(moves []move) (most move) {
	for _, m := range moves {
		if m.db > most.db || most.from == nil {
			most = m
		}
	}
	return most
}

// largestStep is the largest of the whole session; 0 where none was seen.
func (b *bench) largestStep(of model.Quantity) move { return largest(b.moves(of)) }

// ownDrift is the largest among the quiet runs of a run's own bench.
func (b *bench) ownDrift(r *run, of model.Quantity) (most float64) {
	for _, m := range b.moves(of) {
		if m.from.SameBench(r.Run) {
			most = math.Max(most, m.db)
		}
	}
	return most
}

// widest is the largest change of the hum total between any two quiet runs of one
// bench: more than any step where quiet wandered. False where no bench has two that
// can be held against each other.
func (b *bench) widest() (most move, seen bool) {
	all := b.movesOf(model.Quantity{}, true)
	return largest(all), len(all) > 0
}

// bookend is the first and the last quiet run of a bench, and the change of the total.
type bookend struct {
	first, last *run
	delta       ends
}

func (b *bench) bookends() []bookend {
	var out []bookend
	quiets := b.of(model.Quiet)
	for i, first := range quiets {
		if slices.ContainsFunc(quiets[:i], func(q *run) bool { return q.SameBench(first.Run) }) {
			continue
		}
		last := first
		for _, q := range quiets[i+1:] {
			if first.SameBench(q.Run) {
				last = q
			}
		}
		if last != first {
			out = append(out, bookend{first, last, b.compare(first, last, model.Quantity{}).delta})
		}
	}
	return out
}

// silentQuiets are all quiet runs, if hum was found in none, and some bench has two;
// else none.
func (b *bench) silentQuiets() []*run {
	quiets := b.of(model.Quiet)
	for _, q := range quiets {
		l := b.level(q, false, model.Quantity{})
		if _, limited := l.Upper(); l.Measured() || !limited {
			return nil
		}
	}
	if len(b.bookends()) == 0 {
		return nil
	}
	return quiets
}

// noiseChange is how far the noise without lines differs between two runs, dB.
func noiseChange(quiet, near *run) float64 {
	q, n := quiet.Capture.Noise, near.Capture.Noise
	if !q.DBFS.Ok() || !n.DBFS.Ok() || q.BandHz != n.BandHz {
		return math.NaN()
	}
	return float64(n.DBFS - q.DBFS)
}
