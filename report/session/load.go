package session

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/report/model"
	"humdiff/report/publish"
)

// noUTF8 is the code of a list of runs that was read as Windows-1252: letters may
// be others than were meant.
const noUTF8 = "list_no_utf8"

// mostRuns a session may have; a sitting of a day has some hundreds.
const mostRuns = 10_000

// Load reads a session file and the list of runs that it names. The error is
// Problems where the files were read but something in them, or in how they fit
// together, is wrong: everything that is, at once. The session is then what
// could be understood. Where a file can't be read it is a *fault.Error.
func Load(path string) (File, error) {
	f := File{Path: path, Sitting: Blank()}
	text, err := read(path)
	if err != nil {
		return f, err
	}
	if err := mistaken(path, text); err != nil {
		return f, err
	}
	problems := f.understand(text, read)
	return f, problems.err()
}

// Check is all that Load would find wrong with the session, were it written and read
// again; nil: nothing.
func (f File) Check() Problems {
	text, list := f.Encode()
	again := File{Path: f.Path, Sitting: Blank()}
	return again.understand(text, func(string) ([]byte, error) { return list, nil }).sorted()
}

// understand takes in a session file's text, and that of its list of runs as read
// gives it.
func (f *File) understand(text []byte, read func(path string) ([]byte, error)) Problems {
	d := parse(f.Path, text)
	problems := d.problems
	s := &f.Sitting
	d.top.fill(topKeys(f), &problems)
	d.bench.fill(benchKeys(&s.Bench), &problems)
	d.roles.fill(roleKeys(s), &problems)
	chain := noPlayback()
	d.playback.fill(playbackKeys(&chain), &problems)
	s.Playback = played(chain)
	d.drive.fill(driveKeys(&s.Drive), &problems)
	if f.RunsFile != "" {
		d.runs = append(d.runs, f.rowsOf(d, read, &problems)...)
	}
	if len(d.runs) > mostRuns {
		problems.add(d.runs[mostRuns].at, "make several sessions of it", "it lists more than %d runs", mostRuns)
		d.runs = d.runs[:mostRuns]
	}
	for i := range d.runs {
		r := BlankRun()
		r.Number, r.Line = i+1, d.runs[i].at.line
		d.runs[i].fill(runKeys(&r), &problems)
		s.Runs = append(s.Runs, r)
	}
	f.part(&d)
	for i := range d.claims {
		c := blankClaim()
		c.Line = d.claims[i].at.line
		d.claims[i].fill(claimKeys(&c), &problems)
		s.Claims = append(s.Claims, c)
	}
	if len(d.problems) == 0 {
		newChecker(*f, d, &problems).all()
	}
	return problems
}

// rowsOf reads the runs' file.
func (f *File) rowsOf(d document, read func(string) ([]byte, error), problems *Problems) []entry {
	at := d.top.place("runs")
	if len(d.runs) > 0 {
		problems.add(at, "list them in one place", "runs are listed in %s, and here too at line %d", f.RunsFile, d.runs[0].at.line)
	}
	file := f.Locate(f.RunsFile)
	text, err := read(file)
	if err != nil {
		problems.add(at, fault.Hint(err), "%s", err)
		return nil
	}
	line := notUTF8(text)
	text, other := decoded(text)
	if other {
		f.Warnings = append(f.Warnings, model.Warning{Note: note.New(noUTF8, "line", line), File: f.RunsFile})
	}
	runs, wrong := rows(file, text)
	*problems = append(*problems, wrong...)
	return runs
}

// mistaken says what was given in a session file's place, where that can be told.
func mistaken(path string, text []byte) error {
	switch {
	case capture.Named(path):
		return &fault.Error{File: path, What: "a capture, not a session file", Hint: fmt.Sprintf(`humdiff batch --new "%s" writes a first session from the captures in a folder`, filepath.ToSlash(filepath.Dir(path)))}
	case strings.EqualFold(filepath.Ext(path), ".json"):
		return &fault.Error{File: path, What: "a result, not a session file", Hint: "name the session file (TOML) it was made from; humdiff verify checks a result"}
	}
	first, _, _ := bytes.Cut(bytes.TrimPrefix(text, []byte("\ufeff")), []byte("\n"))
	columns := strings.FieldsFunc(strings.ToLower(string(first)), func(r rune) bool { return strings.ContainsRune(",;\t\" \r", r) })
	if !slices.Contains(columns, "condition") || len(columns) < 3 {
		return nil
	}
	hint := fmt.Sprintf("name the session file that lists it; one that holds no more than the line  runs = %q  does, beside it", filepath.Base(path))
	if beside := filepath.Join(filepath.Dir(path), "session.toml"); exists(beside) {
		hint = fmt.Sprintf(`name the session file: humdiff batch "%s"`, filepath.ToSlash(beside))
	}
	return &fault.Error{File: path, What: "a list of runs, not a session file", Hint: hint}
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// read reads a session's text file.
func read(path string) ([]byte, error) {
	text, err := publish.ReadFile(path, publish.LargestText, "check the name and the folder")
	switch {
	case errors.Is(err, publish.ErrFolder):
		return nil, &fault.Error{File: path, What: "a folder, not a file", Hint: "name the session file in it; humdiff batch --new " + `"` + filepath.ToSlash(path) + `" writes a first one from captures`}
	case errors.Is(err, publish.ErrLarge):
		return nil, &fault.Error{File: path, What: "too large for a list", Hint: "name the session's text file, not a capture"}
	}
	return text, err
}
