package publish

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"humdiff/fft/fault"
	"humdiff/report/model"
)

// How much a bundle may unpack to: captures hardly shrink, and the rest is text.
const (
	mostTimes   = 20        // its own size
	alwaysBytes = 256 << 20 // whatever its size
)

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

// Bundle is a bundle whose manifest was read and held against the names in it.
type Bundle struct {
	File     string
	Manifest model.Manifest
	Bytes    int64 // of all files once they are unpacked

	archive inFile
	size    int64
	entries []*zip.File
}

// OpenBundle looks at a bundle and unpacks nothing. It trusts no name and no size:
// what isn't exactly as humdiff packs it is an error. Errors are *fault.Error.
func OpenBundle(file string) (*Bundle, error) {
	f, size, err := openRegular(file)
	if err != nil {
		return nil, err
	}
	b := &Bundle{File: file, archive: f, size: size}
	if err := b.read(); err != nil {
		f.Close()
		return nil, err
	}
	return b, nil
}

// Close ends reading.
func (b *Bundle) Close() error { return b.archive.Close() }

func (b *Bundle) read() error {
	z, err := zip.NewReader(b.archive, b.size)
	if err != nil {
		return &fault.Error{File: b.File, What: "is no bundle: " + Reason(err), Err: err, Hint: "was it downloaded whole?"}
	}
	b.entries = z.File
	if err := b.readManifest(); err != nil {
		return err
	}
	if err := b.check(); err != nil {
		return err
	}
	if b.Bytes > max(mostTimes*b.size, alwaysBytes) {
		return &fault.Error{File: b.File, What: fmt.Sprintf("has %s, and would unpack to %s, which no bundle of captures does", SizeSaid(b.size), SizeSaid(b.Bytes)),
			Hint: "was it made to fill a disk? If you trust it, unpack it yourself, and verify its folder"}
	}
	return nil
}

func (b *Bundle) damaged(format string, args ...any) error {
	return &fault.Error{File: b.File, What: fmt.Sprintf(format, args...), Hint: "it was damaged or edited: ask for it anew"}
}

func (b *Bundle) readManifest() error {
	last := len(b.entries) - 1
	if last < 1 || b.entries[last].Name != manifestName {
		return &fault.Error{File: b.File, What: "is an archive, but no bundle of humdiff: it doesn't end with " + manifestName, Hint: `make one with humdiff bundle "hum-report"`}
	}
	data, err := textOf(b.entries[last], LargestText)
	if err != nil {
		return b.damaged("its %s cannot be read", manifestName)
	}
	var head struct{ Schema string }
	if schema := json.Unmarshal(data, &head); schema == nil && head.Schema != model.BundleSchema && strings.HasPrefix(head.Schema, "humdiff/") {
		return &fault.Error{File: b.File, What: fmt.Sprintf("its manifest is %q, which this version can't read", head.Schema), Hint: "the version of humdiff that made it can, or measure the captures again with this one"}
	}
	m, ok := strict[model.Manifest](data)
	if !ok || m.Schema != model.BundleSchema {
		return b.damaged("its %s is not as humdiff writes it", manifestName)
	}
	b.Manifest = m
	return nil
}

// textOf is what a small file of an archive holds.
func textOf(e *zip.File, limit int64) ([]byte, error) {
	r, err := e.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	data, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err == nil && int64(len(data)) > limit {
		err = ErrLarge
	}
	return data, err
}

// roles say in which folder the files of a role lie.
var roles = map[string]string{"report": reportDir, "capture": captureDir, "input": captureDir}

// check wants the archive to hold what its manifest lists, in that order, then the text for
// readers and the manifest, each under a name that no other has.
func (b *Bundle) check() error {
	files := b.Manifest.Files
	taken := map[string]bool{fold(manifestName): true, fold(readmeName): true}
	for _, f := range files {
		dir, known := roles[f.Role]
		switch {
		case !known || !strings.HasPrefix(f.Path, dir+"/") || !filepath.IsLocal(filepath.FromSlash(f.Path)) || path.Clean(f.Path) != f.Path || strings.ContainsAny(f.Path, "\\:\x00"):
			return b.damaged("its manifest lists %q as %q, which it can't be", f.Path, f.Role)
		case taken[fold(f.Path)]:
			return b.damaged("its manifest lists %s twice", f.Path)
		}
		taken[fold(f.Path)] = true
	}
	if len(b.entries) != len(files)+2 {
		return b.damaged("holds more or less than its manifest lists")
	}
	for i, f := range files {
		if e := b.entries[i]; e.Name != f.Path || f.Bytes < 0 || e.UncompressedSize64 != uint64(f.Bytes) {
			return b.damaged("%s in it is not what its manifest lists", e.Name)
		}
		if b.Bytes += f.Bytes; b.Bytes < 0 {
			return b.damaged("its manifest lists more than any disk holds")
		}
	}
	for i, name := range b.Manifest.Reports {
		listed := slices.ContainsFunc(files, func(f model.Packed) bool { return f.Path == name && f.Role == "report" })
		if !listed || path.Ext(name) != ".json" || slices.Index(b.Manifest.Reports, name) < i {
			return b.damaged("its manifest names the report %q, which is no report in it", name)
		}
	}
	text, want := b.entries[len(files)], readme(b.Manifest)
	if got, err := textOf(text, int64(len(want))); err != nil || text.Name != readmeName || string(got) != want {
		return b.damaged("%s in it was edited", readmeName)
	}
	return nil
}

// Unpack writes a bundle's files into the folder dir, which must not exist, and
// checks the hash of each. Before it writes any it wants the archive to be as it was
// packed, and room for all, and some to spare. Errors are *fault.Error.
func (b *Bundle) Unpack(ctx context.Context, dir string) error {
	if same, err := b.asPacked(ctx); err != nil || !same {
		return b.notPacked(ctx, err)
	}
	const spare = 64 << 20 // bytes, for others
	above := firstThere(dir)
	if free, err := room(above); err == nil && b.Bytes > free-spare {
		return &fault.Error{File: b.File, What: fmt.Sprintf("unpacks to %s, and there is room for %s in %s", SizeSaid(b.Bytes), SizeSaid(max(free-spare, 0)), above),
			Hint: "free some, or name another folder for temporary files (TMPDIR; on Windows TMP)"}
	}
	for i, f := range b.Manifest.Files {
		if err := b.extract(ctx, b.entries[i], f, filepath.Join(dir, filepath.FromSlash(f.Path))); err != nil {
			return b.in(ctx, f.Path, err)
		}
	}
	return nil
}

// asPacked says whether the archive, packed anew from its files as they are compressed,
// is the same to the byte. Some programs read an archive by the list at its end, some
// from its front: what differs between the two, or lies between, they would show.
func (b *Bundle) asPacked(ctx context.Context) (bool, error) {
	same := &comparing{with: reader{ctx, io.NewSectionReader(b.archive, 0, b.size)}}
	again := zip.NewWriter(same)
	for _, e := range b.entries {
		head := packedAs(e.Name, e.Method)
		if _, err := zip.NewWriter(io.Discard).CreateHeader(head); err != nil { // it fills the head in
			return false, err
		}
		head.CRC32, head.CompressedSize64, head.UncompressedSize64 = e.CRC32, e.CompressedSize64, e.UncompressedSize64
		w, err := again.CreateRaw(head)
		if err != nil {
			return false, err
		}
		if max(e.CompressedSize64, e.UncompressedSize64) >= math.MaxUint32 {
			head.ReaderVersion = 45 // ZIP64, as the list says of such a file
		}
		raw, err := e.OpenRaw()
		if err != nil {
			return false, err
		}
		if _, err := io.Copy(w, raw); err != nil {
			return false, err
		}
	}
	err := again.Close()
	return err == nil && same.n == b.size, err
}

// comparing wants what is written to it to be what is read.
type comparing struct {
	with io.Reader
	n    int64 // bytes that were the same
	buf  []byte
}

func (c *comparing) Write(p []byte) (int, error) {
	c.buf = slices.Grow(c.buf[:0], len(p))[:len(p)]
	if _, err := io.ReadFull(c.with, c.buf); err != nil {
		return 0, err
	}
	if !bytes.Equal(c.buf, p) {
		return 0, errUnlike
	}
	c.n += int64(len(p))
	return len(p), nil
}

var errUnlike = errors.New("it differs")

// notPacked is the error of an archive that humdiff didn't pack so, or of reading it.
func (b *Bundle) notPacked(ctx context.Context, err error) error {
	var disk syscall.Errno
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case errors.As(err, &disk):
		return unreadable(b.File, err)
	}
	return &fault.Error{File: b.File, What: "is not as humdiff packed it", Hint: "if you trust what packed it anew, unpack it, and verify its folder; else ask for it anew"}
}

func (b *Bundle) in(ctx context.Context, name string, err error) error {
	var known *fault.Error
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case errors.As(err, &known):
		return b.damaged("%s in it %s", name, known.What)
	}
	return &fault.Error{File: b.File, What: fmt.Sprintf("%s in it could not be unpacked: %s", name, Reason(err)), Err: err,
		Hint: "check that there is room in the folder for temporary files"}
}

// extract writes one file, no longer than stated, and checks it. What is wrong
// with the file is a *fault.Error, what with the disk isn't.
func (b *Bundle) extract(ctx context.Context, e *zip.File, want model.Packed, to string) (err error) {
	r, err := e.Open()
	if err != nil {
		return &fault.Error{What: "cannot be read"}
	}
	defer r.Close()
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	out, err := create(to)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(struct{ io.Writer }{out}, sum), reader{ctx, io.LimitReader(r, want.Bytes+1)})
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
