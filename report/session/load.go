package session

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/publish"
)

// Load reads a session file and the list of runs that it names. The error is
// Problems where the files were read but something in them, or in how they fit
// together, is wrong: everything that is, at once. The session is then what
// could be understood. Where a file can't be read it is a *fault.Error.
func Load(path string) (Session, error) {
	s := Session{Path: path, Bench: BlankBench(), Playback: BlankPlayback()}
	text, err := read(path)
	if err != nil {
		return s, err
	}
	if err := mistaken(path, text); err != nil {
		return s, err
	}
	d := parse(path, text)
	problems := d.problems
	fill(&s, d.top, topFields, &problems)
	fill(&s.Bench, d.bench, benchFields, &problems)
	fill(&s.Roles, d.roles, roleFields, &problems)
	fill(&s.Playback, d.playback, playbackFields, &problems)
	runs := d.runs
	if s.RunsFile != "" {
		runs = append(runs, s.rowsOf(d, &problems)...)
	}
	for _, e := range runs {
		s.Runs = append(s.Runs, s.run(e, &problems))
	}
	for _, e := range d.claims {
		c := blankClaim()
		c.Line = e.at.line
		fill(&c, e, claimFields, &problems)
		s.Claims = append(s.Claims, c)
	}
	if len(d.problems) == 0 {
		checker{s, d, runs, &problems}.all()
	}
	return s, problems.err()
}

// rowsOf reads the runs' file.
func (s Session) rowsOf(d document, problems *Problems) []entry {
	at := d.top.place("runs")
	if len(d.runs) > 0 {
		problems.add(at, "list them in one place", "runs are listed in %s, and here too at line %d", s.RunsFile, d.runs[0].at.line)
	}
	file := s.Locate(s.RunsFile)
	text, err := read(file)
	if err != nil {
		problems.add(at, fault.Hint(err), "%s", err)
		return nil
	}
	runs, wrong := rows(file, text)
	*problems = append(*problems, wrong...)
	return runs
}

// run reads one run.
func (s Session) run(e entry, problems *Problems) Run {
	r := blankRun()
	r.Line = e.at.line
	fill(&r, e, runFields, problems)
	if r.Address.Path != "" {
		a, err := s.address(r.Address.Path)
		if err != nil {
			problems.add(e.place("file"), fault.Hint(err), "file: %s", err)
		}
		r.Address = a
	}
	return r
}

// address takes apart an address as written. What looks like a fragment is part
// of the name where a file of the whole name is there: hence the detour by where
// it is.
func (s Session) address(written string) (capture.Address, error) {
	located := s.Locate(written)
	a, err := capture.ParseAddress(located)
	if err != nil {
		return capture.Address{Path: written, End: math.Inf(1)}, err
	}
	a.Path = strings.TrimSuffix(written, located[len(a.Path):])
	return a, nil
}

// mistaken says what was given in a session file's place, where that can be told.
func mistaken(path string, text []byte) error {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".wav", ".flac", ".rf64", ".bw64":
		return &fault.Error{File: path, What: "a capture, not a session file", Hint: fmt.Sprintf(`humdiff batch --new "%s" writes a first session from the captures in a folder`, filepath.ToSlash(filepath.Dir(path)))}
	case ".json":
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

// read reads a small text file.
func read(path string) ([]byte, error) {
	hint := "name the session's text file, not a capture"
	if st, err := os.Stat(path); err == nil && st.IsDir() {
		hint = "name the session file in it; humdiff batch --new " + `"` + filepath.ToSlash(path) + `" writes a first one from captures`
	}
	return publish.ReadFile(path, publish.LargestText, hint)
}
