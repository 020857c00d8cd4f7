package session

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"humdiff/fft/fault"
	"humdiff/report/formula"
)

// Write writes a session, as First gives it, to its Path, and its runs to its RunsFile beside it
// where it names one, so that Load reads back the same. It replaces no file: the
// error is then a *fault.Error that is fs.ErrExist. Where the second file
// can't be written the first is taken away again.
func Write(s Session) error {
	file, runs := s.First()
	if err := create(s.Path, file); err != nil {
		return err
	}
	if s.RunsFile == "" {
		return nil
	}
	if err := create(s.Locate(s.RunsFile), runs); err != nil {
		return errors.Join(err, os.Remove(s.Path))
	}
	return nil
}

// create writes a new file whole.
func create(path string, text []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err == nil {
		_, err = f.Write(text)
		if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
			os.Remove(path)
		}
	}
	var cause *fs.PathError
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrExist):
		return &fault.Error{File: path, What: "is there already", Hint: "move it away first: nothing is overwritten", Err: err}
	case errors.As(err, &cause):
		return &fault.Error{File: path, What: "cannot be written: " + cause.Err.Error(), Hint: "check that there is room, and that you may write there", Err: err}
	}
	return &fault.Error{File: path, What: "cannot be written: " + err.Error(), Err: err}
}

// Encode gives the session file, and the list of runs as CSV where RunsFile
// names one; else runs are in the session file, and the second is nil.
func (s Session) Encode() (file, runs []byte) {
	var b bytes.Buffer
	keys(&b, s, topFields)
	table(&b, "\n[bench]\n", s.Bench, benchFields)
	table(&b, "\n[roles]\n", s.Roles, roleFields)
	if s.Playback.Stated() {
		table(&b, "\n[playback]\n", s.Playback, playbackFields)
	}
	for _, c := range s.Claims {
		table(&b, "\n[[claim]]\n", c, claimFields)
	}
	if s.RunsFile != "" {
		return b.Bytes(), s.csv()
	}
	for _, r := range s.Runs {
		table(&b, "\n[[run]]\n", r, runFields)
	}
	return b.Bytes(), nil
}

// table writes a table with its head.
func table[T any](b *bytes.Buffer, head string, t T, fields []field[T]) {
	b.WriteString(head)
	keys(b, t, fields)
}

// keys writes what is stated, a line each.
func keys[T any](b *bytes.Buffer, t T, fields []field[T]) {
	for _, f := range fields {
		v := f.get(t)
		if v == nil {
			continue
		}
		fmt.Fprintf(b, "%s = %s\n", f.name, literal(v))
	}
}

// literal is a value in TOML.
func literal(v any) string {
	switch v := v.(type) {
	case float64:
		if v == float64(int64(v)) {
			return strconv.FormatInt(int64(v), 10)
		}
		return strconv.FormatFloat(v, 'g', -1, 64)
	case time.Time:
		return moment(v)
	case []string:
		var all []string
		for _, each := range v {
			all = append(all, literal(each))
		}
		return "[" + strings.Join(all, ", ") + "]"
	case string:
		text, err := toml.Marshal(map[string]string{"v": v})
		if err != nil {
			panic(err) // a string can always be written
		}
		return strings.TrimSuffix(strings.TrimPrefix(string(text), "v = "), "\n")
	}
	return fmt.Sprint(v)
}

// moment is a date alone where there is no time to it; a clock without a zone
// where the zone is UTC, as it is read.
func moment(t time.Time) string {
	switch {
	case t.Location() != time.UTC:
		return t.Format(time.RFC3339)
	case t.Equal(t.Truncate(24 * time.Hour)):
		return t.Format(time.DateOnly)
	}
	return t.Format(time.DateTime)
}

// csv lists the runs. Columns that no run has anything in are left out, but for
// those that every list should have. Texts that a spreadsheet would take for a formula
// are guarded.
func (s Session) csv() []byte {
	var columns []field[Run]
	for _, f := range runFields {
		if always[f.name] || s.anyRun(f) {
			columns = append(columns, f)
		}
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write(names(columns))
	for _, r := range s.Runs {
		var row []string
		for _, f := range columns {
			row = append(row, cellOf(f.get(r)))
		}
		w.Write(row)
	}
	w.Flush()
	return b.Bytes()
}

// always are columns to be filled in by whoever made the runs.
var always = map[string]bool{"cable": true, "termination_ohms": true, "exposure": true, "condition": true, "repeat": true, "replaced": true, "plug": true, "loaded": true, "bonded": true, "file": true, "start": true, "note": true, "left_out": true}

func (s Session) anyRun(f field[Run]) bool {
	for _, r := range s.Runs {
		if f.get(r) != nil {
			return true
		}
	}
	return false
}

func cellOf(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case float64:
		return decimal(v)
	case time.Time:
		return moment(v)
	case []string:
		return formula.Guard(strings.Join(v, " "))
	}
	return formula.Guard(fmt.Sprint(v))
}
