package mains

import "math"

// signal is the low band of a capture's channels, held to be transformed again where its blocks,
// which overlap, would take too much room: as integers of 32 bits, each stretch with a
// step of its own. That rounds by 197 dB below the stretch's largest sample, which is
// nothing beside any recorder's noise.
type signal []stretch

// stretch is what was pushed at a time.
type stretch struct {
	steps    []float64 // by channel
	channels [][]int32
}

// push keeps the next frames, one slice a channel, all of equal length.
func (s *signal) push(frames [][]float64) {
	if len(frames[0]) == 0 {
		return
	}
	var next stretch
	for _, x := range frames {
		most := 0.0
		for _, v := range x {
			most = max(most, math.Abs(v))
		}
		step, kept := max(most, math.SmallestNonzeroFloat64*math.MaxInt32)/math.MaxInt32, make([]int32, len(x))
		for i, v := range x {
			kept[i] = int32(math.RoundToEven(v / step)) // in range: none is larger than the largest
		}
		next.steps, next.channels = append(next.steps, step), append(next.channels, kept)
	}
	*s = append(*s, next)
}

// play hands n of the channels to push, as they were pushed, and holds them no longer.
func (s signal) play(from, n int, push func(frames [][]float64)) {
	frames := make([][]float64, n)
	for _, next := range s {
		for c := range frames {
			frames[c] = frames[c][:0]
			for _, v := range next.channels[from+c] {
				frames[c] = append(frames[c], float64(v)*next.steps[from+c])
			}
			next.channels[from+c] = nil
		}
		push(frames)
	}
}
