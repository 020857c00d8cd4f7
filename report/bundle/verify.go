package bundle

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"

	"humdiff/fft/capture"
	"humdiff/report/folder"
	"humdiff/report/result"
	"humdiff/report/verify"
)

// Verify recomputes every report in a bundle from the captures in it, or from
// those in a folder where it has none (empty: nowhere else).
func Verify(ctx context.Context, version, file string, captures []string, progress func(done, total int64)) (all []result.Verification, err error) {
	dir, err := os.MkdirTemp("", "humdiff-")
	if err != nil {
		return nil, &capture.Error{File: file, What: "cannot be unpacked: " + folder.Reason(err), Err: err}
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	m, err := Unpack(ctx, file, dir)
	if err != nil {
		return nil, err
	}
	if len(m.Reports) == 0 {
		return nil, damaged(file, "holds no report")
	}
	for _, name := range m.Reports {
		v, err := verify.Report(ctx, version, filepath.Join(dir, filepath.FromSlash(name)), append([]string{dir}, captures...), progress)
		if err != nil {
			return nil, err
		}
		all = append(all, named(v, file, dir))
	}
	return all, nil
}

// named calls what was unpacked by its name in the bundle.
func named(v result.Verification, file, dir string) result.Verification {
	inBundle := func(path string) string {
		if rest, ok := strings.CutPrefix(path, dir+string(filepath.Separator)); ok {
			return file + ": " + filepath.ToSlash(rest)
		}
		return path
	}
	v.Report.File = inBundle(v.Report.File)
	for i := range v.Captures {
		v.Captures[i].At = inBundle(v.Captures[i].At)
	}
	return v
}
