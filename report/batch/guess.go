package batch

import (
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"humdiff/fft/capture"
	"humdiff/report/session"
)

// Guess is a first session of the captures in a folder: what their names tell of
// cable, termination, exposure, condition, repeat and plug, each marked as guessed,
// and their start times where the files hold them. What levels they show plays no
// part. Its files are session.toml and runs.csv in that folder.
func Guess(folder string) (session.Session, error) {
	s := session.Session{Path: filepath.Join(folder, "session.toml"), Title: "", RunsFile: "runs.csv", Bench: session.BlankBench()}
	entries, err := os.ReadDir(folder)
	if err != nil {
		return s, &capture.Error{File: folder, What: "it is no folder that can be read", Hint: "name the folder in which the captures lie", Err: err}
	}
	for _, e := range entries {
		if r, ok := guessed(folder, e); ok {
			s.Runs = append(s.Runs, r)
		}
	}
	if len(s.Runs) == 0 {
		return s, &capture.Error{File: folder, What: "no captures lie in it", Hint: "captures are WAV or FLAC files"}
	}
	if !slices.ContainsFunc(s.Runs, func(r session.Run) bool { return r.Start.IsZero() }) {
		slices.SortStableFunc(s.Runs, func(a, b session.Run) int { return a.Start.Compare(b.Start) })
	}
	number(s.Runs)
	return s, nil
}

func guessed(folder string, e fs.DirEntry) (r session.Run, ok bool) {
	if e.IsDir() || !slices.Contains([]string{".wav", ".flac", ".rf64", ".bw64"}, strings.ToLower(filepath.Ext(e.Name()))) {
		return r, false
	}
	r = session.Run{Termination: math.NaN(), LoadAmps: math.NaN(), Address: capture.Address{Path: e.Name(), End: math.Inf(1)}}
	mark := func(key string) { r.Guessed = append(r.Guessed, key) }
	var left []string
	for _, word := range wordsOf(e.Name()) {
		switch key := read(&r, word); key {
		case "":
			left = append(left, word)
		case "condition": // said below, by the whole name
		default:
			mark(key)
		}
	}
	if r.Condition = session.ConditionOf(e.Name()); r.Condition != "" {
		mark("condition")
	}
	if len(left) > 0 && r.Condition != session.Residual {
		r.Cable = left[0]
		mark("cable")
		left = left[1:]
	}
	if r.Condition == session.Near || r.Condition == session.Dead {
		r.Exposure = strings.Join(left, " ")
		if r.Exposure == "" {
			r.Exposure = "beside"
		}
		mark("exposure")
	}
	if f, err := capture.Open(capture.Address{Path: filepath.Join(folder, e.Name())}); err == nil && !f.Info().Metadata.DayOnly {
		r.Start = f.Info().Metadata.Recorded
	}
	return r, true
}

// wordsOf parts a file's name.
func wordsOf(name string) []string {
	name = strings.TrimSuffix(name, filepath.Ext(name))
	return strings.FieldsFunc(name, func(r rune) bool { return strings.ContainsRune(" _-.,+()", r) })
}

var (
	ohmsForm   = regexp.MustCompile(`(?i)^([0-9]+)(?:(k)([0-9]*))?(?:ohms?|r|Ω)$`) // 20ohm, 20R, 10kohm, 4k7ohm
	repeatForm = regexp.MustCompile(`(?i)^(?:take|rep|repeat|r|n)?0*([0-9]{1,3})$`)
	plugForm   = regexp.MustCompile(`(?i)^(?:plug|p)([12])$`)
)

// read takes in a word that tells something by itself, and says which key.
func read(r *session.Run, word string) string {
	if session.ConditionOf(word) != "" {
		return "condition"
	}
	if strings.EqualFold(word, "open") {
		r.Termination = session.Open
		return "termination_ohms"
	}
	if m := ohmsForm.FindStringSubmatch(word); m != nil {
		r.Termination, _ = strconv.ParseFloat(m[1]+"."+m[3], 64) // digits
		if m[2] != "" {
			r.Termination *= 1000
		}
		return "termination_ohms"
	}
	if m := plugForm.FindStringSubmatch(word); m != nil {
		r.Plug, _ = strconv.Atoi(m[1])
		return "plug"
	}
	if m := repeatForm.FindStringSubmatch(word); m != nil {
		if r.Repeat, _ = strconv.Atoi(m[1]); r.Repeat > 0 {
			return "repeat"
		}
	}
	return ""
}

// number gives runs that name no repeat the next one of their kind.
func number(runs []session.Run) {
	next := map[string]int{}
	for i := range runs {
		r := &runs[i]
		kind := fmt.Sprint(r.Cable, "\x00", r.Termination, "\x00", r.Exposure, "\x00", r.Condition)
		if r.Repeat == 0 {
			r.Repeat = next[kind] + 1
			r.Guessed = append(r.Guessed, "repeat")
		}
		next[kind] = max(next[kind], r.Repeat)
	}
}
