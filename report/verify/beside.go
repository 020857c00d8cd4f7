package verify

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"humdiff/fft/fault"
	"humdiff/report"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/wire"
)

// errNotHeld is the error of a file made of captures that aren't at hand.
var errNotHeld = errors.New("its captures were not found")

// files are the report's files, made again from the result as reported.
func (v *verifier) files(ctx context.Context, r wire.Result) ([]publish.File, error) {
	switch r := r.(type) {
	case *model.Measure:
		return nil, nil // measure writes no report
	case *model.Session:
		return v.sessionFiles(r, v.whole(ctx, r))
	}
	return report.Files(r)
}

// runPage is a page of one run.
var runPage = regexp.MustCompile(`^run-\d+\.html$`)

// sessionFiles are a session's, with a page for each run where such pages lie there:
// the report doesn't say whether they were asked for.
func (v *verifier) sessionFiles(s *model.Session, whole func(int) (model.Capture, error)) ([]publish.File, error) {
	have, err := namesIn(filepath.Dir(v.path))
	if err != nil {
		return nil, err
	}
	made, err := report.SessionFiles(s, whole, false)
	for _, name := range have {
		if err == nil && runPage.MatchString(name) && !slices.ContainsFunc(made, func(f publish.File) bool { return f.Name == name }) {
			return report.SessionFiles(s, whole, true)
		}
	}
	return made, err
}

// beside compares what lies beside a report with what its numbers make, to the
// byte. A file that is missing, or that nothing of the report makes, is one that a
// reader would take for verified; so is a page or a drawing beside a result that lies by
// itself. What else lies beside such a one, and captures, are just that.
func (v *verifier) beside(made []publish.File) error {
	dir := filepath.Dir(v.path)
	have, err := namesIn(dir)
	if err != nil {
		return err
	}
	whole := len(made) > 0 && v.isReport(have, made)
	for _, name := range have {
		if name == filepath.Base(v.path) || v.isMeasured(filepath.Join(dir, name)) || !whole && !isPage(name) {
			continue
		}
		state, err := v.file(dir, name, made)
		if err != nil {
			return err
		}
		v.out.Files = append(v.out.Files, model.VerifiedFile{File: name, State: state})
	}
	for _, f := range made {
		if whole && !slices.Contains(have, f.Name) && f.Name != filepath.Base(v.path) {
			v.out.Files = append(v.out.Files, model.VerifiedFile{File: f.Name, State: model.Missing})
		}
	}
	return nil
}

// isMeasured says that a file is one of those that the report was made from.
func (v *verifier) isMeasured(path string) bool {
	at, err := os.Stat(path)
	if err != nil {
		return false
	}
	for place := range v.places {
		if st, err := os.Stat(place); err == nil && os.SameFile(at, st) {
			return true
		}
	}
	return false
}

func isPage(name string) bool {
	return slices.Contains([]string{".html", ".htm", ".svg"}, strings.ToLower(filepath.Ext(name)))
}

// isReport says that a folder is a report's: it has a list of what humdiff wrote, or
// any file that the result makes.
func (v *verifier) isReport(have []string, made []publish.File) bool {
	return slices.Contains(have, publish.ListName) || slices.ContainsFunc(made, func(f publish.File) bool {
		return f.Name != filepath.Base(v.path) && slices.Contains(have, f.Name)
	})
}

func namesIn(dir string) (names []string, err error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, &fault.Error{File: dir, What: "cannot be read: " + publish.Reason(err), Err: err}
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") {
			names = append(names, e.Name())
		}
	}
	return names, nil
}

// file is how one file compares with what the result makes of that name.
func (v *verifier) file(dir, name string, made []publish.File) (string, error) {
	if name == publish.ListName {
		if holds, err := publish.ListHolds(dir); err != nil || !holds {
			return model.Differs, err
		}
		return model.Same, nil
	}
	at := slices.IndexFunc(made, func(f publish.File) bool { return f.Name == name })
	if at < 0 {
		return v.unmadeFile(dir, name)
	}
	if v.out.Report.Version != v.out.Tool.Version {
		return model.OtherVersion, nil
	}
	want, err := made[at].Contents()
	if errors.Is(err, errNotHeld) {
		return model.NotCompared, nil
	}
	if err != nil {
		return "", err
	}
	got, err := publish.ReadFile(filepath.Join(dir, name), publish.LargestResult, "")
	if err != nil || !bytes.Equal(got, want) {
		return model.Differs, nil
	}
	return model.Same, nil
}

// unmadeFile is the state of a file that the result doesn't make: figures drawn
// later in other forms are on the list, and can't be made again without the words
// they were drawn with; what isn't on it is foreign.
func (v *verifier) unmadeFile(dir, name string) (string, error) {
	listed, err := publish.IsListed(dir, name)
	if err != nil || !listed {
		return model.Foreign, err
	}
	return model.NotCompared, nil
}
