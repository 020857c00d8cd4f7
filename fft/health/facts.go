package health

// Facts are what the samples of one channel say by themselves. Full scale is
// ±1; seconds count from the capture's start.
type Facts struct {
	Rate    float64 // samples a second
	Samples int64

	Peak        float64 // largest magnitude
	PeakSeconds float64 // where
	DC          float64 // mean
	Silent      bool    // one value throughout

	Clipped     int // samples at full scale in runs of two or more alike
	ClippedRuns Runs
	FlatTops    Runs    // runs at one extreme value that is not full scale
	FlatLevel   float64 // that value; 0 where there are none

	Zeros   Runs // stretches of digital zero in a signal that otherwise moves
	Stuck   Runs // the same at any other value
	Repeats Runs // blocks of samples that come twice
	Clicks  Runs // single samples that jump, or breaks in the waveform
	Breaks  Runs // of them, those that no word or drum makes

	// Hushed is for how many seconds what is otherwise steady falls to a tenth of its
	// power and less; 0 where it isn't steady. HushedFirst is when it first does, in seconds,
	// HushedNoise the mean square of white noise whose second differences are as what is left.
	Hushed, HushedFirst, HushedNoise float64
	// FloorMoves is the range over which the quietest twentieth of each eighth of the capture
	// rises and falls, dB; 0 where noise is too uneven to say.
	FloorMoves float64

	Step  float64 // one code: the finest binary digit any sample uses; 0 of silence
	Bits  int     // that makes so many bits; 0: floating point, or nothing recorded
	Codes int     // distinct codes seen; 0: too many to count
	Comb  float64 // codes from one used to the next, where most between are never used; else 1

	// SameAs is the first channel, counted from 1, whose samples are the same
	// throughout; 0: none.
	SameAs int
}

// Runs are stretches of samples.
type Runs struct {
	Count   int
	Samples int64   // in all
	Longest float64 // seconds
	First   float64 // seconds: where the first begins
}

// runs gathers Runs.
type runs struct {
	count                  int
	samples, longest, from int64
}

func (r *runs) add(from, length int64) {
	if r.count == 0 {
		r.from = from
	}
	r.count++
	r.samples += length
	r.longest = max(r.longest, length)
}

// join adds another's runs, which may lie earlier or later.
func (r *runs) join(other runs) {
	if r.count == 0 || other.count > 0 && other.from < r.from {
		r.from = other.from
	}
	r.count += other.count
	r.samples += other.samples
	r.longest = max(r.longest, other.longest)
}

func (r runs) at(rate float64) Runs {
	return Runs{Count: r.count, Samples: r.samples, Longest: float64(r.longest) / rate, First: float64(r.from) / rate}
}
