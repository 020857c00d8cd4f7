package health

import "math/bits"

const (
	// probeStep is how far apart samples are compared with their neighbour: every
	// run of twice that and more is seen.
	probeStep = 16
	// shortestHold is the fewest samples of one value that can be a dropout.
	shortestHold        = 64
	shortestHoldSeconds = 0.001
	// holdSpan is how many codes a signal must cover for a run of one of them to
	// say anything.
	holdSpan = 4
)

// holds looks for stretches of one value. Coarse captures hold a value now and
// then by nature, in runs of all lengths: dropouts are runs longer than any of
// those by a factor, so runs are counted by octaves of their length. Runs at the
// signal's extremes are tops cut off, not dropouts; but those of zero, which is the
// extreme where an offset keeps the signal to one side of it.
type holds struct {
	zero, other [64]runs // by bits.Len of the length
	run         int64    // of one value, at the end of what was seen
	value       float64

	lowest, most float64 // of the signal so far
}

// add takes in a block that begins at a sample; the signal so far, it included,
// lies between lowest and most.
func (h *holds) add(x []float64, at int64, lowest, most float64) {
	h.lowest, h.most = lowest, most
	i := 0
	if h.run > 0 {
		for i < len(x) && x[i] == h.value {
			i++
		}
		h.run += int64(i)
		if i == len(x) {
			return
		}
		h.close(at + int64(i))
	}
	for p := i + probeStep; p < len(x); p += probeStep {
		if x[p] != x[p-1] {
			continue
		}
		from, to := p-1, p+1
		for from > i && x[from-1] == x[p] {
			from--
		}
		for to < len(x) && x[to] == x[p] {
			to++
		}
		if to == len(x) {
			h.run, h.value = int64(to-from), x[p]
			return
		}
		h.count(at+int64(from), int64(to-from), x[p])
		p = max(p, to-1)
	}
	// What the last probe left over may begin a run.
	from := len(x) - 1
	for from > i && x[from-1] == x[from] {
		from--
	}
	h.run, h.value = int64(len(x)-from), x[from]
}

func (h *holds) close(end int64) {
	h.count(end-h.run, h.run, h.value)
	h.run = 0
}

func (h *holds) count(from, length int64, value float64) {
	if length < 2 || value != 0 && (value == h.lowest || value == h.most) {
		return
	}
	octave := bits.Len64(uint64(length))
	if value == 0 {
		h.zero[octave].add(from, length)
	} else {
		h.other[octave].add(from, length)
	}
}

// facts states the dropouts of a signal of n samples that spans so many codes.
func (h holds) facts(f *Facts, n int64, span float64) {
	if span < holdSpan {
		return
	}
	if h.run > 0 {
		h.close(n)
	}
	shortest := bits.Len64(uint64(max(shortestHold, int64(shortestHoldSeconds*f.Rate)) - 1))
	for k := shortest + 1; k < len(h.zero); k++ {
		if h.seen(k) == 0 || h.seen(k-1)+h.seen(k-2) > 0 {
			continue
		}
		var zeros, stuck runs
		for j := k; j < len(h.zero); j++ {
			if h.zero[j].count > 0 {
				zeros.join(h.zero[j])
			}
			if h.other[j].count > 0 {
				stuck.join(h.other[j])
			}
		}
		// Where next to all lies in such runs, that is how the signal is.
		if outside := n - zeros.samples - stuck.samples; outside*10 > n {
			f.Zeros, f.Stuck = zeros.at(f.Rate), stuck.at(f.Rate)
			return
		}
	}
}

func (h holds) seen(octave int) int { return h.zero[octave].count + h.other[octave].count }
