package verify

import (
	"context"
	"errors"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/fft/fault"
	"humdiff/report/model"
	"humdiff/report/publish"
)

// bundle verifies every report in a bundle from the captures in it, or from those in
// folders where it has none. A report that its manifest doesn't name, and a file
// that belongs to no report, are errors: readers would take them for verified.
func bundle(ctx context.Context, version, file string, captures []string, progress func(done, total int64)) (all []model.Verification, err error) {
	b, err := publish.OpenBundle(file)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, b.Close()) }()
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
		return forged(b.File, "holds no report")
	}
	for _, f := range b.Manifest.Files {
		if f.Role != "report" || path.Ext(f.Path) != ".json" {
			continue
		}
		data, err := publish.ReadFile(filepath.Join(dir, filepath.FromSlash(f.Path)), publish.LargestResult, "")
		if err != nil {
			return err
		}
		if Remakes(data) != slices.Contains(b.Manifest.Reports, f.Path) {
			return forged(b.File, "its manifest and %s don't agree on whether that is a report", f.Path)
		}
	}
	return nil
}

// noneLeft wants each file of a bundle's report to have been compared.
func noneLeft(b *publish.Bundle, all []model.Verification) error {
	made := map[string]bool{}
	for i, name := range b.Manifest.Reports {
		made[name] = true
		made[path.Join(path.Dir(name), publish.ListName)] = true
		for _, f := range all[i].Files {
			if f.State != model.Foreign {
				made[path.Join(path.Dir(name), f.File)] = true
			}
		}
	}
	for _, f := range b.Manifest.Files {
		if f.Role == "report" && !made[f.Path] {
			return forged(b.File, "%s in it belongs to no report in it", f.Path)
		}
	}
	return nil
}

// inBundle calls what was unpacked by its name in the bundle.
func inBundle(v model.Verification, file, dir string) model.Verification {
	name := func(at string) string {
		if rest, ok := strings.CutPrefix(at, dir+string(filepath.Separator)); ok {
			return file + ": " + filepath.ToSlash(rest)
		}
		return at
	}
	v.Report.File = name(v.Report.File)
	for i := range v.Captures {
		v.Captures[i].At = name(v.Captures[i].At)
	}
	return v
}
