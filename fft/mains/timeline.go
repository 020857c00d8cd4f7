package mains

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"humdiff/fft/note"
)

// What a capture's levels do against time, from the blocks' noise by band
// (evenness.go) and the lines' power by block. A block's noise is a median over
// some sixty independent bins and scatters by 0.18 of itself, so that four times
// the middle value lies 7 standard deviations out in the logarithm, and a tenth
// of it 12; a capture of ten minutes has 2000 blocks.

const (
	loudBlock = 4.0 // times the median of all blocks
	// gatedShare is the noise, of the whole capture's, below which it is gone: noise that a
	// filter ends right above its middle frequency bends as 0.076 of what it is taken for.
	gatedShare = 0.05
	leastTimes = 16 // blocks from which times are told apart
	// gainDB is the least slow change of all levels together that is told, of
	// middle values of eighths of the capture, and never less than gainSigmas times what
	// they scatter by (blockDB a block); alike is how much of it may remain in the
	// bands by themselves: of their own scatter, nearly all does.
	gainDB     = 1.5
	gainSigmas = 7.0
	blockDB    = 1.0
	alike      = 0.3
	fadeDB     = 1.0
)

// Span is a stretch of a capture, in seconds.
type Span struct{ Start, End float64 }

// Timeline is how a capture's levels ran.
type Timeline struct {
	Bursts       int     // low-frequency bursts that noise above 600 Hz doesn't share
	BurstSeconds float64 // they took
	BurstFirst   float64 // seconds
	OnLine       int     // bursts in which one of the lowest lines differs too
	LeftOut      float64 // seconds left out of levels, floors and limits
	Clean        Span    // the longest stretch without a burst, from the capture's start
	Gated        float64 // seconds in which a gate was shut
	GatedFirst   float64
	Gain         float64 // dB by which noise in all bands rose and fell together; 0: not told
	Fade         float64 // dB by which hum rose steadily to the end, below zero where it fell; 0: it didn't
}

// timeline looks over the blocks. m is nil where no mains was found.
func (o *observation) timeline(l layout, m *meter, found bursts) (t Timeline) {
	bands := o.even.full()
	if len(bands) == 0 || len(bands[0]) < leastTimes {
		return t
	}
	// Where hum goes alone, noise stays; a gate shuts off both.
	if h := o.health; h.Zeros.Count+h.Stuck.Count == 0 && 2*h.HushedNoise < gatedShare*o.noise() {
		t.Gated, t.GatedFirst = h.Hushed, h.HushedFirst
	}
	t.Bursts, _, t.BurstFirst = stretches(found.loud, l)
	_, t.BurstSeconds, _ = stretches(found.out, l)
	_, t.LeftOut, _ = stretches(o.out, l)
	t.OnLine = found.onLine
	t.Clean = cleanest(found.out, l)
	var hum []float64 // the lines' power by block
	if m != nil && m.tracked == m.segments && !m.there.comesAndGoes() {
		hum = m.hum
	}
	if hum != nil && o.out != nil { // what was left out is no hum that runs
		hum = heldOver(hum, o.out)
	}
	if still(hum) || slices.ContainsFunc(bands, still[float32]) {
		return t
	}
	if t.Gated == 0 && t.Bursts == 0 {
		t.Gain = quickGain(bands, hum)
		// Words and clicks make noise of all bands, and leave what lies between as it is.
		if slow := commonGain(bands, hum); slow > t.Gain && (o.health.FloorMoves > slow/2 || o.health.Hushed > 0) {
			t.Gain = slow
		}
	}
	t.Fade = fade(hum)
	if math.Abs(t.Gain) > math.Abs(t.Fade)/2 {
		t.Fade = 0 // the gain's doing
	}
	return t
}

// still says whether some block holds no power at all: no gain can be told from it.
func still[T float32 | float64](x []T) bool {
	return slices.ContainsFunc(x, func(v T) bool { return !(v > 0) })
}

// heldOver is a series in which what is left out goes on as it was before; at the start, as
// it will be.
func heldOver(x []float64, out []bool) []float64 {
	x = slices.Clone(x)
	if first := slices.Index(out, false); first > 0 {
		copy(x[:first], slices.Repeat(x[first:first+1], first))
	}
	for b := 1; b < len(x); b++ {
		if out[b] {
			x[b] = x[b-1]
		}
	}
	return x
}

// full are the bands that every block has.
func (e *evenness) full() (bands [][]float32) {
	for _, g := range e.noise {
		if len(g) > 0 {
			bands = append(bands, g)
		}
	}
	return bands
}

func middle(g []float32) float32 {
	sorted := slices.Sorted(slices.Values(g))
	return sorted[len(sorted)/2]
}

// stretches counts the stretches of blocks, the seconds from block to block that
// they take, and when the first block is.
func stretches(blocks []bool, l layout) (n int, seconds, first float64) {
	for b, is := range blocks {
		if !is {
			continue
		}
		seconds += l.hopSeconds()
		if b == 0 || !blocks[b-1] {
			n++
		}
		if n == 1 && first == 0 {
			first = l.blockCentre(b)
		}
	}
	return n, seconds, first
}

// cleanest is the longest stretch of samples that no block of a burst holds; none
// of no blocks.
func cleanest(burst []bool, l layout) (longest Span) {
	if burst == nil {
		return Span{}
	}
	hop, length := l.hopSeconds(), float64(l.lowN)/l.lowRate
	start := 0.0
	for b, is := range append(burst[:len(burst):len(burst)], true) {
		if !is {
			continue
		}
		end := float64(b) * hop // where the block starts
		if b == len(burst) {
			end = l.seconds
		}
		if end-start > longest.End-longest.Start {
			longest = Span{start, end}
		}
		start = float64(b)*hop + length
	}
	return longest
}

// eighths are the middle values of each eighth of a series, dB: a burst moves none.
func eighths[T float32 | float64](g []T) (middles [8]float64) {
	for i := range middles {
		part := slices.Sorted(slices.Values(g[i*len(g)/8 : (i+1)*len(g)/8]))
		middles[i] = 10 * math.Log10(float64(part[len(part)/2]))
	}
	return middles
}

// commonGain is the range over which all bands, and hum where it is known, go
// up and down together, 0 where they don't.
func commonGain(bands [][]float32, hum []float64) float64 {
	if len(bands) < 3 || len(bands[0]) < 24 {
		return 0
	}
	var each [][8]float64
	for _, g := range bands {
		each = append(each, eighths(g))
	}
	if hum != nil {
		each = append(each, eighths(hum))
	}
	var mean [8]float64
	n := float64(len(each))
	for i := range each {
		own := 0.0
		for _, x := range each[i] {
			own += x / 8
		}
		for k := range mean {
			each[i][k] -= own
			mean[k] += each[i][k] / n
		}
	}
	together, apart := 0.0, 0.0
	for _, e := range each {
		for k := range mean {
			together += mean[k] * mean[k]
			apart += (e[k] - mean[k]) * (e[k] - mean[k])
		}
	}
	// Blocks overlap by three quarters: two of them tell as much as one alone.
	scatter := blockDB / math.Sqrt(n*float64(len(bands[0]))/8/2)
	r := slices.Max(mean[:]) - slices.Min(mean[:])
	if apart > alike*together || r < max(gainDB, gainSigmas*scatter) {
		return 0
	}
	return r
}

const (
	// quickKept is how many of ten blocks are held together: where a gain drops at once,
	// hum splashes into the noise of the block. quickAlike is their correlation in
	// decibels from which one gain moves noise and hum, quickSlope by how much the one may
	// then move more, and quickDB the least range told.
	quickKept, quickAlike, quickSlope, quickDB = 6, 0.95, 1.4, 2.0
)

// quickGain is the range, dB, over which a gain moves noise and hum together from block to
// block, in most blocks; 0 where none does. Clicks and words raise noise alone, a lead
// that is moved hum alone.
func quickGain(bands [][]float32, hum []float64) float64 {
	if len(bands) < 2 || len(hum) < 24 || len(hum) != len(bands[0]) {
		return 0
	}
	type level struct{ noise, hum, apart float64 }
	blocks, apart := make([]level, len(hum)), make([]float64, len(hum))
	for b, x := range hum {
		blocks[b].hum = 10 * math.Log10(x)
		for _, g := range bands {
			blocks[b].noise += 10 * math.Log10(float64(g[b])) / float64(len(bands))
		}
		apart[b] = blocks[b].noise - blocks[b].hum
	}
	usual := medianOf(apart)
	for b := range blocks {
		blocks[b].apart = math.Abs(apart[b] - usual)
	}
	slices.SortFunc(blocks, func(a, b level) int { return cmp.Compare(a.apart, b.apart) })
	var noise, line []float64
	for _, x := range blocks[:len(blocks)*quickKept/10] {
		noise, line = append(noise, x.noise), append(line, x.hum)
	}
	slope := stat.StdDev(line, nil) / stat.StdDev(noise, nil)
	if stat.Correlation(noise, line, nil) < quickAlike || slope > quickSlope || slope < 1/quickSlope {
		return 0
	}
	if r := slices.Max(line) - slices.Min(line); r >= quickDB {
		return r
	}
	return 0
}

// fade is by how much hum rises, or falls, from the first eighth to the last
// where every eighth goes on from the one before; else 0.
func fade(hum []float64) float64 {
	if len(hum) < leastTimes {
		return 0
	}
	e := eighths(hum)
	way, goes := e[7]-e[0], 0
	for k := 1; k < len(e); k++ {
		step := (e[k] - e[k-1]) / way
		// Where it has settled, noise may turn it back a little.
		if step < -0.05 {
			return 0
		}
		if step > 0.05 {
			goes++
		}
	}
	if math.Abs(way) < fadeDB || goes < 2 { // once is a step
		return 0
	}
	return way
}

// warnings notes what ran: in seconds read, of which the blocks are worth a share.
func (t Timeline) warnings(seconds, worth float64) (w []note.Note) {
	add := func(code string, args ...any) { w = append(w, note.New(code, args...)) }
	switch {
	case t.Bursts > 0 && t.LeftOut > 0:
		add("low_bursts", "bursts", t.Bursts, "bursts_s", t.BurstSeconds, "first_s", t.BurstFirst, "kept_s", seconds-t.LeftOut, "on_line", t.OnLine)
	case t.Bursts > 0:
		add("bursts_kept", "bursts", t.Bursts, "bursts_s", t.BurstSeconds, "first_s", t.BurstFirst,
			"worth_share", worth, "clean_start_s", t.Clean.Start, "clean_end_s", t.Clean.End)
	}
	if t.Gated > 0 {
		add("gated", "gated_s", t.Gated, "first_s", t.GatedFirst)
	}
	if t.Gain > 0 {
		add("gain_moves", "range_db", t.Gain)
	}
	if t.Fade != 0 {
		add("hum_fades", "change_db", t.Fade)
	}
	return w
}
