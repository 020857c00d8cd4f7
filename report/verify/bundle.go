package verify

import (
	"context"
	"errors"
	"path/filepath"
	"strings"

	"humdiff/fft/fault"
	"humdiff/report/publish"
	"humdiff/report/result"
)

// Bundle recomputes every report in a bundle from the captures in it, or from
// those in a folder where it has none (empty: nowhere else).
func Bundle(ctx context.Context, version, file string, captures []string, progress func(done, total int64)) (all []result.Verification, err error) {
	space, err := publish.NewSpace("")
	if err != nil {
		return nil, &fault.Error{File: file, What: "cannot be unpacked: " + publish.Reason(err), Err: err}
	}
	defer func() { err = errors.Join(err, space.Close()) }()
	dir := space.Path("bundle")
	m, err := publish.Unpack(ctx, file, dir)
	if err != nil {
		return nil, err
	}
	if len(m.Reports) == 0 {
		return nil, &fault.Error{File: file, What: "holds no report", Hint: "it was damaged or edited: ask for it anew"}
	}
	for _, name := range m.Reports {
		v, err := Report(ctx, version, filepath.Join(dir, filepath.FromSlash(name)), append([]string{dir}, captures...), progress)
		if err != nil {
			return nil, err
		}
		all = append(all, inBundle(v, file, dir))
	}
	return all, nil
}

// inBundle calls what was unpacked by its name in the bundle.
func inBundle(v result.Verification, file, dir string) result.Verification {
	path := func(at string) string {
		if rest, ok := strings.CutPrefix(at, dir+string(filepath.Separator)); ok {
			return file + ": " + filepath.ToSlash(rest)
		}
		return at
	}
	v.Report.File = path(v.Report.File)
	for i := range v.Captures {
		v.Captures[i].At = path(v.Captures[i].At)
	}
	return v
}
