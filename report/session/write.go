package session

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"humdiff/fft/fault"
	"humdiff/report/formula"
	"humdiff/report/model"
)

// Write writes a session, as First gives it, to its Path, and its runs to its
// RunsFile beside it where it names one, so that Load reads back the same. It
// replaces no file: the error is then a *fault.Error that is fs.ErrExist. Where
// the second file can't be written the first is taken away again.
func (f File) Write() error {
	file, runs := f.First()
	if err := Create(f.Path, file, 0o666); err != nil {
		return err
	}
	if f.RunsFile == "" {
		return nil
	}
	if err := Create(f.Locate(f.RunsFile), runs, 0o666); err != nil {
		return errors.Join(err, os.Remove(f.Path))
	}
	return nil
}

// Create writes a new file whole.
func Create(path string, text []byte, mode fs.FileMode) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err == nil {
		_, err = f.Write(text)
		if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
			os.Remove(path)
		}
	}
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrExist):
		return &fault.Error{File: path, What: "is there already", Hint: "move it away first: nothing is overwritten", Err: err}
	}
	return &fault.Error{File: path, What: "cannot be written: " + fault.Bare(err).Error(), Hint: "check that there is room, and that you may write there", Err: err}
}

// Encode gives the session file, and the list of runs as CSV where RunsFile
// names one; else runs are in the session file, and the second is nil.
func (f File) Encode() (file, runs []byte) { return f.encode(false) }

// First is Encode for a session that people are to fill in: what isn't stated is
// there as an example behind a #, and what the columns of the list mean is said.
func (f File) First() (file, runs []byte) { return f.encode(true) }

func (f File) encode(examples bool) (file, runs []byte) {
	w, s := writer{examples: examples}, f.Sitting
	w.say("# Lines that begin with # are examples: to state something, take the # away and put in your own.\n\n")
	w.keys(topKeys(&f))
	if f.RunsFile != "" {
		w.say(columnsSaid())
	}
	w.table("\n[bench]\n", benchKeys(&s.Bench))
	w.table("\n[roles]\n", roleKeys(&s))
	chain := noPlayback()
	if s.Playback != nil {
		chain = *s.Playback
	}
	if s.Playback != nil || examples {
		w.table("\n[playback]\n", playbackKeys(&chain))
	}
	if len(s.Driven) > 0 || s.Drive.FullScale != "" || examples {
		w.table("\n[drive]\n", driveKeys(&s.Drive))
	}
	for _, c := range s.Claims {
		w.table("\n[[claim]]\n", claimKeys(&c))
	}
	if len(s.Claims) == 0 {
		w.say(claimExamples)
	}
	if f.RunsFile != "" {
		return w.Bytes(), listed(slices.Concat(s.Runs, s.Driven))
	}
	for _, r := range slices.Concat(s.Runs, s.Driven) {
		w.table("\n[[run]]\n", runKeys(&r))
	}
	return w.Bytes(), nil
}

// writer writes a session file, with examples or without.
type writer struct {
	bytes.Buffer
	examples bool
}

// say writes what is said only where examples are.
func (w *writer) say(text string) {
	if w.examples {
		w.WriteString(text)
	}
}

// table writes a table with its head.
func (w *writer) table(head string, keys []key) {
	w.WriteString(head)
	w.keys(keys)
}

// keys writes what is stated, a line each, and examples of what isn't.
func (w *writer) keys(keys []key) {
	for _, k := range keys {
		if v := k.value.write(); v != nil {
			fmt.Fprintf(w, "%s = %s\n", k.name, literal(v))
			continue
		}
		line := fmt.Sprintf("# %s = %s", k.name, k.example)
		if k.says != "" {
			line = fmt.Sprintf("%-40s # %s", line, k.says)
		}
		if k.example != "" {
			w.say(line + "\n")
		}
	}
}

// columnsSaid says what the columns of the list of runs mean.
func columnsSaid() string {
	const width = 118
	var said []string
	for _, k := range runKeys(new(model.Run)) {
		if k.says != "" {
			said = append(said, k.name+" "+k.says)
		}
	}
	lines := []string{"#"}
	for _, word := range strings.Fields("In that list, " + strings.Join(said, "; ") + ".") {
		if last := &lines[len(lines)-1]; len(*last)+len(word) < width {
			*last += " " + word
		} else {
			lines = append(lines, "# "+word)
		}
	}
	return strings.Join(lines, "\n") + "\n"
}

// literal is a value in TOML.
func literal(v any) string {
	switch v := v.(type) {
	case float64:
		if v == math.Trunc(v) && math.Abs(v) < 1e15 {
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

// rare are columns that a list has only where some run has something in them; the
// others are for whoever made the runs to fill in.
var rare = []string{"load_amps", "drive", "reference", "measured", "guessed"}

// listed are the runs as CSV. Texts that a spreadsheet would take for a formula
// are guarded.
func listed(runs []model.Run) []byte {
	columns := runNames()
	rows := [][]string{columns}
	inUse := make([]bool, len(columns))
	for _, r := range runs {
		var row []string
		for i, k := range runKeys(&r) {
			row = append(row, cellOf(k.value.write()))
			inUse[i] = inUse[i] || row[i] != ""
		}
		rows = append(rows, row)
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	for _, row := range rows {
		var shown []string
		for i, name := range columns {
			if inUse[i] || !slices.Contains(rare, name) {
				shown = append(shown, row[i])
			}
		}
		w.Write(shown)
	}
	w.Flush()
	return b.Bytes()
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
