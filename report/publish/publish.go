// Package publish puts files into a folder or an archive, whole or not at all: a
// report's files, made elsewhere, come in; a folder with a list of them, a file, or
// a bundle with the captures goes out, and bundles are unpacked without being
// trusted. It never replaces or removes what it has no list of having written.
package publish

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"humdiff/fft/fault"
)

// File is one file of a report.
type File struct {
	Name string // without a folder
	Data []byte
	// Make makes the data when the file is written, so that a report of many
	// files need not be held as a whole; nil: Data is it.
	Make func() ([]byte, error)
}

// Contents are a file's, made now where they are made late.
func (f File) Contents() ([]byte, error) {
	if f.Make != nil {
		return f.Make()
	}
	return f.Data, nil
}

// manner is how files come into a folder that is there.
type manner struct {
	alone  bool // they are a report: what was listed before goes
	force  bool // alone: beside others' files; else: in place of earlier ones
	listed bool // humdiff may replace them later
}

// Write writes a report into the folder dir, with a list of its files, and makes the
// folder where there is none. What the list of an earlier report names, and nobody
// has changed since, gives way, so that no old figure stands beside the new page. All
// else stays; where a file of the report needs its name, that is an error, whether
// forced or not. A folder without a list that isn't empty is refused unless force is
// set. Errors are *fault.Error. Once ctx is done, Write stops unless the files are
// already being put in place. Should the program end in that moment, the next run
// makes the folder what it was.
func Write(ctx context.Context, dir string, force bool, files []File) error {
	return put(ctx, dir, files, manner{alone: true, force: force, listed: true})
}

// Add writes files into a folder beside what is there, and onto its list, and makes
// it where there is none. With force they replace files of their names that are
// listed and unchanged; else what has one of the names is the error, with nothing
// written.
func Add(ctx context.Context, dir string, force bool, files []File) error {
	return put(ctx, dir, files, manner{force: force, listed: true})
}

// Hand writes files that are the user's from then on, such as a session to be filled
// in: none of them replaces anything, and they are on no list.
func Hand(ctx context.Context, dir string, files []File) error {
	return put(ctx, dir, files, manner{})
}

// Check says before the work what Write would refuse after it: a folder that holds
// something else, one that nothing can be written to, and files of the names that
// the report is going to have, as far as they are known, that aren't humdiff's.
func Check(dir string, force bool, names ...string) error {
	t, err := look(dir)
	if err != nil {
		return err
	}
	if _, _, err := t.decide(names, manner{alone: true, force: force}); err != nil {
		return err
	}
	return writable(dir)
}

// writable tries to write where dir is or would be made.
func writable(dir string) error {
	at := firstThere(dir)
	if st, err := os.Stat(at); err == nil && !st.IsDir() {
		return failed(dir, nil, at+" is a file", "Give another folder.")
	}
	s, err := NewSpace(at)
	if err != nil {
		return failed(dir, err, "cannot be written to", "Give a folder that you may write to.")
	}
	return s.Close()
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

// checkNames refuses what is no plain name, and two that some file systems take for
// one.
func checkNames(dir string, names []string) error {
	seen := map[string]bool{}
	for _, n := range names {
		if n == "" || n == "." || n == ".." || strings.ContainsAny(n, "/\\\x00") {
			return failed(dir, nil, fmt.Sprintf("%q is no file name", n), "")
		}
		if seen[fold(n)] {
			return failed(dir, nil, fmt.Sprintf("two files are called %q", n), "")
		}
		seen[fold(n)] = true
	}
	return nil
}

// fold is what names have in common that a file system may take for one: some know
// no capitals, some write an accent as a letter of its own.
func fold(name string) string { return cases.Fold().String(norm.NFC.String(name)) }
