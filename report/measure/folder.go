package measure

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"

	"humdiff/fft/likeness"
	"humdiff/fft/note"
	"humdiff/report/model"
)

// mostSketches is how many channels' sketches a check keeps: 92 MB at most, 22 MB of
// minutes. Of further channels only their hashes are kept.
const mostSketches = 2000

// onlyEqual is the code where sketches weren't held against all others: reach is how many
// channels before each were, count how many there are.
const onlyEqual = "copies_in_reach"

// shelf keeps what copies are found by of all channels of a check.
type shelf struct {
	mu       sync.Mutex
	sketches int
	all      []shelved
}

// shelved is what of a channel copies are found by, and the place of its file among the
// captures.
type shelved struct {
	likeness.Side
	file, channel int
	path          string
}

// put keeps the sounding channels of a file, each once.
func (s *shelf) put(file int, channels []channel) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, c := range channels {
		if c.Decoded == "" || c.Health.Silent || c.Health.SameAs > 0 {
			continue
		}
		side, err := c.side()
		if err != nil {
			continue
		}
		if s.sketches == mostSketches {
			side.Mark.Sketch = likeness.Sketch{}
		} else if c.Sketch.Data != nil {
			s.sketches++
		}
		s.all = append(s.all, shelved{side, file, c.Channel, c.File})
	}
}

// copies names the files that are one recording with an earlier one. A file that can no
// longer be read is no copy.
func (s *shelf) copies(ctx context.Context) (said []model.Warning) {
	slices.SortFunc(s.all, func(a, b shelved) int { return cmp.Or(a.file-b.file, a.channel-b.channel) })
	list := make([]likeness.Side, len(s.all))
	for i, c := range s.all {
		list[i] = c.Side
	}
	found, err := likeness.Copies(ctx, list, func(i, j int) bool { return s.all[i].path == s.all[j].path })
	if err != nil {
		return nil
	}
	told := map[int]bool{}
	for _, c := range found {
		if one := s.all[c.At]; !told[one.file] {
			told[one.file] = true
			notes, _ := copySaid(c.Answer, s.all[c.Of].path)
			said = append(said, at(model.Side{File: one.path}, notes...)...)
		}
	}
	if n, reach := len(list), min(likeness.Reach(len(list)), mostSketches); reach < n && s.sketches > 0 {
		said = append(said, model.Warning{Note: note.New(onlyEqual, "count", n, "reach", reach)})
	}
	return said
}

// oddOnes names the files that are unlike most others, each by itself.
func oddOnes(files []model.CheckedFile) (said []model.Warning) {
	var facts []likeness.Facts
	for _, f := range files {
		if f.Problem.What == "" {
			facts = append(facts, likeness.Facts{Name: f.File, Rate: int(f.RateHz), Bits: int(f.Bits), Channels: int(f.Count),
				Seconds: float64(f.FileS), NoiseDBFSPerHz: densityOf(f)})
		}
	}
	for _, n := range likeness.OddOnes(facts) {
		names, values := n.Get("files").([]string), n.Args[1].Value.([]float64)
		for i, name := range names {
			one := note.Note{Code: n.Code, Args: []note.Arg{{Name: "files", Value: []string{name}}, {Name: n.Args[1].Name, Value: []float64{values[i]}}, n.Args[2]}}
			said = append(said, at(model.Side{File: name}, one)...)
		}
	}
	return said
}

// densityOf is the noise density of a file's first sounding channel where hum hardly
// reaches; NaN: not known.
func densityOf(f model.CheckedFile) float64 {
	for _, c := range f.Channels {
		if c.Health.Silent {
			continue
		}
		var known []float64
		for _, x := range c.Health.FloorsHigh {
			if x.Ok() {
				known = append(known, float64(x))
			}
		}
		if len(known) > 0 {
			slices.Sort(known)
			return known[len(known)/2]
		}
	}
	return math.NaN()
}
