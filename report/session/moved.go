package session

import (
	"maps"
	"regexp"
	"slices"
	"strings"

	"humdiff/report/model"
	"humdiff/report/unit"
)

// absolute is a whole path, on this system or another.
var absolute = regexp.MustCompile(`^(?:[A-Za-z]:)?[/\\]`)

// Short is the session with whole paths cut down to as much of their ends as tells its
// files apart: which folders they lay in is nobody's business, and once all were moved
// the names still hold. Locate knows where they are.
func (f File) Short() File {
	s := &f.Sitting
	var names []*string
	s.Runs, s.Driven, s.Bench.Photos, s.Bench.Calibration = slices.Clone(s.Runs), slices.Clone(s.Driven), slices.Clone(s.Bench.Photos), slices.Clone(s.Bench.Calibration)
	for _, rows := range [][]model.Run{s.Runs, s.Driven} {
		for i := range rows {
			names = append(names, &rows[i].Address, &rows[i].Measured)
		}
	}
	for i := range s.Bench.Photos {
		names = append(names, &s.Bench.Photos[i].File)
	}
	f.Warnings = slices.Clone(f.Warnings)
	for i := range f.Warnings {
		names = append(names, &f.Warnings[i].File)
	}
	names = append(names, &f.RunsFile)
	var files []string
	for _, name := range names {
		files = append(files, f.Named(model.Run{Address: *name}))
	}
	for i := range s.Bench.Calibration {
		said := &s.Bench.Calibration[i]
		names, files = append(names, said), append(files, *said)
		if tone, err := unit.ParseTone(*said); err == nil {
			files[len(files)-1] = tone.Path
		}
	}
	f.Moved = maps.Clone(f.Moved)
	if f.Moved == nil {
		f.Moved = map[string]string{}
	}
	for i, name := range names {
		if absolute.MatchString(*name) {
			short := shortest(files[i], files)
			f.Moved[short] = files[i]
			*name = short + (*name)[len(files[i]):]
		}
	}
	return f
}

// shortest is the least of a path's end that no other of the files ends in.
func shortest(path string, files []string) string {
	slashed := strings.NewReplacer(`\`, "/")
	parts := strings.Split(slashed.Replace(path), "/")
	for n := 1; n < len(parts); n++ {
		end := strings.Join(parts[len(parts)-n:], "/")
		if !slices.ContainsFunc(files, func(other string) bool {
			return other != path && strings.HasSuffix("/"+slashed.Replace(other), "/"+end)
		}) {
			return end
		}
	}
	return path
}
