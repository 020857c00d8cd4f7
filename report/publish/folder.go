// Package publish puts a report's files into an output folder, whole or not at
// all. Files are first written out of sight on the same file system and then
// renamed into place; if anything fails, nothing half-written stays and what
// was there before is still there.
package publish

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"humdiff/fft/fault"
)

// ErrForeign is the cause of the error where a folder holds something else than a
// report: with force, Write would write into it.
var ErrForeign = errors.New("the folder holds something else")

// File is one file of a report.
type File struct {
	Name string // without a folder
	Data []byte
	// Make makes the data when the file is written, so that a report of many
	// files need not be held as a whole; nil: Data is it.
	Make func() ([]byte, error)
}

// contents are a file's, made now where they are made late.
func (f File) contents() ([]byte, error) {
	if f.Make != nil {
		return f.Make()
	}
	return f.Data, nil
}

// Write writes files into the folder dir, and makes it where there is none. A
// folder that holds something else is refused unless force is set. A folder
// that holds an earlier report of humdiff (a JSON file with a humdiff schema)
// is overwritten: report files that the new report does not have are removed,
// so that no old figure stands beside it; all other files are kept, with force
// too. Errors are *fault.Error. Once ctx is done, Write stops unless all is
// already being renamed. Should the machine stop in that moment, the folder
// holds a hidden folder .humdiff-… with what had been there.
func Write(ctx context.Context, dir string, force bool, files []File) error {
	if err := checkNames(dir, files); err != nil {
		return err
	}
	exists, old, err := look(dir, force, files)
	switch {
	case err != nil:
		return err
	case !exists:
		return create(ctx, dir, files)
	}
	return replace(ctx, dir, old, files)
}

// Add writes files into a folder beside what is there, and makes it where there
// is none. Files of the same names are replaced if force is set, and else the
// error, with nothing written.
func Add(ctx context.Context, dir string, force bool, files []File) error {
	if err := checkNames(dir, files); err != nil {
		return err
	}
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return create(ctx, dir, files)
	case err != nil:
		return failed(dir, err, "cannot be used as an output folder", "Give another folder.")
	}
	fresh := map[string]bool{}
	for _, f := range files {
		fresh[f.Name] = true
	}
	var old []string
	for _, e := range entries {
		switch {
		case !fresh[e.Name()]:
		case e.IsDir():
			return failed(dir, nil, fmt.Sprintf("%s in it is a folder", e.Name()), "Move it away, or give another folder.")
		case !force:
			return failed(filepath.Join(dir, e.Name()), nil, "is there already", "Give another folder, or --force to replace it.")
		default:
			old = append(old, e.Name())
		}
	}
	return replace(ctx, dir, old, files)
}

// Check says before the work what Write would refuse after it: a folder that
// holds something else, or one that nothing can be written to.
func Check(dir string, force bool) error {
	if _, _, err := look(dir, force, nil); err != nil {
		return err
	}
	return writable(dir)
}

// writable tries to write where dir is or would be made.
func writable(dir string) error {
	at := filepath.Clean(dir)
	for {
		st, err := os.Stat(at)
		if err == nil && !st.IsDir() {
			return failed(dir, nil, at+" is a file", "Give another folder.")
		}
		if err == nil || at == filepath.Dir(at) {
			break
		}
		at = filepath.Dir(at)
	}
	probe, err := os.MkdirTemp(at, ".humdiff-")
	if err != nil {
		return failed(dir, err, "cannot be written to", "Give a folder that you may write to.")
	}
	return os.Remove(probe)
}

// look is whether dir exists, and which of its files give way to new ones.
func look(dir string, force bool, files []File) (exists bool, old []string, err error) {
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return false, nil, nil
	case err != nil:
		return false, nil, failed(dir, err, "cannot be used as an output folder", "Give another folder.")
	}
	old, err = replaced(dir, force, entries, files)
	return true, old, err
}

func failed(file string, cause error, what, hint string) *fault.Error {
	if cause != nil {
		what += ": " + Reason(cause)
	}
	return &fault.Error{File: file, What: what, Hint: hint, Err: cause}
}

// Reason is an error without the path, which the user never wrote.
func Reason(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err.Error()
	}
	var link *os.LinkError
	if errors.As(err, &link) {
		return link.Err.Error()
	}
	return err.Error()
}

func checkNames(dir string, files []File) error {
	seen := map[string]bool{}
	for _, f := range files {
		if f.Name == "" || f.Name == "." || f.Name == ".." || strings.ContainsAny(f.Name, "/\\\x00") {
			return failed(dir, nil, fmt.Sprintf("%q is no file name", f.Name), "")
		}
		low := strings.ToLower(f.Name) // some file systems know no capitals
		if seen[low] {
			return failed(dir, nil, fmt.Sprintf("two files are called %q", f.Name), "")
		}
		seen[low] = true
	}
	return nil
}

// create makes a new folder: it is filled under another name beside it.
func create(ctx context.Context, dir string, files []File) (err error) {
	parent := filepath.Dir(filepath.Clean(dir))
	made, err := makeParents(parent)
	if err != nil {
		return failed(dir, err, "cannot be made", "Check that its parent is a folder you may write to.")
	}
	defer func() {
		if err != nil {
			removeEmpty(made)
		}
	}()
	hidden, err := stage(ctx, dir, parent, files)
	if err != nil {
		return err
	}
	defer os.RemoveAll(hidden)
	if err := os.Chmod(hidden, 0o755); err != nil {
		return failed(dir, err, "cannot be made", "")
	}
	if err := rename(hidden, filepath.Clean(dir)); err != nil {
		return failed(dir, err, "cannot be made", "Something of that name may have come up meanwhile: try again.")
	}
	return nil
}

// makeParents makes a folder and those above it, and returns the ones made,
// the innermost first.
func makeParents(dir string) ([]string, error) {
	var missing []string
	for at := dir; ; at = filepath.Dir(at) {
		if _, err := os.Stat(at); !errors.Is(err, fs.ErrNotExist) || at == filepath.Dir(at) {
			break
		}
		missing = append(missing, at)
	}
	return missing, os.MkdirAll(dir, 0o755)
}

func removeEmpty(dirs []string) {
	for _, d := range dirs {
		os.Remove(d) // refuses a folder that someone has used meanwhile
	}
}

// stage writes the files into a new hidden folder in parent and returns its
// path; on failure nothing of it stays.
func stage(ctx context.Context, dir, parent string, files []File) (string, error) {
	hidden, err := os.MkdirTemp(parent, ".humdiff-")
	if err != nil {
		return "", failed(dir, err, "cannot be written to", "Give another folder.")
	}
	if err := fill(ctx, dir, hidden, files); err != nil {
		os.RemoveAll(hidden)
		return "", err
	}
	return hidden, nil
}

func fill(ctx context.Context, dir, hidden string, files []File) error {
	for _, f := range files {
		if ctx.Err() != nil {
			break
		}
		data, err := f.contents()
		if err != nil {
			return err
		}
		if err := writeFile(filepath.Join(hidden, f.Name), data); err != nil {
			return failed(dir, err, "cannot write "+f.Name, "Check that there is room, and that you may write there.")
		}
	}
	if err := ctx.Err(); err != nil {
		return failed(dir, err, "stopped before the report was written", "")
	}
	return nil
}

func writeFile(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Sync(), f.Close())
}

// replaced is which files of a folder give way to the new ones.
func replaced(dir string, force bool, entries []fs.DirEntry, files []File) ([]string, error) {
	ours := false
	for _, e := range entries {
		ours = ours || isResult(dir, e)
	}
	if len(entries) > 0 && !ours && !force {
		return nil, &fault.Error{File: dir, What: "the folder is not empty, and holds no report of humdiff", Hint: "Give a new folder.", Err: ErrForeign}
	}
	fresh := map[string]bool{}
	for _, f := range files {
		fresh[f.Name] = true
	}
	var old []string
	for _, e := range entries {
		switch stale := ours && reportFile.MatchString(e.Name()); {
		case !fresh[e.Name()] && !stale:
		case e.IsDir():
			return nil, failed(dir, nil, fmt.Sprintf("%s in it is a folder", e.Name()), "Move it away, or give another folder.")
		default:
			old = append(old, e.Name())
		}
	}
	return old, nil
}

// reportFile is the names that reports are made of.
var reportFile = regexp.MustCompile(`^(report\.(html|md)|(compare|measure|session|trend)\.json|(lines|trend)\.(csv|md)|steps\.csv|(spectrum|delta|lines|cycle|trend)(-(ch|pair)\d+)?\.svg|(ranking|matrix)(-\d+)?\.svg|(runs|repeats|means|ranking|differences|claims)\.csv|run-\d+\.html)$`)

// isResult reports whether a file is the JSON of a humdiff report: an object
// whose first key is a humdiff schema.
func isResult(dir string, e fs.DirEntry) bool {
	if !e.Type().IsRegular() || filepath.Ext(e.Name()) != ".json" {
		return false
	}
	f, err := os.Open(filepath.Join(dir, e.Name()))
	if err != nil {
		return false
	}
	defer f.Close()
	d := json.NewDecoder(f)
	var tokens [3]json.Token
	for i := range tokens {
		if tokens[i], err = d.Token(); err != nil {
			return false
		}
	}
	schema, _ := tokens[2].(string)
	return tokens[0] == json.Delim('{') && tokens[1] == "schema" && strings.HasPrefix(schema, "humdiff/")
}

// replace puts files in place of the old ones in an existing folder.
func replace(ctx context.Context, dir string, old []string, files []File) error {
	hidden, err := stage(ctx, dir, dir, files)
	if err != nil {
		return err
	}
	defer os.RemoveAll(hidden)
	aside, err := os.MkdirTemp(dir, ".humdiff-")
	if err != nil {
		return failed(dir, err, "cannot be written to", "Give another folder.")
	}
	defer os.Remove(aside) // by then it is empty, or holds what could not be put back
	var moves moves
	for _, name := range old {
		moves.add(dir, aside, name)
	}
	for _, f := range files {
		moves.add(hidden, dir, f.Name)
	}
	if err := moves.run(); err != nil {
		return failed(dir, err, "the report could not be put in place, so nothing was changed", "")
	}
	os.RemoveAll(aside)
	return nil
}

// moves are renamings that happen all or not at all.
type moves [][2]string

func (m *moves) add(from, to, name string) {
	*m = append(*m, [2]string{filepath.Join(from, name), filepath.Join(to, name)})
}

func (m moves) run() error {
	for i, move := range m {
		err := rename(move[0], move[1])
		for j := i - 1; err != nil && j >= 0; j-- {
			if undo := rename(m[j][1], m[j][0]); undo != nil {
				return fmt.Errorf("%w; and %s could not be put back: %v", err, m[j][0], undo)
			}
		}
		if err != nil {
			return err
		}
	}
	return nil
}

var rename = os.Rename // tests let it fail
