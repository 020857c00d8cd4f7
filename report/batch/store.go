package batch

import (
	"archive/zip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/likeness"
	"humdiff/report/model"
	"humdiff/report/wire"
)

// Store keeps measurements in a folder, each in a file named by what it depends
// on: the file's content, span and channel, how it was measured, and by which
// method. Several processes may use it at once: a file is put there whole, by
// renaming, and one that isn't whole, or isn't what its name says, counts as
// absent. Nothing in it is needed: it may be deleted at any time. The zero Store keeps
// nothing.
type Store struct {
	dir    string
	method string
}

// DefaultDir is where measurements are kept unless another place is named.
func DefaultDir() (string, error) {
	dir, err := os.UserCacheDir()
	if err != nil {
		return "", &fault.Error{What: "there is no folder to keep measurements in: " + err.Error(), Hint: "name one with --cache DIR", Err: err}
	}
	return filepath.Join(dir, "humdiff"), nil
}

// parts are files that are being written; abandoned is the age at which nobody
// writes one any more.
const (
	parts     = ".part-*"
	abandoned = 24 * time.Hour
)

// NewStore opens a folder of measurements, and makes it where there is none.
// method says by which version of the program and of its method they are made:
// those of another are never taken.
func NewStore(dir, method string) (Store, error) {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return Store{}, unusable(dir, err)
	}
	probe, err := os.CreateTemp(dir, parts)
	if err != nil {
		return Store{}, unusable(dir, err)
	}
	left, _ := filepath.Glob(filepath.Join(dir, parts)) // of a process that was killed
	for _, path := range left {
		if st, err := os.Stat(path); err == nil && time.Since(st.ModTime()) > abandoned {
			os.Remove(path)
		}
	}
	return Store{dir, method}, errors.Join(probe.Close(), os.Remove(probe.Name()))
}

func unusable(dir string, err error) error {
	return &fault.Error{File: dir, What: "measurements can't be kept there: " + fault.Bare(err).Error(), Hint: "name another folder with --cache DIR", Err: err}
}

// key is what a measurement depends on.
type key struct {
	Method   string
	Content  string // SHA-256 of the file
	Channel  int
	Start    float64
	End      string // open ends too
	Settings model.Settings
	Around   float64
}

func (s Store) key(content string, a capture.Address, settings model.Settings, around float64) key {
	return key{s.method, content, a.Channel, a.Start, fmt.Sprint(a.End), settings, around}
}

func (k key) text() []byte {
	text, err := json.Marshal(k)
	if err != nil {
		panic(err) // numbers and words can always be written
	}
	return text
}

// path is where a measurement lies.
func (s Store) path(k key) string { return filepath.Join(s.dir, sumOf(k.text())+".kept") }

// A kept file is a ZIP archive of the measurement without what only figures need, which is all
// that most readings want; of the whole; and of its channels' sketches, by which copies are
// found. Its comment is the key's hash: an entry put under another one's name counts as absent,
// as does a torn one.
const lightPart, wholePart, sketchPart = "light.json", "whole.json", "sketches.json"

// get is a measurement that was kept, without what only figures need.
func (s Store) get(k key) (*model.Measure, bool) {
	light, err := s.read(k, lightPart)
	if err != nil {
		return nil, false
	}
	var sketches []likeness.Sketch
	if text, err := s.part(k, sketchPart); err != nil || json.Unmarshal(text, &sketches) != nil || len(sketches) != len(light.Captures) {
		return nil, false
	}
	for i := range sketches {
		light.Captures[i].Sketch = sketches[i]
	}
	return light, true
}

// whole is a measurement that was kept, with all that was measured.
func (s Store) whole(k key) (*model.Measure, bool) {
	whole, _ := s.read(k, wholePart)
	return whole, whole != nil
}

// read reads a measurement; nil where it isn't there as it was put.
func (s Store) read(k key, part string) (*model.Measure, error) {
	text, err := s.part(k, part)
	if err != nil {
		return nil, err
	}
	return measurement(text)
}

// measurement reads one as humdiff prints it.
func measurement(text []byte) (*model.Measure, error) {
	r, err := wire.Read(text)
	if err != nil {
		return nil, err
	}
	m, ok := r.(*model.Measure)
	if !ok {
		return nil, fmt.Errorf("it is a %s, no measurement", r.Top().Schema)
	}
	return m, nil
}

// part is one part of a kept file.
func (s Store) part(k key, part string) ([]byte, error) {
	if s.dir == "" {
		return nil, fs.ErrNotExist
	}
	z, err := zip.OpenReader(s.path(k))
	if err != nil {
		return nil, err
	}
	defer z.Close()
	f, err := z.Open(part)
	if err != nil || z.Comment != sumOf(k.text()) {
		return nil, errors.Join(err, fs.ErrNotExist)
	}
	return io.ReadAll(f)
}

// put keeps a measurement.
func (s Store) put(k key, m *model.Measure) error {
	if s.dir == "" {
		return nil
	}
	small := *m
	small.Captures = slices.Clone(m.Captures)
	sketches := make([]likeness.Sketch, len(small.Captures))
	for i := range small.Captures {
		light(&small.Captures[i])
		sketches[i] = small.Captures[i].Sketch
	}
	first, err1 := wire.Write(&small)
	second, err2 := wire.Write(m)
	third, err3 := json.Marshal(sketches)
	if err := errors.Join(err1, err2, err3); err != nil {
		return err
	}
	f, err := os.CreateTemp(s.dir, parts)
	if err != nil {
		return unusable(s.dir, err)
	}
	z := zip.NewWriter(f)
	err = z.SetComment(sumOf(k.text()))
	for name, body := range map[string][]byte{lightPart: first, wholePart: second, sketchPart: third} {
		w, failed := z.CreateHeader(&zip.FileHeader{Name: name})
		if failed == nil {
			_, failed = w.Write(body)
		}
		err = errors.Join(err, failed)
	}
	if err = errors.Join(err, z.Close(), f.Close()); err == nil {
		err = os.Rename(f.Name(), s.path(k))
	}
	if err != nil {
		os.Remove(f.Name())
		return unusable(s.dir, err)
	}
	return nil
}

// sumOf is the SHA-256 of a text, in hexadecimal.
func sumOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}
