package measure

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"

	"humdiff/fft/capture"
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
	file, channel int
	path          string
	source        *capture.File
	startS        float64
	mark          likeness.Mark
}

// put keeps the sounding channels of a file, each once.
func (s *shelf) put(file int, channels []channel) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, c := range channels {
		if c.Decoded == "" || c.Health.Silent || c.Health.SameAs > 0 {
			continue
		}
		if s.sketches == mostSketches {
			c.Sketch = likeness.Sketch{}
		} else if c.Sketch.Data != nil {
			s.sketches++
		}
		s.all = append(s.all, shelved{file, c.Channel, c.File, c.source, c.StartS, c.Mark()})
	}
}

// copies names the files that are one recording with an earlier one. A file that can no
// longer be read is no copy.
func (s *shelf) copies(ctx context.Context) (said []model.Warning) {
	slices.SortFunc(s.all, func(a, b shelved) int { return cmp.Or(a.file-b.file, a.channel-b.channel) })
	var list []likeness.Side
	var of []shelved
	for _, c := range s.all {
		if source, err := c.source.Only(c.channel); err == nil {
			list, of = append(list, likeness.Side{Source: source, Mark: c.mark, StartS: c.startS}), append(of, c)
		}
	}
	found, err := likeness.Copies(ctx, list, func(i, j int) bool { return of[i].path == of[j].path })
	if err != nil {
		return nil
	}
	told := map[int]bool{}
	for _, c := range found {
		if file := of[c.At].file; !told[file] {
			told[file] = true
			notes, _ := copySaid(c.Answer, of[c.Of].path)
			said = append(said, at(model.Side{File: of[c.At].path}, notes)...)
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
			said = append(said, at(model.Side{File: name}, noted([]note.Note{one}))...)
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
