package mains

import (
	"math"
	"slices"

	"humdiff/fft"
)

// Steps on the floor, something knocked, a draught on a microphonic cable: bursts
// of low frequency that outweigh everything beside them. The blocks that hold one
// are left out of spectra, floors, lines and the track.
//
// What is chosen by its own power is biased by the choice, unless steady noise is
// never chosen and what chooses isn't what is measured. Both hold here. In steady
// noise the mean over the bins between lines, 30 independent ones or more, reaches
// four times its usual value less than once in 10²⁰ blocks. Where noise itself comes and
// goes, floor and lines are those of the same blocks. Hum that steps, or comes for a
// second, spreads over those bins too, and leaving it out would bias its mean. So all
// stays where the hum itself changed: where two lines differ from their usual level
// by more than what lies right beside them explains, or one does for longer than the
// bins between lines. (A thump of 50 Hz may well change one, for its time.)

const (
	burstFrom, burstTo = 15.0, 150.0 // Hz
	// burstBlock is how many times its usual power a block has to have, of the bins
	// between lines, and swellingBlock those right before and after it, or
	// swellingPeak in one bin: in steady noise, one in 500 and one in 2000.
	burstBlock, swellingBlock, swellingPeak = 4.0, 1.5, 12.0
	// thumpSlope is by how much more a thump raises what is below 150 Hz than what is above
	// 600 Hz: its onset falls by 12 dB an octave. A click, a gate and a gain raise both alike.
	thumpSlope = 1000.0
	// mostLeftOut is the share of the blocks that may be left out; where bursts take
	// more, they are what was recorded, and all stay in.
	mostLeftOut = 0.75
	// humLines are the lines whose changes are no burst, and humChange by how much, as
	// a power, one has to exceed what lies beside it. Noise does so in e⁻¹⁰ of blocks.
	humLines, humChange = 5, 10.0
	// leastChange is a decibel, as a share of the amplitude: less is the mains' wander,
	// and would bias nothing.
	leastChange = 0.12
	// skirtShare of the hum's power is what may lie between lines because the mains
	// wanders: less than that is no burst.
	skirtShare = 1e-6
)

// swell is what a block has between 15 and 150 Hz.
type swell struct {
	loud    bool // between lines it is no steady noise
	swollen bool // beside a burst, it has some of it there
	changed int8 // lines that differ from their usual level
}

// swells compares the blocks of a segment. m is nil where no mains was found; less than
// least in a bin is no power.
func swells(blocks []block, l layout, m *meter, least float64) []swell {
	all := make([]swell, len(blocks))
	powers := make([]float64, len(blocks))
	skirts := least
	if m != nil {
		hum := markChanges(all, blocks, l, m)
		line := l.window.Coeff[0] * float64(l.lowN) / 2 // the root of a line's power has this height in the bins
		skirts += skirtShare * hum * line * line
	}
	bins := betweenLines(l, m)
	mean, peak := make([]float64, len(blocks)), make([]float64, len(blocks)) // of the bins, each over its usual power
	for _, j := range bins {
		for b, x := range blocks {
			powers[b] = binPower(x[j])
		}
		usual := medianOf(powers)/math.Ln2 + skirts
		for b, p := range powers {
			mean[b] += p / usual / float64(len(bins))
			peak[b] = max(peak[b], p/usual)
		}
	}
	for b := range all {
		all[b].loud = mean[b] > burstBlock
		all[b].swollen = mean[b] > swellingBlock || peak[b] > swellingPeak
	}
	return all
}

// markChanges counts in all how many of the lowest lines differ from their usual
// level in a block, and returns the power that they usually have together.
func markChanges(all []swell, blocks []block, l layout, m *meter) (hum float64) {
	height, beside := make([]float64, len(blocks)), make([]float64, len(blocks))
	for h := 1; h <= min(humLines, len(m.lines)); h++ {
		hz := float64(h) * m.found.hz
		k := m.kernel.tune(hz)
		for b, x := range blocks {
			height[b] = math.Sqrt(power(k.phasor(x)))
			beside[b] = besideLine(x, l, hz)
		}
		usual, noise := medianOf(height), medianOf(beside)
		for b, a := range height {
			if change := math.Abs(a - usual); change > leastChange*usual && change*change > humChange*max(beside[b], noise) {
				all[b].changed++
			}
		}
		hum += usual * usual
	}
	return hum
}

// betweenLines are the bins from 15 to 150 Hz that hold no line; all, where no mains
// was found.
func betweenLines(l layout, m *meter) (bins []int) {
	bin := l.binHz()
	for j := fft.Whole(math.Ceil(burstFrom/bin), 0, l.kept); float64(j)*bin < burstTo && j < l.kept; j++ {
		if m != nil {
			hz := float64(j) * bin
			if off := math.Remainder(hz, m.found.hz); math.Abs(off) < (float64(l.window.MainLobe())+1)*bin && hz > m.found.hz/2 {
				continue
			}
		}
		bins = append(bins, j)
	}
	return bins
}

// besideLine is what a line's estimate would read in a block of the power that lies
// right beside its main lobe.
func besideLine(x block, l layout, hz float64) float64 {
	sum, n := 0.0, 0.0
	centre, near := fft.Whole(math.Round(hz/l.binHz()), 0, l.lowN), l.window.MainLobe()+1
	for d := near; d < near+4; d++ {
		for _, j := range []int{centre - d, centre + d} {
			if j > 0 && j < len(x) {
				sum, n = sum+binPower(x[j]), n+1
			}
		}
	}
	line := l.window.Coeff[0] * float64(l.lowN) // a phasor's height in the bins
	return 4 * sum / max(n, 1) / (line * line) * l.lineENBW / (l.window.ENBW() * l.binHz())
}

func binPower(x complex64) float64 {
	return float64(real(x))*float64(real(x)) + float64(imag(x))*float64(imag(x))
}

// bursts are a channel's bursts, by block of the low band.
type bursts struct {
	loud   []bool // beyond burstBlock
	out    []bool // those, and what swells to them and fades behind them
	own    []bool // out, before what lost samples spoil was added; nil: out itself
	onLine int    // bursts in which one line differs too: of the hum, or of that frequency
}

// bursts finds the blocks louder below 150 Hz than others by far, while noise
// above 600 Hz stays, or rises by far less. Gates, dropouts and what else is no noise at
// all make the others quiet: there none are told.
func (o *observation) bursts(l layout) (found bursts) {
	bands := o.even.full()
	if len(bands) == 0 || len(o.swells) < leastTimes || o.interrupted() {
		return bursts{}
	}
	found = bursts{loud: make([]bool, len(o.swells)), out: make([]bool, len(o.swells))}
	for b, s := range o.swells {
		found.loud[b] = s.loud
	}
	low := bands[0]
	calm := slices.Sorted(slices.Values(low))[len(low)/4] // thumps may fill half of the blocks
	for _, higher := range bands[max(1, min(2, len(bands)-1)):] {
		usual := middle(higher)
		for b, x := range higher {
			up := x > loudBlock*usual && !(low[b]*usual > x*calm*thumpSlope)
			found.loud[b] = found.loud[b] && !up
		}
	}
	found.widen(o.swells)
	found.spareHum(o.swells, l.apart())
	return found
}

// interrupted says whether there is a time in which no noise was recorded.
func (o *observation) interrupted() bool {
	h := o.health
	return h.Silent || h.Zeros.Count+h.Stuck.Count+h.Repeats.Count > 0 || slices.Contains(hushedBlocks(o.even.full()), true)
}

// quietBlock is the share of its usual noise below which a block has none.
const quietBlock = 0.1

// hushedBlocks are those in which every band falls far below its usual value.
func hushedBlocks(bands [][]float32) []bool {
	hushed := make([]bool, len(bands[0]))
	for b := range hushed {
		hushed[b] = true
	}
	for _, g := range bands {
		limit := float32(quietBlock) * middle(g)
		for b, x := range g {
			hushed[b] = hushed[b] && x < limit
		}
	}
	return hushed
}

// widen adds the blocks that swell to a burst and fade behind it, between the lines or
// on them.
func (f bursts) widen(swells []swell) {
	copy(f.out, f.loud)
	belongs := func(b int) bool { return swells[b].swollen || swells[b].changed > 0 }
	for b := 1; b < len(f.out); b++ {
		f.out[b] = f.out[b] || f.out[b-1] && belongs(b)
	}
	for b := len(f.out) - 2; b >= 0; b-- {
		f.out[b] = f.out[b] || f.out[b+1] && belongs(b)
	}
}

// spareHum takes back the bursts that are the hum's own doing, and counts those that may
// be. Blocks so many apart share nothing.
func (f *bursts) spareHum(swells []swell, apart int) {
	for from, to := range runs(f.out) {
		if !f.out[from] {
			continue
		}
		most, calm := int8(0), 0
		for _, s := range swells[from:to] {
			most = max(most, s.changed)
			if !s.swollen {
				calm++
			}
		}
		open := from == 0 || to == len(f.out) // how it went on isn't known
		switch {
		case most > 1 || most > 0 && (open || calm > apart):
			clear(f.out[from:to])
			clear(f.loud[from:to])
		case most > 0:
			f.onLine++
		}
	}
}

// leftOut are the blocks left out of averages: of the low band, and those of the
// whole band that lie at the same time. Nil: none.
type leftOut struct {
	low, full []bool
	bursts    []bool // of low those in which a burst is; nil: none
}

// leaveOut says what of each channel is left out because of bursts; nil where
// nothing is.
func leaveOut(found []bursts, l layout) []leftOut {
	without, some := make([]leftOut, len(found)), false
	for c, f := range found {
		without[c] = f.leave(l)
		some = some || without[c].low != nil
	}
	if !some {
		return nil
	}
	return without
}

// leave says what is left out because of the bursts; nothing, where too little
// would remain. Of a segment in which the mains can't be followed any more, all is.
func (f bursts) leave(l layout) leftOut {
	if trueShare(f.out) == 0 {
		return leftOut{}
	}
	for s := range l.segments {
		from, to := s*l.blocks/l.segments, (s+1)*l.blocks/l.segments
		if part := f.out[from:to]; float64(to-from)*(1-trueShare(part)) < leastFollowed {
			for b := range part {
				part[b] = true
			}
		}
	}
	if trueShare(f.out) > mostLeftOut {
		return leftOut{}
	}
	full := l.wholeBandBlocks(f.out)
	if trueShare(full) > mostLeftOut {
		return leftOut{}
	}
	if f.own != nil {
		return leftOut{f.out, full, f.own}
	}
	return leftOut{f.out, full, f.out}
}

// wholeBandBlocks are the whole band's blocks, about as long or longer, that lie at
// the time of the given ones of the low band, or between one of them and the next,
// where a burst on the window's edge is a hundred times what the next one has of it.
func (l layout) wholeBandBlocks(low []bool) []bool {
	full := make([]bool, l.wholeBlocks)
	whole, narrow := float64(l.n)/l.rate, float64(l.lowN)/l.lowRate
	reach := l.hopSeconds() + math.Max(0, whole-narrow)/2
	for b, is := range low {
		if !is {
			continue
		}
		// Block i of the whole band has its centre at i·hop + half a block.
		at := (l.blockCentre(b) - whole/2) * l.rate / float64(l.hop)
		off := reach * l.rate / float64(l.hop)
		for i := fft.Whole(math.Ceil(at-off), 0, len(full)); i <= fft.Whole(math.Floor(at+off), -1, len(full)-1); i++ {
			full[i] = true
		}
	}
	return full
}

// trueShare is the share of true ones; none of none.
func trueShare(of []bool) float64 {
	n := 0
	for _, is := range of {
		if is {
			n++
		}
	}
	return float64(n) / math.Max(float64(len(of)), 1)
}
