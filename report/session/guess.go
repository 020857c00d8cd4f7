package session

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/model"
)

// Guess is a first session of the captures in a folder: what their names tell of
// cable, termination, exposure, condition, repeat, plug, load and bond, each
// marked as guessed, and their start times where the files hold them. What levels
// they show plays no part. Its files are session.toml and runs.csv in that folder.
//
// Runs are in the order of their start times where all have one. Else names put
// them in order, which says nothing of when they were made: so the start of each
// counts as guessed, which tells the judging that no order is known. On request
// the times at which the files were last changed stand in, less their length.
func Guess(folder string, fileTimes bool) (File, error) {
	f := File{Path: filepath.Join(folder, "session.toml"), RunsFile: "runs.csv", Sitting: Blank()}
	entries, err := os.ReadDir(folder)
	if err != nil {
		return f, &fault.Error{File: folder, What: "it is no folder that can be read", Hint: "name the folder in which the captures lie", Err: err}
	}
	var all []Found
	for _, e := range entries {
		if !e.IsDir() && capture.Named(e.Name()) {
			all = append(all, Find(folder, e.Name()))
		}
	}
	if len(all) == 0 {
		return f, &fault.Error{File: folder, What: "no captures lie in it", Hint: "captures are WAV or FLAC files"}
	}
	if f.Sitting.Runs, err = Runs(folder, all, fileTimes); err != nil {
		return f, err
	}
	return f, f.leaveCopiesOut(context.Background())
}

// Found is a capture as it lies in a folder.
type Found struct {
	Name    string
	Start   time.Time     // as its metadata has it; zero: not there
	Long    time.Duration // 0: it can't be read
	Changed time.Time     // the file, last; zero: unknown
}

// Find looks at a capture in a folder, and reads no sample of it.
func Find(folder, name string) Found {
	f, path := Found{Name: name}, filepath.Join(folder, name)
	if c, err := capture.Open(capture.Address{Path: path}); err == nil {
		if m := c.Info().Metadata; !m.DayOnly {
			f.Start = m.Recorded
		}
		f.Long = time.Duration(float64(c.Frames()) / float64(c.Rate()) * float64(time.Second))
	}
	if st, err := os.Stat(path); err == nil {
		f.Changed = st.ModTime()
	}
	return f
}

// Runs are those of a folder's captures, as Guess has them, with no look at whether one
// is another's copy.
func Runs(folder string, found []Found, fileTimes bool) ([]model.Run, error) {
	var all []named
	for _, f := range found {
		all = append(all, nameOf(f))
	}
	seen := inQuiet(all)
	for i := range all {
		all[i].name(seen)
	}
	if err := date(folder, all, fileTimes); err != nil {
		return nil, err
	}
	runs := []model.Run{}
	for _, n := range all {
		runs = append(runs, n.Run)
	}
	numbered(runs)
	return runs, nil
}

// named is a run whose file's name was read.
type named struct {
	model.Run
	lead  int       // how many of the words left come before any that tells something
	left  []string  // words that tell nothing by themselves, in order
	ended time.Time // when the file was last changed; zero: unknown
	long  time.Duration
}

func (n *named) mark(key string) { n.Guessed = append(n.Guessed, key) }

func nameOf(f Found) (n named) {
	n.Run, n.ended, n.long = BlankRun(), f.Changed, f.Long
	n.Repeat, n.Address, n.Start = 0, capture.Address{Path: f.Name}.String(), f.Start
	told := false
	for _, word := range wordsOf(f.Name) {
		switch key := tell(&n.Run, word); {
		case key == "" && !serial.MatchString(word):
			n.left = append(n.left, word)
			if !told {
				n.lead++
			}
		case key == "", key == "condition": // no word; said below, by the whole name
			told = told || key != ""
		default:
			told = true
			n.mark(key)
		}
	}
	if n.Condition = ConditionOf(f.Name); n.Condition != "" {
		n.mark("condition")
	}
	return n
}

// inQuiet are the words in the names of quiet runs: what else near runs have in
// theirs is no part of a cable's name.
func inQuiet(all []named) map[string]bool {
	seen := map[string]bool{}
	for _, n := range all {
		for _, word := range n.left {
			if n.Condition == model.Quiet {
				seen[strings.ToLower(word)] = true
			}
		}
	}
	return seen
}

// name makes of the words left a cable and an exposure: the cable is what stands
// before all that tells something, and of that, what quiet runs have in their names
// too, if any have; no word for a way to bring the lead to bear is part of it.
func (n *named) name(inQuiet map[string]bool) {
	var cable, exposure []string
	known := slices.ContainsFunc(n.left, func(word string) bool { return inQuiet[strings.ToLower(word)] })
	for i, word := range n.left {
		part := i < n.lead || n.lead == 0
		lower := strings.ToLower(word)
		if n.WithLead() && known {
			part = part && inQuiet[lower]
		}
		if part && ways[folded(word)] == "" {
			cable = append(cable, word)
		} else {
			exposure = append(exposure, word)
		}
	}
	if len(cable) > 0 && n.Condition != model.Residual {
		n.Cable = strings.Join(cable, " ")
		n.mark("cable")
	}
	if n.WithLead() && len(exposure) == 0 {
		exposure = []string{"beside"}
	}
	if len(exposure) > 0 && n.Condition != model.Residual {
		n.Exposure = strings.Join(exposure, " ")
		n.mark("exposure")
	}
}

// date puts runs in the order in which they were made, where that is known.
func date(folder string, all []named, fileTimes bool) error {
	known := func() bool { return !slices.ContainsFunc(all, func(n named) bool { return n.Start.IsZero() }) }
	if fileTimes && !known() {
		if err := copied(folder, all); err != nil {
			return err
		}
		for i := range all {
			if n := &all[i]; n.Start.IsZero() {
				n.Start = wall(n.ended.Add(-n.long))
				n.mark(model.StartKey)
			}
		}
	}
	if known() {
		slices.SortStableFunc(all, func(a, b named) int { return a.Start.Compare(b.Start) })
		return nil
	}
	for i := range all {
		if n := &all[i]; n.Start.IsZero() {
			n.mark(model.StartKey)
		}
	}
	return nil
}

// copied says that the files were not last changed when they were recorded: two
// recordings don't take place at once. Some file systems keep time to 2 s.
func copied(folder string, all []named) error {
	const coarse = 2 * time.Second
	byEnd := slices.SortedFunc(slices.Values(all), func(a, b named) int { return a.ended.Compare(b.ended) })
	for i := 1; i < len(byEnd); i++ {
		if apart := byEnd[i].ended.Sub(byEnd[i-1].ended); apart+coarse < byEnd[i].long {
			return &fault.Error{File: folder, Hint: "leave --file-times out, and put the runs in order or fill in their start times yourself",
				What: fmt.Sprintf("%s and %s were last changed %.0f s apart, and the later one is %.0f s long: these times are of copies, not of recordings",
					byEnd[i-1].Address, byEnd[i].Address, apart.Seconds(), byEnd[i].long.Seconds())}
		}
	}
	return nil
}

// wall is a time as the clock on the wall shows it, to the second, kept as the
// session's times without a zone are.
func wall(t time.Time) time.Time {
	t = t.Local()
	return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), 0, time.UTC)
}

// numbered numbers runs, and gives those that name no repeat the next of their kind.
func numbered(runs []model.Run) {
	next := map[string]int{}
	for i := range runs {
		runs[i].Number = i + 1
		r := &runs[i]
		kind := fmt.Sprint(r.Cable, "\x00", r.Termination, "\x00", r.Exposure, "\x00", r.Condition, r.Plug, r.Loaded, r.Bonded)
		if r.Repeat == 0 {
			r.Repeat = next[kind] + 1
			r.Guessed = append(r.Guessed, "repeat")
		}
		next[kind] = max(next[kind], r.Repeat)
	}
}
