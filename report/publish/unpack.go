package publish

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"

	"humdiff/fft/fault"
	"humdiff/report/result"
)

// largestManifest in bytes: a hundred bytes for each of some hundred thousand files.
const largestManifest = 16 << 20

// IsBundle says whether a file is an archive, by its first bytes.
func IsBundle(file string) bool {
	f, _, err := openRegular(file)
	if err != nil {
		return false
	}
	defer f.Close()
	var head [4]byte
	_, err = io.ReadFull(f, head[:])
	return err == nil && string(head[:]) == "PK\x03\x04"
}

// Unpack writes what a bundle's manifest lists into the folder dir, and checks
// each file's size and hash. It trusts no name: nothing is written outside dir,
// and nothing beyond the size that the manifest states. Errors are
// *fault.Error.
func Unpack(ctx context.Context, file, dir string) (result.Manifest, error) {
	z, err := zip.OpenReader(file)
	if err != nil {
		return result.Manifest{}, &fault.Error{File: file, What: "is no bundle: " + Reason(err), Err: err, Hint: "was it downloaded whole?"}
	}
	defer z.Close()
	entries := map[string]*zip.File{}
	for _, e := range z.File {
		if entries[e.Name] != nil {
			return result.Manifest{}, damaged(file, "holds two files called %q", e.Name)
		}
		entries[e.Name] = e
	}
	m, err := manifest(file, entries[ManifestName])
	if err != nil {
		return m, err
	}
	for _, want := range m.Files {
		e := entries[want.Path]
		switch {
		case !filepath.IsLocal(filepath.FromSlash(want.Path)) || path.Clean(want.Path) != want.Path:
			return m, damaged(file, "its manifest lists %q, which is no name in an archive", want.Path)
		case e == nil:
			return m, damaged(file, "%s is in its manifest, but not in it", want.Path)
		}
		if err := extract(ctx, e, want, filepath.Join(dir, filepath.FromSlash(want.Path))); err != nil {
			return m, in(ctx, file, want.Path, err)
		}
	}
	return m, nil
}

func damaged(file, format string, args ...any) error {
	return &fault.Error{File: file, What: fmt.Sprintf(format, args...), Hint: "it was damaged or edited: ask for it anew"}
}

func in(ctx context.Context, file, name string, err error) error {
	var known *fault.Error
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if errors.As(err, &known) {
		return damaged(file, "%s in it %s", name, known.What)
	}
	return &fault.Error{File: file, What: fmt.Sprintf("%s in it could not be unpacked: %s", name, Reason(err)), Err: err}
}

func manifest(file string, e *zip.File) (m result.Manifest, err error) {
	const hint = `make one with humdiff bundle "hum-report"`
	if e == nil {
		return m, &fault.Error{File: file, What: "is an archive, but no bundle of humdiff: it has no " + ManifestName, Hint: hint}
	}
	r, err := e.Open()
	if err != nil {
		return m, damaged(file, "its %s cannot be read", ManifestName)
	}
	defer r.Close()
	if err := json.NewDecoder(io.LimitReader(r, largestManifest)).Decode(&m); err != nil {
		return m, damaged(file, "its %s is not what humdiff writes", ManifestName)
	}
	if m.Schema != result.BundleSchema {
		return m, &fault.Error{File: file, What: fmt.Sprintf("its manifest is %q, which this version can't read", m.Schema), Hint: "a newer version of humdiff may"}
	}
	return m, nil
}

// extract writes one file, no longer than stated, and checks it. What is wrong
// with the file is a *fault.Error, what with the disk isn't.
func extract(ctx context.Context, e *zip.File, want result.Packed, to string) (err error) {
	r, err := e.Open()
	if err != nil {
		return &fault.Error{What: "cannot be read"}
	}
	defer r.Close()
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(out, sum), reader{ctx, io.LimitReader(r, want.Bytes+1)})
	switch {
	case errors.Is(err, zip.ErrChecksum), errors.Is(err, zip.ErrFormat), errors.Is(err, io.ErrUnexpectedEOF):
		return &fault.Error{What: "is damaged"}
	case err != nil:
		return err
	case n != want.Bytes || hex.EncodeToString(sum.Sum(nil)) != want.SHA256:
		return &fault.Error{What: "is not what its manifest lists"}
	}
	return nil
}
