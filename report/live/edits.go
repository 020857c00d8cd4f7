package live

import (
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/fft/capture"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/session"
	"humdiff/report/unit"
)

// move puts a run into a cell of the grid: its cable and its column's termination,
// exposure and condition, which then aren't guessed any more. Where a run of its repeat
// stands there already it becomes the next.
func (b *Bench) move(id int, to map[string]string) error {
	return b.edit(func(s *sitting) error {
		r, err := s.find(id)
		if err != nil {
			return err
		}
		if to["condition"] == model.Residual {
			to["cable"] = ""
		}
		if err := s.fill(r, to); err != nil {
			return err
		}
		most, taken := 0, false
		for _, o := range s.runs {
			if o.id != id && cableOf(o.Run) == cableOf(r.Run) && keyOf(o.Run) == keyOf(r.Run) {
				most, taken = max(most, o.Repeat), taken || o.Repeat == r.Repeat
			}
		}
		if taken {
			r.Repeat = most + 1
			r.confirm("repeat")
		}
		return nil
	})
}

// fill states of a run what a form says, and confirms it.
func (s *sitting) fill(r *run, said map[string]string) error {
	i := slices.IndexFunc(s.runs, func(o run) bool { return o.id == r.id })
	f := s.session()
	wrong := f.Fill(session.RunTable, i, said)
	if len(wrong) > 0 {
		return fieldError(wrong)
	}
	r.Run = f.Sitting.Runs[i]
	for key := range said {
		r.confirm(key)
	}
	return nil
}

// confirm says that a key of a run is no guess; empty: that none is.
func (r *run) confirm(key string) {
	r.Guessed = slices.DeleteFunc(slices.Clone(r.Guessed), func(k string) bool { return key == "" || k == key })
}

// fieldError is what is wrong with fields of a form, by their names.
type fieldError map[string]string

func (e fieldError) Error() string {
	var all []string
	for key, why := range e {
		all = append(all, words(key)+": "+why)
	}
	slices.Sort(all)
	return strings.Join(all, "; ")
}

// set states of a run what its form says, and confirms all that the form shows.
func (b *Bench) set(id int, said map[string]string) error {
	return b.edit(func(s *sitting) error {
		r, err := s.find(id)
		if err != nil {
			return err
		}
		if file := said["file"]; file != r.Address && (file == "" || !filepath.IsLocal(file) || strings.ContainsAny(file, `/\`)) {
			return fieldError{"file": "name a capture in the session's folder"}
		}
		return s.fill(r, said)
	})
}

// confirm says that what was guessed of a run is so; with 0, of all.
func (b *Bench) confirm(id int) error {
	return b.edit(func(s *sitting) error {
		for i := range s.runs {
			if r := &s.runs[i]; id == 0 || r.id == id {
				r.confirm("")
			}
		}
		return nil
	})
}

// leave leaves a run out, for what is odd with it, or takes it back.
func (b *Bench) leave(id int) error {
	return b.edit(func(s *sitting) error {
		r, err := s.find(id)
		if err != nil {
			return err
		}
		if r.LeftOut != "" {
			r.LeftOut = ""
			return nil
		}
		i := slices.IndexFunc(s.runs, func(o run) bool { return o.id == id })
		odd := append(b.chipOf(*r, b.oddOnes()[r.path], s.problems()[i]).Odd, "nobody said why")
		r.LeftOut = strings.TrimSuffix(odd[0], ".")
		return nil
	})
}

// replaced says that the lead was taken away and put back for each repeat.
func (b *Bench) replaced() error {
	return b.edit(func(s *sitting) error {
		for i := range s.runs {
			if r := &s.runs[i]; r.Condition == model.Near && r.Repeat > 1 {
				r.Replaced = true
				r.confirm("replaced")
			}
		}
		return nil
	})
}

// inputs are the channels of captures in which the cable's isn't named, where more than
// a pair is judged; none where no capture has several. The lock is held.
func (b *Bench) inputs() (all []int) {
	if b.sitting.file.Sitting.Idle > 0 || b.outcome.measure != nil || b.outcome.compare != nil {
		return nil
	}
	for _, r := range b.sitting.runs {
		if t := b.takes[r.path]; t != nil && r.Address == b.sitting.file.Named(r.Run) {
			for n := len(all) + 1; n <= t.info.Channels && t.info.Channels > 1; n++ {
				all = append(all, n)
			}
		}
	}
	return all[:min(len(all), 64)]
}

// channel says on which channel the cable was in all captures that have several, and
// name none.
func (b *Bench) channel(n int) error {
	return b.edit(func(s *sitting) error {
		if !slices.Contains(b.inputs(), n) {
			return fmt.Errorf("there is no channel %d", n)
		}
		for i := range s.runs {
			r := &s.runs[i]
			if t := b.takes[r.path]; t != nil && t.info.Channels >= max(n, 2) && r.Address == s.file.Named(r.Run) {
				r.Address = capture.Address{Path: r.Address, Channel: n, End: math.Inf(1)}.String()
			}
		}
		return nil
	})
}

// rename calls otherwise what stands at the head of a row or column: for each run that
// says it so, and once confirmed.
func (b *Bench) rename(key, was, now string) error {
	if !slices.Contains([]string{"cable", "exposure", "termination_ohms"}, key) {
		return fmt.Errorf("%q is in no head", key)
	}
	return b.edit(func(s *sitting) error {
		for i := range s.runs {
			r := &s.runs[i]
			is := doc.Printable(map[string]string{"cable": r.Cable, "exposure": r.Exposure, "termination_ohms": endOf(r.Termination)}[key])
			if is != was || key == "cable" && r.Condition == model.Residual {
				continue
			}
			if err := s.fill(r, map[string]string{key: now}); err != nil {
				return err
			}
			if key == "cable" && doc.Printable(s.file.Sitting.Control) == was {
				s.file.Sitting.Control = now
			}
		}
		return nil
	})
}

// drop takes planned runs off the grid that were not recorded: one, or with 0 all.
func (b *Bench) drop(id int) error {
	return b.edit(func(s *sitting) error {
		n := len(s.runs)
		s.runs = slices.DeleteFunc(slices.Clone(s.runs), func(r run) bool { return (id == 0 || r.id == id) && b.expected(r) })
		if len(s.runs) == n {
			return errors.New("it was recorded: leave it out by saying why")
		}
		return nil
	})
}

// state takes in a form of the bench, the roles or a claim. What can't be understood is
// said at its field, and the rest waits for it. A claim may name what is yet to come.
func (b *Bench) state(table string, i int, said map[string]string) error {
	return b.edit(func(s *sitting) error {
		f := s.session()
		if wrong := f.Fill(table, i, said); len(wrong) > 0 {
			return fieldError(wrong)
		}
		wrong := fieldError{}
		for _, p := range f.Check() {
			if key, of := strings.CutPrefix(p.At, session.BenchTable+"."); of && table == session.BenchTable && !p.Gone {
				wrong[key] = sentenceOf(p)
			}
		}
		if len(wrong) > 0 {
			return wrong
		}
		s.file.Sitting = f.Sitting
		s.file.Sitting.Runs = nil
		tones, _ := f.Tones()
		s.runs = slices.DeleteFunc(s.runs, func(r run) bool {
			return r.auto && slices.ContainsFunc(tones, func(t unit.Tone) bool { return t.Path == r.path })
		})
		return nil
	})
}

// unclaim takes a claim off the list.
func (b *Bench) unclaim(i int) error {
	return b.edit(func(s *sitting) error {
		claims := s.file.Sitting.Claims
		if i < 0 || i >= len(claims) {
			return errors.New("that claim is no longer there")
		}
		s.file.Sitting.Claims = slices.Delete(slices.Clone(claims), i, i+1)
		return nil
	})
}
