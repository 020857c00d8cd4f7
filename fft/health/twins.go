package health

import "slices"

// twins finds channels whose samples are the same throughout.
type twins struct{ of []int } // of[c] is the first channel that c still equals, c itself if none

func newTwins(channels int) twins {
	return twins{of: make([]int, channels)} // all alike until they differ
}

func (t *twins) add(frames [][]float64) {
	before := slices.Clone(t.of)
	for c := range frames {
		leader := before[c]
		if leader == c || slices.Equal(frames[c], frames[leader]) {
			continue
		}
		// Those that left the same leader only now may still be alike.
		t.of[c] = c
		for d := leader + 1; d < c; d++ {
			if before[d] == leader && slices.Equal(frames[c], frames[d]) {
				t.of[c] = d
				break
			}
		}
	}
}

func (t twins) mark(facts []Facts) {
	for c := range facts {
		if t.of[c] < c && !facts[c].Silent {
			facts[c].SameAs = t.of[c] + 1
		}
	}
}
