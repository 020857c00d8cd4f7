package verify

import (
	"context"
	"errors"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/fft/fault"
	"humdiff/report/publish"
	"humdiff/report/result"
)

// Bundle recomputes every report in a bundle from the captures in it, or from
// those in a folder where it has none (empty: nowhere else). A report that its
// manifest doesn't name, and a file that belongs to no report, are errors: readers
// would take them for verified.
func Bundle(ctx context.Context, version string, b *publish.Bundle, captures []string, progress func(done, total int64)) (all []result.Verification, err error) {
	file := b.File
	space, err := publish.NewSpace("")
	if err != nil {
		return nil, &fault.Error{File: file, What: "cannot be unpacked: " + publish.Reason(err), Err: err}
	}
	defer func() { err = errors.Join(err, space.Close()) }()
	dir := space.Path("bundle")
	if err := b.Unpack(ctx, dir); err != nil {
		return nil, err
	}
	if err := allNamed(b, dir); err != nil {
		return nil, err
	}
	for _, name := range b.Manifest.Reports {
		v, err := Report(ctx, version, filepath.Join(dir, filepath.FromSlash(name)), append([]string{dir}, captures...), progress)
		if err != nil {
			return nil, err
		}
		all = append(all, inBundle(v, file, dir))
	}
	return all, noneLeft(b, all)
}

// allNamed wants a bundle to name each report that it holds.
func allNamed(b *publish.Bundle, dir string) error {
	if len(b.Manifest.Reports) == 0 {
		return forged(b, "holds no report")
	}
	for _, f := range b.Manifest.Files {
		if f.Role != "report" || path.Ext(f.Path) != ".json" {
			continue
		}
		data, err := publish.ReadFile(filepath.Join(dir, filepath.FromSlash(f.Path)), publish.LargestResult, "")
		if err != nil {
			return err
		}
		if Recomputable(data) != slices.Contains(b.Manifest.Reports, f.Path) {
			return forged(b, "its manifest and "+f.Path+" don't agree on whether that is a report")
		}
	}
	return nil
}

func forged(b *publish.Bundle, what string) error {
	return &fault.Error{File: b.File, What: what, Hint: "it was damaged or edited: ask for it anew"}
}

// noneLeft wants each file of a bundle's report to have been made again by one of
// its reports.
func noneLeft(b *publish.Bundle, all []result.Verification) error {
	made := map[string]bool{}
	for i, name := range b.Manifest.Reports {
		made[name] = true
		for _, f := range all[i].Files {
			if f.State != result.Foreign {
				made[path.Join(path.Dir(name), f.File)] = true
			}
		}
	}
	for _, f := range b.Manifest.Files {
		if f.Role == "report" && !made[f.Path] {
			return forged(b, f.Path+" in it belongs to no report in it")
		}
	}
	return nil
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
