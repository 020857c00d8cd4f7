package live

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/likeness"
	"humdiff/fft/note"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/session"
	"humdiff/report/unit"
)

// take is a capture that is there.
type take struct {
	found session.Found
	info  capture.Info
	err   error // why it can't be used; nil: it can
	anew  int   // how often it was recorded over
}

// fileKey among what was guessed says that a capture was taken for a run because that
// one's turn had come.
const fileKey = "file"

// admit takes in captures that have become whole, in the order in which they were
// written: each as the planned run that names it, or the next one that its name doesn't
// contradict, or else as a run that its own name describes.
func (b *Bench) admit(dir string, names []string) {
	var takes []*take
	for _, name := range names {
		t := &take{found: session.Find(dir, name)}
		var file *capture.File
		if file, t.err = capture.Open(capture.Address{Path: filepath.Join(dir, name), End: math.Inf(1)}); t.err == nil {
			t.info = file.Info()
		}
		takes = append(takes, t)
	}
	b.change(func() error {
		if b.sitting.dir() != dir {
			return nil
		}
		for i, t := range takes {
			path := filepath.Join(dir, names[i])
			was := b.takes[path]
			if was != nil && was.found.Long == t.found.Long && was.found.Changed.Equal(t.found.Changed) {
				continue
			}
			if was != nil {
				t.anew = was.anew + 1
			} else if !b.sitting.names(path) {
				b.place(t)
			}
			b.takes[path], b.coming = t, true
			b.gather.Reset(lull)
		}
		b.readNames()
		return nil
	})
}

// lull is for how long no capture may come until those that are there are measured.
const lull = 500 * time.Millisecond

func (b *Bench) gathered() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.coming = false
	if b.ctx.Err() == nil {
		b.measure()
	}
}

// names says that the session names a capture: as a run's, as one in which a known
// source was on, or as a calibration.
func (s *sitting) names(path string) bool {
	tones, _ := s.file.Tones() // of one that can't be understood the form says so
	return slices.ContainsFunc(s.runs, func(r run) bool { return r.path == path }) ||
		slices.ContainsFunc(s.file.Sitting.Driven, func(r model.Run) bool { return s.pathOf(r) == path }) ||
		slices.ContainsFunc(tones, func(t unit.Tone) bool { return t.Path == path })
}

// toneDue is the calibration that comes before everything, while it is not recorded.
// The lock is held.
func (b *Bench) toneDue() string {
	tones, err := b.sitting.file.Tones()
	if err != nil || len(tones) == 0 || b.takes[tones[0].Path] != nil || exists(tones[0].Path) {
		return ""
	}
	if len(b.planned()) == 0 || slices.ContainsFunc(b.sitting.runs, func(r run) bool { return !r.auto && b.takes[r.path] != nil }) {
		return ""
	}
	return doc.File(tones[0].Path)
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// place finds the run of a capture that the session doesn't name. The lock is held.
func (b *Bench) place(t *take) {
	told, _ := session.Runs(b.sitting.dir(), []session.Found{t.found}, false) // without file times there is no error
	for i := range b.sitting.runs {
		r := &b.sitting.runs[i]
		if b.toneDue() == "" && b.expected(*r) && !b.contradicts(told[0], r.Run) {
			r.Address = capture.Address{Path: t.found.Name, Channel: b.lastChannel(t), End: math.Inf(1)}.String()
			r.Guessed = append(slices.Clone(r.Guessed), fileKey)
			if r.Start.IsZero() {
				r.Start = t.found.Start
			}
			r.path = b.sitting.pathOf(r.Run)
			return
		}
	}
	b.sitting.add(told[0], true)
}

// lastChannel is the channel that the last run before names in its capture, where this
// one has several too; 0: none. The lock is held.
func (b *Bench) lastChannel(t *take) (n int) {
	for _, r := range b.sitting.runs {
		if was := b.takes[r.path]; was != nil && was.info.Channels == t.info.Channels && t.info.Channels > 1 {
			at, _ := b.sitting.file.Capture(r.Run) // it was opened
			n = at.Channel
		}
	}
	return n
}

// expected says that a planned run has not been recorded yet. The lock is held.
func (b *Bench) expected(r run) bool {
	return !r.auto && r.Measured == "" && r.LeftOut == "" && b.takes[r.path] == nil
}

// contradicts says that what a name tells can't be so of a planned run: numbers in it
// may be the recorder's own.
func (b *Bench) contradicts(told, planned model.Run) bool {
	other := func(key string, differs bool) bool { return slices.Contains(told.Guessed, key) && differs }
	return other("condition", told.Condition != planned.Condition) ||
		other("termination_ohms", told.Termination.Open != planned.Termination.Open || told.Termination.Ohms != planned.Termination.Ohms && !planned.Termination.Open) ||
		other("cable", !strings.EqualFold(told.Cable, planned.Cable) && slices.ContainsFunc(session.Cables(b.sitting.session().Sitting.Runs), func(c string) bool { return strings.EqualFold(c, told.Cable) }))
}

// readNames reads anew what names tell, all together, since one helps to understand
// another. What somebody has confirmed stays. The lock is held.
func (b *Bench) readNames() {
	s := &b.sitting
	var found []session.Found
	at, all := map[string]int{}, true
	for i, r := range s.runs {
		t := b.takes[r.path]
		if all = all && r.auto && t != nil; r.auto && t != nil {
			found = append(found, t.found)
			at[r.path] = i
		}
	}
	told, err := session.Runs(s.dir(), found, true)
	if err != nil { // the times are of copies
		told, _ = session.Runs(s.dir(), found, false)
	}
	var sorted []run
	for _, r := range told {
		i, known := at[s.pathOf(r)]
		if known {
			r.Cable, r.Exposure = doc.Printable(r.Cable), doc.Printable(r.Exposure)
			s.runs[i].Run = session.Confirmed(r, s.runs[i].Run)
			sorted = append(sorted, s.runs[i])
		}
	}
	if all && len(sorted) == len(s.runs) {
		s.runs = sorted // by their times
	}
	s.nameless()
}

// nameless gives runs whose names tell no cable the only one there is, or a letter.
func (s *sitting) nameless() {
	cables := session.Cables(s.session().Sitting.Runs)
	if len(cables) != 1 {
		cables = []string{"A"}
	}
	for i := range s.runs {
		if r := &s.runs[i]; r.auto && r.Cable == "" && r.Condition != "" && r.Condition != model.Residual {
			r.Cable, r.Guessed = cables[0], append(r.Guessed, "cable")
		}
	}
}

// oddOnes says of captures, by path, that they are unlike most.
func (b *Bench) oddOnes() map[string][]string {
	said := map[string][]string{}
	var facts []likeness.Facts
	for path, t := range b.takes {
		if t.err == nil && t.info.Rate > 0 {
			facts = append(facts, likeness.Facts{Name: path, Rate: t.info.Rate, Bits: t.info.Bits, Channels: t.info.Channels,
				Seconds: t.found.Long.Seconds(), NoiseDBFSPerHz: math.NaN()})
		}
	}
	for _, n := range likeness.OddOnes(facts) {
		for _, path := range n.Get("files").([]string) {
			said[path] = append(said[path], doc.Says(note.Note{Code: n.Code, Args: n.Args[2:]}))
		}
	}
	return said
}
