package health

import (
	"math"
	"slices"

	"humdiff/fft/lend"
)

const (
	repeatReach   = 1 << 15 // samples back in which a block is looked for again
	repeatLead    = 8       // samples that an anchor's signature covers
	repeatTable   = 1 << 12
	leastRepeat   = 32   // samples that differ from the one before
	repeatNats    = 40.0 // −ln of the probability of so long a likeness by chance, at least
	repeatBefore  = 512  // samples ahead by which chance is judged
	nearlyAlike   = 0.25 // of what samples in a row differ by, below which a wave fits itself
	creeps        = 2.5  // steps by which cycles of a wave without noise differ at the most …
	creepsFor     = 16   // samples long
	mostRepeats   = 0.2  // share of the capture above which it is a generated wave
	repeatPeriods = 8    // a wave that fits itself for so many lags is periodic
)

// repeats looks for blocks of samples that were handed over twice, as a driver
// does that falls behind. Anchors, places whose two samples happen to hash to a certain
// value, are the same in a block and in its repeat, wherever those lie;
// each is looked up among earlier ones by the samples that follow it.
type repeats struct {
	past  []float64           // the latest samples
	first int64               // number of past[0]
	next  int                 // index in past of the next possible anchor
	table [repeatTable]anchor // small: spectra drive it out of the cache
	open  likeness
	found runs
}

// anchor is its sample's number in its lowest bits, as far as it fits, and above these bits of its
// signature: high ones, for a product's lowest are those of short samples, all alike.
type anchor uint32

const anchorBits = 17 // of the number: past is shorter

// likeness is a stretch that equals one `lag` samples earlier.
type likeness struct {
	from, to, lag int64
	moves         int     // samples that differ from the one before
	chance        float64 // of two such samples being equal
}

func (r *repeats) add(x []float64) {
	if len(r.past)+len(x) > 3*repeatReach && len(r.past) > repeatReach {
		drop := len(r.past) - repeatReach
		r.past = append(r.past[:0], r.past[drop:]...)
		r.first += int64(drop)
		r.next = max(r.next-drop, 1)
	}
	if r.past == nil {
		r.past = pasts.Take(3*repeatReach + len(x))[:0]
	}
	r.past = append(r.past, x...)
	past := r.past
	i := max(r.next, 1)
	for last := len(past) - repeatLead; i < last; i++ {
		if i += nextAnchor(past[i-1:last]) - 1; i == last {
			break
		}
		if past[i-1] != past[i] {
			i = max(i, r.meet(i))
		}
	}
	r.next = i
}

// pasts are samples of earlier captures.
var pasts lend.Pool[float64]

func (r *repeats) release() {
	if r.past != nil {
		pasts.Give(r.past[:cap(r.past)])
		r.past = nil
	}
}

const mixer = 0x9E3779B97F4A7C15 // 2⁶⁴ over the golden ratio

// nextAnchor is the first i from 1 on at which x[i−1] and x[i] happen to hash to a
// certain value, as one pair in 64 does; len(x) if none does.
func nextAnchor(x []float64) int {
	before := math.Float64bits(x[0])
	for i, v := range x[1:] {
		now := math.Float64bits(v)
		if (before^now>>1)*mixer>>58 == 1 {
			return i + 1
		}
		before = now
	}
	return len(x)
}

// meet looks an anchor up and returns how far to pass on.
func (r *repeats) meet(i int) int {
	// A sum of products, so that none has to wait for another.
	signature, factor := uint64(1), uint64(mixer)
	for _, v := range r.past[i:][:repeatLead] {
		signature += math.Float64bits(v) * factor
		factor += 0x9E3779B97F4A7C16 // odd again
	}
	slot := &r.table[signature>>52]
	old, now := *slot, anchor(signature>>37)<<anchorBits|anchor(r.first+int64(i))&(1<<anchorBits-1)
	*slot = now
	lag := int(now-old) & (1<<anchorBits - 1)
	if old>>anchorBits != now>>anchorBits || lag == 0 || lag > i || !slices.Equal(r.past[i:][:repeatLead], r.past[i-lag:][:repeatLead]) {
		return i + repeatLead
	}
	return r.extend(i, lag)
}

// extend finds how far the likeness at index i reaches, and returns its end.
func (r *repeats) extend(i, lag int) int {
	past := r.past
	from, to := i, i
	for from > lag && past[from-1] == past[from-1-lag] {
		from--
	}
	for to < len(past) && past[to] == past[to-lag] {
		to++
	}
	moves := 0
	for k := max(from, 1); k < to; k++ {
		if past[k] != past[k-1] {
			moves++
		}
	}
	start, end := r.first+int64(from), r.first+int64(to)
	if int64(lag) == r.open.lag && start <= r.open.to+1 {
		r.open.moves += max(moves-int(r.open.to-start), 0) // what is new of them, at least
		r.open.to, r.open.chance = end, max(r.open.chance, r.behind(to, lag))
		return to
	}
	r.close()
	r.open = likeness{from: start, to: end, lag: int64(lag), moves: moves, chance: max(r.chance(from, lag), r.behind(to, lag))}
	return to
}

// chance is the share of samples that equal those a lag earlier, in the stretches
// of several lengths that end at an index: the largest. A block that comes twice
// begins at once; the cycles of a wave without noise grow alike, and are most alike
// right before they are the same: there they differ by less than samples in a row do, or
// by the converter's steps.
func (r *repeats) chance(end, lag int) float64 {
	most, equal, all := 0.0, 1.0, 2.0
	differ, move, worst, step := 0.0, 0.0, 0.0, math.Inf(1)
	for k := end - 1; k >= max(lag, end-repeatBefore); k-- {
		all++
		off, moved := math.Abs(r.past[k]-r.past[k-lag]), math.Abs(r.past[k]-r.past[k-1])
		differ, move, worst = differ+off, move+moved, max(worst, off)
		if moved > 0 {
			step = min(step, moved)
		}
		if end-k == creepsFor && worst <= creeps*step {
			return 1
		}
		if r.past[k] == r.past[k-lag] {
			equal++
		}
		if n := end - k; n >= leastRepeat && n&(n-1) == 0 {
			most = max(most, equal/all)
			if differ < nearlyAlike*move {
				return 1
			}
		}
	}
	return max(most, equal/all)
}

// behind is that share in the stretches that begin at an index: where a gate shuts, all that
// is left are a few codes, which come again by chance.
func (r *repeats) behind(from, lag int) (most float64) {
	equal, all := 1.0, 2.0
	for k := from; k < min(from+repeatBefore, len(r.past)); k++ {
		all++
		if r.past[k] == r.past[k-lag] {
			equal++
		}
		if n := k - from + 1; n >= leastRepeat && n&(n-1) == 0 {
			most = max(most, equal/all)
		}
	}
	return most
}

// close counts the open likeness if it can't be chance.
func (r *repeats) close() {
	o := r.open
	r.open = likeness{}
	length := o.to - o.from
	if o.moves < leastRepeat || length > repeatPeriods*o.lag || -float64(o.moves)*math.Log(o.chance) < repeatNats {
		return
	}
	r.found.add(o.from, length)
}

func (r *repeats) facts(f *Facts, n int64) {
	found := r.found
	closed := repeats{open: r.open, found: found}
	closed.close()
	if found = closed.found; float64(found.samples) <= mostRepeats*float64(n) {
		f.Repeats = found.at(f.Rate)
	}
}
