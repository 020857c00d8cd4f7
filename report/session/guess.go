package session

import (
	"context"
	"fmt"
	"io/fs"
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
	var all []named
	for _, e := range entries {
		if n, ok := nameOf(folder, e); ok {
			all = append(all, n)
		}
	}
	if len(all) == 0 {
		return f, &fault.Error{File: folder, What: "no captures lie in it", Hint: "captures are WAV or FLAC files"}
	}
	seen := inQuiet(all)
	for i := range all {
		all[i].name(seen)
	}
	if err := date(folder, all, fileTimes); err != nil {
		return f, err
	}
	for _, n := range all {
		f.Sitting.Runs = append(f.Sitting.Runs, n.Run)
	}
	numbered(f.Sitting.Runs)
	return f, f.leaveCopiesOut(context.Background())
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

func nameOf(folder string, e fs.DirEntry) (n named, ok bool) {
	if e.IsDir() || !capture.Named(e.Name()) {
		return n, false
	}
	n.Run = BlankRun()
	n.Repeat, n.Address = 0, capture.Address{Path: e.Name()}.String()
	told := false
	for _, word := range wordsOf(e.Name()) {
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
	if n.Condition = ConditionOf(e.Name()); n.Condition != "" {
		n.mark("condition")
	}
	if f, err := capture.Open(capture.Address{Path: filepath.Join(folder, e.Name())}); err == nil {
		if m := f.Info().Metadata; !m.DayOnly {
			n.Start = m.Recorded
		}
		n.long = time.Duration(float64(f.Frames()) / float64(f.Rate()) * float64(time.Second))
	}
	if info, err := e.Info(); err == nil {
		n.ended = info.ModTime()
	}
	return n, true
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
		if withLead(n.Condition) && known {
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
	if withLead(n.Condition) && len(exposure) == 0 {
		exposure = []string{"beside"}
	}
	if len(exposure) > 0 && n.Condition != model.Residual {
		n.Exposure = strings.Join(exposure, " ")
		n.mark("exposure")
	}
}

func withLead(condition string) bool { return condition == model.Near || condition == model.Unplugged }

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
