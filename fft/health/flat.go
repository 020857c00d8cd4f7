package health

import "math"

const (
	// flatWidth is the share of the signal's span, or one code where that is
	// more, that is looked at beneath the extreme value.
	flatWidth = 0.001
	// flatRatio is by how much samples at the extreme outnumber those beneath
	// it where tops are cut. The top of an undithered sine lasts at most
	// 1/(√2−1) = 2.4 times as long as the code beneath it, that of a wave as
	// flat as t⁴ 1/(⁴√2−1) = 5.3 times; noise only lowers that.
	flatRatio = 8
	flatRuns  = 3  // so many tops of two samples and more, at the least
	flatAlone = 24 // so many, where each is one sample: what is cut off is noise
	flatSpan  = 16 // codes that a signal must cover for its tops to say anything
)

// flat looks for tops cut off: one extreme value that comes again and again, in runs or
// in noise at any time, with next to nothing right beneath it.
type flat struct {
	started  bool
	value    float64 // the extreme so far, times the sign
	at, near int64   // samples at it, and right beneath it
	runs     runs
	long     int // runs of two and more
	run      int64
	from     int64
	gaps     [2]int64 // from each top to the next, of the latest ones
	even     int      // tops as far from the one before as one of these: a wave's, that repeats
}

// add takes in a block. sign is 1 for tops, −1 for bottoms, and most the
// block's largest sample times the sign.
func (f *flat) add(x []float64, most, sign, width float64, at int64) {
	switch {
	case !f.started || most > f.value:
		if f.started && most-f.value <= width {
			f.near += f.at
		} else {
			f.near = 0
		}
		f.started, f.value, f.at, f.runs, f.long, f.run, f.even = true, most, 0, runs{}, 0, 0, 0
	case most < f.value-width:
		f.end()
		return
	}
	value, beneath := sign*f.value, f.value-width
	for i, v := range x {
		if v == value {
			if f.run == 0 {
				f.begin(at + int64(i))
			}
			f.run++
			f.at++
			continue
		}
		if f.run > 0 {
			f.end()
		}
		if sign*v >= beneath {
			f.near++
		}
	}
}

func (f *flat) begin(at int64) {
	gap := at - f.from
	if gap == f.gaps[0] || gap == f.gaps[1] {
		f.even++
	}
	f.from, f.gaps = at, [2]int64{f.gaps[1], gap}
}

func (f *flat) end() {
	if f.run >= 2 {
		f.long++
	}
	if f.run > 0 {
		f.runs.add(f.from, f.run)
	}
	f.run = 0
}

// found are the tops, none where they are no more than any wave's.
func (f flat) found() runs {
	f.end()
	alone := f.runs.count >= flatAlone && 2*f.even < f.runs.count
	if f.long < flatRuns && !alone || f.at < flatRatio*f.near {
		return runs{}
	}
	return f.runs
}

// flatFacts states what is cut at top and bottom of a signal that spans so many codes.
func flatFacts(facts *Facts, top, bottom flat, span float64) {
	if !(span >= flatSpan) {
		return
	}
	t, b := top.found(), bottom.found()
	level := 0.0
	if b.count > 0 {
		level = -bottom.value
	}
	if t.count > 0 {
		level = top.value
	}
	t.join(b)
	switch {
	case math.Abs(level) < clipLevel:
		facts.FlatTops, facts.FlatLevel = t.at(facts.Rate), level
	case int(t.samples) > facts.Clipped: // most tops are single samples
		facts.ClippedRuns, facts.Clipped = t.at(facts.Rate), int(t.samples)
	}
}
