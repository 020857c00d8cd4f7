package verify

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/fft/fault"
	"humdiff/report/publish"
	"humdiff/report/result"
)

// views are the endings of what people look at in a report: pages, figures,
// tables.
var views = []string{".html", ".svg", ".png", ".pdf", ".csv", ".md", ".txt"}

// beside compares the page, the tables and the figures that lie beside a report
// with those that its numbers make, to the byte: every one is a function of the
// result alone. Where none lies there, there is nothing to compare. A result of
// another version may look otherwise in this one: then nothing is said of its
// files but that. made is several sets of files where the report doesn't say
// which of them was written.
func (v *verifier) beside(report string, made ...[]publish.File) error {
	if len(made[0]) == 0 {
		return nil // what can't be made is an error elsewhere
	}
	dir := filepath.Dir(report)
	have, err := viewsIn(dir)
	if err != nil || len(have) == 0 {
		return err
	}
	var all []result.VerifiedFile
	for _, name := range have {
		state, err := v.view(dir, name, made)
		if err != nil {
			return err
		}
		all = append(all, result.VerifiedFile{File: name, State: state})
	}
	if !slices.ContainsFunc(all, func(f result.VerifiedFile) bool { return f.State != result.Foreign }) {
		return nil // a folder of something else
	}
	v.out.Files = all
	for _, f := range made[0] {
		if slices.Contains(views, filepath.Ext(f.Name)) && !slices.Contains(have, f.Name) {
			v.out.Files = append(v.out.Files, result.VerifiedFile{File: f.Name, State: result.Missing})
		}
	}
	return nil
}

// viewsIn lists the views in a folder, in order.
func viewsIn(dir string) (names []string, err error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, &fault.Error{File: dir, What: "cannot be read: " + publish.Reason(err), Err: err}
	}
	for _, e := range entries {
		if e.Type().IsRegular() && slices.Contains(views, strings.ToLower(filepath.Ext(e.Name()))) {
			names = append(names, e.Name())
		}
	}
	return names, nil
}

// view is how a file compares with what the result makes of that name.
func (v *verifier) view(dir, name string, made [][]publish.File) (state string, err error) {
	known := false
	for _, files := range made {
		at := slices.IndexFunc(files, func(f publish.File) bool { return f.Name == name })
		if at < 0 {
			continue
		}
		known = true
		if v.out.Report.Version != v.out.Tool.Version {
			return result.OtherVersion, nil
		}
		want, err := contents(files[at])
		if errors.Is(err, errNotHeld) {
			return result.NotCompared, nil
		}
		if err != nil {
			return "", err
		}
		got, err := publish.ReadFile(filepath.Join(dir, name), publish.LargestResult, "")
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", err
		}
		if bytes.Equal(got, want) {
			return result.Same, nil
		}
	}
	if known {
		return result.Differs, nil
	}
	return result.Foreign, nil
}

// errNotHeld is the error of a file made of captures that aren't at hand.
var errNotHeld = errors.New("its captures were not found")

func contents(f publish.File) ([]byte, error) {
	if f.Make == nil {
		return f.Data, nil
	}
	return f.Make()
}
